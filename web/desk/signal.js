// When something needs the docent: one short tone and one calm light band, once. No chatter: while somebody is busy at
// the page, the next step of the same work makes no sound.

import { setAttribute, setText } from "../shared/dom.js";

const BUSY_MS = 10_000;
const TONE_S = 0.45;
const LIT_MS = 4000;

export class Signal {
  constructor(band, button) {
    this.band = band;
    this.button = button;
    this.on = localStorage.getItem("sound") !== "off";
    this.told = null;
    this.touched = -Infinity;
    this.audio = null;
    button.addEventListener("click", () => {
      this.on = !this.on;
      localStorage.setItem("sound", this.on ? "on" : "off");
      if (this.on) this.tone();
      this.paint();
    });
    for (const touch of ["pointerdown", "keydown"]) {
      addEventListener(touch, () => {
        this.touched = performance.now();
        this.audio ??= new AudioContext(); // a browser makes no sound before somebody has touched the page
      }, { capture: true });
    }
  }

  paint(words = this.words) {
    this.words = words;
    setAttribute(this.button, "aria-pressed", String(this.on));
    setText(this.button, this.on ? words.sound.on : words.sound.off);
  }

  // `need`: what needs somebody now, or "". `urgent`: it is told even to somebody who is at the page.
  see(need, urgent) {
    const first = this.told === null;
    if (need === this.told) return;
    this.told = need;
    if (!need || (first && !urgent) || (!urgent && performance.now() - this.touched < BUSY_MS)) return;
    this.light(urgent);
    if (this.on) this.tone();
  }

  light(urgent) {
    this.band.className = urgent ? "lit urgent" : "lit";
    clearTimeout(this.timer);
    this.timer = setTimeout(() => (this.band.className = ""), LIT_MS);
  }

  tone() {
    if (this.audio?.state !== "running") return;
    const { currentTime: now } = this.audio;
    const [source, volume] = [new OscillatorNode(this.audio, { frequency: 587 }), new GainNode(this.audio, { gain: 0 })];
    volume.gain.linearRampToValueAtTime(0.25, now + 0.03);
    volume.gain.linearRampToValueAtTime(0, now + TONE_S);
    source.connect(volume).connect(this.audio.destination);
    source.start(now);
    source.stop(now + TONE_S);
  }
}
