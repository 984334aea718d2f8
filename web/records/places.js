// Where to go: by facts, steps, captions, troubles and so on, and what an address means. It knows no browser.

// What can be gone by, the names people choose, and the [us, seq] of each in the day's marks.
export const BY = [
  { id: "fact", says: "fact", key: "" },
  { id: "step", says: "step", key: "s", of: ({ steps }) => steps.map(([from, , , , , seq]) => [from, seq]) },
  { id: "trouble", says: "trouble", key: "t", of: ({ troubles }) => troubles.map(([us, seq]) => [us, seq]) },
  { id: "caption", says: "caption", key: "a", of: ({ captions }) => captions.map(([us, seq]) => [us, seq]) },
  { id: "reading", says: "reading", key: "d", of: ({ readings }) => readings.map(([us, seq]) => [us, seq]) },
  { id: "hand", says: "act by hand", key: "h", of: ({ hands, acts }) => [...hands.map(([from, , , , , , seq]) => [from, seq]), ...acts.map(([us, seq]) => [us, seq])].sort(byTime) },
  { id: "note", says: "note", key: "n", of: ({ notes }) => notes.map(([us, seq]) => [us, seq]) },
];

const byTime = ([a, seqA], [b, seqB]) => a - b || seqA - seqB;

// The next place (1) or the one before (-1) in a list of [us, seq], from a fact's number; null if there is none.
export function neighbour(places, seq, direction) {
  if (direction > 0) return places.find(([, one]) => one > seq) ?? null;
  return places.findLast(([, one]) => one < seq) ?? null;
}

// An address: #NAME/4711 is a recording at a fact, #NAME at its start, # the list, #charts the charts.
export function readAddress(hash) {
  const text = hash.replace(/^#/, "");
  if (!text) return { view: "shelf" };
  if (text === "charts") return { view: "charts" };
  const [name, fact] = text.split("/");
  const seq = /^\d{1,15}$/.test(fact ?? "") ? Number(fact) : null;
  return { view: "study", name: decode(name), seq };
}

export function addressOf(name, seq = null) {
  return `#${encodeURIComponent(name)}${seq === null ? "" : `/${seq}`}`;
}

function decode(name) {
  try {
    return decodeURIComponent(name);
  } catch {
    return name;
  }
}
