// The figures that the machine gives, and those of the machine itself, in tables.

import { $, made, refill, show } from "../shared/dom.js";
import { itselfRows } from "./now.js";
import { plain, second } from "../shared/words.js";

export function paintItself(recording, words, tag) {
  const { rows, source } = itselfRows(recording, words, tag);
  show($("itself"), rows.length > 0);
  refill($("itself-sheet"), [rows, source, words.locale], () => {
    const list = made("dl", undefined, "card-figures");
    for (const [name, value] of rows) {
      const row = made("div");
      row.append(made("dt", name), made("dd", value));
      list.append(row);
    }
    return source ? [list, made("p", words.source(source), "card-source")] : [list];
  });
}

export function paintFigures(readings, words) {
  refill($("figures-sheet"), [readings, words.locale], () => {
    const displays = Object.entries(readings).filter(([, taken]) => Object.keys(taken).length);
    if (!displays.length) return [made("p", words.noFigures, "empty")];
    return displays.flatMap(([display, taken]) => tables(display, taken, words));
  });
}

function tables(display, taken, words) {
  const latest = Object.values(taken).map((one) => one.at).sort().at(-1);
  const singles = Object.entries(taken).filter(([, one]) => one.table === undefined);
  const lists = Object.entries(taken).filter(([, one]) => one.table !== undefined);
  const parts = [];
  parts.push(made("p", words.asOf(plain(display), second(latest)), "as-of"));
  if (singles.length) {
    const list = made("dl", undefined, "values");
    for (const [name, one] of singles) {
      const pair = made("div");
      pair.append(made("dt", plain(name)), made("dd", String(one.value)));
      list.append(pair);
    }
    parts.push(list);
  }
  for (const [name, one] of lists) parts.push(listing(name, one.table, words));
  return parts;
}

function listing(name, rows, words) {
  const table = made("table", undefined, "listing");
  table.append(made("caption", rows.length ? plain(name) : `${plain(name)}: ${words.noRows}`));
  if (!rows.length) return table;
  const columns = Object.keys(rows[0]);
  const numeric = columns.map((column) => rows.every((row) => /^-?[\d.]+$/.test(row[column] ?? "")));
  const headRow = made("tr");
  columns.forEach((column, i) => {
    const head = made("th", plain(column), numeric[i] ? "number" : "");
    head.scope = "col";
    headRow.append(head);
  });
  const head = made("thead");
  head.append(headRow);
  const body = made("tbody");
  for (const row of rows) {
    const line = made("tr");
    columns.forEach((column, i) => {
      const cell = made("td", row[column] ?? "", numeric[i] ? "number" : "");
      cell.dataset.column = plain(column);
      line.append(cell);
    });
    body.append(line);
  }
  table.append(head, body);
  return table;
}
