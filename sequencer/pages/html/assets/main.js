// Puts the page together: reads its data, wires clock, sound, lanes, stage, text and keys.

const byId = (id) => document.getElementById(id);
// The page says of itself that the browser is too old, until this script runs.
byId("too-old").remove();
const data = await unpacked(byId("data").textContent);
const run = { begin: data.begin, end: data.end };
const lanes = new Map();
const groups = data.groups.map((group, number) => ({ ...group, number }));
for (const group of groups) for (const lane of group.lanes) lanes.set(lane.key, openLane(lane, run, data));
const cues = cuesOf(data);
const clock = makeClock(() => performance.now() / 1000, run.begin, run.end);
const trips = data.trips.map((trip) => ({ ...trip, placed: false }));
const choice = { cue: -1, still: data.fast !== null, warned: data.fast === null };

addShowLanes();
const board = makeLanes(groups, run, byId("lanes"));
pointed(byId("timeline"), board, { seek, choose });
const stage = makeStage(lanes, byId("stage"));
const sound = makeSound(data, lanes, tell);
const states = [...document.querySelectorAll("[data-state]")]
  .map((element) => ({ element, lane: lanes.get(element.dataset.state), says: wordsOf, said: "" }))
  .filter((one) => one.lane);
for (const element of document.querySelectorAll(".goes")) {
  const lane = lanes.get(element.previousElementSibling.dataset.state);
  if (lane) states.push({ element, lane, says: goesOf, said: "" });
}

for (const element of document.querySelectorAll("[data-series]")) {
  for (const lane of lanes.values()) {
    if (lane.kind !== "series" || !lane.of.startsWith(`${element.dataset.series} `)) continue;
    const value = document.createElement("b");
    element.append(value, " ");
    states.push({ element: value, lane, says: wordsOf, said: "" });
  }
}

/** The lanes of the run as a whole: findings and cues. */
function addShowLanes() {
  const marks = data.findings.flatMap((finding) => finding.ticks.map((tick) => ({ tick, ...finding })));
  marks.sort((one, other) => one.tick - other.tick);
  const whole = [];
  if (marks.length) {
    whole.push({ key: "finding:", kind: "finding", name: "findings", of: "findings", label: "", marks, shown: true,
      says: `${marks.length} times at which a finding bites` });
  }
  whole.push({ key: "cue:", kind: "cue", name: "cues", of: "cues", label: "", times: cues.times, chosen: -1,
    shown: true, says: `${cues.times.length} cues` });
  for (const lane of whole) lanes.set(lane.key, lane);
  groups.unshift({ name: "run", label: "The run", lanes: whole, number: groups.length });
}

function tell(words) {
  byId("told").textContent = words;
}

// What is shown

function show(time) {
  stage.update(time, choice.still);
  board.say(time, choice.still);
  for (const one of states) {
    const says = one.says(one.lane, time, choice.still);
    if (says !== one.said) {
      one.said = says;
      one.element.textContent = says;
    }
  }
  const place = (time - board.view.begin) / (board.view.end - board.view.begin);
  const head = byId("head");
  head.hidden = place < 0 || place > 1;
  head.style.transform = `translateX(${place * board.width}px)`;
  byId("time").textContent = sayTime(time);
  const slider = byId("place");
  slider.value = String(Math.round(time));
  slider.setAttribute("aria-valuetext", sayTime(time));
  byId("lanes").dataset.at = time.toFixed(3);
  showCueAt(time);
}

/** The last cue done by then, unless another of the same tick has been chosen. */
function showCueAt(time) {
  const at = placeAt(cues.times, time);
  if (at < 0 || (choice.cue >= 0 && cues.times[at] === cues.times[choice.cue])) return;
  chooseCue(at, false);
}

function frame() {
  showWithHead(clock.read());
  if (clock.playing) window.requestAnimationFrame(frame);
  else if (byId("play").getAttribute("aria-pressed") === "true") pause();
}

/** Shows a moment, and the part of the run that it lies in. */
function showWithHead(time) {
  const view = following(board.view, time, run);
  if (view !== board.view) showView(view); else show(time);
}

