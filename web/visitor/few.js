// The one or two large figures beside the drawing: only while the display that they were read from is standing.

const TWO = 2;

function reading(readings, name) {
  const dot = name.indexOf(".");
  return readings?.[name.slice(0, dot)]?.[name.slice(dot + 1)];
}

// [{value, words, seq}]
export function fewFigures(items, { words, live, readings }) {
  if (!live || items.silent || items.closed) return [];
  const figures = [];
  for (const one of Object.values(items.share ?? {})) figures.push({ value: String(one.value), words: words.few.share, seq: one.seq });
  const used = Object.values(items.transfers ?? {});
  if (used.length && used.every((one) => one.per_min !== null)) {
    const perMinute = used.reduce((sum, one) => sum + one.per_min, 0);
    figures.push({ value: perMinute.toLocaleString(words.locale), words: words.few.perMinute, seq: used[0].seq });
  } else if (used.length) {
    const total = used.reduce((sum, one) => sum + one.total, 0);
    figures.push({ value: total.toLocaleString(words.locale), words: words.few.used, seq: used[0].seq });
  }
  for (const name of items.standing ? (items.recording?.now?.errors ?? []) : []) {
    const errors = reading(readings, name);
    if (errors && !errors.past) figures.push({ value: errors.value.toLocaleString(words.locale), words: words.few.errors, seq: errors.seq });
  }
  return document.documentElement.dataset.scene === "looking inside" ? figures : figures.slice(0, TWO);
}
