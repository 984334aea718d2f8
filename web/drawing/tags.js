// Where the tags of the jobs hang: over the lower parts, as near to their own part as there is room. Pure but for `tag`.

import { newElement } from "../shared/dom.js";
import { RISE, SIDE, TAG_HIGH } from "./layout.js";

const STEP = 4;
const APART = 4;
const THREAD = 14; // at least, so that it can be seen

const overlaps = (a, b) => a.x < b.x + b.w + APART && b.x < a.x + a.w + APART && a.y < b.y + b.h + APART && b.y < a.y + a.h + APART;

// The place in a part that a thread leads to: the middle of what is open in it.
export function targetOf(part, windows) {
  const open = windows[0];
  return open ? { x: part.x + open.x + open.w * 0.8, y: part.y + open.y + open.h * 0.4 } : { x: part.x + part.w * 0.8, y: part.y + part.h * 0.3 };
}

// [{job, x, y, w, h, target}] for the jobs that have room. `others` are places that must stay free.
export function placeTags(jobs, layout, targets, widthOf, others = []) {
  const solid = [...others, ...layout.cabinets.map((one) => ({ x: one.x, y: one.y - RISE, w: one.w + SIDE, h: layout.floor - one.y + RISE }))];
  const right = layout.ground.to;
  const placed = [];
  for (const job of jobs) {
    const target = targets.get(job.part) ?? null;
    const size = { w: widthOf(job), h: TAG_HIGH };
    const best = search(size, target, right, layout, [...solid, ...placed]);
    if (best) placed.push({ job, ...best, ...size, target });
  }
  return placed;
}

function search(size, target, right, layout, solid) {
  let best = null;
  const lowest = Math.max(...layout.cabinets.map((one) => one.y)) - RISE - APART - size.h;
  for (let y = layout.top; y <= lowest; y += STEP) {
    for (let x = 0; x + size.w <= right; x += STEP) {
      const at = { x, y, ...size };
      if (solid.some((one) => overlaps(at, one))) continue;
      const cost = costOf(at, target, right);
      if (!best || cost < best.cost) best = { x, y, cost };
    }
  }
  return best;
}

function costOf(at, target, right) {
  if (!target) return right - at.x - at.w + at.y * 0.2;
  const thread = Math.hypot(at.x - target.x, at.y + at.h / 2 - target.y);
  const leftOfIt = at.x < target.x ? 60 + (target.x - at.x) : 0;
  return thread + leftOfIt + (thread < THREAD ? 100 : 0);
}

export const tagText = (job, said) => [job.job, job.name].filter(Boolean).join(" ") || said.aJob;

// A luggage label with its hole; the thread to its part is drawn apart.
export function tag(job, said, past) {
  const element = newElement("div", undefined, past ? "tag past" : "tag");
  element.append(newElement("span", tagText(job, said)));
  element.dataset.fact = job.seq;
  element.dataset.job = job.job;
  return element;
}
