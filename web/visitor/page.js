// The visitor page: asks for the picture, keeps it and paints it. It shows only what the web process has sent.

import { $, setAttribute, setShown, setText } from "../shared/dom.js";
import { Asking } from "../shared/asking.js";
import { Console } from "../shared/console.js";
import { inLanguage } from "../shared/words.js";
import { Beside } from "./beside.js";
import { Cards } from "./cards.js";
import { Choices } from "./choices.js";
import { Controls } from "./controls.js";
import * as figures from "./figures.js";
import { fitAhead, fitAll, fitAsked, fitBadge, fitCaption, fitConsole, fitIfNew, fitSums } from "./fit.js";
import { paintGlosses } from "./glosses.js";
import { Grounds } from "./grounds.js";
import { Hints } from "./hints.js";
import { Kept } from "./kept.js";
import { Kiosk } from "./kiosk.js";
import { Languages } from "./languages.js";
import { Leader } from "./leader.js";
import { paintTrace } from "./now.js";
import * as paint from "./paint.js";
import { placeControls } from "./places.js";
import { screenOf, setScreen } from "./screens.js";
import { sceneOf } from "./scenes.js";
import { closeSheets, paintSheets, Sheet } from "./sheets.js";
import { Stage } from "./stage.js";
import * as story from "./story.js";
import { Switches } from "./switches.js";

const ALONE_AFTER_MS = 3500;
const LONG_ALONE_AFTER_MS = 30000; // longer than it takes to start the web process again
const NOBODY_WRITES = new Set(["bridge gone", "bridge not answering", "museum not heard", "not started today"]);
const LOOK_EVERY_MS = 500;
const SHOW_THAT_IT_IS_BACK_MS = 15000;

const root = document.documentElement;
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const kept = new Kept();
const screen = new Console($("rows"), $("cursor"), $("sheet"), $("earlier-lines"));
const figuresSheet = new Sheet($("figures")).openedBy($("open-figures"));
const itselfSheet = new Sheet($("itself")).openedBy($("open-itself"));
const moreSheet = new Sheet($("more-sheet")).openedBy($("more"));
const beside = new Beside($("beside"), new Sheet($("beside-sheet")), () => paintAll());
const cards = new Cards($("card"), new Sheet($("cards-sheet")).openedBy($("open-cards")));
const grounds = new Grounds($("grounds"), new Sheet($("grounds-sheet")), $("grounds-list"), screen, figuresSheet, () => wantConsole());
const switches = new Switches($("switches"), new Sheet($("switches-sheet")).openedBy($("try")));
const hints = new Hints($("tell-tales"), $("tell-tales-head"), $("tell-tales-list"), $("ahead"));
const leader = new Leader($("leader"));
const stage = new Stage((part) => beside.choose(part));
const choices = new Choices($("choices"), () => {
  paintAll();
  fitAll();
});
const languages = new Languages(choices.homeLanguage, () => paintAll());
const kiosk = new Kiosk(goHome);
const controls = new Controls($("foot"), (request) => asking.control(request));
let backUntil = 0;

function onAnswer(answer) {
  if (kept.mode === "meanwhile" && answer.mode === "live") backUntil = performance.now() + SHOW_THAT_IT_IS_BACK_MS;
  kept.take(answer, () => {
    screen.clear();
    stage.takeConsole(null);
  });
  if (answer.picture?.items?.recording) screen.size(kept.recording.display);
  if (answer.picture?.console) {
    screen.take(answer.picture.console);
    stage.takeConsole(answer.picture.console);
  }
  paintAll();
  if (speaks()) stage.take(answer.picture?.cable);
  setAttribute(root, "data-mode", kept.mode);
  setAttribute(root, "data-stream", kept.stream);
}

// If the web process has gone or hangs, it sends nothing: then the page itself says so.
function alone() {
  return asking.silentMs() > ALONE_AFTER_MS && kept.badge.name !== "opening";
}

// Whether nothing of the machine reaches this page any more. What it showed as being so may be over.
function hearsNothing() {
  return kept.mode === "live" && (alone() || NOBODY_WRITES.has(kept.badge.name));
}

