// "How do we know?": what a caption rests on. It opens to the very line on the console, which is then marked;
// an engineer sees the bytes. What no longer stands there is quoted from the record, and isn't pointed at.

import { made } from "../shared/dom.js";
import { plain, second, told } from "../shared/words.js";

const BYTES_IN_A_ROW = 8;

export class Grounds {
  constructor(details, list, console, wantConsole) {
    this.details = details;
    this.list = list;
    this.console = console;
    this.wantConsole = wantConsole;
    this.shown = [];
    this.key = "";
    details.addEventListener("toggle", () => this.mark(true));
  }

  paint(caption, words, tag) {
    const grounds = caption ? joined(caption.because) : [];
    const source = caption ? told(caption.source, tag) : "";
    this.details.hidden = !grounds.length && !source;
    const key = JSON.stringify([grounds, source, words.locale]);
    if (key !== this.key) {
      this.key = key;
      this.words = words;
      this.shown = grounds.map((ground) => ({ ground, ...this.line(ground, words) }));
      this.list.replaceChildren(...this.shown.map(({ line }) => line), ...(source ? [made("li", words.source(source))] : []));
    }
    this.mark(false);
  }

  line(ground, words) {
    const line = made("li");
    const sentence = words.grounds[ground.how] ?? words.grounds.fact;
    const said = made("span", sentence(named(ground), ground.value));
    said.dir = "auto";
    const where = made("span", undefined, "where");
    if (ground.at) {
      const time = made("time", second(ground.at));
      time.dateTime = time.title = ground.at;
      where.append(time, ", ");
    }
    where.append(words.facts(ground.numbers));
    line.append(said, " ", where);
    const rest = { line };
    if (ground.line) {
      rest.show = made("button", words.showLine, "show-line");
      rest.show.type = "button";
      rest.show.addEventListener("click", () => this.goTo(ground));
      rest.gone = made("p", words.lineGone(ground.line), "gone");
      line.append(rest.show, rest.gone);
    }
    if (ground.bytes) line.append(bytesOf(ground.bytes, words));
    return rest;
  }

  // Marks the lines while this is open, and none otherwise. When it has just opened, the last one is gone to.
  mark(opened) {
    this.console.unmark();
    let last = null;
    for (const { ground, show, gone } of this.shown) {
      if (!ground.line) continue;
      const place = this.details.open ? this.console.find(ground) : null;
      // Where the page shows no console yet, it is asked for first.
      const there = Boolean(place) || !this.console.isShown();
      if (this.details.open && show.hidden === there) show.hidden = !there;
      if (this.details.open && gone.hidden !== there) gone.hidden = there;
      if (place) {
        this.console.mark(place);
        last = place;
      }
    }
    if (opened && last?.where === "screen") this.console.bringIntoSight(last);
  }

  goTo(ground) {
    if (!this.console.isShown()) {
      this.wantConsole();
      this.awaited = ground;
      return;
    }
    const place = this.console.find(ground);
    if (!place) return;
    this.console.bringIntoSight(place, true);
  }

  // The console has come to a page that asked for it.
  arrived() {
    if (!this.awaited || !this.console.isShown() || !this.console.find(this.awaited)) return;
    const ground = this.awaited;
    this.awaited = null;
    this.goTo(ground);
  }
}

function named(ground) {
  return ["received", "printed", "stood", "typed", "pack"].includes(ground.how) ? ground.what : plain(ground.what);
}

// The bytes and what was read from them are one ground to a visitor: one sentence with both numbers.
function joined(because) {
  const grounds = [];
  let numbers = [];
  let bytes = "";
  because.forEach((ground, index) => {
    numbers.push(ground.seq);
    bytes = ground.bytes || bytes;
    const next = because[index + 1];
    if (ground.how === "received" && next && ["printed", "stood", "reading", "rows"].includes(next.how)) return;
    grounds.push({ ...ground, bytes, numbers });
    numbers = [];
    bytes = "";
  });
  return grounds;
}

// As they came: each byte in hexadecimal, and as the character that it prints (a dot for one that prints none).
function bytesOf(bytes, words) {
  const details = made("details", undefined, "bytes");
  const sheet = made("pre", rowsOf(bytes).join("\n"));
  sheet.tabIndex = 0;
  sheet.dir = "ltr";
  sheet.setAttribute("role", "group");
  sheet.setAttribute("aria-label", words.bytes);
  details.append(made("summary", words.bytes), sheet);
  return details;
}

export function rowsOf(bytes) {
  const rows = [];
  for (let at = 0; at < bytes.length; at += BYTES_IN_A_ROW) {
    const piece = [...bytes.slice(at, at + BYTES_IN_A_ROW)];
    const hex = piece.map((one) => one.charCodeAt(0).toString(16).padStart(2, "0")).join(" ");
    const print = piece.map((one) => (one >= " " && one <= "~" ? one : ".")).join("");
    rows.push(`${hex.padEnd(BYTES_IN_A_ROW * 3 - 1)}  ${print}`);
  }
  return rows;
}
