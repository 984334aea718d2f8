// Paints what stands around the block.

import { $, newElement, replaceIfChanged, setShown, setText } from "../shared/dom.js";
import { hoursMinutes, inLanguage } from "../shared/words.js";
import { hearsNothing } from "./blocks.js";
import { KEEP_MINUTES, doneOf, mayRunOf, nextOf, troublesOf } from "./around.js";

const MOST_URGENT = ["smoke", "hurt", "evacuation", "noise"];

export function paintAround(page, block) {
  const { words, tag, items, signedIn, alone } = page;
  const live = Boolean(signedIn) && !alone;
  paintFoot(page, words);
  for (const name of ["under", "side", "today"]) $(name).classList.toggle("away", !signedIn);
  setText($("next-head"), words.next.head);
  const next = nextOf(page, words);
  replaceIfChanged($("next-list"), [next, tag], () => (next.length ? next : [words.next.none]).map((text) => newElement("li", text)));
  setText($("troubles-head"), words.troubles.head);
  const troubles = troublesOf(page, words);
  replaceIfChanged($("troubles-list"), [troubles, live, tag], () => troubles.map((one) => troubleItem(one, live, block)));
  setShown($("no-troubles"), troubles.length === 0);
  setText($("no-troubles"), nothingIsWrong(page) ? words.troubles.none : words.troubles.elsewhere);
  paintMayRun(page, live, block);
  setText($("console-head"), words.console);
  setText($("printed"), words.printed(hoursMinutes(page.printedAt)));
  paintKeys(page, live, block);
  paintNotes(words);
  const done = doneOf(page, words);
  setText($("done-head"), words.done.head);
  replaceIfChanged($("done-list"), [done.numbers, tag], () => done.numbers.flatMap(([what, number]) => [newElement("dt", what), newElement("dd", number)]));
  replaceIfChanged($("unfinished"), [done.unfinished, tag], () => done.unfinished.map((text) => newElement("li", text)));
  setShown($("unfinished"), done.unfinished.length > 0);
  const practised = items.practice ?? [];
  setShown($("practice"), practised.length > 0);
  setText($("practice-head"), words.practised);
  replaceIfChanged($("practice-list"), [practised, tag], () => practised.map((said) => newElement("li", inLanguage(said, tag))));
  paintEmergency(items.for_docent, words, tag);
}

// Whether it can be said that nothing is wrong: the machine is heard, and nobody has to look at it.
function nothingIsWrong(page) {
  return page.bridge && !hearsNothing(page) && page.items.doing?.kind !== "failure" && page.items.today?.phase !== "stopped" && !["link lost", "silent"].includes(page.badge.name);
}

function paintFoot({ items, tag, badge, visitors }, words) {
  const where = inLanguage(items.for_docent?.mains_stop, tag);
  setText($("stop"), words.stop.label);
  setShown($("practises"), Boolean(badge.practice)); // the badge scrolls away
  setText($("practises"), `${visitors.practice}.`);
  setText($("stop-does"), words.stop.does);
  setText($("mains"), where ? words.stop.mains(where) : words.stop.mainsUnknown);
  setText($("open-emergency"), words.emergency.open);
}

function actButton(answer, block) {
  const button = newElement("button", undefined, "small");
  button.type = "button";
  button.append(newElement("span", answer.label));
  if (answer.does) button.append(newElement("small", answer.does));
  button.addEventListener("click", async () => {
    const { shown } = block;
    const said = await block.press(answer, {});
    if (said !== block.words.sent || block.shown.id === shown.id) block.say(said);
  });
  return button;
}

function troubleItem({ state, says, told, answers }, live, block) {
  const item = newElement("li");
  item.dataset.state = state;
  item.append(newElement("strong", told), newElement("p", says));
  if (live) item.append(...answers.map((one) => actButton(one, block)));
  return item;
}

function paintMayRun(page, live, block) {
  const { words, visitors, tag } = page;
  const found = mayRunOf(page, visitors);
  setShown($("may-run"), found.length > 0);
  setText($("may-run-head"), words.mayRun.head);
  const doubted = (page.badge.may_run ?? []).some(({ doubt }) => doubt === "in doubt");
  replaceIfChanged($("may-run-list"), [found, live, doubted, tag], () => {
    const items = found.map((lines) => {
      const item = newElement("li");
      item.append(...lines.map((line) => newElement("p", line)));
      return item;
    });
    if (live && doubted) {
      const item = newElement("li");
      item.append(actButton({ request: "no job", label: words.mayRun.none }, block));
      items.push(item);
    }
    return items;
  });
}

