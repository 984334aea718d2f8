// Makes the caption as large as the screen wants it, or smaller if it wouldn't fit its space otherwise.

const STEP = 0.96;
const LEAST_PX = 15;
const LEAST_DRAWING = 0.2; // of the page, while somebody is asked to do something
const LEAST_ASKED = 0.3; // of its full size; and never below 15 px

export function fitCaption() {
  const box = document.getElementById("caption-box");
  const caption = document.getElementById("caption");
  caption.style.removeProperty("font-size");
  if (!document.documentElement.dataset.screen) return;
  const fits = () => box.scrollHeight <= box.clientHeight && caption.scrollWidth <= caption.clientWidth;
  let size = parseFloat(getComputedStyle(caption).fontSize);
  while (!fits() && size * STEP >= LEAST_PX) {
    size *= STEP;
    caption.style.fontSize = `${size}px`;
  }
}

// A card that is longer than its space loses its last paragraphs on the shared screen: all of it is on the sheet.
export function fitCard() {
  const card = document.getElementById("card");
  const blocks = [...card.children];
  for (const block of blocks) block.hidden = false;
  if (!document.documentElement.dataset.screen || card.hidden) return;
  const mayGo = blocks.filter((one) => one.tagName !== "H3" && !one.classList.contains("card-source")).slice(1);
  while (card.scrollHeight > card.clientHeight + 1 && mayGo.length) mayGo.pop().hidden = true;
}

// What comes next becomes smaller, until all of it has room in the row above the caption.
export function fitAhead() {
  const ahead = document.getElementById("ahead");
  ahead.style.removeProperty("font-size");
  if (!document.documentElement.dataset.screen || ahead.hidden) return;
  let size = parseFloat(getComputedStyle(ahead).fontSize);
  const fits = () => ahead.scrollHeight <= ahead.clientHeight + 1 && ahead.scrollWidth <= ahead.clientWidth;
  while (!fits() && size * STEP >= LEAST_PX) {
    size *= STEP;
    ahead.style.fontSize = `${size}px`;
  }
}

// What somebody is asked to do becomes smaller where it would leave the drawing no room, or lie on what is below it.
export function fitAsked() {
  const root = document.documentElement;
  const asked = document.getElementById("hands-on");
  root.style.removeProperty("--asked");
  if (!root.dataset.screen || asked.hidden) return;
  const box = (id) => document.getElementById(id).getBoundingClientRect();
  const least = LEAST_DRAWING * box("page").height;
  const fits = () => (root.dataset.screen === "portrait" ? stageHeight() >= least : box("below").bottom <= box("story").top + 1);
  for (let part = STEP; !fits() && part > LEAST_ASKED; part *= STEP) root.style.setProperty("--asked", part);
}

const stageHeight = () => parseFloat(getComputedStyle(document.getElementById("page")).gridTemplateRows);

// The day's sums become smaller where they have little room, and then lose their last rows: no row is cut through.
export function fitSums() {
  const sums = document.getElementById("sums");
  const table = sums.querySelector("table");
  if (!table) return;
  table.style.removeProperty("font-size");
  const rows = [...table.querySelectorAll("tr")];
  for (const row of rows) row.hidden = false;
  if (!document.documentElement.dataset.screen || sums.hidden) return;
  const stage = document.getElementById("stage").clientHeight || Infinity; // upright, it isn't a box of its own
  const room = Math.min(sums.clientHeight, stage);
  const fits = () => table.getBoundingClientRect().height <= room + 1;
  let size = parseFloat(getComputedStyle(table).fontSize);
  while (!fits() && size * STEP >= LEAST_PX) {
    size *= STEP;
    table.style.fontSize = `${size}px`;
  }
  while (!fits() && rows.length) rows.pop().hidden = true;
}

const fitted = new Map();

// Fits again only where something else is said than before.
export function fitIfNew(fit, said) {
  if (fitted.get(fit) === said) return;
  fitted.set(fit, said);
  fit();
}

// A console without room for one row would be an empty frame, lying on what is said below it.
export function fitConsole() {
  const sheet = document.getElementById("sheet");
  const { fontSize, lineHeight } = getComputedStyle(sheet);
  const row = parseFloat(lineHeight) || parseFloat(fontSize);
  const composed = Boolean(document.documentElement.dataset.screen);
  document.documentElement.toggleAttribute("data-no-room", composed && sheet.clientHeight < row - 1);
}

// A long badge becomes smaller, so that the strip stays one line high.
export function fitBadge() {
  const badge = document.getElementById("badge");
  badge.style.removeProperty("font-size");
  if (!document.documentElement.dataset.screen) return;
  let size = parseFloat(getComputedStyle(badge).fontSize);
  const fits = () => badge.scrollWidth <= badge.clientWidth && badge.scrollHeight <= badge.clientHeight;
  while (!fits() && size * STEP >= LEAST_PX) {
    size *= STEP;
    badge.style.fontSize = `${size}px`;
  }
}

export function fitAll() {
  fitBadge();
  fitCaption();
  fitCard();
  fitAhead();
  fitAsked();
  fitConsole();
  fitSums();
}
