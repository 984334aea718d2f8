// Makes the caption as large as its space allows, in the steps of the page's scale of sizes, and hides the least
// important rows of the right column where there is no room for all of them.

const STEP = 1.25;
const LARGEST = 9;
const FEWEST_CHARACTERS = 26; // in a line, so that it doesn't break after every word
const FEWEST_OF_LARGER_TYPE = 20; // otherwise larger type would make the caption smaller
const WIDTH_OF_A_CHARACTER_EM = 0.5;

export function fitCaption() {
  const box = document.getElementById("caption-box");
  const caption = document.getElementById("caption");
  const wide = matchMedia("(min-width: 70rem)").matches;
  if (!wide) {
    caption.style.removeProperty("font-size");
    return;
  }
  const fewest = document.documentElement.dataset.size === "1" ? FEWEST_CHARACTERS : FEWEST_OF_LARGER_TYPE;
  for (let step = LARGEST; step >= 0; step--) {
    const size = STEP ** step;
    caption.style.fontSize = `${size}rem`;
    const px = parseFloat(getComputedStyle(caption).fontSize);
    if (box.clientWidth < fewest * WIDTH_OF_A_CHARACTER_EM * px) continue;
    if (caption.offsetHeight <= box.clientHeight && caption.scrollWidth <= box.clientWidth) return;
  }
}

const TIGHTEST = 7;

// Tightens the column step by step (web/visitor/screens.css) until nothing is cut off. If a visitor has opened
// something in it, it scrolls instead.
export function fitColumn() {
  const chart = document.getElementById("chart");
  const column = chart.querySelector(".column");
  const scrolls = getComputedStyle(column).overflowY === "auto" && !column.querySelector("#figures details[open]");
  delete chart.dataset.tight;
  for (let tight = 1; scrolls && tight <= TIGHTEST && column.scrollHeight > column.clientHeight; tight++) {
    chart.dataset.tight = `${chart.dataset.tight ?? ""} ${tight}`;
  }
}
