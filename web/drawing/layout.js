// Where each part stands, in centimetres of the machine and pixels for each. Pure: the tests run it without a browser.

export const SIDE = 9; // how far a part's top and right side go to the right
export const RISE = 6; // and how far up
export const PLINTH = 5;
export const TAG_HIGH = 16;
export const TEXT_FROM = 1.3; // pixels a centimetre: below this nothing is written
export const LAMPS_FROM = 1;
export const NAME_SIZE = 11.4; // 28 px on the screen beside the machine
export const LEAST_SIZE = 9; // 22 px
export const LEAST_PX = 14; // on a small screen, letters are as large as this at least
export const NAME_AT = 34; // the names' first line, below the floor
export const LINE = 10.6;
export const CABLE = { disc: 8.8, console: 16.8 }; // how far below the floor they lie
const GAP = 24;
const GAP_AT_A_DESK = 42; // for a chair
const LEFT = 5;
const WORDS_FROM = 84; // a gap as wide as this has room for words
const UNDER = 54.5;
const UNDER_SMALL = 20;
const BY_A_DESK = ["desk", "terminal", "printer"];

export const isConsole = (part) => BY_A_DESK.includes(part.shape);

export function cabinetsOf(drawn) {
  const cabinets = new Map();
  for (const [name, part] of Object.entries(drawn)) {
    if (!cabinets.has(part.cabinet)) cabinets.set(part.cabinet, []);
    cabinets.get(part.cabinet).push({ openings: [], plate: "", picture: "", ...part, name });
  }
  return [...cabinets.values()];
}

const heightOf = (stack) => stack.reduce((sum, part) => sum + part.height_cm, 0);
const widthOf = (stack) => Math.max(...stack.map((part) => part.width_cm));

function gapsOf(stacks) {
  return stacks.slice(1).map((stack, i) => ([stack, stacks[i]].some((one) => one.some(isConsole)) ? GAP_AT_A_DESK : GAP));
}

// `linesUnder`: how many lines of names and states are wanted under the floor. `heightPx` 0: as high as it gets.
export function layout(drawn, { widthPx, heightPx = 0, size = "large", linesUnder = 2 }) {
  const stacks = cabinetsOf(drawn);
  const gaps = gapsOf(stacks);
  const heights = stacks.map(heightOf);
  const tallest = Math.max(...heights);
  const roomForTags = heights.some((one) => tallest - one >= TAG_HIGH + RISE + 4);
  const top = RISE + 1 + (roomForTags || size === "small" ? 0 : TAG_HIGH + 4);
  const lowest = top + tallest + PLINTH;
  const least = LEFT + stacks.reduce((sum, stack) => sum + widthOf(stack), 0) + gaps.reduce((a, b) => a + b, 0) + SIDE + 2;
  const under = (text) => (text ? UNDER + LINE * Math.max(0, linesUnder - 2) : UNDER_SMALL);
  const fitted = (text) => Math.min(widthPx / least, heightPx ? heightPx / (lowest + under(text)) : Infinity);
  const text = size !== "small" && fitted(true) >= TEXT_FROM;
  const pxPerCm = fitted(text);
  const width = widthPx / pxPerCm;
  // In a holder that is higher, the floor stays near its foot, where the caption is.
  const floor = lowest + Math.max(0, heightPx / pxPerCm - lowest - under(text));
  const spare = Math.max(0, width - least);
  const wide = size === "row" ? spare / Math.max(1, gaps.length) : Math.min(10, spare / Math.max(1, gaps.length));
  const words = text && size === "row" && Math.min(...gaps, Infinity) + wide >= WORDS_FROM;
  const left = LEFT + (size === "small" ? Math.max(0, spare - wide * gaps.length) / 2 : 0);
  const cabinets = place(stacks, gaps.map((gap) => gap + wide), left, floor, width);
  return {
    pxPerCm, floor, width, height: floor + under(text), text, words, lamps: pxPerCm >= LAMPS_FROM,
    cabinets, places: cabinets.flatMap((one) => one.parts), top: top - RISE,
    ground: { from: Math.max(0, left - LEFT), to: Math.min(width, cabinets.at(-1).x + cabinets.at(-1).w + SIDE + 2) },
  };
}

function place(stacks, gaps, left, floor, width) {
  let x = left;
  return stacks.map((stack, i) => {
    const w = widthOf(stack);
    const high = heightOf(stack);
    let y = floor - PLINTH - high;
    const parts = stack.map((part, n) => {
      const placed = { ...part, x: x + (w - part.width_cm) / 2, y, w: part.width_cm, h: part.height_cm, first: n === 0, last: n === stack.length - 1, stacked: stack.length > 1 };
      y += part.height_cm;
      return standing(placed, floor);
    });
    const room = i < gaps.length ? w + gaps[i] : Math.max(w, width - x);
    const made = { name: stack[0].cabinet, x, y: floor - PLINTH - high, w, h: high, room, parts };
    x += w + (gaps[i] ?? 0);
    return made;
  });
}

// A desk and what stands on legs of its own has no plinth under it: it reaches the floor.
function standing(part, floor) {
  return part.last && isConsole(part) ? { ...part, h: floor - part.y } : part;
}

// The cables on the floor, each with the points of its way. A processor is what most parts are joined to.
export function cables({ places, floor }) {
  const at = new Map(places.map((one) => [one.name, one]));
  const joined = (a, b) => a.joins.includes(b.name) || b.joins.includes(a.name);
  const count = (one) => places.filter((other) => other !== one && joined(one, other)).length;
  const hub = places.reduce((best, one) => (best && count(best) >= count(one) ? best : one), null);
  const ways = [];
  for (const [i, one] of places.entries()) {
    for (const other of places.slice(i + 1)) {
      if (!joined(one, other) || one.cabinet === other.cabinet) continue;
      const [from, to] = other === hub ? [other, one] : [one, other];
      ways.push(way(at.get(from.name), at.get(to.name), hub, floor));
    }
  }
  return { hub: hub?.name ?? "", ways };
}

// Where the cable of a part that isn't the hub leaves the floor.
export const footOf = (part) => part.x + part.w * (part.shape === "desk" ? 0.45 : 0.5);

function way(from, to, hub, floor) {
  const typed = isConsole(to) || isConsole(from);
  const depth = floor + (typed ? CABLE.console : CABLE.disc);
  const foot = (part) => (part === hub ? part.x + part.w * (typed ? 0.37 : 0.57) : footOf(part));
  const end = (part) => (part.shape === "desk" ? floor - 58 : floor - (isConsole(part) ? 0 : 0.5));
  return { kind: typed ? "console" : "disc", from: from.name, to: to.name, x1: foot(from), y1: end(from), x2: foot(to), y2: end(to), depth };
}

export function cablePath({ x1, y1, x2, y2, depth }) {
  const corner = Math.min(4, Math.abs(x2 - x1) / 2);
  const towards = Math.sign(x2 - x1) || 1;
  return `M ${x1} ${y1} V ${depth - corner} q 0 ${corner} ${towards * corner} ${corner} H ${x2 - towards * corner} q ${towards * corner} 0 ${towards * corner} ${-corner} V ${y2}`;
}
