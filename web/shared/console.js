// The console as rows of real text. Only the rows that changed are replaced.

import { collapsedText } from "./dom.js";

const LINES_KEPT = 200;
const FEWEST_COLUMNS = 66; // where fewer have been needed
const IN_OUR_TYPEFACE = /^[\u0020-\u024f]*$/;

export class Console {
  constructor(rows, cursor, sheet, earlier) {
    this.earlier = earlier;
    this.rows = rows;
    this.cursor = cursor;
    this.sheet = sheet;
    this.byNumber = new Map();
    this.follows = false;
    this.fromTop = false;
    this.first = 0;
    this.shownColumns = FEWEST_COLUMNS;
    this.foldedAbove = 0; // rows above the cursor
    this.grew = true;
    new ResizeObserver(() => {
      this.grew = true;
      this.follow();
    }).observe(sheet);
  }

  clear() {
    this.grew = true;
    this.rows.replaceChildren();
    this.earlier.replaceChildren();
    this.byNumber.clear();
    this.cursor.hidden = true;
    this.first = 0;
    this.shownColumns = FEWEST_COLUMNS;
    this.sheet.style.setProperty("--shown-columns", FEWEST_COLUMNS);
  }

  size({ kind, columns }) {
    this.sheet.dataset.kind = kind;
    this.sheet.style.setProperty("--columns", columns);
  }

  take(changed) {
    const rows = Object.entries(changed.rows ?? {});
    // Where the sheet is scrolled to is asked only when rows come: the answer costs a layout of the page.
    const more = rows.some(([number]) => !this.byNumber.has(Number(number)));
    const atEnd = more && !this.follows && this.sheet.scrollHeight - this.sheet.scrollTop - this.sheet.clientHeight < 40;
    for (const [number, runs] of rows) fill(this.row(Number(number)), runs);
    if (changed.first_row !== undefined) this.dropBefore(changed.first_row, changed.sheet_starts);
    if (changed.printed) this.print(changed.printed);
    if (changed.cursor) this.place(...changed.cursor);
    this.measure();
    if (this.follows) this.follow();
    else if (atEnd) this.sheet.scrollTop = this.sheet.scrollHeight;
  }

  // Keeps the last lines in sight, or a status display from its top, on a screen on which nobody scrolls.
  follow(follows = this.follows, fromTop = this.fromTop) {
    const same = follows === this.follows && fromTop === this.fromTop && !this.grew;
    Object.assign(this, { follows, fromTop });
    if (same) return;
    this.grew = false;
    if (follows) this.sheet.scrollTop = fromTop ? 0 : this.sheet.scrollHeight;
  }

  // Keeps the newest line in sight until somebody scrolls back, and again once they have come to the end.
  followWhileAtEnd() {
    this.sheet.addEventListener("scroll", () => {
      this.follow(this.sheet.scrollHeight - this.sheet.scrollTop - this.sheet.clientHeight < 40);
    }, { passive: true });
    this.follow(true);
  }

  // Marks the rows below the last that has anything on it, and keeps how many columns have been needed so far: where a
  // page has little room, it shows no more than that. The number only grows, so that nothing is laid out anew.
  measure() {
    const rows = [...this.rows.children].filter((one) => one.dataset.row !== undefined);
    const last = rows.findLastIndex((one) => one.textContent.trim() !== "" || one.dataset.row === this.cursorRow);
    rows.forEach((row, index) => {
      if (row.classList.contains("later") === index > last) return;
      row.classList.toggle("later", index > last);
      this.grew = true;
    });
    const longest = Math.max(0, ...rows.map((row) => row.textContent.trimEnd().length));
    if (longest <= this.shownColumns) return;
    this.shownColumns = longest;
    this.sheet.style.setProperty("--shown-columns", longest);
  }

  // Folds each line that the machine showed again with its first showing: of the two, the second stays. Both are still
  // there for whoever looks for them among the lines printed earlier.
  fold(again) {
    const pairs = again.map(({ first, line }) => [first, line].map((text) => text.replace(/\s+/g, " ").trim()));
    const rows = [...this.byNumber.entries()].sort(([a], [b]) => a - b).map(([, row]) => row);
    const texts = rows.map(collapsedText);
    let above = 0;
    rows.forEach((row, index) => {
      const folded = pairs.some(([first, line]) => texts[index] === first && texts[index + 1]?.startsWith(line));
      if (folded && Number(row.dataset.row) < Number(this.cursorRow)) above += 1;
      if (row.classList.contains("folded") === folded) return;
      row.classList.toggle("folded", folded);
      this.grew = true;
    });
    if (above === this.foldedAbove) return;
    this.foldedAbove = above;
    this.cursor.style.setProperty("--folded", above);
  }

