// What the lamps should do now, and what comes next: told live only, and only as far as it is known.

import { drawn, made } from "../shared/dom.js";
import { isSimulated } from "./story.js";
import { minute, told } from "../shared/words.js";

const MOST = 3; // tell-tales at a time
const LAMP = 14;
const LOOKS = { o: "dark", "*": "lit", x: "blinks", "~": "flickers" };
const LATE_S = 5; // so much later than foretold, or half as long again, and nothing is foretold any longer

// As large beside the words on a screen of any size.
function rem(px) {
  return `${px / 16}rem`;
}

// A row of lamps: o dark, * lit, x blinking, ~ flickering. Their looks differ also where nothing may move.
export function lamps(pattern) {
  const rows = pattern.split("/");
  const width = Math.max(...rows.map((row) => row.length)) * LAMP;
  const svg = drawn("svg", { class: "lamps", viewBox: `0 0 ${width} ${rows.length * LAMP}`, width: rem(width), height: rem(rows.length * LAMP), "aria-hidden": "true" });
  rows.forEach((row, y) => {
    [...row].forEach((sign, x) => {
      if (!LOOKS[sign]) return;
      const place = { cx: (x + 0.5) * LAMP, cy: (y + 0.5) * LAMP };
      const lamp = drawn("g", { class: `tell-lamp ${LOOKS[sign]}` }, drawn("circle", { ...place, r: 5 }));
      if (sign === "x" || sign === "~") {
        const glow = drawn("circle", { ...place, r: sign === "x" ? 3 : 2, class: "glow" });
        glow.style.setProperty("--turn", String((x * 5) % 7)); // neighbours don't flicker at once
        lamp.append(glow);
      }
      svg.append(lamp);
    });
  });
  return svg;
}

function sound() {
  const arcs = [4, 8, 12].map((r) => drawn("path", { d: `M ${5 + r * 0.7} ${14 - r * 0.7} A ${r} ${r} 0 0 1 ${5 + r * 0.7} ${14 + r * 0.7}` }));
  return drawn("svg", { class: "sound", viewBox: "0 0 20 28", width: rem(20), height: rem(28), "aria-hidden": "true" }, drawn("circle", { cx: 4, cy: 14, r: 2 }), ...arcs);
}

export class Telling {
  constructor(holder, head, list, ahead) {
    Object.assign(this, { holder, head, list, ahead });
  }

  // `now` is the museum's time in milliseconds; `speaks`: the machine is there, so that one may look and listen.
  paint(items, tag, words, speaks, now, part) {
    this.paintTells(speaks ? items : {}, tag, words, now, part);
    this.paintAhead(speaks ? items : {}, tag, words, now);
  }

  paintTells(items, tag, words, now, part) {
    const all = items.recording?.tell_tales ?? {};
    const standing = (items.tell_tales ?? []).filter((one) => all[one.name] && isFresh(one, now));
    standing.sort((a, b) => (all[b.name].part === part) - (all[a.name].part === part));
    const shown = standing.slice(0, MOST);
    const simulated = isSimulated(items);
    const key = JSON.stringify([shown, tag, words.locale, simulated]);
    if (this.holder.dataset.key === key) return;
    this.holder.dataset.key = key;
    this.holder.hidden = !shown.length;
    this.head.textContent = words.tells(simulated);
    this.list.replaceChildren(...shown.map((one) => this.tell(one, all[one.name], tag, words, simulated)));
  }

  tell(one, what, tag, words, simulated) {
    const item = made("li");
    item.dataset.tell = one.name;
    item.dataset.state = what.state;
    const said = made("span", told(what.words, tag));
    said.dir = "auto";
    item.append(what.kind === "lamps" ? lamps(what.lamps) : sound(), said);
    const instead = told(what.see_or_feel, tag);
    if (instead) item.append(" ", Object.assign(made("span", instead), { dir: "auto" }));
    item.append(" ", made("span", words.tellConfirmed(minute(one.confirmed.at), simulated), "where"));
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
      text = words.ahead(when(left_s, words), told(all[one.name].words, tag));
      break;
    }
    this.ahead.hidden = !text;
    if (this.ahead.textContent !== text) this.ahead.textContent = text;
  }
}

// As roughly as it is known.
export function when(left_s, words) {
  if (left_s >= 90) return words.inMinutes(Math.round(left_s / 60));
  if (left_s >= 20) return words.inSeconds(Math.round(left_s / 10) * 10);
  if (left_s >= 5) return words.inSeconds(Math.round(left_s / 5) * 5);
  return words.inAMoment;
}

// Confirmed on the day that it is now where the museum stands, and not older than the folder lets it be.
function isFresh(one, now) {
  const zone_ms = Date.parse(`${one.confirmed.at.slice(0, 23)}Z`) - Date.parse(one.confirmed.at);
  const today = new Date(now + zone_ms).toISOString().slice(0, 10);
  return one.confirmed.at.slice(0, 10) === today && now < Date.parse(one.until);
}
