// The moment of the run -> poses of the drawn machines, glow of lamps, squares of valves, words beside them.

/** Finds what can move, once; `update(time)` then puts everything where it stands at that moment. */
function makeStage(lanes, root) {
  const find = (kind, name) => lanes.get(`${kind}:${name}`);
  const bodies = [...root.querySelectorAll("[data-rod]")].map((element) => ({
    element, lane: find("rod", element.dataset.rod), last: -1,
    poses: posesOf(element.dataset.poses),
  })).filter((body) => body.lane);
  const parts = (attribute, kind) => [...root.querySelectorAll(`[data-${attribute}]`)]
    .map((element) => ({ element, lane: find(kind, element.dataset[attribute]), last: null }))
    .filter((part) => part.lane);
  const valves = parts("valve", "valve"), lamps = parts("lamp", "lamp"), switched = parts("switched", "switched");
  const speakers = parts("speaker", "speaker"), sensors = parts("sensor", "sensor");
  const pipes = [...root.querySelectorAll("[data-pipe]")];
  for (const valve of valves) valve.pipes = pipes.filter((pipe) => pipe.dataset.pipe === valve.element.dataset.valve);
  for (const lamp of lamps) {
    lamp.glow = lamp.element.querySelector(".glow");
    lamp.rays = lamp.element.querySelector(".rays");
  }

  const changed = (part, value) => {
    if (part.last === value) return false;
    part.last = value;
    return true;
  };

  function update(time, still) {
    for (const body of bodies) {
      const where = valueAt(body.lane.line, time);
      if (changed(body, where)) body.element.setAttribute("transform", transformOf(poseAt(body.poses, where)));
    }
    for (const valve of valves) {
      const names = valve.element.dataset;
      let way = WAY_WORDS[spanAt(valve.lane.spanList, time)?.more[0] ?? 0];
      if (names.rest && !spanAt(valve.lane.askedSpans, time)) way = names.rest;
      if (changed(valve, way)) {
        const place = names[way] ?? names[way === "home" ? "holds" : "home"] ?? 0;
        valve.element.setAttribute("transform", `translate(${place} 0)`);
        for (const pipe of valve.pipes) pipe.classList.toggle("fed", pipe.dataset.fed === way);
      }
    }
    for (const lamp of lamps) {
      const level = levelOf(lamp.lane, time, still);
      if (changed(lamp, level)) {
        lamp.glow.style.opacity = level;
        lamp.rays.style.opacity = level > 0.002 ? 1 : 0;
        lamp.rays.style.strokeDasharray = `${9 * level} 30`;
      }
    }
    for (const one of switched) {
      const on = Boolean(spanAt(one.lane.askedSpans, time));
      if (changed(one, on)) one.element.classList.toggle("on", on);
    }
    for (const one of speakers) {
      const on = Boolean(spanAt(one.lane.spanList, time));
      if (changed(one, on)) one.element.classList.toggle("on", on);
    }
    for (const one of sensors) {
      const on = Boolean(spanAt(one.lane.spanList, time));
      if (changed(one, on)) one.element.classList.toggle("tripped", on);
    }
  }
  return { update };
}

/** `x;y;angle;stretch`, each of them once where it stays -> [[x, y, angle, stretch]]; a stretch left out is 1. */
function posesOf(text) {
  const [xs, ys, angles, stretches = [1]] = text.split(";").map((row) => row.split(",").map(Number));
  const count = Math.max(2, xs.length, ys.length, angles.length, stretches.length);
  const value = (row, at) => row[row.length > 1 ? at : 0];
  return Array.from({ length: count }, (_, at) => [xs, ys, angles, stretches].map((row) => value(row, at)));
}

/** The pose at a share of the stroke, evenly between the two that are next to it. */
function poseAt(poses, where) {
  const place = Math.min(Math.max(where, 0), 1) * (poses.length - 1);
  const low = Math.min(Math.floor(place), poses.length - 2), part = place - low;
  return poses[low].map((value, at) => {
    let step = poses[low + 1][at] - value;
    // Angles (the third number) go the short way round.
    if (at === 2) step -= 360 * Math.round(step / 360);
    return value + step * part;
  });
}

function transformOf([x, y, degrees, stretch]) {
  const scale = stretch === 1 ? "" : ` scale(${stretch.toFixed(4)} 1)`;
  return `translate(${x.toFixed(2)} ${y.toFixed(2)}) rotate(${degrees.toFixed(2)})${scale}`;
}
