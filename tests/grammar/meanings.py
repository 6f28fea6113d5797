"""What each phrase and verb means to a builder, in words: the part of the reference's tables that no model holds.

Beside every kind of part: its phrases as its model declares them, then its verbs. `reference_tables` joins these
words with the ranges and defaults of the models; a test names every phrase that has no words here, and every word
that belongs to no phrase.
"""

from __future__ import annotations

TUBE = {
    "tube {tube:length}": "outer size of the tube, as it is sold",
    "length {length:length}": "how long that tube is",
    "inside {inside:length}": "its inner diameter, where the tube is not in the table of tubes",
}
ON_CYLINDER = {"on {cylinder:@cylinder}": "the cylinder that drives it"}
WATTS = {"draws {draws:power}": "electrical power while it is on"}
LONGEST_ON = {
    "on for at most {longest_on:time}":
        "the board itself switches it off after so long, whatever the show says; a board keeps 0.5 s to 127.5 s",
}
SWING = {
    **ON_CYLINDER,
    "rod {rod_at:length} from the pivot": "where the rod's end is pinned to the arm, from the pivot",
    "cylinder {base_at:length} from the pivot at {base_angle:angle}":
        "where the cylinder's fixed pin is: how far from the pivot, and in which direction above level",
    "swings from {start:angle} to {end:angle}":
        "angle of the arm above level with the rod home, and with it out",
    "carries {carries:mass}": "what hangs on it",
}

