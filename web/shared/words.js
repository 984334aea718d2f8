// The page's own words, of which each language is a file in web/words, loaded when it is first shown; and how names,
// times and dates are written. A machine's own words come with its recording.

import { LANGUAGES } from "../words/languages.js"; // made by the web process: the tags of the files that there are

const OTHERWISE = "en";
const loaded = new Map();

// The tag of the page's own words for language `tag`: of that language, or otherwise English.
export function tagOfWords(tag) {
  return [tag, tag?.split("-")[0]].find((one) => LANGUAGES.includes(one)) ?? OTHERWISE;
}

// Loads the page's own words for language `tag`, once.
export async function loadWords(tag) {
  const own = tagOfWords(tag);
  if (!loaded.has(own)) loaded.set(own, (await import(`../words/${own}.js`)).words);
  return wordsFor(tag);
}

// The same where they have been loaded: {tag, words}, the tag being that of the words; otherwise null.
export function wordsFor(tag) {
  const own = tagOfWords(tag);
  return loaded.has(own) ? { tag: own, words: loaded.get(own) } : null;
}

// The tags of the languages that the page has words of its own in.
export { LANGUAGES };

// A recording's words in language `tag`, or in the first language that it has.
export function inLanguage(words, tag) {
  if (!words) return "";
  return words[tag] ?? Object.values(words)[0] ?? "";
}

// A hyphenated name as people would write it: an "s" that stands alone belongs to the word before.
export function spaced(name) {
  return name.replace(/-s(?=-)/g, "’s").replaceAll("-", " ");
}

// Times are shown as the museum's computer wrote them, whatever the time zone of the visitor's phone.
export function hoursMinutes(wall) {
  return wall ? wall.slice(11, 16) : "";
}

export function hoursMinutesSeconds(wall) {
  return wall ? wall.slice(11, 19) : "";
}

// The time, with its date if that differs from the date of `other`.
export function timeAndOtherDate(wall, other, words) {
  return other && wall.slice(0, 10) !== other.slice(0, 10) ? `${longDate(wall, words.locale)}, ${hoursMinutes(wall)}` : hoursMinutes(wall);
}

// Whether it was on the date that this screen's own clock shows.
export function isToday(wall, now = new Date()) {
  const two = (n) => String(n).padStart(2, "0");
  return Boolean(wall) && wall.slice(0, 10) === `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

export function longDate(wall, locale) {
  if (!wall) return "";
  const date = new Date(`${wall.slice(0, 10)}T00:00:00Z`);
  return new Intl.DateTimeFormat(locale, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(date);
}