function showView(view) {
  board.show(view, widthOfPlots());
  drawAxis(byId("axis"), view, board.width);
  const whole = view.end - view.begin >= run.end - run.begin;
  byId("zoom-out").disabled = whole;
  byId("fit").disabled = whole;
  byId("left").disabled = view.begin <= run.begin;
  byId("right").disabled = view.end >= run.end;
  byId("span").textContent = `${sayTime(view.begin)} to ${sayTime(view.end)}`;
  show(clock.read());
}

function widthOfPlots() {
  const axis = byId("axis").parentElement;
  return Math.max(Math.floor(axis.getBoundingClientRect().width), 100);
}

// Playing

function play() {
  if (!choice.warned) {
    byId("caution").showModal();
    return;
  }
  if (sound.player.on) sound.player.context.resume();
  clock.play();
  sound.start(clock);
  byId("play").setAttribute("aria-pressed", "true");
  byId("play").textContent = "Pause";
  window.requestAnimationFrame(frame);
}

function pause() {
  clock.pause();
  sound.stop();
  byId("play").setAttribute("aria-pressed", "false");
  byId("play").textContent = "Play";
  showWithHead(clock.at);
}

function toggle() {
  if (clock.playing) pause(); else play();
}

function seek(time) {
  clock.seek(time);
  if (clock.playing) sound.start(clock);
  showWithHead(clock.at);
}

function step(ticks) {
  if (clock.playing) pause();
  seek(Math.round(clock.read()) + ticks);
}

function goToCue(next) {
  const time = clock.read();
  const found = next ? nextCue(cues, time) : lastCue(cues, time);
  if (found === undefined) return;
  seek(found);
  chooseCue(placeAt(cues.times, found), false);
  tell(`${sayTime(found)}: ${byId("now").textContent}`);
}

async function setSound(on) {
  sound.player.on = on;
  byId("sound").setAttribute("aria-pressed", String(on));
  if (!on) {
    sound.stop();
    clock.follow(() => performance.now() / 1000);
    return;
  }
  if (!await sound.open()) {
    tell("No sound can be played here, so clips are silent.");
    setSound(false);
    return;
  }
  if (!sound.player.on) return;
  clock.follow(sound.heard);
  if (clock.playing) sound.start(clock);
}

// Cues, lines, findings

function choose(lane, time, reach) {
  if (!lane) return;
  if (lane.kind === "finding") {
    const near = lane.marks.filter((mark) => Math.abs(mark.tick - time) <= reach)
      .sort((one, other) => Math.abs(one.tick - time) - Math.abs(other.tick - time))[0];
    if (near) {
      seek(near.tick);
      byId(`finding-${near.index}`).scrollIntoView({ block: "center" });
      byId(`finding-${near.index}`).focus();
    }
    return;
  }
  const who = lane.kind === "cue" ? "" : lane.of;
  const found = cueNear(cues, data, time, reach, who);
  if (found >= 0) {
    seek(cues.times[found]);
    chooseCue(found, true);
  }
}

/** The cue as it stands in the text; `scroll` brings its line into view. */
function chooseCue(at, scroll) {
  choice.cue = at;
  const lane = lanes.get("cue:");
  lane.chosen = at;
  board.redraw(lane);
  const place = data.places[cues.places[at]];
  const line = showLine(place, scroll);
  const said = line && line.lastChild.textContent.trim();
  byId("now").textContent = line ? `${data.files[place.file]}:${place.line}  ${said}` : "";
  byId("to-line").disabled = !line;
}

function goToLine() {
  if (choice.cue < 0) return;
  const line = showLine(data.places[cues.places[choice.cue]], true);
  if (line) (line.querySelector("button") || line).focus({ preventScroll: true });
}

function goFromLine({ file, line }) {
  const found = cueOfLine(cues, data, file, line, clock.read());
  if (found < 0) return;
  seek(cues.times[found]);
  chooseCue(found, false);
  byId("timeline").scrollIntoView({ block: "start" });
  byId("place").focus({ preventScroll: true });
}
