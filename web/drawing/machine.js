// The machine, drawn and living by facts alone. A still drawing in ink lies in one layer; over it each opening and each
// row of ticks lies in a small layer of its own. Give its holder a height and it fits both ways; without one it takes
// what height it needs.

import { newElement } from "../shared/dom.js";
import { inLanguage, spaced } from "../shared/words.js";
import { LEAST_PX, LEAST_SIZE, NAME_SIZE, cables, layout as placeAll } from "./layout.js";
import { livingIn } from "./living.js";
import { Names, measurer, planNames } from "./names.js";
import { Overlay } from "./overlay.js";
import { Pictures } from "./pictures.js";
import { ScreenLines } from "./screen_lines.js";
import { partNow, possibleWords, scaleOf, stateWords, unheard } from "./states.js";
import { drawStill, fillMuseums, weigh } from "./still.js";
import { told } from "./telling.js";
import { Ticker } from "./ticker.js";
import { ConsoleTrack, UseTrack } from "./track.js";

const SCREEN_EVERY_MS = 400; // a place on the drawn screen changes at most twice and a half a second
const CONSOLE_KINDS = ["screen", "paper"];

export class Machine {
  constructor(holder, choose) {
    this.holder = holder;
    this.choose = choose;
    this.root = newElement("div", undefined, "machine");
    this.root.dir = "ltr";
    this.root.setAttribute("role", "group");
    holder.append(this.root);
    this.ticker = new Ticker();
    this.pictures = new Pictures(() => this.drawAgain());
    this.lines = new ScreenLines();
    this.built = null;
    this.printing = false;
    this.still = matchMedia("(prefers-reduced-motion: reduce)");
    this.still.addEventListener("change", () => this.paintAgain());
    new ResizeObserver(() => {
      if (String(this.sizeOfHolder()) !== String(this.sizes)) this.drawAgain();
    }).observe(holder);
    document.fonts.addEventListener("loadingdone", () => this.drawAgain()); // names have other widths than before
  }

  // `recording`, `items`: the page's picture. `look`: {tag, words, spoken, trouble, size, live, past, chosen}, and `alone`
  // where the page itself hears nothing any more.
  paint(recording, heard, look) {
    const items = look.alone && !look.past ? unheard(heard) : heard;
    this.last = { recording, items, look };
    const { tag, words, size, past } = look;
    if (this.drawn?.recording !== recording || [tag, words.locale, size, past].some((one, i) => one !== this.drawn.by[i])) {
      this.drawn = { recording, by: [tag, words.locale, size, past] };
      this.sizes = this.sizeOfHolder();
      this.build(recording, look, this.sizes);
    }
    if (this.built) this.paintStates();
  }

  paintAgain() {
    if (this.last) this.paint(this.last.recording, this.last.items, this.last.look);
  }

  drawAgain() {
    this.drawn = null;
    this.paintAgain();
  }

