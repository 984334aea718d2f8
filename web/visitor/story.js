// The caption: one of three kinds, which differ in words and form.

import { $, replaceIfChanged, setShown, setText, timeElement } from "../shared/dom.js";
import { hoursMinutes, inLanguage, longDate } from "../shared/words.js";

// Above the caption of a recording: visitors read it then, and it isn't about now.
export function paintThen(caption, at, words, past) {
  setShown($("then"), past && Boolean(caption));
  setText($("then"), past && caption ? words.then(longDate(caption.at || at, words.locale)) : "");
}

// Nobody can look at or listen to a machine that isn't there.
export function isSimulated(items) {
  return items.recording?.machine_is === "simulated";
}

// Whether what the recording says of the machine is of now: it can be heard, as far as the recording knows.
export function isHeard(items) {
  return !items.silent && !items.closed && items.line?.state !== "lost";
}

// Whether it was the simulated docent who confirmed a step, and not a person: `by` is what the recording says.
export function isSimulatedDocent(by) {
  return by === "the simulated docent";
}

export function paintCaption(caption, items, badgeName, words, tag) {
  const story = $("story");
  const kind = caption ? caption.kind : "none";
  if (story.dataset.kind !== kind) story.dataset.kind = kind;
  const kindWords = kind === "look or listen for" && isSimulated(items) ? words.kindSimulated : words.kinds[kind] ?? kind;
  const why = whyNoCaption(items, badgeName);
  const title = why === "by hand" || why === "just started" ? inLanguage(items.script?.title, tag) : "";
  const heard = why === "silent" ? words.nothingHeard(hoursMinutes(items.silent.since)) : "";
  setText($("kind"), caption ? kindWords : title || heard || words.noCaption);
  replaceIfChanged($("caption-at"), caption ? [caption.at, words.locale] : [], () => (caption ? [timeElement(caption.at, words.at(hoursMinutes(caption.at)))] : []));
  const text = caption ? inLanguage(caption.words, tag) : words.empty[why];
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
function whyNoCaption(items, badgeName) {
  if (badgeName === "reading the record") return badgeName;
  if (!items.line || items.line.state === "not opened") return "not started";
  if (items.hands_on) return "by hand";
  if (items.silent) return "silent";
  return items.session?.state === "running" && items.script && !items.script.ended && !items.closed ? "just started" : "other";
}
