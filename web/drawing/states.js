// What is known of each part now, and how it is said. Pure. What isn't known is said to be not known.

const TURNS = ["disc", "packs"];
export const STROKES_A_SECOND = 2; // of all drives together, so that no place on their cable changes more often
const SCALES = [1, 2, 5, 10, 20, 40, 50, 100, 200, 400, 500, 1000, 2000, 5000, 10000];

const has = (part, ...kinds) => (part.openings ?? []).some((one) => kinds.includes(one.kind));

// How many uses one stroke of an arm and one mark on a cable stand for.
export function scaleOf(transfers) {
  const perS = Object.values(transfers ?? {}).reduce((sum, one) => sum + (one.per_min ?? 0), 0) / 60;
  return SCALES.find((one) => perS / one <= STROKES_A_SECOND) ?? SCALES.at(-1);
}

// What is left of the items on a page that hears nothing any more: it can't know that anything is still so.
export function unheard(items) {
  const parts = Object.fromEntries(Object.keys(items.parts ?? {}).map((name) => [name, { state: "not known", since: "", seq: 0 }]));
  return { ...items, parts, tested: {}, share: {}, transfers: {}, jobs: [], loading: null };
}

// The facts about one part, as the drawing needs them.
export function partNow(name, part, items) {
  const known = items.parts?.[name];
  const share = items.share?.[name];
  const transfers = items.transfers?.[name];
  return {
    marks: known !== undefined,
    state: known?.state ?? "not known",
    seq: known?.seq ?? 0,
    share: share?.value ?? null,
    shareSeq: share?.seq ?? 0,
    perMin: transfers?.per_min ?? null,
    total: transfers?.total ?? null,
    transfersSeq: transfers?.seq ?? 0,
    testedSeq: known?.state === "stands" ? 0 : (items.tested?.[name]?.seq ?? 0), // a test from before it was turned off says nothing of now
    turns: has(part, ...TURNS) || (part.shape === "drive" && !(part.openings ?? []).length),
    weighs: has(part, "gauge"),
    loading: items.loading && items.loading.part === name ? items.loading : null,
    works: (items.jobs ?? []).some((job) => job.part === name && !job.doubt),
  };
}

// All words that may stand beside the name of a part, by what it has: what is written must have room for each.
export function possibleWords(part, said, past) {
  const turns = has(part, ...TURNS) || part.shape === "drive";
  const names = turns ? ["turning", "starting", "still", "used", "atWork", "unknown"] : ["starting", "on", "off", "atWork", "unknown", "loading"];
  const tense = past ? 1 : 0;
  return [...names.map((name) => said.states[name][tense]), past ? said.troubleThen : said.trouble, ...(turns ? [] : [said.busy(100), said.busyUnknown])];
}

// The words under a part: {text, tone}, tone being live, soft, ink or trouble; `asked`: they say what the "?" in its gauge means.
export function stateWords(now, part, { words, live, past, trouble, printing, lost, waking }) {
  const said = words.drawing;
  const tense = (name) => said.states[name][past ? 1 : 0];
  const as = (text, tone) => ({ text, tone: live || tone === "trouble" ? tone : "soft" });
  if (trouble) return as(past ? said.troubleThen : said.trouble, "trouble");
  if (part.state === "being restored" || part.state === "kept for spares") return as(words.states[part.state], "soft");
  if (printing !== null && lost) return as(tense("lost"), "soft");
  if (printing !== null && !live) return as(past ? "" : tense("unknown"), "soft"); // nobody hears it print
  if (printing !== null) return as(tense(printing ? "printing" : "quiet"), printing ? "live" : "soft");
  if (now.loading && !now.loading.done) return as(tense("loading"), "live");
  if (now.share !== null) return as(past ? said.busyThen(now.share) : said.busy(now.share), "live");
  if (live && !waking && now.weighs && now.state === "runs") return { ...as(said.busyUnknown, "live"), asked: true };
  if (now.perMin > 0) return as(tense("used"), "live");
  if (now.works && now.state === "runs" && !waking) return as(tense("atWork"), "live");
  if (!now.marks) return as("", "soft");
  if (now.state === "runs" && now.turns) return as(tense("turning"), "live");
  if (now.state === "runs" && now.testedSeq && waking) return as(tense("tested"), "live");
  if (now.state === "runs") return as(tense("on"), "live");
  if (now.state === "starting") return as(tense("starting"), "live");
  if (now.state === "stands") return as(tense(now.turns ? "still" : "off"), "soft");
  return as(tense("unknown"), "soft");
}
