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
