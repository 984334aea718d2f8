// Where a moment is on a line on which silences are folded. It knows no browser.

export const FOLD_WIDTH = 22;
const MOST_FOLDED_SHARE = 0.4; // however many folds there are, most of the line stays for what happened

export class Scale {
  // From and to which moment the line runs, which [from, to] are folded, and how wide the line is.
  constructor(from, to, folds, width) {
    this.from = from;
    this.to = Math.max(to, from + 1);
    this.width = width;
    const within = folds.map(([a, b]) => [Math.max(a, from), Math.min(b, this.to)]).filter(([a, b]) => b > a);
    this.foldWidth = within.length ? Math.min(FOLD_WIDTH, (width * MOST_FOLDED_SHARE) / within.length) : 0;
    const open = this.to - from - within.reduce((sum, [a, b]) => sum + (b - a), 0);
    this.each = (width - within.length * this.foldWidth) / Math.max(1, open);
    this.pieces = [];
    let [us, x] = [from, 0];
    const add = (until, folded) => {
      if (until <= us) return;
      const wide = folded ? this.foldWidth : (until - us) * this.each;
      this.pieces.push({ from: us, to: until, x, wide, folded });
      [us, x] = [until, x + wide];
    };
    for (const [a, b] of within) {
      add(a, false);
      add(b, true);
    }
    add(this.to, false);
  }

  x(us) {
    const at = Math.min(Math.max(us, this.from), this.to);
    const piece = this.pieceAt((one) => one.to, at);
    return piece.x + ((at - piece.from) / (piece.to - piece.from)) * piece.wide;
  }

  us(x) {
    const at = Math.min(Math.max(x, 0), this.width);
    const piece = this.pieceAt((one) => one.x + one.wide, at);
    return Math.round(piece.from + (piece.wide ? (at - piece.x) / piece.wide : 0) * (piece.to - piece.from));
  }

  // The first piece that ends at or after this place.
  pieceAt(end, place) {
    let [low, high] = [0, this.pieces.length - 1];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (end(this.pieces[middle]) < place) low = middle + 1;
      else high = middle;
    }
    return this.pieces[low];
  }

  get folds() {
    return this.pieces.filter(({ folded }) => folded);
  }
}

const TICKS_S = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800];

// Round times to write below the line, at least `apart` wide from each other: [{us, x, text}]. `times` says the wall time.
export function ticks(scale, times, apart) {
  const start = times.ms(scale.from);
  if (start === null) return [];
  const wanted = (apart / scale.each / 1000) / times.rate; // in milliseconds of the wall clock
  const step = (TICKS_S.find((s) => s * 1000 >= wanted) ?? 21600) * 1000;
  const found = [];
  let last = -Infinity;
  for (let ms = Math.ceil(start / step) * step, tries = 0; tries < 2000; ms += step, tries += 1) {
    const us = times.us(ms);
    if (us > scale.to) break;
    const x = scale.x(us);
    const piece = scale.pieceAt((one) => one.to, us);
    if (piece.folded || x - last < apart || us < scale.from) continue;
    const text = new Date(ms).toISOString().slice(11, step < 1000 ? 21 : step < 60_000 ? 19 : 16);
    found.push({ us, x, text });
    last = x;
  }
  return found;
}
