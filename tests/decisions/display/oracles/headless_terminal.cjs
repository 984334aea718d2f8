// Shows streams of bytes on @xterm/headless, an independent terminal, and says what it then shows.
// In and out go one JSON object a line: {"rows", "columns", "streams": [base64, ...]} in, and
// {"screens": [{"rows": [[text, styles], ...], "cursor": [row, column]}, ...]} out.
// styles is a string of one hexadecimal figure pair a cell, in the bits of exhibit's Style.
"use strict";

const readline = require("node:readline");
const { createRequire } = require("node:module");

const { Terminal } = createRequire(process.argv[2] + "/")("@xterm/headless");

function styleOf(cell) {
  return (
    (cell.isBold() ? 1 : 0) |
    (cell.isUnderline() ? 2 : 0) |
    (cell.isInverse() ? 4 : 0) |
    (cell.isBlink() ? 8 : 0) |
    (cell.isInvisible() ? 16 : 0)
  );
}

function shownBy(terminal, rows, columns) {
  const buffer = terminal.buffer.active;
  const shown = [];
  let cell = buffer.getNullCell();
  for (let y = 0; y < rows; y++) {
    const line = buffer.getLine(buffer.baseY + y);
    let text = "";
    let styles = "";
    for (let x = 0; x < columns; x++) {
      cell = line.getCell(x, cell);
      text += cell.getChars() || " ";
      styles += styleOf(cell).toString(16).padStart(2, "0");
    }
    shown.push([text, styles]);
  }
  return { rows: shown, cursor: [buffer.cursorY, buffer.cursorX] };
}

async function show(rows, columns, bytes) {
  // Without lines scrolled away, a saved cursor stays where it was on the screen.
  const terminal = new Terminal({ rows, cols: columns, scrollback: 0, allowProposedApi: true, logLevel: "off" });
  try {
    await new Promise((done) => terminal.write(bytes, done));
    return shownBy(terminal, rows, columns);
  } finally {
    terminal.dispose();
  }
}

async function main() {
  for await (const line of readline.createInterface({ input: process.stdin })) {
    const { rows, columns, streams } = JSON.parse(line);
    const screens = [];
    for (const stream of streams) {
      screens.push(await show(rows, columns, Buffer.from(stream, "base64")));
    }
    process.stdout.write(JSON.stringify({ screens }) + "\n");
  }
}

main();
