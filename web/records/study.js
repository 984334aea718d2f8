// One recording as it was at a moment: asks for it, plays it, and has everything painted.

import { $, newElement, setAttribute, setShown, setText } from "../shared/dom.js";
import { Console } from "../shared/console.js";
import { ask } from "./asks.js";
import { DayLine } from "./day_line.js";
import { BY, neighbour } from "./places.js";
import { Player, RATES } from "./player.js";
import { Search } from "./search.js";
import { Times, dateOf, lasting, megabytes } from "./times.js";
import { paintWhy } from "./why.js";
import { paintWire } from "./wire.js";

const WINDOWS = [["the whole day", 0], ["2 hours", 7200], ["30 minutes", 1800], ["10 minutes", 600], ["2 minutes", 120], ["20 seconds", 20]];
const TICK_MS = 60;
const CHECK_EVERY_MS = 1000;
const WAITING_AFTER_MS = 300;

export class Study {
  constructor({ say, fault, moved }) {
    Object.assign(this, { say, fault, moved, name: "", seq: 0, opening: 0, wanted: null, busy: false, picture: { seq: 0, stream: 0 } });
    this.screen = new Console($("rows"), $("cursor"), $("sheet"), $("earlier-lines"));
    this.day = new DayLine($("whole-day"), $("near"), (us) => this.goToTime(us));
    this.search = new Search(this);
    this.fill();
    this.listen();
    setInterval(() => this.tick(), TICK_MS);
    setInterval(() => this.look(), CHECK_EVERY_MS);
  }

  // Opens a recording at a fact, or at its start; gives what it is, false if it can't be opened, or null if another one
  // is being opened by now.
  async open(name, seq, show) {
    this.pause();
    const opening = ++this.opening;
    this.name = "";
    this.say("");
    const line = await ask("line", { recording: name });
    if (opening !== this.opening) return null;
    if (line.fault) {
      this.fault(line.fault);
      return false;
    }
    show();
    this.name = name;
    this.line = line;
    this.times = new Times(line.marks.wall, line.rate);
    this.player = new Player(line.end_us, line.rate, performance.now());
    this.picture = { seq: 0, stream: 0 };
    this.isChecked = false;
    this.busy = false;
    this.screen.clear();
    this.screen.size(line.display);
    this.day.show(line, this.times);
    const long = line.end_us / line.rate > 2400e6;
    $("window").value = long ? "1800" : "0";
    this.day.setWindow(long ? 1800e6 * line.rate : 0);
    this.search.clear();
    setAttribute($("whole-day"), "aria-valuemax", Math.round(line.end_us / 1e6));
    this.describe();
    this.paintPlay();
    if (seq === null) await this.goToTime(0);
    else await this.goToFact(seq);
    this.look();
    return { title: line.title, machine: line.machine, machine_is: line.machine_is, practice: line.practice, date: dateOf(this.times.ms(0)) };
  }

  describe() {
    const { line } = this;
    const { marks } = line;
    const count = (n, one, many) => (n ? `${n.toLocaleString("en-GB")} ${n === 1 ? one : many}` : `no ${many}`);
    const parts = [
      `${this.times.clock(0)} to ${this.times.clock(line.end_us)}`, lasting(line.end_us / line.rate), count(line.end_seq, "fact", "facts"),
      count(marks.steps.length, "step", "steps"), count(marks.troubles.length, "thing wrong", "things wrong"), count(marks.notes.length, "note", "notes"), megabytes(line.size_bytes),
    ];
    if (line.rate !== 1) parts.push(`its clock ran ${line.rate} times as fast`);
    if (line.folds.length) parts.push(count(line.folds.length, "silence folded", "silences folded"));
    if (line.left_out) parts.push("it has more facts than the line can show, so the last ones are left out");
    this.described = parts.join(" · ");
    setText($("day-says"), this.described);
  }

  // ---- going somewhere

  goToTime(us) {
    this.player.go(us, performance.now());
    return this.want({ at_us: Math.round(Math.min(Math.max(0, us), this.line.end_us)) });
  }

  goToFact(seq) {
    return this.want({ seq: Math.min(Math.max(1, seq), this.line.end_seq) });
  }

