// One clock for everything that moves: ten steps a second, and none at all while nothing moves.

export const STEP_MS = 100;

export class Ticker {
  constructor(everyMs = STEP_MS) {
    this.everyMs = everyMs;
    this.things = new Set();
    this.tick = 0;
    this.timer = 0;
  }

  // `thing.step(tick)` is called at each step until it is taken off again.
  set(thing, moves) {
    if (moves) this.things.add(thing);
    else this.things.delete(thing);
    if (this.things.size && !this.timer) this.timer = setInterval(() => this.step(), this.everyMs);
    if (!this.things.size && this.timer) {
      clearInterval(this.timer);
      this.timer = 0;
    }
  }

  step() {
    this.tick += 1;
    for (const thing of [...this.things]) thing.step(this.tick);
  }
}
