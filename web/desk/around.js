// What stands around the block: what comes next, what else can be asked for, the troubles, and what was done today.
// Like blocks.js it knows no browser.

import { hoursMinutes, inLanguage, spaced, timeAndOtherDate } from "../shared/words.js";
import { reasonOf } from "./reasons.js";

const BY_PHASE = {
  rounds: ["quiet", "away", "close", "round now"], // what isn't always there stands last, so that the others keep their places
  away: ["close"],
  quiet: ["quiet", "away", "close", "round now"], // quiet once more, for a longer talk
  "nobody there": ["close", "round now"],
  stopped: ["close"],
};
export const QUIET_MINUTES = 10;
export const KEEP_MINUTES = 20;
const SLOW_S = 30; // a step that lasts longer is named on the page
const BROKEN_OFF_MS = 10 * 60_000; // for so long it is said that something was broken off
const UNOPENED = ["before opening", "over"];

// What can be asked of the day now, each with what it will do.
export function actsOf(items, words) {
  const minutes = roundMinutes(items.day);
  const { phase, resumes } = items.today ?? {};
  const acts = phase === "stopped" && resumes === "closing" ? [] : (BY_PHASE[phase] ?? []); // it is closed already by going on
  return acts.map((request) => {
    if (request === "close") return { opens: "close", ...closeOf(items, words) };
    const said = words.acts[request];
    const label = typeof said.label === "function" ? said.label(request === "quiet" ? QUIET_MINUTES : minutes) : said.label;
    return { request, label, does: said.does, ...(request === "quiet" ? { minutes: QUIET_MINUTES } : {}) };
  });
}

// What closing the day will do: a round that runs is finished first, if one does.
export function closeOf({ session, script }, { acts: { close } }) {
  const runs = session?.state === "running" && script && !script.ended;
  return { label: close.label, does: runs ? close.does : close.doesNow };
}

// Whether it is being found out how the machine stands, where something is to begin once that is known.
export const isSought = (phase, since) => Boolean(since) && ["opening", "rounds", "closing"].includes(phase);

// Whether the machine should have been heard and wasn't: before the opening nothing is expected of it.
export function isSilent({ items, badge }) {
  return badge.name === "silent" && !UNOPENED.includes(items.today?.phase ?? "before opening");
}

// The step that the program has been at for a while; null while each takes only its moment.
export function slowStep({ items, at }, afterS = SLOW_S) {
  const { at_step: step } = items;
  if (!step?.until || !at || items.doing) return null;
  return Date.parse(at) - Date.parse(step.since) >= afterS * 1000 ? step : null;
}

// What a trouble's card says to do, for the list in which it stands until it is over.
export function instructionsOf(one, { items, tag }, words) {
  const does = inLanguage(one.do, tag), keyholder = inLanguage(items.for_docent?.keyholder, tag);
  const call = one.call === "keyholder" && !keyholder ? "" : words.trouble.calls[one.call]?.(keyholder);
  return [does && words.trouble.do(does), words.trouble.safe[one.safe_to_leave], call].filter(Boolean);
}

// How long a round takes: the middle one of those that were finished today; 0 while none was.
export function roundMinutes(day) {
  const took = (day?.spans ?? []).filter(({ kind, until, outcome }) => kind === "round" && until && outcome === "done").map((span) => (Date.parse(span.until) - Date.parse(span.from)) / 60_000).sort((a, b) => a - b);
  return took.length ? Math.max(1, Math.round(took[took.length >> 1])) : 0;
}

// How long the round that runs still takes, by those of today; 0 while that can't be said.
export function minutesLeft({ day, script }, at) {
  const now = (day?.spans ?? []).find(({ kind, until }) => kind === "round" && !until);
  if (!script?.round || script.tidying || !now || !at) return 0;
  return Math.max(0, roundMinutes(day) - Math.floor((Date.parse(at) - Date.parse(now.from)) / 60_000));
}

// A reason with the parts by the names that the folder gives them.
export function reasonIn({ recording }, why, words, tag) {
  return reasonOf(why, words, (part) => inLanguage(recording?.parts?.[part], tag) || spaced(part));
}

