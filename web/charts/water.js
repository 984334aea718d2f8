// The sea below a printed curve, as on a chart: lining that follows the surface, ripples, and a boat while it grows.

import { newSvg } from "../shared/dom.js";
import { heightAt, pathOf } from "./curve.js";

const LINING = [0.46, 1, 1.65, 2.45]; // below the surface, in heights of a letter
const CLEAR = 3.3; // no ripple nearer to the surface than this

// Elements for one piece of the curve, from the fill to the surface. `at` are its slopes, `floor` its lower edge.
export function water(run, at, across, up, floor, em, clip) {
  if (run.length < 2) return [];
  const [left, right] = [across(run[0][0]), across(run.at(-1)[0])];
  const surface = pathOf(run, at, across, up);
  return [
    newSvg("path", { class: "sea", d: `${surface}L${right.toFixed(1)} ${floor}L${left.toFixed(1)} ${floor}Z` }),
    newSvg("g", { "clip-path": clip },
      ...LINING.map((down, n) => newSvg("path", { class: `lining lining-${n + 1}`, d: pathOf(run, at, across, up, down * em) })),
      newSvg("path", { class: "ripples", d: ripples(run, at, across, up, floor, em) })),
  ];
}

function ripples(run, at, across, up, floor, em) {
  const [wide, high, apart] = [em * 1.1, em * 0.16, em * 3.4];
  const [first, last] = [across(run[0][0]), across(run.at(-1)[0])];
  const scale = (run.at(-1)[0] - run[0][0]) / (last - first);
  const parts = [];
  for (let row = 0, y = floor - em * 0.55; y > 0; row += 1, y -= em * 0.95) {
    for (let x = Math.floor(first / apart) * apart + [0.1, 0.62, 0.36, 0.84][row % 4] * apart; x + wide < last; x += apart) {
      const clear = x > first && [x, x + wide / 2, x + wide].every((place) => {
        const surface = heightAt(run, at, run[0][0] + (place - first) * scale);
        return surface !== null && y - up(surface) > CLEAR * em;
      });
      if (clear) parts.push(`M${x.toFixed(1)} ${y.toFixed(1)}q${wide / 4} ${-high * 2} ${wide / 2} 0t${wide / 2} 0`);
    }
  }
  return parts.join("");
}

// A boat at the last printed point, bow to the right.
export function boat(x, y, em) {
  const place = (points) => points.map(([dx, dy]) => `${(x + dx * em).toFixed(1)},${(y + dy * em).toFixed(1)}`).join(" ");
  return [
    newSvg("polygon", { points: place([[-1.2, -0.5], [1.2, -0.5], [0.85, 0.18], [-0.85, 0.18]]) }),
    newSvg("polygon", { points: place([[-0.08, -2.5], [-0.08, -0.82], [-0.8, -0.82]]) }),
    newSvg("polygon", { points: place([[0.16, -2.35], [0.16, -0.82], [0.9, -0.82]]) }),
    newSvg("polyline", { points: place([[0.04, -2.75], [0.04, -0.5]]) }),
  ];
}
