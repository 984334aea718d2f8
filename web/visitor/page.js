// The visitor page: asks for the picture, keeps it and paints it. It shows only what the web process has sent.

import { Asking } from "../shared/asking.js";
import { Beside } from "./beside.js";
import { Cabinets } from "./cabinets.js";
import { Choices } from "./choices.js";
import { Console } from "../shared/console.js";
import { Controls } from "./controls.js";
import { fitCaption, fitColumn } from "./fit.js";
import { paintGlosses } from "./glosses.js";
import { Grounds } from "./grounds.js";
import { paintTrace } from "./now.js";
import { Hints } from "./hints.js";
import * as figures from "./figures.js";
import * as paint from "./paint.js";
import * as story from "./story.js";
import { Switches } from "./switches.js";
import { inLanguage, wordsFor } from "../shared/words.js";

const ALONE_AFTER_MS = 3500;
const LONG_ALONE_AFTER_MS = 30000; // longer than it takes to start the web process again
const LOOK_EVERY_MS = 500;
const SHOW_THAT_IT_IS_BACK_MS = 15000;
const HOME_AFTER_MS = 60000;
const CALM_AFTER_MS = 15000; // after this long without a new caption there is time to read something else

const $ = (id) => document.getElementById(id);
const screen = new Console($("rows"), $("cursor"), $("sheet"), $("earlier-lines"));
const beside = new Beside($("beside"), () => paintAll());
const cabinets = new Cabinets($("cabinets"), $("leader"), (name) => beside.choose(name));
const grounds = new Grounds($("grounds"), $("grounds-list"), screen, () => wantConsole());
const hints = new Hints($("tell-tales"), $("tell-tales-head"), $("tell-tales-list"), $("ahead"));
const choices = new Choices($("choices"), $("choices-sheet"), () => {
  paintAll();
  fitAll();
});
const switches = new Switches($("switches"));
$("try").addEventListener("click", () => switches.open());
const controls = new Controls($("foot"), (request) => asking.control(request));

let picture = emptyPicture();
let badge = { name: "opening", since: "", simulated: false, rate: 1, speaks: false };
let machine = null; // the machine's own badge, while a recording is shown in its place
let backUntil = 0;
let captionAt = performance.now();
let phone = "";
let mode = "";
let stream = "";
let chosen = choices.homeLanguage;
let replaying; // how far a recording has been played, and how fast
let pictureAt = 0; // when this page last received the museum's time

function emptyPicture() {
  return { seq: 0, at: "", items: {}, readings: {}, printed_at: "" };
}

function onAnswer(answer) {
  badge = answer.badge;
  machine = answer.machine ?? null;
  phone = answer.phone ?? "";
  if (mode === "meanwhile" && answer.mode === "live") backUntil = performance.now() + SHOW_THAT_IT_IS_BACK_MS;
  mode = answer.mode;
  if (answer.whole || answer.stream !== stream || !answer.picture) {
    picture = emptyPicture();
    screen.clear();
  }
  stream = answer.stream;
  if (answer.picture) take(answer.picture);
  replaying = answer.controls;
  paintAll();
  document.documentElement.dataset.mode = mode;
  document.documentElement.dataset.stream = stream;
  document.documentElement.dataset.seq = picture.seq;
}

function take(batch) {
  picture.seq = batch.seq;
  picture.at = batch.at;
  pictureAt = performance.now();
  Object.assign(picture.items, batch.items);
  for (const [display, taken] of Object.entries(batch.readings ?? {})) {
    picture.readings[display] = { ...picture.readings[display], ...taken };
  }
  if (batch.printed_at) picture.printed_at = batch.printed_at;
  if (batch.items?.recording) screen.size(batch.items.recording.display);
  if (batch.console) screen.take(batch.console);
}

function language() {
  const offered = Object.keys(picture.items.recording?.languages ?? {});
  if (offered.includes(chosen)) return chosen;
  const wanted = navigator.languages.map((tag) => offered.find((one) => tag === one || tag.split("-")[0] === one));
  return wanted.find(Boolean) ?? offered[0] ?? "en";
}

function words() {
  return wordsFor(language()).words;
}

function paintAll() {
  const tag = language();
  const own = wordsFor(tag);
  const past = mode !== "live" && mode !== "";
  paint.paintFixed(own.words, tag, past);
  paint.paintLanguages(picture.items.recording?.languages, tag, own.words, (language) => {
    chosen = language;
    paintAll();
  });
  paint.paintHead(picture.items, own.words, tag, past);
  paint.paintPhone(phone, own.words);
  paintBadge();
  const speaks = mode === "live" && badge.speaks && !alone();
  const caption = speaks ? picture.items.caption : picture.items.seen_caption;
  choices.paint(picture.items.recording, tag, own.words);
  paintSecond(caption, tag);
  if (story.paintCaption(caption, picture.items, badge.name, own.words, tag)) {
    captionAt = performance.now();
    fitCaption();
  }
  paintHints(caption, speaks, tag, own.words);
  paintGlosses($("rows"), picture.items, tag);
  grounds.paint(caption, own.words, tag);
  grounds.consoleArrived();
  paintRow(caption, tag, own.words);
  story.paintThen(caption, picture.at, own.words, past || !speaks); // what was true then may not be true now
  paint.paintDoing(picture.items, picture.readings, picture.printed_at, own.words, tag, past, machine?.trouble);
  paintTrace($("trace"), picture.items.trace, picture.items.printed, own.words);
  figures.paintItself(picture.items.recording, own.words, tag);
  paint.paintPrinted(picture.printed_at, own.words);
  figures.paintFigures(picture.readings, own.words);
  controls.paint(replaying, picture.seq, own.words);
  fitColumnWhenChanged();
}

