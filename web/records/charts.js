// Charts over the days: how long a step took each time, and what each day had. Ink points, limits dashed and named at their
// ends, what lies outside marked by its shape; the method and n below, and all numbers in a table.

import uPlot from "../built/uPlot.esm.js";
import { $, newElement, setAttribute, setShown, setText } from "../shared/dom.js";
import { ask } from "./asks.js";
import { addressOf } from "./places.js";
import { dateOf, wallMs } from "./times.js";

const MOST_ROWS = 1000;
const NEAR_PX = 24;
const shown = { plot: null, answer: null, machine: "", asked: 0, listening: false };

export async function openChartsOf(fault) {
  setText($("charts-says"), "Reading the recordings. The first time, this takes a while for many days.");
  const answer = await ask("charts");
  setText($("charts-says"), "");
  if (answer.fault) {
    fault(answer.fault);
    return;
  }
  fill(answer, fault);
  if (!shown.listening) {
    $("chart-of").addEventListener("change", () => show(fault));
    new ResizeObserver(() => draw()).observe($("chart"));
    shown.listening = true;
  }
  await show(fault);
}

function fill({ machines, days }, fault) {
  const before = $("chart-of").value;
  const value = (machine, of) => JSON.stringify([machine, of]);
  $("chart-of").replaceChildren(...machines.map(({ machine, steps }) => {
    const group = newElement("optgroup");
    group.label = machine;
    const option = (of, text) => {
      const one = newElement("option", text);
      one.value = value(machine, of);
      return one;
    };
    group.append(...days.map(([name, says]) => option(name, says)), ...steps.map((step) => option(step.name, `how long ${step.name} took (${runs(step.runs)})`)));
    return group;
  }));
  const all = machines.flatMap(({ machine, steps }) => steps.map((step) => ({ ...step, machine })));
  const changed = all.filter(({ change }) => change);
  const off = all.filter(({ far_off: count }) => count).sort((a, b) => b.far_off - a.far_off);
  setText($("charts-found"), foundWords(all, changed));
  $("changes").replaceChildren(...[...changed, ...off].map((step) => {
    const item = newElement("li");
    const button = newElement("button", step.name);
    button.type = "button";
    button.addEventListener("click", () => {
      $("chart-of").value = value(step.machine, step.name);
      show(fault);
    });
    item.append(button, newElement("span", step.change ? changeWords(step) : `took ${said(step.median_s)} as a rule; ${runs(step.far_off)} of ${step.runs.toLocaleString("en-GB")} far off`));
    if (step.change?.recording) {
      const link = newElement("a", "where it began");
      link.href = addressOf(step.change.recording, step.change.seq);
      item.append(link);
    }
    return item;
  }));
  const [first] = [...changed, ...off, ...all.toSorted((a, b) => b.median_s - a.median_s)];
  if ([...$("chart-of").options].some((one) => one.value === before)) $("chart-of").value = before;
  else if (first) $("chart-of").value = value(first.machine, first.name);
}

const runs = (count) => `${count.toLocaleString("en-GB")} ${count === 1 ? "run" : "runs"}`;
const said = (s) => (s < 1 ? `${Math.round(s * 1000)} ms` : `${Number(s.toPrecision(3))} s`);

function changeWords({ change }) {
  return `${change.up ? "became slower" : "became quicker"}: ${said(change.before)}, then ${said(change.after)}, most likely from ${dateOf(wallMs(change.at))}, ${change.at.slice(11, 16)} on`;
}

function foundWords(all, changed) {
  if (!all.length) return "No step has been done in these recordings.";
  const judged = all.filter((step) => step.judged).length;
  const few = all.length - judged;
  const seldom = few ? ` ${few === 1 ? "1 more ran" : `${few} more ran`} too seldom to judge.` : "";
  if (!judged) return "No step has run often enough to judge whether it became slower or quicker.";
  const steps = judged === 1 ? "1 step" : `${judged} steps`;
  if (!changed.length) return `Of ${steps} with enough runs, none has become slower or quicker for good.${seldom}`;
  const have = changed.length === 1 ? "1 has" : `${changed.length} have`;
  return `Of ${steps} with enough runs, ${have} become slower or quicker for good.${seldom}`;
}

