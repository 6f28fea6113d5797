// One lane and a view -> SVG elements. All words go in as text nodes; numbers decide everything else.

const SVG = "http://www.w3.org/2000/svg";
const HEIGHTS = {
  finding: 34, cue: 34, sensor: 34, board: 28, scare: 34, valve: 46, rod: 92, lamp: 38, speaker: 40, switched: 26,
  series: 104,
};
const WAY_WORDS = ["home", "out", "holds", "vented"];
const OPEN_WORDS = ["closed", "open", "closed", "closed"];
const MODE_WORDS = ["disarmed", "armed", "stopped", "alarmed"];

function svg(name, attributes, ...inside) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...inside);
  return element;
}

const short = (value) => Math.round(value * 100) / 100;

/** From time to place: {x(time), width, view}. */
function mapOf(view, width) {
  const factor = width / (view.end - view.begin);
  return { view, width, x: (time) => short((time - view.begin) * factor) };
}

function box(map, span, top, height, kind) {
  const left = Math.max(map.x(span.begin), -2), right = Math.min(map.x(span.end), map.width + 2);
  return svg("rect", { x: left, y: top, width: Math.max(right - left, 1.5), height, class: kind });
}

function words(x, y, text, map) {
  return x < -40 || x > map.width ? [] : [svg("text", { x: Math.max(x, 0) + 3, y }, text)];
}

/** Words inside a stretch, where it is wide enough for them (8 px a letter). */
function wordsIn(map, span, y, text) {
  const left = Math.max(map.x(span.begin), 0), right = Math.min(map.x(span.end), map.width);
  return right - left > text.length * 8 + 6 ? [svg("text", { x: left + 4, y }, text)] : [];
}

/** Stretches of one kind; those too near to be told apart are drawn as one. */
function boxes(map, spans, top, height, kindOf) {
  const found = [];
  let last = null;
  for (const span of spansWithin(spans, map.view.begin, map.view.end)) {
    const kind = kindOf(span);
    if (!kind) continue;
    if (last && last.kind === kind && map.x(span.begin) - map.x(last.end) < 0.75) {
      last.end = Math.max(span.end, last.end);
      last.element.setAttribute("width", Math.max(short(Math.min(map.x(last.end), map.width + 2)
        - Math.max(map.x(last.begin), -2)), 1.5));
      continue;
    }
    const element = box(map, span, top, height, kind);
    found.push(element);
    last = { kind, begin: span.begin, end: span.end, element };
  }
  return found;
}

function gridOf(map, height) {
  const gap = gapOf(map.view, map.width, 90);
  return momentsOf(map.view, gap).map((time) => svg("line", {
    x1: map.x(time), x2: map.x(time), y1: 0, y2: height, class: "grid",
  }));
}

/** A line through corners as a path: at most its least and most in each pixel. */
function pathOf(line, map, place) {
  const first = Math.max(placeAt(line.times, map.view.begin), 0);
  const last = Math.min(placeAt(line.times, map.view.end) + 1, line.times.length - 1);
  if (last - first > map.width * 4) return densePath(line, map, place, first, last);
  let path = "";
  for (let at = first; at <= last; at += 1) {
    path += `${path ? "L" : "M"}${map.x(line.times[at])} ${short(place(line.values[at]))}`;
  }
  if (line.times[last] < map.view.end) path += `H${map.width}`;
  return path;
}

