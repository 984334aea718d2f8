// Puts the things that can be touched where they belong on this screen: in the strip at the top or at the foot, and
// what is seldom wanted on a sheet behind one button.

import { $, setShown } from "../shared/dom.js";

export function placeControls(then) {
  const { screen, bar, code, kindRow, kiosk } = document.documentElement.dataset;
  const composed = Boolean(screen);
  const touched = kiosk !== "look"; // a screen that only shows
  move($("phone"), code === "foot" ? $("page") : $("strip"), code === "foot" ? $("day-line") : $("notice"));
  move($("bar"), composed && bar === "foot" ? $("page") : $("strip"), composed && bar === "foot" ? null : $("phone"));
  move($("grounds"), composed && kindRow === "out of reach" ? $("bar") : $("kind-row"), composed && kindRow === "out of reach" ? $("more") : $("ahead"));
  move($("tools"), composed ? $("more-sheet").querySelector(".sheet-body") : $("page"), null);
  // What machine it is stands at the foot, where long badges leave it room; where the strip is narrow, its date does too.
  move($("about"), composed ? $("page") : $("names"), composed ? $("day-text") : $("machine-date"));
  move($("machine-date"), screen === "portrait" ? $("about") : $("names"), screen === "portrait" ? null : $("translated"));
  // On a page that flows, what a docent should do comes after the visitors' sentence.
  move($("may-run"), composed ? $("strip") : $("page"), composed ? null : $("stage"));
  setShown($("more"), composed && touched);
  $("bar").inert = !touched;
  then();
}

function move(element, parent, before) {
  if (element.parentElement === parent && element.nextElementSibling === before) return;
  const focused = element.contains(document.activeElement) ? document.activeElement : null;
  parent.insertBefore(element, before);
  focused?.focus({ preventScroll: true });
}