async function show(fault) {
  const asked = ++shown.asked;
  if (!$("chart-of").value) {
    setText($("charts-says"), "There is nothing to draw: no recording here could be read.");
    return;
  }
  const [machine, of] = JSON.parse($("chart-of").value);
  const answer = await ask("chart", { machine, of });
  if (asked !== shown.asked) return;
  if (answer.fault) {
    fault(answer.fault);
    return;
  }
  Object.assign(shown, { answer, machine });
  draw();
  paintNumbers(answer);
}

// ---- the picture

function draw() {
  const { answer } = shown;
  const width = $("chart").clientWidth;
  if (!answer || !width) return;
  shown.plot?.destroy();
  $("chart").replaceChildren();
  const { points } = answer;
  setShown($("chart"), points.length > 0);
  if (!points.length) return;
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue(`--${name}`).trim();
  const em = parseFloat(getComputedStyle($("chart")).fontSize);
  const font = `${em}px "exhibit caption", sans-serif`;
  const byDay = points.every(({ seq }) => !seq);
  const xs = points.map(({ at }) => wallMs(at) / 1000);
  const ys = points.map(({ value }) => value);
  const [low, high] = heights(ys, answer.limits, byDay);
  const axis = { stroke: colour("ink"), font, grid: { stroke: colour("rule"), width: 1 }, ticks: { stroke: colour("ink"), width: 1, size: 6 } };
  const span = xs.at(-1) - xs[0];
  const pad = Math.max(span * 0.02, byDay ? 43_200 : 1);
  shown.plot = new uPlot({
    width,
    height: Math.round(Math.max(16 * em, Math.min(width * 0.4, 30 * em))),
    padding: [em, 9 * em, 0, 0],
    legend: { show: false },
    cursor: { show: false },
    tzDate: (s) => uPlot.tzDate(new Date(s * 1000), "Etc/UTC"),
    scales: { x: { time: true, range: [xs[0] - pad, xs.at(-1) + pad] }, y: { range: [low, high] } },
    axes: [
      { ...axis, size: 3.2 * em, space: 6 * em, values: (_, splits, __, ___, step) => splits.map((s) => tickText(s, step)) },
      { ...axis, size: 4.5 * em, values: (_, splits) => splits.map((one) => `${Number(one.toPrecision(6))}${answer.unit ? ` ${answer.unit}` : ""}`) },
    ],
    series: [{}, byDay
      ? { stroke: colour("ink"), fill: colour("ink"), width: 1, paths: uPlot.paths.bars({ size: [0.6, em * 1.5] }), points: { show: false } }
      : { stroke: colour("ink"), paths: () => null, points: { show: true, size: 0.45 * em, width: 1, stroke: colour("ink"), fill: colour("ink") } }],
    hooks: { draw: [(plot) => drawOver(plot, answer, xs, colour, font)] },
  }, [xs, ys], $("chart"));
  setAttribute($("chart"), "role", "img");
  setAttribute($("chart"), "aria-label", `${answer.title}. ${answer.says.join(" ")} The numbers are in the table below.`);
  if (!byDay) shown.plot.over.addEventListener("click", (event) => openNearest(event, xs, ys, points));
}

// From and to which value the chart goes: from 0, unless all values are far from it.
function heights(ys, limits, byDay) {
  const least = Math.min(...ys, limits?.lower ?? Infinity);
  const most = Math.max(...ys, limits?.upper ?? -Infinity);
  if (byDay || least < most / 2) return [0, most * 1.08 || 1];
  const room = (most - least) * 0.15 || most * 0.1;
  return [Math.max(0, least - room), most + room];
}

function tickText(s, step) {
  const date = new Date(s * 1000);
  const day = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: "UTC" }).format(date);
  if (step >= 86_400) return day;
  const time = date.toISOString().slice(11, step < 60 ? 19 : 16);
  return time.startsWith("00:00") ? day : time;
}

