// What lives in an opening, each in a small layer of its own over the still drawing: rim marks, arms, the level, the
// squares, lines on a screen. Whatever moves carries the number of the fact that moves it.

import { circle, group, layer, letters, line, path } from "./ink.js";
import { PLATTERS, coreIn, discIn, gaugeIn, packIn, squarePath } from "./openings.js";

export const MARKS = 16; // on each rim; a turn in 8 s brings two a second past a point
export const TURN_STEPS = 80; // ten a second
export const FRAMES = TURN_STEPS / MARKS; // after so many steps the rim looks as it did

export function fact(element, seq, moves) {
  element.classList.toggle("moves", Boolean(seq && moves));
  if (seq) element.dataset.fact = seq;
  else delete element.dataset.fact;
}

function around(rx, ry) {
  const h = ((rx - ry) / (rx + ry)) ** 2;
  return Math.PI * (rx + ry) * (1 + (3 * h) / (10 + Math.sqrt(4 - 3 * h)));
}

// The path that the marks lie on: a ring, or the rim of the top platter and the front halves of those below.
export function rimPath(kind, opening) {
  if (kind === "disc") {
    const { cx, cy, r, rim } = discIn(opening);
    const at = (r + rim) / 2;
    return { d: `M ${cx - at} ${cy} a ${at} ${at} 0 0 0 ${2 * at} 0 a ${at} ${at} 0 0 0 ${-2 * at} 0`, round: 2 * Math.PI * at };
  }
  const { cx, cy, rx, ry, pitch } = packIn(opening);
  let d = `M ${cx - rx} ${cy} a ${rx} ${ry} 0 0 0 ${2 * rx} 0 a ${rx} ${ry} 0 0 0 ${-2 * rx} 0`;
  for (let i = 1; i < PLATTERS; i++) d += ` M ${cx - rx} ${cy + i * pitch} a ${rx} ${ry} 0 0 0 ${2 * rx} 0`;
  return { d, round: around(rx, ry) };
}

export function marksOf(kind, opening, frame) {
  const { d, round } = rimPath(kind, opening);
  const pitch = round / MARKS;
  const mark = path(d, "mark");
  const hollow = path(d, "mark-inside");
  for (const [one, length] of [[mark, pitch * 0.5], [hollow, pitch * 0.34]]) {
    one.setAttribute("stroke-dasharray", `${length} ${pitch - length}`);
    const start = (pitch * 0.5 - length) / 2;
    one.setAttribute("stroke-dashoffset", -(start + (frame * pitch) / FRAMES));
  }
  return group("", mark, hollow);
}

export function armOf(kind, opening) {
  if (kind === "disc") {
    const { cx, cy, rim, frame } = discIn(opening);
    const [x, y] = [cx + frame * 0.8, cy + frame * 0.94];
    return group("arm", line(x, y, cx + rim * 0.42, cy + rim * 0.5, "thick"), circle(x, y, frame * 0.11, "face"));
  }
  const { cx, cy, rx, pitch, arms } = packIn(opening);
  const post = cx + rx * 1.12;
  const bars = [];
  for (let i = 0; i < PLATTERS; i++) bars.push(line(arms - rx * 0.02, cy + i * pitch, post, cy + i * pitch, "thick"));
  return group("arm", ...bars, line(post, cy - 1, post, cy + (PLATTERS - 1) * pitch + 1, "thick"), line(post, cy + (PLATTERS - 1) * pitch, opening.w, cy + (PLATTERS - 1) * pitch));
}

class Rims {
  constructor(opening, at, scale) {
    const { kind, w, h } = opening;
    this.holder = document.createElement("div");
    this.holder.className = `living rims`;
    Object.assign(this.holder.style, { left: `${at.x * scale}px`, top: `${at.y * scale}px`, width: `${w * scale}px`, height: `${h * scale}px` });
    this.widthPx = w * scale;
    this.reach = (kind === "disc" ? -discIn(opening).rim * 0.22 : -packIn(opening).rx * 0.3) * scale;
    const frames = [];
    for (let i = 0; i < FRAMES; i++) {
      const frame = marksOf(kind, opening, i);
      frame.setAttribute("transform", `translate(${i * w} 0)`);
      frames.push(frame);
    }
    this.marks = layer(0, 0, w * FRAMES, h, scale, "marks", ...frames);
    this.arm = layer(0, 0, w, h, scale, "arm-layer", armOf(kind, opening));
    this.clip = document.createElement("div");
    this.clip.className = "clip";
    this.clip.append(this.marks);
    this.holder.append(this.clip, this.arm);
    this.turning = { step: (tick) => this.place(tick % FRAMES) };
    this.stroking = { step: () => this.stroke() };
    this.strokes = 0;
  }

  place(frame) {
    this.marks.style.transform = `translateX(${-frame * this.widthPx}px)`;
  }

