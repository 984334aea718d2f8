// How busy the machine is, in everyday words, and the processor's share as a line of ink.

import { hoursMinutes, inLanguage } from "../shared/words.js";
import { cardNamed } from "./cards.js";
import { newSvg } from "../shared/dom.js";
import { dateOf } from "./story.js";

const TRACE_S = 600;
const GAP_S = 45; // longer than the machine takes to repaint its display: no line is drawn across such a gap
const WIDTH = 300;
const HEIGHT = 80;
const BARS = 22; // of the height; the rest is for the line
const PIECE_S = 10; // each bar counts what was printed in this time
const FULL_BAR = 500; // characters, at least: so that a small amount looks small

function reading(readings, name) {
  const dot = name.indexOf(".");
  return readings[name.slice(0, dot)]?.[name.slice(dot + 1)];
}

// The everyday name of each program, from the figures of the card "jobs".
function programNames(recording, tag) {
  const card = cardNamed(recording, "jobs");
  const lines = card ? inLanguage(card.text, tag).split("\n\n").filter((line) => line.startsWith("- ")) : [];
  return new Map(lines.map((line) => [line.slice(2, line.indexOf(":")).trim(), line.slice(line.indexOf(":") + 1).trim()]));
}

// [name, value, beside, key] for each thing that the recording knows about the machine's work. The page hides rows with
// a key where there is no room.
export function nowRows(items, readings, words, tag) {
  const { now, ...recording } = items.recording ?? {};
  if (!now || items.silent) return []; // nobody knows how busy a machine is from which nothing is heard
  const rows = [];
  for (const name of now.jobs) {
    const jobs = reading(readings, name);
    if (!jobs?.table) continue;
    const names = programNames(recording, tag);
    const each = jobs.table.map((row) => {
      const program = (row[now.job_name] ?? "").trim();
      return names.get(program) ?? program;
    });
    const shown = [...new Set(each)].slice(0, 4);
    const text = jobs.table.length ? `${words.jobs(jobs.table.length)}: ${shown.join("; ")}` : words.jobs(0);
    rows.push([words.rows.jobs, text + (shown.length < new Set(each).size ? " …" : ""), words.listedAt(hoursMinutes(jobs.at))]);
  }
  for (const name of now.share) {
    const share = reading(readings, name);
    if (share) rows.push([words.rows.share, words.share(share.value), words.at(hoursMinutes(share.at)), "share"]);
  }
  const disc = items.disc;
  if (disc) rows.push([words.rows.disc, disc.per_min === null ? words.transfers(disc.total) : words.perMinute(disc.per_min), words.at(hoursMinutes(disc.at)), "disc"]);
  for (const name of now.errors) {
    const errors = reading(readings, name);
    if (errors) rows.push([words.rows.errors, words.errors(errors.value), words.readAt(hoursMinutes(errors.at)), "errors"]);
  }
  if (items.heard) rows.push([words.rows.heard, hoursMinutes(items.heard), "", "heard"]);
  const date = dateOf(items);
  if (date) {
    const why = inLanguage(cardNamed(recording, "the-date")?.text, tag);
    rows.push([words.rows.date, date.value, why, "date"]);
  }
  return rows;
}

// Draws the processor's share as a line, and what was printed as bars below it, over the last ten minutes of the
// machine's time that are known.
export function paintTrace(holder, points, printed, words) {
  const key = JSON.stringify([points, printed, words.locale]);
  if (holder.dataset.key === key) return;
  holder.dataset.key = key;
  const [shares, pieces] = [points ?? [], printed ?? []];
  holder.hidden = shares.length < 2 && pieces.length < 2;
  if (holder.hidden) {
    holder.replaceChildren();
    return;
  }
  const top = shares.length ? 0 : HEIGHT - BARS; // leaves out the space for the line where there is none
  const end = Math.max(shares.at(-1)?.[0] ?? 0, (pieces.at(-1)?.[0] ?? -PIECE_S) + PIECE_S);
  const x = (at) => WIDTH * (1 - (end - at) / TRACE_S);
  const values = shares.map(([, value]) => value);
  const label = [
    values.length ? words.traceIs(Math.min(...values), Math.max(...values), values.at(-1)) : "",
    words.printedIs(pieces.reduce((sum, [, count]) => sum + count, 0)),
  ];
  const svg = newSvg("svg", { viewBox: `0 ${top} ${WIDTH} ${HEIGHT - top}`, preserveAspectRatio: "none", role: "img", "aria-label": label.filter(Boolean).join(" ") });
  for (const value of values.length ? [0, 50, 100] : []) svg.append(newSvg("line", { x1: 0, x2: WIDTH, y1: share(value), y2: share(value) }));
  for (const run of runs(shares, x)) svg.append(newSvg("polyline", { points: (run.length > 1 ? run : [run[0], run[0]]).join(" ") }));
  const most = Math.max(FULL_BAR, ...pieces.map(([, count]) => count));
  for (const [at, count] of pieces) {
    const height = Math.max(1, (BARS * count) / most);
    svg.append(newSvg("rect", { x: x(at).toFixed(1), y: (HEIGHT - height).toFixed(1), width: x(at + PIECE_S) - x(at) - 1, height: height.toFixed(1) }));
  }
  svg.append(newSvg("line", { x1: 0, x2: WIDTH, y1: HEIGHT, y2: HEIGHT }));
  const scale = document.createElement("p");
  scale.className = "trace-scale";
  scale.setAttribute("aria-hidden", "true");
  for (const text of values.length ? ["100", "0"] : []) scale.append(Object.assign(document.createElement("span"), { textContent: text }));
  const frame = document.createElement("div");
  frame.className = shares.length ? "trace-frame" : "trace-frame bars-alone";
  frame.append(scale, svg);
  const caption = document.createElement("p");
  caption.textContent = values.length ? words.trace : words.traceOfPrint;
  holder.replaceChildren(caption, frame);
}

const share = (value) => 2 + (HEIGHT - BARS - 6) * (1 - Math.min(100, Math.max(0, value)) / 100);

function runs(points, x) {
  const found = [];
  points.forEach(([at, value], index) => {
    if (index === 0 || at - points[index - 1][0] > GAP_S) found.push([]);
    found.at(-1).push(`${x(at).toFixed(1)},${share(value).toFixed(1)}`);
  });
  return found;
}

// For those who want the figures: what the museum wrote down, and the settings of the line.
export function itselfRows(recording, words, tag) {
  const card = cardNamed(recording, "the-machine-itself");
  const lines = card ? inLanguage(card.text, tag).split("\n\n").filter((line) => line.startsWith("- ")) : [];
  const rows = lines.map((line) => [line.slice(2, line.indexOf(":")).trim(), line.slice(line.indexOf(":") + 1).trim()]);
  if (recording?.line) rows.push([words.lineSet, recording.line]);
  const display = recording?.display;
  if (display) rows.push([words.display, words.displayIs(display)]);
  return { rows, source: card ? inLanguage(card.source, tag) : "" };
}

