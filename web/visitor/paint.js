// Puts the picture into the page's elements.

import { $, made, refill, say, show } from "../shared/dom.js";
import { nowRows } from "./now.js";
import { day, minute, moment, plain, second, told } from "../shared/words.js";

export function paintFixed(words, tag, past) {
  document.documentElement.lang = tag;
  document.documentElement.dir = words.dir;
  show($("translated"), Boolean(words.machineTranslated));
  say($("translated"), words.machineTranslated);
  document.documentElement.dataset.tense = past ? "past" : "present";
  say($("doing-head"), past ? words.did : words.doing);
  say($("console-head"), words.console);
  say($("sideways"), words.sideways);
  say($("show-console"), words.showConsole);
  say($("row-head"), words.row);
  say($("earlier-head"), words.earlier);
  say($("itself-head"), words.itself);
  say($("figures-head"), words.figures);
  say($("grounds").querySelector("summary"), words.how);
}

// `machine` is the machine's own badge while a recording is shown in its place; `back`: it has just come back.
export function paintBadge(badge, words, lastAt, machine, back) {
  const element = $("badge");
  if (element.dataset.badge !== badge.name) element.dataset.badge = badge.name;
  const live = badge.name === "simulated machine";
  const beside = [];
  if (badge.name === "recorded") beside.push(`${words.since.recorded} ${day(badge.since, words.locale)}`);
  else if (badge.since) beside.push(`${words.since.other} ${moment(badge.since, lastAt, words)}`);
  if (badge.simulated && !live) beside.push(words.simulated);
  if (badge.rate !== 1 && badge.rate > 0) beside.push(words.faster(badge.rate));
  say($("badge-name"), words.badges[badge.name] ?? badge.name);
  say($("badge-since"), beside.join(" · "));
  const notice = noticeOf(badge, words, lastAt, machine, back);
  show($("notice"), Boolean(notice));
  say($("notice"), notice);
}

function noticeOf(badge, words, lastAt, machine, back) {
  if (badge.name === "recorded") {
    const why = machine ? words.meanwhile[machine.name]?.(machine.since ? since(machine.since, words) : "") : "";
    return [why, words.isRecording(day(badge.since, words.locale))].filter(Boolean).join(" ");
  }
  const own = words.notices[badge.name]?.(second(badge.since), badge.closed) ?? "";
  return back ? [words.back, own].filter(Boolean).join(" ") : own;
}

function since(wall, words) {
  return `${day(wall, words.locale)}, ${minute(wall)}`;
}

// What nobody watches over now, though it may go on: which, until when at the latest, and how it is stopped by hand.
export function paintMayRun(unseen, since, words, tag) {
  show($("may-run"), unseen.length > 0);
  refill($("may-run"), [unseen, since, words.locale, tag], () => {
    const list = made("ul");
    for (const [stop, those] of together(unseen, tag)) {
      for (const one of those) {
        const until = one.until && moment(one.until, since, words);
        list.append(line(made("bdi", told(one.part, tag) || words.aPart), `: ${words.mayRunUntil(one.job, until)}`));
      }
      if (stop) list.append(line(`${words.stopByHand(those.length)} `, made("bdi", stop)));
    }
    return [made("strong", words.mayRun), list];
  });
}

// Those that are stopped in the same way stand together, so that it is said once.
function together(unseen, tag) {
  const found = new Map();
  for (const one of unseen) {
    const stop = told(one.stop_by_hand, tag);
    found.set(stop, [...(found.get(stop) ?? []), one]);
  }
  return found;
}

// Words of the machine's folder may be in another language than the page's, and run the other way.
function line(...parts) {
  const item = made("li");
  item.append(...parts);
  return item;
}

// The time alone while it is of the day that is shown, and with its date when it isn't.
export function paintHead(items, words, tag, past) {
  const title = told(items.recording?.title, tag) || words.noTitle;
  say($("title"), title);
  if (document.title !== title) document.title = title;
  const toldDate = items.told_date;
  show($("told-date"), Boolean(toldDate));
  say($("told-date"), toldDate ? (past ? words.toldDateThen : words.toldDate)(toldDate.value) : "");
}

