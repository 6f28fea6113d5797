// A lane and a moment -> what its device does then: a number for the drawing, and words for people.

/** Takes a lane's rows apart, once; `was` is the same lane of the run that this one is compared with. */
function openLane(lane, run, data) {
  lane.shown = true;
  lane.of = lane.of || lane.name;
  if (lane.was) {
    lane.earlier = openLane({
      ...lane.was, key: `was:${lane.key}`, kind: lane.kind, name: lane.name, of: lane.of, label: lane.label,
      says: "in the other run", lands: [], waits: lane.was.waits || [], stroke: lane.stroke,
    }, run, data);
  }
  switch (lane.kind) {
    case "sensor":
      lane.askedSpans = spansOf(lane.asked, 2);
      lane.spanList = spansOf(lane.spans, 2);
      lane.placed = [];
      break;
    case "board": lane.spanList = spansOf(lane.spans, 3); break;
    case "scare":
      lane.spanList = spansOf(lane.spans, 3);
      lane.waitList = spansOf(lane.waits, 3);
      lane.waitWords = data.sensors;
      break;
    case "valve":
      lane.askedSpans = spansOf(lane.asked, 3);
      lane.spanList = spansOf(lane.spans, 3);
      break;
    case "rod":
      lane.askedSpans = spansOf(lane.asked, 3);
      lane.line = curveOf(lane.curve, lane.grain);
      lane.moveList = spansOf(lane.moves, 4);
      lane.landings = lane.lands.map(([asked, fastest, slowest, until, arrived]) => (
        { asked, fastest, slowest, until, arrived }));
      break;
    case "lamp":
      lane.line = levelsOf(lane.edges, run.end);
      lane.fastList = spansOf(lane.fast || [], 4);
      break;
    case "speaker":
      lane.askedSpans = spansOf(lane.asked, 2);
      lane.spanList = spansOf(lane.spans, 4);
      lane.mute = lane.words.map((word) => data.sounds[data.clips[lane.of]?.[word]]?.trouble);
      break;
    case "switched": lane.askedSpans = spansOf(lane.asked, 2); break;
    case "series":
      lane.line = curveOf(lane.curve, lane.grain);
      lane.secondLine = lane.second && curveOf(lane.second, lane.grain);
      break;
  }
  // The line of the other run is drawn in this lane too.
  if (lane.earlier) lane.before = lane.earlier.line;
  return lane;
}

const share = (value) => `${Math.round(value * 100)} %`;

/** The level of a lamp; in fast flashes the steady one that stands for it, where those are to be kept still. */
function levelOf(lane, time, still) {
  const fast = still && spanAt(lane.fastList, time);
  return fast ? fast.more[1] / 255 : valueAt(lane.line, time);
}

const WORDS = {
  sensor: (lane, time) => (spanAt(lane.spanList, time) ? "tripped" : "clear"),
  board: (lane, time) => MODE_WORDS[spanAt(lane.spanList, time)?.more[0] ?? 0],
  scare: (lane, time) => {
    const wait = spanAt(lane.waitList, time);
    if (wait) return `waits for ${lane.waitWords[wait.more[0]]}`;
    return spanAt(lane.spanList, time) ? "runs" : "–";
  },
  valve: (lane, time) => {
    const says = lane.drives ? WAY_WORDS : OPEN_WORDS;
    const sent = says[spanAt(lane.spanList, time)?.more[0] ?? 0];
    return spanAt(lane.askedSpans, time) ? `${sent}, coil on` : sent;
  },
  rod: (lane, time) => {
    const where = valueAt(lane.line, time);
    const moving = spanAt(lane.moveList, time);
    const place = where < 0.001 ? "home" : where > 0.999 ? "out" : share(where);
    return moving ? `${place} ${moving.more[0] ? "going out" : "going home"}` : place;
  },
  lamp: (lane, time, still) => {
    const level = levelOf(lane, time, still);
    const fast = spanAt(lane.fastList, time);
    const says = level < 0.002 ? "off" : share(level);
    return fast ? `${still ? `about ${says}` : says}, flashes ${fast.more[0]} in 1 s` : says;
  },
  speaker: (lane, time) => {
    const clip = spanAt(lane.spanList, time);
    if (!clip) return "silent";
    return `plays ${lane.words[clip.more[1]]}${lane.mute[clip.more[1]] ? ", not heard here" : ""}`;
  },
  switched: (lane, time) => (spanAt(lane.askedSpans, time) ? "runs" : "off"),
  series: (lane, time) => {
    const first = valueAt(lane.line, time).toPrecision(3);
    if (!lane.secondLine) return `${first} ${lane.unit}`;
    return `cap end ${first}, rod end ${valueAt(lane.secondLine, time).toPrecision(3)} ${lane.unit}`;
  },
};

/** How what a rod carries went in the motion that has begun last; nothing before the first. */
function goesOf(lane, time) {
  const begun = lane.moveList.filter((move) => move.begin <= time).length;
  return begun ? lane.goes[begun - 1] : "";
}

function wordsOf(lane, time, still) {
  return WORDS[lane.kind] ? WORDS[lane.kind](lane, time, still) : "";
}
