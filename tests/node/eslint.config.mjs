// What a browser finds only when it comes to the line: a name that is nowhere. And one that nothing uses.

import js from "@eslint/js";
import globals from "globals";

const known = { ...globals.browser, io: "readonly" }; // io: socket.io, by a script of its own

export default [
  js.configs.recommended,
  { languageOptions: { ecmaVersion: 2022, sourceType: "module", globals: known } },
];
