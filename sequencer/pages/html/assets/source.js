// Cues of the run and lines of the text, and the way from one to the other.

/** `marks` (tick as step, place) and `places` of the page -> the cues in order of time. */
function cuesOf(data) {
  const times = [], places = [];
  for (let at = 0, time = 0; at < data.marks.length; at += 2) {
    time += data.marks[at];
    times.push(time);
    places.push(data.marks[at + 1]);
  }
  return { times, places };
}

/** The time of the next cue after `time`, or of the last one before it; undefined where there is none. */
function nextCue(cues, time) {
  return cues.times[placeAt(cues.times, time) + 1];
}

function lastCue(cues, time) {
  return cues.times[placeAt(cues.times, time - 1)];
}

/** The cue nearest to `time` within `reach` ms, of one device where `who` is given; its index or -1. */
function cueNear(cues, data, time, reach, who) {
  let best = -1, least = reach;
  for (let at = placeAt(cues.times, time - reach - 1) + 1; at < cues.times.length; at += 1) {
    const off = Math.abs(cues.times[at] - time);
    if (cues.times[at] > time + reach) break;
    if (off <= least && (!who || data.places[cues.places[at]].who === who)) {
      best = at;
      least = off;
    }
  }
  return best;
}

/** The first cue of a line after `time`, else its first one; -1 where the line did nothing in this run. */
function cueOfLine(cues, data, file, line, time) {
  let first = -1;
  for (let at = 0; at < cues.times.length; at += 1) {
    const place = data.places[cues.places[at]];
    if (place.file !== file || place.line !== line) continue;
    if (first < 0) first = at;
    if (cues.times[at] > time) return at;
  }
  return first;
}

/** The element of the line that a place of the page's `places` lies on; undefined where the text is cut before it. */
function lineOf(place) {
  const line = document.querySelectorAll(".source")[place.file]?.children[place.line - 1];
  return line?.className === "cut" ? undefined : line;
}

/** Gives every line that does something in this run a button in place of its number; `go(place)` is what it does. */
function enliven(places, go) {
  for (const place of places) {
    const line = lineOf(place);
    if (!line || line.classList.contains("cue")) continue;
    line.classList.add("cue");
    const button = document.createElement("button");
    button.type = "button";
    button.setAttribute("aria-label", `Line ${place.line}: go to its cue`);
    button.textContent = `${place.line} ▸`;
    button.addEventListener("click", () => go(place));
    line.prepend(button);
  }
}

/** Marks the line of a place in the text, and brings it into view where it is asked for. */
function showLine(place, scroll) {
  for (const line of document.querySelectorAll(".source .chosen")) line.classList.remove("chosen");
  const line = place && lineOf(place);
  if (!line) return null;
  line.classList.add("chosen");
  if (scroll) line.scrollIntoView({ block: "center", behavior: "instant" });
  return line;
}
