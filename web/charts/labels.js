// Where labels go, so that none covers another, the water or the edge. Boxes are {left, top, right, bottom}.

const SHIFTS = [0, -0.2, 0.2, -0.35, 0.35, -0.5, 0.5]; // of the label's width, to either side of its point

export function overlap(a, b, gap = 0) {
  return a.left < b.right + gap && b.left < a.right + gap && a.top < b.bottom + gap && b.top < a.bottom + gap;
}

function inside(box, frame) {
  return box.left >= frame.left && box.right <= frame.right && box.top >= frame.top && box.bottom <= frame.bottom;
}

// A box for each label {x, y, width, height}, above its point (or below it, if `below` is allowed) and joined to it by
// an upright line. Null if there isn't room for all of them.
export function placeLabels(labels, frame, obstacles, { gap = 6, below = false } = {}) {
  const placed = [];
  const leaders = [];
  for (const label of labels) {
    const found = firstFree(label, frame, obstacles, placed, leaders, gap, below);
    if (!found) return null;
    placed.push(found.box);
    leaders.push(found.leader);
  }
  return placed;
}

function firstFree(label, frame, obstacles, placed, leaders, gap, below) {
  const step = label.height / 4;
  const most = Math.ceil((frame.bottom - frame.top) / step);
  for (let n = 0; n <= most; n += 1) {
    for (const side of below ? [-1, 1] : [-1]) {
      for (const shift of SHIFTS) {
        const away = gap * 2 + n * step;
        const wanted = label.x + shift * label.width - label.width / 2;
        const left = Math.min(Math.max(wanted, frame.left), frame.right - label.width);
        const top = side < 0 ? label.y - away - label.height : label.y + away;
        const box = { left, top, right: left + label.width, bottom: top + label.height };
        const leader = side < 0 ? upright(label.x, box.bottom, label.y) : upright(label.x, label.y, box.top);
        if (!inside(box, frame) || label.x < left - 1 || label.x > box.right + 1) continue;
        if (obstacles.some((other) => overlap(box, other, gap / 2))) continue;
        if (placed.some((other) => overlap(box, other, gap) || overlap(leader, other))) continue;
        if (leaders.some((other) => overlap(box, other, gap / 2))) continue;
        return { box, leader };
      }
    }
  }
  return null;
}

function upright(x, top, bottom) {
  return { left: x - 1, right: x + 1, top, bottom };
}

// Labels in one row: each {x, width, at}, the most important first. `at` says what lies at x: "start", "middle" or
// "end" of the label. Each keeps its place if it can, else it moves aside by at most `most`; null means no room.
export function placeInRow(labels, left, right, gap, most) {
  const taken = [];
  return labels.map(({ x, width, at = "middle" }) => {
    const wanted = at === "start" ? x : at === "end" ? x - width : x - width / 2;
    const clamped = Math.min(Math.max(wanted, left), right - width);
    const candidates = [clamped, ...taken.flatMap((other) => [other.right + gap, other.left - gap - width])];
    const free = candidates.filter((start) => start >= left - 0.5 && start + width <= right + 0.5
      && Math.abs(start - clamped) <= most
      && taken.every((other) => start >= other.right + gap - 0.5 || start + width <= other.left - gap + 0.5));
    if (free.length === 0 || width > right - left) return null;
    const start = free.reduce((best, one) => (Math.abs(one - clamped) < Math.abs(best - clamped) ? one : best));
    taken.push({ left: start, right: start + width });
    return start;
  });
}
