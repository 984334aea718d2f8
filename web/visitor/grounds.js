// "How do we know?": what a caption rests on. Opening it marks the very line on the console; an engineer can see the
// bytes. A line that is no longer on the console is quoted from the recording instead.

import { newElement, setShown, setText, timeElement } from "../shared/dom.js";
import { hoursMinutesSeconds, inLanguage, spaced } from "../shared/words.js";
import { isSimulatedDocent } from "./story.js";

const BYTES_IN_A_ROW = 8;

export class Grounds {
  // `console.bringIntoSight` may open the sheet of the lines printed earlier, `earlier`: the mark then stays with them.
  constructor(button, sheet, list, console, earlier, wantConsole) {
    Object.assign(this, { button, sheet, list, console, earlier, wantConsole });
    this.shown = [];
    this.key = "";
    sheet.openedBy(button);
    sheet.onChange = () => {
      button.setAttribute("aria-expanded", String(sheet.isOpen));
      this.mark(sheet.isOpen);
    };
  }

  paint(caption, words, tag) {
    const grounds = caption ? joinBytes(caption.because) : [];
    const source = caption ? inLanguage(caption.source, tag) : "";
    setText(this.button, words.how);
    this.sheet.paint(words.how, words);
    setShown(this.button, grounds.length > 0 || Boolean(source));
    if (this.button.hidden && this.sheet.isOpen) this.sheet.close();
    const key = JSON.stringify([grounds, source, words.locale]);
    if (key !== this.key) {
      this.key = key;
      this.words = words;
      this.shown = grounds.map((ground) => ({ ground, ...this.line(ground, words) }));
      this.list.replaceChildren(...this.shown.map(({ line }) => line), ...(source ? [newElement("li", words.source(source))] : []));
    }
    this.mark(false);
  }

  line(ground, words) {
    const line = newElement("li");
    const sentence = newElement("span", sentenceOf(ground, words));
    sentence.dir = "auto";
    const where = newElement("span", undefined, "where");
    if (ground.at) {
      where.append(timeElement(ground.at, hoursMinutesSeconds(ground.at)), ", ");
    }
    where.append(words.facts(ground.numbers));
    line.append(sentence, " ", where);
    const rest = { line };
    if (ground.line) {
      rest.show = newElement("button", words.showLine, "show-line");
      rest.show.type = "button";
      rest.show.addEventListener("click", () => this.goTo(ground));
      rest.gone = newElement("p", words.lineGone(ground.line), "gone");
      line.append(rest.show, rest.gone);
    }
    if (ground.bytes) line.append(bytesOf(ground.bytes, words));
    return rest;
  }

  // Marks the lines while this is open, and none otherwise. When it has just been opened, scrolls to the last one.
  mark(justOpened) {
    const isOpen = this.sheet.isOpen;
    if (!isOpen && !this.earlier.isOpen) this.went = null;
    this.console.unmark();
    let last = null;
    for (const { ground, show, gone } of this.shown) {
      if (!ground.line) continue;
      const place = isOpen || this.went === ground ? this.console.find(ground) : null;
      if (isOpen) {
        setShown(show, this.mayAsk() || this.isInSight(place));
        setShown(gone, !this.mayAsk() && !place);
      }
      if (place) {
        this.console.mark(place);
        last = place;
      }
    }
    if (justOpened && last?.where === "screen") this.console.bringIntoSight(last);
  }

  // Whether the page has no console yet, as on a phone: the button first asks for it.
  mayAsk() {
    return document.documentElement.dataset.console === "hidden" || (Boolean(this.waitingFor) && !this.console.isShown());
  }

  // Not every scene of a shared screen shows the console; the lines printed earlier are on a sheet of their own.
  isInSight(place) {
    return Boolean(place) && (place.where === "earlier" || this.console.isShown());
  }

  goTo(ground) {
    const place = this.console.find(ground);
    if (!this.isInSight(place)) {
      if (this.console.isShown() || !this.mayAsk()) return;
      this.wantConsole();
      this.waitingFor = ground;
      return;
    }
    if (place.where === "earlier") {
      this.went = ground;
      this.earlier.open(this.button);
      this.console.mark(place);
    }
    this.console.bringIntoSight(place, true);
  }

  // The page has received the console that it asked for.
  consoleArrived() {
    if (!this.waitingFor || !this.console.isShown() || !this.console.find(this.waitingFor)) return;
    const ground = this.waitingFor;
    this.waitingFor = null;
    this.goTo(ground);
  }
}

function sentenceOf({ how, what, value }, words) {
  if (["received", "printed", "showing", "typed"].includes(how)) return words.grounds[how](what, value);
  if (how === "pack") return words.grounds.pack(what, spaced(value));
  if (how === "confirmed" && isSimulatedDocent(value)) return words.grounds["confirmed in the simulation"](spaced(what));
  return (words.grounds[how] ?? words.grounds.fact)(spaced(what), value);
}

// To a visitor, bytes and what was read from them are one ground: joins them in one sentence with both numbers.
function joinBytes(because) {
  const grounds = [];
  let numbers = [];
  let bytes = "";
  because.forEach((ground, index) => {
    numbers.push(ground.seq);
    bytes = ground.bytes || bytes;
    const next = because[index + 1];
    if (ground.how === "received" && next && ["printed", "showing", "reading", "rows"].includes(next.how)) return;
    grounds.push({ ...ground, bytes, numbers });
    numbers = [];
    bytes = "";
  });
  return grounds;
}

// The bytes as they arrived, in hexadecimal and as characters (a dot for a byte that prints nothing).
function bytesOf(bytes, words) {
  const details = newElement("details", undefined, "bytes");
  const sheet = newElement("pre", rowsOf(bytes).join("\n"));
  sheet.tabIndex = 0;
  sheet.dir = "ltr";
  sheet.setAttribute("role", "group");
  sheet.setAttribute("aria-label", words.bytes);
  details.append(newElement("summary", words.bytes), sheet);
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