// Shows the caption again, smaller, in the second language that was chosen.
function paintSecond(caption, tag) {
  const second = choices.secondOf(picture.items.recording, tag);
  const text = second && caption ? inLanguage(caption.words, second) : "";
  if ($("second").textContent !== text) $("second").textContent = text;
  $("second").lang = second || tag;
  $("second").hidden = !text;
}

// The museum's time now, as far as this page can know it.
function museumNow() {
  return Date.parse(picture.at) + (performance.now() - pictureAt);
}

function paintHints(caption, speaks, tag, own) {
  hints.paint(picture.items, tag, own, speaks && Boolean(picture.at), museumNow(), caption?.part ?? "");
}

// Measuring makes the browser lay the page out again, so it is done only when the table's rows have changed.
let fittedFor = "";
function fitColumnWhenChanged() {
  const key = [$("doing-rows"), $("trace"), $("hands-on"), $("trouble")].map((one) => one.dataset.key ?? "").join() + $("notice").hidden;
  if (key === fittedFor) return;
  fittedFor = key;
  fitColumn();
}

function paintRow(caption, tag, own) {
  cabinets.paint(picture.items.recording, tag, own, caption?.part ?? "", beside.chosen);
  beside.paint(picture.items, tag, own);
  switches.paint(picture.items.recording?.switches, own);
  $("try").hidden = !picture.items.recording?.switches?.count;
  $("try").textContent = own.trySwitches;
  $("row").hidden = !$("cabinets").firstChild && beside.holder.dataset.shows === "nothing";
}

// The sizes of the caption and the row depend on each other, so the line between them is drawn last.
function fitAll() {
  fitColumn();
  fitCaption();
  cabinets.drawLeader();
}

// If the web process has gone or hangs, it sends nothing: then the page itself says so.
function alone() {
  return asking.silentMs() > ALONE_AFTER_MS && badge.name !== "opening";
}

function paintBadge() {
  const name = asking.silentMs() > LONG_ALONE_AFTER_MS ? "page alone" : "reconnecting";
  const shown = alone() ? { ...badge, name, since: picture.at, speaks: false } : badge;
  const back = performance.now() < backUntil;
  paint.paintBadge(shown, words(), picture.at, alone() ? null : machine, back && !alone(), picture.printed_at);
  const theirs = mode === "meanwhile" ? machine : badge;
  paint.paintMayRun(theirs?.may_run ?? [], theirs?.since ?? "", words(), language());
}

// A screen that many people share returns to its first state by itself. A replay and a phone belong to one person.
function goHome() {
  if (!matchMedia("(min-width: 70rem)").matches || mode === "replay") return;
  choices.home();
  chosen = choices.homeLanguage;
  switches.home();
  beside.home();
  for (const one of document.querySelectorAll("details[open]")) one.open = false;
  document.activeElement?.blur();
  scrollTo(0, 0);
  paintAll();
}

let touched = performance.now();
for (const event of ["pointerdown", "keydown", "wheel", "touchmove", "input"]) {
  addEventListener(event, () => (touched = performance.now()), { passive: true });
}

// A phone shows captions and figures, and the console only on request: its rows are most of what is sent.
const narrow = matchMedia("(max-width: 48rem)");
let consoleWanted = false;

function showsConsole() {
  return consoleWanted || !narrow.matches;
}

function paintConsole() {
  document.documentElement.dataset.console = showsConsole() ? "shown" : "hidden";
}

function wantConsole() {
  consoleWanted = true;
  paintConsole();
}

$("show-console").addEventListener("click", wantConsole);
$("grounds").addEventListener("toggle", wantConsole); // it has the lines that they rest on
narrow.addEventListener("change", paintConsole);
paintConsole();

const asking = new Asking(onAnswer, showsConsole);
let wasAlone = false;
setInterval(() => {
  if (alone() !== wasAlone) {
    wasAlone = !wasAlone;
    paintAll(); // a page that can't know what the machine is doing must not ask anybody to look or listen
  } else {
    paintBadge();
    const speaks = mode === "live" && badge.speaks && !alone();
    paintHints(picture.items.caption, speaks, language(), words());
  }
  if (performance.now() - touched > HOME_AFTER_MS) {
    touched = Infinity; // once only, until somebody touches it again
    goHome();
  }
  beside.tick(performance.now() - captionAt > CALM_AFTER_MS);
}, LOOK_EVERY_MS);
addEventListener("resize", fitAll);
document.fonts.ready.then(() => {
  cabinets.measureAgain();
  paintAll();
  fitAll();
});
const resized = new ResizeObserver(() => {
  fitCaption(); // its space is what the row leaves free
  cabinets.drawLeader();
});
const columnResized = new ResizeObserver(fitColumn);
columnResized.observe(document.querySelector(".column"));
columnResized.observe($("console"));
resized.observe($("story"));
resized.observe($("caption-box"));
for (const one of document.querySelectorAll("#figures details")) one.addEventListener("toggle", fitColumn);
$("grounds").addEventListener("toggle", () => cabinets.drawLeader());