  // How wide the holder is, and how high if it has a height of its own whatever is in it.
  sizeOfHolder() {
    this.root.style.display = "none";
    const { paddingLeft, paddingRight, paddingTop, paddingBottom, minHeight } = getComputedStyle(this.holder);
    const { clientWidth, clientHeight } = this.holder;
    this.root.style.display = "";
    const high = clientHeight > (parseFloat(minHeight) || 0) + 1 ? clientHeight - parseFloat(paddingTop) - parseFloat(paddingBottom) : 0;
    return [clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight), high < 40 ? 0 : high];
  }

  // ---- building

  build(recording, look, [widthPx, heightPx]) {
    this.end();
    const drawn = recording?.drawn ?? {};
    if (!Object.keys(drawn).length || !(widthPx >= 40)) return;
    const nameOf = (part) => inLanguage(recording.parts?.[part.name], look.tag) || spaced(part.name);
    const { plan, layout } = this.arrange(drawn, look, widthPx, heightPx, nameOf);
    const ways = cables(layout);
    const still = drawStill(layout, ways, this.pictures);
    this.root.replaceChildren(still.svg);
    weigh(this.root, layout.pxPerCm);
    this.root.style.width = `${layout.width * layout.pxPerCm}px`;
    this.root.style.height = `${layout.height * layout.pxPerCm}px`;
    this.root.style.setProperty("--cm", `${layout.pxPerCm}px`);
    this.root.dataset.written = String(layout.text);
    this.root.setAttribute("aria-label", look.words.row);
    this.built = { layout, still, nameOf, living: [], ways: ways.ways, uses: new Map(), track: null };
    for (const place of layout.places) this.addLiving(place);
    this.addTracks(ways);
    if (layout.text) this.built.names = new Names(layout, plan, this.choose);
    this.built.overlay = new Overlay(layout, still, this.built.names, this.choose, look.words.drawing);
    this.root.append(...(this.built.names ? [this.built.names.holder] : []), ...this.built.overlay.elements);
    this.paintLines();
  }

  arrange(drawn, look, widthPx, heightPx, nameOf) {
    const widthOf = measurer();
    const place = (linesUnder) => placeAll(drawn, { widthPx, heightPx, size: look.size, linesUnder });
    const longest = ({ parts }) => widest(parts.flatMap((part) => possibleWords(part, look.words.drawing, look.past)), widthOf);
    const names = (layout) => planNames(layout.cabinets, nameOf, longest, widthOf, layout.words, Math.min(NAME_SIZE, Math.max(LEAST_SIZE, LEAST_PX / layout.pxPerCm)));
    let layout = place(2);
    let plan = names(layout);
    if (layout.text && plan.lines > 2) {
      layout = place(plan.lines);
      plan = names(layout);
    }
    return { plan, layout };
  }

  addLiving(place) {
    const { layout, still, living } = this.built;
    const made = still.parts.get(place.name);
    if (made.copy) made.windows = fillMuseums(made, place, this.root, layout.pxPerCm);
    for (const opening of made.windows) {
      const one = livingIn(opening, { x: place.x + opening.x, y: place.y + opening.y }, layout.pxPerCm);
      if (!one) continue;
      this.root.append(one.holder);
      living.push({ name: place.name, part: place, opening, one });
    }
  }

  addTracks({ ways }) {
    const { layout } = this.built;
    const typed = ways.find((way) => way.kind === "console");
    if (typed) {
      const track = new ConsoleTrack(layout, typed, this.ticker, this.last.look.words.drawing, (printing) => this.setPrinting(printing));
      this.built.track = track;
      this.root.append(track.holder, track.word);
    }
    for (const way of ways.filter((one) => one.kind === "disc")) {
      const uses = new UseTrack(layout, way, this.ticker);
      this.built.uses.set(way.to, uses);
      this.root.append(uses.holder);
    }
  }

  end() {
    if (!this.built) return;
    for (const { one } of this.built.living) one.end?.(this.ticker);
    this.built.track?.clear();
    for (const uses of this.built.uses.values()) this.ticker.set(uses, false);
    this.built = null;
    this.root.replaceChildren();
  }

  // ---- what is so now

  paintStates() {
    const { recording, items, look } = this.last;
    const mayMove = look.live && !this.still.matches && !document.documentElement.hasAttribute("data-still");
    const { parts, tested, share, transfers, jobs, loading, line } = items;
    const key = JSON.stringify([parts, tested, share, transfers, jobs, loading, line?.state, look.spoken, look.chosen, look.trouble, look.live, mayMove, this.printing]);
    if (key === this.built.key) return;
    this.built.key = key;
    const { layout, still, names, overlay, nameOf, track, uses } = this.built;
    const moves = mayMove;
    const lost = items.line?.state === "lost";
    const shared = { moves, live: look.live, text: layout.text, written: layout.text, scale: scaleOf(items.transfers), ticker: this.ticker };
    this.root.classList.toggle("live", look.live);
    this.root.classList.toggle("trouble", Boolean(look.trouble));
    const loadedFrom = items.loading ? recording.loads?.[items.loading.load]?.from_part : "";
    const said = new Map();
    for (const place of layout.places) {
      const now = this.nowOf(place);
      const printing = this.isConsole(place) ? this.printing : null;
      const spoken = place.name === look.spoken;
      const state = stateWords(now, place, { words: look.words, live: look.live, past: look.past, trouble: spoken && look.trouble, printing, lost, waking: look.size === "row" });
      said.set(place.name, { name: nameOf(place), state, now: { ...now, asked: Boolean(state.asked) && layout.text } });
      const { group } = still.parts.get(place.name);
      group.classList.toggle("runs", now.state === "runs");
      group.classList.toggle("spoken", spoken);
      if (now.state === "runs") group.dataset.fact = now.seq;
      else delete group.dataset.fact;
      uses.get(place.name)?.paint(now, { ...shared, load: loadedFrom === place.name ? items.loading : null });
    }
    for (const { name, one } of this.built.living) one.paint(said.get(name).now, shared);
    for (const cable of still.cables.children) cable.classList.toggle("is-cut", lost && cable.classList.contains("console"));
    if (lost) track?.clear();
    track?.paint(shared);
    names?.paint(said, look);
    overlay.paint(said, recording, items, { ...look, printing: this.printing }, shared.scale);
    this.said = said;
  }

  nowOf(place) {
    const { recording, items } = this.last;
    const load = items.loading && { ...items.loading, part: recording.loads?.[items.loading.load]?.part };
    return partNow(place.name, place, { ...items, loading: load });
  }

  isConsole(place) {
    return this.built.still.parts.get(place.name).windows.some((one) => CONSOLE_KINDS.includes(one.kind));
  }

  setPrinting(printing) {
    if (printing === this.printing) return;
    this.printing = printing;
    if (this.built) queueMicrotask(() => this.paintAgain());
  }

  // Pieces that went along the console's cable, as the batch tells them.
  take(cable) {
    if (!this.last?.look.live || !this.built?.track || this.last.items.line?.state === "lost") return;
    this.built.track.take(cable);
  }

  // The console's changed rows, as the batch tells them; null when all of it is to be forgotten.
  takeConsole(changed) {
    if (changed === null) this.lines.clear();
    else this.lines.take(changed);
    if (this.linesTimer) return;
    this.paintLines();
    this.linesTimer = setTimeout(() => {
      this.linesTimer = 0;
      this.paintLines();
    }, SCREEN_EVERY_MS);
  }

  paintLines() {
    const display = this.last?.recording?.display;
    if (!this.built || !display) return;
    for (const { one } of this.built.living) one.paintLines?.(this.lines.lines(display), display);
  }

  // The drawing in words, as true as it is.
  text() {
    if (!this.built || !this.said) return "";
    return told(this.said, this.last.items, this.last.recording, this.last.look);
  }

  // Where a part's front is in the window, for a line that leads to it; null if it isn't drawn.
  partBox(part) {
    return this.built?.still.parts.get(part)?.group.querySelector(".outline")?.getBoundingClientRect() ?? null;
  }
}

const widest = (texts, widthOf) => texts.reduce((longest, one) => (widthOf(one, 10) > widthOf(longest, 10) ? one : longest), "");
