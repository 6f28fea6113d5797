// Where the run stands: plays, pauses, goes faster or slower, and stays within the run. Knows nothing of what is drawn.

/** `now` gives seconds of a clock that only goes forward; `begin` and `end` are ms of the run. */
function makeClock(now, begin, end) {
  const clock = { at: begin, playing: false, speed: 1, begin, end, now, since: 0, from: begin };

  /** The moment of the run, in ms; stops at the end. */
  clock.read = () => {
    if (clock.playing) {
      clock.at = Math.min(clock.from + (clock.now() - clock.since) * 1000 * clock.speed, end);
      if (clock.at >= end) clock.playing = false;
    }
    return clock.at;
  };
  clock.anchor = () => {
    clock.since = clock.now();
    clock.from = clock.at;
  };
  clock.play = () => {
    if (clock.at >= end) clock.at = begin;
    clock.playing = true;
    clock.anchor();
  };
  clock.pause = () => {
    clock.read();
    clock.playing = false;
  };
  /** A whole tick, so that what is shown is what the board does in that tick. */
  clock.seek = (time) => {
    clock.at = Math.min(Math.max(Math.round(time), begin), end);
    clock.anchor();
  };
  clock.setSpeed = (speed) => {
    clock.read();
    clock.speed = speed;
    clock.anchor();
  };
  /** Another clock takes over without a jump. */
  clock.follow = (other) => {
    clock.read();
    clock.now = other;
    clock.anchor();
  };
  return clock;
}

/** A moment in words, to the tick: `3.790 s`, `2:03.790`. */
function sayTime(time) {
  const ticks = Math.round(time);
  const minutes = Math.floor(ticks / 60000);
  const rest = ((ticks % 60000) / 1000).toFixed(3);
  return minutes ? `${minutes}:${rest.padStart(6, "0")}` : `${rest} s`;
}
