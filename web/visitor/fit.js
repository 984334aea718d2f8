// Sets the caption as large as its place allows, on the page's one scale of sizes, and lets what is least missed
// of the right column give way where there is no room for all of it.

const STEP = 1.25;
const LARGEST = 9;
const FEWEST_CHARACTERS = 26; // of a line, so that it doesn't break after every word
const FEWEST_OF_LARGER_TYPE = 20; // else whoever asks for larger type gets a smaller caption
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

// From the full table to the tightest (web/screens.css), until nothing is cut off. What somebody has opened may scroll.
export function fitColumn() {
  const chart = document.getElementById("chart");
  const column = chart.querySelector(".column");
  const scrolls = getComputedStyle(column).overflowY === "auto" && !column.querySelector("#figures details[open]");
  delete chart.dataset.tight;
  for (let tight = 1; scrolls && tight <= TIGHTEST && column.scrollHeight > column.clientHeight; tight++) {
    chart.dataset.tight = `${chart.dataset.tight ?? ""} ${tight}`;
  }
}
