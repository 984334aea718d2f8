// What is to be done at the machine's switches and keys, drawn large enough to hold beside them.

import { newElement, newSvg } from "../shared/dom.js";

const PITCH = 34;
const RADIUS = 12;
const GAP = 16;

// `panel`: [{act, name, value, positions, by_switch}], in order.
export function panelList(panel, words) {
  const list = newElement("ol", undefined, "panel-acts");
  for (const one of panel) {
    const item = newElement("li");
    const said = one.act === "press" ? words.press(one.name) : one.act === "set" ? words.set(one.value) : words.lamps(one.name, one.value);
    item.append(newElement("p", said));
    if (one.positions) item.append(row(one, words));
    list.append(item);
  }
  return list;
}

// A row of switches or lamps in their groups; beneath each group its digit, or beneath each one its own.
function row({ act, positions, value, by_switch: bySwitch }, words) {
  const groups = positions.trim().split(/\s+/);
  const digits = value.replace(/\s/g, "");
  const parts = [];
  let x = PITCH / 2;
  groups.forEach((group, n) => {
    const from = x;
    for (const [i, position] of [...group].entries()) {
      parts.push(...(act === "lamps" ? lamp(x, position) : toggle(x, position)));
      if (bySwitch) parts.push(label(x, digits[groups.slice(0, n).join("").length + i] ?? position));
      x += PITCH;
    }
    if (!bySwitch) parts.push(label((from + x - PITCH) / 2, digits[n] ?? ""));
    x += GAP;
  });
  const width = x - GAP - PITCH / 2;
  const svg = newSvg("svg", { class: "panel-row", viewBox: `0 0 ${width} 84`, role: "img", "aria-label": inWords(groups, act, words) }, ...parts);
  svg.style.setProperty("--row-width", `${width / 16}rem`);
  return svg;
}

function toggle(x, position) {
  const up = position === "1";
  return [
    newSvg("line", { x1: x, y1: 28, x2: x, y2: up ? 10 : 46, class: "lever" }),
    newSvg("circle", { cx: x, cy: 28, r: 5, class: "socket" }),
    newSvg("circle", { cx: x, cy: up ? 10 : 46, r: RADIUS * 0.7, class: up ? "knob up" : "knob" }),
  ];
}

function lamp(x, position) {
  return [newSvg("circle", { cx: x, cy: 28, r: RADIUS, class: position === "1" ? "lamp lit" : "lamp" })];
}

function label(x, digit) {
  const text = newSvg("text", { x, y: 78, "text-anchor": "middle" });
  text.textContent = digit;
  return text;
}

function inWords(groups, act, words) {
  const [one, zero] = act === "lamps" ? [words.lit, words.dark] : [words.up, words.down];
  return groups.map((group) => [...group].map((position) => (position === "1" ? one : zero)).join(" ")).join(", ");
}
