// The docent's page: asks the desk for the picture, keeps it, paints it, and sends what people ask for.

import { $, newElement, replaceIfChanged, setAttribute, setShown, setText } from "../shared/dom.js";
import { Console } from "../shared/console.js";
import { LANGUAGES, hoursMinutes, inLanguage, loadWords, tagOfWords } from "../shared/words.js";
import { DayLine } from "../charts/day_line.js";
import { KEEP_MINUTES } from "./around.js";
import { closeEmergency, openEmergency, paintAround } from "./around_painter.js";
import { Asks } from "./asks.js";
import { BlockPainter } from "./block_painter.js";
import { blockOf, hearsNothing } from "./blocks.js";
import { ended, reasonOf } from "./reasons.js";
import { Said } from "./said.js";
import { Signal } from "./signal.js";

const ALONE_AFTER_MS = 3000;
const LOOK_EVERY_MS = 250;
const HERE_EVERY_MS = 60_000;
const OWN_WORDS = ["en", "de"];
const SURE = "I mean it"; // as the bridge says it, and wants it said
const LARGEST_PHOTOGRAPH_BYTES = 10 * 1024 * 1024;
const NOBODY = { name: "opening", since: "" };

const page = {
  items: {}, badge: NOBODY, bridge: true, alone: false, signedIn: null, at: "", printedAt: "",
  opened: null, tag: "", words: null, visitors: null,
};
let atMs = 0;
let stream = "";
let lastHere = -Infinity;
let saidAt = "";
let chosen = localStorage.getItem("language") ?? "";
const screen = new Console($("rows"), $("cursor"), $("sheet"), $("earlier-lines"));
screen.followWhileAtEnd();
const dayLine = new DayLine($("day-line"));
const signal = new Signal($("band"), $("sound"));
const asks = new Asks(onAnswer);
const block = new BlockPainter(press);
const stopSaid = new Said("stop-said");
const noteSaid = new Said("note-said");

function onAnswer(answer) {
  page.badge = answer.badge;
  page.bridge = answer.bridge !== false;
  page.signedIn = answer.signed_in ?? null;
  if (answer.whole || answer.stream !== stream) {
    page.items = {};
    screen.clear();
  }
  stream = answer.stream;
  const { picture } = answer;
  if (picture) {
    Object.assign(page.items, picture.items);
    page.at = picture.at;
    atMs = performance.now();
    if (picture.printed_at) page.printedAt = picture.printed_at;
    if (picture.items?.recording) screen.size(picture.items.recording.display);
    if (picture.console) screen.take(picture.console);
  }
  paintAll();
}

// The museum's time now, as far as this page can know it.
const nowMs = () => Date.parse(page.at) + (performance.now() - atMs);

function wanted() {
  const offered = Object.keys(page.items.recording?.languages ?? {});
  const wishes = [chosen, ...navigator.languages.map((tag) => tag.split("-")[0])];
  return wishes.find((tag) => (offered.length ? offered : OWN_WORDS).includes(tag)) ?? offered[0] ?? "en";
}

async function ensureWords() {
  const tag = wanted();
  if (page.tag === tag) return;
  const own = OWN_WORDS.includes(tag) ? tag : "en";
  const [mine, visitors] = await Promise.all([import(`./words_${own}.js`), loadWords(LANGUAGES.includes(own) ? own : tagOfWords(tag))]);
  if (tag !== wanted()) return;
  Object.assign(page, { tag, words: mine.words, visitors: visitors.words });
  setAttribute(document.documentElement, "lang", own);
  paintAll();
}

function paintAll() {
  ensureWords();
  const { words, tag, items, visitors } = page;
  if (!words) return;
  page.alone = asks.silentMs() > ALONE_AFTER_MS;
  const shown = blockOf(page);
  document.title = `${words.title}: ${shown.says}`;
  setAttribute(document.documentElement, "data-state", shown.id.split(" ")[0]);
  paintHead(words, visitors, tag);
  if (shown.id !== saidAt && !shown.id.startsWith("stop")) stopSaid.say(""); // it was of another moment
  if (shown.id !== saidAt) saidAt = shown.id;
  block.paint(shown, { words, tag, recording: items.recording, visitors });
  dayLine.paint(dayOf(items), items.recording?.hours ?? null, items.day ? { now: page.at, words: visitors, tag, hollow: hearsNothing(page) } : null);
  setText($("day-text"), dayLine.text());
  paintAround(page, block);
  signal.paint(words);
  signal.see(["trouble", "failure", "late", "asked", "silent", "held", "bridge", "link"].includes(shown.id.split(" ")[0]) ? shown.id.split(" ").slice(0, 2).join(" ") : "", shown.tone !== "");
  tick();
}

// While no round begins before somebody says so, none has its time.
function dayOf({ day, today }) {
  return day && today && today.phase !== "rounds" ? { ...day, next: null } : (day ?? null);
}

