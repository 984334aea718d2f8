// Things that a visitor opens, each on a sheet of its own over the stage: the badge and the caption stay in sight. One
// sheet at a time. A sheet doesn't hold the page up: what lies beside it can still be touched.

import { setText } from "../shared/dom.js";

const LEAST_ROOM = 0.3; // of the height, on a small phone with a long caption

let open = null;
const sheets = [];

export class Sheet {
  // `onChange` is called after it was opened or closed.
  constructor(dialog, onChange = () => {}) {
    Object.assign(this, { dialog, onChange });
    this.head = dialog.querySelector(".sheet-head h2");
    this.body = dialog.querySelector(".sheet-body");
    this.closer = dialog.querySelector(".close");
    this.opener = null;
    this.closer.addEventListener("click", () => this.close());
    dialog.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close();
    });
    sheets.push(this);
  }

  get isOpen() {
    return open === this;
  }

  // Opens on a click of `button`, and closes on the next one.
  openedBy(button) {
    button.addEventListener("click", () => (this.isOpen ? this.close() : this.open(button)));
    return this;
  }

  open(opener = document.activeElement) {
    if (this.isOpen) return;
    open?.leave();
    open = this;
    this.opener = opener;
    document.documentElement.dataset.sheet = this.dialog.id;
    this.scrolled = scrollY;
    this.dialog.show();
    this.body.scrollTop = 0;
    scrollTo(0, 0); // where a page flows, its badge and its caption are at the top
    const caption = document.getElementById("caption").getBoundingClientRect();
    this.dialog.style.setProperty("--room", `${Math.max(LEAST_ROOM * innerHeight, innerHeight - caption.bottom - 4)}px`);
    this.onChange();
  }

  // Closes, and gives the focus back to what opened it.
  close() {
    if (!this.isOpen) return;
    const hadFocus = this.dialog.contains(document.activeElement);
    this.leave();
    scrollTo(0, this.scrolled);
    if (hadFocus) this.opener?.focus({ preventScroll: true });
  }

  leave() {
    open = null;
    delete document.documentElement.dataset.sheet;
    this.dialog.close();
    this.onChange();
  }

  paint(title, words) {
    if (title) setText(this.head, title);
    setText(this.closer, words.close);
  }
}

export function closeSheets() {
  open?.leave();
}

export function paintSheets(words) {
  for (const sheet of sheets) sheet.paint("", words);
}