  // By a kind of place (see places.js), on (1) or back (-1).
  goBy(id, direction) {
    if (!this.name) return;
    this.pause();
    if (id === "fact") {
      this.goToFact(this.seq + direction);
      return;
    }
    const by = BY.find((one) => one.id === id);
    const place = neighbour(by.of(this.line.marks), this.seq, direction);
    if (place) this.goToFact(place[1]);
    else this.say(`There is no ${by.says} ${direction > 0 ? "after" : "before"} this moment.`);
  }

  skip(seconds) {
    if (this.name) this.goToTime(this.player.us(performance.now()) + seconds * 1e6 * this.line.rate);
  }

  // Asks for a moment. One question is on its way at a time; of those that come meanwhile, the last is asked next.
  async want(moment, playing = false) {
    this.wanted = { ...moment, ...(playing ? { playing: 1 } : {}) };
    if (this.busy) return;
    this.busy = true;
    const opening = this.opening;
    while (this.wanted && opening === this.opening) {
      const asked = this.wanted;
      this.wanted = null;
      const waiting = setTimeout(() => this.say("Reading the recording up to there for the first time. Next time it is quick."), WAITING_AFTER_MS * 3);
      const answer = await ask("moment", { recording: this.name, ...asked, after: this.picture.seq, stream: this.picture.stream });
      clearTimeout(waiting);
      if (opening !== this.opening) return;
      if (answer.fault) {
        this.pause();
        this.fault(answer.fault);
        break;
      }
      this.take(answer, asked);
    }
    if (opening === this.opening) this.busy = false;
  }

  take(answer, asked) {
    this.fault(null);
    if (!asked.playing) this.say("");
    this.picture = { seq: answer.seq, stream: answer.stream };
    this.seq = answer.seq;
    if (asked.seq !== undefined) this.player.go(answer.at_us, performance.now());
    if (!answer.after) this.screen.clear();
    if (answer.console) this.screen.take(answer.console);
    this.at = asked.playing ? Math.min(asked.at_us, answer.at_us) : answer.at_us;
    if (asked.playing && answer.at_us < asked.at_us) this.player.go(answer.at_us, performance.now()); // it can't go as fast
    paintWire($("wire"), answer.wire, this.times);
    if (!this.player.playing || !this.scrolledAt || performance.now() - this.scrolledAt > 250) this.followWire();
    paintWhy(answer, this.times, (seq) => this.go(seq));
    this.paintPlace();
    if (!this.player.playing) this.moved(this.name, this.seq);
  }

  go(seq) {
    this.pause();
    this.goToFact(seq);
  }

  // The moment stays in sight in the middle of the wire, and the facts around it in theirs.
  followWire() {
    this.scrolledAt = performance.now();
    const [sheet, here] = [$("wire-sheet"), $("wire").querySelector(".here")];
    if (here) sheet.scrollTop = here.offsetTop - sheet.clientHeight * 0.7;
    const [why, current] = [$("why-sheet"), $("facts").querySelector("[aria-current]")];
    if (current && this.wideEnough()) why.scrollTop = Math.min(why.scrollTop, current.offsetTop);
  }

  wideEnough() {
    return matchMedia("(min-width: 64rem)").matches;
  }

  paintPlace() {
    const us = this.at;
    this.day.move(us);
    setAttribute($("whole-day"), "aria-valuenow", Math.round(us / 1e6));
    setAttribute($("whole-day"), "aria-valuetext", `${this.times.clock(us)}, fact ${this.seq} of ${this.line.end_seq}`);
    if (document.activeElement !== $("to-time")) $("to-time").value = this.times.clock(us, !this.player.playing);
    if (document.activeElement !== $("to-fact")) $("to-fact").value = this.seq;
  }

  // ---- playing

  togglePlay() {
    if (!this.name) return;
    const now = performance.now();
    if (!this.player.playing && this.player.ended(now)) this.goToTime(0);
    this.player.play(!this.player.playing, now);
    this.paintPlay();
    if (!this.player.playing) this.moved(this.name, this.seq);
  }

  pause() {
    if (!this.player?.playing) return;
    this.player.play(false, performance.now());
    this.paintPlay();
  }

  setSpeed(speed) {
    if (!this.name) return;
    this.player.setSpeed(speed, performance.now());
    this.paintPlay();
    this.say(`Speed ${speed}.`);
  }

