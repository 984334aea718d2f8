// The screen that the page is on. A museum's own screens are set, not guessed: `/?screen=hall` takes the layout and the
// measures of [screens.hall] from the recording; `landscape` and `portrait` need nothing in the folder. Without the
// setting, the page is in a person's own browser: it fits itself to the window, and never goes home by itself.

const BUILT_IN = { landscape: { layout: "landscape" }, portrait: { layout: "portrait" } };
const HOME_AFTER_S = 240;
const UNITS = { landscape: [1920, 1080], portrait: [1080, 1920] }; // across and down
const CAPITAL_EM = 0.668; // the height of a capital in the face of captions
const CAPTION_ARC_MINUTES = 22;
const LEAST_CAPTION_U = { landscape: 88, portrait: 98 };
const MOST_CAPTION_U = { landscape: 132, portrait: 150 };
const LINES = { landscape: 2, portrait: 4 }; // of captions of 76 characters
const ONE_LINE_MORE_U = { landscape: 96, portrait: 110 }; // above this size they need one more
const TOUCH_MM = 20;
const CODE_MM = 50; // a tenth of the distance from which a phone in the hand reads it
const LEAST_CODE_U = 136;
const USUAL_WIDTH_MM = { landscape: 531, portrait: 299 }; // of a screen of 24 inches, 16 to 9

// What somebody in a wheelchair reaches from the front, in centimetres above the floor.
export const REACH_CM = { lowest: 38, highest: 122 };

// Where controls can be: as parts of the height, from the top.
const PLACES = {
  landscape: { strip: [0, 88 / 1080], foot: [1004 / 1080, 1] },
  portrait: { strip: [0, 136 / 1920], foot: [1844 / 1920, 1] },
};
const KIND_ROW = { landscape: [660 / 1080, 732 / 1080], portrait: [806 / 1920, 900 / 1920] };

export const wantedScreen = new URLSearchParams(location.search).get("screen") ?? "";

// The size of a unit: the page is as large as the screen's shape allows. Null where the screen isn't measured.
function unitMm({ layout, width_cm, height_cm }) {
  if (!width_cm) return null;
  const [across, down] = UNITS[layout];
  return 10 * Math.min(width_cm / across, (height_cm || Infinity) / down);
}

// The size in units of a caption whose capitals are 22 arc minutes high.
export function captionUnits(screen) {
  const { layout, distance_cm } = screen;
  const [least, unit_mm] = [LEAST_CAPTION_U[layout], unitMm(screen)];
  if (!unit_mm || !distance_cm) return least;
  const capital_mm = distance_cm * 10 * Math.tan((CAPTION_ARC_MINUTES / 60 / 180) * Math.PI);
  return Math.min(MOST_CAPTION_U[layout], Math.max(least, capital_mm / unit_mm / CAPITAL_EM));
}

const unitsOf = (mm, screen) => Math.ceil(mm / (unitMm(screen) ?? USUAL_WIDTH_MM[screen.layout] / UNITS[screen.layout][0]));

// How wide and high a thing must be to be touched, in units: 20 mm.
export const touchUnits = (screen) => unitsOf(TOUCH_MM, screen);

// How wide the code for phones is on an upright screen, in units.
export const codeUnits = (screen) => Math.max(LEAST_CODE_U, unitsOf(CODE_MM, screen));

function isWithinReach([top, bottom], { height_cm, lower_edge_cm }) {
  const above = (part) => lower_edge_cm + height_cm * (1 - part);
  return above(bottom) >= REACH_CM.lowest && above(top) <= REACH_CM.highest;
}

// Where the controls go: "strip" (at the top) or "foot"; and whether a button beside the kind of caption is in reach.
export function controlsPlace(screen) {
  const places = PLACES[screen.layout];
  if (!screen.height_cm || screen.lower_edge_cm === undefined) return { bar: screen.layout === "portrait" ? "foot" : "strip", kindRow: true };
  const bar = screen.layout === "landscape" && isWithinReach(places.strip, screen) ? "strip" : "foot";
  return { bar, kindRow: isWithinReach(KIND_ROW[screen.layout], screen) };
}

// Where the code for phones is: on an upright screen at the foot, unless that is too low and the strip is not too high.
export function codePlace(screen) {
  if (screen.layout !== "portrait") return "strip";
  if (!screen.height_cm || screen.lower_edge_cm === undefined) return "foot";
  const foot = [1 - (codeUnits(screen) + 8) / UNITS.portrait[1], 1];
  return !isWithinReach(foot, screen) && isWithinReach(PLACES.portrait.strip, screen) ? "strip" : "foot";
}

// The screen as set: null in a person's own browser; `unknown` if the folder doesn't have the name.
export function screenOf(recording) {
  if (!wantedScreen) return null;
  const named = recording?.screens?.[wantedScreen] ?? BUILT_IN[wantedScreen];
  const screen = named ?? { ...BUILT_IN.landscape, unknown: Boolean(recording) };
  return { touch: true, ...screen, name: wantedScreen, home_after_s: screen.home_after_s || HOME_AFTER_S };
}

const large = matchMedia("(min-width: 70rem) and (min-height: 41rem) and (min-aspect-ratio: 13/10)");

// The composition: "landscape", "portrait", or "" for a page that flows and may scroll, as on a phone.
export function layoutOf(screen, size) {
  if (size !== "1") return "";
  if (screen) return screen.layout;
  return large.matches ? "landscape" : "";
}

// Puts the composition and its measures where the style sheets take them from. Gives whether anything has changed.
export function setScreen(screen, size) {
  const root = document.documentElement;
  const layout = layoutOf(screen, size);
  const measured = screen ?? { layout, touch: true };
  const place = layout ? controlsPlace({ ...measured, layout }) : { bar: "strip", kindRow: true };
  const now = {
    screen: layout,
    kiosk: screen ? (screen.touch ? "touch" : "look") : "",
    bar: place.bar,
    code: layout ? codePlace({ ...measured, layout }) : "strip",
    kindRow: place.kindRow ? "in reach" : "out of reach",
  };
  const changed = Object.entries(now).some(([name, value]) => root.dataset[name] !== value);
  if (changed) Object.assign(root.dataset, now);
  if (layout) {
    const units = captionUnits({ ...measured, layout });
    root.style.setProperty("--caption-units", units);
    root.style.setProperty("--caption-lines", LINES[layout] + (units > ONE_LINE_MORE_U[layout] ? 1 : 0));
    root.style.setProperty("--code-units", codeUnits({ ...measured, layout }));
    root.style.setProperty("--touch-units", touchUnits({ ...measured, layout }));
  }
  return changed;
}

large.addEventListener("change", () => dispatchEvent(new Event("resize")));