// Whether what is shown is of now. Whoever writes the recording gives the time with each sign of life.
function isOfNow() {
  return kept.mode === "live" && !hearsNothing() && !kept.badge.closed;
}

// Whether what is shown is what the machine does now.
function speaks() {
  return kept.mode === "live" && kept.badge.speaks && !alone();
}

function paintAll() {
  const shown = languages.now(kept.recording);
  if (!shown) return; // the words of the first language are on their way
  const { tag, words } = shown;
  const { items, past } = kept;
  const set = screenOf(kept.recording);
  if (setScreen(set, choices.size)) {
    if (moreSheet.isOpen) closeSheets(); // what it held has another place now
    placeControls(fitAll);
  }
  if (speaks() && !calm.matches) delete root.dataset.still;
  else setAttribute(root, "data-still", "");
  paint.paintFixed(words, tag, past);
  paintSheets(words);
  paint.paintLanguages(items.recording?.languages, tag, words, (language) => {
    languages.choose(language);
    paintAll();
  });
  paint.paintHead(items, words, tag, past || !isOfNow());
  paint.paintPhone(kept.phone, words);
  paintBadge(words, tag, set);
  const caption = speaks() ? items.caption : items.seen_caption;
  choices.paint(items.recording, tag, words);
  paintTools(words, tag);
  paintSecond(caption, tag);
  const isNew = story.paintCaption(caption, items, kept.badge.name, sceneOf(items).name, words, tag);
  screen.fold(items.shown_again ?? []);
  paintGlosses($("rows"), items, tag, words);
  grounds.paint(caption, words, tag);
  grounds.consoleArrived();
  paintHints(tag, words, caption?.part ?? "");
  paint.paintDoing(items, kept.readings, kept.printedAt, words, tag, past, kept.machine?.trouble);
  paintStage(caption, tag, words); // after what stands on it: it looks how much room that takes
  if (isNew) fitCaption();
  beside.paint(items, tag, words, !hearsNothing(), hints.ofPart(beside.chosen, items, tag, words));
  story.paintThen(caption, kept.at, words, past || !speaks()); // what was true then may not be true now
  paintTrace($("trace"), items.trace, items.printed, words);
  figures.paintItself(items.recording, words, tag);
  paint.paintPrinted(kept.printedAt, words);
  figures.paintFigures(kept.readings, words);
  controls.paint(kept.controls, kept.seq, words);
  root.dataset.seq = kept.seq; // all of it can be seen now
}

function paintHints(tag, words, part) {
  hints.paint(kept.items, tag, words, speaks() && Boolean(kept.at), kept.nowMs(), part);
  fitIfNew(fitAhead, `${$("ahead").textContent} ${$("kind-line").textContent}`); // what it says, and what stands beside it
}

function paintStage(caption, tag, words) {
  const spoken = caption?.part ?? "";
  const look = {
    tag,
    words,
    live: speaks(),
    past: kept.past,
    spoken,
    chosen: beside.chosen,
    alone: hearsNothing(),
    ofNow: isOfNow(),
    now: kept.at,
    readings: kept.readings,
    ofTheMachine: kept.machine?.trouble,
    afterScene: () => {
      fitAll();
      screen.follow(Boolean(root.dataset.screen), Boolean(kept.items.standing));
    },
  };
  stage.paint(kept, look);
  fitIfNew(fitAsked, $("hands-on").hidden ? "" : $("hands-on").textContent);
  fitIfNew(fitSums, $("sums").textContent);
  screen.follow(Boolean(root.dataset.screen) && !grounds.sheet.isOpen, Boolean(kept.items.standing));
  leader.point(() => stage.partBox(spoken), sceneOf(kept.items).name === "trouble");
}

// Shows the caption again, smaller, in the second language that was chosen.
function paintSecond(caption, tag) {
  const second = choices.secondOf(kept.recording, tag);
  const text = second && caption ? inLanguage(caption.words, second) : "";
  setText($("second"), text);
  setAttribute($("second"), "lang", second || tag);
  setShown($("second"), Boolean(text));
}

