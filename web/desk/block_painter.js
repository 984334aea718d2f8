// Paints the large block, and sends what somebody answers there. No answer can be pressed just after it has changed: who
// presses blindly then, on the same spot, waits anew.

import { $, newElement, replaceIfChanged, setAttribute, setShown, setText } from "../shared/dom.js";
import { partPicture } from "../drawing/part.js";
import { panelList } from "./acts_at_panel.js";
import { timeLeft } from "./around.js";
import { Said } from "./said.js";

const FIRST_MS = 1500;
const READ = ["told", "lines", "fields"]; // what is read before it is answered
const SIGN_PX = 34; // the line above the answers that says that it goes on, and the block’s distance from the top
const ASIDE_MINUTES = [10, 30, 60];

export class BlockPainter {
  // `press` gets each answer that was pressed, with what was written into the block's fields.
  constructor(press) {
    this.press = press;
    this.shown = null;
    this.waits = false; // an answer is on its way
    this.answerSaid = new Said("answer-said");
    this.looks = "";
    addEventListener("scroll", () => this.paintSign(), { passive: true });
    new ResizeObserver(() => this.paintSign()).observe($("block"));
    $("sign").addEventListener("click", () => scrollBy(0, innerHeight / 3));
    $("reply").addEventListener("pointerdown", () => {
      if (performance.now() - this.since < FIRST_MS) this.wait();
    });
  }

  paint(block, { words, tag, recording, visitors }) {
    const isNew = block.id !== this.shown?.id, before = this.shown;
    this.shown = block;
    this.words = words;
    setAttribute($("block"), "data-tone", block.tone);
    setAttribute($("block"), "data-what", block.id.split(" ")[0]);
    $("block").classList.toggle("waits", waitsForSomebody(block));
    setText($("kind"), block.kind);
    setShown($("caution"), Boolean(block.caution));
    replaceIfChanged($("caution"), [block.caution, tag], () => [newElement("strong", words.caution), ` ${block.caution}`]);
    setText($("says"), block.says);
    replaceIfChanged($("detail"), [block.detail, block.left, block.todo, tag], () => details(block, words));
    replaceIfChanged($("lines"), [block.lines, tag], () => consoleLines(block, words));
    if (block.lines.length) $("lines").lastElementChild.scrollTop = Number.MAX_SAFE_INTEGER; // the last ones matter most
    this.paintPicture(block, recording, words, tag, visitors);
    replaceIfChanged($("fields"), [block.id, block.form, tag], () => fields(block, words));
    replaceIfChanged($("answers"), [block.id, block.answers, tag], () => block.answers.map((one) => this.button(one)));
    if (isNew) this.begin();
    const looks = JSON.stringify([block.says, block.detail, block.answers]);
    if (looks !== this.looks) this.answerSaid.wentOn();
    this.looks = looks;
    if (isNew) this.bringIntoSight(block, before);
    this.mayPress();
  }

  paintPicture(block, recording, words, tag, visitors) {
    const picture = block.part && recording ? partPicture(recording, block.part, { job: null, tag, words: visitors }) : null;
    setShown($("picture"), Boolean(picture) || block.panel.length > 0);
    replaceIfChanged($("picture"), [block.panel, block.part, tag], () => [
      ...(picture ? [picture] : []),
      ...(block.panel.length ? [newElement("p", words.panel.head), panelList(block.panel, tag)] : []),
    ]);
  }

  // What has come is read from its caution on: whoever has scrolled down to answer sees it from its top. One that is too
  // long for the room below the day’s line gets the whole screen. What waits for nobody moves nothing, unless somebody has
  // just answered; and only trouble does so while somebody writes a note.
  async bringIntoSight(block, before) {
    const shows = $("block").classList;
    shows.remove("long", "reads");
    await nextFrame();
    await nextFrame(); // by then what stands around it has been painted and measured
    if (block.id !== this.shown.id) return;
    const writes = ["note-text", "keys-text"].includes(document.activeElement?.id);
    if (waitsForSomebody(block)) {
      const isLong = $("block").offsetHeight > parseFloat(getComputedStyle($("block")).minHeight) + 1;
      shows.toggle("long", isLong);
      shows.toggle("reads", hidesWhatIsFirst(block));
      if (!writes || block.tone === "trouble") this.toItsTop(isLong);
    } else if (before && waitsForSomebody(before) && !writes) scrollTo(0, 0);
    setAttribute($("block"), "data-placed", block.id);
    this.paintSign();
  }

  toItsTop(isLong) {
    if (isLong || getComputedStyle($("reply")).position !== "sticky") $("block").scrollIntoView({ block: "start" });
    else scrollTo(0, 0);
  }

  // A block that has just come: nobody can have meant to answer it yet.
  begin() {
    this.waits = false;
    this.say("");
    this.wait();
  }

