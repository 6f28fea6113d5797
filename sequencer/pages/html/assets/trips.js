// Trips placed on the time axis -> the command that dry-runs them.

/** One word of a command line for a shell such as sh; quoted unless it is plainly harmless. */
function shellWord(text) {
  return /^[\w@%+=:,./-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`;
}

/** A tick as the command line reads it. */
const typedTime = (tick) => (tick % 1000 ? `${tick}ms` : `${tick / 1000}s`);

/** `step@3s` where the trip has the usual length, else with its end: `step@3s..4500ms`. */
function typedTrip(trip, usual) {
  const end = trip.end - trip.begin === usual ? "" : `..${typedTime(trip.end)}`;
  return `${trip.sensor}@${typedTime(trip.begin)}${end}`;
}

/** The whole command, with the trips of the run and those placed since. */
function commandOf(run, trips) {
  const words = ["sequencer", "dryrun", run.file];
  for (const trip of [...trips].sort((one, other) => one.begin - other.begin)) {
    words.push("--trip", typedTrip(trip, run.usual));
  }
  words.push("--seed", String(run.seed));
  const last = Math.max(run.ticks, ...trips.map((trip) => trip.end));
  words.push("--for", typedTime(last > run.ticks ? Math.ceil((last + 10000) / 1000) * 1000 : run.ticks));
  if (run.cold) words.push("--cold");
  words.push("--page", run.page);
  return words.map(shellWord).join(" ");
}
