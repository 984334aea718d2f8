// A museum's own picture of a part: a drawing, whose openings we fill, or a photograph.

const SVG = "http://www.w3.org/2000/svg";
const LINKS = ["href", "xlink:href"];

export class Pictures {
  constructor(onArrival) {
    this.onArrival = onArrival;
    this.known = new Map();
  }

  // The drawing named `name`, or null while it is on its way or if it can't be had. Photographs need no fetching.
  drawing(name) {
    if (!this.known.has(name)) {
      this.known.set(name, null);
      this.fetch(name);
    }
    return this.known.get(name);
  }

  async fetch(name) {
    try {
      const answer = await fetch(addressOf(name));
      if (!answer.ok) return;
      const parsed = new DOMParser().parseFromString(await answer.text(), "image/svg+xml");
      if (parsed.documentElement.namespaceURI !== SVG || parsed.documentElement.localName !== "svg") return;
      this.known.set(name, parsed.documentElement);
    } catch {
      return; // Without it the part is drawn as its shape, which is true as well.
    }
    this.onArrival(); // a fault in drawing it is none of fetching it
  }
}

// Where it is served, beside this page's own files.
export const addressOf = (name) => new URL(`../drawn/${encodeURIComponent(name)}`, import.meta.url).pathname;

export const isDrawing = (name) => name.endsWith(".svg");

// A copy that fills `width` by `height`. Its names get the part's, so that no two pictures on a page share one.
export function copyOf(picture, part, width, height) {
  const copy = document.importNode(picture, true);
  for (const element of copy.querySelectorAll("*")) rename(element, part);
  if (!copy.hasAttribute("viewBox") && copy.hasAttribute("width")) copy.setAttribute("viewBox", `0 0 ${parseFloat(copy.getAttribute("width"))} ${parseFloat(copy.getAttribute("height"))}`);
  for (const [key, value] of Object.entries({ x: 0, y: 0, width, height, class: "museums", id: `${part}--picture` })) copy.setAttribute(key, value);
  return copy;
}

function rename(element, part) {
  if (element.id) element.id = `${part}--${element.id}`;
  for (const name of element.getAttributeNames()) {
    const value = element.getAttribute(name);
    if (value.includes("url(#")) element.setAttribute(name, value.replaceAll("url(#", `url(#${part}--`));
    else if (LINKS.includes(name) && value.startsWith("#")) element.setAttribute(name, `#${part}--${value.slice(1)}`);
  }
}

export const openingGroup = (copy, part, kind) => copy.querySelector(`#${CSS.escape(`${part}--opening-${kind}`)}`);
