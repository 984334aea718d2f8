// The day as a line: the whole of it above, and what is near the moment below, in lanes. Ink; trouble alone in its colour,
// and with a shape of its own.

import { newElement, newSvg } from "../shared/dom.js";
import { Scale, ticks } from "./scale.js";
import { lasting } from "./times.js";

const LANES = [
  { id: "steps", says: "Steps" },
  { id: "hands", says: "By hand" },
  { id: "captions", says: "Captions" },
  { id: "readings", says: "Readings" },
  { id: "troubles", says: "Went wrong" },
  { id: "notes", says: "Notes" },
];
const LANE = 1.55; // in em
const WHOLE = 3.2;
const NAMES = 5.2; // room for the lanes' names, at their left
const NARROW = 34; // then they stand above their lanes

export class DayLine {
  // `go` gets the moment that was pointed at.
  constructor(whole, near, go) {
    this.parts = { whole, near };
    this.go = go;
    this.line = null;
    for (const part of ["whole", "near"]) {
      this.parts[part].addEventListener("pointerdown", (event) => this.pointed(part, event));
    }
    new ResizeObserver(() => this.draw()).observe(whole);
  }

  // The answer that describes the day's line, and its Times.
  show(line, times) {
    Object.assign(this, { line, times, nearFrom: 0, nearUs: line.end_us });
    this.damages = [];
    this.at = 0;
    this.draw();
  }

  // What is damaged: [us, first byte, how many, why].
  damaged(damages) {
    if (damages.length === this.damages.length) return;
    this.damages = damages;
    this.draw();
  }

  // How much is shown near the moment, in microseconds; 0 is the whole day.
  setWindow(us) {
    this.nearUs = us || this.line.end_us;
    this.nearFrom = this.nearUs < this.line.end_us ? -1 : 0;
    this.draw();
    this.move(this.at);
  }

  // Moves the cursor; what is near follows in leaps, so that it stands still most of the time.
  move(us) {
    if (!this.line) return;
    this.at = us;
    const span = Math.min(this.nearUs, this.line.end_us);
    const outside = us < this.nearFrom + span * 0.05 || us > this.nearFrom + span * 0.95;
    if (this.nearFrom < 0 || (span < this.line.end_us && outside)) {
      const from = Math.min(Math.max(0, us - span * 0.3), Math.max(0, this.line.end_us - span));
      if (from !== this.nearFrom) {
        this.nearFrom = from;
        this.drawNear();
        this.drawFrame();
      }
    }
    this.placeCursors();
  }

  draw() {
    if (!this.line) return;
    this.em = parseFloat(getComputedStyle(this.parts.whole).fontSize);
    this.drawWhole();
    this.nearFrom = Math.max(0, this.nearFrom < 0 ? Math.min(this.at - this.nearUs * 0.3, this.line.end_us - this.nearUs) : this.nearFrom);
    this.drawNear();
    this.drawFrame();
    this.placeCursors();
  }

