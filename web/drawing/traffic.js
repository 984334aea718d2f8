// Which pieces set out along the console's cable, and when. Pure: a step is a tenth of a second.
// Whatever passes a place on the cable passes it at most twice and a half a second, both ways together.

export const CROSSING = { received: 12, typed: 8 };
export const APART = 4; // steps between two pieces that set out
export const MOST_ON_CABLE = 3;
export const MOST_TICKS = 12; // in one row
export const TICKS_WITH_NUMBER = 4; // a longer row has its number: room for the words before the next row comes
export const LETTERS_A_ROW = 3; // 7.5 a second at most
const MOST_WAITING = 60;

export class Traffic {
  constructor() {
    this.clear();
  }

  clear() {
    this.received = null;
    this.typed = [];
    this.under_way = [];
    this.last = -APART;
    this.turn = "typed";
  }

  take(pieces) {
    for (const { way, count, text, seq } of pieces) {
      if (way === "received") this.received = { way, seq, count: (this.received?.count ?? 0) + count };
      else if (!text) this.typed.push({ seq, letter: "" });
      else for (const letter of text) this.typed.push({ seq, letter: letter < " " || letter === "\x7f" ? "·" : letter });
    }
    this.typed.splice(0, Math.max(0, this.typed.length - MOST_WAITING));
  }

  // What sets out at this step, or null. A piece that has waited goes with those that came after it.
  step(tick) {
    this.under_way = this.under_way.filter((one) => tick - one.begun < CROSSING[one.way]);
    if (tick - this.last < APART || this.under_way.length >= MOST_ON_CABLE) return null;
    const way = this.next();
    if (!way) return null;
    const piece = { ...(way === "typed" ? this.word() : this.received), begun: tick };
    if (way === "received") this.received = null;
    this.turn = way === "typed" ? "received" : "typed";
    this.last = tick;
    this.under_way.push(piece);
    return piece;
  }

  next() {
    if (this.received && this.typed.length) return this.turn;
    return this.received ? "received" : this.typed.length ? "typed" : "";
  }

  word() {
    const letters = this.typed.splice(0, LETTERS_A_ROW);
    return { way: "typed", seq: letters.at(-1).seq, letters: letters.map((one) => one.letter), count: letters.length };
  }

  get idle() {
    return !this.received && !this.typed.length;
  }
}
