// What grows in a chart's frame: the places that are worked out, then the printed points and the line between them.

import { newSvg } from "../shared/dom.js";
import { pathOf, runs, slopes } from "./curve.js";
import { text } from "./plot_frame.js";
import { highestOf } from "./plot_layout.js";
import { markLabels } from "./plot_marks.js";
import { steps } from "./scales.js";
import { textWidth } from "./text_width.js";
import { boat, water } from "./water.js";

const MOST_SQUARES = 100;

// The places that are being worked out, as a row of squares along the axis, filled up to where it is: always equally
// high, since no height has been printed. The count stands in the frame that is still empty.
export function workedSquares([worked, total], words, item, look, g) {
  const { em, left, right, top, floor } = g;
  const group = newSvg("g", { class: "worked" });
  group.dataset.fact = item.worked_seq;
  const each = Math.max(1, Math.ceil(total / MOST_SQUARES));
  for (const n of steps(0, total - each, each)) {
    const [from, to] = [g.across(g.range.from + n), g.across(g.range.from + Math.min(n + each, total))];
    const done = n + each <= worked;
    const square = newSvg("rect", { class: done ? "worked-square done" : "worked-square", x: from + (to - from) * 0.1, width: (to - from) * 0.8, y: floor - em * 0.85, height: em * 0.6 });
    square.classList.toggle("fresh", done && n + 2 * each > worked && Boolean(look.live));
    group.append(square);
  }
  const middle = (top + floor) / 2;
  for (const [dy, what, name] of [[0.4, String(worked), "worked-count"], [2.1, words, "worked-of"]]) {
    const label = text((left + right) / 2, middle + dy * em, what, look.live ? `${name} fresh` : name);
    label.dataset.fact = item.worked_seq;
    group.append(label);
  }
  if (total <= 0) group.replaceChildren();
  return group;
}

// {elements, listed}: the points that are shown, with their line. `say` gives a turning point's [name, value].
export function curveParts({ shown, growing, say, look, g, size, picture, clip }) {
  const pieces = runs(shown.map(({ x, y, seq }) => [x, y, seq])).map((run) => ({ run, at: slopes(run) }));
  const [elements, newest] = [[], shown.at(-1)];
  const fresh = (seq) => Boolean(look.live && growing && seq === newest.seq);
  const curve = newSvg("g", { class: "curve" });
  curve.dataset.fact = newest.seq;
  for (const { run, at } of pieces) {
    if (g.staff) curve.append(...water(run, at, g.across, g.up, g.floor, g.em, clip));
    if (run.length > 1) curve.append(newSvg("path", { class: "surface", d: pathOf(run, at, g.across, g.up) }));
  }
  elements.push(curve);
  const known = shown.filter(({ y }) => y !== null);
  const halfway = known.length ? (Math.max(...known.map(({ y }) => y)) + Math.min(...known.map(({ y }) => y))) / 2 : 0;
  if (look.small) return { elements: [...elements, ...highest(known, say, g, size, picture)], listed: [] };
  const marks = known.filter(({ mark }) => mark);
  const labels = markLabels(marks.map((entry) => {
    const [name, value] = say(entry);
    return { x: entry.x, y: entry.y, seq: entry.seq, name, value, alone: say(entry, true)[1], fresh: fresh(entry.seq) };
  }), pieces, g, size, picture, look.brief);
  elements.push(...labels.elements.filter((element) => element.localName === "line"));
  const last = known.filter(({ mark }) => !mark).at(-1);
  for (const { x, y, seq, mark } of known) {
    const radius = g.em * (mark ? 0.3 : 0.18);
    const point = newSvg("circle", { class: mark ? (y >= halfway ? "mark high" : "mark low") : "point", cx: g.across(x).toFixed(1), cy: g.up(y).toFixed(1), r: radius });
    point.dataset.fact = seq;
    point.classList.toggle("fresh", fresh(seq));
    elements.push(point);
  }
  if (g.staff && growing && last) {
    const made = newSvg("g", { class: "boat" }, ...boat(g.across(last.x), g.up(last.y), g.em));
    made.dataset.fact = last.seq;
    elements.push(made);
  }
  elements.push(...labels.elements.filter((element) => element.localName !== "line"));
  return { elements, listed: labels.listed };
}

// In a small picture: the highest value alone.
function highest(known, say, g, size, picture) {
  if (known.length === 0) return [];
  const top = highestOf(known);
  const [, value] = say(top);
  const half = textWidth(picture, value, 700) / 2 + 4;
  const x = Math.min(Math.max(g.across(top.x), half), size.width - half);
  const dot = newSvg("circle", { class: "mark high", cx: g.across(top.x).toFixed(1), cy: g.up(top.y).toFixed(1), r: g.em * 0.26 });
  const label = text(x, g.up(top.y) - g.em * 0.75, value, "mark-value");
  for (const element of [dot, label]) element.dataset.fact = top.seq;
  return [dot, label];
}
