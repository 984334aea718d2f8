// Times of a recording: from microseconds on its own clock to what the museum's clock said, and how people write them.
// A wall time is shown as it was written, whatever the time zone of this computer: here it is milliseconds, as if that
// clock had shown world time.

const DAY_MS = 86_400_000;

export class Times {
  // `wall`: [[at_us, "2026-11-25T09:30:00.000+01:00"], ...], in order; `rate`: recording seconds a real second.
  constructor(wall, rate) {
    this.anchors = wall.map(([us, text]) => ({ us, ms: wallMs(text) })).filter(({ ms }) => ms !== null);
    this.rate = rate;
  }

  // What the museum's clock said at `us`; null if nobody knows.
  ms(us) {
    let anchor = this.anchors[0];
    if (!anchor) return null;
    for (const one of this.anchors) {
      if (one.us > us) break;
      anchor = one;
    }
    return anchor.ms + (us - anchor.us) / 1000 / this.rate;
  }

  // The moment at which the clock first said `ms`, or came nearest to it.
  us(ms) {
    let found = null;
    this.anchors.forEach((anchor, index) => {
      if (found !== null) return;
      const us = anchor.us + (ms - anchor.ms) * 1000 * this.rate;
      const end = this.anchors[index + 1]?.us ?? Infinity;
      if (us <= end) found = Math.max(us, anchor.us);
    });
    return found === null ? 0 : Math.round(found);
  }

  // "14:32:05", or with thousandths.
  clock(us, thousandths = false) {
    const ms = this.ms(us);
    return ms === null ? "time unknown" : new Date(Math.floor(ms)).toISOString().slice(11, thousandths ? 23 : 19);
  }

  // The moment of a time that a person wrote, such as 14:32 or 14:32:05.5, on the day of `near`; null if it is none.
  written(text, near) {
    const found = /^\s*(\d{1,2})[:.](\d{2})(?:[:.](\d{2}(?:[.,]\d{1,3})?))?\s*$/.exec(text);
    const now = this.ms(near);
    if (!found || now === null || Number(found[1]) > 23 || Number(found[2]) > 59) return null;
    const seconds = Number((found[3] ?? "0").replace(",", "."));
    if (seconds >= 60) return null;
    return this.us(Math.floor(now / DAY_MS) * DAY_MS + (Number(found[1]) * 60 + Number(found[2])) * 60_000 + seconds * 1000);
  }
}

export function wallMs(text) {
  const ms = text ? Date.parse(`${text.slice(0, 23).replace(/[+Z].*$/, "")}Z`) : NaN;
  return Number.isNaN(ms) ? null : ms;
}

// "25 November 2026"
export function dateOf(ms) {
  if (ms === null) return "a day that nobody knows";
  return new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(new Date(ms));
}

// A length of time as people say it: "2 h 10 min", "35 s", "120 ms".
export function lasting(us) {
  const s = us / 1e6;
  if (s < 1) return `${Math.round(s * 1000)} ms`;
  if (s < 10) return `${s.toFixed(1)} s`;
  if (s < 120) return `${Math.round(s)} s`;
  const min = Math.round(s / 60);
  if (min < 60) return `${min} min`;
  return min % 60 ? `${Math.floor(min / 60)} h ${min % 60} min` : `${min / 60} h`;
}

export function megabytes(bytes) {
  return bytes < 1e6 ? `${Math.ceil(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
