// What lies over the drawing: a button for each part, the jobs' tags with their threads, and the pieces of a load.

import { newElement, newSvg } from "../shared/dom.js";
import { path } from "./ink.js";
import { RISE, SIDE, TAG_HIGH, footOf } from "./layout.js";
import { fact } from "./living.js";
import { placeTags, tag, tagText, targetOf } from "./tags.js";

const TAG_LETTER = 6.05; // of the console's face, at the size of a tag's letters
const PIECE = 2.6;
const PIECES_A_ROW = 4;
const TAG_OUTSIDE = 24; // px: a tag beside a drawing too small for words

export class Overlay {
  constructor(layout, still, names, choose, said) {
    this.layout = layout;
    this.still = still;
    this.names = names;
    this.said = said;
    this.buttons = new Map(layout.places.map((place) => [place.name, this.button(place, choose)]));
    this.threads = newSvg("svg", { class: "threads", width: layout.width * layout.pxPerCm, height: layout.height * layout.pxPerCm, viewBox: `0 0 ${layout.width} ${layout.height}`, "aria-hidden": "true" });
    this.tags = newElement("div", undefined, "tags");
    this.tags.setAttribute("aria-hidden", "true");
    this.pieces = newSvg("svg", { class: "pieces", width: 1, height: 1, "aria-hidden": "true" }, path("", "piece"));
    this.scale = newElement("div", "", "scale-words");
    this.scale.setAttribute("aria-hidden", "true");
    this.tickScale = newElement("div", "", "scale-words");
    this.tickScale.setAttribute("aria-hidden", "true");
    this.placeScale();
    this.key = "";
  }

  get elements() {
    return [this.pieces, this.threads, this.tags, this.scale, this.tickScale, ...this.buttons.values()];
  }

  // The area that reacts to a touch is larger than the drawing, so that a finger finds it on a small screen too.
  button(place, choose) {
    const { pxPerCm, height } = this.layout;
    const element = newElement("button", undefined, "part");
    element.type = "button";
    element.dataset.part = place.name;
    const left = Math.max(0, place.x - 5);
    const top = Math.max(0, place.y - (place.first ? RISE + 2 : 0));
    const bottom = place.last && !place.stacked ? height : place.y + place.h + (place.last ? 8 : 0);
    Object.assign(element.style, {
      left: `${left * pxPerCm}px`, top: `${top * pxPerCm}px`,
      width: `${(place.x + place.w + SIDE + 3 - left) * pxPerCm}px`, height: `${(bottom - top) * pxPerCm}px`,
    });
    element.addEventListener("click", () => choose(place.name));
    return element;
  }

  // What one mark on a cable stands for, beside the end of that cable.
  placeScale() {
    this.tickAt = this.placeTickScale();
    const discs = this.layout.places.filter((one) => [...this.still.cables.children].some((cable) => cable.classList.contains("disc") && cable.dataset.to === one.name));
    const last = discs.at(-1);
    if (!last || !this.layout.text) return;
    const { pxPerCm, floor } = this.layout;
    Object.assign(this.scale.style, { left: `${(last.x + last.w / 2 + 4) * pxPerCm}px`, top: `${(floor + 2.5) * pxPerCm}px` });
  }

  // False if it has no room: then the console's cable has nothing beside it.
  placeTickScale() {
    const cable = [...this.still.cables.children].find((one) => one.classList.contains("console"));
    const place = cable && this.layout.places.find((one) => one.name === cable.dataset.to);
    if (!place || !this.layout.text) return false;
    const { pxPerCm, floor } = this.layout;
    Object.assign(this.tickScale.style, { left: `${(footOf(place) + 4) * pxPerCm}px`, top: `${(floor + 2.5) * pxPerCm}px` });
    return true;
  }

  paint(told, recording, items, look, scale) {
    for (const [name, button] of this.buttons) {
      const { name: called, state } = told.get(name);
      button.setAttribute("aria-label", state.text ? `${called}, ${state.text}` : called);
      button.setAttribute("aria-pressed", String(name === look.chosen));
    }
    const used = look.live && Object.values(items.transfers ?? {}).some((one) => one.per_min > 0);
    this.scale.textContent = used && this.layout.text ? this.said.marksScale(scale) : "";
    this.tickScale.textContent = look.live && look.printing && this.tickAt ? this.said.tickScale : "";
    this.paintTags((items.jobs ?? []).filter((job) => !job.doubt), look);
    this.paintPieces([...told].find(([, one]) => one.now.loading), look);
  }

