// Puts the picture into the page's elements.

import { $, newElement, replaceIfChanged, setAttribute, setShown, setText } from "../shared/dom.js";
import { nowRows } from "./now.js";
import { dateOf, isHeard, whyRests } from "./story.js";
import { hoursMinutes, hoursMinutesSeconds, inLanguage, isToday, longDate, spaced, timeAndOtherDate } from "../shared/words.js";

const TELLS_TROUBLE = new Set(["resting", "asleep", "silent"]); // the others are red themselves, or hear nothing

export function paintFixed(words, tag, past) {
  setAttribute(document.documentElement, "lang", tag);
  setAttribute(document.documentElement, "dir", words.dir);
  setShown($("translated"), Boolean(words.machineTranslated));
  setText($("translated"), words.machineTranslated);
  setAttribute(document.documentElement, "data-tense", past ? "past" : "present");
  setText($("doing-head"), past ? words.happened : words.happening);
  setText($("console-head"), words.console);
  setText($("sideways"), words.sideways);
  setText($("show-console"), words.showConsole);
  setText($("row-head"), words.row);
  setText($("earlier-head"), words.earlier);
}

// `machine` is the machine’s own badge while a recording is shown instead; `back`: the machine has just come back.
// `unknownScreen`: the name in the page’s address that the folder doesn’t know; `printedAt`: when the machine last printed;
// `atKeyboard`: an engineer has taken the console's keyboard; `trouble`, `asked` and `waits`: the items trouble, hands_on and waits.
export function paintBadge(badge, words, lastAt, machine, back, { unknownScreen = "", printedAt = "", atKeyboard = false, trouble = null, asked = null, waits = null } = {}) {
  const element = $("badge");
  if (element.dataset.badge !== badge.name) element.dataset.badge = badge.name;
  const live = badge.name === "simulated machine";
  const beside = [];
  if (badge.name === "recorded") beside.push(isToday(badge.since) ? words.since.recordedToday : `${words.since.recorded} ${longDate(badge.since, words.locale)}`);
  else if (badge.since) beside.push(`${words.since.other} ${timeAndOtherDate(badge.since, lastAt, words)}`);
  const quiet = badge.speaks && printedAt ? Math.floor((Date.parse(lastAt) - Date.parse(printedAt)) / 60000) : 0;
  if (quiet > 0) beside.push(words.lastHeard(quiet));
  if (atKeyboard && (badge.speaks || badge.name === "failed")) beside.push(words.atKeyboard);
  if (badge.simulated && !live) beside.push(words.simulated);
  if (badge.rate !== 1 && badge.rate > 0) beside.push(words.faster(badge.rate));
  const name = words.badges[isPaused(badge, waits) ? "paused" : badge.name] ?? badge.name;
  if (badge.practice) beside.unshift(name);
  setText($("badge-name"), badge.practice ? words.practice : name);
  setText($("badge-since"), beside.join(" · "));
  const sign = signOf(badge, trouble, asked);
  setAttribute(element, "data-sign", sign);
  setShown($("badge-sign"), Boolean(sign));
  setText($("badge-sign"), sign ? `${words.signs[sign]} ` : "");
  const unknown = unknownScreen ? words.screenUnknown(unknownScreen) : "";
  const notice = [noticeOf(badge, words, lastAt, machine, back, waits), unknown].filter(Boolean).join(" ");
  setShown($("notice"), Boolean(notice));
  setText($("notice"), notice);
}

// Somebody stopped the rounds, or is away: the machine may be on, so it isn't said to rest.
function isPaused({ name, closed }, waits) {
  return name === "resting" && !closed && waits?.what === "going on";
}

// What the badge says besides its name, so that nobody at a distance takes all for well.
function signOf({ name, speaks, closed, simulated }, trouble, asked) {
  if (trouble && !closed && (speaks || TELLS_TROUBLE.has(name))) return "trouble";
  const atTheMachine = Object.keys(asked?.caution ?? {}).length > 0; // without a caution, it is a question about a date
  return speaks && atTheMachine ? (simulated ? "by hand, simulated" : "by hand") : "";
}

function noticeOf(badge, words, lastAt, machine, back, waits) {
  if (badge.name === "recorded") {
    const why = machine ? words.meanwhile[machine.name]?.(machine.since ? since(machine.since, words) : "") : "";
    return [why, isToday(badge.since) ? words.isRecordingToday : words.isRecording(longDate(badge.since, words.locale))].filter(Boolean).join(" ");
  }
  const own = words.notices[badge.name]?.(hoursMinutesSeconds(badge.since), badge.closed, longDate(badge.since, words.locale), waits) ?? "";
  return back ? [words.machineIsBack, own].filter(Boolean).join(" ") : own;
}

