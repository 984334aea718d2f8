// What this page knows: the badge, and the picture that it keeps by adding each answer to the ones before.

const NEW_BADGE = { name: "opening", since: "", simulated: false, rate: 1, speaks: false };

export class Kept {
  constructor() {
    this.badge = NEW_BADGE;
    this.machine = null; // the machine's own badge, while a recording is shown in its place
    this.mode = "";
    this.stream = "";
    this.phone = "";
    this.controls = undefined; // how far a recording has been played, and how fast
    this.forget();
  }

  forget() {
    this.seq = 0;
    this.at = "";
    this.atMs = 0; // when this page last received the museum's time, by its own clock
    this.items = {};
    this.readings = {};
    this.printedAt = "";
  }

  // Takes in an answer. `onWhole` is called before a picture that replaces the one before.
  take(answer, onWhole) {
    this.badge = answer.badge;
    this.machine = answer.machine ?? null;
    this.phone = answer.phone ?? "";
    this.mode = answer.mode;
    if (answer.whole || answer.stream !== this.stream || !answer.picture) {
      this.forget();
      onWhole();
    }
    this.stream = answer.stream;
    this.controls = answer.controls;
    if (answer.picture) this.add(answer.picture);
  }

  add(batch) {
    this.seq = batch.seq;
    this.at = batch.at;
    this.atMs = performance.now();
    Object.assign(this.items, batch.items);
    for (const [display, taken] of Object.entries(batch.readings ?? {})) {
      this.readings[display] = { ...this.readings[display], ...taken };
    }
    if (batch.printed_at) this.printedAt = batch.printed_at;
  }

  get recording() {
    return this.items.recording;
  }

  // Whether what is shown happened earlier: in a recording.
  get past() {
    return this.mode !== "live" && this.mode !== "";
  }

  // The museum's time now in milliseconds, as far as this page can know it.
  nowMs() {
    return Date.parse(this.at) + (performance.now() - this.atMs);
  }
}
