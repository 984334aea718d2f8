// What stands where on the front of a part, in centimetres from its upper left corner. Pure.
// From the top down: name plate, lamps, switches, shelf, opening, louvres.

export const DESK_TOP = 72; // above the floor
const EDGE = 5.5;
const PLATE = 8;
const LOUVRE = 4.5;
const PANEL = { lamps: 14, switches: 18 };
const WEIGHT = { gauge: 1.5, core: 1.1, disc: 1.6, packs: 1.6, screen: 1.4, paper: 1.4, tape: 1.4 };

const isWindow = (one) => one.kind !== "lamps" && one.kind !== "switches";

export function frontPlan(part) {
  const plan = { plate: null, panels: [], shelf: null, windows: [], door: null, louvres: null, strip: null, box: null };
  const make = { drive: planDrive, desk: planDesk, terminal: planTerminal, printer: planPrinter, chest: planChest, tape: planTape }[part.shape];
  (make ?? planCabinet)(part, plan);
  return plan;
}

function planCabinet({ w, h, plate, openings, shape }, plan) {
  let y = 4;
  if (plate) {
    plan.plate = { x: EDGE, y, w: w - 2 * EDGE, h: PLATE, text: plate };
    y += PLATE + 3;
  }
  for (const { kind, count } of openings.filter((one) => !isWindow(one))) {
    plan.panels.push({ kind, count, x: 3, y, w: w - 6, h: PANEL[kind] });
    y += PANEL[kind];
  }
  if (plan.panels.length) {
    plan.shelf = y + 1.5;
    y += 4;
  }
  const lines = shape === "cabinet" && h >= 60 ? Math.min(6, Math.floor((h * 0.2) / LOUVRE)) : 0;
  const foot = h - (lines ? 8 + (lines - 1) * LOUVRE : EDGE);
  if (lines) plan.louvres = { x: w * 0.17, y: foot, w: w * 0.66, lines };
  const room = { x: EDGE, y: y + 4, w: w - 2 * EDGE, h: foot - (lines ? 7 : 2) - y - 4 };
  const windows = openings.filter(isWindow);
  if (windows.length) plan.windows = share(windows, room);
  if (windows.some((one) => one.real === false)) plan.hole = holeAround(plan.windows);
  if (!windows.length && shape === "cabinet" && room.h > 20) plan.door = { ...room, h: Math.min(room.h, w * 1.3) };
}

// Openings share the room, from the top down, a level over all others. Those that we cut out lie in one hole.
function share(open, room) {
  const windows = [...open].sort((a, b) => Number(b.kind === "gauge") - Number(a.kind === "gauge"));
  const all = windows.reduce((sum, one) => sum + (WEIGHT[one.kind] ?? 1), 0);
  const gap = 2.5;
  let y = room.y;
  return windows.map((one) => {
    const h = ((room.h - gap * (windows.length - 1)) * (WEIGHT[one.kind] ?? 1)) / all;
    const made = { kind: one.kind, real: one.real, ...fitted(one.kind, { x: room.x, y, w: room.w, h }) };
    y += h + gap;
    return made;
  });
}

// One hole for all that we cut into the drawing.
function holeAround(windows) {
  const cut = windows.filter((one) => one.real === false);
  const [y, end] = [Math.min(...cut.map((one) => one.y)) - 1, Math.max(...cut.map((one) => one.y + one.h)) + 1];
  return { x: cut[0].x, w: cut[0].w, y, h: end - y };
}

// No opening is drawn out of its shape: a disc is round, and a pack isn't higher than it is wide.
function fitted(kind, { x, y, w, h }) {
  const most = { disc: w, packs: w * 0.75, screen: w * 0.75, tape: w * 0.62, core: w * 0.7 }[kind] ?? h;
  const high = Math.min(h, most);
  return { x, y: y + (kind === "core" ? 0 : (h - high) / 2), w, h: high };
}

function planDrive({ w, h, plate, openings }, plan) {
  const tall = h > 80;
  const strip = tall ? 10 : 13;
  const foot = tall ? h - strip - 30 : h - strip - 2.5;
  const lamps = openings.find((one) => one.kind === "lamps");
  plan.strip = { x: EDGE, y: foot + 2, w: w - 2 * EDGE, h: strip - 2.5, framed: tall, text: plate, lamps: lamps?.count || 4 };
  if (tall) plan.louvres = { x: w * 0.18, y: foot + strip + 7, w: w * 0.64, lines: Math.floor((h - foot - strip - 10) / LOUVRE) };
  const room = { x: EDGE, y: EDGE, w: w - 2 * EDGE, h: foot - EDGE - 2 };
  const windows = openings.filter(isWindow);
  if (windows.length) plan.windows = share(windows, room);
  if (windows.some((one) => one.real === false)) plan.hole = holeAround(plan.windows);
  if (!windows.length) plan.door = { ...room, plain: true };
}

function planDesk({ w, h, openings }, plan) {
  const over = h - DESK_TOP;
  if (over < 12) return;
  const kind = openings.some((one) => one.kind === "paper") ? "printer" : "terminal";
  const wide = Math.min(w * 0.52, 56, over * 1.5);
  const box = { kind, x: w * 0.27, y: 0, w: wide, h: over - 1, oblique: true };
  plan.box = box;
  const opening = openings.find(isWindow) ?? { kind: "screen", real: true };
  plan.windows = [{ kind: opening.kind, real: opening.real, ...boxOpening(box, kind) }];
}

function boxOpening(box, kind) {
  if (kind === "printer") return { x: box.x + box.w * 0.16, y: box.y - 1, w: box.w * 0.68, h: box.h * 0.55 };
  return { x: box.x + box.w * 0.08, y: box.y + 4, w: box.w * 0.7, h: box.h - 13 };
}

function onLegs({ w, h, openings }, plan, kind, most) {
  const high = Math.min(h, most);
  plan.box = { kind, x: 0, y: 0, w, h: high, oblique: false, legs: h - high > 4 };
  const usual = kind === "printer" ? "paper" : "screen";
  const opening = openings.find(isWindow) ?? { kind: usual, real: true };
  plan.windows = [{ kind: opening.kind, real: opening.real, ...boxOpening(plan.box, kind) }];
}

const planTerminal = (part, plan) => onLegs(part, plan, "terminal", 45);
const planPrinter = (part, plan) => onLegs(part, plan, "printer", 50);

function planChest({ w, h, plate, openings }, plan) {
  plan.lid = h * 0.22;
  if (plate) plan.plate = { x: w * 0.2, y: plan.lid + 5, w: w * 0.6, h: PLATE, text: plate };
  const from = plan.lid + (plate ? PLATE + 9 : 5);
  const windows = openings.filter(isWindow);
  if (windows.length) plan.windows = share(windows, { x: EDGE, y: from, w: w - 2 * EDGE, h: h - from - EDGE });
}

function planTape({ w, h, plate, openings }, plan) {
  const text = plate ? PLATE + 3 : 0;
  if (plate) plan.plate = { x: EDGE, y: 4, w: w - 2 * EDGE, h: PLATE, text: plate };
  const windows = openings.filter(isWindow);
  const all = windows.length ? windows : [{ kind: "tape", real: true }];
  plan.windows = share(all, { x: EDGE, y: 4 + text, w: w - 2 * EDGE, h: Math.min(h - 30 - text, w * 0.8) });
  const end = plan.windows.at(-1).y + plan.windows.at(-1).h;
  plan.columns = { y: end + 3, h: Math.max(0, Math.min(h * 0.35, h - end - 12)) };
}
