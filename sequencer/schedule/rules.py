"""The catalogue of what cannot be done in time, or does not fit the board's tables."""

from __future__ import annotations

from sequencer.findings import Rule, Severity

LONGEST_TIME_US = 4 * 3_600_000_000
"""The longest single time; the board's tables hold effects of up to 4.6 h."""
LONGEST_RUN_US = 6 * 3_600_000_000
"""The longest run of a scare: longer than any evening is open (a bound of this tool)."""
MOST_ROUNDS = 65_535
"""The most rounds of a repeat (a bound of this tool)."""

_RIG = '''show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
prop window "The drowned signalman":
    valve shove like valve_5_2_quarter: on box out1
    cylinder ram:
        on shove
        bore 1-1/2 in, rod 7/16 in, stroke 12 in
        measured out 0.42 s, back 0.9 s
    lamp eyes: on box pwm1
'''


def _scare(*lines: str, rig: str = _RIG, head: str = "scare lunge on step trips:") -> str:
    return rig + f"    {head}\n" + "".join(f"        {line}\n" for line in lines)


def _rig(old: str, new: str) -> str:
    assert old in _RIG
    return _RIG.replace(old, new)


_LIFT = '''prop PROP:
    air from bench port PORT, tube 1/4 in, length 6 ft
    reach fenced
    valve shove like valve_5_2_quarter: on box outPORT
    cylinder ram like cylinder_round_2_in: on shove, stroke 12 in, moves 160 lb, lifts 90 deg
'''


def _lifts(line: str) -> str:
    """Four heavy lifts on one line, which land together; the first goes back soon after."""
    names = ("cart", "lid", "trunk", "crate")
    rig = "".join(_LIFT.replace("PROP", name).replace("PORT", str(port)) for port, name in enumerate(names, 1))
    return (f"""show "Marrow Lane"
compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi
line hose from shed: {line}
manifold bench on hose: ports 4, regulator 90 psi
board box like avr328
sensor step like push_button: on box in0
{rig}scare heave on step trips:
    9 s: {", ".join(f"{name}.ram lands out" for name in names)}
    9.6 s: cart.ram retracts
""")


_DOUBLE = _rig("valve_5_2_quarter: on box out1", "valve_5_2_double_quarter: on box out1, back on box out2")
_NESTED = tuple("    " * depth + "0 s: repeat 2 times every 100 ms:".replace("100", str(100 * 2 ** (5 - depth)))
                for depth in range(5))

