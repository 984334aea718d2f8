// The drawing's equivalent in words: each part and its state, the jobs and where they work.

import { inLanguage } from "../shared/words.js";
import { tagText } from "./tags.js";

export function told(said, items, recording, look) {
  const words = look.words.drawing;
  const parts = [...said.values()].map(({ name, state }) => (state.text ? `${name}: ${state.text}` : name));
  const sentences = [`${parts.join("; ")}.`];
  const jobs = (items.jobs ?? []).filter((job) => !job.doubt).map((job) => {
    const part = said.get(job.part)?.name;
    return part ? words.jobAt(tagText(job, words), part) : tagText(job, words);
  });
  if (jobs.length) sentences.push(look.past ? words.jobsThen(jobs) : words.jobs(jobs));
  for (const { name, now } of said.values()) {
    if (now.perMin !== null) sentences.push(look.past ? words.usesThen(name, now.perMin) : words.uses(name, now.perMin));
    if (now.testedSeq) sentences.push(words.testedIn(name));
  }
  const loading = items.loading;
  if (loading) {
    const words_of = inLanguage(recording.loads?.[loading.load]?.words, look.tag);
    sentences.push(words.pieces(words_of, loading.count));
  }
  return sentences.join(" ");
}
