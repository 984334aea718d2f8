// Why: what was running, waited for and shown, on which facts it rests, the facts around, and the readings.

import { $, newElement, replaceIfChanged, setShown } from "../shared/dom.js";
import { lasting } from "./times.js";

// `go` gets a fact's number.
export function paintWhy(moment, times, go) {
  replaceIfChanged($("now"), [moment.seq, moment.now, moment.because, moment.deadlines, moment.troubles, moment.parts, Math.floor(moment.at_us / 1e6)], () => nowItems(moment, times, go));
  replaceIfChanged($("facts"), [moment.facts, moment.seq], () => factItems(moment.facts, moment.seq, times, go));
  setShown($("readings"), moment.readings.length > 0);
  setShown($("no-readings"), moment.readings.length === 0);
  replaceIfChanged($("readings").tBodies[0], moment.readings, () => moment.readings.map(([name, value, at, seq]) => {
    const row = newElement("tr");
    const when = newElement("td");
    when.append(factButton(times.clock(at), seq, go));
    row.append(newElement("td", name), newElement("td", String(value), "value"), when);
    return row;
  }));
}

function nowItems({ seq: here, facts, now, because, deadlines, troubles, parts, at_us: at }, times, go) {
  const items = [];
  const since = (us) => (at - us < 1000 ? `at ${times.clock(us)}` : `since ${times.clock(us)}, for ${lasting((at - us) / times.rate)}`);
  const add = (name, words, seq, more = [], className = "") => {
    const said = newElement("dd");
    said.append(newElement("span", words));
    if (seq) said.append(" ", factButton(`fact ${seq}`, seq, go));
    said.append(...more);
    items.push(newElement("dt", name, className), said);
  };
  const fact = facts.find((one) => one.seq === here);
  if (fact) add("This fact", fact.says);
  if (now.line?.[0] === "lost") add("The line", `lost ${since(now.line[2])}: ${now.line[1]}`, now.line[3], [], "bad");
  if (now.silent) add("The machine", `silent ${since(now.silent[0])}`, now.silent[1], [], "bad");
  for (const [seq, what, line, us, often] of troubles.slice(-4)) add("Trouble", `${what}, ${since(us)}${often > 1 ? `, ${often} times` : ""}: ${line}`, seq, [], "bad");
  if (now.failed) add("Stopped", `nothing is typed ${since(now.failed[1])}: ${now.failed[0]}`, now.failed[2], [], "bad");
  if (now.keyboard) add("Keyboard", `${now.keyboard[0]} has it, ${since(now.keyboard[1])}`, now.keyboard[2]);
  if (now.script) add("Script", `${now.script[0]}${now.script[4] ? `, round ${now.script[4]}` : ""}, ${since(now.script[1])}, by ${now.script[3]}`, now.script[2]);
  else add("Script", "none is running");
  if (now.step) add("Step", `${[now.step[0], now.step[3]].filter(Boolean).join(", ")}, ${since(now.step[1])}`, now.step[2], [], now.step[3] === "late" ? "bad" : "");
  if (now.asked) add("By hand", `asked for ${now.asked[0]}, ${since(now.asked[2])}: ${now.asked[1]}`, now.asked[3]);
  if (now.caption) {
    const [, kind, words, part, us, seq, , source] = now.caption;
    const grounds = newElement("ol", undefined, "grounds");
    grounds.append(...because.map((fact) => factItem(fact, times, go)));
    const why = because.length ? [newElement("span", "It rests on:", "rests"), grounds] : source ? [newElement("span", `Its source: ${source}`, "rests")] : [];
    add("Last caption", `“${words}” (${[kind, part].filter(Boolean).join(", ")}; shown at ${times.clock(us)})`, seq, why);
  } else add("Last caption", "none has been shown yet");
  for (const [name, due] of deadlines.slice(-3)) add("Time limit", `of the ${name}, in ${lasting((due - at) / times.rate)} (${times.clock(due)})`);
  if (now.held) add("Typing", `the machine holds it up (XOFF), ${since(now.held[0])}`, now.held[1]);
  if (now.place) add("Console", `${now.place[0]}, ${since(now.place[2])}`, now.place[3]);
  if (now.day) add("The day", `${now.day[0]}, ${since(now.day[2])}, by ${now.day[1]}`, now.day[3]);
  const running = parts.filter(([, state]) => state === "running").map(([part]) => part);
  if (running.length) add("Running", running.join(", "));
  return items;
}

function factItems(facts, seq, times, go) {
  if (!facts.length) return [newElement("li", "The list of facts is being read.")];
  const last = facts.findLast((one) => one.seq <= seq)?.seq;
  return facts.map((fact) => {
    const item = factItem(fact, times, go);
    if (fact.seq === last) item.setAttribute("aria-current", "true");
    if (fact.seq > seq) item.className = "later";
    return item;
  });
}

export function factItem(fact, times, go) {
  const item = newElement("li");
  const button = factButton(times.clock(fact.at_us, true), fact.seq, go);
  button.title = `Fact ${fact.seq}`;
  item.append(button, " ", newElement("span", fact.says));
  return item;
}

function factButton(text, seq, go) {
  const button = newElement("button", text, "fact");
  button.type = "button";
  button.addEventListener("click", () => go(seq));
  return button;
}