function paintTools(words, tag) {
  const { items } = kept;
  setText($("more"), words.more);
  moreSheet.paint(words.more, words);
  setText($("open-figures"), words.figures);
  figuresSheet.paint(words.figures, words);
  setText($("open-itself"), words.itself);
  itselfSheet.paint(words.itself, words);
  setText($("open-cards"), words.kinds.background);
  setShown($("open-cards"), cards.paint(items, tag, words));
  setText($("try"), words.trySwitches);
  setShown($("try"), Boolean(items.recording?.switches?.count));
  switches.paint(items.recording?.switches, words);
}

function paintBadge(words, tag, set) {
  const { badge, machine, mode } = kept;
  const long = asking.silentMs() > LONG_ALONE_AFTER_MS ? "page alone" : "reconnecting";
  const name = badge.simulated && kept.items.closed ? "demonstration over" : long;
  const shown = alone() ? { ...badge, name, since: kept.at, speaks: false } : badge;
  const back = badge.speaks && performance.now() < backUntil; // not if it was only closed, or has failed
  paint.paintBadge(shown, words, kept.at, alone() ? null : machine, back && !alone(), {
    unknownScreen: set?.unknown ? set.name : "",
    printedAt: kept.printedAt,
    atKeyboard: Boolean(kept.items.keyboard) && !alone(),
    trouble: kept.items.trouble,
    asked: kept.items.hands_on,
    waits: kept.items.waits,
  });
  const theirs = mode === "meanwhile" ? machine : badge;
  fitIfNew(fitBadge, `${$("badge").textContent} ${tag}`);
  paint.paintMayRun(theirs?.may_run ?? [], theirs?.since ?? "", words, tag);
}

// Closes what was opened; with `everything`, also takes back what was chosen.
function goHome(everything) {
  closeSheets();
  if (everything) {
    choices.home();
    languages.goHome();
    switches.home();
    for (const one of document.querySelectorAll("details[open]")) one.open = false;
  }
  document.activeElement?.blur();
  scrollTo(0, 0);
  paintAll();
}

// A phone shows captions and figures, and the console only on request: its rows are most of what is sent.
const narrow = matchMedia("(max-width: 48rem)");
let consoleWanted = false;

function showsConsole() {
  return consoleWanted || !narrow.matches;
}

function paintConsole() {
  root.dataset.console = showsConsole() ? "shown" : "hidden";
}

function wantConsole() {
  consoleWanted = true;
  paintConsole();
}

$("show-console").addEventListener("click", wantConsole);
$("grounds").addEventListener("click", wantConsole); // it has the lines that they rest on
$("open-figures").addEventListener("click", wantConsole); // its sheet has the lines printed earlier
narrow.addEventListener("change", paintConsole);
paintConsole();

const asking = new Asking(onAnswer, showsConsole);
let lived = "";
setInterval(() => {
  const lives = `${alone()} ${speaks()}`;
  const shown = languages.now(kept.recording);
  if (lives !== lived || calm.matches !== root.hasAttribute("data-still")) {
    lived = lives;
    paintAll(); // a page that can't know what the machine is doing shows nothing as happening now
  } else if (shown) {
    paintBadge(shown.words, shown.tag, screenOf(kept.recording));
    paintHints(shown.tag, shown.words, kept.items.caption?.part ?? "");
  }
  kiosk.look(screenOf(kept.recording), kept.items.script, kept.mode === "replay");
}, LOOK_EVERY_MS);
addEventListener("resize", () => {
  paintAll();
  fitAll();
});
document.fonts.ready.then(() => {
  paintAll();
  fitAll();
});
const resized = new ResizeObserver(() => {
  fitCaption(); // its space is what the rest leaves free
  fitAsked();
  fitConsole();
  fitSums();
  leader.draw();
});
resized.observe($("caption-box"));
resized.observe($("stage"));
resized.observe($("drawing"));
resized.observe($("story"));
resized.observe($("console"));
resized.observe($("page"));
