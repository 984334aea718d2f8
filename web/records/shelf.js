// Which recordings there are: days as lines, on the hours of the day, the newest first.

import { $, newElement, setText } from "../shared/dom.js";
import { smallLine } from "./day_line.js";
import { addressOf } from "./places.js";
import { dateOf, lasting, megabytes, wallMs } from "./times.js";

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

// Paints the list; `summaries` say what each recording had, once they are known.
export function paintShelf(rows, summaries = {}) {
  const known = rows.map((row) => {
    const fromMs = row.why ? null : wallMs(row.wall);
    return { ...row, had: summaries[row.name], fromMs, toMs: fromMs === null ? null : fromMs + row.end_us / 1000 / row.rate };
  });
  const days = known.filter(({ fromMs }) => fromMs !== null);
  const [from, to] = hours(days);
  const count = rows.length === 1 ? "1 recording" : `${rows.length} recordings`;
  setText($("shelf-says"), `${count}, the newest first. Each line runs from ${hour(from)} to ${hour(to)}; a triangle is something that went wrong, a diamond a note.`);
  const newestFirst = known.toReversed().sort((a, b) => (b.fromMs ?? 0) - (a.fromMs ?? 0));
  $("shelf-list").replaceChildren(...newestFirst.map((row) => item(row, from, to)));
}

// The hours of the day in which all these were recorded, as milliseconds since midnight.
function hours(days) {
  const starts = days.map(({ fromMs }) => fromMs % DAY_MS);
  const ends = days.map(({ fromMs, toMs }) => (fromMs % DAY_MS) + (toMs - fromMs));
  const from = Math.floor(Math.min(...starts, 9 * HOUR_MS) / HOUR_MS) * HOUR_MS;
  return [from, Math.min(Math.max(Math.ceil(Math.max(...ends, 17 * HOUR_MS) / HOUR_MS) * HOUR_MS, from + HOUR_MS), 2 * DAY_MS)];
}

const hour = (ms) => `${String(Math.floor(ms / HOUR_MS) % 24).padStart(2, "0")}:00`;

function item(row, from, to) {
  const one = newElement("li");
  if (row.why) {
    one.append(newElement("strong", row.name), newElement("p", row.why));
    return one;
  }
  const link = newElement("a", undefined, "recording");
  link.href = addressOf(row.name);
  const midnight = Math.floor(row.fromMs / DAY_MS) * DAY_MS;
  const of = [row.machine, row.machine_is === "simulated" ? "simulated" : "", row.practice ? "practice" : "", ...had(row), lasting(row.end_us / row.rate), megabytes(row.size_bytes), row.closed ? "" : "not closed properly"];
  link.append(newElement("strong", `${dateOf(row.fromMs)}, ${clock(row.fromMs)} to ${clock(row.toMs)}`), newElement("span", of.filter(Boolean).join(" · ")));
  one.append(link, smallLine(row, midnight + from, midnight + to));
  return one;
}

function had({ had: one }) {
  if (!one) return [];
  const count = (n, name, names) => (n ? `${n} ${n === 1 ? name : names}` : "");
  return [count(one.rounds, "round done", "rounds done"), count(one.failed, "script failed", "scripts failed"), count(one.troubles.length, "thing wrong", "things wrong"), count(one.notes.length, "note", "notes"), one.damaged ? "a part can’t be read" : ""];
}

const clock = (ms) => new Date(ms).toISOString().slice(11, 16);
