// The wire then: bytes in hexadecimal, and beside them text and the names of control codes.

import { newElement } from "../shared/dom.js";

const WAYS = { received: "from the machine", typed: "typed", "by hand": "typed by hand" };

export function paintWire(list, { before, after }, times) {
  const here = newElement("li", before.length ? "The moment" : "Nothing has come along the line yet.", "here");
  list.replaceChildren(...rows(before, times, ""), here, ...rows(after, times, "later"));
}

// The rows, with a head wherever another second begins, or another way.
function rows(of, times, className) {
  let last = "";
  return of.flatMap((row, index) => {
    const time = times.clock(row.at_us, true);
    const head = `${time.slice(0, 8)} ${row.by ? `${WAYS[row.way]}, by ${row.by}` : WAYS[row.way]}`;
    const same = index > 0 && of[index - 1].seq === row.seq;
    const made = head === last ? [] : [newElement("li", head, `way ${className}`)];
    last = head;
    return [...made, wireRow(row, same ? "" : time.slice(8), className)];
  });
}

function wireRow(row, time, className) {
  const line = newElement("li", undefined, `bytes ${className} ${row.way === "received" ? "" : "typed"}`.trim());
  const parts = newElement("span", undefined, "parts");
  for (const part of row.parts) parts.append(partOf(part));
  line.append(newElement("span", time, "time"), newElement("span", row.hex, "hex"), parts);
  return line;
}

function partOf([code, name]) {
  if (name === undefined) return newElement("span", code, "text");
  if (!code) return newElement("em", name);
  const said = newElement("span", undefined, "code");
  said.append(newElement("b", code), newElement("span", ` ${name} `));
  return said;
}
