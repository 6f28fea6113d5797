// Buttons, keys and forms of the page -> what they do. The last file: it starts the page.

const KEYS = {
  " ": toggle, k: toggle, ",": () => step(-1), ".": () => step(1), n: () => goToCue(true), p: () => goToCue(false),
  "+": () => zoomBy(0.5), "=": () => zoomBy(0.5), "-": () => zoomBy(2), "[": () => panBy(-0.5), "]": () => panBy(0.5),
  f: () => showView({ ...run }), l: goToLine, t: placeTrip, m: toggleSound,
  Home: () => seek(run.begin), End: () => seek(run.end),
};

function on(id, kind, act) {
  const found = byId(id);
  if (found) found.addEventListener(kind, act);
}

function toggleSound() {
  if (!byId("sound").disabled) setSound(!sound.player.on);
}

function zoomBy(factor) {
  const view = zoomed(board.view, factor, clock.read(), run);
  showView(view);
}

function panBy(by) {
  showView(panned(board.view, by, run));
}

function setTheme(name) {
  document.documentElement.dataset.theme = name;
  for (const button of document.querySelectorAll("[data-to-theme]")) {
    button.setAttribute("aria-pressed", String(button.dataset.toTheme === name));
  }
}

function takesKeys(target) {
  return target.closest("input:not([type=range]):not([type=checkbox]), select, textarea, dialog");
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || takesKeys(event.target)) return;
  if (!byId("letters").checked && event.key.length === 1) return;
  const pressed = event.target.closest("button, a, [type=checkbox], summary");
  if (pressed && (event.key === " " || event.key === "Enter")) return;
  if (event.target.type === "range" && (event.key === "Home" || event.key === "End")) return;
  const act = KEYS[event.key];
  if (act) {
    event.preventDefault();
    act();
  }
});

on("play", "click", toggle);
on("back", "click", () => step(-1));
on("forward", "click", () => step(1));
on("cue-before", "click", () => goToCue(false));
on("cue-after", "click", () => goToCue(true));
on("sound", "click", toggleSound);
on("speed", "change", (event) => {
  clock.setSpeed(Number(event.target.value));
  if (clock.playing) sound.start(clock);
});
on("place", "input", (event) => seek(Number(event.target.value)));
on("still", "change", (event) => {
  choice.still = event.target.checked;
  show(clock.read());
});
on("to-line", "click", goToLine);
on("zoom-in", "click", () => zoomBy(0.5));
on("zoom-out", "click", () => zoomBy(2));
on("left", "click", () => panBy(-0.5));
on("right", "click", () => panBy(0.5));
on("fit", "click", () => showView({ ...run }));
on("fold", "click", () => board.foldAll(true));
on("unfold", "click", () => board.foldAll(false));
on("filter", "input", (event) => {
  const left = board.filter(event.target.value);
  byId("left-over").textContent = `${left} of ${lanes.size} lanes`;
  showView(board.view);
});
on("lanes", "wheel", (event) => {
  if (!event.ctrlKey && !event.shiftKey) return;
  event.preventDefault();
  if (event.ctrlKey) zoomBy(event.deltaY > 0 ? 1.25 : 0.8);
  else panBy(Math.sign(event.deltaY || event.deltaX) * 0.1);
});
for (const button of document.querySelectorAll("[data-to-theme]")) {
  button.addEventListener("click", () => setTheme(button.dataset.toTheme));
}
for (const button of document.querySelectorAll("[data-at]")) {
  button.addEventListener("click", () => {
    seek(Number(button.dataset.at));
    byId("timeline").scrollIntoView({ block: "start" });
  });
}
enliven(data.places, goFromLine);

// The caution before fast flashes

function playWith(still) {
  choice.warned = true;
  choice.still = still;
  byId("still").checked = still;
  byId("caution").close();
  play();
}
on("play-still", "click", () => playWith(true));
on("play-flashing", "click", () => playWith(false));
on("play-not", "click", () => byId("caution").close());

// Trips placed by hand

const ticksOf = (text) => {
  const found = /^\s*(\d+(?:\.\d+)?)\s*(ms|s|min)?\s*$/.exec(text);
  return found ? Math.round(Number(found[1]) * ({ ms: 1, min: 60000 }[found[2]] || 1000)) : NaN;
};

function placeTrip() {
  const sensor = byId("trip-who");
  if (!sensor || !sensor.value) return;
  const length = ticksOf(byId("trip-long").value);
  if (!(length >= 1)) {
    tell("Write how long the trip lasts as a time, such as 0.2 s.");
    byId("trip-long").focus();
    return;
  }
  const begin = Math.round(clock.read());
  trips.push({ sensor: sensor.value, begin, end: begin + length, placed: true });
  tell(`${sensor.value} is tripped at ${sayTime(begin)}: run the command to see what comes of it.`);
  showTrips();
}

function showTrips() {
  for (const lane of lanes.values()) {
    if (lane.kind !== "sensor") continue;
    lane.placed = trips.filter((trip) => trip.placed && trip.sensor === lane.of);
    board.redraw(lane);
  }
  byId("trip-list").replaceChildren(...trips.filter((trip) => trip.placed).map((trip) => {
    const remove = element("button", { type: "button" }, `Remove ${trip.sensor} at ${sayTime(trip.begin)}`);
    remove.addEventListener("click", () => {
      trips.splice(trips.indexOf(trip), 1);
      showTrips();
    });
    return element("li", {}, remove);
  }));
  byId("command").textContent = commandOf(data.run, trips);
}
on("trip-here", "click", placeTrip);
on("copy", "click", () => {
  const range = document.createRange();
  range.selectNodeContents(byId("command"));
  const selection = window.getSelection();
  selection.removeAllRanges();
  selection.addRange(range);
  const text = byId("command").textContent;
  const copied = navigator.clipboard ? navigator.clipboard.writeText(text) : Promise.reject(new Error("no clipboard"));
  copied.then(() => tell("The command is copied."), () => tell("The command is selected; copy it with your browser."));
});

// Paper gets every lane over the whole run, but of the pressures in cylinders only those that are unfolded

const PAPER_WIDTH = 560;
let before = null;
window.addEventListener("beforeprint", () => {
  before = { view: board.view, folded: groups.map((group) => group.folded) };
  for (const group of groups) if (!group.air) board.fold(group, false);
  board.show({ ...run }, PAPER_WIDTH);
  drawAxis(byId("axis"), run, PAPER_WIDTH);
  board.drawAll();
});
window.addEventListener("afterprint", () => {
  groups.forEach((group, at) => board.fold(group, before.folded[at]));
  showView(before.view);
});

let due = 0;
new ResizeObserver(() => {
  window.cancelAnimationFrame(due);
  due = window.requestAnimationFrame(() => {
    // Where there is little room, of the tools only the axis stays at the top.
    const tools = byId("axis").closest(".tools"), narrow = window.innerWidth <= 700;
    tools.style.top = narrow ? `${-byId("axis").closest(".axis").offsetTop}px` : "0";
    if (widthOfPlots() !== board.width) showView(board.view);
  });
}).observe(byId("lanes"));

const dark = window.matchMedia("(prefers-color-scheme: dark)").matches;
setTheme(document.documentElement.dataset.theme || (dark ? "dark" : "light"));
showView({ ...run });
showTrips();
for (const sensor of data.sounds) if (sensor.trouble) tell(`${sensor.file} ${sensor.trouble}, so it plays silence.`);
document.documentElement.dataset.ready = "true";