  wait() {
    this.since = performance.now();
    setTimeout(() => this.mayPress(), FIRST_MS + 20);
  }

  mayPress() {
    const early = performance.now() - this.since < FIRST_MS;
    for (const button of $("block").querySelectorAll("button")) button.disabled = early || this.waits;
    this.paintSign();
  }

  // Above the answers: why none can be pressed yet, or that the answers cover what has still to be read.
  paintSign() {
    if (!this.shown) return;
    const { answers } = this.shown;
    const early = answers.length > 0 && performance.now() - this.since < FIRST_MS;
    const replyTop = $("reply").getBoundingClientRect().top;
    const goesOn = $("block").classList.contains("reads") && replyTop > $("foot").getBoundingClientRect().top;
    const isCovered = goesOn || READ.some((place) => $(place).offsetHeight > 0 && $(place).getBoundingClientRect().bottom > replyTop + 1);
    setShown($("sign"), early || isCovered);
    setText($("sign"), early ? this.words.early : this.words.more);
  }

  tick(nowMs) {
    const { until } = this.shown ?? {};
    setShown($("left"), Boolean(until));
    if (until) setText($("left"), timeLeft(until, nowMs, this.words));
  }

  say(text) {
    this.answerSaid.say(text, text === this.words.sent);
  }

  button(answer) {
    const button = newElement("button", undefined, answer.large ? "large" : "small");
    button.type = "button";
    button.append(newElement("span", answer.label));
    if (answer.does) button.append(newElement("small", answer.does));
    button.addEventListener("click", async () => {
      if (performance.now() - this.since < FIRST_MS) return;
      const id = this.shown.id;
      this.waits = answer.opens === undefined;
      this.mayPress();
      const said = await this.press(answer, this.written());
      if (this.shown.id !== id) return;
      this.waits = false;
      this.mayPress();
      this.say(said);
    });
    return button;
  }

  written() {
    const why = $("fields").querySelector("#why")?.value.trim() ?? "";
    const minutes = Number($("fields").querySelector("#minutes")?.value ?? 0);
    return { ...(why ? { why } : {}), ...(minutes ? { minutes } : {}) };
  }
}

// Whether the answers would lie over what to do first or whom to call. They then stand below it, where one scrolls to them.
function hidesWhatIsFirst({ first }) {
  const last = $("detail").children[first - 1], reply = $("reply");
  if (!last || getComputedStyle(reply).position !== "sticky") return false;
  const read = last.getBoundingClientRect().bottom - $("block").getBoundingClientRect().top;
  const room = innerHeight - $("foot").offsetHeight - reply.offsetHeight;
  return read > room - SIGN_PX;
}

const nextFrame = () => new Promise((done) => requestAnimationFrame(done));
const waitsForSomebody = ({ id, answers }) => answers.length > 0 && !["idle", "keyboard"].includes(id.split(" ")[0]);

function details(block, words) {
  const parts = block.detail.map((text) => newElement("p", text));
  if (block.left.length) {
    const list = newElement("ol", undefined, "left-steps");
    list.append(...block.left.map((name) => newElement("li", name)));
    parts.push(list);
  }
  if (block.todo.length) {
    const list = newElement("ol", undefined, "todo");
    list.append(...block.todo.map((step) => todoItem(step, words)));
    parts.push(newElement("p", words.todo.head), list);
  }
  return parts;
}

function todoItem({ says, caution }, words) {
  const item = newElement("li", says);
  if (caution) item.append(" ", newElement("strong", `${words.caution}:`), ` ${caution}`);
  return item;
}

// What the console showed, below the answers, which are to be in sight.
function consoleLines({ lines }, words) {
  if (!lines.length) return [];
  const shown = newElement("pre", lines.join("\n"));
  shown.dir = "ltr";
  shown.tabIndex = 0;
  shown.setAttribute("role", "group");
  shown.setAttribute("aria-label", words.lines);
  return [newElement("p", words.lines, "lines-head"), shown];
}

function fields(block, words) {
  if (!block.form) return [];
  const aside = block.form === "why and minutes";
  const fields = [field("why", aside ? words.trouble.why : words.refuse.why, { type: "text", maxlength: 400 })];
  if (aside) {
    const choice = newElement("select");
    choice.id = "minutes";
    for (const n of ASIDE_MINUTES) choice.append(new Option(words.trouble.minutesAre(n), String(n)));
    const label = newElement("label", words.trouble.minutes);
    label.htmlFor = "minutes";
    fields.push(group(label, choice));
  }
  return fields;
}

function field(id, label, attributes) {
  const input = newElement("input");
  input.id = id;
  for (const [name, value] of Object.entries(attributes)) input.setAttribute(name, String(value));
  const said = newElement("label", label);
  said.htmlFor = id;
  return group(said, input);
}

function group(...parts) {
  const made = newElement("div", undefined, "field");
  made.append(...parts);
  return made;
}
