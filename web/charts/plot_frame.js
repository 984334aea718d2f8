// The frame of a chart: its axes, the lines of round values, and a tide staff at a water's edge.

import { newSvg } from "../shared/dom.js";
import { acrossText, isClock, ranges } from "./plot_layout.js";
import { decimals, linear, numberText, steps, writtenEvery } from "./scales.js";
import { textWidth } from "./text_width.js";

// Where everything is, in pixels of the picture: the scales, the edges, and the height of a letter (`em`).
export function geometry(spec, entries, size, picture, locale, small) {
  const { across, up } = ranges(spec, entries, small);
  const em = parseFloat(getComputedStyle(picture).fontSize);
  const ups = steps(up.from, up.to, spec.up.every);
  const acrosses = steps(across.from, across.to, spec.across.every);
  const places = decimals(ups);
  const upTexts = ups.map((value) => numberText(value, places, locale));
  const label = Math.max(...upTexts.map((text) => textWidth(picture, text)));
  const staff = spec.drawn_as === "water";
  const left = small ? 0 : label + em * (staff ? 1.9 : 0.9);
  const right = small ? size.width : size.width - em * 0.7;
  const marked = Object.keys(spec.marks ?? {}).length > 0; // their labels need room above the highest point
  const top = small ? em * 2.4 : em * (marked ? 2.1 : 1);
  const bottom = small ? size.height - em * 0.6 : size.height - em * 2.2;
  return {
    em, left, right, top, bottom, label, staff, ups, upTexts, acrosses,
    floor: small ? size.height : bottom + em * 0.25,
    across: linear(across.from, across.to, left, right),
    up: linear(up.from, up.to, bottom, top),
    range: across,
  };
}

export function frame(spec, g, picture, locale) {
  const { em, left, right, floor } = g;
  const parts = [];
  const upEvery = writtenEvery(g.ups.length, g.up(g.ups[0]) - g.up(g.ups.at(-1)), em * 1.15);
  g.ups.forEach((value, n) => {
    const y = g.up(value);
    parts.push(newSvg("line", { class: "round", x1: left, x2: right, y1: y, y2: y }));
    if (n % upEvery === 0) parts.push(text(g.label, y + em * 0.34, g.upTexts[n], "scale", "end"));
  });
  if (g.staff) parts.push(...staffOf(g));
  else parts.push(newSvg("line", { class: "axis", x1: left, x2: left, y1: g.top, y2: floor }));
  parts.push(newSvg("line", { class: "axis", x1: left, x2: right, y1: floor, y2: floor }));
  const texts = g.acrosses.map((value) => acrossText(spec.across, value, locale));
  const widest = Math.max(...texts.map((one) => textWidth(picture, one)));
  const every = writtenEvery(g.acrosses.length, right - left, widest + em * 1.2);
  if (isClock(spec.across)) for (const hour of steps(0, 24, 1)) parts.push(tick(g.across(hour), floor, em * 0.22));
  g.acrosses.forEach((value, n) => {
    const written = n % every === 0;
    parts.push(tick(g.across(value), floor, em * (written ? 0.4 : 0.22)));
    if (written) parts.push(text(g.across(value), floor + em * 1.5, texts[n], "scale", "middle"));
  });
  return parts;
}

// Black and white by turns, one round value a mark.
function staffOf({ em, label, ups, up }) {
  const [left, width] = [label + em * 0.45, em * 0.55];
  const parts = ups.slice(1).map((value, n) => newSvg("rect", {
    class: n % 2 === 0 ? "staff-light" : "staff-dark", x: left, width, y: up(value), height: up(ups[n]) - up(value),
  }));
  return [...parts, newSvg("rect", { class: "staff", x: left, width, y: up(ups.at(-1)), height: up(ups[0]) - up(ups.at(-1)) })];
}

function tick(x, top, length) {
  return newSvg("line", { class: "axis", x1: x, x2: x, y1: top, y2: top + length });
}

export function text(x, y, words, className, anchor = "middle") {
  const made = newSvg("text", { class: className, x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor });
  made.textContent = words;
  return made;
}
