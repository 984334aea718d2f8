// What travels along the cables: rows of ticks and letters on the console's, and square marks on those of the discs.
// Every row is a small element in a layer of its own, moved a step at a time.

import { newElement } from "../shared/dom.js";
import { CABLE } from "./layout.js";
import { fact } from "./living.js";
import { APART, CROSSING, MOST_ON_CABLE, MOST_TICKS, TICKS_WITH_NUMBER, Traffic } from "./traffic.js";

const TICK_CM = 3.7;
const CELL_CM = 7.6;
const STILL_FOR = 10; // steps that a row stands in the middle where nothing may move
const HALF_HIGH = 5; // of the track, in centimetres
const QUIET_AFTER_MS = 3000;

// From tick to tick: a step is whole ticks long, so that no place flickers while a row passes over it.
export const tickPitch = (stepCm) => stepCm / Math.max(1, Math.round(stepCm / TICK_CM));

export class ConsoleTrack {
  constructor(layout, way, ticker, words, onPrinting) {
    this.ticker = ticker;
    this.words = words;
    this.onPrinting = onPrinting;
    this.traffic = new Traffic();
    this.rows = [];
    this.scale = layout.pxPerCm;
    this.letters = layout.text && way.x1 < way.x2; // the other way round, letters would read backwards
    this.length = Math.abs(way.x2 - way.x1);
    this.mirrored = way.x2 < way.x1;
    this.holder = newElement("div", undefined, "track");
    this.place(this.holder, Math.min(way.x1, way.x2), layout.floor + CABLE.console - HALF_HIGH, this.length, HALF_HIGH * 2);
    this.word = newElement("div", "", "typed-word");
    this.place(this.word, way.x2 + 4, layout.floor + CABLE.console - HALF_HIGH);
    this.wordIsOver = true;
    this.moves = false;
  }

  place(element, x, y, w, h) {
    Object.assign(element.style, { left: `${x * this.scale}px`, top: `${y * this.scale}px` });
    if (w) Object.assign(element.style, { width: `${w * this.scale}px`, height: `${h * this.scale}px` });
  }

  paint({ moves, live, written }) {
    if (!live) this.clear();
    if (moves !== this.moves) this.clear();
    this.moves = moves;
    this.written = written;
    if (moves) this.say("");
  }

  clear() {
    this.traffic.clear();
    for (const row of this.rows) row.element.remove();
    this.rows = [];
    this.say("");
    this.ticker.set(this, false);
    clearTimeout(this.quietTimer);
    this.onPrinting(false);
  }

  take(pieces) {
    this.traffic.take(pieces);
    if (pieces.some((one) => one.way === "received")) {
      this.onPrinting(true);
      clearTimeout(this.quietTimer);
      this.quietTimer = setTimeout(() => this.onPrinting(false), QUIET_AFTER_MS);
    }
    if (!this.moves) this.spell(pieces.filter((one) => one.way === "typed"));
    this.ticker.set(this, true);
  }

  // Where nothing may move, the word that was typed last stands beside the keyboard.
  spell(typed) {
    for (const { text, seq } of typed) {
      for (const letter of text || "\u25a1") {
        if (letter < " ") this.wordIsOver = true;
        else {
          this.say((this.wordIsOver ? "" : this.word.textContent) + letter, seq);
          this.wordIsOver = false;
        }
      }
    }
  }

  say(word, seq = 0) {
    this.word.textContent = this.letters ? word : "";
    fact(this.word, word ? seq : 0, false);
  }

  step(tick) {
    for (const row of this.rows) this.move(row, tick);
    this.rows = this.rows.filter((row) => row.element.isConnected);
    if (this.rows.length < (this.moves ? MOST_ON_CABLE : 1)) this.begin(this.traffic.step(tick), tick);
    if (this.traffic.idle && !this.rows.length) this.ticker.set(this, false);
  }

  begin(piece, tick) {
    if (!piece || (!this.moves && piece.way === "typed")) return;
    const crossing = CROSSING[piece.way];
    const stepCm = this.length / crossing;
    const row = { begun: tick, crossing, stepCm, back: (piece.way === "typed") !== this.mirrored };
    row.element = piece.way === "typed" && this.letters ? this.word_row(piece, row) : this.ticks(piece, row);
    fact(row.element, piece.seq, this.moves);
    this.rows.push(row);
    this.holder.append(row.element);
    this.move(row, tick);
  }