function paintKeys({ items, signedIn, words, tag }, live, block) {
  const engineer = live && signedIn.role === "engineer";
  const has = Boolean(items.keyboard);
  setShown($("keys"), engineer && has);
  document.documentElement.toggleAttribute("data-keys", engineer && has);
  setText($("keys-label"), words.keys.label);
  setText($("keys-send"), words.keys.send);
  setText($("keys-sure"), words.keys.sure);
  replaceIfChanged($("keyboard"), [engineer, has, tag], () => (engineer && !has ? [actButton({ request: "take keyboard", label: words.keys.take, does: words.keys.takeDoes }, block)] : []));
}

function paintNotes(words) {
  setText($("notes-head"), words.notes.head);
  setText($("note-label"), words.notes.label);
  setText($("note-send"), words.notes.send);
  setText($("photograph-label"), words.notes.photograph);
  setText($("keep"), words.notes.keep(KEEP_MINUTES));
  setText($("keep-does"), words.notes.keepDoes);
}

// Made as soon as the words are known, so that it can be read when nothing answers any more.
function paintEmergency(said, words, tag) {
  const [mains, keyholder] = [inLanguage(said?.mains_stop, tag), inLanguage(said?.keyholder, tag)];
  setText($("close-emergency"), words.close);
  setText($("emergency-note"), words.emergency.note);
  setText($("emergencies-head"), words.emergency.head);
  const each = Object.entries(said?.emergencies ?? {}).sort(([a], [b]) => urgency(a) - urgency(b)).map(([name, one]) => ({ name, title: inLanguage(one.title, tag), lines: inLanguage(one.do, tag) || [] }));
  setShown($("emergencies"), each.length > 0);
  replaceIfChanged($("emergency-buttons"), [each, tag], () => each.map((one) => emergencyButton(one, words)));
  replaceIfChanged($("emergency-lines"), [each, tag], () => each.map(({ name, title, lines }) => {
    const section = newElement("section");
    section.dataset.emergency = name;
    const list = newElement("ol");
    list.append(...lines.map((line) => newElement("li", line)));
    section.append(newElement("h3", title), list);
    return section;
  }));
  replaceIfChanged($("emergency-list"), [mains, keyholder, tag], () => {
    const found = [];
    if (mains) found.push(newElement("dt", words.emergency.mains), newElement("dd", words.emergency.mainsDo(mains)));
    if (keyholder) found.push(newElement("dt", words.emergency.call), newElement("dd", words.emergency.callDo(keyholder)));
    if (!found.length) found.push(newElement("dt", words.emergency.head), newElement("dd", words.emergency.unknown));
    return found;
  });
}

// Danger to people first. What a machine's folder adds comes after what can cost a life, as does the rest.
const urgency = (name) => (MOST_URGENT.includes(name) ? MOST_URGENT.indexOf(name) : MOST_URGENT.length);

function emergencyButton({ name, title }, words) {
  const button = newElement("button", title);
  button.type = "button";
  button.setAttribute("aria-haspopup", "dialog");
  button.addEventListener("click", () => openEmergency(words, name));
  return button;
}

// Opens the sheet at one emergency, or with all of them. It ends above the foot: “Stop typing” works meanwhile, where it
// always is. So the sheet isn't modal, and what it covers is made inert here.
export function openEmergency(words, name = "") {
  for (const section of $("emergency-lines").children) section.hidden = Boolean(name) && section.dataset.emergency !== name;
  setText($("emergency-head"), words.emergency.head);
  const sheet = $("emergency");
  if (!sheet.open) sheet.show();
  sheet.scrollTop = 0;
  for (const covered of ["strip", "page"]) $(covered).inert = true;
  $("close-emergency").focus({ preventScroll: true });
}

export function closeEmergency() {
  const sheet = $("emergency");
  if (!sheet.open) return;
  sheet.close();
  for (const covered of ["strip", "page"]) $(covered).inert = false;
  $("open-emergency").focus({ preventScroll: true });
}