  drawWhole() {
    const { em, line } = this;
    const all = Math.max(200, this.parts.whole.clientWidth);
    const left = all < NARROW * em ? 0 : NAMES * em;
    const width = all - left;
    const same = this.nearUs >= line.end_us; // then the hours stand below the lanes
    const height = (same ? WHOLE - 1.1 : WHOLE) * em;
    this.wholeScale = new Scale(0, line.end_us, line.folds, width);
    const [top, foot] = [0.25 * em, height - (same ? 0.25 : 1.35) * em];
    const { marks } = line;
    const x = (us) => this.wholeScale.x(us);
    const whole = newSvg("svg", { width: all, height, viewBox: `0 0 ${all} ${height}`, "aria-hidden": "true" });
    const svg = newSvg("g", { transform: `translate(${left} 0)` });
    whole.append(svg);
    svg.append(
      newSvg("path", { class: "axis", d: `M0 ${foot}H${width}` }),
      newSvg("path", { class: "span", d: boxes(marks.scripts.map(([from, to]) => [x(from), x(to)]), foot - 0.5 * em, 0.5 * em) }),
      newSvg("path", { class: "lost", d: boxes(marks.lost.map(([from, to]) => [x(from), x(to)]), top + 0.9 * em, 0.2 * em) }),
      newSvg("path", { class: "stroke", d: strokes([...marks.hands.map(([from]) => x(from)), ...marks.acts.map(([us]) => x(us))], foot - 1 * em, 0.45 * em) }),
      newSvg("path", { class: "trouble", d: marks.troubles.map(([us]) => triangle(x(us), top, 0.75 * em)).join("") }),
      newSvg("path", { class: "note", d: marks.notes.map(([us]) => diamond(x(us), top + 0.35 * em, 0.35 * em)).join("") }),
      newSvg("path", { class: "damage", d: this.damages.map(([us]) => cross(x(us), foot - 0.25 * em, 0.3 * em)).join("") }),
    );
    this.addFolds(svg, this.wholeScale, foot, em);
    if (!same) this.addTicks(svg, this.wholeScale, height, em);
    this.frame = newSvg("rect", { class: "frame", y: 1, height: height - 1.1 * em });
    this.wholeCursor = newSvg("path", { class: "cursor", d: `M0 0V${foot + 0.3 * em}` });
    svg.append(this.frame, this.wholeCursor);
    this.left = left;
    this.parts.whole.replaceChildren(whole);
  }

  drawNear() {
    const { em, line } = this;
    const all = Math.max(200, this.parts.near.clientWidth);
    const narrow = all < NARROW * em;
    const left = narrow ? 0 : NAMES * em;
    const width = all - left;
    const to = Math.min(line.end_us, this.nearFrom + this.nearUs);
    this.nearScale = new Scale(this.nearFrom, to, line.folds, width);
    const lane = LANE * em * (narrow ? 1.5 : 1);
    const height = LANES.length * lane + 1.4 * em;
    const svg = newSvg("svg", { width: all, height, viewBox: `0 0 ${all} ${height}` });
    const inside = newSvg("g", { transform: `translate(${left} 0)` });
    const laneNames = [];
    LANES.forEach(({ id, says }, index) => {
      const [y, h] = [index * lane + (narrow ? 1.05 : 0.2) * em, lane - (narrow ? 1.2 : 0.4) * em];
      inside.append(newSvg("path", { class: "lane", d: `M0 ${(index + 1) * lane}H${width}` }));
      const name = newSvg("text", { class: "lane-name", x: narrow ? 0 : -left, y: narrow ? index * lane + 0.9 * em : y + h * 0.5 + 0.33 * em });
      name.textContent = says;
      inside.append(...this.laneOf(id, y, h));
      laneNames.push(name);
    });
    this.addFolds(inside, this.nearScale, LANES.length * lane, em);
    inside.append(...laneNames);
    this.nearCursor = newSvg("path", { class: "cursor", d: `M0 0V${LANES.length * lane}` });
    inside.append(this.nearCursor);
    svg.append(inside);
    this.addTicks(inside, this.nearScale, height, em);
    this.parts.near.replaceChildren(svg);
  }

