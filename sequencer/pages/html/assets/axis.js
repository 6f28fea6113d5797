// Which part of the run is in view, and round moments for its axis. Pure functions; a view is {begin, end} in ms.

const STEPS = [
  1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 15000, 30000, 60000, 120000, 300000, 600000, 1800000,
  3600000,
];
const LEAST_VIEW = 20;

/** Gap in ms between two labels that are at least `room` pixels apart. */
function gapOf(view, width, room) {
  const least = (view.end - view.begin) / width * room;
  return STEPS.find((step) => step >= least) || STEPS[STEPS.length - 1];
}

/** The moments that carry a label. */
function momentsOf(view, gap) {
  const found = [];
  for (let time = Math.ceil(view.begin / gap) * gap; time <= view.end; time += gap) found.push(time);
  return found;
}

/** A moment with as many figures as the gap needs. */
function labelOf(time, gap) {
  if (gap >= 15000 && time >= 60000) {
    const minutes = Math.floor(time / 60000), seconds = Math.round((time % 60000) / 1000);
    return `${minutes}:${String(seconds).padStart(2, "0")} min`;
  }
  const figures = gap >= 1000 ? 0 : gap >= 100 ? 1 : gap >= 10 ? 2 : 3;
  return `${(time / 1000).toFixed(figures)} s`;
}

/** A span that a view may have: at least 20 ticks, at most the run. */
function spanOf(span, run) {
  const whole = run.end - run.begin;
  return Math.min(Math.max(span, Math.min(LEAST_VIEW, whole)), whole);
}

/** A view of that span, moved so that it lies within the run. */
function fitted(begin, span, run) {
  const wide = spanOf(span, run);
  const start = Math.min(Math.max(begin, run.begin), run.end - wide);
  return { begin: start, end: start + wide };
}

/** `factor` below 1 shows less of the run; `around` stays where it is in the picture. */
function zoomed(view, factor, around, run) {
  const span = spanOf((view.end - view.begin) * factor, run);
  const middle = Math.min(Math.max(around, view.begin), view.end);
  const share = (middle - view.begin) / (view.end - view.begin);
  return fitted(middle - span * share, span, run);
}

/** `by` is a share of what is shown. */
function panned(view, by, run) {
  const span = view.end - view.begin;
  return fitted(view.begin + span * by, span, run);
}

/** The view that holds `time`, moved on by whole pages; the same one where it does already. */
function following(view, time, run) {
  if (time >= view.begin && time <= view.end) return view;
  const span = view.end - view.begin;
  return fitted(time - span * 0.05, span, run);
}
