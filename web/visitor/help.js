// In trouble: what was done, what is so now, and what comes next, as far as the recording knows it.

import { inLanguage } from "../shared/words.js";

// [[name, sentence]]
export function helpRows(items, { words, tag, ofTheMachine }) {
  const { help } = words;
  const { session, script } = items;
  const trouble = ofTheMachine ?? items.trouble;
  const rows = [];
  if (script?.ended) rows.push([help.done, script.tidy ? help.tidy : help.notTidy]);
  if (session?.state === "failed") rows.push([help.now, help.nothingTyped]);
  const advice = inLanguage(trouble?.do, tag);
  const caution = inLanguage(trouble?.caution ?? {}, tag);
  if (caution && advice) rows.push([words.caution, caution]);
  if (advice || session?.state === "failed") rows.push([help.next, advice || help.look]);
  return rows;
}