function densePath(line, map, place, first, last) {
  let path = "", column = NaN, low = 0, high = 0;
  const close = () => {
    if (Number.isNaN(column)) return;
    path += `${path ? "L" : "M"}${column} ${short(place(low))}L${column} ${short(place(high))}`;
  };
  for (let at = first; at <= last; at += 1) {
    const x = Math.round(map.x(line.times[at])), value = line.values[at];
    if (x !== column) {
      close();
      column = x;
      low = high = value;
    }
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  close();
  return path;
}

const DRAW = {
  finding: (lane, map) => lane.marks.filter((mark) => mark.tick >= map.view.begin && mark.tick <= map.view.end)
    .map((mark) => findingMark(map.x(mark.tick), mark.severity)),

  cue: (lane, map) => {
    const first = placeAt(lane.times, map.view.begin - 1) + 1, last = placeAt(lane.times, map.view.end);
    const found = [];
    let before = -9;
    for (let at = first; at <= last; at += 1) {
      const x = map.x(lane.times[at]);
      if (x - before < 1 && at !== lane.chosen) continue;
      before = x;
      const kind = at === lane.chosen ? "mark-cue chosen" : "mark-cue";
      found.push(svg("path", { d: `M${x} 6l5 9l-5 13l-5 -13z`, class: kind }));
    }
    return found;
  },

  sensor: (lane, map) => [
    ...boxes(map, lane.askedSpans, 4, 7, () => "asked-on"),
    ...boxes(map, lane.spanList, 14, 16, () => "actual"),
    ...lane.placed.map((trip) => box(map, { begin: trip.begin, end: trip.end }, 2, 28, "mark-trip")),
  ],

  board: (lane, map) => [
    ...boxes(map, lane.spanList, 5, 18, () => "actual"),
    ...lane.spanList.flatMap((span) => wordsIn(map, span, 19, MODE_WORDS[span.more[0]] || "")),
  ],

  scare: (lane, map) => [
    ...boxes(map, lane.spanList, 8, 18, () => "actual"),
    ...spansWithin(lane.spanList, map.view.begin, map.view.end).filter((span) => span.more[0])
      .map((span) => cross(map.x(span.end), 17)),
    ...boxes(map, lane.waitList, 8, 18, () => "wait"),
    ...lane.waitList.flatMap((span) => wordsIn(map, span, 22, `waits for ${lane.waitWords[span.more[0]]}`)),
  ],

  valve: (lane, map) => {
    const says = lane.drives ? WAY_WORDS : OPEN_WORDS;
    return [
      ...boxes(map, lane.askedSpans, 3, 9, (span) => (span.more[0] === 2 ? "asked" : "asked-on")),
      ...boxes(map, lane.spanList, 17, 24, (span) => (span.more[0] === 1 ? "actual" : "asked")),
      ...lane.spanList.flatMap((span) => wordsIn(map, span, 34, says[span.more[0]])),
    ];
  },

  rod: (lane, map) => {
    const place = (share) => 84 - share * 58;
    const far = lane.stroke ? `out, ${lane.stroke}` : "out";
    return [
      ...boxes(map, lane.askedSpans, 3, 11, (span) => (span.more[0] === 1 ? "asked-on" : "asked")),
      svg("line", { x1: 0, x2: map.width, y1: place(1), y2: place(1), class: "grid" }),
      svg("line", { x1: 0, x2: map.width, y1: place(0), y2: place(0), class: "grid" }),
      ...lane.landings.flatMap((landing) => landingMarks(landing, map, place)),
      ...(lane.before ? [svg("path", { d: pathOf(lane.before, map, place), class: "before" })] : []),
      svg("path", { d: pathOf(lane.line, map, place), class: "curve" }),
      svg("text", { x: 3, y: place(1) + 15 }, far),
      svg("text", { x: 3, y: place(0) - 4 }, "home"),
      ...lane.moveList.filter((span) => span.more[1] && span.end >= map.view.begin && span.end <= map.view.end)
        .map((span) => cross(map.x(span.end), place(valueAt(lane.line, span.end)))),
    ];
  },

  lamp: (lane, map) => {
    const place = (share) => 34 - share * 30;
    const path = pathOf(lane.line, map, place);
    return [
      ...boxes(map, lane.fastList, 2, 34, () => "fast"),
      svg("path", { d: `${path}V34H${map.x(Math.max(map.view.begin, lane.line.times[0]))}z`, class: "actual" }),
      ...(lane.before ? [svg("path", { d: pathOf(lane.before, map, place), class: "before" })] : []),
    ];
  },

  speaker: (lane, map) => [
    ...boxes(map, lane.askedSpans, 3, 7, () => "asked-on"),
    ...boxes(map, lane.spanList, 14, 22, () => "actual"),
    ...lane.spanList.flatMap((span) => wordsIn(map, span, 30, lane.words[span.more[1]])),
    ...spansWithin(lane.spanList, map.view.begin, map.view.end).filter((span) => span.more[0])
      .map((span) => cross(map.x(span.end), 25)),
  ],

  switched: (lane, map) => boxes(map, lane.askedSpans, 4, 18, () => "actual"),

  series: (lane, map) => {
    const place = (value) => 96 - (value - lane.low) / (lane.high - lane.low) * 86;
    let above = Infinity;
    return [
      ...lane.ticks.map(([value]) =>
        svg("line", { x1: 0, x2: map.width, y1: place(value), y2: place(value), class: "grid" })),
      // A number that would stand on the one below it is left out.
      ...lane.ticks.flatMap(([value, label]) => {
        const y = Math.max(place(value) - 3, 12);
        if (above - y < 15) return [];
        above = y;
        return [svg("text", { x: 3, y }, label)];
      }),
      ...lane.limits.flatMap(([value, label]) => [
        svg("line", { x1: 0, x2: map.width, y1: place(value), y2: place(value), class: "limit" }),
        svg("text", { x: map.width - 4, y: Math.max(place(value) - 4, 12), "text-anchor": "end" }, label),
      ]),
      ...(lane.before ? [svg("path", { d: pathOf(lane.before, map, place), class: "before" })] : []),
      ...(lane.secondLine ? [svg("path", { d: pathOf(lane.secondLine, map, place), class: "curve second" })] : []),
      svg("path", { d: pathOf(lane.line, map, place), class: "curve" }),
    ];
  },
};

/** Severity by shape: a filled square, a triangle, a circle. */
function findingMark(x, severity) {
  const shapes = {
    error: `M${x - 8} 9h16v16h-16z`, warning: `M${x} 7l9 18h-18z`, note: `M${x - 7} 17a7 7 0 1 0 14 0a7 7 0 1 0 -14 0`,
  };
  return svg("path", { d: shapes[severity], class: `mark-${severity}` });
}

function cross(x, y) {
  return svg("path", { d: `M${x - 5} ${y - 5}l10 10m0 -10l-10 10`, class: "cut" });
}

/** The band in which a landing is expected, a flag at the time asked for, a ring where the rod came. */
function landingMarks(landing, map, place) {
  if (landing.slowest < map.view.begin || landing.fastest > map.view.end) return [];
  const y = place(landing.until), x = map.x(landing.asked);
  const found = [
    box(map, { begin: landing.fastest, end: landing.slowest }, y - 9, 18, "band"),
    svg("path", { d: `M${x} ${y + 10}v-22l8 5l-8 5`, class: "due" }),
  ];
  if (landing.arrived !== null) {
    found.push(svg("circle", { cx: map.x(landing.arrived), cy: y, r: 3.5, class: "due" }));
  }
  return found;
}

/** The whole picture of a lane. */
function drawLane(lane, view, width) {
  const height = HEIGHTS[lane.kind];
  const map = mapOf(view, width);
  lane.plot.setAttribute("viewBox", `0 0 ${width} ${height}`);
  lane.plot.setAttribute("height", height);
  lane.plot.replaceChildren(...gridOf(map, height), ...DRAW[lane.kind](lane, map));
}

function drawAxis(element, view, width) {
  const map = mapOf(view, width), gap = gapOf(view, width, 90);
  element.setAttribute("viewBox", `0 0 ${width} 28`);
  element.setAttribute("height", 28);
  element.replaceChildren(...momentsOf(view, gap).flatMap((time) => {
    const x = map.x(time), label = labelOf(time, gap);
    const anchor = x > width - 60 ? "end" : x < 20 ? "start" : "middle";
    return [svg("line", { x1: x, x2: x, y1: 20, y2: 28, class: "tick" }),
      svg("text", { x, y: 15, "text-anchor": anchor }, label)];
  }));
}
