// Draws a part in plain ink: its front by its plan, and its top and right side, seen a little from above.

import { DESK_TOP, frontPlan } from "./front_plan.js";
import { box, circle, cutOut, group, letters, line, path } from "./ink.js";
import { PLINTH, RISE, SIDE, isConsole } from "./layout.js";
import { stillOpening } from "./openings.js";

const LAMP_GROUP = 3;

// `lamps` false: too small for them. `text` false: too small for letters.
export function drawPart(part, { lamps, text, flush = false }) {
  const plan = frontPlan(part);
  const inked = [];
  if (part.shape === "desk") inked.push(...desk(part, plan));
  else if (isConsole(part)) inked.push(...onLegs(part, plan));
  else inked.push(...solid(part, flush), ...details(plan, part, { lamps, text }));
  if (plan.hole) inked.push(cutOut(plan.hole));
  const open = plan.windows.map((one) => stillOpening(one, { framed: !(plan.hole && one.real === false) }));
  return { plan, drawn: group("", ...inked, ...open) };
}

function oblique(x, y, w, h) {
  return [
    path(`M ${x} ${y} l ${SIDE} ${-RISE} h ${w} l ${-SIDE} ${RISE} Z`, "face"),
    path(`M ${x + w} ${y} l ${SIDE} ${-RISE} v ${h} l ${-SIDE} ${RISE} Z`, "face"),
  ];
}

// The front that is hatched and outlined, with the plinth under the last part of a stack.
function solid({ w, h, first, last }, flush) {
  const side = oblique(0, 0, w, h);
  return [
    ...(last && !flush ? [box(3, h, w - 6, PLINTH, "face")] : []),
    ...(first ? side : side.slice(1)),
    box(0, 0, w, h, "front"),
    box(0, 0, w, h, "hatching"),
    box(0, 0, w, h, "outline"),
  ];
}

function details(plan, part, { lamps, text }) {
  const { w } = part;
  const inked = [];
  if (plan.plate) inked.push(...plate(plan.plate, text));
  for (const panel of plan.panels) inked.push(box(panel.x, panel.y, panel.w, panel.h, "face"), ...(lamps ? (panel.kind === "lamps" ? lampRows(panel) : switchRow(panel)) : []));
  if (plan.shelf !== null) inked.push(box(-1.5, plan.shelf - 1.3, w + 3, 2.6, "face"));
  if (plan.lid) inked.push(line(0, plan.lid, w, plan.lid), box(w * 0.42, plan.lid - 2, w * 0.16, 4, "face"));
  if (plan.door) inked.push(box(plan.door.x, plan.door.y, plan.door.w, plan.door.h, "face"), ...(plan.door.plain ? [] : [circle(plan.door.x + plan.door.w - 4, plan.door.y + plan.door.h / 2, 1.2)]));
  if (plan.strip) inked.push(...strip(plan.strip, lamps, text));
  if (plan.louvres) {
    const { x, y, w: wide, lines } = plan.louvres;
    for (let i = 0; i < lines; i++) inked.push(line(x, y + i * 4.5, x + wide, y + i * 4.5));
  }
  if (plan.columns?.h > 8) for (const at of [0.2, 0.56]) inked.push(box(w * at, plan.columns.y, w * 0.24, plan.columns.h, "face"));
  return inked;
}

function plate({ x, y, w, h, text }, written) {
  const most = h * 0.75;
  const size = Math.min(most, (w * 0.9) / (text.length * 0.82));
  return [box(x, y, w, h, "face"), ...(written ? [letters(x + w / 2, y + h / 2 + size * 0.34, size, text, "plate")] : [])];
}

// Lamps are outlines and are never lit: nobody has seen them.
function lampRows({ x, y, w, h, count }) {
  const all = count || 24;
  const rows = all > 30 ? 2 : 1;
  const each = Math.ceil(all / rows);
  const pitch = (w - 5) / Math.ceil(each / LAMP_GROUP);
  const inked = [];
  for (let i = 0; i < all; i++) {
    const [row, n] = [Math.floor(i / each), i % each];
    const at = x + 2.5 + Math.floor(n / LAMP_GROUP) * pitch + ((n % LAMP_GROUP) + 0.6) * (pitch / 3.7);
    inked.push(circle(at, y + h * (rows > 1 ? 0.34 + row * 0.3 : 0.5), Math.min(1.1, pitch / 9)));
  }
  return inked;
}

function switchRow({ x, y, w, h, count }) {
  const each = count || 12;
  const groups = Math.ceil(each / LAMP_GROUP);
  const pitch = (w - 5) / groups;
  const inked = [];
  for (let i = 0; i < each; i++) {
    const at = x + 2.5 + Math.floor(i / LAMP_GROUP) * pitch + ((i % LAMP_GROUP) + 0.6) * (pitch / 3.7);
    inked.push(circle(at, y + h * 0.42, Math.min(0.9, pitch / 10)), line(at, y + h * 0.42, at, y + h * 0.62));
  }
  return inked;
}

