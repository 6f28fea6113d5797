// Groups of lanes in the page: made once, drawn when seen, folded, filtered, and pointed at.

/** `run` is {begin, end}; the groups get their elements. */
function makeLanes(groups, run, root) {
  for (const group of groups) {
    group.lanes = group.lanes.flatMap((lane) => (lane.earlier ? [lane, lane.earlier] : [lane]));
  }
  const lanes = groups.flatMap((group) => group.lanes);
  const seen = new Set();
  let filtered = false;
  const board = { view: { ...run }, width: 0, drawn: 0, time: run.begin, still: true };
  const watch = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      const lane = entry.target.lane;
      if (entry.isIntersecting) { seen.add(lane); drawIfStale(lane); } else seen.delete(lane);
    }
    board.say(board.time, board.still);
  }, { rootMargin: "200px" });

  for (const group of groups) root.append(groupElement(group));
  for (const lane of lanes) watch.observe(lane.row);

  function groupElement(group) {
    const rows = element("div", { class: "rows", id: `rows-${group.number}` }, ...group.lanes.map(rowElement));
    const twice = !group.prop || !group.label;
    const name = twice ? [] : [element("span", { class: "name" }, ` ${group.name}`)];
    const fold = element("button", { type: "button", class: "fold", "aria-controls": rows.id },
      group.air ? "Pressures: " : "", group.label || group.name, ...name);
    fold.addEventListener("click", () => setFolded(group, fold.getAttribute("aria-expanded") === "true"));
    group.fold = fold;
    group.rows = rows;
    group.element = element("section", { class: "group" }, element("h3", {}, fold), rows);
    // Pressures in cylinders are for those who look for them.
    setFolded(group, Boolean(group.air));
    return group.element;
  }

  function rowElement(lane) {
    const label = lane.label ? [element("span", { class: "aside" }, ` ${lane.label}`)] : [];
    lane.state = element("span", { class: "state" });
    // Its height from the start, so that nothing moves when it is drawn at last.
    lane.plot = svg("svg", { role: "img", "aria-label": `${lane.of}: ${lane.says}`, height: HEIGHTS[lane.kind] });
    lane.holder = element("div", { class: "plot" }, lane.plot);
    lane.stale = true;
    const kind = lane.kind === "scare" && lane.idle ? "idle" : lane.kind;
    const earlier = lane.key.startsWith("was:") ? [element("span", { class: "quiet" }, "before")] : [];
    lane.row = element("div", { class: `row k-${kind}` },
      element("div", { class: "lane-name", title: lane.label || lane.of },
        element("b", {}, lane.name), ...earlier, ...label, lane.state), lane.holder);
    lane.row.lane = lane;
    return lane.row;
  }

  function setFolded(group, folded) {
    group.folded = folded;
    group.fold.setAttribute("aria-expanded", String(!folded || filtered));
    group.rows.hidden = folded && !filtered;
  }

  function drawIfStale(lane) {
    if (!lane.stale || !board.width || !lane.shown) return;
    lane.stale = false;
    board.drawn += 1;
    drawLane(lane, board.view, board.width);
  }

  /** Another part of the run, or another width. */
  board.show = (view, width) => {
    board.view = view;
    board.width = width || board.width;
    for (const lane of lanes) lane.stale = true;
    for (const lane of seen) drawIfStale(lane);
  };
  board.redraw = (lane) => {
    lane.stale = true;
    if (seen.has(lane)) drawIfStale(lane);
  };
  board.drawAll = () => lanes.forEach(drawIfStale);
  board.fold = setFolded;
  board.foldAll = (folded) => groups.forEach((group) => setFolded(group, folded));
  /** Keeps the lanes in whose names the words stand, in any order; says how many are left. */
  board.filter = (text) => {
    const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
    let left = 0;
    filtered = wanted.length > 0;
    for (const group of groups) {
      let some = false;
      for (const lane of group.lanes) {
        const names = `${lane.of} ${lane.name} ${lane.label} ${group.label} ${lane.kind}`.toLowerCase();
        lane.shown = wanted.every((word) => names.includes(word));
        lane.row.hidden = !lane.shown;
        some = some || lane.shown;
        left += lane.shown ? 1 : 0;
      }
      group.element.hidden = !some;
      // What is looked for by name is shown, folded or not.
      setFolded(group, group.folded);
    }
    return left;
  };
  /** Words beside the lanes in view. */
  board.say = (time, still) => {
    board.time = time;
    board.still = still;
    for (const lane of seen) {
      const says = wordsOf(lane, time, still);
      if (lane.said !== says) {
        lane.said = says;
        lane.state.textContent = says;
      }
    }
  };

  return board;
}

/** `act` has seek(time) and choose(lane, time, reach). A press puts the head there, a drag moves it along; a press
 * without a drag chooses what is nearest. */
function pointed(root, board, act) {
  let from = null;
  const timeAt = (event, holder) => {
    const edges = holder.getBoundingClientRect();
    const part = (event.clientX - edges.left) / edges.width;
    return board.view.begin + part * (board.view.end - board.view.begin);
  };
  root.addEventListener("pointerdown", (event) => {
    const holder = event.target.closest(".plot");
    if (!holder || event.button !== 0) return;
    from = { holder, x: event.clientX, moved: false, lane: holder.closest(".row")?.lane };
    holder.setPointerCapture(event.pointerId);
  });
  root.addEventListener("pointermove", (event) => {
    if (!from) return;
    from.moved = from.moved || Math.abs(event.clientX - from.x) > 4;
    if (from.moved) act.seek(timeAt(event, from.holder));
  });
  root.addEventListener("pointerup", (event) => {
    if (!from) return;
    const { holder, moved, lane } = from;
    from = null;
    const time = timeAt(event, holder);
    act.seek(time);
    if (!moved) act.choose(lane, time, 22 * (board.view.end - board.view.begin) / Math.max(board.width, 1));
  });
  root.addEventListener("pointercancel", () => { from = null; });
}

function element(name, attributes, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}
