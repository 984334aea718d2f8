// Small acts on the page's elements. Everything is text; nothing is ever taken for markup.

export const $ = (id) => document.getElementById(id);

export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function show(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}

export function made(name, text, className) {
  const element = document.createElement(name);
  if (text !== undefined) element.textContent = text;
  if (className) element.className = className;
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export function drawn(name, attributes, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

// An element's text without its outer blanks, and one blank where there are several.
export function squeezed(element) {
  return element.textContent.replace(/\s+/g, " ").trim();
}

export function time(wall, text) {
  const element = made("time", text);
  element.dateTime = wall;
  element.title = wall;
  return element;
}

// Replaces what stands in `element` only if `key` says that it differs.
export function refill(element, key, make) {
  const written = JSON.stringify(key);
  if (element.dataset.key === written) return;
  element.dataset.key = written;
  element.replaceChildren(...make());
}