  laneOf(id, y, h) {
    const { marks } = this.line;
    const scale = this.nearScale;
    const seen = (from, to = from) => to >= scale.from && from <= scale.to;
    const x = (us) => scale.x(us);
    const middle = y + h / 2;
    if (id === "steps") return this.steps(marks.steps.filter(([from, to]) => seen(from, to)), y, h);
    if (id === "hands") {
      const spans = marks.hands.filter(([from, to]) => seen(from, to));
      return [
        newSvg("path", { class: "span-open", d: boxes(spans.map(([from, to]) => [x(from), x(to)]), y + h * 0.2, h * 0.6) }),
        newSvg("path", { class: "stroke", d: strokes(marks.acts.filter(([us]) => seen(us)).map(([us]) => x(us)), y, h) }),
        ...this.names(spans.map(([from, to, , step, outcome, by]) => [x(from), x(to), by ? `${step}: ${outcome}, ${by}` : `${step}: ${outcome}`]), y, h),
      ];
    }
    if (id === "captions") {
      const kinds = { seen: "caption-seen", background: "caption-background" };
      return ["seen", "background", "look or listen for"].map((kind) => newSvg("path", {
        class: kinds[kind] ?? "caption-look",
        d: marks.captions.filter(([us, , , one]) => one === kind && seen(us)).map(([us]) => (kind === "background" ? square(x(us), middle, h * 0.28) : disc(x(us), middle, h * 0.28))).join(""),
      }));
    }
    if (id === "readings") return [newSvg("path", { class: "stroke", d: strokes(marks.readings.filter(([us]) => seen(us)).map(([us]) => x(us)), y + h * 0.2, h * 0.6) })];
    if (id === "troubles") {
      const here = marks.troubles.filter(([us]) => seen(us));
      return [
        newSvg("path", { class: "lost", d: boxes(marks.lost.filter(([from, to]) => seen(from, to)).map(([from, to]) => [x(from), x(to)]), middle - h * 0.1, h * 0.2) }),
        newSvg("path", { class: "trouble", d: here.map(([us]) => triangle(x(us), y, h)).join("") }),
        newSvg("path", { class: "damage", d: this.damages.filter(([us]) => seen(us)).map(([us]) => cross(x(us), middle, h * 0.35)).join("") }),
        ...this.names(here.map(([us, , what], index) => [x(us) + h * 0.6, index + 1 < here.length ? x(here[index + 1][0]) : scale.width, what]), y, h, "trouble-name"),
      ];
    }
    const here = marks.notes.filter(([us]) => seen(us));
    return [
      newSvg("path", { class: "note", d: here.map(([us]) => diamond(x(us), middle, h * 0.35)).join("") }),
      ...this.names(here.map(([us, , kind, by, words], index) => [x(us) + h * 0.6, index + 1 < here.length ? x(here[index + 1][0]) : scale.width, words ? `${by}: ${words.slice(0, 60)}` : `${kind} by ${by}`]), y, h),
    ];
  }

  steps(steps, y, h) {
    const x = (us) => this.nearScale.x(us);
    const boxed = (states) => boxes(steps.filter(([, , , , state]) => states.includes(state)).map(([from, to]) => [x(from), Math.max(x(to), x(from) + 1)]), y, h);
    return [
      newSvg("path", { class: "step", d: boxed(["done", "running"]) }),
      newSvg("path", { class: "step-left-out", d: boxed(["left out"]) }),
      newSvg("path", { class: "step-late", d: boxed(["late", "failed"]) }),
      newSvg("path", { class: "trouble", d: steps.filter(([, , , , state]) => state === "failed").map(([, to]) => cross(x(to), y + h / 2, h * 0.3)).join("") }),
      ...this.names(steps.map(([from, to, , step, state]) => [x(from) + 0.25 * this.em, x(to), state === "done" ? step : `${step}, ${state}`]), y, h),
    ];
  }

  // Words, each where there is room for it: [from, to, text].
  names(spans, y, h, className = "name") {
    return spans.filter(([from, to, text]) => to - from > 0.56 * this.em * text.length + 0.25 * this.em).slice(0, 200).map(([from, , text]) => {
      const said = newSvg("text", { class: className, x: from, y: y + h * 0.5 + 0.31 * this.em });
      said.textContent = text;
      return said;
    });
  }

  addFolds(svg, scale, foot, em) {
    for (const { from, to, x, wide } of scale.folds) {
      const fold = newSvg("g", { class: "fold" }, newSvg("rect", { x, y: 0, width: wide, height: foot }), newSvg("path", { d: `M${x + wide * 0.3} ${foot}l${wide * 0.2} ${-0.9 * em}M${x + wide * 0.5} ${foot}l${wide * 0.2} ${-0.9 * em}` }));
      const title = newSvg("title", {});
      title.textContent = `Folded: nothing happened for ${lasting((to - from) / this.line.rate)}`;
      fold.append(title);
      svg.append(fold);
    }
  }