  paintPlay() {
    setText($("play"), this.player.playing ? "Pause" : "Play");
    setAttribute($("play"), "aria-pressed", String(this.player.playing));
    $("rate").value = String(this.player.speed);
  }

  tick() {
    if (!this.name || !this.player.playing || this.busy) return;
    const now = performance.now();
    this.want({ at_us: this.player.us(now) }, true);
    if (this.player.ended(now)) {
      this.pause();
      this.say("This is the end of the recording.");
    }
  }

  // How far the recording has been read through, and what is damaged in it.
  async look() {
    if (!this.name || this.isChecked || document.hidden) return;
    const opening = this.opening;
    const answer = await ask("checked", { recording: this.name });
    if (opening !== this.opening || answer.fault) return;
    this.isChecked = answer.is_checked;
    this.day.damaged(answer.damages);
    const [first] = answer.damages;
    const damage = first ? ` · ${answer.damages.length === 1 ? "1 place is" : `${answer.damages.length} places are`} damaged, the first at byte ${first[1].toLocaleString("en-GB")} (${first[3]}), before ${this.times.clock(first[0])}` : "";
    const reading = answer.is_checked || answer.why ? "" : ` · read through and checked up to ${this.times.clock(answer.checked_us)}`;
    setText($("day-says"), `${this.described}${reading}${damage}`);
    if (answer.why) this.fault([answer.why]);
  }

  // ---- controls

  fill() {
    const option = (text, value) => {
      const one = newElement("option", text);
      one.value = value;
      return one;
    };
    $("rate").append(...RATES.map((rate) => option(`${rate.toLocaleString("en-GB")} ×`, String(rate))));
    $("by").append(...BY.map(({ id, says }) => option(says, id)));
    $("window").append(...WINDOWS.map(([text, s]) => option(text, String(s))));
    $("by").value = "step";
  }

  listen() {
    $("play").addEventListener("click", () => this.togglePlay());
    $("rate").addEventListener("change", () => this.setSpeed(Number($("rate").value)));
    $("back").addEventListener("click", () => this.goBy($("by").value, -1));
    $("on").addEventListener("click", () => this.goBy($("by").value, 1));
    $("window").addEventListener("change", () => this.day.setWindow(Number($("window").value) * 1e6 * this.line.rate));
    $("copy-link").addEventListener("click", () => this.copyLink());
    $("open-search").addEventListener("click", () => this.search.toggle());
    $("whole-day").addEventListener("keydown", (event) => {
      const to = { Home: 0, End: this.line?.end_us }[event.key];
      if (to !== undefined) this.goToTime(to);
    });
    $("controls").addEventListener("submit", (event) => {
      event.preventDefault();
      this.goToWritten();
    });
    for (const id of ["to-time", "to-fact"]) $(id).addEventListener("input", () => (this.wrote = id));
    $("printed-before").addEventListener("toggle", () => ($("earlier-lines").scrollTop = $("earlier-lines").scrollHeight));
  }

  goToWritten() {
    const wrote = this.wrote ?? "to-time";
    const text = $(wrote).value.trim();
    document.activeElement?.blur();
    if (wrote === "to-fact") {
      const seq = Number(text.replace(/[\s,.]/g, ""));
      if (Number.isInteger(seq) && seq >= 1) this.go(seq);
      else this.say("Write the fact's number, from 1 on.");
      return;
    }
    const us = this.times.written(text, this.at ?? 0);
    if (us === null) this.say("Write the time as the museum's clock said it, such as 14:32:05.");
    else {
      this.pause();
      this.goToTime(us);
    }
  }

  nextWindow(direction) {
    const values = WINDOWS.map(([, s]) => String(s));
    const index = values.indexOf($("window").value) + direction;
    $("window").value = values[Math.min(Math.max(index, 0), values.length - 1)];
    $("window").dispatchEvent(new Event("change"));
  }

  async copyLink() {
    this.moved(this.name, this.seq);
    const link = location.href;
    try {
      await navigator.clipboard.writeText(link);
      this.say(`The link to this moment is copied. On another computer, what stands behind its # is enough: ${location.hash}`);
    } catch {
      this.say(`This browser doesn't let the page copy. The link is in the address bar: ${location.hash}`);
    }
  }

  setSearchOpen(open) {
    setShown($("search"), open);
    setShown($("why-then"), !open);
    setAttribute($("open-search"), "aria-expanded", String(open));
  }
}
