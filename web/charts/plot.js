// A chart that grows as the machine prints. First the places that are being worked out, without any height; then each
// printed value, a quarter of a second apart and never before it was printed. The line between them is ours.

import { newElement, newSvg, replaceIfChanged, setShown, setText } from "../shared/dom.js";
import { hoursMinutes, inLanguage } from "../shared/words.js";
import { frame, geometry } from "./plot_frame.js";
import { curveParts, workedSquares } from "./plot_grown.js";
import { entriesOf, extremes, markTexts, workedOf } from "./plot_layout.js";
import { OLD_MS, Queue } from "./queue.js";

let plots = 0;

export class Plot {
  #holder;
  #queue = new Queue();
  #count = 0;
  #timer = null;
  #still = "";
  #grown = "";
  #last = null;
  #clip = `plot-clip-${(plots += 1)}`;

  constructor(holder) {
    this.#holder = holder;
    holder.classList.add("plot");
    this.title = newElement("p", undefined, "plot-title");
    this.note = newElement("p", undefined, "plot-note");
    const head = newElement("div", undefined, "plot-head");
    head.append(this.title, this.note);
    this.picture = newElement("div", undefined, "plot-picture");
    this.picture.setAttribute("role", "img");
    this.still = newSvg("svg", { class: "plot-still", "aria-hidden": "true" });
    this.grown = newSvg("svg", { class: "plot-grown", "aria-hidden": "true" });
    this.picture.append(this.still, this.grown);
    this.list = newElement("ol", undefined, "plot-list");
    holder.replaceChildren(head, this.picture, this.list);
    new ResizeObserver(() => this.#draw()).observe(this.picture);
    document.fonts?.addEventListener("loadingdone", () => {
      this.#still = this.#grown = "";
      this.#draw();
    });
  }

  // `item` null: nothing of this chart is known (any more), and only its frame is drawn. look.now, where it is given, is
  // the recording's clock as a wall time: values printed some seconds before it are drawn at once. look.rate is its speed.
  paint(spec, item, look) {
    this.#last = spec?.across && spec.up ? { spec, item: item ?? null, look, entries: entriesOf(item) } : null;
    setShown(this.#holder, this.#last !== null);
    clearTimeout(this.#timer);
    if (!this.#last) return;
    const identity = item ? `${item.job}|${item.since}|${item.round ?? ""}` : null;
    this.#queue.take(identity, this.#last.entries.map(({ seq }) => seq), performance.now(), {
      atOnce: Boolean(look.past || look.small || isOld(item, look)), wholeLines: isStill(), rate: look.rate,
    });
    this.#advance();
  }

  // What the picture says, in words, for whoever doesn't see it.
  text() {
    if (!this.#last) return "";
    const { spec, item, look } = this.#last;
    const words = look.words.charts;
    const title = inLanguage(spec.title, look.tag);
    const shown = this.#shown();
    const found = extremes(shown);
    if (!found && isWorked(item)) return words.plotWorked(title, ...workedOf(spec, item));
    if (!found) return words.plotEmpty(title);
    const [last, highest, lowest] = found.map((entry) => this.#texts(shown, entry));
    const marks = shown.filter(({ mark }) => mark).map((entry) => [this.#markName(entry.mark), ...this.#texts(shown, entry)]);
    const garbled = shown.filter(({ y }) => y === null).length;
    return words.plotText({ title, last, highest, lowest, marks, garbled, growing: this.#growing(shown), past: Boolean(look.past) });
  }

  #shown() {
    return this.#last.entries.slice(0, this.#count);
  }

  #growing(shown) {
    const { item, look, entries } = this.#last;
    return Boolean(item) && Boolean(look.live) && !look.past && ((!item.done && !item.until) || shown.length < entries.length);
  }

  #texts(shown, entry, withoutUnit = false) {
    const { spec, look } = this.#last;
    const unit = withoutUnit ? "" : inLanguage(spec.up.unit ?? spec.up.words, look.tag);
    return markTexts(spec, shown, entry, unit, look.words.locale);
  }

  #markName(mark) {
    const { spec, look } = this.#last;
    return inLanguage(spec.marks?.[mark.line], look.tag) || mark.label || "";
  }

  // Only here does the count go on: what is drawn and what is said of it are of one moment.
  #advance() {
    this.#count = this.#queue.advance(performance.now(), isStill());
    this.#draw();
    const due = this.#queue.due_ms(performance.now());
    if (due !== null) this.#timer = setTimeout(() => this.#advance(), due);
  }

  #draw() {
    if (!this.#last) return;
    const { spec, item, look, entries } = this.#last;
    const shown = this.#shown();
    this.#holder.classList.toggle("small", Boolean(look.small));
    this.#head(shown);
    const size = { width: this.picture.clientWidth, height: this.picture.clientHeight };
    if (size.width < 20 || size.height < 20) return;
    const growing = this.#growing(shown);
    const outline = JSON.stringify([size, spec, look.tag, look.small]);
    const key = JSON.stringify([outline, item, growing, look.live, look.past, shown.length]);
    if (key === this.#grown) return;
    this.#grown = key;
    const { locale } = look.words;
    const g = geometry(spec, entries, size, this.picture, locale, look.small);
    const drawn = JSON.stringify([outline, g.ups, g.acrosses, g.em]);
    if (drawn !== this.#still) {
      this.#still = drawn;
      for (const svg of [this.still, this.grown]) svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
      this.still.replaceChildren(...(look.small ? [] : frame(spec, g, this.picture, locale)));
    }
    this.#grow(shown, growing, g, size);
  }

  #grow(shown, growing, g, size) {
    const { spec, item, look } = this.#last;
    let [elements, listed] = [[], []];
    if (shown.length > 0) {
      const firstMark = shown.find(({ mark }) => mark); // where there is little room, the unit stands once
      const say = (entry, alone) => {
        const [where, height] = this.#texts(shown, entry, look.brief && !alone && entry !== firstMark);
        return look.small ? [where, height] : [entry.mark ? this.#markName(entry.mark) : "", `${where}\u2002${height}`];
      };
      const clip = newSvg("clipPath", { id: this.#clip }, newSvg("rect", { x: g.left, y: 0, width: g.right - g.left, height: g.floor }));
      ({ elements, listed } = curveParts({ shown, growing, say, look, g, size, picture: this.picture, clip: `url(#${this.#clip})` }));
      elements.unshift(clip);
    } else if (isWorked(item) && !look.small) {
      const [worked, total] = workedOf(spec, item);
      elements = [workedSquares([worked, total], look.words.charts.ofTotal(total), item, look, g)];
    }
    this.grown.replaceChildren(...elements);
    setShown(this.list, listed.length > 0);
    replaceIfChanged(this.list, listed.map(({ name, value, seq }) => [name, value, seq]), () => listed.map(({ name, value, seq }) => {
      const line = newElement("li");
      line.dataset.fact = seq;
      line.append(newElement("span", name), " ", newElement("strong", value));
      return line;
    }));
  }

  #head(shown) {
    const { spec, item, look } = this.#last;
    const words = look.words.charts;
    setText(this.title, inLanguage(spec.title, look.tag));
    if (shown.length === 0 && isWorked(item)) {
      const across = inLanguage(spec.across.words, look.tag);
      setText(this.note, this.#growing(shown) ? words.beingWorked(across) : words.wasWorked(across));
    } else {
      const axes = words.axes(inLanguage(spec.up.words, look.tag), inLanguage(spec.across.words, look.tag));
      setText(this.note, shown.length > 0 && item.at ? `${axes} ${words.printedAt(hoursMinutes(item.at))}` : axes);
    }
    const text = this.text();
    if (this.picture.getAttribute("aria-label") !== text) this.picture.setAttribute("aria-label", text);
  }
}

function isWorked(item) {
  return Number.isFinite(item?.worked);
}

function isStill() {
  return document.documentElement.dataset.still !== undefined || matchMedia("(prefers-reduced-motion: reduce)").matches;
}

function isOld(item, look) {
  return Boolean(item?.at && look.now) && Date.parse(look.now) - Date.parse(item.at) > OLD_MS;
}
