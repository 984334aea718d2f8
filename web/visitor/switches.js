// Something to try: switches like those on the machine's front, to be set to its start address. They exist only on
// this page. This module sends nothing, and knows nobody to send it to.

const STEP_MS = 450; // about two changes a second: below the three flashes a second of WCAG 2.2, 2.3.1
const STEPS = 14;

function newElement(name, attributes = {}, text) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text !== undefined) element.textContent = text;
  return element;
}

export class Switches {
  constructor(holder, sheet) {
    Object.assign(this, { holder, sheet });
    this.key = "";
    this.up = [];
    this.timer = 0;
    sheet.onChange = () => this.rest();
  }

  home() {
    this.up = this.up.map(() => false);
    if (this.toggles) this.showPositions();
  }

  paint(switches, words) {
    const key = JSON.stringify([switches, words.locale]);
    if (key === this.key) return;
    this.key = key;
    this.count = switches?.count ?? 0;
    this.words = words;
    if (!this.count) return;
    this.group = switches.group;
    this.start = switches.start;
    this.binary = switches.base === "binary";
    if (this.up.length !== this.count) this.up = new Array(this.count).fill(false);
    this.build();
    this.showPositions();
  }

  build() {
    const { words } = this;
    this.toggles = [];
    this.lamps = [];
    this.digits = [];
    const board = newElement("div", { class: "switch-board" });
    const first = this.count % this.group || this.group;
    for (let at = 0, size = first; at < this.count; at += size, size = this.group) {
      const group = newElement("div", { class: "switch-group", role: "group", "aria-label": words.switchGroup(this.digits.length + 1) });
      const row = newElement("div", { class: "switch-row" });
      for (let i = at; i < at + size; i++) row.append(this.column(i, 2 ** (at + size - 1 - i)));
      const digit = newElement("output", { class: "switch-digit" });
      this.digits.push({ digit, at, size });
      group.append(row, digit);
      board.append(group);
    }
    this.answer = newElement("p", { id: "switches-answer", role: "status" });
    const start = newElement("button", { type: "button", class: "start" }, words.pressStart);
    start.addEventListener("click", () => this.press());
    const buttons = newElement("div", { class: "switch-buttons" });
    buttons.append(start);
    this.sheet.paint(words.switches, words);
    this.holder.replaceChildren(
      newElement("p", {}, words.switchesWhat(this.start, this.worths())),
      newElement("p", { class: "beside" }, words.switchesPretend),
      board,
      this.answer,
      buttons,
    );
  }

  column(index, worth) {
    const lamp = newElement("span", { class: "lamp", "aria-hidden": "true" });
    const toggle = newElement("button", { type: "button", class: "toggle", role: "switch", "aria-checked": "false", "aria-label": this.words.switchNamed(index + 1, worth) });
    toggle.append(newElement("span", { class: "knob", "aria-hidden": "true" }));
    toggle.addEventListener("click", () => {
      this.up[index] = !this.up[index];
      this.rest();
      this.showPositions();
    });
    this.lamps.push(lamp);
    this.toggles.push(toggle);
    const column = newElement("div", { class: "switch-column" });
    column.append(lamp, toggle);
    return column;
  }

  // What each switch of a whole group counts, from the left.
  worths() {
    return Array.from({ length: this.group }, (_, i) => 2 ** (this.group - 1 - i)).join(", ");
  }

  // The figures that the switches are set to, one for each group; in binary, one for each switch.
  figures() {
    return this.digits.map(({ at, size }) => {
      const bits = this.up.slice(at, at + size).map((up) => (up ? "1" : "0")).join("");
      return this.binary ? bits : parseInt(bits, 2).toString(16).toUpperCase();
    });
  }

  showPositions() {
    this.toggles.forEach((toggle, i) => toggle.setAttribute("aria-checked", String(this.up[i])));
    const figures = this.figures();
    this.digits.forEach(({ digit }, i) => (digit.textContent = figures[i]));
  }

  light(on) {
    this.lamps.forEach((lamp, i) => lamp.classList.toggle("on", on(i)));
  }

  press() {
    this.rest();
    const value = this.figures().join("");
    const right = value === this.start.replaceAll(" ", "");
    this.answer.textContent = right ? this.words.switchesRight : this.words.switchesWrong(value, this.start);
    this.light((i) => this.up[i]);
    if (!right || matchMedia("(prefers-reduced-motion: reduce)").matches) return;
    let step = 0;
    this.timer = setInterval(() => {
      step += 1;
      this.light((i) => (i + step) % 5 === 0);
      if (step < STEPS) return;
      clearInterval(this.timer);
      this.light((i) => this.up[i]);
    }, STEP_MS);
  }

  rest() {
    clearInterval(this.timer);
    if (!this.lamps) return;
    this.light(() => false);
    this.answer.textContent = "";
  }
}
