// A few light words beside the console's lines that have a gloss, only where such a line is showing now.

import { collapsedText, newElement } from "../shared/dom.js";
import { inLanguage } from "../shared/words.js";

// A shared screen shows no more columns than the machine has used, and nobody scrolls it: what has no room there beside
// its line is left out. A status display stands as it is.
const GAP = 2; // characters between a line and its gloss
const COLUMN_EM = 0.632; // the width of a character of the console’s face
const CURSOR = 1; // one more, for the cursor after a prompt

// For each gloss, the lowest row that holds its line: [row, gloss, column, 1 if the gloss goes on the row below].
function placeGlosses(rows, known, glosses, columns, tag) {
  const found = new Map();
  const lines = known.map((one) => ({ ...one, text: one.line.replace(/\s+/g, " ") }));
  rows.forEach((row, index) => {
    const text = collapsedText(row);
    if (!text) return;
    const one = lines.findLast(({ text: line }) => text === line || text.startsWith(`${line} `));
    if (one && glosses[one.name]) found.set(one.name, index);
  });
  const placed = [];
  for (const [name, index] of found) {
    const gloss = inLanguage(glosses[name], tag);
    const after = rows[index].textContent.trimEnd().length + CURSOR + GAP;
    const needs = gloss.length + GAP;
    if (after + needs <= columns) placed.push([rows[index], gloss, after, 0]);
    else if (rows[index + 1] && !collapsedText(rows[index + 1])) placed.push([rows[index], gloss, columns - needs, 1]);
  }
  return placed;
}

// Of the lines that were shown again, those that are told why: [row, words, column, 1 if they go on the row below].
function placeToldAgain(rows, again, told, columns) {
  const placed = [];
  for (const { line } of again.filter((one) => one.told)) {
    const text = line.replace(/\s+/g, " ").trim();
    const index = rows.findLastIndex((row, at) => collapsedText(row).startsWith(text) && rows[at - 1]?.classList.contains("folded"));
    if (index < 0) continue;
    const after = rows[index].textContent.trimEnd().length + CURSOR + GAP;
    if (after + told.length + GAP <= columns) placed.push([rows[index], told, after, 0]);
    else if (rows[index + 1] && !collapsedText(rows[index + 1])) placed.push([rows[index], told, Math.max(0, columns - told.length - GAP), 1]);
  }
  return placed;
}

function columnsInSight(holder) {
  const sheet = holder.parentElement;
  const { paddingLeft, paddingRight, fontSize } = getComputedStyle(sheet);
  const width = sheet.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight);
  return Math.floor(width / (parseFloat(fontSize) * COLUMN_EM));
}

export function paintGlosses(holder, items, tag, words) {
  const glosses = items.recording?.glosses ?? {};
  const rows = [...holder.querySelectorAll(".row")];
  const composed = Boolean(document.documentElement.dataset.screen);
  const columns = composed ? columnsInSight(holder) : items.recording?.display?.columns ?? 80;
  const told = placeToldAgain(rows, items.shown_again ?? [], words.shownAgain, columns);
  const others = placeGlosses(rows, items.known ?? [], glosses, columns, tag).filter(([row]) => !told.some(([one]) => one === row));
  const placed = [...others, ...told].filter(([, , , below]) => !composed || (!items.standing && !below));
  const wanted = JSON.stringify(placed.map(([row, ...rest]) => [row.dataset.row, ...rest, tag]));
  const there = [...holder.querySelectorAll(".gloss")];
  // The console may have been cleared, or rows inserted, since the glosses were added.
  const inPlace = there.length === placed.length && there.every((one) => one.previousElementSibling?.dataset.row === one.dataset.of);
  if (holder.dataset.glosses === wanted && inPlace) return;
  holder.dataset.glosses = wanted;
  for (const one of there) one.remove();
  for (const [row, gloss, column, below] of placed) {
    const element = newElement("div", gloss, "gloss");
    element.dataset.of = row.dataset.row;
    element.lang = tag;
    element.dir = "auto";
    element.style.setProperty("--column", column);
    element.style.setProperty("--below", below);
    row.after(element);
  }
}
