// The caption, what it rests on, and when it was read: one of three kinds, told apart in words and form.

import { $, refill, say, show, time } from "../shared/dom.js";
import { day, minute, told } from "../shared/words.js";

// Over the caption of a recording: that it was read then, and isn't said now.
export function paintThen(caption, at, words, past) {
  show($("then"), past && Boolean(caption));
  say($("then"), past && caption ? words.then(day(caption.at || at, words.locale)) : "");
}

// At a machine that isn't there nobody can look or listen.
export function isSimulated(items) {
  return items.recording?.machine_is === "simulated";
}

export function paintCaption(caption, items, badgeName, words, tag) {
  const story = $("story");
  const kind = caption ? caption.kind : "none";
  if (story.dataset.kind !== kind) story.dataset.kind = kind;
  const tells = kind === "look or listen for" && isSimulated(items) ? words.kindSimulated : words.kinds[kind] ?? kind;
  const nothing = emptiness(items, badgeName);
  const begun = nothing === "by hand" || nothing === "begun" ? told(items.script?.title, tag) : "";
  say($("kind"), caption ? tells : begun || words.noCaption);
  refill($("caption-at"), caption ? [caption.at, words.locale] : [], () => (caption ? [time(caption.at, words.at(minute(caption.at)))] : []));
  const text = caption ? told(caption.words, tag) : words.empty[nothing];
  const element = $("caption");
  const isNew = element.textContent !== text;
  if (isNew) {
    element.textContent = text;
    element.classList.remove("arriving");
    void element.offsetWidth; // so that the fade begins anew
    element.classList.add("arriving");
  }
  const part = caption ? told(items.recording?.parts?.[caption.part], tag) : "";
  show($("part"), Boolean(part));
  say($("part"), part ? words.part(part) : "");
  return isNew;
}

// Which kind of nothing there is to explain: by the facts, so that a replay says the same.
function emptiness(items, badgeName) {
  if (badgeName === "reading the record") return badgeName;
  if (!items.line || items.line.state === "not opened") return "not started";
  if (items.hands_on) return "by hand";
  return items.session?.state === "running" && items.script && !items.script.ended && !items.closed ? "begun" : "other";
}