// The limits, the change, and what lies outside.
function drawOver(plot, { points, limits, change, unit }, xs, colour, font) {
  const { ctx, bbox } = plot;
  const ratio = devicePixelRatio;
  const [right, em] = [bbox.left + bbox.width, parseFloat(font) * ratio];
  const y = (value) => plot.valToPos(value, "y", true);
  const x = (value) => plot.valToPos(value, "x", true);
  const name = (text, at, ink = "ink") => {
    ctx.fillStyle = colour(ink);
    ctx.font = `${em}px "exhibit caption", sans-serif`;
    ctx.textAlign = "left";
    ctx.textBaseline = "middle";
    ctx.fillText(text, right + 0.4 * em, at);
  };
  const line = (from, to, at, dash, wide) => {
    ctx.beginPath();
    ctx.setLineDash(dash.map((one) => one * ratio));
    ctx.strokeStyle = colour("ink");
    ctx.lineWidth = wide * ratio;
    ctx.moveTo(from, at);
    ctx.lineTo(to, at);
    ctx.stroke();
    ctx.setLineDash([]);
  };
  ctx.save();
  if (limits) {
    let above = -Infinity; // names that would overlap stand one below the other
    for (const [value, says, dash] of [[limits.upper, "upper limit", [8, 5]], [limits.centre, "mean", [2, 4]], [limits.lower, "lower limit", [8, 5]]]) {
      line(bbox.left, right, y(value), dash, 1.5);
      above = Math.max(y(value), above + 1.2 * em);
      name(`${says} ${Number(value.toPrecision(3))} ${unit}`, above);
    }
  }
  if (change) {
    const at = x(xs[change.began]);
    line(bbox.left, at, y(change.before), [], 3);
    line(at, right, y(change.after), [], 3);
    ctx.beginPath();
    ctx.setLineDash([3 * ratio, 3 * ratio]);
    ctx.moveTo(at, bbox.top);
    ctx.lineTo(at, bbox.top + bbox.height);
    ctx.lineWidth = 1.5 * ratio;
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.textAlign = at > bbox.left + bbox.width / 2 ? "right" : "left";
    ctx.textBaseline = "top";
    ctx.fillStyle = colour("ink");
    ctx.font = `bold ${em}px "exhibit caption", sans-serif`;
    ctx.fillText("changed here", at + (ctx.textAlign === "left" ? 0.4 : -0.4) * em, bbox.top);
  }
  ctx.fillStyle = colour("trouble");
  points.forEach(({ outside, value }, index) => {
    if (!outside) return;
    const [px, py, r] = [x(xs[index]), y(value), 0.45 * em];
    ctx.beginPath();
    ctx.moveTo(px, py - r);
    ctx.lineTo(px + r, py + r * 0.8);
    ctx.lineTo(px - r, py + r * 0.8);
    ctx.closePath();
    ctx.fill();
  });
  ctx.restore();
}

function openNearest(event, xs, ys, points) {
  const { plot } = shown;
  const distance = (index) => Math.hypot(plot.valToPos(xs[index], "x") - event.offsetX, plot.valToPos(ys[index], "y") - event.offsetY);
  const nearest = xs.reduce((best, _, index) => (distance(index) < distance(best) ? index : best), 0);
  const { recording, seq } = points[nearest];
  if (distance(nearest) <= NEAR_PX && recording) location.hash = addressOf(recording, seq);
}

// ---- the numbers

function paintNumbers({ title, points, says, unit }) {
  const outside = points.filter((one) => one.outside).length;
  const lines = [...says, ...(outside ? [`${outside === 1 ? "1 run lies" : `${outside} runs lie`} outside the limits: a triangle in the chart.`] : [])];
  if (!points.length) lines.unshift("Nothing has been recorded for this chart yet.");
  $("charts-says").replaceChildren(...lines.map((text) => newElement("span", text)));
  const table = newElement("table");
  const head = newElement("tr");
  for (const text of ["Date", "Time", unit ? `Value in ${unit}` : "Value", "", "Fact"]) {
    const cell = newElement(text ? "th" : "td", text);
    if (text) cell.scope = "col";
    head.append(cell);
  }
  const body = newElement("tbody");
  const newest = points.slice(-MOST_ROWS).toReversed();
  body.append(...newest.map(row));
  const top = newElement("thead");
  top.append(head);
  const rest = points.length > MOST_ROWS ? `, the newest ${MOST_ROWS} of ${points.length.toLocaleString("en-GB")}` : "";
  table.append(newElement("caption", `${title}${rest}`), top, body);
  $("chart-numbers").replaceChildren(...(points.length ? [table] : []));
}

function row({ recording, seq, at, value, outside }) {
  const one = newElement("tr");
  const fact = newElement("td");
  if (recording && seq) {
    const link = newElement("a", String(seq));
    link.href = addressOf(recording, seq);
    fact.append(link);
  }
  one.append(newElement("td", dateOf(wallMs(at))), newElement("td", seq ? at.slice(11, 19) : ""), newElement("td", String(value), "value"), newElement("td", outside ? "outside" : ""), fact);
  return one;
}
