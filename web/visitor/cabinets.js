// The row of cabinets, drawn to scale in plain ink from the recording's description of the parts. The part that the
// caption is about is hatched, and a thin line leads from the caption to it. All sizes are in centimetres.

import { newSvg } from "../shared/dom.js";
import { inLanguage, spaced } from "../shared/words.js";

const GAP = 46;
const LETTER = 20;
const FACE = `700 ${LETTER}px "exhibit caption", system-ui, sans-serif`; // bold, as for the caption's part: the widest
const LABELS_BESIDE = 116; // at least: room for names beside drives stacked in one cabinet
const UNDER = 74; // room under the floor for the cables and for names of three lines
const OVER = 6;
const OVER_A_STACK = 28;
const UNDER_A_STACK = 28;

const line = (x1, y1, x2, y2) => newSvg("line", { x1, y1, x2, y2 });
const box = (x, y, width, height, more = {}) => newSvg("rect", { x, y, width, height, ...more });

// The drawing inside the outline, by the part's shape. It says nothing about what the machine is doing now.
const INSIDE = {
  cabinet: (x, y, w, h) => {
    const lamps = [];
    for (let i = 0; i < 8; i++) lamps.push(newSvg("circle", { cx: x + w * (0.17 + 0.095 * i), cy: y + h * 0.22, r: 1.6 }));
    const vents = [0.62, 0.67, 0.72, 0.77].map((at) => line(x + w * 0.2, y + h * at, x + w * 0.8, y + h * at));
    return [box(x + w * 0.08, y + h * 0.13, w * 0.84, h * 0.18), ...lamps, ...vents, line(x, y + h - 8, x + w, y + h - 8)];
  },
  drive: (x, y, w, h) => [
    newSvg("ellipse", { cx: x + w / 2, cy: y + h * 0.36, rx: w * 0.36, ry: h * 0.16 }),
    newSvg("ellipse", { cx: x + w / 2, cy: y + h * 0.36, rx: w * 0.09, ry: h * 0.04 }),
    line(x + w * 0.08, y + h * 0.68, x + w * 0.92, y + h * 0.68),
    box(x + w * 0.38, y + h * 0.76, w * 0.24, Math.min(6, h * 0.1)),
  ],
  desk: (x, y, w, h) => [
    box(x + w * 0.3, y, w * 0.46, h * 0.36),
    box(x + w * 0.35, y + h * 0.05, w * 0.36, h * 0.24),
    newSvg("polygon", { points: [[0.22, 0.44], [0.8, 0.44], [0.76, 0.38], [0.27, 0.38]].map(([a, b]) => `${x + w * a},${y + h * b}`).join(" ") }),
    box(x, y + h * 0.44, w, h * 0.05),
    line(x + w * 0.07, y + h * 0.49, x + w * 0.07, y + h),
    line(x + w * 0.93, y + h * 0.49, x + w * 0.93, y + h),
  ],
  chest: (x, y, w, h) => [line(x, y + h * 0.25, x + w, y + h * 0.25), box(x + w * 0.4, y + h * 0.2, w * 0.2, h * 0.1)],
};

function widthOf(text) {
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = FACE;
  return pen.measureText(text).width;
}

// Names break only between words. Taking the longest of all languages keeps the drawing the same in each of them.
function longestWord(stack, names) {
  const words = stack.flatMap((part) => Object.values(names[part.name] ?? {}).flatMap((name) => name.split(" ")));
  return Math.max(0, ...words.map(widthOf));
}

// The position of each part: cabinets from left to right on one floor, their parts from the top down.
function placeParts(parts, names) {
  const cabinets = new Map();
  for (const [name, part] of Object.entries(parts)) {
    if (!cabinets.has(part.cabinet)) cabinets.set(part.cabinet, []);
    cabinets.get(part.cabinet).push({ name, ...part });
  }
  const floor = OVER + Math.max(...[...cabinets.values()].map((stack) => stack.reduce((sum, part) => sum + part.height_cm, 0)));
  const places = [];
  let x = GAP / 2;
  for (const stack of cabinets.values()) {
    let y = floor - stack.reduce((sum, part) => sum + part.height_cm, 0);
    const width = Math.max(...stack.map((part) => part.width_cm));
    const beside = stack.length > 1 ? Math.max(LABELS_BESIDE, longestWord(stack, names) + 12) : 0;
    const aside = stack.length > 1 ? 0 : Math.max(0, (longestWord(stack, names) + 8 - width - GAP) / 2);
    x += aside;
    for (const part of stack) {
      const [first, last] = [part === stack[0], part === stack.at(-1)];
      places.push({ ...part, first, last, x: x + (width - part.width_cm) / 2, y, stacked: stack.length > 1, cabinetX: x, cabinetWidth: width, beside });
      y += part.height_cm;
    }
    x += width + aside + (beside ? beside + GAP / 2 : GAP);
  }
  return { places, floor, width: x - GAP / 2, height: floor + UNDER };
}

export class Cabinets {
  constructor(holder, leader, choose) {
    this.holder = holder;
    this.leader = leader;
    this.choose = choose;
    this.key = "";
    this.highlighted = "";
    this.groups = new Map();
  }

