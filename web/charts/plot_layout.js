// What a chart shows, worked out without a page: its ranges, its texts, and what has been printed in which order.

import { clockText, covering, decimals, numberText } from "./scales.js";

// Everything that is drawn one after the other: points and turning points, in the order in which they were printed.
export function entriesOf(item) {
  const points = (item?.points ?? []).map(([x, y, seq]) => ({ x, y, seq, mark: null }));
  const marks = (item?.marks ?? []).filter(({ x, y }) => typeof x === "number" && typeof y === "number")
    .map((mark) => ({ x: mark.x, y: mark.y, seq: mark.seq, mark }));
  return [...points, ...marks].map((entry, n) => [entry, n]).sort(([a, n], [b, m]) => a.seq - b.seq || n - m).map(([entry]) => entry);
}

// The ranges of both axes, wide enough for every value that was printed; `tight`: from the first point to the last.
export function ranges(spec, entries, tight = false) {
  const known = entries.filter(({ y }) => y !== null);
  const xs = known.map(({ x }) => x);
  return {
    across: tight && xs.length > 1 ? { from: Math.min(...xs), to: Math.max(...xs) } : covering(spec.across, xs),
    up: covering(spec.up, known.map(({ y }) => y)),
  };
}

// An axis from 0 to 24 is that of a day: its values are written as a clock shows them.
export function isClock({ from, to }) {
  return from === 0 && to === 24;
}

export function acrossText(axis, value, locale) {
  return isClock(axis) ? String(value).padStart(2, "0") : numberText(value, decimals([value]), locale);
}

// Where and how high: ["06:27", "5.40 metres"]. As exact as the values that were printed.
export function markTexts(spec, entries, { x, y }, unit, locale) {
  const places = decimals(entries.filter((entry) => entry.y !== null).map((entry) => entry.y));
  const xs = decimals(entries.map((entry) => entry.x));
  const where = isClock(spec.across) ? clockText(x) : numberText(x, xs, locale);
  return [where, `${numberText(y, places, locale)}${unit ? ` ${unit}` : ""}`];
}

// The highest of the known entries. Of equal ones a turning point, which is exact, and of these the first.
export function highestOf(known) {
  return known.reduce((best, one) => (one.y > best.y || (one.y === best.y && one.mark && !best.mark) ? one : best));
}

// How far, highest, lowest: [last, highest, lowest] of the known entries; null if there is none.
export function extremes(entries) {
  const known = entries.filter(({ y }) => y !== null);
  if (known.length === 0) return null;
  const by = (better) => known.reduce((best, one) => (better(one, best) ? one : best));
  return [by((a, b) => a.x > b.x), by((a, b) => a.y > b.y), by((a, b) => a.y < b.y)];
}

// How many of how many are worked out: [15, 24]. The count is what the machine printed, never more than there are.
export function workedOf(spec, item) {
  const total = spec.across.to - spec.across.from;
  return [Math.min(item.worked, total), total];
}
