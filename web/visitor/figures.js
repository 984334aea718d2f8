// Tables of the figures on the machine's status display, and of the facts about the machine itself.

import { $, newElement, replaceIfChanged, setShown } from "../shared/dom.js";
import { itselfRows } from "./now.js";
import { hoursMinutesSeconds, spaced } from "../shared/words.js";

export function paintItself(recording, words, tag) {
  const { rows, source } = itselfRows(recording, words, tag);
  setShown($("open-itself"), rows.length > 0);
  replaceIfChanged($("itself-sheet"), [rows, source, words.locale], () => {
    const list = newElement("dl", undefined, "card-figures");
    for (const [name, value] of rows) {
      const row = newElement("div");
      row.append(newElement("dt", name), newElement("dd", value));
      list.append(row);
    }
    return source ? [list, newElement("p", words.source(source), "card-source")] : [list];
  });
}

export function paintFigures(readings, words) {
  replaceIfChanged($("figures-sheet"), [readings, words.locale], () => {
    const displays = Object.entries(readings).filter(([, taken]) => Object.keys(taken).length);
    if (!displays.length) return [newElement("p", words.noFigures, "empty")];
    return displays.flatMap(([display, taken]) => tables(display, taken, words));
  });
}

function tables(display, taken, words) {
  const latest = Object.values(taken).map((one) => one.at).sort().at(-1);
  const singles = Object.entries(taken).filter(([, one]) => one.table === undefined);
  const lists = Object.entries(taken).filter(([, one]) => one.table !== undefined);
  const parts = [];
  parts.push(newElement("p", words.asOf(spaced(display), hoursMinutesSeconds(latest)), "as-of"));
  if (singles.length) {
    const list = newElement("dl", undefined, "values");
    for (const [name, one] of singles) {
      const pair = newElement("div");
      pair.append(newElement("dt", spaced(name)), newElement("dd", String(one.value)));
      list.append(pair);
    }
    parts.push(list);
  }
  for (const [name, one] of lists) parts.push(listing(name, one.table, words));
  return parts;
}

function listing(name, rows, words) {
  const table = newElement("table", undefined, "listing");
  table.append(newElement("caption", rows.length ? spaced(name) : `${spaced(name)}: ${words.noRows}`));
  if (!rows.length) return table;
  const columns = Object.keys(rows[0]);
  const numeric = columns.map((column) => rows.every((row) => /^-?[\d.]+$/.test(row[column] ?? "")));
  const headRow = newElement("tr");
  columns.forEach((column, i) => {
    const head = newElement("th", spaced(column), numeric[i] ? "number" : "");
    head.scope = "col";
    headRow.append(head);
  });
  const head = newElement("thead");
  head.append(headRow);
  const body = newElement("tbody");
  for (const row of rows) {
    const line = newElement("tr");
    columns.forEach((column, i) => {
      const cell = newElement("td", row[column] ?? "", numeric[i] ? "number" : "");
      cell.dataset.column = spaced(column);
      line.append(cell);
    });
    body.append(line);
  }
  table.append(head, body);
  return table;
}
