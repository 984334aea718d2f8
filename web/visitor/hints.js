// What people should see and hear beside the machine now, and what comes next: only live, and only what is known.

import { isConsole } from "../drawing/layout.js";
import { newElement, newSvg, setShown, setText } from "../shared/dom.js";
import { isSimulated, isSimulatedDocent } from "./story.js";
import { hoursMinutes, inLanguage } from "../shared/words.js";

const MOST = 3; // tell-tales at a time
const LAMP = 14;
const LOOKS = { o: "dark", "*": "lit", x: "blinks", "~": "flickers" };
const LATE_S = 5; // when it is this late, or late by half the time it was to take, the page stops announcing it

// In rem, so that drawings grow with the words on a larger screen.
function rem(px) {
  return `${px / 16}rem`;
}

// Rows of lamps: o dark, * lit, x blinking, ~ flickering. They look different even where nothing may move.
function lamps(pattern) {
  const rows = pattern.split("/");
  const width = Math.max(...rows.map((row) => row.length)) * LAMP;
  const svg = newSvg("svg", { class: "lamps", viewBox: `0 0 ${width} ${rows.length * LAMP}`, width: rem(width), height: rem(rows.length * LAMP), "aria-hidden": "true" });
  rows.forEach((row, y) => {
    [...row].forEach((state, x) => {
      if (!LOOKS[state]) return;
      const place = { cx: (x + 0.5) * LAMP, cy: (y + 0.5) * LAMP };
      const lamp = newSvg("g", { class: `tell-tale-lamp ${LOOKS[state]}` }, newSvg("circle", { ...place, r: 5 }));
      if (state === "x" || state === "~") {
        const glow = newSvg("circle", { ...place, r: state === "x" ? 3 : 2, class: "glow" });
        glow.style.setProperty("--turn", String((x * 5) % 7)); // so that neighbours don't flicker together
        lamp.append(glow);
      }
      svg.append(lamp);
    });
  });
  return svg;
}

function sound() {
  const arcs = [4, 8, 12].map((r) => newSvg("path", { d: `M ${5 + r * 0.7} ${14 - r * 0.7} A ${r} ${r} 0 0 1 ${5 + r * 0.7} ${14 + r * 0.7}` }));
  return newSvg("svg", { class: "sound", viewBox: "0 0 20 28", width: rem(20), height: rem(28), "aria-hidden": "true" }, newSvg("circle", { cx: 4, cy: 14, r: 2 }), ...arcs);
}

export class Hints {
  constructor(holder, head, list, ahead) {
    Object.assign(this, { holder, head, list, ahead });
    this.current = [];
  }

  // `now` is the museum's time in milliseconds. `speaks`: the machine is there to be looked at and listened to.
  paint(items, tag, words, speaks, now, part) {
    this.paintTellTales(speaks ? items : {}, tag, words, now, part);
    this.paintAhead(speaks ? items : {}, tag, words, now);
  }

  paintTellTales(items, tag, words, now, part) {
    const all = items.recording?.tell_tales ?? {};
    const current = (items.tell_tales ?? []).filter((one) => all[one.name] && isFresh(one, now));
    current.sort((a, b) => (all[b.name].part === part) - (all[a.name].part === part));
    this.current = current;
    const shown = current.slice(0, MOST);
    const simulated = isSimulated(items);
    const key = JSON.stringify([shown, tag, words.locale, simulated]);
    if (this.holder.dataset.key === key) return;
    this.holder.dataset.key = key;
    this.holder.hidden = !shown.length;
    this.head.textContent = words.tellTales(simulated);
    this.list.replaceChildren(...shown.map((one) => this.tellTale(one, all[one.name], tag, words)));
  }

  // What should be noticed now beside one part, for its sheet: a shared screen shows it only while the caption speaks of it.
  ofPart(part, items, tag, words) {
    const all = items.recording?.tell_tales ?? {};
    const its = this.current.filter((one) => all[one.name]?.part === part);
    if (!its.length) return [];
    const list = newElement("ul", undefined, "tell-tales-of-part");
    list.append(...its.map((one) => this.tellTale(one, all[one.name], tag, words)));
    return [newElement("p", words.tellTales(isSimulated(items)), "beside"), list];
  }

  tellTale(one, what, tag, words) {
    const item = newElement("li");
    item.dataset.tellTale = one.name;
    item.dataset.state = what.state;
    const sentence = newElement("span", inLanguage(what.words, tag));
    sentence.dir = "auto";
    item.append(what.kind === "lamps" ? lamps(what.lamps) : sound(), sentence);
    const instead = inLanguage(what.see_or_feel, tag);
    if (instead) item.append(" ", Object.assign(newElement("span", instead), { dir: "auto" }));
    item.append(" ", newElement("span", words.tellTaleConfirmed(hoursMinutes(one.confirmed.at), isSimulatedDocent(one.confirmed.by)), "where"));
    return item;
  }

  paintAhead(items, tag, words, now) {
    const all = items.recording?.ahead ?? {};
    let text = "";
    for (const one of items.ahead ?? []) {
      const due = Date.parse(one.due);
      const late_s = Math.max(LATE_S, (due - Date.parse(one.began)) / 2000);
      const left_s = (due - now) / 1000;
      if (!all[one.name] || left_s < -late_s) continue;
      text = words.ahead(when(left_s, words), inLanguage(all[one.name].words, tag));
      // On a phone, "watch the console" needs to say where it is.
      const ofConsole = isConsole(items.recording.drawn?.[all[one.name].part] ?? {});
      if (ofConsole && document.documentElement.dataset.console === "hidden") text += ` ${words.consoleIsBehind(words.showConsole)}`;
      break;
    }
    setShown(this.ahead, Boolean(text));
    setText(this.ahead, text);
  }
}

// When something is due, no more precisely than is known.
export function when(left_s, words) {
  if (left_s >= 90) return words.inMinutes(Math.round(left_s / 60));
  if (left_s >= 20) return words.inSeconds(Math.round(left_s / 10) * 10);
  if (left_s >= 5) return words.inSeconds(Math.round(left_s / 5) * 5);
  return words.inAMoment;
}

// Confirmed today, by the museum's date, and not longer ago than the folder allows.
function isFresh(one, now) {
  const zone_ms = Date.parse(`${one.confirmed.at.slice(0, 23)}Z`) - Date.parse(one.confirmed.at);
  const today = new Date(now + zone_ms).toISOString().slice(0, 10);
  return one.confirmed.at.slice(0, 10) === today && now < Date.parse(one.until);
}
