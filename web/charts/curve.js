// The line between printed points. It never rises above or falls below the two points that it joins, so it claims
// nothing that wasn't printed, and it isn't drawn across a value that came garbled.

// Points [x, y, seq] in the order of x, in pieces: a garbled value (y null) ends a piece.
export function runs(points) {
  const found = [];
  let open = false;
  for (const point of [...points].sort((a, b) => a[0] - b[0])) {
    if (point[1] === null) open = false;
    else if (open) {
      const run = found.at(-1);
      if (point[0] === run.at(-1)[0]) run[run.length - 1] = point; // two values for one place: the later one counts
      else run.push(point);
    } else {
      found.push([point]);
      open = true;
    }
  }
  return found;
}

// The slope at each point. It is 0 at tops and bottoms, and small enough elsewhere that nothing overshoots.
export function slopes(run) {
  if (run.length < 2) return run.map(() => 0);
  const secants = run.slice(1).map(([x, y], index) => (y - run[index][1]) / (x - run[index][0]));
  const found = run.map((_, index) => {
    const [before, after] = [secants[index - 1] ?? secants[index], secants[index] ?? secants[index - 1]];
    return before * after <= 0 ? 0 : (before + after) / 2;
  });
  secants.forEach((secant, index) => {
    const limit = 3 * Math.abs(secant);
    for (const end of [index, index + 1]) found[end] = Math.sign(found[end]) * Math.min(Math.abs(found[end]), limit);
  });
  return found;
}

// The height of the line at `x`; null outside the piece.
export function heightAt(run, at, x) {
  if (run.length === 0 || x < run[0][0] || x > run.at(-1)[0]) return null;
  const end = run.findIndex(([place]) => place >= x);
  if (run[end][0] === x || end === 0) return run[end][1];
  const [[x0, y0], [x1, y1]] = [run[end - 1], run[end]];
  const width = x1 - x0;
  const t = (x - x0) / width;
  const [t2, t3] = [t * t, t * t * t];
  return (2 * t3 - 3 * t2 + 1) * y0 + (t3 - 2 * t2 + t) * width * at[end - 1] + (3 * t2 - 2 * t3) * y1 + (t3 - t2) * width * at[end];
}

// The line as an SVG path, moved down by `down` pixels.
export function pathOf(run, at, across, up, down = 0) {
  const place = (x, y) => `${across(x).toFixed(1)} ${(up(y) + down).toFixed(1)}`;
  const parts = [`M${place(run[0][0], run[0][1])}`];
  for (let n = 1; n < run.length; n += 1) {
    const [[x0, y0], [x1, y1]] = [run[n - 1], run[n]];
    const third = (x1 - x0) / 3;
    parts.push(`C${place(x0 + third, y0 + at[n - 1] * third)} ${place(x1 - third, y1 - at[n] * third)} ${place(x1, y1)}`);
  }
  return parts.join("");
}
