// One part as it was, for the album: in ink only, and nothing in it moves.

import { inLanguage, spaced } from "../shared/words.js";
import { newSvg } from "../shared/dom.js";
import { circle, group, letters, path } from "./ink.js";
import { PLINTH, RISE, SIDE, TAG_HIGH, cabinetsOf } from "./layout.js";
import { armOf, marksOf } from "./living.js";
import { partGroup } from "./still.js";
import { Pictures } from "./pictures.js";
import { tagText, targetOf } from "./tags.js";

const LETTER = 6.05;
const PX_PER_CM = 3; // as large as the album shows it, for what is left out when it is small

// `job`: {job, name} of the job that worked there, or null. Gives null for a part that isn't drawn.
export function partPicture(recording, name, { job, tag, words }) {
  const part = cabinetsOf(recording?.drawn ?? {}).flat().find((one) => one.name === name);
  if (!part) return null;
  const place = { ...part, x: 0, y: 0, w: part.width_cm, h: part.height_cm, first: true, last: true, stacked: false };
  const over = RISE + (job ? TAG_HIGH + 6 : 2);
  const size = { x: -3, y: -over, w: place.w + SIDE + 6, h: over + place.h + PLINTH + 1 };
  const svg = newSvg("svg", { class: "part-picture", viewBox: `${size.x} ${size.y} ${size.w} ${size.h}`, role: "img" });
  svg.setAttribute("aria-label", [inLanguage(recording.parts?.[name], tag) || spaced(name), job && tagText(job, words.drawing)].filter(Boolean).join(", "));
  svg.style.setProperty("--fine", 0.61);
  svg.style.setProperty("--heavy", 1.63);
  // Its own museum's drawing may still be on its way. It takes the place of ours as soon as it is here.
  const pictures = new Pictures(() => svg.firstElementChild.replaceWith(drawnPart(place, pictures, job)));
  svg.append(drawnPart(place, pictures, job));
  if (job) svg.append(...tagOver(place, job, words.drawing, size));
  return svg;
}

function drawnPart(place, pictures, job) {
  const made = partGroup(place, { pxPerCm: PX_PER_CM, text: true }, pictures);
  if (job) made.group.classList.add("runs");
  for (const opening of made.windows.filter(({ kind }) => kind === "disc" || kind === "packs")) {
    const { kind, x, y } = opening;
    const inside = group("", ...(job ? [marksOf(kind, opening, 0)] : []), armOf(kind, opening));
    inside.setAttribute("transform", `translate(${x} ${y})`);
    made.group.append(inside);
  }
  return made.group;
}

function tagOver(place, job, said, size) {
  const text = tagText(job, said);
  const wide = text.length * LETTER + 18;
  const x = Math.max(size.x + 2, Math.min(place.w * 0.3, size.x + size.w - wide - 2));
  const y = -RISE - TAG_HIGH - 4;
  const target = targetOf(place, []);
  const middle = y + TAG_HIGH / 2;
  return [
    path(`M ${x} ${middle} L ${target.x - place.w * 0.1} ${target.y}`, "thread"),
    path(`M ${x} ${middle} L ${x + 5} ${y} H ${x + wide} V ${y + TAG_HIGH} H ${x + 5} Z`, "tag-shape"),
    circle(x + 7, middle, 1.6),
    letters(x + 11 + (wide - 14) / 2, middle + 3.4, 9.7, text, "tag-letters"),
  ];
}
