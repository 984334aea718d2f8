// What grows in a chart's frame: the places that are worked out, then the printed points and the line between them.

import { newSvg } from "../shared/dom.js";
import { pathOf, runs, slopes } from "./curve.js";
import { text } from "./plot_frame.js";
import { markLabels } from "./plot_marks.js";
import { steps } from "./scales.js";
import { textWidth } from "./text_width.js";
import { boat, water } from "./water.js";

const MOST_RULES = 200;

// The places that have been worked out, ruled from edge to edge: how high anything is there hasn't been printed.
export function workedRules([worked, total], words, item, look, g, picture) {
  const { em, left, right, top, floor } = g;
  const edge = g.across(g.range.from + worked);
  const every = Math.max(1, Math.ceil(worked / MOST_RULES));
  const group = newSvg("g", { class: "worked" }, newSvg("rect", { class: "worked-band", x: left, y: top, width: Math.max(0, edge - left), height: floor - top }));
  for (const n of steps(0, worked, every)) {
    const x = g.across(g.range.from + n);
    group.append(newSvg("line", { class: n === worked && look.live ? "worked-rule fresh" : "worked-rule", x1: x, x2: x, y1: top, y2: floor }));
  }
  group.dataset.fact = item.worked_seq;
  const wide = Math.max(textWidth(picture, String(worked), 700, 4), textWidth(picture, words, 400, 1.2));
  const outside = edge + em + wide < right;
  const x = outside ? edge + em : Math.max(left + em * 0.8 + wide, edge - em);
  const middle = (top + floor) / 2;
  for (const [dy, what, name] of [[0.4, String(worked), "worked-count"], [2.1, words, "worked-of"]]) {
    const label = text(x, middle + dy * em, what, look.live ? `${name} fresh` : name, outside ? "start" : "end");
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
    return { x: entry.x, y: entry.y, seq: entry.seq, name, value, fresh: fresh(entry.seq) };
  }), pieces, g, size, picture);
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
  const top = known.reduce((best, one) => (one.y > best.y ? one : best));
  const [, value] = say(top);
  const half = textWidth(picture, value, 700) / 2 + 4;
  const x = Math.min(Math.max(g.across(top.x), half), size.width - half);
  const dot = newSvg("circle", { class: "mark high", cx: g.across(top.x).toFixed(1), cy: g.up(top.y).toFixed(1), r: g.em * 0.26 });
  const label = text(x, g.up(top.y) - g.em * 0.75, value, "mark-value");
  for (const element of [dot, label]) element.dataset.fact = top.seq;
  return [dot, label];
}
