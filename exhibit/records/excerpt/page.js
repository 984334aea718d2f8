// Shows a span of a recording, moment by moment. Everything that it shows is in this file.
"use strict";
(() => {
  const told = JSON.parse(document.getElementById("data").textContent);
  const element = (id) => document.getElementById(id);
  const place = element("place"), play = element("play"), time = element("time"), screen = element("screen");
  const wire = element("wire"), speed = element("speed");
  const rows = [...document.querySelectorAll("tr[data-ms]")];
  const WIRE_ROWS = 30;
  const ROW_MS = 40, ROW_BYTES = 24; // what came so close together is one row

  // Where the rows of the line begin: for each, the number of its first piece.
  const begins = [];
  told.pieces.forEach(([first, ms, by, bytes, instead], number) => {
    const before = told.pieces[number - 1], began = told.pieces[begins.at(-1)];
    const joins = before && !by && bytes[0] !== "\u001b" && !instead && !before[2] && !before[4] && first - before[1] <= ROW_MS && number - begins.at(-1) < ROW_BYTES;
    if (!joins || bytes.length > ROW_BYTES || began[3].length > ROW_BYTES) begins.push(number);
  });
  // ECMA-48, 5th edition, s.8.2; DEL is from ECMA-6.
  const CODES = "NUL SOH STX ETX EOT ENQ ACK BEL BS HT LF VT FF CR SO SI DLE DC1 DC2 DC3 DC4 NAK SYN ETB CAN EM SUB ESC IS4 IS3 IS2 IS1".split(" ");

  let now = 0; // milliseconds since the span began
  let applied = -1; // the last of told.screens that is in `shown`
  let shown = { rows: new Map(), cursor: [0, 0, false], first: 0 };
  let playing = null; // the moment of both clocks from which the time is reckoned
  let drawn = { screen: -2, wire: -2, row: -2 };

  // The number of the last one whose time has come; -1 if none has.
  const lastAt = (list, ms, of) => {
    let low = 0, high = list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (of(list[middle]) <= ms) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  };

  const words = (ms) => `${(ms / 1000).toFixed(3)} s`;

  function wallAt(ms) {
    const [, hours, minutes, seconds] = told.from_at.match(/T(\d\d):(\d\d):(\d\d(?:\.\d+)?)/) ?? [0, 0, 0, 0];
    const since = ((Number(hours) * 60 + Number(minutes)) * 60 + Number(seconds)) * 1000 + ms;
    const pad = (number, figures = 2) => String(Math.floor(number)).padStart(figures, "0");
    return `${pad((since / 3600000) % 24)}:${pad((since / 60000) % 60)}:${pad((since / 1000) % 60)}.${pad(since % 1000, 3)}`;
  }

  function take([, changed]) {
    for (const [number, runs] of Object.entries(changed.rows ?? {})) shown.rows.set(Number(number), runs);
    if (changed.first_row !== undefined) {
      shown.first = changed.first_row;
      for (const number of shown.rows.keys()) if (number < shown.first) shown.rows.delete(number);
    }
    if (changed.cursor) shown.cursor = changed.cursor;
  }

  function screenTo(number) {
    if (number < applied) {
      shown = { rows: new Map(), cursor: [0, 0, false], first: 0 };
      applied = -1;
    }
    while (applied < number) take(told.screens[++applied]);
    if (drawn.screen === number) return;
    drawn.screen = number;
    const numbers = [...shown.rows.keys()].sort((a, b) => a - b);
    screen.replaceChildren(...numbers.map((row) => lineOf(shown.rows.get(row), row)));
  }

  function lineOf(runs, number) {
    const line = document.createElement("div");
    const [row, column, visible] = shown.cursor;
    let at = 0;
    for (const [text, looks] of runs) {
      const cut = visible && row === number && column >= at && column < at + text.length ? column - at : -1;
      const pieces = cut < 0 ? [[text, ""]] : [[text.slice(0, cut), ""], [text[cut], "cursor"], [text.slice(cut + 1), ""]];
      for (const [part, more] of pieces) if (part) line.append(span(part, `${looks} ${more}`.trim()));
      at += text.length;
    }
    if (visible && row === number && column >= at) line.append(" ".repeat(column - at), span(" ", "cursor"));
    return line;
  }

  function span(text, looks) {
    if (!looks) return text;
    const made = document.createElement("span");
    made.className = looks;
    made.textContent = text;
    return made;
  }

  function wireTo(number) {
    if (drawn.wire === number) return;
    drawn.wire = number;
    const last = lastAt(begins, number, (begin) => begin);
    const lines = [];
    for (let row = Math.max(0, last - WIRE_ROWS + 1); row <= last; row += 1) {
      lines.push(told.pieces.slice(begins[row], Math.min(begins[row + 1] ?? told.pieces.length, number + 1)));
    }
    wire.replaceChildren(...lines.map(pieceOf));
    wire.parentElement.scrollTop = wire.parentElement.scrollHeight;
  }

  function pieceOf(pieces) {
    const [first, , by, , instead] = pieces[0], ms = pieces.at(-1)[1];
    const bytes = pieces.map((piece) => piece[3]).join("");
    const item = document.createElement("li");
    const when = document.createElement("span"), what = document.createElement("span"), hex = document.createElement("span");
    when.textContent = words(first);
    when.title = first === ms ? "" : `its last character came at ${words(ms)}`;
    what.className = "text";
    hex.className = "hex";
    if (by) {
      item.className = "typed";
      what.append(`${by} typed: `);
    }
    if (instead) what.append(instead);
    for (const character of bytes) {
      const code = character.charCodeAt(0) & (told.seven_bits ? 0x7f : 0xff);
      const name = code < 32 ? CODES[code] : code === 127 ? "DEL" : code > 127 && code < 160 ? code.toString(16).toUpperCase() : "";
      if (!name) what.append(String.fromCharCode(code));
      else {
        const control = document.createElement("b");
        control.textContent = name;
        what.append(control);
      }
    }
    hex.textContent = [...bytes].map((one) => one.charCodeAt(0).toString(16).toUpperCase().padStart(2, "0")).join(" ");
    item.append(when, what, hex);
    return item;
  }

  function nowTo(ms, chosen) {
    const running = told.steps.filter(([, from, until]) => (from ?? 0) <= ms && (until === null || until > ms)).at(-1);
    element("now-step").textContent = running ? `${running[0]}, for ${words(ms - (running[1] ?? 0))}${running[1] === null ? " or longer" : ""}` : "none";
    const caption = told.captions.filter(([at]) => at <= ms).at(-1);
    element("now-caption").textContent = caption ? caption[1] : "none in this span yet";
    const current = chosen ?? lastAt(rows, ms, (row) => Number(row.dataset.ms));
    let last = current;
    while (last >= 0 && rows[last].className === "caption") last -= 1;
    element("now-said").textContent = last < 0 ? "nothing yet" : rows[last].querySelector(".said").textContent;
    if (drawn.row === current) return;
    rows[drawn.row]?.removeAttribute("aria-current");
    rows[current]?.setAttribute("aria-current", "step");
    drawn.row = current;
  }

  // `chosen`: of several rows of one moment, the number of the one that was asked for.
  function show(ms, chosen) {
    now = Math.min(told.length_ms, Math.max(0, ms));
    place.value = Math.round(now);
    place.setAttribute("aria-valuetext", `${wallAt(now)}, ${words(now)} after the beginning`);
    time.textContent = `${wallAt(now)}  (+${words(now)})`;
    screenTo(Math.max(0, lastAt(told.screens, now, ([at]) => at)));
    wireTo(lastAt(told.pieces, now, ([, at]) => at));
    nowTo(now, chosen);
  }

  function pause() {
    playing = null;
    play.textContent = "Play";
  }

  function start() {
    if (now >= told.length_ms) show(0);
    playing = { real: performance.now(), ms: now };
    play.textContent = "Pause";
    requestAnimationFrame(tick);
  }

  function tick() {
    if (!playing) return;
    show(playing.ms + (performance.now() - playing.real) * Number(speed.value));
    if (now >= told.length_ms) pause();
    else requestAnimationFrame(tick);
  }

  function goTo(ms, chosen) {
    pause();
    show(ms, chosen);
  }

  function step(by) {
    const times = [...new Set([0, ...rows.map((row) => Number(row.dataset.ms)), told.length_ms])];
    const next = by > 0 ? times.find((ms) => ms > now) : times.filter((ms) => ms < now).at(-1);
    if (next !== undefined) goTo(next);
  }

  rows.forEach((row, number) => {
    const button = document.createElement("button");
    button.textContent = row.cells[0].textContent;
    button.addEventListener("click", () => goTo(Number(row.dataset.ms), number));
    row.cells[0].replaceChildren(button);
  });
  place.max = told.length_ms;
  place.addEventListener("input", () => goTo(Number(place.value)));
  play.addEventListener("click", () => (playing ? pause() : start()));
  element("back").addEventListener("click", () => step(-1));
  element("on").addEventListener("click", () => step(1));
  speed.addEventListener("change", () => {
    if (playing) playing = { real: performance.now(), ms: now };
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("input, select, button, .scroll")) return;
    const acts = { " ": () => (playing ? pause() : start()), ArrowLeft: () => step(-1), ArrowRight: () => step(1), Home: () => goTo(0), End: () => goTo(told.length_ms) };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  });
  element("player").hidden = false;
  show(told.begin_ms);
})();