PASSED = Rule(
    "C001", "a line whose time has already passed",
    "The board takes lines in their order. A line that is due before the line above it, or before a block above it "
    "is over, would come late. Often a `+` is missing: `800 ms:` counts from the start of the block, `+800 ms:` "
    "from the line above.",
    failing=_scare("1.2 s: ram extends", "800 ms: ram retracts"),
    mended=_scare("1.2 s: ram extends", "+800 ms: ram retracts"),
)
CAN_HAVE_PASSED = Rule(
    "C002", "a line whose time can have passed",
    "On some runs what stands above the line takes longer than the line allows for, and the line would come late "
    "on those. Give it a later time, or `then`.",
    failing=_scare("0 s: eyes on", "+300 ms to 900 ms: ram extends", "600 ms: ram retracts"),
    mended=_scare("0 s: eyes on", "+300 ms to 900 ms: ram extends", "1.5 s: ram retracts"),
)
LANDS_TOO_EARLY = Rule(
    "C003", "a landing that cannot be made in time",
    "`lands` switches the valve as much earlier as the motion needs. That must not be before the block starts, nor "
    "before a sensor has been waited for or a block above is over, since nothing can be foreseen there.",
    failing=_scare("0.2 s: ram lands out", "3 s: ram retracts"),
    mended=_scare("0.5 s: ram lands out", "3 s: ram retracts"),
)
LANDS_TOO_CLOSE = Rule(
    "C004", "a landing too close to the motion before it",
    "The valve for a landing would have to be switched before the cylinder has done what it was told before. It "
    "would turn round on the way and arrive at some other time.",
    failing=_scare("1 s: ram lands out", "+500 ms: ram lands home"),
    mended=_scare("1 s: ram lands out", "+1 s: ram lands home"),
)
SHORT_PERIOD = Rule(
    "C005", "a period shorter than what is to happen in it",
    "With `every` each round starts that long after the one before, so the lines of a round must fit into it.",
    failing=_scare("0 s: repeat 4 times every 250 ms:", "    0 s: eyes on", "    300 ms: eyes off"),
    mended=_scare("0 s: repeat 4 times every 600 ms:", "    0 s: eyes on", "    300 ms: eyes off"),
)
NO_LENGTH = Rule(
    "C006", "a repeat whose round takes no time",
    "All rounds would fall into the same moment. A round lasts until its last line and what that started are "
    "over, or as long as `every` says.",
    failing=_scare("0 s: repeat 4 times:", "    0 s: eyes on"),
    mended=_scare("0 s: repeat 4 times every 250 ms:", "    0 s: eyes on", "    120 ms: eyes off"),
)
REVERSED = Rule(
    "C007", "a random wait that runs backwards",
    "A random wait is written from its shortest to its longest.",
    failing=_scare("0 s: eyes on", "+900 ms to 300 ms: eyes off"),
    mended=_scare("0 s: eyes on", "+300 ms to 900 ms: eyes off"),
)
NO_BOUND = Rule(
    "C008", "a wait for a sensor without time to wait",
    "A wait for a sensor ends after its bound, so that a broken wire cannot hold a scare for ever. A bound of "
    "nothing means that the sensor is never waited for.",
    failing=_scare("0 s: eyes on", "when step clears, or after 0 s: eyes off"),
    mended=_scare("0 s: eyes on", "when step clears, or after 5 s: eyes off"),
)
TOO_LONG = Rule(
    "C009", "longer than any show",
    "No scare takes more than 6 hours, no wait in it more than 4, no repeat more than 65,535 rounds. A figure beyond "
    "that is nearly always a slip. A single time of a line is at most 1 hour, which is said as `N010`.",
    failing=_scare("0 s: repeat 30000 times every 2 s:", "    0 s: eyes on", "    1 s: eyes off"),
    mended=_scare("0 s: repeat 300 times every 2 s:", "    0 s: eyes on", "    1 s: eyes off"),
    source="bounds of this tool; what the board's tables hold is a little more",
)
UNEVEN_PERIOD = Rule(
    "C010", "a period that is no whole number of milliseconds",
    "The board counts milliseconds, so every round is rounded to one, and many rounds drift away from the music.",
    failing=_scare("0 s: repeat 40 times every 461.6 ms:", "    0 s: eyes on", "    200 ms: eyes off"),
    mended=_scare("0 s: repeat 40 times every 462 ms:", "    0 s: eyes on", "    200 ms: eyes off"),
    severity=Severity.WARNING,
)
UNKNOWN_PLACE = Rule(
    "C011", "a landing from a place that is not known",
    "`lands at 60 %` means on the way to the far end from where the cylinder stands. Where that hangs on what ran "
    "before, it could mean either way.",
    failing=_scare("0 s: if step tripped:", "    0 s: ram extends", "3 s: ram lands at 60 %", "6 s: ram retracts"),
    mended=_scare("0 s: ram retracts", "3 s: ram lands at 60 %", "6 s: ram retracts"),
)
GOES_BACK_ELSEWHERE = Rule(
    "C012", "a command for a time that ends where nothing came from",
    "After `retracts for` the valve goes back. If the cylinder stood home before, that would send it out though "
    "no line says so.",
    failing=_scare("0 s: ram retracts for 500 ms"),
    mended=_scare("0 s: ram extends", "2 s: ram retracts for 500 ms", "4 s: ram retracts"),
)
BACK_IN_A_WAIT = Rule(
    "C013", "a command for a time that would end during a wait",
    "A valve with two coils, or one that has to be switched on again, is switched back by a step of its own. While "
    "the board waits for a sensor, draws a wait or runs a block it can take no other step.",
    failing=_scare("0 s: ram extends for 500 ms", "+300 ms to 900 ms: eyes on", "3 s: eyes off", rig=_DOUBLE),
    mended=_scare("0 s: ram extends for 500 ms", "600 ms: eyes off", "+300 ms to 900 ms: eyes on", "3 s: eyes off",
                  rig=_DOUBLE),
)
NO_AIR = Rule(
    "C014", "a cylinder of which neither air nor times are known",
    "How long a motion takes hangs on the pressure. It is not guessed: say where the prop's air comes from and at "
    "what pressure, or what you timed.",
    failing=_scare("0 s: ram extends", "3 s: ram retracts",
                   rig=_rig("        measured out 0.42 s, back 0.9 s\n", "")),
    mended=_scare("0 s: ram extends", "3 s: ram retracts"),
)
DOES_NOT_FIT = Rule(
    "C015", "a program that the board cannot take",
    "The board has room for so many bytes, routines, blocks within blocks and steps in one millisecond. Where it can, "
    "the check says as `B001` to `B004` which of these it is and where.",
    failing=_scare(*_NESTED, "                    0 s: eyes on", "                    50 ms: eyes off"),
    mended=_scare(*_NESTED[:2], "        0 s: eyes on", "        50 ms: eyes off"),
    source="the limits stand in sequencer/board/profiles, with where they come from",
)
LIMIT_NOT_KEPT = Rule(
    "C016", "a limit that the board cannot keep",
    "The board keeps a longest time on in half seconds, up to 127.5 s, and a warm-up in seconds, up to 255 s. A "
    "limit beyond that would not be kept by it, and a limit that nobody keeps is worse than none.",
    failing=_scare("0 s: eyes on", rig=_rig("on box pwm1", "on box pwm1, on for at most 10 min")),
    mended=_scare("0 s: eyes on", rig=_rig("on box pwm1", "on box pwm1, on for at most 2 min")),
    source="the layout of the board's tables",
)
UNSAFE_STATE = Rule(
    "C017", "a safe state that an output cannot have",
    "The safe state is a level of each output, held until somebody arms the board again: it can move a valve one "
    "way and light a lamp, and it can neither fade, pulse nor play. Nor can it hold an output on that has a "
    "longest time on.",
    failing=_scare("0 s: eyes on") + "stop: window.eyes flashes 2 Hz for 3 s\n",
    mended=_scare("0 s: eyes on") + "stop: window.eyes on\n",
)
DOES_NOT_SETTLE = Rule(
    "C018", "a landing whose time does not settle",
    "Rods that move together pull their supply down and make one another late. The valve of a landing is then switched "
    "earlier, and what comes of that is looked at again, a few times over. Where it comes to no rest, the landing is "
    "off by what the finding says.",
    failing=_lifts("tube 1/4 in, length 300 ft"),
    mended=_lifts("tube 1/2 in, length 10 ft"),
    severity=Severity.WARNING,
    source="the shared supply of the air model; more than 5 ms and more than 1 % of the motion",
)

ALL = (
    PASSED, CAN_HAVE_PASSED, LANDS_TOO_EARLY, LANDS_TOO_CLOSE, SHORT_PERIOD, NO_LENGTH, REVERSED, NO_BOUND,
    TOO_LONG, UNEVEN_PERIOD, UNKNOWN_PLACE, GOES_BACK_ELSEWHERE, BACK_IN_A_WAIT, NO_AIR, DOES_NOT_FIT,
    LIMIT_NOT_KEPT, UNSAFE_STATE, DOES_NOT_SETTLE,
)
