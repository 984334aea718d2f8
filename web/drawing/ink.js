// The strokes that the drawing is made of. All sizes are in centimetres of the machine; the drawing.css gives weights.

import { newSvg } from "../shared/dom.js";

const named = (name) => (name ? { class: name } : {});

export const box = (x, y, width, height, name) => newSvg("rect", { x, y, width, height, ...named(name) });
export const line = (x1, y1, x2, y2, name) => newSvg("line", { x1, y1, x2, y2, ...named(name) });
export const circle = (cx, cy, r, name) => newSvg("circle", { cx, cy, r, ...named(name) });
export const ellipse = (cx, cy, rx, ry, name) => newSvg("ellipse", { cx, cy, rx, ry, ...named(name) });
export const path = (d, name) => newSvg("path", { d, ...named(name) });
export const group = (name, ...children) => newSvg("g", named(name), ...children);

export function letters(x, y, size, text, name = "") {
  return newSvg("text", { x, y, "font-size": size, class: `letters ${name}`.trim() }, text);
}

// A drawing `width` by `height` centimetres, as a layer of its own where `left` and `top` put it, in pixels.
export function layer(left, top, width, height, pxPerCm, name, ...children) {
  const made = newSvg(
    "svg",
    { class: name, width: width * pxPerCm, height: height * pxPerCm, viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" },
    ...children,
  );
  made.style.left = `${left * pxPerCm}px`;
  made.style.top = `${top * pxPerCm}px`;
  return made;
}

// A hole that we cut into the drawing: its sides are wavy, so that nobody looks for it on the machine.
export function cutOut({ x, y, w, h }) {
  const wave = (from, to, left) => {
    const [step, out] = [(to - from) / 6, 1.1];
    let d = "";
    for (let i = 0; i < 6; i++) d += ` q ${(i % 2 ? 1 : -1) * out * (left ? 1 : -1) * 2} ${step / 2} 0 ${step}`;
    return d;
  };
  return path(`M ${x} ${y} H ${x + w}${wave(y, y + h, false)} H ${x}${wave(y + h, y, true)} Z`, "window");
}
