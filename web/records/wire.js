// The wire then: bytes in hexadecimal, and beside them text and the names of control codes.

import { newElement } from "../shared/dom.js";

const WAYS = { received: "in", typed: "typed", "by hand": "by hand" };

export function paintWire(list, { before, after }, times) {
  const here = newElement("li", before.length ? "The moment" : "Nothing has come along the line yet.", "here");
  list.replaceChildren(...rows(before, times, ""), here, ...rows(after, times, "later"));
}

// The rows, with a head wherever another second begins.
function rows(of, times, className) {
  let [second, by] = ["", ""];
  return of.flatMap((row, index) => {
    const time = times.clock(row.at_us, true);
    const head = time.slice(0, 8);
    const made = head === second ? [] : [newElement("li", head, `second ${className}`)];
    const same = index > 0 && of[index - 1].seq === row.seq;
    const says = row.by && row.by !== by ? row.by : "";
    second = head;
    by = row.by || by;
    return [...made, wireRow(row, same, time.slice(8), says, className)];
  });
}

function wireRow(row, same, time, by, className) {
  const line = newElement("li", undefined, `bytes ${className} ${row.way === "received" ? "" : "typed"}`.trim());
  const parts = newElement("span", undefined, "parts");
  for (const part of row.parts) parts.append(partOf(part));
  if (by) parts.append(newElement("span", ` by ${by}`, "by"));
  line.append(newElement("span", same ? "" : time, "time"), newElement("span", same ? "" : WAYS[row.way], "way"), newElement("span", row.hex, "hex"), parts);
  return line;
}

function partOf([code, name]) {
  if (name === undefined) return newElement("span", code, "text");
  if (!code) return newElement("em", name);
  const said = newElement("span", undefined, "code");
  said.append(newElement("b", code), newElement("span", ` ${name} `));
  return said;
}