  // Keeps the whole lines that were printed, for scrolling back: a screen holds only its last rows.
  print(lines) {
    const atEnd = this.earlier.scrollHeight - this.earlier.scrollTop - this.earlier.clientHeight < 40;
    for (const [number, text] of lines) {
      const line = document.createElement("li");
      line.value = number;
      line.textContent = text;
      this.earlier.append(line);
    }
    while (this.earlier.childElementCount > LINES_KEPT) this.earlier.firstElementChild.remove();
    if (atEnd) this.earlier.scrollTop = this.earlier.scrollHeight;
  }

  isShown() {
    return this.rows.childElementCount > 0 && this.sheet.getClientRects().length > 0;
  }

  // Finds the element of the line that a ground names: on the display, or among the lines printed earlier.
  find({ number, row, line }) {
    if (row) {
      const there = this.byNumber.get(row - 1);
      return there && collapsedText(there) === line ? { where: "screen", element: there } : null;
    }
    if (!number) return null;
    const printed = [...this.earlier.children];
    const begins = (text) => text === line || text.startsWith(`${line} `);
    // The same line may appear several times: count the ones printed later, which are below the one meant.
    let since = printed.filter((one) => one.value > number && begins(collapsedText(one))).length;
    const rows = [...this.byNumber.entries()].sort(([a], [b]) => b - a).map(([, element]) => element);
    const last = printed.at(-1)?.value ?? 0;
    if (number <= last && rows.some((one) => one.dataset.row === this.cursorRow && begins(collapsedText(one)))) since += 1;
    for (const element of rows) {
      if (element.classList.contains("folded")) continue;
      if (!begins(collapsedText(element))) continue;
      if (since === 0) return { where: "screen", element };
      since -= 1;
    }
    const before = printed.find((one) => one.value === number && begins(collapsedText(one)));
    return before ? { where: "earlier", element: before } : null;
  }

  mark({ element }) {
    this.marked = true;
    element.classList.add("pointed-at");
  }

  unmark() {
    if (!this.marked) return;
    this.marked = false;
    for (const list of [this.rows, this.earlier]) {
      for (const one of list.querySelectorAll(".pointed-at")) {
        one.classList.remove("pointed-at");
        one.removeAttribute("tabindex");
      }
    }
  }

  bringIntoSight({ element }, focus = false) {
    element.scrollIntoView({ block: "nearest", inline: "nearest" });
    if (!focus) return;
    element.tabIndex = -1;
    element.focus({ preventScroll: true });
  }

  row(number) {
    const known = this.byNumber.get(number);
    if (known) return known;
    const added = document.createElement("div");
    added.className = "row";
    added.dataset.row = number;
    const later = [...this.rows.children].find((row) => Number(row.dataset.row) > number);
    this.rows.insertBefore(added, later ?? null);
    this.grew = true;
    this.byNumber.set(number, added);
    return added;
  }

  dropBefore(first, sheetStarts) {
    for (const [number, row] of this.byNumber) {
      if (number < first) {
        row.remove();
        this.byNumber.delete(number);
        this.grew = true;
      } else {
        row.classList.toggle("sheet-start", sheetStarts.includes(number));
      }
    }
    this.first = first;
  }

  place(row, column, visible) {
    this.cursorRow = String(row);
    this.cursor.hidden = !visible;
    this.cursor.style.setProperty("--row", row - this.first);
    this.cursor.style.setProperty("--column", column);
  }
}

// Puts runs into a row. Plain text, which most rows are, replaces the text that is there.
function fill(row, runs) {
  const nodes = runs.flatMap(pieces);
  const [only, there] = [nodes[0], row.firstChild];
  const plain = nodes.length === 1 && row.childNodes.length === 1 && only.nodeType === Node.TEXT_NODE && there.nodeType === Node.TEXT_NODE;
  if (!plain) row.replaceChildren(...nodes);
  else if (there.data !== only.data) there.data = only.data;
}

// The nodes of one run: bare text where it has no style, and a cell for each character that our typeface lacks.
function pieces([text, looks, struck]) {
  const shown = looks.includes("concealed") ? " ".repeat(text.length) : text;
  if (!looks && IN_OUR_TYPEFACE.test(shown)) return [document.createTextNode(shown)];
  const span = document.createElement("span");
  if (looks) span.className = looks;
  if (struck) span.dataset.struck = struck.slice(0, -1);
  if (IN_OUR_TYPEFACE.test(shown)) span.textContent = shown;
  else {
    for (const character of shown) {
      const cell = document.createElement("span");
      cell.className = "cell";
      cell.textContent = character;
      span.append(cell);
    }
  }
  return [span];
}