  paint(recording, tag, words, captionPart, chosen) {
    const parts = recording?.drawn ?? {};
    const key = JSON.stringify([parts, recording?.parts, tag]);
    if (key !== this.key) {
      this.key = key;
      this.draw(parts, recording?.parts ?? {}, tag, words);
    }
    this.highlighted = captionPart in parts ? captionPart : "";
    for (const [name, group] of this.groups) {
      group.classList.toggle("highlighted", name === this.highlighted);
      group.setAttribute("aria-pressed", String(name === chosen));
    }
    this.drawCables(chosen in parts ? chosen : "");
    this.drawLeader();
  }

  // The typeface has loaded, so names have other widths than before.
  measureAgain() {
    this.key = "";
  }

  draw(parts, names, tag, words) {
    this.groups.clear();
    this.svg = null;
    if (!Object.keys(parts).length) {
      this.holder.replaceChildren();
      return;
    }
    this.layout = placeParts(parts, names);
    const { places, floor, width, height } = this.layout;
    const svg = newSvg("svg", { viewBox: `0 0 ${width} ${height}`, role: "group", "aria-label": words.row });
    const hatch = newSvg("pattern", { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, line(0, 0, 0, 7));
    this.cableLines = newSvg("g", { class: "cables" });
    svg.append(newSvg("defs", {}, hatch), line(0, floor, width, floor), this.cableLines);
    for (const place of places) svg.append(this.part(place, inLanguage(names[place.name], tag) || spaced(place.name), words));
    this.svg = svg;
    this.holder.replaceChildren(svg);
  }

  part(place, name, words) {
    const { x, y, width_cm: w, height_cm: h, shape } = place;
    const label = place.state === "working" || !words.states[place.state] ? name : `${name}, ${words.states[place.state]}`;
    const group = newSvg("g", { class: "part", role: "button", tabindex: 0, "data-part": place.name, "data-state": place.state, "aria-label": label });
    const reach = GAP / 2 - 2;
    const right = place.stacked ? place.beside : reach;
    // The area that reacts to a touch is larger than the drawing, so that a finger finds it on a small screen too.
    const [over, under] = [place.stacked && place.first ? OVER_A_STACK : 0, place.last ? (place.stacked ? UNDER_A_STACK : UNDER) : 0];
    group.append(box(x - reach, y - over, w + reach + right, h + over + under, { class: "reach" }));
    const inside = INSIDE[shape](x, y, w, h);
    const outline = shape === "desk" ? [] : [box(x, y, w, h, { class: "outline" })];
    const hatched = shape === "desk" ? box(x + w * 0.3, y, w * 0.46, h * 0.36, { class: "hatched" }) : box(x, y, w, h, { class: "hatched" });
    group.append(hatched, ...outline, ...inside, ...this.label(place, label));
    const choose = () => this.choose(place.name);
    group.addEventListener("click", choose);
    group.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      choose();
    });
    this.groups.set(place.name, group);
    return group;
  }

  // The name in short lines: beside a part in a stack, under a part that has a cabinet of its own.
  label(place, label) {
    const most = place.stacked ? place.beside - 6 : place.width_cm + GAP - 2;
    const lines = [];
    for (const word of label.split(" ")) {
      const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
      if (lines.length && widthOf(longer) <= most) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    const middle = place.y + place.height_cm / 2 - ((lines.length - 1) * LETTER) / 2 + LETTER / 3;
    return lines.map((line, i) => (i + 1 < lines.length ? `${line} ` : line)).map((text, i) =>
      place.stacked
        ? newSvg("text", { x: place.cabinetX + place.cabinetWidth + 8, y: middle + i * LETTER }, text)
        : newSvg("text", { x: place.x + place.width_cm / 2, y: this.layout.floor + 10 + (i + 1) * LETTER, "text-anchor": "middle" }, text),
    );
  }

  drawCables(chosen) {
    if (!this.svg) return;
    const { places, floor } = this.layout;
    const at = (name) => places.find((place) => place.name === name);
    const from = at(chosen);
    const lines = from
      ? from.joins.map(at).filter((other) => other && other.cabinet !== from.cabinet).map((other) => {
          const [a, b] = [from, other].map((place) => place.x + place.width_cm / 2);
          return newSvg("polyline", { points: `${a},${floor} ${a},${floor + 7} ${b},${floor + 7} ${b},${floor}` });
        })
      : [];
    this.cableLines.replaceChildren(...lines);
  }

  // Draws the line from the foot of the caption to the part, measured in the page's pixels.
  drawLeader() {
    const group = this.highlighted && this.groups.get(this.highlighted);
    this.leader.toggleAttribute("hidden", !group);
    if (!group) return;
    const frame = this.leader.parentElement.getBoundingClientRect();
    const story = document.getElementById("story").getBoundingClientRect();
    const part = group.querySelector(".hatched").getBoundingClientRect();
    const rightToLeft = document.documentElement.dir === "rtl";
    const x1 = (rightToLeft ? story.right - 1 : story.left + 1) - frame.left;
    const y1 = story.bottom - frame.top;
    const x2 = part.left - frame.left + part.width / 2;
    const y2 = part.top - frame.top + 3;
    const bend = (y1 + this.holder.getBoundingClientRect().top - frame.top) / 2;
    const points = `${x1},${y1} ${x1},${bend} ${x2},${bend} ${x2},${y2}`;
    this.leader.setAttribute("width", frame.width);
    this.leader.setAttribute("height", frame.height);
    this.leader.firstElementChild.setAttribute("points", points);
    this.leader.lastElementChild.setAttribute("cx", x2);
    this.leader.lastElementChild.setAttribute("cy", y2);
  }
}
