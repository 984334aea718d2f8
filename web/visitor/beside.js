// The part of the machine that a visitor touched: what it is, on a sheet.

import { isConsole } from "../drawing/layout.js";
import { setText } from "../shared/dom.js";
import { hoursMinutes, inLanguage, spaced, timeAndOtherDate } from "../shared/words.js";
import { cardElements, cardNamed, textElement } from "./cards.js";
import { isHeard } from "./story.js";

export class Beside {
  constructor(holder, sheet, onChange) {
    Object.assign(this, { holder, sheet, onChange });
    this.chosen = "";
    sheet.onChange = () => {
      if (!sheet.isOpen) this.forget();
    };
  }

  choose(name) {
    if (this.chosen === name) {
      this.sheet.close();
      return;
    }
    this.chosen = name;
    this.onChange();
    this.sheet.open();
  }

  forget() {
    if (!this.chosen) return;
    this.chosen = "";
    this.onChange();
  }

  // `heard`: whether anything of the machine reaches this page. `noticed`: what should be noticed now beside the part.
  paint(items, tag, words, heard, noticed) {
    const recording = items.recording;
    const chosen = this.chosen in (recording?.drawn ?? {}) ? this.chosen : "";
    const key = JSON.stringify([chosen, chosen && [items.packs, items.hours, heard && isHeard(items), noticed.map((one) => one.textContent)], tag, words.locale, recording?.opened]);
    if (this.holder.dataset.key === key) return;
    this.holder.dataset.key = key;
    this.holder.replaceChildren(...(chosen ? this.part(chosen, items, tag, words, heard && isHeard(items), noticed) : []));
  }

  part(name, items, tag, words, heard, noticed) {
    const { drawn, parts } = items.recording;
    const part = drawn[name];
    const nameOf = (other) => inLanguage(parts[other], tag) || spaced(other);
    const card = cardNamed(items.recording, name);
    setText(this.sheet.head, nameOf(name));
    const elements = [...(words.states[part.state] ? [textElement("p", words.stateIs(words.states[part.state]), "beside")] : [])];
    elements.push(...noticed);
    const pack = items.packs?.[name];
    if (pack) elements.push(textElement("p", words.packIn(pack.label, pack.may_be_written, hoursMinutes(pack.since))));
    const run = items.hours?.[name];
    if (run) elements.push(textElement("p", words.ran(Math.floor(run.hours), run.since && heard && timeAndOtherDate(run.since, items.recording.opened, words)), "beside"));
    if (card) elements.push(...cardElements(card, tag));
    const onCable = part.joins.length ? (part.shape === "drive" ? words.onItsCable.drive : isConsole(part) ? words.onItsCable.console : "") : "";
    if (onCable) elements.push(textElement("p", onCable, "beside"));
    if (part.joins.length) elements.push(textElement("p", words.joined(part.joins.map(nameOf))));
    elements.push(textElement("p", words.size(part.width_cm, part.height_cm), "beside"));
    const source = card ? inLanguage(card.source, tag) : "";
    if (source) elements.push(textElement("p", words.source(source), "card-source"));
    return elements;
  }
}
