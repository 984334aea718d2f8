// The row of cabinets, drawn to scale in plain ink from what the recording says of the parts: the part
// that is spoken of is hatched, and a thin line leads to it from its caption. All sizes are centimetres.

import { drawn } from "../shared/dom.js";
import { plain, told } from "../shared/words.js";

const GAP = 46;
const LETTER = 20;
const FACE = `700 ${LETTER}px "exhibit caption", system-ui, sans-serif`; // that of the part spoken of is the widest
const LABELS_BESIDE = 116; // at least: room for the names beside drives that stand one over the other
const UNDER = 74; // room for the cables and for names of three lines under the floor
const OVER = 6;
const OVER_A_STACK = 28;
const UNDER_A_STACK = 28;

const line = (x1, y1, x2, y2) => drawn("line", { x1, y1, x2, y2 });
const box = (x, y, width, height, more = {}) => drawn("rect", { x, y, width, height, ...more });

// What is inside the outline, by the part's shape; none of it says what the machine does now.
const INSIDE = {
  cabinet: (x, y, w, h) => {
    const lamps = [];
    for (let i = 0; i < 8; i++) lamps.push(drawn("circle", { cx: x + w * (0.17 + 0.095 * i), cy: y + h * 0.22, r: 1.6 }));
    const vents = [0.62, 0.67, 0.72, 0.77].map((at) => line(x + w * 0.2, y + h * at, x + w * 0.8, y + h * at));
    return [box(x + w * 0.08, y + h * 0.13, w * 0.84, h * 0.18), ...lamps, ...vents, line(x, y + h - 8, x + w, y + h - 8)];
  },
  drive: (x, y, w, h) => [
    drawn("ellipse", { cx: x + w / 2, cy: y + h * 0.36, rx: w * 0.36, ry: h * 0.16 }),
    drawn("ellipse", { cx: x + w / 2, cy: y + h * 0.36, rx: w * 0.09, ry: h * 0.04 }),
    line(x + w * 0.08, y + h * 0.68, x + w * 0.92, y + h * 0.68),
    box(x + w * 0.38, y + h * 0.76, w * 0.24, Math.min(6, h * 0.1)),
  ],
  desk: (x, y, w, h) => [
    box(x + w * 0.3, y, w * 0.46, h * 0.36),
    box(x + w * 0.35, y + h * 0.05, w * 0.36, h * 0.24),
    drawn("polygon", { points: [[0.22, 0.44], [0.8, 0.44], [0.76, 0.38], [0.27, 0.38]].map(([a, b]) => `${x + w * a},${y + h * b}`).join(" ") }),
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

// A name is broken between words only. In whatever language the page is read, nothing moves.
function longestWord(stack, names) {
  const words = stack.flatMap((part) => Object.values(names[part.name] ?? {}).flatMap((name) => name.split(" ")));
  return Math.max(0, ...words.map(widthOf));
}

// Where each part stands: cabinets from left to right on one floor, their parts from the top down.
export function placed(parts, names) {
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
    this.spoken = "";
    this.groups = new Map();
  }

  paint(recording, tag, words, spoken, chosen) {
    const parts = recording?.drawn ?? {};
    const key = JSON.stringify([parts, recording?.parts, tag]);
    if (key !== this.key) {
      this.key = key;
      this.draw(parts, recording?.parts ?? {}, tag, words);
    }
    this.spoken = spoken in parts ? spoken : "";
    for (const [name, group] of this.groups) {
      group.classList.toggle("spoken", name === this.spoken);
      group.setAttribute("aria-pressed", String(name === chosen));
    }
    this.cables(chosen in parts ? chosen : "");
    this.lead();
  }

  // The face has come by which names are measured.
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
    this.layout = placed(parts, names);
    const { places, floor, width, height } = this.layout;
    const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, role: "group", "aria-label": words.row });
    const hatch = drawn("pattern", { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, line(0, 0, 0, 7));
    this.cableLines = drawn("g", { class: "cables" });
    svg.append(drawn("defs", {}, hatch), line(0, floor, width, floor), this.cableLines);
    for (const place of places) svg.append(this.part(place, told(names[place.name], tag) || plain(place.name), words));
    this.svg = svg;
    this.holder.replaceChildren(svg);
  }

  part(place, name, words) {
    const { x, y, width_cm: w, height_cm: h, shape } = place;
    const label = place.state === "working" ? name : `${name}, ${words.states[place.state]}`;
    const group = drawn("g", { class: "part", role: "button", tabindex: 0, "data-part": place.name, "data-state": place.state, "aria-label": label });
    const reach = GAP / 2 - 2;
    const right = place.stacked ? place.beside : reach;
    // What can be touched is larger than what is drawn, so that a finger finds it on a small screen too.
    const [over, under] = [place.stacked && place.first ? OVER_A_STACK : 0, place.last ? (place.stacked ? UNDER_A_STACK : UNDER) : 0];
    group.append(box(x - reach, y - over, w + reach + right, h + over + under, { class: "reach" }));
    const inside = INSIDE[shape](x, y, w, h);
    const outline = shape === "desk" ? [] : [box(x, y, w, h, { class: "outline" })];
    const hatched = shape === "desk" ? box(x + w * 0.3, y, w * 0.46, h * 0.36, { class: "hatched" }) : box(x, y, w, h, { class: "hatched" });
    group.append(hatched, ...outline, ...inside, ...this.label(place, label));
    const chosen = () => this.choose(place.name);
    group.addEventListener("click", chosen);
    group.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      chosen();
    });
    this.groups.set(place.name, group);
    return group;
  }

  // The name in short lines: beside parts of a stack, under those that stand alone.
  label(place, label) {
    const most = place.stacked ? place.beside - 6 : place.width_cm + GAP - 2;
    const lines = [];
    for (const word of label.split(" ")) {
      const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
      if (lines.length && widthOf(longer) <= most) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    const middle = place.y + place.height_cm / 2 - ((lines.length - 1) * LETTER) / 2 + LETTER / 3;
    return lines.map((said, i) => (i + 1 < lines.length ? `${said} ` : said)).map((text, i) =>
      place.stacked
        ? drawn("text", { x: place.cabinetX + place.cabinetWidth + 8, y: middle + i * LETTER }, text)
        : drawn("text", { x: place.x + place.width_cm / 2, y: this.layout.floor + 10 + (i + 1) * LETTER, "text-anchor": "middle" }, text),
    );
  }

  cables(chosen) {
    if (!this.svg) return;
    const { places, floor } = this.layout;
    const at = (name) => places.find((place) => place.name === name);
    const from = at(chosen);
    const lines = from
      ? from.joins.map(at).filter((other) => other && other.cabinet !== from.cabinet).map((other) => {
          const [a, b] = [from, other].map((place) => place.x + place.width_cm / 2);
          return drawn("polyline", { points: `${a},${floor} ${a},${floor + 7} ${b},${floor + 7} ${b},${floor}` });
        })
      : [];
    this.cableLines.replaceChildren(...lines);
  }

  // From the foot of the caption's own line to the part: measured on the page, in its pixels.
  lead() {
    const group = this.spoken && this.groups.get(this.spoken);
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
