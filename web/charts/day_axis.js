// The day as an axis: from when to when, where its spans lie, and which hours are written. Times are the wall times of
// the museum's computer; here each is a number of milliseconds, as if its clock showed world time.

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const LONGEST = 30 * HOUR;
const FAR = 36 * HOUR; // a span that lies further from now was written by a clock that was wrong

// The clock time of a wall text; null if there is none.
export function wallMs(wall) {
  const ms = wall ? Date.parse(`${wall.slice(0, 19)}Z`) : NaN;
  return Number.isNaN(ms) ? null : ms;
}

// Now, by the museum's clock. A Date or a number is a moment anywhere: it is shown with the offset of the day's times.
export function nowMs(now, day) {
  if (typeof now === "string") return wallMs(now);
  const moment = Number(now);
  const wall = [day?.woken, ...(day?.spans ?? []).map(({ from }) => from)].find(Boolean) ?? "";
  const offset = /([+-])(\d\d):(\d\d)$/.exec(wall);
  if (offset) return moment + (offset[1] === "-" ? -1 : 1) * (Number(offset[2]) * HOUR + Number(offset[3]) * MINUTE);
  return moment - new Date(moment).getTimezoneOffset() * MINUTE;
}

// {opens, closes} of the day that `now` belongs to; null if nobody knows, or if the doors stay closed.
export function doors(hours, now) {
  return hours?.days?.length ? openOn(hours.days.find(({ date }) => date === dateText(now))) : doorsEachDay(hours?.every_day, now);
}

// When the doors next open after the day of `now`; null if nobody knows.
export function opensNext(hours, now) {
  if (!hours?.days?.length) {
    const open = doors(hours, now);
    return open && open.opens + DAY;
  }
  return openOn(hours.days.find(({ date, opens }) => opens && date > dateText(now)))?.opens ?? null;
}

// How many midnights lie between.
export function daysBetween(earlier, later) {
  return Math.floor(later / DAY) - Math.floor(earlier / DAY);
}

function dateText(ms) {
  return new Date(ms).toISOString().slice(0, 10);
}

function openOn(day) {
  if (!day?.opens || !day?.closes) return null;
  const midnight = Date.parse(`${day.date}T00:00:00Z`);
  return { opens: midnight + ofDay(day.opens), closes: midnight + ofDay(day.closes) };
}

// In older recordings the hours are those of every day. Doors that close after midnight close the next day.
function doorsEachDay(every, now) {
  if (!every?.opens || !every?.closes) return null;
  const [opens, closes] = [ofDay(every.opens), ofDay(every.closes)];
  const length = closes > opens ? closes - opens : closes - opens + DAY;
  const midnight = Math.floor(now / DAY) * DAY;
  const yesterday = midnight - DAY + opens;
  const first = closes <= opens && now < yesterday + length + HOUR ? yesterday : midnight + opens;
  return { opens: first, closes: first + length };
}

function ofDay(text) {
  const [hours, minutes] = text.split(":").map(Number);
  return hours * HOUR + (minutes || 0) * MINUTE;
}

// The day's spans as {kind, outcome, from, until, open}. One that goes on lasts until now; one whose clock was set back
// meanwhile has no length.
export function spansOf(day, now) {
  return (day?.spans ?? []).map((span) => ({ ...span, from: wallMs(span.from), until: wallMs(span.until), open: !span.until }))
    .filter(({ from }) => from !== null && Math.abs(from - now) < FAR)
    .map((span) => ({ ...span, until: Math.max(span.from, span.until ?? now) }));
}

// {from, to}: an hour before the doors open until an hour after they close, and wider if something lies outside.
export function dayRange(day, hours, now) {
  const open = doors(hours, now);
  const next = wallMs(day?.next?.at);
  const woken = wallMs(day?.woken);
  const moments = spansOf(day, now).flatMap(({ from, until }) => [from, until]);
  for (const one of [next, woken]) if (one !== null && Math.abs(one - now) < FAR) moments.push(one);
  if (open) moments.push(open.opens - HOUR, open.closes + HOUR);
  moments.push(now);
  let from = Math.floor(Math.min(...moments) / HOUR) * HOUR;
  let to = Math.ceil(Math.max(...moments) / HOUR) * HOUR;
  if (to - from < 2 * HOUR) to = from + 2 * HOUR;
  if (to - from > LONGEST) {
    to = Math.min(to, Math.max(now, from + LONGEST));
    from = Math.max(from, to - LONGEST);
    [from, to] = [Math.floor(from / HOUR) * HOUR, Math.ceil(to / HOUR) * HOUR];
  }
  return { from, to };
}

// Every full hour of the range.
export function hoursOf({ from, to }) {
  return Array.from({ length: Math.round((to - from) / HOUR) + 1 }, (_, n) => from + n * HOUR);
}

// The hours that are written, the most important first: one that has no room beside those before it is left out.
export function writtenHours(hours, every, open) {
  const ofDoors = open ? [open.closes, open.opens].filter((one) => hours.includes(one)) : [];
  return [...new Set([hours[0], ...ofDoors, hours.at(-1), ...hours.filter((_, n) => n % every === 0)])];
}

// "9:00", or "9" where there is little room.
export function hourText(ms, short) {
  const hour = new Date(ms).getUTCHours();
  return short ? String(hour) : `${hour}:00`;
}

export function minuteText(ms) {
  return new Date(ms).toISOString().slice(11, 16);
}

// A span's [left, width] in pixels: never thinner than can be seen, and with a gap before the next if there is room.
export function spanBox({ from, until }, next, place, least) {
  const left = place(from);
  const free = next === undefined ? Infinity : place(next) - left;
  const wanted = Math.max(place(until) - left, least);
  return [left, Math.max(Math.min(wanted, Math.max(free - 1, least * 0.5)), 0.75)];
}

// Spans for telling: rounds that follow each other become one span with their count.
export function gathered(spans) {
  const found = [];
  for (const span of spans) {
    const last = found.at(-1);
    if (last?.kind === "round" && span.kind === "round" && !span.open) Object.assign(last, { until: span.until, count: last.count + 1 });
    else found.push({ ...span, count: 1 });
  }
  return found;
}

// What leaves the machine on when it has ended.
const ON_AFTER = ["opening", "round"];

// What is to be said about what comes: [what, time or null] with what in "round", "rest", "closing", "opens", "tomorrow",
// "later"; or null.
export function nextOf(day, hours, now) {
  const at = wallMs(day?.next?.at);
  if (day?.next && at === null) return [day.next.what, null]; // when isn't known
  if (at !== null && at > now - MINUTE && at - now < DAY) return [day.next.what, at];
  const open = doors(hours, now);
  if (open && now < open.opens) return ["opens", open.opens];
  const spans = spansOf(day, now);
  if ((open && now < open.closes) || spans.some((span) => span.open)) return null;
  if (ON_AFTER.includes(spans.at(-1)?.kind)) return null; // it may still be on, and doesn't wake then
  const again = opensNext(hours, now);
  return again === null ? null : [daysBetween(now, again) === 1 ? "tomorrow" : "later", again];
}
