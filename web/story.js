// The caption, what it rests on, and when it was read: one of three kinds, told apart in words and form.

import { $, made, refill, say, show, time } from "./dom.js";
import { day, minute, plain, second, told } from "./words.js";

// Over the caption of a recording: that it was read then, and isn't said now.
export function paintThen(caption, at, words, past) {
  show($("then"), past && Boolean(caption));
  say($("then"), past && caption ? words.then(day(caption.at || at, words.locale)) : "");
}

export function paintCaption(caption, items, badgeName, words, tag) {
  const story = $("story");
  const kind = caption ? caption.kind : "none";
  if (story.dataset.kind !== kind) story.dataset.kind = kind;
  say($("kind"), caption ? words.kinds[caption.kind] ?? caption.kind : words.noCaption);
  refill($("caption-at"), caption ? [caption.at, words.locale] : [], () => (caption ? [time(caption.at, words.at(minute(caption.at)))] : []));
  const text = caption ? told(caption.words, tag) : words.empty[emptiness(items, badgeName)];
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
  paintGrounds(caption, words, tag);
  return isNew;
}

// Which kind of nothing there is to explain: by the facts, so that a replay says the same.
function emptiness(items, badgeName) {
  if (badgeName === "reading the record") return badgeName;
  return !items.line || items.line.state === "not opened" ? "not started" : "other";
}

function paintGrounds(caption, words, tag) {
  const grounds = caption ? joined(caption.because) : [];
  const source = caption ? told(caption.source, tag) : "";
  show($("grounds"), grounds.length > 0 || Boolean(source));
  refill($("grounds-list"), [grounds, source, words.locale], () => {
    const lines = grounds.map((ground) => {
      const line = made("li");
      const sentence = words.grounds[ground.how] ?? words.grounds.fact;
      line.append(made("span", sentence(named(ground), ground.value)));
      const where = made("span", undefined, "where");
      if (ground.at) where.append(time(ground.at, second(ground.at)), ", ");
      where.append(words.facts(ground.numbers));
      line.append(" ", where);
      return line;
    });
    if (source) lines.push(made("li", words.source(source)));
    return lines;
  });
}

function named(ground) {
  return ["received", "printed", "stood", "typed", "pack"].includes(ground.how) ? ground.what : plain(ground.what);
}

// The bytes and what was read from them are one ground to a visitor: one sentence with both numbers.
function joined(because) {
  const grounds = [];
  let numbers = [];
  because.forEach((ground, index) => {
    numbers.push(ground.seq);
    const next = because[index + 1];
    if (ground.how === "received" && next && ["printed", "stood", "reading", "rows"].includes(next.how)) return;
    grounds.push({ ...ground, numbers });
    numbers = [];
  });
  return grounds;
}
