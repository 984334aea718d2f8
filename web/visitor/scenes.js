// Which scene the page shows, and what stands on the stage in each. The scene is an item of the recording; a recording
// made before there were scenes gets one from its other items.

const FADE_MS = 200;

const STANDS = {
  "not started": ["drawing"],
  waking: ["drawing", "console"],
  working: ["drawing", "console", "few"],
  result: ["chart", "drawing", "console"],
  "looking inside": ["console", "drawing", "few"],
  resting: ["album", "card"],
  asleep: ["sums", "drawing"],
  trouble: ["drawing", "console", "help"],
};
const SIZES = { "not started": "row", waking: "row", result: "small", "looking inside": "small" };

// The scene as an item would have it.
export function sceneOf(items) {
  if (items.scene?.name) return items.scene;
  const { session, script, line } = items;
  const named = (name) => ({ name, since: "", plot: "", display: "" });
  if (!line || line.state === "not opened") return named("not started");
  if (session?.state === "failed" || items.trouble) return named("trouble");
  if (session?.state === "resting") return named("resting");
  if (script && !script.ended && !script.round) return named("waking");
  return named("working");
}

// What stands on the stage: {name, shows: Set, size of the drawing, plot}. What has nothing to show makes room.
export function stageOf(items) {
  const scene = sceneOf(items);
  let name = scene.name in STANDS ? scene.name : "working";
  const plot = scene.plot || Object.keys(items.plots ?? {})[0] || "";
  if (name === "result" && !hasBegun(items.plots?.[plot])) name = "working";
  const shows = new Set(STANDS[name]);
  let size = SIZES[name] ?? "large";
  if (name === "resting" && !items.album?.length) {
    shows.delete("album");
    shows.add("drawing");
  }
  if (name === "asleep" && !hasSums(items.sums)) shows.delete("sums");
  if (!Object.keys(items.recording?.drawn ?? {}).length) shows.delete("drawing");
  return { name, shows, size, plot };
}

// An empty frame is no result yet.
function hasBegun(plot) {
  return Boolean(plot && (plot.worked !== null || plot.points.length || plot.marks.length));
}

function hasSums(sums) {
  return Boolean(sums && (sums.rounds || sums.transfers || Object.values(sums.plots ?? {}).some(Boolean)));
}

// Changes the stage by `change`: what is in both scenes moves to its new place, the rest goes before the new comes, so that
// no words lie over others; a cut for those who asked for less motion, and where the browser can't.
export function changeScene(change) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  if (calm || document.hidden || !document.startViewTransition) {
    change();
    return;
  }
  document.documentElement.style.setProperty("--fade", `${FADE_MS}ms`);
  const fading = document.startViewTransition(change);
  fading.ready.catch(() => {}); // skipped, when the next change comes at once or the page is hidden
  fading.finished.catch(() => {});
}
