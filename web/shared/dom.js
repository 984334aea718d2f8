// Small operations on the page's elements. Everything is set as text, never as markup.

export const $ = (id) => document.getElementById(id);

export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function setShown(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}

// Writes an attribute only where it differs: setting `lang` or `dir` of the document styles the whole page anew.
export function setAttribute(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

export function newElement(name, text, className) {
  const element = document.createElement(name);
  if (text !== undefined) element.textContent = text;
  if (className) element.className = className;
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export function newSvg(name, attributes, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

// An element's text with no spaces at its ends and single spaces within.
export function collapsedText(element) {
  return element.textContent.replace(/\s+/g, " ").trim();
}

export function timeElement(wall, text) {
  const element = newElement("time", text);
  element.dateTime = wall;
  element.title = wall;
  return element;
}

// Replaces the contents of `element` with what `make` gives, but only if `key` has changed since the last time.
export function replaceIfChanged(element, key, make) {
  const keyText = JSON.stringify(key);
  if (element.dataset.key === keyText) return;
  element.dataset.key = keyText;
  element.replaceChildren(...make());
}
