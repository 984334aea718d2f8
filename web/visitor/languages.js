// Which language the page is in. It loads the words of that language only, and keeps the ones it has until they are there.

import { LANGUAGES, loadWords, wordsFor } from "../shared/words.js";

export class Languages {
  // `onLoaded` is called when words have arrived that were waited for.
  constructor(home, onLoaded) {
    this.home = home;
    this.chosen = home;
    this.onLoaded = onLoaded;
    this.shown = null;
    this.waitingFor = "";
  }

  choose(tag) {
    this.chosen = tag;
  }

  goHome() {
    this.chosen = this.home;
  }

  // The language to show: the one that somebody chose, one of the browser's, or the museum's first.
  wanted(recording) {
    const offered = recording ? Object.keys(recording.languages) : LANGUAGES;
    if (offered.includes(this.chosen)) return this.chosen;
    const wishes = navigator.languages.map((tag) => offered.find((one) => tag === one || tag.split("-")[0] === one));
    return wishes.find(Boolean) ?? (recording ? offered[0] : undefined) ?? "en";
  }

  // {tag, words} to paint with, or null as long as no words at all have been loaded. `tag` is the language of the
  // machine's own words; the page's own are in English where it lacks that language.
  now(recording) {
    const tag = this.wanted(recording);
    const there = wordsFor(tag);
    if (there) {
      this.waitingFor = "";
      this.shown = { tag, words: there.words };
    } else if (this.waitingFor !== tag) {
      this.waitingFor = tag;
      loadWords(tag).then(this.onLoaded);
    }
    return this.shown;
  }
}
