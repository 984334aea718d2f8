// Scales: values to places, marks at round values, and how exactly a value is written.

// Gives the place of a value: `from` lies at `start`, `to` at `end`.
export function linear(from, to, start, end) {
  const span = to - from || 1;
  return (value) => start + ((value - from) / span) * (end - start);
}

// The values from `from` to `to`, `every` apart. Never more than 400: a folder's slip can't fill the page.
export function steps(from, to, every) {
  const apart = every > 0 ? Math.max(every, (to - from) / 400) : to - from || 1;
  const found = [];
  for (let n = 0; from + n * apart <= to + apart / 1e6; n += 1) found.push(Number((from + n * apart).toFixed(9)));
  return found;
}

// Every how many values one is written, so that neighbours are at least `least` apart. Prefers 1, 2, 3, 4, 6, 12, 24.
export function writtenEvery(count, length, least) {
  const apart = length / Math.max(1, count - 1);
  for (const every of [1, 2, 3, 4, 6, 12, 24]) if (every * apart >= least) return every;
  return Math.max(1, count - 1);
}

// The range of an axis, made longer by whole marks where a value lies outside it.
export function covering({ from, to, every }, values) {
  const step = every > 0 ? every : (to - from || 1);
  let [least, most] = [from, to];
  for (const value of values) {
    if (value < least) least = from - Math.ceil((from - value) / step) * step;
    if (value > most) most = to + Math.ceil((value - to) / step) * step;
  }
  return { from: least, to: most };
}

// How many figures after the point the values have, three at most: printed values are shown as exactly as they came.
export function decimals(values) {
  return Math.max(0, ...values.map((value) => Math.min(3, String(value).split(".")[1]?.length ?? 0)));
}

export function numberText(value, places, locale) {
  return new Intl.NumberFormat(locale, { minimumFractionDigits: places, maximumFractionDigits: places }).format(value);
}

// Hours as a number, written as a clock would show them.
export function clockText(hours) {
  const minutes = Math.round(hours * 60);
  const two = (n) => String(n).padStart(2, "0");
  return `${two(Math.floor(minutes / 60))}:${two(((minutes % 60) + 60) % 60)}`;
}
