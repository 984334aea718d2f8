// A line that says what came of a press. That something was sent needs only a moment; a refusal stays until it is touched.

import { $, setText } from "../shared/dom.js";

const PASSES_AFTER_MS = 6000;

export class Said {
  constructor(name) {
    this.place = $(name);
    this.place.addEventListener("click", () => this.say(""));
  }

  // `passes`: it only says that something was sent.
  say(text, passes = false) {
    clearTimeout(this.timer);
    setText(this.place, text);
    this.passes = passes && text !== "";
    if (this.passes) this.timer = setTimeout(() => this.say(""), PASSES_AFTER_MS);
  }

  // What is shown beside it has gone on.
  wentOn() {
    if (this.passes) this.say("");
  }
}
