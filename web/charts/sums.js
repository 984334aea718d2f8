// What the machine did today, as a ruled table with large figures.

import { newElement, replaceIfChanged, setShown } from "../shared/dom.js";
import { hoursMinutes, inLanguage } from "../shared/words.js";

export class Sums {
  #holder;
  #rows = [];

  constructor(holder) {
    this.#holder = holder;
    holder.classList.add("sums");
    this.table = newElement("table");
    holder.replaceChildren(this.table);
  }

  // look.past: the day is that of a recording.
  paint(sums, recording, look) {
    const words = look.words.charts;
    this.#rows = sums ? rowsOf(sums, recording, words, look) : [];
    this.head = look.past ? words.thatDay : words.today;
    setShown(this.#holder, this.#rows.length > 0);
    replaceIfChanged(this.table, [this.head, this.#rows], () => [newElement("caption", this.head), ...this.#rows.map(([figure, name, known]) => {
      const row = newElement("tr");
      const head = newElement("th", name);
      head.scope = "row";
      row.append(newElement("td", figure, known ? undefined : "unknown"), head);
      return row;
    })]);
  }

  text() {
    return this.#rows.length ? [this.head, ...this.#rows.map(([figure, name]) => `${figure} ${name}`)].join("\n") : "";
  }
}

// [figure, name, known] for each sum. What this machine never counts is left out; what isn't known now says so.
function rowsOf(sums, recording, words, look) {
  const rows = [];
  const add = (n, name, at) => rows.push([n.toLocaleString(look.words.locale), name(n, at), true]);
  if (Number.isFinite(sums.rounds)) add(sums.rounds, words.sumRounds);
  for (const [name, n] of Object.entries(sums.plots ?? {})) {
    const spec = recording?.plots?.[name];
    if (spec) add(n, () => words.sumPrinted(inLanguage(spec.title, look.tag), n));
  }
  for (const [name, counted] of [["transfers", recording?.now?.transfers], ["errors", recording?.now?.errors]]) {
    const at = sums[`${name}_at`];
    if (Number.isFinite(sums[name])) add(sums[name], words.sumOf[name], at ? hoursMinutes(at) : "");
    else if (counted?.length) rows.push([words.unknown, words.sumOf[name](0), false]);
  }
  return rows;
}
