// The keyboard: every key and what it does, in one list, which the page shows as well.

import { $, newElement } from "../shared/dom.js";
import { BY } from "./places.js";

const IN_FIELDS = ["INPUT", "SELECT", "TEXTAREA"];

// Takes the keys. `study` is the recording that is shown, `page` what the page itself can do.
export function takeKeys(study, page) {
  const keys = keysOf(study, page);
  $("keys-list").replaceChildren(...keys.flatMap(({ shown, says }) => {
    const name = newElement("dt");
    shown.forEach((one, index) => name.append(...(index ? [" or "] : []), newElement("kbd", one)));
    return [name, newElement("dd", says)];
  }));
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || $("keys").open) return;
    if (event.key === "Escape") {
      study.search.close();
      document.activeElement?.blur?.();
      return;
    }
    if (IN_FIELDS.includes(event.target.tagName)) return;
    if (event.key === " " && ["BUTTON", "A", "SUMMARY"].includes(event.target.tagName)) return; // it presses that
    const key = keys.find(({ takes }) => takes.includes(event.shiftKey && event.key.startsWith("Arrow") ? `Shift+${event.key}` : event.key));
    if (!key) return;
    event.preventDefault();
    key.does(event.key);
  });
}

export function showKeys() {
  $("keys").showModal();
}

function keysOf(study, page) {
  const key = (takes, shown, says, does) => ({ takes, shown, says, does });
  const focus = (id) => () => {
    $(id).focus();
    $(id).select();
  };
  return [
    // Two and two belong together: that is how they are shown.
    key([" "], ["Space"], "Play, or pause", () => study.togglePlay()),
    key(["?"], ["?"], "These keys", showKeys),
    key(["-"], ["-"], "Play slower", () => study.setSpeed(study.player.other(-1))),
    key(["+", "="], ["+"], "Play faster", () => study.setSpeed(study.player.other(1))),
    key(["ArrowLeft"], ["←"], "One fact back", () => study.goBy("fact", -1)),
    key(["ArrowRight"], ["→"], "One fact on", () => study.goBy("fact", 1)),
    key(["Shift+ArrowLeft"], ["Shift ←"], "Ten seconds back", () => study.skip(-10)),
    key(["Shift+ArrowRight"], ["Shift →"], "Ten seconds on", () => study.skip(10)),
    ...BY.filter(({ key: one }) => one).flatMap(({ id, says, key: one }) => [
      key([one.toUpperCase()], [`Shift ${one.toUpperCase()}`], `The ${says} before`, () => study.goBy(id, -1)),
      key([one], [one.toUpperCase()], `The next ${says}`, () => study.goBy(id, 1)),
    ]),
    key(["Home"], ["Home"], "The start of the recording", () => study.name && study.goToTime(0)),
    key(["End"], ["End"], "Its end", () => study.name && study.goToTime(study.line.end_us)),
    key(["Z"], ["Shift Z"], "Show more time", () => study.nextWindow(-1)),
    key(["z"], ["Z"], "Show less time, closer", () => study.nextWindow(1)),
    key(["g"], ["G"], "Write a time to go to", focus("to-time")),
    key(["f"], ["F"], "Write a fact's number to go to", focus("to-fact")),
    key(["/"], ["/"], "Search", () => study.name && study.search.open()),
    key(["l"], ["L"], "Copy the link to this moment", () => study.name && study.copyLink()),
    key(["r"], ["R"], "The list of recordings", page.shelf),
    key(["c"], ["C"], "The charts", page.charts),
    key(["b"], ["B"], "Larger type; after the largest, the usual one", page.larger),
    key([], ["Esc"], "Close what is open, or leave a field", () => {}),
  ];
}
