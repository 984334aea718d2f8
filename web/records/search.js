// Searching a recording, or all of them: what is found is a list, and each place in it opens.

import { $, newElement, setText } from "../shared/dom.js";
import { ask } from "./asks.js";
import { addressOf } from "./places.js";
import { dateOf, wallMs } from "./times.js";

const IN = [
  ["printed", "what the machine printed"],
  ["pattern", "what it printed, as a pattern"],
  ["typed", "what was typed"],
  ["facts", "facts, by what they say"],
  ["notes", "notes"],
  ["kind", "kinds of fact"],
  ["step", "steps, by name"],
];
const HINTS = {
  kind: "Write a kind, such as trouble raised or step overdue.",
  step: "Write a step's name, such as start.sign-on, or a part of it.",
  pattern: "Write a regular expression, such as READY|ERROR [0-9]+.",
};

export class Search {
  constructor(study) {
    this.study = study;
    this.asked = 0;
    $("search-in").append(...IN.map(([value, text]) => {
      const option = newElement("option", text);
      option.value = value;
      return option;
    }));
    $("search-in").addEventListener("change", () => {
      $("everywhere").disabled = ["kind", "step"].includes($("search-in").value); // these are searched in one
      setText($("found-says"), HINTS[$("search-in").value] ?? "");
    });
    $("search-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.look();
    });
    $("close-search").addEventListener("click", () => this.close());
  }

  open() {
    this.study.setSearchOpen(true);
    $("wanted").focus();
    $("wanted").select();
  }

  close() {
    if ($("search").hidden) return;
    this.study.setSearchOpen(false);
    $("open-search").focus();
  }

  toggle() {
    if ($("search").hidden) this.open();
    else this.close();
  }

  clear() {
    this.asked += 1;
    $("found").replaceChildren();
    setText($("found-says"), "");
  }

  async look() {
    const wanted = $("wanted").value;
    if (!wanted.trim()) {
      setText($("found-says"), "Write what to look for.");
      return;
    }
    const asked = ++this.asked;
    setText($("found-says"), "Looking. The first search of a recording reads all of it once.");
    const { name, times } = this.study;
    const answer = await ask("search", { recording: name, wanted, in: $("search-in").value, everywhere: $("everywhere").checked ? 1 : undefined });
    if (asked !== this.asked) return;
    if (answer.fault) {
      setText($("found-says"), answer.fault.join(" "));
      $("found").replaceChildren();
      return;
    }
    const count = answer.found.length;
    const more = answer.more ? " There are more; make it narrower to see them." : "";
    setText($("found-says"), count ? `${count === 1 ? "1 place" : `${count} places`}.${more}` : "Nothing was found. Upper and lower case make no difference.");
    $("found").replaceChildren(...answer.found.map((place) => {
      const item = newElement("li");
      const elsewhere = place.recording && place.recording !== name;
      const when = elsewhere ? `${dateOf(wallMs(place.at))}, ${place.at.slice(11, 19)}` : times.clock(place.at_us, true);
      const link = newElement("a", when, "fact");
      link.href = addressOf(elsewhere ? place.recording : name, place.seq);
      item.append(link, " ", newElement("span", place.says));
      return item;
    }));
    if (count) $("found").querySelector("a").focus();
  }
}
