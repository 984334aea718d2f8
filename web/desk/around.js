// What stands around the block: what comes next, what else can be asked for, the troubles, and what was done today.
// Like blocks.js it knows no browser.

import { hoursMinutes, inLanguage, spaced, timeAndOtherDate } from "../shared/words.js";

const BY_PHASE = {
  rounds: ["round now", "quiet", "away", "close"],
  away: ["round now", "close"],
  quiet: ["round now", "away", "close"],
  "nobody there": ["round now", "close"],
  stopped: ["close"],
};
export const QUIET_MINUTES = 10;
export const KEEP_MINUTES = 20;

// What can be asked of the day now, each with what it will do.
export function actsOf(items, words) {
  const minutes = roundMinutes(items.day);
  return (BY_PHASE[items.today?.phase] ?? []).map((request) => {
    const said = words.acts[request];
    const label = typeof said.label === "function" ? said.label(request === "quiet" ? QUIET_MINUTES : minutes) : said.label;
    if (request === "close") return { opens: "close", label, does: said.does };
    return { request, label, does: said.does, ...(request === "quiet" ? { minutes: QUIET_MINUTES } : {}) };
  });
}

// How long a round takes: the middle one of those that were finished today; 0 while none was.
export function roundMinutes(day) {
  const took = (day?.spans ?? []).filter(({ kind, until, outcome }) => kind === "round" && until && outcome === "done").map((span) => (Date.parse(span.until) - Date.parse(span.from)) / 60_000).sort((a, b) => a - b);
  return took.length ? Math.max(1, Math.round(took[took.length >> 1])) : 0;
}

export function nextOf({ items, badge }, words) {
  if (items.doing?.kind === "failure") return [words.next.looked];
  if (badge.name === "not started") return []; // it isn't known yet
  return (items.today?.next ?? []).map(({ what, at }) => words.next[what](hoursMinutes(at)));
}

// Since when a trouble has been open. It can be older than today: it isn't over because a night has passed.
export function sinceOf({ since }, { at, tag }) {
  return timeAndOtherDate(since, at, { locale: tag });
}

export function troublesOf({ items, tag, at }, words) {
  return (items.troubles ?? []).map((one) => ({
    raised: one.raised,
    state: one.state,
    says: inLanguage(one.words, tag) || spaced(one.name),
    told: words.troubles.states[one.state](sinceOf(one, { at, tag }), hoursMinutes(one.until), one.why),
    answers: one.state === "over" ? [] : [
      ...(one.state === "needs you" ? [] : [{ request: "over", about: one.raised, label: words.trouble.over }]),
    ],
  }));
}

export function doneOf({ items }, words) {
  const done = items.done_today;
  if (!done) return { numbers: [], unfinished: [] };
  const hours = words.done.hours(Math.floor(done.minutes / 60), done.minutes % 60);
  const numbers = [
    [words.done.rounds, String(done.rounds)],
    [words.done.ran, hours],
    [words.done.troubles, String(done.troubles)],
    [words.done.errors, done.errors === null ? words.done.unknown : String(done.errors)],
    [words.done.notes, String(done.notes + done.photographs + done.kept)],
  ];
  return { numbers, unfinished: done.unfinished.map(({ script, at, outcome, why }) => words.done.unfinished(words.done.scripts[script] ?? spaced(script), hoursMinutes(at), outcome, why)) };
}

// What may be running with nobody watching, and what isn't known of it.
export function mayRunOf({ badge, tag }, visitors) {
  return (badge.may_run ?? []).map((one) => {
    const until = hoursMinutes(one.until);
    const part = inLanguage(one.part, tag) || visitors.aPart;
    const said = one.doubt ? visitors.mayRunPerhaps(one.job, until, one.one_of) : visitors.mayRunUntil(one.job, until);
    return [`${part}: ${said}`, inLanguage(one.caution, tag), inLanguage(one.stop_by_hand, tag)].filter(Boolean);
  });
}

// How long until then, in words: whole minutes, and seconds near the end.
export function timeLeft(until, nowMs, words) {
  const s = Math.ceil((Date.parse(until) - nowMs) / 1000);
  if (!(s > 0)) return words.left.over;
  return s > 90 ? words.left.minutes(Math.round(s / 60)) : words.left.seconds(s);
}
