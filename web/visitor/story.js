// The caption: one of three kinds, which differ in words and form.

import { $, replaceIfChanged, setShown, setText, timeElement } from "../shared/dom.js";
import { hoursMinutes, inLanguage, isToday, longDate } from "../shared/words.js";

const ON_THE_CONSOLE = ["received", "printed", "showing", "reading", "rows"];

// Above the caption of a recording: visitors read it then, and it isn't about now.
export function paintThen(caption, at, words, past) {
  setShown($("then"), past && Boolean(caption));
  const when = caption?.at || at;
  setText($("then"), past && caption ? (isToday(when) ? words.thenToday(hoursMinutes(when)) : words.then(longDate(when, words.locale))) : "");
}

// Nobody can look at or listen to a machine that isn't there.
export function isSimulated(items) {
  return items.recording?.machine_is === "simulated";
}

// Whether what the recording says of the machine is of now: it can be heard, as far as the recording knows.
export function isHeard(items) {
  return !items.silent && !items.closed && items.line?.state !== "lost";
}

// The date that the machine's program was told. What a program believed that was stopped stands no more: the next one is
// told a date of its own, in a year that it knows.
export function dateOf(items) {
  const date = items.machine_date;
  return date && !("past" in date && isHeard(items)) ? date : null;
}

// Whether it was the simulated docent who confirmed a step, and not a person: `by` is what the recording says.
export function isSimulatedDocent(by) {
  return by === "the simulated docent";
}

// Whether a caption of the kind "seen" rests on what a person confirmed, and on nothing that the console showed.
function restsOnHands(caption) {
  const how = caption?.kind === "seen" ? (caption.because ?? []).map((one) => one.how) : [];
  return how.includes("confirmed") && !how.some((one) => ON_THE_CONSOLE.includes(one));
}

// What kind of caption it is, in words.
function kindOf(caption, items, words) {
  if (caption.kind === "look or listen for" && isSimulated(items)) return words.kindSimulated;
  if (!restsOnHands(caption)) return words.kinds[caption.kind] ?? caption.kind;
  const hands = caption.because.filter((one) => one.how === "confirmed");
  return words.kinds[hands.every((one) => isSimulatedDocent(one.value)) ? "confirmed in the simulation" : "confirmed"];
}

// Gives whether the caption's words are new.
export function paintCaption(caption, items, badgeName, scene, words, tag) {
  const story = $("story");
  const kind = caption ? caption.kind : "none";
  if (story.dataset.kind !== kind) story.dataset.kind = kind;
  const why = whyNoCaption(items, badgeName, scene);
  setText($("kind"), caption ? kindOf(caption, items, words) : titleOf(why, items, words, tag));
  replaceIfChanged($("caption-at"), caption ? [caption.at, words.locale] : [], () => (caption ? [timeElement(caption.at, words.at(hoursMinutes(caption.at)))] : []));
  const text = caption ? inLanguage(caption.words, tag) : standingWords(why, items, words, tag);
  const element = $("caption");
  const isNew = element.textContent !== text;
  if (isNew) {
    element.textContent = text;
    element.classList.remove("arriving");
    void element.offsetWidth; // so that the fade starts again
    element.classList.add("arriving");
  }
  const part = caption ? inLanguage(items.recording?.parts?.[caption.part], tag) : "";
  setShown($("part"), Boolean(part));
  setText($("part"), part ? words.part(part) : "");
  return isNew;
}

// Why there is no caption. It depends on facts only, so that a replay shows the same.
function whyNoCaption(items, badgeName, scene) {
  const { session, script } = items;
  if (badgeName === "reading the record") return badgeName;
  if (!items.line || items.line.state === "not opened") return "not started";
  if (session?.state === "failed") return "failed";
  if (items.line.state === "lost") return "lost";
  if (items.hands_on) return "by hand";
  if (items.silent) return "silent";
  if (items.closed) return "closed";
  if (session?.state === "resting") return session.until ? "resting until" : scene === "asleep" ? "asleep" : whyRests(items);
  if (session?.state === "not started" && hasBegunNothing(items)) return "nothing begun";
  return session?.state === "running" && script && !script.ended ? "just started" : "other";
}

// Why it rests without an end: a person says when it goes on, or begins the day, or nothing more is planned.
export function whyRests({ waits }) {
  if (!waits) return "resting";
  return waits.what === "beginning" ? "resting, unopened" : "resting, waits";
}

// Whether nothing was started today, by this recording and those before it on the same day.
function hasBegunNothing({ recording, day }) {
  return recording?.typing !== "nothing" && Boolean(day) && !day.woken && !day.spans.length;
}

function titleOf(why, items, words, tag) {
  if (why === "by hand" || why === "just started") return inLanguage(items.script?.title, tag) || words.noCaption;
  if (why === "silent") return words.nothingHeard(hoursMinutes(items.silent.since));
  if (why === "resting until") return (items.refused && words.restingBecause[items.refused.limit]) || words.titles[why](hoursMinutes(items.session.until));
  return words.titles[why] ?? words.titles[why.split(",")[0]] ?? words.noCaption;
}

// What the script is at, once it is past its first chapter: "It begins on the tides."
function chapterNow({ steps, script, recording }, tag) {
  if (!steps || steps.script !== script.name || steps.at < 2) return "";
  const chapter = recording?.chapters?.[steps.script]?.find(({ name }) => name === steps.name);
  const words = inLanguage(chapter?.words, tag).replace(/[.!?]$/, "");
  return words ? `${words[0].toUpperCase()}${words.slice(1)}.` : "";
}

// The sentence that stands while there is no caption: true by the recording's items alone.
function standingWords(why, items, words, tag) {
  if (why === "resting until") {
    const does = inLanguage(items.recording?.round_words, tag);
    return words.empty[why](hoursMinutes(items.session.until), does ? does[0].toLowerCase() + does.slice(1) : "");
  }
  if (why === "resting, unopened") return words.empty[why](items.waits);
  if (why === "failed" && items.trouble) return inLanguage(items.trouble.words, tag);
  if (why === "just started") return chapterNow(items, tag) || words.empty[why];
  return words.empty[why];
}