PHRASES: dict[str, dict[str, str]] = {
    "compressor": {
        "delivers {flow:flow} at {flow_at:pressure}":
            "free air that it delivers at a pressure, off its plate",
        "tank {tank:volume}": "volume of the tank",
        "tank starts at {starts:pressure}": "how full it is when a dry run begins",
        "cuts in at {cut_in:pressure}": "pressure at which it starts to run",
        "cuts out at {cut_out:pressure}": "pressure at which it stops",
        "runs at most {duty:share} of the time": "how much of the time it may run",
        "runs at most {duty:share} of any {duty_window:time}":
            "the same, with the stretch of time that it counts over",
        "relief at {relief:pressure}": "pressure at which its relief valve blows",
        "leaks {leak:flow}": "what the yard loses with everything shut",
    },
    "line": {"from {source:@compressor|line|manifold}": "where its air comes from", **TUBE},
    "manifold": {
        "on {source:@line|compressor|manifold}": "where its air comes from",
        "ports {ports:count}": "how many outlets it has",
        "regulator {regulator:pressure}":
            "pressure that its own regulator is set to; without one it has that of its source",
        "regulator conductance {regulator_flow:conductance}":
            "how freely that regulator passes air wide open, off its data sheet",
        "regulator passes {regulator_passes:flow}":
            "the same as its nominal flow: free air from 6 bar to 5 bar",
        "volume {volume:volume}": "air that the block and its hoses hold",
    },
    "supply": {
        "gives {voltage:voltage}": "its voltage",
        "up to {current:current}": "the most current it may give",
    },
    "board": {
        "is {model:word}": "which kind of board; `like avr328` says the same",
        "supply {supply:@supply}": "what feeds it",
        "stops without a heartbeat for {heartbeat:time}":
            "the board stops when a computer that it listens to has been silent for so long; without it, it runs alone",
    },
    "sensor": {
        "on {pin:pin}": "the input it is wired to",
        "{tripped:low|high} when tripped":
            "what the input reads while it is tripped; look at the wiring, nothing is guessed",
        "settles in {settle:time}":
            "how long a change must hold before it counts, so that a bouncing contact counts once",
        "ready after {warm_up:time}":
            "how long after power-up it starts nothing; a board keeps whole seconds, up to 255 s",
        "kind {role:stop|trigger|alarm}":
            "what it is for: to set off scares, to stop the show, or the house alarm",
        "sees {sees:@cylinder} {end:home|out}": "it is tripped while that cylinder stands at that end",
    },
    "prop": {
        "air from {source:@manifold} port {port:count}": "the outlet of the manifold that feeds it",
        "air from {source:@manifold|line|compressor}": "what feeds it, where there is no numbered outlet",
        **TUBE,
        "regulator {regulator:pressure}":
            "pressure that its own regulator is set to; without one it has that of its source",
        "reach {reach:none|fenced|possible}":
            "whether people can reach what moves: not at all, not past a fence, or yes",
    },
    "valve": {
        "on {pin:pin}": "the output of its coil; of two coils, the one that sends the cylinder out",
        "back on {back_pin:pin}": "the output of the second coil, which sends the cylinder home",
        "kind {ports:2/2|3/2|5/2|5/3}": "ports and positions",
        "solenoids {solenoids:count}": "how many coils it has",
        "without power {unpowered:retracts|extends|stays|closed|open}":
            "what it makes its cylinder do, or does, when no coil has power",
        "without power centre {centre:closed|exhausted|pressurised}":
            "what the middle position of a 5/3 valve does",
        "responds in {responds:time}": "from power on to the first movement of its spool",
        "releases in {releases:time}": "from power off to the first movement of its spool",
        "shifts over {shift:time}": "how long the spool takes to come over",
        "pulse {pulse:time}": "how long a coil gets power, on a valve that stays where it was put",
        "needs at least {pilot:pressure}": "below this pressure a pilot-operated valve does not shift",
        "conductance {conductance:conductance}":
            "how freely air passes, off its data sheet (`C` of ISO 6358)",
        "exhaust conductance {exhaust:conductance}":
            "the same for the air let out, where the sheet gives another figure",
        "critical ratio {critical_ratio:share}": "`b` of ISO 6358, off its data sheet",
        "muffler {muffler:clean|clogged|none}":
            "what is screwed into its exhaust; a clogged one passes a third of a clean one",
        "muffler conductance {muffler_flow:conductance}": "how freely that muffler passes air when clean",
        **WATTS,
        **LONGEST_ON,
    },
    "cylinder": {
        "on {valve:@valve}": "the valve that drives it",
        "bore {bore:length}": "inner diameter of the barrel",
        "rod {rod:length}": "diameter of the rod",
        "stroke {stroke:length}": "how far it travels",
        "moves {moves:mass}": "the mass on its rod, prop and fittings together",
        "lifts {lifts:angle}":
            "direction in which it pushes out: 0 deg is level, 90 deg straight up, -90 deg straight down",
        "needle out {needle_out:share}": "how far open the flow control is for the way out",
        "needle back {needle_back:share}": "how far open the flow control is for the way home",
        "quick exhaust out":
            "a quick exhaust at the port that lets air out on the way out: the rod then comes as fast as its load lets "
            "it",
        "quick exhaust back": "the same for the way home",
        "quick exhaust both ways": "one at each port",
        "quick exhaust conductance {quick_flow:conductance}": "how freely it passes air, with its muffler",
        "{acting:single|double} acting": "air drives it one way or both ways",
        "{returned_by:spring|weight} returns": "what brings a single-acting cylinder home",
        "spring preload {preload:force}": "force of its inner spring with the rod home",
        "spring rate {rate:stiffness}": "by how much that force grows on the way out",
        "cushioned": "it brakes itself at the ends",
        "starts {starts:home|out}": "where it stands before the first command",
        "tube {tube:length} long {length:length}":
            "its own tube, where that differs from the tube of its prop",
        "inside {inside:length}": "inner diameter of that tube, where it is not in the table of tubes",
        "friction {friction:force}": "friction of its seals",
        "dead volume {dead_volume:volume}":
            "air in ports and fittings, filled at every stroke without moving anything",
        "measured out {measured_out:time}":
            "time from the click of the valve to the arrival out, as timed on the real prop",
        "measured out {measured_out:time} at {measured_at:pressure}":
            "the same, with the pressure it was timed at",
        "measured back {measured_back:time}": "time from the click of the valve to the arrival home",
        "measured back {measured_back:time} at {measured_at:pressure}":
            "the same, with the pressure it was timed at",
        "back {measured_back:time}": "short for `measured back`, to go on with after `measured out`",
        "back {measured_back:time} at {measured_at:pressure}":
            "the same, with the pressure both were timed at",
    },
    "lamp": {
        "on {pin:pin}": "the output it is wired to; levels and fades need an output that can fade",
        **WATTS,
        **LONGEST_ON,
        "colour {colour:white|amber|red|green|blue|violet|ultraviolet}":
            "its colour, which matters where it flashes",
    },
    "motor": {"on {pin:pin}": "the output that switches it", **WATTS, **LONGEST_ON},
    "pump": {"on {pin:pin}": "the output that switches it", **WATTS, **LONGEST_ON},
    "fogger": {
        "on {pin:pin}": "the output that makes it fog, usually a relay at its remote contact",
        **WATTS, **LONGEST_ON,
        "ready after {warm_up:time}": "how long its heater needs from power-up",
    },
    "speaker": {
        "on {pin:pin}": "the output that makes its player start",
        "clip {name:word} {file:text}":
            "a sound: its name in cues, and the file beside the show that tells its length",
        "clip {name:word} {file:text} on {pin:pin}":
            "the same, for a player with an input of its own for each sound",
    },
    "slide": {
        **ON_CYLINDER,
        "carries {carries:mass}": "what it carries, on top of what the cylinder `moves`",
        "rises {rises:angle}": "its slope on the way out",
        "rubs {rubs:share}": "friction of the guide as a share of the weight on it",
        "drag {drag:force}": "friction that does not depend on the weight",
    },
    "lever": {
        **SWING,
        "arm {arm:length}": "from the pivot to the middle of what it carries",
        "arm weighs {arm_mass:mass}": "mass of the arm itself",
        "pivot friction {drag:share}": "share of the turning force that the pivot eats",
    },
    "scissor": {
        **ON_CYLINDER,
        "stages {stages:count}": "how many crosses stand on one another",
        "links {link:length}": "length of one link from pin to pin",
        "opens from {start:angle} to {end:angle}":
            "angle of the links above level with the rod home, and with it out",
        "carries {carries:mass}": "what stands on top",
        "weighs {own_mass:mass}": "mass of the links themselves",
    },
    "fourbar": {
        **SWING,
        "ground {ground:length}": "between the two fixed pivots",
        "crank {crank:length}": "the bar that the cylinder swings",
        "coupler {coupler:length}": "the bar between crank and rocker",
        "rocker {rocker:length}": "the bar that the load hangs on",
    },
    "rope": {
        **ON_CYLINDER,
        "carries {carries:mass}": "what hangs on it",
        "length {length:length}": "length of the rope",
        "multiplies {times:count} times":
            "how much further the load goes than the rod; it weighs as much more at the rod",
        "pulleys {pulleys:count}": "how many pulleys it runs over",
        "each pulley loses {loss:share}": "share of the pull lost at each",
        "stretches {stretch:share}": "how much longer it gets under its load",
        "pulls while {pulls:extending|retracting}":
            "which way of the cylinder pulls it; the weight must bring it back",
    },
    "spring": {
        **ON_CYLINDER,
        "rate {rate:stiffness}": "by how much its force changes along the stroke",
        "preload {preload:force}": "its force with the rod home",
        "pushes {pushes:home|out}": "which way it pushes the rod",
    },
}