function strip({ x, y, w, h, framed, text, lamps: count }, lamps, written) {
  const wide = text ? Math.min(w * 0.42, text.length * h * 0.5 + 4) : 0;
  const inked = framed ? [box(x, y, w, h, "face")] : [line(x, y - 1, x + w, y - 1)];
  if (wide) {
    inked.push(box(x, y, wide, h, "face"));
    const size = Math.min(h * 0.62, (wide - 3) / (text.length * 0.66));
    if (written) inked.push(letters(x + wide / 2, y + h / 2 + size * 0.35, size, text, "plate tight"));
  }
  const from = x + (wide ? wide + 4 : 5);
  if (lamps) for (let i = 0; i < count && from + i * 4.4 < x + w - 24; i++) inked.push(circle(from + i * 4.4, y + h / 2, 1.3));
  inked.push(box(x + w - 18, y + h * 0.18, framed ? 8 : 16, h * 0.64, "face"));
  if (!framed) inked.push(line(x + w - 15, y + h / 2, x + w - 5, y + h / 2, "thick"));
  return inked;
}

function desk({ w, h }, plan) {
  const top = h - DESK_TOP;
  const under = top + 4;
  const drawers = Math.min(34, w * 0.32);
  const inked = [
    box(w - 9, under, 4, DESK_TOP - 4, "face"),
    box(drawers + 4, under, w - drawers - 13, 8, "face"),
    box(6, h - 9, 3.5, 9, "face"),
    box(drawers - 2, h - 9, 3.5, 9, "face"),
    box(4, under, drawers, DESK_TOP - 13, "face"),
    path(`M 0 ${top} l ${SIDE * 0.9} ${-RISE} h ${w - SIDE * 0.4} l ${-SIDE * 0.9} ${RISE} Z`, "face"),
  ];
  for (let i = 0; i < 3; i++) {
    const at = under + 3 + (i * (DESK_TOP - 17)) / 3;
    const high = (DESK_TOP - 17) / 3 - 3;
    inked.push(box(7, at, drawers - 6, high, "face"), line(4 + drawers * 0.38, at + high / 2, 4 + drawers * 0.62, at + high / 2, "thick"));
  }
  inked.push(box(0, top, w - SIDE * 0.4, 4, "front"), box(0, top, w - SIDE * 0.4, 4, "hatching"), box(0, top, w - SIDE * 0.4, 4, "outline"));
  if (plan.box) inked.push(...instrument(plan.box));
  return inked;
}

function onLegs({ w, h }, plan) {
  const inked = plan.box.legs ? [box(w * 0.12, plan.box.h, 4, h - plan.box.h, "face"), box(w * 0.88 - 4, plan.box.h, 4, h - plan.box.h, "face")] : [];
  return [...inked, ...instrument(plan.box)];
}

// A terminal or a printer: its housing, with its keys before it.
function instrument({ kind, x, y, w, h }) {
  const high = kind === "printer" ? h * 0.6 : h - 4;
  const from = kind === "printer" ? y + h * 0.4 : y;
  const back = kind === "printer" ? [path(`M ${x} ${from} l 5 -4 h ${w} l -5 4 Z`, "face")] : [path(`M ${x} ${from} l ${SIDE} ${-RISE + 1} h ${w} l ${-SIDE} ${RISE - 1} Z`, "face"), path(`M ${x + w} ${from} l ${SIDE} ${-RISE + 1} l -2 ${high - 3} l ${-SIDE + 2} ${RISE + 2} Z`, "face")];
  const inked = [
    ...back,
    box(x, from, w, high, "front rounded"), box(x, from, w, high, "hatching rounded"), box(x, from, w, high, "outline rounded"),
  ];
  if (kind !== "printer") {
    for (let i = 0; i < 3; i++) inked.push(line(x + w * 0.84, from + 7 + i * 3, x + w * 0.94, from + 7 + i * 3));
    inked.push(circle(x + w * 0.89, from + high - 8, 1.5));
  }
  return [...inked, ...keyboard(x, w, y + h)];
}

function keyboard(x, w, foot) {
  const inked = [path(`M ${x + 2} ${foot - 8} H ${x + w - 2} L ${x + w + 1} ${foot} H ${x - 2} Z`, "face")];
  for (let row = 0; row < 3; row++) inked.push(line(x + 3 - row, foot - 6.2 + row * 2, x + w - 3 + row, foot - 6.2 + row * 2, "keys"));
  return inked;
}
