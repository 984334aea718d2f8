// Beside the row of cabinets: the part that a visitor touched, or otherwise a background card.

import { newElement } from "../shared/dom.js";
import { hoursMinutes, inLanguage, spaced, timeAndOtherDate } from "../shared/words.js";
import { isHeard } from "./story.js";

const NEXT_CARD_AFTER_MS = 45000;
const SHOWN_ELSEWHERE = ["the-machine-itself", "jobs", "the-date"];

function textElement(name, text, className) {
  const element = newElement(name, text, className);
  if (text !== undefined) element.dir = "auto"; // a text may be in another language than the page
  return element;
}

// The paragraphs and figures of a card, as elements; everything is text.
function cardElements(card, tag) {
  const elements = [];
  let list = null;
  const blocks = inLanguage(card.text, tag).split("\n\n").filter(Boolean);
  for (const block of blocks) {
    if (!block.startsWith("- ")) {
      list = null;
      elements.push(textElement("p", block));
      continue;
    }
    if (!list) elements.push((list = textElement("dl", undefined, "card-figures")));
    const colon = block.indexOf(":");
    const row = textElement("div");
    row.append(textElement("dt", block.slice(2, colon).trim()), textElement("dd", block.slice(colon + 1).trim()));
    list.append(row);
  }
  return elements;
}

export function cardNamed(recording, name) {
  return (recording?.cards ?? []).find((card) => card.name === name);
}

// The boxes of all lines of text.
function lineBoxes(holder) {
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
  constructor(holder, onChange) {
    this.holder = holder;
    this.onChange = onChange;
    this.chosen = "";
    this.card = 0;
    this.turnedAt = performance.now();
    this.more = textElement("p", "", "more");
    this.more.setAttribute("aria-hidden", "true"); // a screen reader reads all of the card anyway
    holder.addEventListener("scroll", () => this.showMore(), { passive: true });
    new ResizeObserver(() => this.showMore()).observe(holder);
  }

  // Where a card is longer than its space, a line at the foot says so until its end is in sight.
  showMore() {
    const { holder } = this;
    this.more.hidden = holder.scrollTop + holder.clientHeight >= holder.scrollHeight - 4;
    this.coverHalfALine();
  }

  // Covers a line of which only the upper part is in sight above the foot, since it can't be read.
  coverHalfALine() {
    let cover = 0;
    if (!this.more.hidden) {
      const foot = this.more.getBoundingClientRect().top;
      const cut = lineBoxes(this.holder).filter((one) => one.top < foot && one.bottom > foot + 1);
      cover = Math.max(0, ...cut.map((one) => Math.ceil(foot - one.top)));
    }
    this.more.style.setProperty("--cover", `${cover}px`);
  }

  choose(name) {
    this.chosen = this.chosen === name ? "" : name;
    this.onChange();
  }

  home() {
    if (!this.chosen) return;
    this.chosen = "";
    this.onChange();
  }

  // The cards to show here, in their order: those that describe no part and are not shown elsewhere.
  cards(recording) {
    const parts = recording?.drawn ?? {};
    return (recording?.cards ?? []).filter((card) => !(card.name in parts) && !SHOWN_ELSEWHERE.includes(card.name));
  }

  // Shows one card after another, but only while there is nothing newer to look at.
  tick(calm) {
    const now = performance.now();
    if (!calm) this.turnedAt = now;
    if (this.chosen || now - this.turnedAt < NEXT_CARD_AFTER_MS) return;
    this.next();
  }

  next() {
    this.card += 1;
    this.turnedAt = performance.now();
    this.onChange();
  }

  paint(items, tag, words) {
    const recording = items.recording;
    const cards = this.cards(recording);
    const card = cards.length ? cards[this.card % cards.length] : null;
    const chosen = this.chosen in (recording?.drawn ?? {}) ? this.chosen : "";
    const key = JSON.stringify([chosen, chosen && [items.packs, items.hours, isHeard(items)], card?.name, tag, words.locale, recording?.opened]);
    if (this.holder.dataset.key === key) return;
    this.holder.dataset.key = key;
    this.holder.dataset.shows = chosen ? "part" : card ? "card" : "nothing";
    const hadFocus = this.holder.contains(document.activeElement);
    if (chosen) this.holder.replaceChildren(...this.part(chosen, items, tag, words));
    else if (card) this.holder.replaceChildren(...this.background(card, cards, tag, words));
    else this.holder.replaceChildren(textElement("p", Object.keys(recording?.drawn ?? {}).length ? words.touchAPart : "", "empty"));
    this.more.textContent = words.moreBelow;
    this.holder.append(this.more);
    this.holder.scrollTop = 0;
    this.showMore();
    if (hadFocus) this.holder.querySelector(".card-head button")?.focus();
  }

  button(text, act) {
    const button = textElement("button", text);
    button.type = "button";
    button.addEventListener("click", act);
    return button;
  }

  // The button is at the top, so that it stays in place whatever the length of the text.
  head(kind, title, button) {
    const head = textElement("h3", title);
    head.prepend(textElement("span", kind, "card-kind"), " ");
    const row = textElement("div", undefined, "card-head");
    row.append(head, ...(button ? [button] : []));
    return row;
  }

  part(name, items, tag, words) {
    const { drawn, parts } = items.recording;
    const part = drawn[name];
    const nameOf = (other) => inLanguage(parts[other], tag) || spaced(other);
    const card = cardNamed(items.recording, name);
    const elements = [this.head(words.partHead, nameOf(name), this.button(words.close, () => this.home())), ...(words.states[part.state] ? [textElement("p", words.stateIs(words.states[part.state]), "beside")] : [])];
    const pack = items.packs?.[name];
    if (pack) elements.push(textElement("p", words.packIn(pack.label, pack.may_be_written, hoursMinutes(pack.since))));
    const run = items.hours?.[name];
    if (run) elements.push(textElement("p", words.ran(Math.floor(run.hours), run.since && isHeard(items) && timeAndOtherDate(run.since, items.recording.opened, words)), "beside"));
    if (card) elements.push(...cardElements(card, tag));
    if (part.joins.length) elements.push(textElement("p", words.joined(part.joins.map(nameOf))));
    elements.push(textElement("p", words.size(part.width_cm, part.height_cm), "beside"));
    const source = card ? inLanguage(card.source, tag) : "";
    if (source) elements.push(textElement("p", words.source(source), "card-source"));
    return elements;
  }

  background(card, cards, tag, words) {
    const another = cards.length > 1 ? this.button(words.anotherCard, () => this.next()) : null;
    const source = textElement("p", words.source(inLanguage(card.source, tag)), "card-source");
    return [this.head(words.kinds.background, inLanguage(card.title, tag), another), ...cardElements(card, tag), source];
  }
}
