// What the page for signing in says of how the day stands, in each language; and the names of its words.

import { readFileSync } from "node:fs";
import { glanceOf } from "./desk/glance.js";
import { words } from "./desk/words_en.js";
import { words as german } from "./desk/words_de.js";

const cases = JSON.parse(readFileSync(0, "utf-8"));
const said = (words, tag) => cases.map((day) => glanceOf(day, words, tag)).map(({ says, needs }) => [needs, ...says].filter(Boolean).join("\n"));
const keys = Object.entries(words.glance).flatMap(([key, value]) => (typeof value === "object" ? Object.keys(value).map((one) => `${key}.${one}`) : [key]));
console.log(JSON.stringify({ en: said(words, "en"), de: said(german, "de"), keys }));
