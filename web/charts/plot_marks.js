// The labels of turning points. Where there isn't room for all of them, each gets a number and they are listed below.

import { newSvg } from "../shared/dom.js";
import { heightAt } from "./curve.js";
import { placeLabels } from "./labels.js";
import { text } from "./plot_frame.js";
import { textWidth } from "./text_width.js";

const SAMPLE = 0.35; // of a letter's height, between two looks at where the curve is

// Boxes that no label may cover: the line (and the water below it), the points, and the boat's place at the end.
export function obstacles(runs, g) {
  const found = [];
  for (const { run, at } of runs) {
    const [first, last] = [g.across(run[0][0]), g.across(run.at(-1)[0])];
    const scale = last > first ? (run.at(-1)[0] - run[0][0]) / (last - first) : 0;
    for (let x = first; x <= last; x += g.em * SAMPLE) {
      const height = heightAt(run, at, run[0][0] + (x - first) * scale);
      if (height === null) continue;
      const y = g.up(height);
      found.push({ left: x - 2, right: x + g.em * SAMPLE, top: y - 4, bottom: g.staff ? g.floor : y + 4 });
    }
  }
  return found;
}

// {elements, listed}: what is drawn, and the marks (by number) that must be listed below.
// `brief`: when and how high alone, and of those that have no room the highest.
export function markLabels(marks, runs, g, size, picture, brief) {
  if (marks.length === 0) return { elements: [], listed: [] };
  const em = g.em;
  const frame = { left: g.left + 2, right: size.width - 2, top: 2, bottom: g.floor - 2 };
  const blocked = obstacles(runs, g);
  const full = marks.map(({ x, y, name, value }) => ({
    x: g.across(x), y: g.up(y), height: em * (brief ? 1.2 : 2.35),
    width: Math.max(brief ? 0 : textWidth(picture, name, 400, 0.95), textWidth(picture, value, 700)) + em * 0.3,
  }));
  const options = { gap: em * 0.4, below: !g.staff };
  const boxes = placeLabels(full, frame, blocked, options);
  if (boxes) return { elements: marks.flatMap((mark, n) => fullLabel(mark, boxes[n], full[n], em, brief)), listed: [] };
  if (brief && marks.length > 1) {
    const highest = marks.reduce((best, one) => (one.y > best.y ? one : best));
    return markLabels([{ ...highest, value: highest.alone }], runs, g, size, picture, true);
  }
  const numbers = marks.map(({ x, y }) => ({ x: g.across(x), y: g.up(y), height: em, width: em }));
  const places = placeLabels(numbers, { ...frame, left: 0 }, [], { gap: em * 0.3, below: true });
  return {
    elements: marks.map((mark, n) => fact(mark, text(...middle(places?.[n] ?? around(numbers[n]), em), String(n + 1), "mark-value"))),
    listed: marks,
  };
}

function fullLabel(mark, box, { x, y }, em, brief) {
  const centre = (box.left + box.right) / 2;
  const above = box.bottom < y;
  const [from, to] = above ? [box.bottom, y] : [y, box.top];
  return [
    fact(mark, newSvg("line", { class: "leader", x1: x, x2: x, y1: from, y2: to })),
    ...(brief ? [] : [fact(mark, text(centre, box.top + em * 0.9, mark.name, "mark-name"))]),
    fact(mark, text(centre, box.top + em * (brief ? 0.95 : 2.02), mark.value, "mark-value")),
  ];
}

function fact(mark, element) {
  element.dataset.fact = mark.seq;
  if (mark.fresh) element.classList.add("fresh");
  return element;
}

function middle(box, em) {
  return [(box.left + box.right) / 2, box.bottom - em * 0.16];
}

function around({ x, y, width, height }) {
  return { left: x - width / 2, right: x + width / 2, top: y - height * 1.4, bottom: y - height * 0.4 };
}
