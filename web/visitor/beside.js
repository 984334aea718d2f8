// What stands beside the row of cabinets: a part that was touched, and otherwise a card of background.

import { made } from "../shared/dom.js";
import { minute, moment, plain, told } from "../shared/words.js";

const TURN_MS = 45000;
const ELSEWHERE = ["the-machine-itself", "jobs", "the-date"]; // cards that have a place of their own

function worded(name, text, className) {
  const element = made(name, text, className);
  if (text !== undefined) element.dir = "auto"; // a text may be in another language than the page
  return element;
}

// The paragraphs and figures of a card, as elements; everything is text.
export function written(card, tag) {
  const elements = [];
  let list = null;
  const blocks = told(card.text, tag).split("\n\n").filter(Boolean);
  for (const block of blocks) {
    if (!block.startsWith("- ")) {
      list = null;
      elements.push(worded("p", block));
      continue;
    }
    if (!list) elements.push((list = worded("dl", undefined, "card-figures")));
    const colon = block.indexOf(":");
    const row = worded("div");
    row.append(worded("dt", block.slice(2, colon).trim()), worded("dd", block.slice(colon + 1).trim()));
    list.append(row);
  }
  return elements;
}

export function cardNamed(recording, name) {
  return (recording?.cards ?? []).find((card) => card.name === name);
}

// The boxes of all lines of text.
function lines(holder) {
  const texts = document.createTreeWalker(holder, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  const found = [];
  while (texts.nextNode()) {
    range.selectNodeContents(texts.currentNode);
    found.push(...range.getClientRects());
  }
  return found;
}

export class Beside {
  constructor(holder, changed) {
    this.holder = holder;
    this.changed = changed;
    this.chosen = "";
    this.card = 0;
    this.turnedAt = performance.now();
    this.more = worded("p", "", "more");
    this.more.setAttribute("aria-hidden", "true"); // who hears the page hears all of the card
    holder.addEventListener("scroll", () => this.hint(), { passive: true });
    new ResizeObserver(() => this.hint()).observe(holder);
  }

  // Where a card is longer than its place, its foot says so until its end is in sight.
  hint() {
    const { holder } = this;
    this.more.hidden = holder.scrollTop + holder.clientHeight >= holder.scrollHeight - 4;
    this.coverHalfALine();
  }

  // A line of which only the upper part is in sight above the foot can't be read: it is covered.
  coverHalfALine() {
    let cover = 0;
    if (!this.more.hidden) {
      const foot = this.more.getBoundingClientRect().top;
      const cut = lines(this.holder).filter((one) => one.top < foot && one.bottom > foot + 1);
      cover = Math.max(0, ...cut.map((one) => Math.ceil(foot - one.top)));
    }
    this.more.style.setProperty("--cover", `${cover}px`);
  }

  choose(name) {
    this.chosen = this.chosen === name ? "" : name;
    this.changed();
  }

  home() {
    if (!this.chosen) return;
    this.chosen = "";
    this.changed();
  }

  // The cards that are about no part, nor shown elsewhere, in their order.
  cards(recording) {
    const parts = recording?.drawn ?? {};
    return (recording?.cards ?? []).filter((card) => !(card.name in parts) && !ELSEWHERE.includes(card.name));
  }

  // One card after the other, but only while there is nothing newer to look at.
  tick(calm) {
    const now = performance.now();
    if (!calm) this.turnedAt = now;
    if (this.chosen || now - this.turnedAt < TURN_MS) return;
    this.next();
  }

  next() {
    this.card += 1;
    this.turnedAt = performance.now();
    this.changed();
  }

  paint(items, tag, words) {
    const recording = items.recording;
    const cards = this.cards(recording);
    const card = cards.length ? cards[this.card % cards.length] : null;
    const chosen = this.chosen in (recording?.drawn ?? {}) ? this.chosen : "";
    const key = JSON.stringify([chosen, chosen && [items.packs, items.hours], card?.name, tag, words.locale, recording?.opened]);
    if (this.holder.dataset.key === key) return;
    this.holder.dataset.key = key;
    this.holder.dataset.shows = chosen ? "part" : card ? "card" : "nothing";
    const kept = this.holder.contains(document.activeElement);
    if (chosen) this.holder.replaceChildren(...this.part(chosen, items, tag, words));
    else if (card) this.holder.replaceChildren(...this.background(card, cards, tag, words));
    else this.holder.replaceChildren(worded("p", Object.keys(recording?.drawn ?? {}).length ? words.touchAPart : "", "empty"));
    this.more.textContent = words.moreBelow;
    this.holder.append(this.more);
    this.holder.scrollTop = 0;
    this.hint();
    if (kept) this.holder.querySelector(".card-head button")?.focus();
  }

  button(text, act) {
    const button = worded("button", text);
    button.type = "button";
    button.addEventListener("click", act);
    return button;
  }

  // The button stands at the top, where it stays whatever the length of the text.
  head(kind, title, button) {
    const head = worded("h3", title);
    head.prepend(worded("span", kind, "card-kind"), " ");
    const row = worded("div", undefined, "card-head");
    row.append(head, ...(button ? [button] : []));
    return row;
  }

  part(name, items, tag, words) {
    const { drawn, parts } = items.recording;
    const part = drawn[name];
    const nameOf = (other) => told(parts[other], tag) || plain(other);
    const card = cardNamed(items.recording, name);
    const elements = [this.head(words.partHead, nameOf(name), this.button(words.putAway, () => this.home())), worded("p", words.stateIs(words.states[part.state]), "beside")];
    const pack = items.packs?.[name];
    if (pack) elements.push(worded("p", words.packIn(pack.label, pack.may_be_written, minute(pack.since))));
    const run = items.hours?.[name];
    if (run) elements.push(worded("p", words.ran(Math.floor(run.hours), run.since && moment(run.since, items.recording.opened, words)), "beside"));
    if (card) elements.push(...written(card, tag));
    if (part.joins.length) elements.push(worded("p", words.joined(part.joins.map(nameOf))));
    elements.push(worded("p", words.size(part.width_cm, part.height_cm), "beside"));
    const source = card ? told(card.source, tag) : "";
    if (source) elements.push(worded("p", words.source(source), "card-source"));
    return elements;
  }

  background(card, cards, tag, words) {
    const another = cards.length > 1 ? this.button(words.anotherCard, () => this.next()) : null;
    const source = worded("p", words.source(told(card.source, tag)), "card-source");
    return [this.head(words.kinds.background, told(card.title, tag), another), ...written(card, tag), source];
  }
}
