// The line from the part that the caption speaks of down to the rule over the caption, measured in the page's pixels.

import { setShown } from "../shared/dom.js";

const RULE_PX = 4; // it ends on the rule, not above it

export class Leader {
  constructor(holder) {
    this.holder = holder;
    this.boxOf = () => null;
  }

  // `boxOf` gives the part's box, or null where nothing is spoken of.
  point(boxOf, isTrouble) {
    this.boxOf = boxOf;
    this.holder.classList.toggle("trouble", isTrouble);
    this.draw();
  }

  draw() {
    const part = document.documentElement.dataset.screen ? this.boxOf() : null;
    setShown(this.holder, Boolean(part));
    if (!part) return;
    const page = this.holder.parentElement.getBoundingClientRect();
    const rule = document.getElementById("story").getBoundingClientRect().top;
    const { style } = this.holder;
    const lengths = { left: part.left - page.left, top: part.bottom - page.top, width: part.width, height: Math.max(0, rule + RULE_PX - part.bottom) };
    for (const [name, value] of Object.entries(lengths)) {
      const text = `${value.toFixed(1)}px`;
      if (style[name] !== text) style[name] = text;
    }
  }
}
