// Paints pictures of the page without a browser: reads cases as JSON, and prints the words that each one shows.

import { readFileSync } from "node:fs";

class Element {
  constructor() {
    this.children = [];
    this.dataset = {};
    this.style = { setProperty() {} };
    this.classList = { add() {}, remove() {}, toggle() {} };
    this.clientWidth = 0; // nothing is drawn here: what is drawn says the same in words
    this.hidden = false;
    this.text = "";
  }

  get textContent() {
    return this.text + this.children.map((one) => (typeof one === "string" ? one : one.textContent)).join(" ");
  }

  set textContent(text) {
    this.text = text;
    this.children = [];
  }

  append(...parts) {
    this.children.push(...parts);
  }

  replaceChildren(...parts) {
    this.text = "";
    this.children = parts;
  }

  querySelector() {
    return new Element();
  }

  getAttribute() {
    return null;
  }

  setAttribute() {}
  addEventListener() {}
}

let elements = new Map();
globalThis.document = {
  documentElement: new Element(),
  getElementById(id) {
    if (!elements.has(id)) elements.set(id, new Element());
    return elements.get(id);
  },
  createElement: () => new Element(),
  createElementNS: () => new Element(),
};
globalThis.ResizeObserver = class {
  observe() {}
};
globalThis.matchMedia = () => ({ matches: true }); // whoever wants less motion gets whole lines at once
globalThis.setTimeout = () => 0;

const paint = await import("./visitor/paint.js");
const { helpRows } = await import("./visitor/help.js");
const story = await import("./visitor/story.js");
const { Hints } = await import("./visitor/hints.js");
const { sceneOf } = await import("./visitor/scenes.js");
const { Album } = await import("./charts/album.js");
const { DayLine } = await import("./charts/day_line.js");
const { Plot } = await import("./charts/plot.js");
const { StepsLine } = await import("./charts/steps_line.js");
const { Sums } = await import("./charts/sums.js");
const { partNow, stateWords } = await import("./drawing/states.js");
const { told } = await import("./drawing/telling.js");
const { loadWords } = await import("./shared/words.js");
const { words, tag } = await loadWords("en");

function painted({ items, readings, printed_at: printedAt, at, badge, mode, machine, back, now, phone }) {
  elements = new Map();
  document.documentElement.dataset.console = phone ? "hidden" : "shown";
  const past = mode !== "live";
  const speaks = mode === "live" && badge.speaks;
  const caption = speaks ? items.caption : items.seen_caption;
  paint.paintFixed(words, tag, past);
  paint.paintHead(items, words, tag, past);
  paint.paintBadge(badge, words, at, machine, back, { printedAt, atKeyboard: Boolean(items.keyboard), trouble: items.trouble, asked: items.hands_on, waits: items.waits });
  const theirs = machine ?? badge;
  paint.paintMayRun(theirs.may_run ?? [], theirs.since ?? "", words, tag);
  story.paintCaption(caption, items, badge.name, sceneOf(items).name, words, tag);
  story.paintThen(caption, at, words, past || !speaks);
  paint.paintDoing(items, readings ?? {}, printedAt, words, tag, past, machine?.trouble);
  paint.paintPrinted(printedAt, words);
  const help = helpRows(items, { words, tag, ofTheMachine: machine?.trouble });
  document.getElementById("help").textContent = help.map((row) => row.join(" ")).join("\n");
  const id = (name) => document.getElementById(name);
  new Hints(id("hints"), id("hints-head"), id("hints-list"), id("ahead")).paint(items, tag, words, speaks, Date.parse(now ?? at), "");
  if (id("hints").hidden) id("hints-head").hidden = id("hints-list").hidden = true; // they are inside it
  const ofNow = mode === "live" && !badge.closed && !NOBODY_WRITES.has(badge.name);
  const pictures = picturesInWords(items, { tag, words, live: speaks, past, now: at, hollow: past || !ofNow, spoken: caption?.part });
  return [...[...elements.values()].filter((one) => !one.hidden).map((one) => one.textContent), ...pictures].join("\n");
}

const NOBODY_WRITES = new Set(["bridge gone", "bridge not answering", "not started today"]);

// What the pictures show, in words, whatever scene it is: the drawn machine, the charts, the album, the sums and the day.
function picturesInWords(items, look) {
  const { recording, day } = items;
  if (!recording) return [];
  const said = [drawingInWords(items, look)];
  const paintedIn = (made, ...given) => {
    made.holder.hidden = false;
    made.one.paint(...given);
    if (!made.holder.hidden) said.push(made.holder.textContent, made.one.text?.() ?? "");
  };
  const made = (Kind, ...more) => {
    const holder = new Element();
    return { holder, one: new Kind(holder, ...more) };
  };
  for (const [name, plot] of Object.entries(items.plots ?? {})) paintedIn(made(Plot), recording.plots[name], plot, look);
  paintedIn(made(Album, () => null), items.album, recording, look);
  paintedIn(made(Sums), items.sums, recording, look);
  if (day) paintedIn(made(DayLine), day, recording.hours ?? null, look);
  paintedIn(made(StepsLine), items.steps, recording.chapters?.[items.steps?.script] ?? [], look);
  return said;
}

function drawingInWords(items, look) {
  const { recording } = items;
  const load = items.loading && { ...items.loading, part: recording.loads?.[items.loading.load]?.part };
  const lost = items.line?.state === "lost";
  const trouble = sceneOf(items).name === "trouble";
  const parts = Object.entries(recording.drawn ?? {}).map(([name, part]) => {
    const now = partNow(name, part, { ...items, loading: load });
    const printing = (part.openings ?? []).some(({ kind }) => kind === "screen") ? false : null;
        const state = stateWords(now, part, { ...look, trouble: trouble && look.spoken === name, printing, lost, waking: sceneOf(items).name === "waking" });
    return [name, { name: recording.parts[name]?.en ?? name, state, now }];
  });
  return parts.length ? told(new Map(parts), items, recording, look) : "";
}

console.log(JSON.stringify(JSON.parse(readFileSync(0, "utf-8")).map(painted)));
