// Puts the picture into the page's elements. Everything is text; nothing is ever taken for markup.

import { itselfRows, nowRows } from "./now.js";
import { day, minute, plain, second, told } from "./words.js";

const $ = (id) => document.getElementById(id);

function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function show(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}

function made(name, text, className) {
  const element = document.createElement(name);
  if (text !== undefined) element.textContent = text;
  if (className) element.className = className;
  return element;
}

function time(wall, text) {
  const element = made("time", text);
  element.dateTime = wall;
  element.title = wall;
  return element;
}

// Replaces what stands in `element` only if `key` says that it differs.
function refill(element, key, make) {
  const written = JSON.stringify(key);
  if (element.dataset.key === written) return;
  element.dataset.key = written;
  element.replaceChildren(...make());
}

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
  else if (badge.since) beside.push(`${words.since.other} ${when(badge.since, lastAt, words)}`);
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
  const own = words.notices[badge.name]?.(second(badge.since)) ?? "";
  return back ? [words.back, own].filter(Boolean).join(" ") : own;
}

function since(wall, words) {
  return `${day(wall, words.locale)}, ${minute(wall)}`;
}

// Over the caption of a recording: that it was read then, and isn't said now.
export function paintThen(caption, at, words, past) {
  show($("then"), past && Boolean(caption));
  say($("then"), past && caption ? words.then(day(caption.at || at, words.locale)) : "");
}

// The time alone while it is of the day that is shown, and with its date when it isn't.
function when(wall, lastAt, words) {
  return lastAt && wall.slice(0, 10) !== lastAt.slice(0, 10) ? `${day(wall, words.locale)}, ${minute(wall)}` : minute(wall);
}

export function paintHead(items, words, tag, past) {
  const title = told(items.recording?.title, tag) || words.noTitle;
  say($("title"), title);
  if (document.title !== title) document.title = title;
  const toldDate = items.told_date;
  show($("told-date"), Boolean(toldDate));
  say($("told-date"), toldDate ? (past ? words.toldDateThen : words.toldDate)(toldDate.value) : "");
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

export function paintItself(recording, words, tag) {
  const { rows, source } = itselfRows(recording, words, tag);
  show($("itself"), rows.length > 0);
  refill($("itself-sheet"), [rows, source, words.locale], () => {
    const list = made("dl", undefined, "card-figures");
    for (const [name, value] of rows) {
      const row = made("div");
      row.append(made("dt", name), made("dd", value));
      list.append(row);
    }
    return source ? [list, made("p", words.source(source), "card-source")] : [list];
  });
}

export function paintDoing(items, readings, words, tag, past) {
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
  const trouble = items.trouble;
  show($("trouble"), Boolean(trouble));
  refill($("trouble"), [trouble, tag], () => {
    if (!trouble) return [];
    const parts = [made("strong", words.trouble(second(trouble.at))), made("p", told(trouble.words, tag))];
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
  if (items.closed) return [words.session.closed(minute(items.closed.at)), ""];
  if (session.state === "failed") return [words.session.failed(minute(session.since)), session.why];
  if (session.state === "resting") {
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

export function paintFigures(readings, words) {
  refill($("figures-sheet"), [readings, words.locale], () => {
    const displays = Object.entries(readings).filter(([, taken]) => Object.keys(taken).length);
    if (!displays.length) return [made("p", words.noFigures, "empty")];
    return displays.flatMap(([display, taken]) => tables(display, taken, words));
  });
}

function tables(display, taken, words) {
  const latest = Object.values(taken).map((one) => one.at).sort().at(-1);
  const singles = Object.entries(taken).filter(([, one]) => one.table === undefined);
  const lists = Object.entries(taken).filter(([, one]) => one.table !== undefined);
  const parts = [];
  parts.push(made("p", words.asOf(plain(display), second(latest)), "as-of"));
  if (singles.length) {
    const list = made("dl", undefined, "values");
    for (const [name, one] of singles) {
      const pair = made("div");
      pair.append(made("dt", plain(name)), made("dd", String(one.value)));
      list.append(pair);
    }
    parts.push(list);
  }
  for (const [name, one] of lists) parts.push(listing(name, one.table, words));
  return parts;
}

function listing(name, rows, words) {
  const table = made("table", undefined, "listing");
  table.append(made("caption", rows.length ? plain(name) : `${plain(name)}: ${words.noRows}`));
  if (!rows.length) return table;
  const columns = Object.keys(rows[0]);
  const numeric = columns.map((column) => rows.every((row) => /^-?[\d.]+$/.test(row[column] ?? "")));
  const headRow = made("tr");
  columns.forEach((column, i) => {
    const head = made("th", plain(column), numeric[i] ? "number" : "");
    head.scope = "col";
    headRow.append(head);
  });
  const head = made("thead");
  head.append(headRow);
  const body = made("tbody");
  for (const row of rows) {
    const line = made("tr");
    columns.forEach((column, i) => {
      const cell = made("td", row[column] ?? "", numeric[i] ? "number" : "");
      cell.dataset.column = plain(column);
      line.append(cell);
    });
    body.append(line);
  }
  table.append(head, body);
  return table;
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
