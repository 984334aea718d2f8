// What the docent's page says of pictures given as JSON, without a browser; or, with no pictures, its words' names.

import { readFileSync } from "node:fs";
import { doneOf, mayRunOf, nextOf, timeLeft, troublesOf } from "./desk/around.js";
import { blockOf } from "./desk/blocks.js";
import { words } from "./desk/words_en.js";
import { words as visitors } from "./words/en.js";
import { words as german } from "./desk/words_de.js";
import { words as besucher } from "./words/de.js";

function said(given, words, visitors, tag) {
  const page = { ...given, words, visitors, tag };
  const block = blockOf(page);
  const answers = block.answers.flatMap(({ label, does }) => [label, does]);
  const troubles = troublesOf(page, words).flatMap(({ told, says }) => [told, says]);
  const { numbers, unfinished } = doneOf(page, words);
  const left = block.until ? [timeLeft(block.until, Date.parse(page.at), words)] : [];
  const drawn = block.panel.map((act) => `Drawn: ${act.words[tag]}`);
  const todo = block.todo.length ? [words.todo.head, ...block.todo.map(({ says, caution }) => `${says} ${words.caution}: ${caution}`)] : [];
  return [block.kind, block.caution, block.says, ...block.detail, ...todo, ...drawn, ...left, ...answers, ...nextOf(page, words), ...troubles, ...numbers.flat(), ...unfinished, ...mayRunOf(page, visitors).flat()].filter(Boolean).join("\n");
}

const flat = (of, at) => Object.entries(of).flatMap(([key, value]) => (value && typeof value === "object" ? flat(value, [...at, key]) : [[...at, key].join(".")]));
const cases = JSON.parse(readFileSync(0, "utf-8"));
console.log(JSON.stringify({ said: cases.map((one) => said(one, words, visitors, "en")), in_german: cases.map((one) => said(one, german, besucher, "de")), keys: flat(words, []), german: flat(german, []) }));