// The round that was broken off not long ago, after which the rounds have gone on by themselves.
export function brokenOff(items, at, words, tag) {
  const last = items.done_today?.unfinished.at(-1);
  const isRecent = last?.script === "round" && at && Date.parse(at) - Date.parse(last.at) < BROKEN_OFF_MS;
  return isRecent ? words.phases.wentOn(unfinishedOf(last, items, words, tag)) : "";
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

export function troublesOf({ items, tag, at, badge }, words) {
  const quiet = isSilent({ items, badge }) ? [{ raised: 0, state: "needs you", says: words.silent.says, told: words.troubles.states["needs you"](hoursMinutes(badge.since)), answers: [] }] : [];
  const slow = quiet.length ? null : slowStep({ items, at });
  const long = slow && isHalfOver(slow, at) ? [{ raised: 0, state: "seen", told: words.troubles.slow, says: words.phases.atStep(spaced(slow.name), hoursMinutes(slow.since), hoursMinutes(slow.until), slow.again), answers: [] }] : [];
  return [...quiet, ...long, ...(items.troubles ?? []).map((one) => ({
    raised: one.raised,
    state: one.state,
    says: [inLanguage(one.words, tag) || spaced(one.name), ...stillToDo(one, { items, tag }, words)].join(" "),
    told: words.troubles.states[one.state](sinceOf(one, { at, tag }), hoursMinutes(one.until), reasonOf(one.why, words)),
    answers: one.state === "over" ? [] : [
      ...(one.state === "needs you" ? [] : [{ request: "over", about: one.raised, label: words.trouble.over }]),
    ],
  }))];
}

const isHalfOver = ({ since, until }, at) => 2 * (Date.parse(at) - Date.parse(since)) >= Date.parse(until) - Date.parse(since);

// Seen or set aside isn't over: the caution and what is to be done stay.
function stillToDo(one, page, words) {
  if (one.state === "needs you" || one.state === "over") return [];
  const caution = inLanguage(one.caution, page.tag);
  return [...(caution ? [`${words.caution}: ${caution}`] : []), ...instructionsOf(one, page, words)];
}

export function doneOf({ items, tag }, words) {
  const done = items.done_today;
  if (!done) return { numbers: [], unfinished: [] };
  const hours = words.done.hours(Math.floor(done.minutes / 60), done.minutes % 60);
  const numbers = [
    [words.done.rounds, String(done.rounds)],
    [words.done.ran, hours],
    [words.done.troubles, String(done.troubles)],
    [words.done.errors, done.errors === null ? words.done.unknown : words.done.counted(done.errors, done.errors_at && hoursMinutes(done.errors_at))],
    [words.done.notes, String(done.notes + done.photographs + done.kept)],
  ];
  return { numbers, unfinished: done.unfinished.map((one) => unfinishedOf(one, items, words, tag)) };
}

function unfinishedOf({ script, at, outcome, why }, items, words, tag) {
  return words.done.unfinished(words.done.scripts[script] ?? spaced(script), hoursMinutes(at), outcome, reasonIn(items, why, words, tag));
}

// What may be running with nobody watching, and what isn't known of it.
export function mayRunOf({ badge, tag, words }, visitors) {
  return (badge.may_run ?? []).map((one) => {
    const until = hoursMinutes(one.until);
    const byHand = inLanguage(one.stop_by_hand, tag);
    const part = inLanguage(one.part, tag) || visitors.aPart;
    const said = one.doubt ? visitors.mayRunPerhaps(one.job, until, one.one_of) : visitors.mayRunUntil(one.job, until);
    return [`${part}: ${said}`, inLanguage(one.caution, tag), byHand && words.mayRun.byHand(byHand)].filter(Boolean);
  });
}

// How long until then, in words: whole minutes, and seconds near the end.
export function timeLeft(until, nowMs, words) {
  const s = Math.ceil((Date.parse(until) - nowMs) / 1000);
  if (!(s > 0)) return words.left.over;
  return s > 90 ? words.left.minutes(Math.round(s / 60)) : words.left.seconds(s);
}