export function paintDoing(items, readings, words, tag, past, ofTheMachine = null) {
  const rows = [...doing(items, words, tag, past), ...nowRows(items, readings, words, tag)];
  refill($("doing-rows"), rows, () =>
    rows.map(([name, value, beside, key], index) => {
      const row = made("tr");
      if (key) row.dataset.row = key;
      const head = made("th", name);
      if (index === 0) head.dataset.tense = ""; // its word alone differs between live and recorded
      head.scope = "row";
      const cell = made("td");
      cell.append(made("bdi", value)); // each may be in another language, and run the other way
      if (beside) cell.append(" ", made("bdi", beside, "beside"));
      row.append(head, cell);
      return row;
    }),
  );
  const asked = items.hands_on;
  show($("hands-on"), Boolean(asked));
  refill($("hands-on"), [asked, tag], () => {
    if (!asked) return [];
    const caution = told(asked.caution, tag);
    const parts = [made("strong", words.handsOn), made("p", told(asked.words, tag))];
    if (caution) parts.push(made("p", `${words.caution}: ${caution}`, "caution"));
    return parts;
  });
  // While a recording is shown in its place, what a docent is to do at the machine stays.
  const trouble = ofTheMachine ?? items.trouble;
  show($("trouble"), Boolean(trouble));
  refill($("trouble"), [trouble, tag, Boolean(ofTheMachine)], () => {
    if (!trouble) return [];
    const parts = [made("strong", words.trouble(second(trouble.at), Boolean(ofTheMachine))), made("p", told(trouble.words, tag))];
    const advice = told(trouble.do, tag);
    if (advice) parts.push(made("p", `${words.forDocent}: ${advice}`, "beside"));
    return parts;
  });
}

function doing(items, words, tag, past) {
  const session = items.session;
  const nowHead = past ? words.rows.then : words.rows.now;
  if (!session) return [[nowHead, words.session["not started"], ""]];
  const rows = [];
  const script = items.script;
  const title = script ? told(script.title, tag) || plain(script.name) : "";
  rows.push([nowHead, ...now(session, script, items, title, words)]);
  if (session.state === "running" && script && !script.ended && !items.closed) {
    // A step's name is the script's own word; a visitor only needs to know when something takes long.
    if (items.step?.state === "overdue") rows.push([words.rows.waiting, words.overdue, ""]);
  }
  const damaged = Object.values(items.line_errors ?? {}).reduce((sum, n) => sum + n, 0);
  const wrong = [];
  if (damaged) wrong.push(words.lineErrors(damaged));
  if (items.typing_faults?.garbled) wrong.push(words.garbled(items.typing_faults.garbled));
  if (wrong.length) rows.push([words.rows.line, wrong.join("; "), ""]);
  if (items.nearly_full) rows.push([words.rows.record, words.nearlyFull(minute(items.nearly_full.at)), ""]);
  return rows;
}

function now(session, script, items, title, words) {
  if (items.closed) return [words.session.closed[items.closed.how](minute(items.closed.at)), items.closed.how === "failed" ? session.why : ""];
  if (session.state === "failed") return [words.session.failed(minute(session.since)), session.why];
  if (session.state === "resting") {
    const why = items.held && words.held[items.held.limit];
    if (why) return [why, session.until ? words.session["resting until"](second(session.until)) : ""];
    return session.until ? [words.session["resting until"](second(session.until)), ""] : [words.session.resting, ""];
  }
  if (session.state === "running" && script?.ended) {
    return [words.session.ended[script.outcome](title), words.at(minute(script.ended))];
  }
  if (session.state === "running" && script) {
    const sentence = script.tidying ? words.session.tidying(title) : words.session.running(title);
    const since = `${words.since.other} ${minute(script.since)}`;
    return [sentence, script.round ? `${words.roundOf(script.round)} · ${since}` : since];
  }
  return [items.recording?.typing === "nothing" ? words.session.watched : words.session["not started"], ""];
}

// The code is for whoever stands before the museum's screen: a phone that is here already needs none.
export function paintPhone(address, words) {
  const figure = $("phone");
  const needed = Boolean(address) && location.href.split("#")[0].split("?")[0] !== address;
  show(figure, needed);
  if (!needed) return;
  const code = $("phone-code");
  if (code.dataset.of !== address) {
    code.dataset.of = address;
    code.src = "/phone.svg";
  }
  code.alt = words.phoneCode(address);
  say($("phone-words"), words.phone(address));
}

export function paintPrinted(printedAt, words) {
  say($("printed"), printedAt ? words.printed(second(printedAt)) : words.nothingPrinted);
}

export function paintLanguages(languages, chosen, words, choose) {
  const tags = Object.entries(languages ?? {});
  const nav = $("languages");
  show(nav, tags.length > 1);
  nav.setAttribute("aria-label", words.languages);
  refill(nav, [tags, chosen], () =>
    tags.map(([tag, name]) => {
      const button = made("button", name);
      button.type = "button";
      button.lang = tag;
      button.setAttribute("aria-pressed", String(tag === chosen));
      button.addEventListener("click", () => choose(tag));
      return button;
    }),
  );
}