  stroke() {
    this.phase += this.strokes;
    this.reachIn(this.phase % 1 < 0.5 ? 1 : 0);
  }

  reachIn(part) {
    this.arm.style.transform = part ? `translateX(${this.reach * part}px)` : "";
  }

  paint(now, { moves, live, scale, ticker }) {
    const shown = now.state === "runs" || now.state === "starting";
    this.marks.classList.toggle("shown", shown);
    this.marks.classList.toggle("hollow", now.state === "starting");
    fact(this.marks, shown && live ? now.seq : 0, moves);
    ticker.set(this.turning, shown && moves);
    if (!(shown && moves)) this.place(0);
    const used = live && now.perMin > 0;
    this.strokes = used ? now.perMin / 60 / scale / 10 : 0;
    fact(this.arm, used ? now.transfersSeq : 0, moves);
    ticker.set(this.stroking, used && moves);
    if (!(used && moves)) {
      this.phase = 0;
      this.reachIn(used ? (now.transfersSeq % 4) / 4 : 0);
    }
  }

  end(ticker) {
    ticker.set(this.turning, false);
    ticker.set(this.stroking, false);
  }
}

class Gauge {
  constructor(opening, at, scale) {
    const { tube } = gaugeIn(opening);
    this.tube = tube;
    this.water = path(`M ${tube.x} ${tube.y} h ${tube.w} v ${tube.h} h ${-tube.w} Z`, "water");
    this.water.style.transformOrigin = `0 ${tube.y + tube.h}px`;
    this.size = Math.min(tube.h * 0.3, tube.w * 0.46);
    this.number = letters(tube.x + tube.w / 2, 0, this.size, "", "number");
    this.holder = layer(at.x, at.y, opening.w, opening.h, scale, "living gauge", this.water, this.number);
  }

  paint(now, { live, text, moves }) {
    const known = now.share !== null;
    const level = known ? Math.min(100, Math.max(0, now.share)) / 100 : 0;
    this.water.style.transform = `scaleY(${level})`;
    this.holder.classList.toggle("known", known);
    const asked = now.asked; // an empty tube would look like one that has nothing to do
    this.number.textContent = asked ? "?" : known && text ? String(now.share) : "";
    const { y, h } = this.tube;
    const middle = asked ? y + h / 2 : level >= 0.5 ? y + h * (1 - level / 2) : y + (h * (1 - level)) / 2;
    this.number.setAttribute("y", middle + this.size * 0.35);
    this.number.classList.toggle("in-water", level >= 0.5);
    this.number.classList.toggle("not-known", asked);
    fact(this.water, known && live ? now.shareSeq : 0, moves);
  }
}

class Core {
  constructor(opening, at, scale) {
    this.squares = path(squarePath(coreIn(opening)), "squares");
    this.holder = layer(at.x, at.y, opening.w, opening.h, scale, "living core", this.squares);
  }

  paint(now, { live, moves }) {
    this.squares.classList.toggle("shown", Boolean(now.testedSeq));
    fact(this.squares, live ? now.testedSeq : 0, moves);
  }
}

// A screen with lines as long as those of the console, or a paper that has come as far as its last line.
class Screen {
  constructor(opening, at, scale) {
    this.opening = opening;
    this.ink = path("", "lines");
    this.sheet = path("", "window");
    this.holder = layer(at.x, at.y, opening.w, opening.h, scale, "living screen", ...(opening.kind === "paper" ? [this.sheet] : []), this.ink);
    this.drawn = "";
  }

  paintLines(lines, { rows, columns }) {
    const { w, h, kind } = this.opening;
    const few = kind === "paper" ? Math.min(rows, 10) : rows;
    const edge = kind === "paper" ? 1.5 : 2.5;
    const pitch = (h - 2 * edge) / few;
    const last = kind === "paper" && lines.length ? lines.at(-1)[0] - few + 1 : 0;
    const d = lines.filter(([row]) => row >= last && row - last < few).map(([row, from, to]) => {
      const wide = (w - 2 * edge) / columns;
      return `M ${edge + from * wide} ${(edge + (row - last + 0.5) * pitch).toFixed(2)} H ${(edge + Math.min(to, columns) * wide).toFixed(2)}`;
    }).join(" ");
    if (kind === "paper") this.sheet.setAttribute("d", `M 0 0 h ${w} v ${h} h ${-w} Z`);
    if (d === this.drawn) return;
    this.drawn = d;
    this.ink.setAttribute("d", d);
  }

  paint() {}
}

const LIVING = { disc: Rims, packs: Rims, gauge: Gauge, core: Core, screen: Screen, paper: Screen };

// The living part of an opening at `at` in the drawing; null for one in which nothing ever lives.
export function livingIn(opening, at, scale) {
  const Kind = LIVING[opening.kind];
  return Kind ? new Kind(opening, at, scale) : null;
}
