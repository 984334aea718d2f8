// The openings that a museum's own drawing names, as groups `opening-KIND`: found in it once it is on the page.

import { stillOpening } from "./openings.js";
import { openingGroup } from "./pictures.js";

export function fillMuseums(made, place, root, pxPerCm) {
  const frame = root.getBoundingClientRect();
  const windows = [];
  for (const { kind, real } of place.openings) {
    const there = openingGroup(made.copy, place.name, kind);
    const box = there?.getBoundingClientRect();
    if (!box?.width || !box.height) continue;
    const [x, y] = [(box.left - frame.left) / pxPerCm - place.x, (box.top - frame.top) / pxPerCm - place.y];
    windows.push({ kind, real, x, y, w: box.width / pxPerCm, h: box.height / pxPerCm });
  }
  for (const one of windows) {
    if (one.kind !== "lamps" && one.kind !== "switches") made.inside.append(stillOpening(one));
  }
  return windows;
}