  // A tick for each character. A long row says how many it stands for.
  ticks(piece, row) {
    const pitch = tickPitch(row.stepCm);
    const counted = piece.count > MOST_TICKS && this.written;
    const shown = counted ? TICKS_WITH_NUMBER : Math.min(piece.count, MOST_TICKS);
    const element = newElement("div", undefined, "ticks");
    row.wide = shown * pitch;
    element.style.width = `${row.wide * this.scale}px`;
    element.style.setProperty("--pitch", `${pitch * this.scale}px`);
    if (counted) element.append(newElement("span", this.words.letters(piece.count), "tick-count"));
    return element;
  }

  word_row(piece, row) {
    const cell = Math.min(CELL_CM, row.stepCm / piece.letters.length);
    const element = newElement("div", undefined, "typed-letters");
    row.wide = cell * piece.letters.length;
    for (const letter of piece.letters) {
      const one = newElement("span", letter, letter ? "" : "secret");
      one.style.width = `${cell * this.scale}px`;
      element.append(one);
    }
    return element;
  }

  move(row, tick) {
    const gone = tick - row.begun;
    const head = this.moves ? gone * row.stepCm : (this.length + row.wide) / 2;
    if (this.moves ? head - row.wide >= this.length : gone > STILL_FOR) return row.element.remove();
    const left = row.back ? this.length - head : head - row.wide;
    row.element.style.transform = `translateX(${left * this.scale}px)`;
  }
}

// Marks from the processor to a drive, each for so many of its uses: it is asked each time. While something is loaded
// from the drive, its pieces go the other way instead, one for each that was counted.
export class UseTrack {
  constructor(layout, way, ticker) {
    this.ticker = ticker;
    this.way = way;
    this.scale = layout.pxPerCm;
    this.holder = newElement("div", undefined, "uses");
    this.top = (layout.floor + CABLE.disc) * this.scale;
    this.marks = [];
    this.phase = 0;
    this.rate = 0;
    this.counted = null;
    this.waiting = 0;
  }

  // `load`: what is being loaded from this drive, if anything is.
  paint(now, { moves, live, scale, load }) {
    this.takeLoad(live ? load : null, moves);
    this.rate = live && !this.loads && now.perMin > 0 ? now.perMin / 60 / scale / 10 : 0;
    if (!this.loads) this.seq = now.transfersSeq;
    if (!(this.rate || this.loads) || !moves) this.clear();
    const stands = !moves && (this.rate || (this.loads && !load.done));
    if (stands) this.add(0.5, false);
    this.ticker.set(this, Boolean((this.rate || this.loads) && moves));
  }

  // A page that comes late, or on which nothing moves, has no piece under way that arrived before.
  takeLoad(load, moves) {
    this.loads = Boolean(load);
    if (!load) {
      if (this.counted !== null) this.clear();
      this.counted = null;
      this.waiting = 0;
      return;
    }
    if (this.counted === null) this.clear();
    this.waiting = moves && this.counted !== null ? this.waiting + Math.max(0, load.count - this.counted) : 0;
    this.counted = load.count;
    this.seq = load.seq;
    for (const mark of this.marks) fact(mark.element, this.seq, moves);
  }

  clear() {
    for (const mark of this.marks) mark.element.remove();
    this.marks = [];
  }

  add(at, moves) {
    const element = newElement("div", undefined, this.loads ? "use load-piece" : "use");
    fact(element, this.seq, moves);
    const mark = { element, at };
    this.marks.push(mark);
    this.holder.append(element);
    this.put(mark);
  }

  put({ element, at }) {
    const gone = this.loads ? 1 - at : at;
    const x = this.way.x1 + (this.way.x2 - this.way.x1) * gone;
    element.style.transform = `translate(${x * this.scale}px, ${this.top}px)`;
  }

  step() {
    for (const mark of this.marks) {
      mark.at += 1 / CROSSING.received;
      if (mark.at >= 1) mark.element.remove();
      else this.put(mark);
    }
    this.marks = this.marks.filter((mark) => mark.at < 1);
    if (this.loads) this.sendPiece();
    else this.phase += this.rate;
    if (this.phase >= 1) {
      this.phase -= 1;
      this.add(0, true);
    }
  }

  // One after another, however fast they were counted, so that no place on the cable flickers.
  sendPiece() {
    const last = this.marks.at(-1);
    if (!this.waiting || (last && last.at < APART / CROSSING.received)) return;
    this.waiting -= 1;
    this.add(0, true);
  }
}
