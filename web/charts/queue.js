// Points are printed in two seconds and drawn in six: each waits for its turn. None is drawn before it was printed.

export const EVERY_MS = 250; // by the recording's clock, but never less than SHORTEST_MS
export const SHORTEST_MS = 40;
export const MOST_WAITING = 8; // when a page first sees a chart: more than these were printed before it looked
export const OLD_MS = 5000;

export class Queue {
  #identity = null;
  #seqs = [];
  #shown = 0;
  #next_ms = 0;
  #every_ms = EVERY_MS;

  // `seqs`: the fact of each entry, in the order in which they are drawn. `identity` names the chart: another one
  // starts anew. `atOnce`: nothing waits. `wholeLines`: what one fact brought appears together.
  take(identity, seqs, now_ms, { atOnce = false, wholeLines = false, rate = 1 } = {}) {
    this.#every_ms = Math.max(SHORTEST_MS, EVERY_MS / Math.max(1, rate || 1));
    const same = identity === this.#identity && this.#seqs.every((seq, n) => n >= seqs.length || seqs[n] === seq);
    const first = identity !== this.#identity;
    if (this.#shown >= this.#seqs.length) this.#next_ms = Math.max(this.#next_ms, now_ms);
    if (first) [this.#shown, this.#next_ms] = [0, now_ms];
    [this.#identity, this.#seqs] = [identity, [...seqs]];
    this.#shown = Math.min(this.#shown, seqs.length);
    if (atOnce || (first && seqs.length > MOST_WAITING) || (!first && !same)) this.#shown = seqs.length;
    return this.advance(now_ms, wholeLines);
  }

  // How many entries are drawn by now.
  advance(now_ms, wholeLines = false) {
    while (this.#shown < this.#seqs.length && now_ms >= this.#next_ms) {
      const seq = this.#seqs[this.#shown];
      this.#shown += 1;
      while (wholeLines && this.#shown < this.#seqs.length && this.#seqs[this.#shown] === seq) this.#shown += 1;
      this.#next_ms += this.#every_ms;
    }
    return this.#shown;
  }

  // In how many milliseconds the next entry is due; null if none waits.
  due_ms(now_ms) {
    return this.#shown < this.#seqs.length ? Math.max(0, this.#next_ms - now_ms) : null;
  }
}
