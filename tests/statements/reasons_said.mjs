// The reasons given as JSON, as the German docent's page says them.

import { readFileSync } from "node:fs";
import { reasonOf } from "./desk/reasons.js";
import { words } from "./desk/words_de.js";

console.log(JSON.stringify(JSON.parse(readFileSync(0, "utf-8")).map((why) => reasonOf(why, words))));
