// Paints pictures of the page without a browser: reads cases as JSON, and prints the words that each one shows.

import { readFileSync } from "node:fs";

class Element {
  constructor() {
    this.children = [];
    this.dataset = {};
    this.style = { setProperty() {} };
    this.classList = { add() {}, remove() {} };
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
  getAttribute() {
    return null;
  }
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

const paint = await import("./visitor/paint.js");
const { helpRows } = await import("./visitor/help.js");
const story = await import("./visitor/story.js");
const { Hints } = await import("./visitor/hints.js");
const { sceneOf } = await import("./visitor/scenes.js");
const { loadWords } = await import("./shared/words.js");
const { words, tag } = await loadWords("en");

function painted({ items, readings, printed_at: printedAt, at, badge, mode, machine, back, now }) {
  elements = new Map();
  const past = mode !== "live";
  const speaks = mode === "live" && badge.speaks;
  const caption = speaks ? items.caption : items.seen_caption;
  paint.paintFixed(words, tag, past);
  paint.paintHead(items, words, tag, past);
  paint.paintBadge(badge, words, at, machine, back, { printedAt });
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
  return [...elements.values()].filter((one) => !one.hidden).map((one) => one.textContent).join("\n");
}

console.log(JSON.stringify(JSON.parse(readFileSync(0, "utf-8")).map(painted)));