  paintTags(jobs, look) {
    const key = JSON.stringify([jobs, look.live, look.past]);
    if (key === this.key) return;
    this.key = key;
    const placed = this.layout.text ? this.placedTags(jobs) : [];
    this.tags.replaceChildren(...(this.layout.text ? placed.map((one) => this.tagAt(one, look)) : this.outside(jobs, look)));
    this.threads.replaceChildren(...placed.filter((one) => one.target).map((one) => this.thread(one)));
  }

  placedTags(jobs) {
    const targets = new Map([...this.still.parts].map(([name, made]) => [name, targetOf(this.layout.places.find((one) => one.name === name), made.windows)]));
    const busy = this.names?.gaps.map((one) => one.area) ?? [];
    return placeTags(jobs, this.layout, targets, (job) => tagText(job, this.said).length * TAG_LETTER + 18, busy);
  }

  tagAt({ job, x, y, w }, look) {
    const { pxPerCm } = this.layout;
    const element = tag(job, this.said, !look.live);
    Object.assign(element.style, { left: `${x * pxPerCm}px`, top: `${y * pxPerCm}px`, width: `${w * pxPerCm}px`, height: `${TAG_HIGH * pxPerCm}px` });
    return element;
  }

  thread({ job, x, y, target }) {
    const line = path(`M ${x + 1} ${y + TAG_HIGH / 2} L ${target.x} ${target.y}`, "thread");
    line.dataset.fact = job.seq;
    return line;
  }

  // Beside a small drawing there may be room for them all, without threads.
  outside(jobs, look) {
    const from = this.layout.ground.to * this.layout.pxPerCm + TAG_OUTSIDE;
    const room = this.layout.width * this.layout.pxPerCm - from;
    const longest = Math.max(0, ...jobs.map((job) => tagText(job, this.said).length));
    if (!jobs.length || longest * TAG_OUTSIDE * 0.65 + 2 * TAG_OUTSIDE > room) return [];
    return jobs.map((job, i) => {
      const element = tag(job, this.said, !look.live);
      element.classList.add("outside");
      Object.assign(element.style, { left: `${from}px`, top: `${this.layout.top * this.layout.pxPerCm + i * TAG_OUTSIDE * 3}px` });
      return element;
    });
  }

  // A square for each piece of a load that arrived, heaped beside the part that it goes to.
  paintPieces(found, look) {
    const element = this.pieces.firstElementChild;
    if (!found) {
      element.setAttribute("d", "");
      fact(element, 0, false);
      return;
    }
    const [name, { now }] = found;
    const place = this.layout.places.find((one) => one.name === name);
    const { pxPerCm, floor } = this.layout;
    const rows = Math.floor((place.h - 4) / (PIECE + 0.6));
    const shown = Math.min(now.loading.count, rows * PIECES_A_ROW);
    const [wide, high] = [PIECES_A_ROW * (PIECE + 0.6), rows * (PIECE + 0.6)];
    for (const [key, value] of Object.entries({ width: wide * pxPerCm, height: high * pxPerCm, viewBox: `0 0 ${wide} ${high}` })) this.pieces.setAttribute(key, value);
    Object.assign(this.pieces.style, { left: `${(place.x + place.w + SIDE + 1) * pxPerCm}px`, top: `${(floor - high) * pxPerCm}px` });
    const at = (i) => `M ${(i % PIECES_A_ROW) * (PIECE + 0.6) + 0.3} ${high - (Math.floor(i / PIECES_A_ROW) + 1) * (PIECE + 0.6)} h ${PIECE} v ${PIECE} h ${-PIECE} Z`;
    element.setAttribute("d", Array.from({ length: shown }, (_, i) => at(i)).join(" "));
    element.classList.toggle("done", now.loading.done || !look.live);
    fact(element, look.live ? now.loading.seq : 0, false);
  }
}
