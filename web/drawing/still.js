// The still drawing: ground, cables, every part in ink. It is painted once, and again only when a part's state changes.

import { newSvg } from "../shared/dom.js";
import { drawPart } from "./fronts.js";
import { box, group, line, path } from "./ink.js";
import { LAMPS_FROM, PLINTH, cablePath } from "./layout.js";
import { stillOpening } from "./openings.js";
import { addressOf, copyOf, isDrawing, openingGroup } from "./pictures.js";

const BESIDE = 15; // the width of what is drawn beside a photograph
let hatchings = 0;

const THIN_BELOW = 1.8; // pixels a centimetre: lines would be too thin below this
export const weights = (pxPerCm) => (pxPerCm < THIN_BELOW ? { fine: 1.1 / pxPerCm, heavy: 2.4 / pxPerCm } : { fine: 0.61, heavy: 1.63 });

export function hatching() {
  hatchings += 1;
  const id = `hatching-${hatchings}`;
  const turned = { id, width: 3.66, height: 3.66, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" };
  return { id, pattern: newSvg("defs", {}, newSvg("pattern", turned, line(0, 0, 0, 3.66, "hatch-line"))) };
}

// The weights of the lines inside `element`, in its own centimetres.
export function weigh(element, pxPerCm) {
  const { fine, heavy } = weights(pxPerCm);
  element.style.setProperty("--fine", fine);
  element.style.setProperty("--heavy", heavy);
}

// Draws all of it. `pictures` gives the museum's own; `groups` is filled with each part's group and openings.
export function drawStill(layout, { hub, ways }, pictures) {
  const { width, height, floor, pxPerCm } = layout;
  const hatch = hatching();
  const svg = newSvg("svg", { class: "still", width: width * pxPerCm, height: height * pxPerCm, viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" }, hatch.pattern);
  svg.style.setProperty("--hatching", `url("#${hatch.id}")`);
  const parts = new Map();
  const cableLines = group("cables");
  for (const way of ways) cableLines.append(cable(way));
  svg.append(line(layout.ground.from, floor, layout.ground.to, floor), cableLines);
  // From the right, and stacks from the foot, so that a side that is seen past another part's edge lies behind it.
  for (const place of [...layout.places].reverse()) {
    const made = partGroup(place, layout, pictures);
    parts.set(place.name, made);
    svg.append(made.group);
  }
  return { svg, parts, cables: cableLines, hub };
}

function cable(way) {
  const d = cablePath(way);
  const middle = (way.x1 + way.x2) / 2;
  const whole = path(d, "whole");
  const [left, right] = [Math.min(way.x1, way.x2), Math.max(way.x1, way.x2)];
  const [a, b] = way.x1 < way.x2 ? [way.y1, way.y2] : [way.y2, way.y1];
  const cut = path(`M ${left} ${a} V ${way.depth} H ${middle - 6} M ${middle + 6} ${way.depth} H ${right} V ${b} M ${middle - 8} ${way.depth + 3} l 4 -6 M ${middle + 4} ${way.depth + 3} l 4 -6`, "cut");
  const made = group(`cable ${way.kind}`, whole, cut);
  made.dataset.to = way.to;
  return made;
}

export function partGroup(place, layout, pictures) {
  const name = place.picture;
  const drawing = name && isDrawing(name) ? pictures.drawing(name) : null;
  const made = name && (drawing || !isDrawing(name)) ? museumsPart(place, drawing) : drawPart(place, { lamps: layout.pxPerCm >= LAMPS_FROM, text: layout.text });
  const one = group("part-front", made.drawn);
  one.dataset.part = place.name;
  one.dataset.state = place.state;
  made.drawn.setAttribute("transform", `translate(${place.x} ${place.y})`);
  return { group: one, windows: made.plan.windows, plan: made.plan, copy: made.copy ?? null, inside: made.drawn };
}

function museumsPart(place, drawing) {
  const { w, h, last } = place;
  const frame = [box(0, 0, w, h, "hatching"), box(0, 0, w, h, "outline")];
  const foot = last ? [box(3, h, w - 6, PLINTH, "face")] : [];
  if (drawing) {
    const copy = copyOf(drawing, place.name, w, h);
    return { drawn: group("", ...foot, copy, ...frame), plan: { windows: [] }, copy };
  }
  const photograph = newSvg("image", { href: addressOf(place.picture), width: w, height: h, preserveAspectRatio: "xMidYMid slice" });
  const windows = beside(place);
  return { drawn: group("", ...foot, photograph, ...frame, ...windows.map((one) => stillOpening(one))), plan: { windows } };
}

// A photograph isn't drawn upon: what lives in the part is shown beside it, small.
function beside({ w, h, openings }) {
  const high = { gauge: BESIDE * 1.6, core: BESIDE, disc: BESIDE, packs: BESIDE * 0.75, tape: BESIDE * 0.6, screen: BESIDE * 0.75, paper: BESIDE };
  let y = h;
  return openings.filter((one) => high[one.kind]).map(({ kind, real }) => {
    y -= high[kind] + 3;
    return { kind, real, x: w + 3, y: Math.max(0, y), w: BESIDE, h: high[kind] };
  });
}

// The openings that a museum's own drawing names, as groups `opening-KIND`: found in it once it is on the page.
export function fillMuseums(made, place, root, pxPerCm) {
  const frame = root.getBoundingClientRect();
  const windows = [];
  for (const { kind, real } of place.openings) {
    const there = openingGroup(made.copy, place.name, kind);
    const box = there?.getBoundingClientRect();
    if (!box?.width || !box.height) continue;
    const [x, y] = [(box.left - frame.left) / pxPerCm - place.x, (box.top - frame.top) / pxPerCm - place.y];
    windows.push({ kind, real, x, y, w: box.width / pxPerCm, h: box.height / pxPerCm });
  }
  for (const one of windows) {
    if (one.kind !== "lamps" && one.kind !== "switches") made.inside.append(stillOpening(one));
  }
  return windows;
}