function since(wall, words) {
  return `${longDate(wall, words.locale)}, ${hoursMinutes(wall)}`;
}

// The jobs that may be running: those that were started and not seen to end while nobody watches, and those of
// which it isn't known. For each: until when at the latest, and how to stop it.
export function paintMayRun(unseen, since, words, tag) {
  setShown($("may-run"), unseen.length > 0);
  replaceIfChanged($("may-run"), [unseen, since, words.locale, tag], () => {
    const begun = unseen.filter((one) => !one.doubt);
    const doubted = unseen.filter((one) => one.doubt);
    const lists = [];
    for (const [heading, jobs] of [[words.mayRun, begun], [words.mayRunInDoubt, doubted]]) {
      if (jobs.length) lists.push(newElement("strong", heading), jobList(jobs, since, words, tag));
    }
    return lists;
  });
}

function jobList(jobs, since, words, tag) {
  const list = newElement("ul");
  for (const { stop, caution, those } of groupedByStop(jobs, tag)) {
    for (const one of those) {
      const until = one.until && timeAndOtherDate(one.until, since, words);
      const what = one.doubt ? words.mayRunPerhaps(one.job, until, one.one_of) : words.mayRunUntil(one.job, until);
      list.append(line(newElement("bdi", inLanguage(one.part, tag) || words.aPart), `: ${what}`));
    }
    if (stop && caution) list.append(line(`${words.caution}: `, newElement("bdi", caution)));
    if (stop) list.append(line(`${words.stopByHand(those.length)} `, newElement("bdi", stop)));
  }
  return list;
}

// Groups the jobs that are stopped in the same way, so that the page says it once.
function groupedByStop(unseen, tag) {
  const found = new Map();
  for (const one of unseen) {
    const [stop, caution] = [inLanguage(one.stop_by_hand, tag), inLanguage(one.caution ?? {}, tag)];
    const key = JSON.stringify([stop, caution]);
    if (!found.has(key)) found.set(key, { stop, caution, those: [] });
    found.get(key).those.push(one);
  }
  return found.values();
}

// The words of a machine's folder may be in another language than the page, and run in the other direction.
function line(...parts) {
  const item = newElement("li");
  item.append(...parts);
  return item;
}

export function paintHead(items, words, tag, past) {
  const title = inLanguage(items.recording?.title, tag) || words.noTitle;
  setText($("title"), title);
  if (document.title !== title) document.title = title;
  setText($("about-name"), /[.!?]$/.test(title) ? title : `${title}.`);
  setText($("about-does"), inLanguage(items.recording?.round_words, tag));
  const date = dateOf(items);
  setShown($("machine-date"), Boolean(date));
  setText($("machine-date"), date ? (past || !isHeard(items) ? words.machineDateThen : words.machineDate)(date.value) : "");
}

export function paintDoing(items, readings, printedAt, words, tag, past, ofTheMachine = null) {
  const rows = [...sessionRows(items, printedAt, words, tag, past), ...nowRows(items, readings, words, tag)];
  replaceIfChanged($("doing-rows"), rows, () =>
    rows.map(([name, value, beside, key], index) => {
      const row = newElement("tr");
      if (key) row.dataset.row = key;
      const head = newElement("th", name);
      if (index === 0) head.dataset.tense = ""; // only its first word differs between live and recorded
      head.scope = "row";
      const cell = newElement("td");
      cell.append(newElement("bdi", value)); // it may be in another language, and run in the other direction
      if (beside) cell.append(" ", newElement("bdi", beside, "beside"));
      row.append(head, cell);
      return row;
    }),
  );
  const asked = past ? null : items.hands_on; // a recording asks nobody to do anything
  setShown($("hands-on"), Boolean(asked));
  replaceIfChanged($("hands-on"), [asked, tag], () => {
    if (!asked) return [];
    const caution = inLanguage(asked.caution, tag);
    const parts = [newElement("strong", words.handsOn), newElement("p", inLanguage(asked.words, tag))];
    if (caution) parts.push(newElement("p", `${words.caution}: ${caution}`, "caution"));
    return parts;
  });
  // What a docent should do at the machine stays on the page while a recording is shown instead.
  const trouble = ofTheMachine ?? items.trouble;
  setShown($("trouble"), Boolean(trouble));
  replaceIfChanged($("trouble"), [trouble, tag, Boolean(ofTheMachine)], () => {
    if (!trouble) return [];
    const parts = [newElement("strong", words.trouble(hoursMinutesSeconds(trouble.at), Boolean(ofTheMachine))), newElement("p", inLanguage(trouble.words, tag))];
    parts[1].dir = "auto"; // they may be in another language than the page
    const caution = inLanguage(trouble.caution ?? {}, tag);
    if (caution) parts.push(newElement("p", `${words.caution}: ${caution}`, "caution"));
    const advice = inLanguage(trouble.do, tag);
    if (advice) parts.push(newElement("p", `${words.forDocent}: ${advice}`, "beside"));
    return parts;
  });
}

