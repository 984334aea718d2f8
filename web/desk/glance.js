// How the day stands, for a paired device on which nobody is signed in: {says, needs}, sentences made of what the desk
// answers (exhibit/decisions/desk/at_a_glance.py). Like blocks.js it knows no browser.

import { hoursMinutes, inLanguage } from "../shared/words.js";
import { isSilent, isSought } from "./around.js";
import { closingComes } from "./blocks.js";

const WRITES_NOTHING = ["bridge gone", "bridge not answering"];
const BY_WORD = ["before opening", "away", "nobody there", "stopped"]; // goes on when somebody who is signed in says so

// `day`: {badge, bridge, and what at_a_glance gives}; null while the desk still reads the recording.
export function glanceOf(day, words, tag) {
  if (!day) return { says: [], needs: "" };
  const away = unseen(day, words);
  if (away) return { says: away, needs: "" };
  const { glance } = words, { needs } = day;
  const waits = needs ? glance.needs[needs.what](hoursMinutes(needs.since)) : "";
  if (needs?.what === "failure") return { says: [words.failure.says, comes([words.next.looked], words)], needs: waits };
  if (day.stopping && day.phase !== "over") return { says: day.stopping === "hands off" ? [words.stop.handsOff, words.stop.mayRun] : [words.stop[day.stopping]], needs: waits };
  const says = silent(day, words) ?? (day.keyboard ? [`${words.keys.kind}.`, words.keys.nothingElse] : ofPhase(day, words, tag));
  const next = day.next.map(({ what, at }) => words.next[what](hoursMinutes(at)));
  return { says: [...says, comes(next, words)].filter(Boolean), needs: waits };
}

const comes = (next, words) => (next.length ? `${words.next.head}: ${next.join(". ")}.` : "");

// Nothing of the machine reaches the desk.
function unseen({ badge, bridge }, words) {
  const seen = words.lost.seen(hoursMinutes(badge.since));
  if (badge.name === "not started today") return [words.lost.notStarted];
  if (!bridge || WRITES_NOTHING.includes(badge.name)) return [words.lost.bridge, words.lost.nothingTyped, seen];
  if (badge.name === "link lost") return [words.lost.link, seen];
  return badge.name === "not started" ? [words.phases.starting.says] : null;
}

function silent({ badge, phase }, words) {
  return isSilent({ items: { today: { phase } }, badge }) ? [words.silent.says, words.silent.since(hoursMinutes(badge.since))] : null;
}

function ofPhase(day, words, tag) {
  const { glance, phases } = words, { phase, round, needs } = day;
  if (isSought(phase, day.seeks)) return [`${phases.seeking.kind}.`, phases.seeking.says, glance.since(hoursMinutes(day.seeks))];
  if (needs?.what === "held") return [words.held.waits];
  if (round?.tidying) return [`${phases.tidying.kind}.`, phases.tidying.says, phases.runs(inLanguage(round.title, tag), round.number)];
  const said = phase === "closing" && !day.begun ? closingComes(round?.number, day.hands, words) : phases[phase];
  return [
    day.left ? phases.over.notDone : said.says(hoursMinutes(day.until)),
    phase !== "before opening" && glance.since(hoursMinutes(day.since)),
    round && phases.runs(inLanguage(round.title, tag), round.number),
    day.rests && phases.rests(hoursMinutes(day.rests)),
    !needs && phase !== "over" && (BY_WORD.includes(phase) ? glance.byWord : glance.nothing),
  ].filter(Boolean);
}
