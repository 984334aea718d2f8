// Background cards: on the shared screen one at each rest, and all of them on a sheet.

import { newElement, replaceIfChanged, setAttribute } from "../shared/dom.js";
import { inLanguage } from "../shared/words.js";

const MOST_WORDS = 14; // of a card on the shared screen, unless its first sentence has more
const SHOWN_ELSEWHERE = ["the-machine-itself", "jobs", "the-date"];

export function textElement(name, text, className) {
  const element = newElement(name, text, className);
  if (text !== undefined) element.dir = "auto"; // a text may be in another language than the page
  return element;
}

// The paragraphs and figures of a card, as elements; everything is text.
export function cardElements(card, tag) {
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

// The cards in their order: those that describe no part and are not shown elsewhere.
function cardsOf(recording) {
  const parts = recording?.drawn ?? {};
  return (recording?.cards ?? []).filter((card) => !(card.name in parts) && !SHOWN_ELSEWHERE.includes(card.name));
}

export class Cards {
  constructor(holder, sheet) {
    Object.assign(this, { holder, sheet });
    this.at = 0;
    this.restedSince = "";
  }

  // Shows the next card at each rest, and the same one throughout.
  paint(items, tag, words) {
    const { recording, session } = items;
    const cards = cardsOf(recording);
    if (session?.state === "resting" && session.since !== this.restedSince) {
      this.at = this.restedSince ? this.at + 1 : hash(session.since);
      this.restedSince = session.since;
    }
    const card = cards.length ? cards[this.at % cards.length] : null;
    setAttribute(this.holder, "data-shows", card ? "card" : "nothing");
    replaceIfChanged(this.holder, [card?.name, tag, words.locale, recording?.opened], () => (card ? background({ ...card, text: { [tag]: beginning(inLanguage(card.text, tag)) } }, tag, words) : []));
    this.sheet.paint(words.kinds.background, words);
    replaceIfChanged(this.sheet.body, [cards.map((one) => one.name), tag, words.locale, recording?.opened], () => cards.flatMap((one) => background(one, tag, words)));
    return cards.length > 0;
  }
}

// Pages that are opened during the same rest show the same card.
function hash(text) {
  return [...text].reduce((sum, character) => (sum * 31 + character.charCodeAt(0)) % 9973, 7);
}

// The beginning of a card, in whole sentences, for a screen that shows many other things. All of it is on the sheet.
function beginning(text) {
  let left = MOST_WORDS;
  const kept = [];
  for (const block of text.split("\n\n").filter(Boolean)) {
    const sentences = block.startsWith("- ") ? [block] : block.split(/(?<=[.!?]) /);
    const fit = sentences.filter((one) => left > 0 && (left -= one.split(/\s+/).length) >= 0);
    if (fit.length) kept.push(fit.join(" "));
    if (fit.length < sentences.length) break;
  }
  return kept.join("\n\n") || text.split(/(?<=[.!?])\s/)[0];
}

function background(card, tag, words) {
  const head = textElement("h3", inLanguage(card.title, tag));
  head.prepend(textElement("span", words.kinds.background, "card-kind"), " ");
  return [head, ...cardElements(card, tag), textElement("p", words.source(inLanguage(card.source, tag)), "card-source")];
}
