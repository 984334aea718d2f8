// What stands still in an opening, in ink: discs without marks, a staff without water, squares without filling.
// This is how everything looks of which nothing is known. What lives is laid over it (living.js).

import { box, circle, ellipse, group, line, path } from "./ink.js";

export const PLATTERS = 5;
const TURN = 2 * Math.PI;

// The sizes within a disc's, a pack's and a gauge's opening, in centimetres from the opening's corner.
export function discIn({ w, h }) {
  const r = Math.min(w, h) / 2;
  return { cx: w / 2, cy: h / 2, r: r * 0.9, rim: r * 0.68, frame: r };
}

export function packIn({ w, h }) {
  const rx = Math.min(w * 0.36, h * 0.75);
  const ry = rx / 4;
  const pitch = Math.min(ry * 0.75, (h - 2 * ry - 5) / (PLATTERS - 1));
  const cy = (h - pitch * (PLATTERS - 1)) / 2;
  return { cx: w * 0.43, cy, rx, ry, pitch, arms: w * 0.43 + rx * 0.86 };
}

export function gaugeIn({ w, h }) {
  const staff = Math.min(8, w * 0.16);
  const left = Math.max(2.5, w * 0.1);
  return { staff: { x: left, y: 3, w: staff, h: h - 6 }, tube: { x: left + staff + 3, y: 3, w: w - 2 * left - staff - 3, h: h - 6 } };
}

// 8 by 8 squares, or in a flat opening as many squares in fewer rows.
export function coreIn({ w, h }) {
  const columns = h * 1.9 < w ? 16 : 8;
  const rows = 64 / columns;
  const pitch = Math.min((w - 5) / columns, (h - 3) / rows);
  const [x, y] = [(w - pitch * columns) / 2, (h - pitch * rows) / 2];
  const squares = [];
  for (let i = 0; i < 64; i++) squares.push({ x: x + (i % columns) * pitch + pitch * 0.1, y: y + Math.floor(i / columns) * pitch + pitch * 0.1 });
  return { size: pitch * 0.8, squares };
}

export const squarePath = ({ squares, size }) => squares.map(({ x, y }) => `M ${x} ${y} h ${size} v ${size} h ${-size} Z`).join(" ");

export function reelsIn({ w, h }) {
  const r = Math.min(w * 0.22, h * 0.42);
  return { r, left: { cx: w * 0.27, cy: h * 0.48 }, right: { cx: w * 0.73, cy: h * 0.48 } };
}

const STILL = {
  disc: (opening) => {
    const { cx, cy, r, rim, frame } = discIn(opening);
    return [circle(cx, cy, frame, "window"), circle(cx, cy, r), ...[rim, rim * 0.78, rim * 0.56, rim * 0.36].map((one) => circle(cx, cy, one)), circle(cx, cy, rim * 0.14, "face")];
  },
  packs: (opening) => {
    const { cx, cy, rx, ry, pitch } = packIn(opening);
    const platters = [];
    for (let i = PLATTERS - 1; i >= 0; i--) platters.push(ellipse(cx, cy + i * pitch, rx, ry, "face"));
    return [...platters, ellipse(cx, cy, rx * 0.5, ry * 0.5), ellipse(cx, cy, rx * 0.2, ry * 0.22)];
  },
  gauge: (opening) => {
    const { staff, tube } = gaugeIn(opening);
    const marks = [box(staff.x, staff.y, staff.w, staff.h, "face")];
    for (let i = 0; i < 10; i += 2) marks.push(box(staff.x, staff.y + (staff.h * (i + 1)) / 10, staff.w, staff.h / 10, "solid"));
    return [...marks, box(tube.x, tube.y, tube.w, tube.h, "face")];
  },
  core: (opening) => [path(squarePath(coreIn(opening)), "thin")],
  screen: () => [],
  paper: () => [],
  tape: (opening) => {
    const { r, left, right } = reelsIn(opening);
    const reel = ({ cx, cy }) => [circle(cx, cy, r, "face"), circle(cx, cy, r * 0.62), circle(cx, cy, r * 0.22), ...[0, 1, 2].map((i) => {
      const [sin, cos] = [Math.sin((i * TURN) / 3), Math.cos((i * TURN) / 3)];
      return line(cx + r * 0.22 * sin, cy - r * 0.22 * cos, cx + r * 0.55 * sin, cy - r * 0.55 * cos);
    })];
    const foot = opening.h - 2;
    return [...reel(left), ...reel(right), path(`M ${left.cx - r} ${left.cy} V ${foot} H ${right.cx + r} V ${right.cy}`)];
  },
};

export function stillOpening(opening, { framed = true } = {}) {
  const { kind, x, y, w, h } = opening;
  const frame = framed && kind !== "disc" && kind !== "paper" ? box(x, y, w, h, kind === "screen" ? "window rounded" : "window") : null;
  const inside = group("", ...(STILL[kind]?.(opening) ?? []));
  inside.setAttribute("transform", `translate(${x} ${y})`);
  return group(`opening opening-${kind}`, ...(frame ? [frame] : []), inside);
}
