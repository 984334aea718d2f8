// The clock of a replay: where in the recording it is, and how fast it goes. It knows no browser.

export const RATES = [0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

export class Player {
  // `rate` of the recording: how many of its seconds were a real one. At speed 1 it is as fast as it was.
  constructor(endUs, rate, nowMs) {
    this.endUs = endUs;
    this.original = rate;
    this.speed = 1;
    this.playing = false;
    this.baseUs = 0;
    this.baseMs = nowMs;
  }

  us(nowMs) {
    if (!this.playing) return this.baseUs;
    return Math.min(this.endUs, Math.round(this.baseUs + (nowMs - this.baseMs) * 1000 * this.speed * this.original));
  }

  go(us, nowMs) {
    this.baseUs = Math.min(Math.max(0, Math.round(us)), this.endUs);
    this.baseMs = nowMs;
  }

  play(playing, nowMs) {
    this.go(this.us(nowMs), nowMs);
    this.playing = playing;
  }

  setSpeed(speed, nowMs) {
    this.go(this.us(nowMs), nowMs);
    this.speed = speed;
  }

  // The next faster speed (1) or slower one (-1).
  other(direction) {
    const index = RATES.indexOf(this.speed) + direction;
    return RATES[Math.min(Math.max(index, 0), RATES.length - 1)];
  }

  ended(nowMs) {
    return this.us(nowMs) >= this.endUs;
  }
}
