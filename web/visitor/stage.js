// The stage: the only place that changes between scenes. It holds the drawn machine, the chart, the console, the album,
// the day's sums and what to do in trouble, each painted by a module of its own, and says for the ears what they show.

import { $, newElement, replaceIfChanged, setShown, setText } from "../shared/dom.js";
import { partPicture } from "../drawing/part.js";
import { Machine } from "../drawing/machine.js";
import { Album } from "../charts/album.js";
import { DayLine } from "../charts/day_line.js";
import { Plot } from "../charts/plot.js";
import { StepsLine } from "../charts/steps_line.js";
import { Sums } from "../charts/sums.js";
import { fewFigures } from "./few.js";
import { helpRows } from "./help.js";
import { changeScene, stageOf } from "./scenes.js";

const HOLDERS = { drawing: "drawing", chart: "chart", album: "album", sums: "sums", card: "card", few: "few", help: "help" };

export class Stage {
  constructor(choose) {
    this.machine = new Machine($("drawing"), choose);
    this.plot = new Plot($("chart"));
    this.album = new Album($("album"), partPicture);
    this.sums = new Sums($("sums"));
    this.dayLine = new DayLine($("day-line"));
    this.stepsLine = new StepsLine($("steps"));
    this.set = null;
    this.notOver = ""; // the size for which nothing can stand over the drawing
    this.changing = false;
  }

  // `look`: {tag, words, live, past, alone, ofNow, now, spoken, chosen, readings, ofTheMachine, afterScene}
  paint(kept, look) {
    const set = stageOf(kept.items);
    this.latest = { kept, look, set };
    if (this.changing) return; // the browser is about to take what is the latest then
    const before = document.documentElement.dataset.scene;
    const put = () => {
      const latest = this.latest;
      this.changing = false;
      this.set = latest.set;
      document.documentElement.dataset.scene = latest.set.name;
      this.show(latest.set);
      this.contents(latest.kept, latest.look, latest.set);
      latest.look.afterScene();
    };
    if (this.set && before !== set.name) {
      this.changing = true;
      changeScene(put);
    } else if (!this.set || !sameStage(this.set, set)) put();
    else this.contents(kept, look, set);
  }

  show(set) {
    for (const [name, id] of Object.entries(HOLDERS)) setShown($(id), set.shows.has(name));
    $("stage").dataset.shows = [...set.shows].join(" ");
  }

  contents({ items, badge }, look, set) {
    const { recording } = items;
    if (!recording) return;
    const { tag, words, live, past } = look;
    document.documentElement.toggleAttribute("data-standing", Boolean(items.standing));
    if (set.shows.has("drawing")) {
      this.machine.paint(recording, items, { ...look, size: set.size, trouble: set.name === "trouble" });
      setText($("drawing-text"), this.machine.text());
    } else setText($("drawing-text"), "");
    const plot = items.plots?.[set.plot];
    if (set.shows.has("chart") && plot) {
      this.plot.paint(recording.plots?.[set.plot] ?? {}, plot, { tag, words, live, past, now: look.now, rate: badge.rate, small: false });
      setText($("chart-text"), this.plot.text());
    } else setText($("chart-text"), "");
    if (set.shows.has("album")) {
      this.album.paint(items.album, recording, { tag, words });
      setText($("album-text"), this.album.text());
    } else setText($("album-text"), "");
    if (set.shows.has("sums")) this.sums.paint(items.sums, recording, { tag, words, past });
    if (set.name === "waking" && set.shows.has("drawing")) this.seeOver(items, tag);
    this.steps(items, look);
    this.day(items, look);
    paintFew(set.shows.has("few") ? fewFigures(items, look) : []);
    paintHelp(set.shows.has("help") ? helpRows(items, look) : []);
  }

  // While the machine wakes, the last lines of the console stand over the drawing if they hide nothing of it. Where they
  // would, they stay beside it as long as the page is as large: the drawing is laid out anew for either.
  seeOver({ hands_on }, tag) {
    const stage = $("stage");
    const of = JSON.stringify([innerWidth, innerHeight, tag, hands_on?.words]);
    if (this.notOver === of) return;
    if (stage.dataset.over !== "free") {
      stage.dataset.over = "free";
      this.machine.drawAgain(); // as wide as it is then
    }
    const over = [$("console"), $("below")].map((one) => one.getBoundingClientRect()).filter(({ width }) => width);
    const [left, bottom] = [Math.min(...over.map((one) => one.left)), Math.max(...over.map((one) => one.bottom))];
    const meets = (box) => box.right > left && box.top < bottom;
    const said = [...document.querySelectorAll("#drawing .gap-words")].filter((one) => one.textContent);
    const hidden = [...document.querySelectorAll("#drawing .outline"), ...said].map((one) => one.getBoundingClientRect());
    if (!hidden.some(meets)) return;
    this.notOver = of;
    delete stage.dataset.over;
    this.machine.drawAgain();
  }

  // Which step is the present one, nobody knows on a page that hears nothing.
  steps({ steps: told, recording }, look) {
    const steps = look.alone ? null : told;
    setShown($("steps"), Boolean(steps));
    if (steps) this.stepsLine.paint(steps, recording.chapters?.[steps.script] ?? [], look);
  }

  day({ day, recording }, look) {
    setShown($("day-line"), Boolean(day));
    if (!day) return;
    this.dayLine.paint(day, recording.hours ?? null, { tag: look.tag, words: look.words, now: look.now, hollow: look.past || !look.ofNow });
    setText($("day-text"), this.dayLine.text());
  }

  take(cable) {
    if (cable?.length) this.machine.take(cable);
  }

  // The console's changed rows, for the drawn screen; null when all of it is to be forgotten.
  takeConsole(changed) {
    this.machine.takeConsole(changed);
  }

  partBox(part) {
    return part && this.set?.shows.has("drawing") && this.set.size !== "small" ? this.machine.partBox(part) : null;
  }
}

function sameStage(one, other) {
  return one.name === other.name && one.size === other.size && one.plot === other.plot && [...one.shows].join() === [...other.shows].join();
}

// One or two large figures with the words that they need.
function paintFew(figures) {
  setShown($("few"), figures.length > 0);
  replaceIfChanged($("few"), figures, () =>
    figures.map(({ value, words, seq }) => {
      const pair = newElement("div");
      const figure = newElement("dd", value);
      if (seq) figure.dataset.fact = seq;
      pair.append(newElement("dt", words), figure);
      return pair;
    }),
  );
}

// What was done, what is so now, and what comes next.
function paintHelp(rows) {
  setShown($("help"), rows.length > 0);
  replaceIfChanged($("help"), rows, () => {
    const list = newElement("dl");
    for (const [name, text] of rows) {
      const row = newElement("div");
      row.append(newElement("dt", name), newElement("dd", text));
      row.lastElementChild.dir = "auto";
      list.append(row);
    }
    return [list];
  });
}