function paintHead(words, visitors, tag) {
  const name = page.alone ? "page alone" : page.badge.name;
  setAttribute($("badge"), "data-badge", name);
  const unfinished = name === "resting" && page.items.today?.phase === "stopped";
  const says = unfinished ? words.stoppedIn.badge : (visitors.badges[name] ?? name);
  const since = page.alone ? page.at : page.badge.since;
  const sinceSays = since ? `${visitors.since.other} ${hoursMinutes(since)}` : "";
  const { practice } = page.badge;
  setText($("badge-name"), practice ? visitors.practice : says);
  setText($("badge-since"), [practice && says, sinceSays].filter(Boolean).join(" · "));
  setText($("title"), inLanguage(page.items.recording?.title, tag) || words.title);
  setText($("who"), page.signedIn ? words.signedIn[page.signedIn.role](page.signedIn.name) : "");
  setShown($("sign-out"), Boolean(page.signedIn));
  setText($("sign-out"), words.signOut);
  const languages = Object.entries(page.items.recording?.languages ?? {}).filter(([one]) => OWN_WORDS.includes(one));
  setShown($("languages"), languages.length > 1);
  setAttribute($("languages"), "aria-label", visitors.languages);
  replaceIfChanged($("languages"), [languages, tag], () => languages.map(([one, own]) => languageButton(one, own, tag)));
}

function languageButton(one, own, tag) {
  const button = newElement("button", own);
  button.type = "button";
  button.lang = one;
  button.setAttribute("aria-pressed", String(one === tag));
  button.addEventListener("click", () => {
    chosen = one;
    localStorage.setItem("language", one);
    ensureWords();
  });
  return button;
}

function tick() {
  block.tick(nowMs());
}

// ---- what people ask for

async function press(answer, written) {
  if (answer.opens !== undefined) {
    page.opened = answer.opens ? { what: answer.opens, about: answer.about } : null;
    paintAll();
    return "";
  }
  const { request, step, about, minutes, why } = answer;
  const said = await send({ request, step, about, minutes, why, ...written });
  if (said === page.words.sent) page.opened = null;
  paintAll();
  return said;
}

// Sends a request; gives what to say of it.
async function send(asked) {
  lastHere = performance.now(); // every request is a sign of presence as well
  const { status, answer } = await asks.post("/today/request", asked);
  return saidOf(status, answer);
}

function saidOf(status, answer, done = page.words.sent) {
  if (status === 200 && answer?.accepted !== false) return [done, answer?.why].filter(Boolean).join(" ");
  return answer?.why ? page.words.refused(ended(reasonOf(answer.why, page.words))) : page.words.notSent;
}

$("stop").addEventListener("click", async () => {
  page.opened = null;
  const said = await send({ request: "stop" });
  stopSaid.say(said, said === page.words.sent);
});
$("sign-out").addEventListener("click", async () => {
  sessionStorage.setItem("signed out", "yes"); // for practice a page signs in by itself, but not whoever has just signed out
  await asks.post("/today/sign-out", {});
  location.reload(); // whoever comes next signs in
});
$("open-emergency").addEventListener("click", () => openEmergency(page.words));
$("close-emergency").addEventListener("click", closeEmergency);
addEventListener("keydown", ({ key }) => {
  if (key === "Escape") closeEmergency();
});
// What is stuck to the bottom of the page, and how high it is: what else stays in sight, stays above it.
const HEIGHTS = [["--foot", "foot", "stop-said"], ["--head", "strip"], ["--day", "today"]];
const measured = new ResizeObserver(() => {
  for (const [name, ...places] of HEIGHTS) {
    const height = places.reduce((sum, place) => sum + $(place).offsetHeight, 0);
    document.documentElement.style.setProperty(name, `${height}px`);
  }
});
for (const [, ...places] of HEIGHTS) for (const place of places) measured.observe($(place));
$("note").addEventListener("submit", async (event) => {
  event.preventDefault();
  const text = $("note-text").value.trim();
  if (text) await keepNote({ text }, () => ($("note-text").value = ""));
  else noteSaid.say(page.words.notes.empty);
});
$("keep").addEventListener("click", () => keepNote({ minutes: KEEP_MINUTES }));
$("photograph").addEventListener("change", async () => {
  const [file] = $("photograph").files;
  if (!file) return;
  if (file.size > LARGEST_PHOTOGRAPH_BYTES) noteSaid.say(page.words.notes.tooLarge);
  else await keepNote(file);
  $("photograph").value = "";
});

async function keepNote(note, then = () => {}) {
  const { status, answer } = await asks.post("/today/note", note);
  const said = saidOf(status, answer, page.words.notes.kept);
  const isKept = said.startsWith(page.words.notes.kept);
  if (isKept) then();
  noteSaid.say(said, isKept);
}

async function keyIn(why = "") {
  const said = await send({ request: "key in", text: `${$("keys-text").value}\r`, why }); // a line is sent with its RETURN
  setText($("keys-said"), said);
  setShown($("keys-sure"), !why && said.includes(SURE)); // the folder bars such a command
  if (said === page.words.sent) $("keys-text").value = "";
}

$("keys").addEventListener("submit", async (event) => {
  event.preventDefault();
  await keyIn();
});
$("keys-sure").addEventListener("click", () => keyIn(SURE));

// An address with a code, opened where an old page still stands: what follows # alone loads nothing.
addEventListener("hashchange", () => location.reload());

// Any touch shows that somebody is there. It is said at most once a minute, and nothing is shown for it.
for (const touch of ["pointerdown", "keydown"]) {
  addEventListener(touch, (event) => {
    if (event.target.closest?.("#stop")) return; // it would come before the stop
    if (!page.signedIn || performance.now() - lastHere < HERE_EVERY_MS) return;
    send({ request: "here" });
  }, { capture: true, passive: true });
}

setInterval(() => {
  if ((asks.silentMs() > ALONE_AFTER_MS) !== page.alone) paintAll();
  else if (page.words) tick();
}, LOOK_EVERY_MS);
ensureWords();
asks.run();
