// Four pictures of the last round that was done, in ink only and in the past tense. If one of them is a chart, it is what
// came of the round, and so the largest. Of the others, the widest listing gets a wide place and a tall part a tall one.

import { newElement, replaceIfChanged, setShown, setText, timeElement } from "../shared/dom.js";
import { hoursMinutes, inLanguage } from "../shared/words.js";
import { Plot } from "./plot.js";

const MOST_LINES = 4;
const NARROW_PX = 576; // below this width a chart has no room for its labels

export class Album {
  #holder;
  #partPicture;
  #last = null;

  constructor(holder, partPicture) {
    this.#holder = holder;
    this.#partPicture = partPicture;
    holder.classList.add("album");
    this.title = newElement("p", undefined, "album-title");
    this.date = newElement("p", undefined, "album-date");
    const head = newElement("div", undefined, "album-head");
    head.append(this.title, this.date);
    this.pictures = newElement("ol", undefined, "album-pictures");
    holder.replaceChildren(head, this.pictures);
  }

  paint(album, recording, look) {
    const entries = (album ?? []).slice(0, 4);
    this.#last = { entries, recording, look };
    setShown(this.#holder, entries.length > 0);
    setText(this.title, look.words.charts.lastRound);
    setText(this.date, entries.length ? dayText(entries[0].at, look.words.locale) : "");
    this.pictures.dataset.count = entries.length;
    const hasResult = entries.length === 4 && entries.filter((entry) => this.#plotOf(entry)).length === 1;
    const narrow = this.#holder.clientWidth < NARROW_PX;
    replaceIfChanged(this.pictures, [entries, look.tag, recording?.chapters, recording?.plots, narrow], () => {
      const made = entries.map((entry) => this.#entry(entry, hasResult && !narrow));
      this.pictures.dataset.layout = hasResult ? placesOf(made) : "even";
      return made.map(({ item }) => item);
    });
  }

  text() {
    if (!this.#last?.entries.length) return "";
    const { entries, look } = this.#last;
    return [look.words.charts.lastRound, ...entries.map((entry) => `${hoursMinutes(this.#timeOf(entry))}: ${this.#told(entry)}`)].join("\n");
  }

  #told(entry) {
    const { recording, look } = this.#last;
    const chapter = (recording?.chapters?.[entry.script] ?? []).find(({ name }) => name === entry.chapter);
    return inLanguage(chapter?.told, look.tag) || inLanguage(chapter?.words, look.tag);
  }

  // When it began; of a chart, when it was printed, as its own page says.
  #timeOf(entry) {
    return (this.#plotOf(entry) && entry.plot.at) || entry.at;
  }

  #plotOf(entry) {
    const [kind, name] = (entry.picture ?? "").split(":");
    return kind === "plot" && entry.plot?.points?.length ? this.#last.recording?.plots?.[name] : undefined;
  }

  #entry(entry, large) {
    const item = newElement("li");
    const holder = newElement("div", undefined, "album-picture");
    const picture = this.#picture(entry, large);
    const words = newElement("p", undefined, "album-words");
    const at = this.#timeOf(entry);
    words.append(timeElement(at, hoursMinutes(at)), " ", Object.assign(newElement("span", this.#told(entry)), { dir: "auto" }));
    item.dataset.fact = entry.seq;
    if (this.#plotOf(entry)) item.className = "chart";
    holder.append(picture);
    item.append(holder, words);
    return { item, picture };
  }

  // What the chapter asks for; else the lines that were printed; else its words alone.
  #picture(entry, large) {
    const { recording, look } = this.#last;
    const [kind, name] = (entry.picture ?? "").split(":");
    const spec = this.#plotOf(entry);
    if (spec) return plotOf(spec, entry.plot, { ...look, small: !large, brief: large });
    const part = kind === "part" ? entry.part || name : "";
    const drawn = part && this.#partPicture?.(recording, part, { job: entry.job ?? null, tag: look.tag, words: look.words });
    if (drawn) return drawn;
    if (entry.lines?.some((line) => line.trim())) return listing(entry.lines);
    const plain = newElement("p", this.#told(entry), "album-plain");
    plain.dir = "auto";
    plain.setAttribute("aria-hidden", "true");
    return plain;
  }
}

// Gives each picture beside the result its place, and says what the layout is called.
function placesOf(made) {
  const others = made.filter(({ item }) => item.className !== "chart");
  const columns = ({ picture }) => Number(picture.dataset.columns ?? 0);
  const tall = others.find(({ picture }) => isTall(picture));
  if (tall) tall.item.className = "tall";
  const wide = others.filter((one) => one !== tall).reduce((best, one) => (columns(one) > columns(best) ? one : best));
  wide.item.className = "wide";
  return tall ? "result-and-tall" : "result";
}

function isTall(picture) {
  const [, , width, height] = (picture.getAttribute("viewBox") ?? "0 0 1 1").split(" ").map(Number);
  return height > 1.6 * width;
}

function plotOf(spec, item, look) {
  const holder = newElement("div");
  new Plot(holder).paint(spec, item, { ...look, live: false, past: true });
  return holder;
}

function listing(lines) {
  const shown = lines.filter((line) => line.trim()).slice(-MOST_LINES);
  const paper = newElement("div", undefined, shown.length % 2 === 0 ? "album-lines even" : "album-lines");
  paper.dataset.columns = String(Math.max(...shown.map((line) => line.length), 8));
  paper.style.setProperty("--columns", paper.dataset.columns);
  paper.append(...shown.map((line) => newElement("span", line)));
  return paper;
}

function dayText(wall, locale) {
  if (!wall) return "";
  const date = new Date(`${wall.slice(0, 10)}T00:00:00Z`);
  return new Intl.DateTimeFormat(locale, { weekday: "long", day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(date);
}
