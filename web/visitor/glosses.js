// A few words beside lines of the console that are known: lightly, and only where such a line stands now.

import { made, squeezed } from "../shared/dom.js";
import { told } from "../shared/words.js";

const GAP = 2; // characters between a line and its gloss
const CURSOR = 1; // more, for where a prompt stands

// For each of them the lowest row that holds the line: [row, gloss, the row it is written on, column].
function places(rows, known, glosses, columns, tag) {
  const found = new Map();
  const lines = known.map((one) => ({ ...one, text: one.line.replace(/\s+/g, " ") }));
  rows.forEach((row, index) => {
    const text = squeezed(row);
    if (!text) return;
    const one = lines.findLast(({ text: line }) => text === line || text.startsWith(`${line} `));
    if (one && glosses[one.name]) found.set(one.name, index);
  });
  const placed = [];
  for (const [name, index] of found) {
    const gloss = told(glosses[name], tag);
    const after = rows[index].textContent.trimEnd().length + CURSOR + GAP;
    const needs = gloss.length + GAP;
    if (after + needs <= columns) placed.push([rows[index], gloss, after, 0]);
    else if (rows[index + 1] && !squeezed(rows[index + 1])) placed.push([rows[index], gloss, columns - needs, 1]);
  }
  return placed;
}

export function paintGlosses(holder, items, tag) {
  const glosses = items.recording?.glosses ?? {};
  const rows = [...holder.querySelectorAll(".row")];
  const columns = items.recording?.display?.columns ?? 80;
  const placed = places(rows, items.known ?? [], glosses, columns, tag);
  const wanted = JSON.stringify(placed.map(([row, ...rest]) => [row.dataset.row, ...rest, tag]));
  const there = [...holder.querySelectorAll(".gloss")];
  // The console may have been cleared, or rows put in between, since they were written.
  const stand = there.length === placed.length && there.every((one) => one.previousElementSibling?.dataset.row === one.dataset.of);
  if (holder.dataset.glosses === wanted && stand) return;
  holder.dataset.glosses = wanted;
  for (const one of there) one.remove();
  for (const [row, gloss, column, below] of placed) {
    const element = made("div", gloss, "gloss");
    element.dataset.of = row.dataset.row;
    element.lang = tag;
    element.dir = "auto";
    element.style.setProperty("--column", column);
    element.style.setProperty("--below", below);
    row.after(element);
  }
}
