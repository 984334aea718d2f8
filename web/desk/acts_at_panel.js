// What is to be done at the machine's switches and keys. Each act comes with its words and its drawing, the same
// as on the printed card.

import { newElement } from "../shared/dom.js";
import { inLanguage } from "../shared/words.js";

// `panel`: [{act, words, where, svg}], in order; words, where and svg by language.
export function panelList(panel, tag) {
  const list = newElement("ol", undefined, "panel-acts");
  for (const one of panel) {
    const item = newElement("li");
    const svg = inLanguage(one.svg, tag), words = inLanguage(one.words, tag);
    const drawn = svg ? [drawing(svg)] : [];
    const says = drawn.some((row) => [...row.querySelectorAll("text")].some((text) => text.textContent.trim() === words));
    item.append(...(says ? [] : [newElement("p", words)]), ...drawn); // a drawing may have its words in it
    list.append(item);
  }
  return list;
}

function drawing(svg) {
  const drawn = document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);
  drawn.classList.add("panel-row");
  drawn.style.setProperty("--row-width", `${drawn.viewBox.baseVal.width / 16}rem`);
  return drawn;
}
