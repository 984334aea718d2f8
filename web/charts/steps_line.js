// The steps of a round as a row of squares, with the present one marked: "4 of 9: it works out the tides".

import { newElement, replaceIfChanged, setShown, setText } from "../shared/dom.js";
import { inLanguage } from "../shared/words.js";

const FULL_SIZE = 16; // more squares than this are drawn smaller
const MOST = 120;

export class StepsLine {
  #holder;

  constructor(holder) {
    this.#holder = holder;
    holder.classList.add("steps-line");
    this.squares = newElement("span", undefined, "steps-squares");
    this.squares.setAttribute("aria-hidden", "true");
    this.words = newElement("span", undefined, "steps-words");
    this.words.dir = "auto";
    holder.replaceChildren(this.squares, this.words);
  }

  // `chapters`: those of the script, or of all scripts by their names. look.live: the present step is happening now.
  paint(steps, chapters, look) {
    setShown(this.#holder, Boolean(steps?.of));
    if (!steps?.of) {
      this.squares.replaceChildren();
      delete this.squares.dataset.key;
      return;
    }
    const { at, of } = steps;
    const live = Boolean(look.live) && !look.past;
    replaceIfChanged(this.squares, [at, of, live, steps.seq], () => Array.from({ length: Math.min(of, MOST) }, (_, n) => {
      const square = newElement("i", undefined, n + 1 < at ? "done" : n + 1 > at ? "coming" : live ? "present live" : "present");
      if (n + 1 === at) square.dataset.fact = steps.seq;
      return square;
    }));
    this.squares.style.setProperty("--steps-shrink", String(Math.max(0.4, Math.min(1, FULL_SIZE / of))));
    setText(this.words, look.words.charts.stepOf(at, of, chapterWords(steps, chapters, look.tag)));
  }
}

function chapterWords(steps, chapters, tag) {
  const list = Array.isArray(chapters) ? chapters : (chapters?.[steps.script] ?? []);
  return inLanguage(list.find(({ name }) => name === steps.name)?.words, tag);
}