function sessionRows(items, printedAt, words, tag, past) {
  const session = items.session;
  const nowHead = past ? words.rows.then : words.rows.now;
  if (!session) return [[nowHead, words.session["not started"], ""]];
  const rows = [];
  const script = items.script;
  const title = script ? inLanguage(script.title, tag) || spaced(script.name) : "";
  rows.push([nowHead, ...now(session, script, items, printedAt, title, words)]);
  if (session.state === "running" && script && !script.ended && !items.closed) {
    // A step's name means nothing to visitors; they only need to know when something takes long. Where a person
    // is asked to do something, it isn't the machine that takes long.
    if (items.step?.state === "overdue" && !items.hands_on) rows.push([words.rows.waiting, words.overdue, ""]);
  }
  const damaged = Object.values(items.line_errors ?? {}).reduce((sum, n) => sum + n, 0);
  const wrong = [];
  if (damaged) wrong.push(words.lineErrors(damaged));
  if (items.typing_faults?.garbled) wrong.push(words.garbled(items.typing_faults.garbled));
  if (wrong.length) rows.push([words.rows.line, wrong.join("; "), ""]);
  if (items.nearly_full) rows.push([words.rows.record, words.nearlyFull(hoursMinutes(items.nearly_full.at)), ""]);
  return rows;
}

function now(session, script, items, printedAt, title, words) {
  if (items.closed) return [words.session.closed[items.closed.how](hoursMinutes(items.closed.at)), items.closed.how === "failed" ? session.why : ""];
  if (session.state === "failed") return [words.session.failed(hoursMinutes(session.since)), session.why];
  if (session.state === "resting") {
    const why = items.refused && words.restingBecause[items.refused.limit];
    if (why) return [why, session.until ? words.session["resting until"](hoursMinutesSeconds(session.until)) : ""];
    // Nothing is due from a resting machine, so the page says no more of it than when it was last heard.
    const heard = printedAt ? words.printed(hoursMinutesSeconds(printedAt)) : "";
    return session.until ? [words.session["resting until"](hoursMinutesSeconds(session.until)), heard] : [words.session[whyRests(items)], heard];
  }
  if (items.silent) return [words.nothingHeard(hoursMinutes(items.silent.since)), title];
  if (session.state === "running" && script?.ended) {
    return [words.session.ended[script.outcome](title), words.at(hoursMinutes(script.ended))];
  }
  if (session.state === "running" && script) {
    const sentence = script.tidying ? words.session.tidying(title) : words.session.running(title);
    const since = `${words.since.other} ${hoursMinutes(script.since)}`;
    return [sentence, script.round ? `${words.roundOf(script.round)} · ${since}` : since];
  }
  return [items.recording?.typing === "nothing" ? words.session.watched : words.session["not started"], ""];
}

// The code is for people at the museum's screen: a phone that already shows the page doesn't need it.
export function paintPhone(address, words) {
  const figure = $("phone");
  const needed = Boolean(address) && location.href.split("#")[0].split("?")[0] !== address;
  setShown(figure, needed);
  if (!needed) return;
  const code = $("phone-code");
  if (code.dataset.of !== address) {
    code.dataset.of = address;
    code.src = "/phone.svg";
  }
  code.alt = words.phoneCode(address);
  setText($("phone-words"), words.phone(address));
}

export function paintPrinted(printedAt, words) {
  setText($("printed"), printedAt ? words.printed(hoursMinutesSeconds(printedAt)) : words.nothingPrinted);
}

export function paintLanguages(languages, chosen, words, choose) {
  const tags = Object.entries(languages ?? {});
  const nav = $("languages");
  setShown(nav, tags.length > 1);
  setAttribute(nav, "aria-label", words.languages);
  replaceIfChanged(nav, [tags, chosen], () =>
    tags.map(([tag, name]) => {
      const button = newElement("button", name);
      button.type = "button";
      button.lang = tag;
      button.setAttribute("aria-pressed", String(tag === chosen));
      button.addEventListener("click", () => choose(tag));
      return button;
    }),
  );
}
