// How long each line on the console is, for the drawn screen and the drawn paper. Takes what the console takes.

export class ScreenLines {
  constructor() {
    this.clear();
  }

  clear() {
    this.rows = new Map();
    this.first = 0;
  }

  take(changed) {
    for (const [number, runs] of Object.entries(changed.rows ?? {})) {
      this.rows.set(Number(number), extent(runs.map(([text, looks]) => (looks.includes("concealed") ? " ".repeat(text.length) : text)).join("")));
    }
    if (changed.first_row !== undefined) {
      this.first = changed.first_row;
      for (const number of this.rows.keys()) if (number < this.first) this.rows.delete(number);
    }
  }

  // [row, from, to] of each line with anything on it: the whole screen, or the last `rows` of a paper.
  lines({ kind, rows }) {
    const numbers = [...this.rows.keys()];
    const from = kind === "paper" ? Math.max(0, Math.max(0, ...numbers) - rows + 1) : this.first;
    return numbers.filter((one) => one >= from && this.rows.get(one)).sort((a, b) => a - b).map((one) => [one - from, ...this.rows.get(one)]);
  }
}

function extent(text) {
  const end = text.trimEnd().length;
  return end ? [text.length - text.trimStart().length, end] : null;
}