NEEDED_SOMETIMES = {
    ("valve", "back on {back_pin:pin}"): "must be said with 2 solenoids",
    ("valve", "without power {unpowered:retracts|extends|stays|closed|open}"):
        "must be said, except for a 5/3 valve",
    ("valve", "without power centre {centre:closed|exhausted|pressurised}"): "must be said for a 5/3 valve",
    ("valve", "exhaust conductance {exhaust:conductance}"): "as `conductance`",
    ("valve", "muffler conductance {muffler_flow:conductance}"): "4 dm3/s/bar, one in 1/4 in (assumed)",
    ("manifold", "regulator conductance {regulator_flow:conductance}"): "4 dm3/s/bar, one in 1/4 in",
    ("cylinder", "quick exhaust conductance {quick_flow:conductance}"):
        "4 dm3/s/bar behind a muffler of as much (assumed)",
    ("compressor", "tank starts at {starts:pressure}"): "where it cuts out: full",
    ("cylinder", "{returned_by:spring|weight} returns"): "must be said for a single-acting one",
    ("cylinder", "starts {starts:home|out}"): "where power off leaves it, else home",
    ("cylinder", "tube {tube:length} long {length:length}"): "the tube of its prop",
    ("speaker", "on {pin:pin}"): "must be said, unless every clip has an output of its own",
}

