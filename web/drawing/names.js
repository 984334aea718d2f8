// The names and states under the parts, and in a wide row the states in the gaps between them.
// How large they are depends on the longest that can stand there, so that nothing jumps when a state changes.

import { newElement } from "../shared/dom.js";
import { LEAST_SIZE, LINE, NAME_AT, NAME_SIZE, SIDE } from "./layout.js";

const SPACE = 8; // a name that is led to begins 4 further to the right, and ends before its neighbour
const WORDS_SIZE = 17.5; // 44 px on the screen beside the machine

export function measurer() {
  const pen = document.createElement("canvas").getContext("2d");
  const face = getComputedStyle(document.body).fontFamily;
  return (text, size) => {
    pen.font = `700 100px ${face}`; // bold, the widest that it gets
    return (pen.measureText(text).width * size) / 100;
  };
}

function fit(texts, room, widthOf, most = NAME_SIZE) {
  const widest = Math.max(0, ...texts.map((text) => widthOf(text, most)));
  return widest <= room ? most : (most * room) / widest;
}

// What is written under each cabinet, and how large: pure, given how wide words are.
export function planNames(cabinets, nameOf, longestOf, widthOf, inGaps, least = LEAST_SIZE) {
  const plans = cabinets.map((one) => {
    const room = one.room - SPACE;
    const states = inGaps ? "" : ` ${longestOf(one)}`;
    if (one.parts.length === 1) return planOne(one.parts[0].name, nameOf(one.parts[0]), room, widthOf, inGaps, least);
    const names = one.parts.map(nameOf);
    const size = fit(names.map((name) => name + states), room, widthOf);
    if (size >= least) return { kind: "lines", size, lines: one.parts.length };
    const plates = one.parts.map((part) => part.plate);
    const short = fit(plates.map((name) => name + states), room, widthOf);
    if (plates.every(Boolean) && short >= least) return { kind: "plates", size: short, lines: one.parts.length };
    return { kind: "pairs", size: Math.max(least, fit([...names, states], room, widthOf)), lines: 2 * one.parts.length };
  });
  const size = Math.min(NAME_SIZE, ...plans.map((one) => one.size));
  return { plans, size: Math.max(least, size), lines: Math.max(2, ...plans.map((one) => one.lines)) };
}

function planOne(_, name, room, widthOf, inGaps, least) {
  const size = fit([name], room, widthOf);
  if (size >= least) return { kind: "own", size, lines: inGaps ? 1 : 2 };
  return { kind: "own", size: least, lines: (inGaps ? 1 : 2) + 1 }; // the name breaks between words
}

export class Names {
  constructor(layout, { plans, size }, choose) {
    this.holder = newElement("div", undefined, "names");
    this.holder.setAttribute("aria-hidden", "true"); // the buttons say the same
    this.layout = layout;
    this.size = size;
    this.blocks = layout.cabinets.map((cabinet, i) => this.block(cabinet, plans[i], choose));
    this.gaps = layout.words ? layout.cabinets.slice(0, -1).flatMap((cabinet) => this.inGap(cabinet)) : [];
  }

  block(cabinet, plan, choose) {
    const { pxPerCm, floor } = this.layout;
    const element = newElement("div", undefined, "name");
    Object.assign(element.style, {
      left: `${cabinet.x * pxPerCm}px`, top: `${(floor + NAME_AT - LINE) * pxPerCm}px`, width: `${(cabinet.room - SPACE + 4.5) * pxPerCm}px`,
      fontSize: `${this.size * pxPerCm}px`, lineHeight: `${LINE * pxPerCm}px`,
    });
    const lines = cabinet.parts.map((part) => {
      const line = newElement("div", undefined, plan.kind === "own" || plan.kind === "pairs" ? "in-two" : "in-one");
      const [name, state] = [newElement("span", "", "part-name"), newElement("span", "", "part-state")];
      line.append(name, " ", state);
      line.dataset.part = part.name;
      line.addEventListener("click", () => choose(part.name));
      element.append(line);
      return { part, line, name, state };
    });
    this.holder.append(element);
    return { cabinet, plan, element, lines };
  }

  inGap(cabinet) {
    const { pxPerCm } = this.layout;
    const left = cabinet.x + cabinet.w + SIDE + 3;
    const width = cabinet.room - cabinet.w - SIDE - 6;
    return cabinet.parts.map((part) => {
      const element = newElement("p", "", "gap-words");
      const bottom = cabinet.parts.length > 1 ? part.y + part.h * 0.85 : Math.min(part.y + part.h * 0.8, this.layout.floor - 60);
      Object.assign(element.style, {
        left: `${left * pxPerCm}px`, width: `${width * pxPerCm}px`, bottom: `${(this.layout.height - bottom) * pxPerCm}px`, fontSize: `${WORDS_SIZE * pxPerCm}px`,
      });
      this.holder.append(element);
      return { part, element, area: { x: left, y: bottom - 2.3 * WORDS_SIZE, w: width, h: 2.3 * WORDS_SIZE } };
    });
  }

  // `told`: for each part its name and state. The part that is spoken of, or chosen, has its cabinet's place to itself.
  paint(told, { spoken, chosen }) {
    for (const { plan, lines, element } of this.blocks) {
      const alone = lines.length > 1 ? lines.find((one) => one.part.name === spoken) : null;
      for (const { part, line, name, state } of lines) {
        const one = told.get(part.name);
        line.hidden = Boolean(alone && alone.part !== part);
        line.className = alone || plan.kind === "own" || plan.kind === "pairs" ? "in-two" : "in-one";
        name.textContent = plan.kind === "plates" && !alone ? part.plate : one.name;
        state.textContent = this.layout.words ? "" : one.state.text;
        state.dataset.tone = one.state.tone;
        line.classList.toggle("spoken", part.name === spoken);
        line.classList.toggle("chosen", part.name === chosen);
      }
      element.classList.toggle("led", lines.some((one) => one.part.name === spoken));
    }
    for (const { part, element } of this.gaps) {
      const { state } = told.get(part.name);
      element.textContent = state.text;
      element.dataset.tone = state.tone;
    }
  }
}
