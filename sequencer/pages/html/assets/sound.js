// Clips in the page -> sound in time with the motion. The sound's own clock leads; what is drawn follows what is heard.

/** How long to wait for the loudspeaker, in ms. */
const LONGEST_START = 1500;

/** `tell(words)` gets what has to be said of a sound that cannot play. */
function makeSound(data, lanes, tell) {
  const player = { on: false, ready: null, playing: [], context: null, buffers: [] };

  /** Decodes the clips, at the first wish for sound: a browser lets none begin before. Gives whether any can play. */
  async function open() {
    const Context = window.AudioContext || window.webkitAudioContext;
    if (!Context) return false;
    if (!player.context) {
      player.context = new Context({ latencyHint: "interactive" });
      player.out = player.context.createGain();
      player.out.connect(player.context.destination);
      player.ready = Promise.all(data.sounds.map(decode));
    }
    // A machine without a loudspeaker may never begin; the run must not wait for it.
    const late = new Promise((give) => { setTimeout(() => give(false), LONGEST_START); });
    const begun = player.context.resume().then(() => true, () => false);
    await player.ready;
    return Promise.race([begun, late]);
  }

  function decode(sound, at) {
    if (!sound.data) return null;
    return player.context.decodeAudioData(bytesOf(sound.data).buffer).then(
      (buffer) => { player.buffers[at] = buffer; },
      () => tell(`${sound.file} cannot be decoded by this browser, so it plays silence.`),
    );
  }

  /** What is heard now, in seconds of the sound's own clock: what it has been given lies ahead of that by the way to
   * the loudspeaker. */
  function heard() {
    const context = player.context;
    const stamp = context.getOutputTimestamp ? context.getOutputTimestamp() : null;
    if (stamp && stamp.contextTime > 0) return stamp.contextTime + (performance.now() - stamp.performanceTime) / 1000;
    return context.currentTime - (context.outputLatency || context.baseLatency || 0);
  }

  /** Starts every clip that plays at or after the clock's moment, each at its own time. */
  function start(clock) {
    stop();
    if (!player.on || !player.context) return;
    clock.read();
    clock.anchor();
    const at = clock.at, began = clock.since;
    for (const lane of lanes.values()) {
      if (lane.kind !== "speaker") continue;
      for (const span of lane.spanList) {
        const buffer = player.buffers[(data.clips[lane.of] || {})[lane.words[span.more[1]]]];
        if (buffer && span.end > at) schedule(clock, buffer, span, at, began);
      }
    }
  }

  function schedule(clock, buffer, span, at, began) {
    const source = player.context.createBufferSource();
    source.buffer = buffer;
    source.playbackRate.value = clock.speed;
    source.connect(player.out);
    const begin = Math.max(span.begin, at);
    // The clock runs in what is heard; what should be heard already is begun so much further in.
    const due = began + (begin - clock.from) / 1000 / clock.speed;
    const missed = Math.max(player.context.currentTime - due, 0);
    const skip = (begin - span.begin) / 1000 + missed * clock.speed;
    const length = (span.end - begin) / 1000 - missed * clock.speed;
    if (skip >= buffer.duration || length <= 0) return;
    source.start(due + missed, skip, length);
    player.playing.push(source);
  }

  function stop() {
    for (const source of player.playing) {
      try { source.stop(); } catch { /* It had not begun. */ }
      source.disconnect();
    }
    player.playing = [];
  }

  return { player, open, heard, start, stop };
}
