// The engineer's page: which recordings there are, and one of them as it was at a moment.

import { $, setAttribute, setShown, setText } from "../shared/dom.js";
import { ask } from "./asks.js";
import { addressOf, readAddress } from "./places.js";
import { showKeys, takeKeys } from "./keys.js";
import { paintShelf } from "./shelf.js";
import { Study } from "./study.js";

const TYPE_SIZES = ["100%", "115%", "130%", "150%"];

const page = { view: "", size: 0, rows: [], summaries: {} };
const study = new Study({ say, fault, moved });

async function route() {
  const address = readAddress(location.hash);
  fault(null);
  if (address.view === "study") await openStudy(address);
  else if (address.view === "charts") await openCharts();
  else await openShelf();
}

function show(view) {
  page.view = view;
  setAttribute(document.documentElement, "data-view", view);
  setShown($("opening"), false);
  for (const one of ["shelf", "study", "charts"]) setShown($(one), one === view);
  if (view !== "study") study.pause();
}

async function openShelf() {
  show("shelf");
  setText($("title"), "Records");
  document.title = "Records";
  badge(null);
  const answer = await ask("recordings");
  if (answer.fault) return fault(answer.fault);
  page.rows = answer.recordings;
  if (!location.hash && page.rows.length === 1 && !page.rows[0].why && !page.chose) {
    location.replace(addressOf(page.rows[0].name));
    return;
  }
  if (page.view !== "shelf") return;
  paintShelf(page.rows, page.summaries);
  const had = await ask("summaries");
  if (had.fault) return;
  page.summaries = had.summaries;
  if (page.view === "shelf") paintShelf(page.rows, page.summaries);
}

async function openStudy({ name, seq }) {
  page.chose = true;
  if (study.name === name && page.view === "study") {
    if (seq !== null && seq !== study.seq) study.goToFact(seq);
    return;
  }
  const opened = await study.open(name, seq, () => show("study"));
  if (opened === false) await openShelf(); // the fault stays above it
  if (!opened) return;
  setText($("title"), opened.title || opened.machine);
  document.title = `${opened.title || opened.machine}, ${opened.date}`;
  badge(opened);
}

async function openCharts() {
  show("charts");
  setText($("title"), "Records");
  document.title = "Records: charts";
  badge(null);
  const { openChartsOf } = await import("./charts.js");
  await openChartsOf(fault);
}

// The badge says what this is: never the machine now.
function badge(opened) {
  const says = opened ? [`on ${opened.date}`, opened.machine_is === "simulated" ? "simulated machine" : "", opened.practice ? "practice" : ""] : ["nothing here is live"];
  setText($("badge-says"), says.filter(Boolean).join(" · "));
}

function fault(sentences) {
  setShown($("fault"), Boolean(sentences));
  setText($("fault"), sentences ? sentences.filter(Boolean).join(" ") : "");
}

function say(words) {
  setText($("said"), words);
}

// The address follows the moment, so that copying it is enough to hand the moment on.
function moved(name, seq) {
  const address = addressOf(name, seq);
  if (location.hash !== address) history.replaceState(null, "", address);
}

function larger() {
  page.size = (page.size + 1) % TYPE_SIZES.length;
  document.documentElement.style.fontSize = TYPE_SIZES[page.size];
  dispatchEvent(new Event("resize"));
}

$("larger").addEventListener("click", larger);
$("open-keys").addEventListener("click", () => showKeys());
$("close-keys").addEventListener("click", () => $("keys").close());
$("to-shelf").addEventListener("click", (event) => {
  event.preventDefault();
  page.chose = true;
  history.pushState(null, "", location.pathname);
  route();
});
takeKeys(study, { larger, shelf: () => $("to-shelf").click(), charts: () => $("to-charts").click() });
addEventListener("hashchange", route);
addEventListener("popstate", route);
route();
