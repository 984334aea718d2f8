// How wide a text will be, in pixels: measured in the page itself, since figures of one width are wider than usual ones.

const known = new Map();
const MOST_KNOWN = 3000;

// The face and size are those of `element`; `weight` is 400 or 700, and `times` multiplies its size.
export function textWidth(element, text, weight = 400, times = 1) {
  const { fontSize, fontFamily } = getComputedStyle(element);
  const key = `${fontSize} ${fontFamily} ${weight} ${times} ${text}`;
  if (!known.has(key)) {
    if (known.size >= MOST_KNOWN) known.clear();
    const ruler = document.createElement("span");
    ruler.className = "ruler";
    ruler.textContent = text;
    Object.assign(ruler.style, { fontWeight: String(weight), fontSize: `${parseFloat(fontSize) * times}px` });
    element.append(ruler);
    known.set(key, ruler.getBoundingClientRect().width);
    ruler.remove();
  }
  return known.get(key);
}

// Once a typeface has arrived, every text has another width.
document.fonts?.addEventListener("loadingdone", () => known.clear());