  addTicks(svg, scale, height, em) {
    for (const { x, text } of ticks(scale, this.times, 6 * em)) {
      if (x < 2 * em || x > scale.width - 2 * em) continue; // it would be cut
      const said = newSvg("text", { class: "tick", x, y: height - 0.25 * em });
      said.textContent = text;
      svg.append(newSvg("path", { class: "tick-line", d: `M${x} ${height - 1.35 * em}v${0.25 * em}` }), said);
    }
  }

  drawFrame() {
    const [from, to] = [this.wholeScale.x(this.nearFrom), this.wholeScale.x(this.nearFrom + this.nearUs)];
    this.frame.setAttribute("x", from + 1);
    this.frame.setAttribute("width", Math.max(3, to - from - 2));
    this.frame.toggleAttribute("hidden", this.nearUs >= this.line.end_us);
  }

  placeCursors() {
    this.wholeCursor.setAttribute("transform", `translate(${this.wholeScale.x(this.at)} 0)`);
    this.nearCursor.setAttribute("transform", `translate(${this.nearScale.x(this.at)} 0)`);
    this.nearCursor.toggleAttribute("hidden", this.at < this.nearScale.from || this.at > this.nearScale.to);
  }

  pointed(part, event) {
    if (!this.line) return;
    const x = event.clientX - this.parts[part].getBoundingClientRect().left;
    const scale = part === "whole" ? this.wholeScale : this.nearScale;
    this.go(scale.us(x - this.left));
  }
}

// The day in short, for a row of the list, on the hours that all of them share.
export function smallLine({ fromMs, toMs, rate, had }, from, to) {
  const [width, height] = [1000, 26];
  const svg = newSvg("svg", { viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" });
  const x = (ms) => ((ms - from) / Math.max(1, to - from)) * width;
  const at = (us) => x(fromMs + us / 1000 / rate);
  svg.append(
    newSvg("path", { class: "axis", d: `M0 ${height - 3}H${width}` }),
    newSvg("path", { class: "span", d: boxes([[x(fromMs), Math.max(x(toMs), x(fromMs) + 2)]], height - 10, 7) }),
    newSvg("path", { class: "trouble", d: (had?.troubles ?? []).map((us) => triangle(at(us), 0, 13)).join("") }),
    newSvg("path", { class: "note", d: (had?.notes ?? []).map((us) => diamond(at(us), 7, 7)).join("") }),
  );
  const line = newElement("div", undefined, "small-line");
  line.append(svg);
  return line;
}

// ---- shapes, as paths

function boxes(spans, y, h) {
  const joined = [];
  for (const [from, to] of spans) {
    const wide = Math.max(1, to - from);
    const last = joined.at(-1);
    if (last && from - (last[0] + last[1]) < 0.1 && wide <= 1) last[1] = Math.max(last[1], from + wide - last[0]);
    else joined.push([from, wide]);
  }
  return joined.map(([x, wide]) => `M${round(x)} ${round(y)}h${round(wide)}v${round(h)}h${round(-wide)}z`).join("");
}

function strokes(xs, y, h) {
  return [...new Set(xs.map((x) => Math.round(x)))].map((x) => `M${x + 0.5} ${round(y)}v${round(h)}`).join("");
}

const triangle = (x, y, size) => `M${round(x)} ${round(y)}l${round(size * 0.55)} ${round(size)}h${round(-size * 1.1)}z`;
const diamond = (x, y, r) => `M${round(x)} ${round(y - r)}l${round(r)} ${round(r)}l${round(-r)} ${round(r)}l${round(-r)} ${round(-r)}z`;
const cross = (x, y, r) => `M${round(x - r)} ${round(y - r)}l${round(2 * r)} ${round(2 * r)}m0 ${round(-2 * r)}l${round(-2 * r)} ${round(2 * r)}`;
const disc = (x, y, r) => `M${round(x - r)} ${round(y)}a${round(r)} ${round(r)} 0 1 0 ${round(2 * r)} 0a${round(r)} ${round(r)} 0 1 0 ${round(-2 * r)} 0z`;
const square = (x, y, r) => `M${round(x - r)} ${round(y - r)}h${round(2 * r)}v${round(2 * r)}h${round(-2 * r)}z`;
const round = (n) => Math.round(n * 10) / 10;
