// The day as a line: what was done when, where now is, and what comes next. It is painted anew once a minute.

import { newElement, newSvg, setShown } from "../shared/dom.js";
import { dayRange, daysBetween, doors, gathered, hoursOf, hourText, minuteText, nextOf, nowMs, spanBox, spansOf, wallMs, writtenHours } from "./day_axis.js";
import { placeInRow } from "./labels.js";
import { linear } from "./scales.js";
import { textWidth } from "./text_width.js";

const NARROW = 36; // letters' heights: below this width, the doors' labels get a row of their own
const TALL = ["opening", "closing"];

export class DayLine {
  #holder;
  #last = null;
  #drawn = "";

  constructor(holder) {
    this.#holder = holder;
    holder.classList.add("day-line");
    this.picture = newElement("div", undefined, "day-picture");
    this.picture.setAttribute("role", "img");
    this.svg = newSvg("svg", { "aria-hidden": "true" });
    this.picture.append(this.svg);
    holder.replaceChildren(this.picture);
    new ResizeObserver(() => this.#draw()).observe(holder);
    document.fonts?.addEventListener("loadingdone", () => {
      this.#drawn = "";
      this.#draw();
    });
  }

  // look.now: a wall time as in the items, or a Date or milliseconds. look.hollow: the clock is that of a recording.
  paint(day, hours, look) {
    const now = look ? nowMs(look.now, day) : null;
    this.#last = now === null || Number.isNaN(now) ? null : { day, hours, look, now: Math.floor(now / 60_000) * 60_000 };
    setShown(this.#holder, this.#last !== null);
    this.#draw();
  }

  text() {
    if (!this.#last) return "";
    const { day, hours, look, now } = this.#last;
    const spans = gathered(spansOf(day, now)).map((span) => ({ ...span, from: minuteText(span.from), until: minuteText(span.until) }));
    const next = this.#nextText();
    const open = doors(hours, now);
    return look.words.charts.dayText({
      kinds: look.words.charts.spanKinds, now: minuteText(now), hollow: Boolean(look.hollow), woken: day?.woken ? minuteText(wallMs(day.woken)) : "", spans, next,
      opens: open ? minuteText(open.opens) : "", closes: open ? minuteText(open.closes) : "",
    });
  }

  #nextText() {
    const { day, hours, look, now } = this.#last;
    const next = nextOf(day, look.hollow ? null : hours, now);
    if (!next) return "";
    const [what, at] = next;
    const said = (at === null ? look.words.charts.then[what] : look.words.charts.next[what]?.(minuteText(at), dayName(at, now, look.words.locale))) ?? "";
    return said && look.hollow ? look.words.charts.plannedThen(said) : said;
  }

  #draw() {
    const width = this.#holder.clientWidth;
    if (!this.#last || width < 40) return;
    const { day, hours, look, now } = this.#last;
    const em = parseFloat(getComputedStyle(this.picture).fontSize);
    const key = JSON.stringify([width, em, now, day, hours, look.tag, look.hollow]);
    if (key === this.#drawn) return;
    this.#drawn = key;
    const rows = width < NARROW * em ? 2 : 1;
    const g = { em, width, rows, bar: em * (rows * 1.35 + 0.85), high: em * 0.5 };
    const height = Math.ceil(g.bar + g.high + em * 1.75);
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.setAttribute("height", height);
    const range = dayRange(day, hours, now);
    const place = linear(range.from, range.to, 1.5, width - 1.5);
    const spans = spansOf(day, now);
    const live = !look.hollow && spans.some(({ open }) => open);
    this.svg.replaceChildren(...this.#axis(range, place, g), ...this.#spans(spans, place, g), this.#labels(place, g, live));
    this.picture.setAttribute("aria-label", this.text());
  }

  #axis(range, place, g) {
    const { em, width, bar, high } = g;
    const parts = [newSvg("rect", { class: "axis", x: 1, y: bar, width: width - 2, height: high })];
    const hours = hoursOf(range);
    const apart = place(hours[1]) - place(hours[0]);
    const wide = textWidth(this.picture, "10:00");
    const short = apart < wide + em * 0.9;
    const every = [1, 2, 3, 4, 6, 12].find((n) => n * apart >= (short ? textWidth(this.picture, "10") : wide) + em * 0.6) ?? 12;
    const minor = apart > em * 8 ? 4 : apart > em * 2 ? 2 : 1;
    hours.forEach((hour, n) => {
      const x = place(hour);
      parts.push(line(x, bar, bar + high + em * 0.28));
      for (let part = 1; part < minor && n < hours.length - 1; part += 1) parts.push(line(x + (part * apart) / minor, bar + high * 0.55, bar + high));
    });
    const open = doors(this.#last.hours, this.#last.now);
    const labels = writtenHours(hours, every, open).map((hour) => {
      const end = hour === hours[0] ? "start" : hour === hours.at(-1) ? "end" : "middle";
      return { hour, x: end === "start" ? 0 : end === "end" ? width : place(hour), width: textWidth(this.picture, hourText(hour, short)), at: end };
    });
    placeInRow(labels, -width, 2 * width, em * 0.5, 0.5).forEach((left, n) => {
      const { hour, x, at } = labels[n];
      if (left !== null) parts.push(text(x, bar + high + em * 1.4, hourText(hour, short), "hour", at));
    });
    return parts;
  }

  #spans(spans, place, g) {
    const { em, bar, high } = g;
    const inOrder = [...spans].sort((a, b) => a.from - b.from);
    const parts = inOrder.map((span, n) => {
      const [x, width] = spanBox(span, inOrder[n + 1]?.from, place, Math.max(2, em * 0.12));
      return newSvg("rect", { class: `span ${span.kind}`, x: x.toFixed(2), y: bar, width: width.toFixed(2), height: high });
    });
    const flags = inOrder.filter(({ kind }) => TALL.includes(kind)).map(({ from }) => from);
    const woken = wallMs(this.#last.day?.woken);
    if (woken !== null && woken >= inOrder[0]?.from - 86_400_000) flags.push(woken);
    return [...parts, ...flags.map((at) => line(place(at), bar - em * 0.3, bar + high, "flag"))];
  }

  #labels(place, g, live) {
    const { look, hours, now } = this.#last;
    const { em, width, rows, bar, high } = g;
    const words = look.words.charts;
    const group = newSvg("g", { class: look.hollow ? "hollow" : live ? "live" : "resting" });
    const x = place(now);
    const tip = bar - em * 0.06;
    group.append(newSvg("polygon", { class: "pointer", points: `${x - em * 0.38},${tip - em * 0.56} ${x + em * 0.38},${tip - em * 0.56} ${x},${tip}` }));
    const base = bar - em * 0.98;
    const said = look.hollow ? words.itWas(minuteText(now)) : words.now(minuteText(now));
    const nowWidth = textWidth(this.picture, said, 700);
    const gap = em * 0.8;
    const [nowLeft] = placeInRow([{ x, width: nowWidth }], 0, width, 0, Infinity);
    if (nowLeft === null) return group;
    group.append(text(nowLeft, base, said, "now", "start"));
    const taken = [{ x: nowLeft, width: nowWidth, at: "start" }];
    const next = this.#nextText();
    if (next) {
      const label = { x: nowLeft + nowWidth + gap, width: textWidth(this.picture, next), at: "start" };
      const left = placeInRow([...taken, label], 0, width, gap, Infinity)[1];
      if (left !== null) {
        group.append(text(left, base, next, "next", "start"));
        taken.push({ ...label, x: left });
      }
    }
    const open = doors(hours, now);
    if (!open) return group;
    for (const at of [open.opens, open.closes]) group.append(line(place(at), bar - em * 0.2, bar + high));
    if (look.hollow) return group;
    const upper = [];
    for (const [what, at] of [["closes", open.closes], ["opens", open.opens]]) {
      if (at <= now || (what === "opens" && nextOf(this.#last.day, hours, now)?.[0] === "opens")) continue;
      const words_ = words.next[what](minuteText(at));
      const label = { x: place(at), width: textWidth(this.picture, words_), at: "middle" };
      // Just above its mark; one row higher only where a narrow line has no room for it there.
      for (const [row, there] of [taken, upper].slice(0, rows).entries()) {
        const left = placeInRow([...there, label], 0, width, gap, em * 7).at(-1);
        if (left === null) continue;
        group.append(text(left, base - row * em * 1.35, words_, "edge", "start"));
        there.push({ ...label, x: left, at: "start" });
        break;
      }
    }
    return group;
  }
}

// A day of the coming week by its name, a later one with its date.
function dayName(at, now, locale) {
  const date = daysBetween(now, at) < 7 ? {} : { day: "numeric", month: "long" };
  return new Intl.DateTimeFormat(locale, { weekday: "long", timeZone: "UTC", ...date }).format(at);
}

function line(x, top, bottom, className = "axis") {
  return newSvg("line", { class: className, x1: x.toFixed(1), x2: x.toFixed(1), y1: top.toFixed(1), y2: bottom.toFixed(1) });
}

function text(x, y, words, className, anchor) {
  const made = newSvg("text", { class: className, x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor });
  made.textContent = words;
  return made;
}
