// Rows of numbers as the page carries them -> what stands at a moment. Pure functions; times in ms.

/** (gap, length, more...) in rows of `width` -> [{begin, end, more}]. */
function spansOf(flat, width) {
  const spans = [];
  for (let at = 0, last = 0; at < flat.length; at += width) {
    const begin = last + flat[at];
    last = begin + flat[at + 1];
    spans.push({ begin, end: last, more: flat.slice(at + 2, at + width) });
  }
  return spans;
}

/** Steps of 0.1 ms and of `grain` -> two rows of the same length: times and values. */
function curveOf(flat, grain) {
  const count = flat.length / 2;
  const times = new Float64Array(count), values = new Float64Array(count);
  for (let at = 0, time = 0, value = 0; at < count; at += 1) {
    time += flat[2 * at];
    value += flat[2 * at + 1];
    times[at] = time / 10;
    values[at] = value * grain;
  }
  return { times, values };
}

/** (tick as step, level, ticks of the fade) -> corners of the line that the level follows, 0 to 1. */
function levelsOf(flat, end) {
  const times = [], values = [];
  let time = 0, level = 0;
  for (let at = 0; at < flat.length; at += 3) {
    time += flat[at];
    const goal = flat[at + 1], over = flat[at + 2];
    if (at > 0) { times.push(time); values.push(level / 255); }
    const next = at + 3 < flat.length ? time + flat[at + 3] : end;
    if (over === 0) {
      level = goal;
      times.push(time); values.push(level / 255);
    } else {
      const stop = Math.min(time + over, next);
      if (at === 0) { times.push(time); values.push(level / 255); }
      level += (goal - level) * (stop - time) / over;
      times.push(stop); values.push(level / 255);
    }
  }
  return { times: Float64Array.from(times), values: Float64Array.from(values) };
}

/** The last place whose time is not after `time`, or -1. */
function placeAt(times, time) {
  let low = 0, high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= time) low = middle + 1; else high = middle;
  }
  return low - 1;
}

/** The value of a line through corners; behind the jump where two corners share a time. */
function valueAt(line, time) {
  const at = placeAt(line.times, time);
  if (at < 0) return line.values.length ? line.values[0] : 0;
  if (at + 1 >= line.times.length) return line.values[at];
  const share = (time - line.times[at]) / (line.times[at + 1] - line.times[at]);
  return line.values[at] + (line.values[at + 1] - line.values[at]) * share;
}

/** The stretch that holds a moment, or undefined. Stretches are in order of their ends. */
function spanAt(spans, time) {
  let low = 0, high = spans.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (spans[middle].end <= time) low = middle + 1; else high = middle;
  }
  const found = spans[low];
  return found && found.begin <= time ? found : undefined;
}

/** Those of the stretches that touch begin to end. */
function spansWithin(spans, begin, end) {
  return spans.filter((span) => span.end >= begin && span.begin <= end);
}

/** Text of base 64 -> its bytes. */
function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) bytes[at] = text.charCodeAt(at);
  return bytes;
}

/** Deflated JSON in base 64 -> its value. */
function unpacked(base64) {
  const bytes = new Blob([bytesOf(base64)]).stream();
  return new Response(bytes.pipeThrough(new DecompressionStream("deflate"))).json();
}