AT_ONCE = "at once"
SWITCHED = {
    "runs": ("switches it on; it stays on", AT_ONCE),
    "stops": ("switches it off", AT_ONCE),
    "runs for {time:time}": ("on now, off by itself after that time", "when it has gone off"),
}
ARRIVED = "when it has arrived: see [then](#then-when-the-line-above-has-ended)"

VERBS: dict[str, dict[str, tuple[str, str]]] = {
    "valve": {
        "opens":
            ("lets air to the cylinder's cap end, or out of the nozzle; it stays open",
             "when a cylinder on it has arrived"),
        "closes": ("the opposite; a 5/3 valve goes to its centre", "when a cylinder on it has arrived"),
        "opens for {time:time}":
            ("opens now, closes by itself after that time",
             "when it has closed and a cylinder on it has arrived"),
    },
    "cylinder": {
        "extends": ("switches its valve now, so that it goes out", ARRIVED),
        "retracts": ("switches its valve now, so that it goes home", ARRIVED),
        "extends for {time:time}":
            ("goes out now; after that time the valve goes back", "when it has come back"),
        "retracts for {time:time}":
            ("goes home now; after that time the valve goes back", "when it has come back"),
        "lands {end:out|home}":
            ("arrives there at the time of the line; the valve is switched earlier", ARRIVED),
        "lands at {fraction:share}":
            ("passes that part of its stroke at the time of the line, on its way to the far end", ARRIVED),
    },
    "lamp": {
        "on": ("full on", AT_ONCE),
        "off": ("off", AT_ONCE),
        "to {level:share}": ("to that level", AT_ONCE),
        "to {level:share} over {over:time}": ("fades evenly from where it is", "when the fade is done"),
        "flickers {low:share} to {high:share} for {time:time}":
            ("jumps about at random between two levels, every 50 ms; then it stays at the lower one",
             "when that time is over"),
        "flashes {rate:frequency} for {time:time}":
            ("on and off in turn, on first; then it is off", "when that time is over"),
    },
    "motor": SWITCHED,
    "pump": SWITCHED,
    "fogger": SWITCHED,
    "speaker": {
        "plays {clip:#clip}": ("starts that clip", "when the clip has played out"),
        "falls silent": ("ends what it plays", AT_ONCE),
    },
}

NIGHT = {
    "opens {opens:clock}": "time of day at which visitors begin to come",
    "closes {closes:clock}": "time of day at which they stop",
    "groups {groups:count} per hour": "how many groups come in an hour",
    "of {least:count} to {most:count}": "how many people are in a group",
    "passes {first:@sensor}": "the sensor that a group trips first",
    "passes {first:@sensor} then {next:@sensor} after {soonest:time} to {latest:time}":
        "the first two, and how long a group takes from one to the other",
    "then {next:@sensor} after {soonest:time} to {latest:time}": "a further one, after the one said before",
}
