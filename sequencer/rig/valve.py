"""A solenoid valve: its ports and coils, where it goes without power, how fast and how freely it passes air.

`coils` says what the coil outputs do for a way, `power_off_way` where its cylinder goes when power fails. Of
two coils the first (`on`) sends the cylinder out, the second (`back on`) home; a single coil undoes whatever
the valve does without power, which the author says since only the hoses decide it. Flow is the air room's.

Defaults of times and flow are from memory for a 1/4 in pilot-operated 5/2 valve; 10 ms wrong shifts each
arrival by 10 ms, 20 % less flow makes a stroke about 5 % slower (computed with the air model's prototype).
"""

from typing import ClassVar, Literal

from sequencer.rig.asked import time_of
from sequencer.rig.base import Part, Pin, Verb, between, contradiction, counted
from sequencer.rig.drive import Drive, Pulse, SetLevel, ValveTo
from sequencer.units import read_quantity

Way = Literal["out", "home", "open", "closed", "unpowered"]
PowerOff = Literal["home", "out", "stays", "free"]


class Valve(Part):
    kind: ClassVar[str] = "valve"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {pin:pin}",
        "back on {back_pin:pin}",
        "kind {ports:2/2|3/2|5/2|5/3}",
        "solenoids {solenoids:count}",
        "without power {unpowered:retracts|extends|stays|closed|open}",
        "without power centre {centre:closed|exhausted|pressurised}",
        "responds in {responds:time}",
        "releases in {releases:time}",
        "shifts over {shift:time}",
        "pulse {pulse:time}",
        "needs at least {pilot:pressure}",
        "conductance {conductance:conductance}",
        "exhaust conductance {exhaust:conductance}",
        "critical ratio {critical_ratio:share}",
        "muffler {muffler:clean|clogged|none}",
        "muffler conductance {muffler_flow:conductance}",
        "draws {draws:power}",
        "on for at most {longest_on:time}",
    )
    verbs: ClassVar[tuple[Verb, ...]] = (
        Verb("opens", lambda valve, _: (ValveTo(valve.name, "open"),)),
        Verb("closes", lambda valve, _: (ValveTo(valve.name, "closed"),)),
        Verb("opens for {time:time}", lambda valve, v: (ValveTo(valve.name, "open", time_of(v, "time")),)),
    )

    pin: Pin
    back_pin: Pin | None = None
    ports: Literal["2/2", "3/2", "5/2", "5/3"]
    solenoids: counted(1, 2) = 1
    unpowered: Literal["retracts", "extends", "stays", "closed", "open"] | None = None
    centre: Literal["closed", "exhausted", "pressurised"] | None = None
    responds: between("0.5 ms", "500 ms") = read_quantity("20 ms")
    releases: between("0.5 ms", "500 ms") = read_quantity("30 ms")
    shift: between("0.1 ms", "200 ms") = read_quantity("6 ms")
    # Long enough for any spool to come over, short enough to keep a coil cool: common practice, no source.
    pulse: between("10 ms", "5 s") = read_quantity("200 ms")
    # The least pressure at which the pilot still shifts the spool; None: acts directly, or not known.
    pilot: between("0 psi", "150 psi") | None = None
    conductance: between("0.02 dm3/s/bar", "60 dm3/s/bar") = read_quantity("1.3 dm3/s/bar")
    exhaust: between("0.02 dm3/s/bar", "60 dm3/s/bar") | None = None
    # ISO 6358 `b`; 0.3 from memory, catalogues print 0.2 to 0.5. Beyond 0.6 a reading is a slip.
    critical_ratio: between("0 %", "60 %") = read_quantity("30 %")
    # A clogged one passes a third (assumed).
    muffler: Literal["clean", "clogged", "none"] = "clean"
    # When clean; None: a sintered one in 1/4 in of 4 dm3/s/bar (assumed).
    muffler_flow: between("0.02 dm3/s/bar", "60 dm3/s/bar") | None = None
    draws: between("0.1 W", "60 W") | None = None
    # The board itself ends it then. None: the show sets no limit of its own.
    longest_on: between("1 ms", "1 h") | None = None

    def check(self) -> None:
        _check_coils(self)
        _check_power_off(self)
        if self.muffler == "none" and self.muffler_flow is not None:
            raise contradiction("muffler_flow", f"a muffler of {self.muffler_flow} and `muffler none` cannot both be; "
                                                "take one of them away")


def _check_coils(valve: Valve) -> None:
    due = {"2/2": (1,), "3/2": (1, 2), "5/2": (1, 2), "5/3": (2,)}[valve.ports]
    if valve.solenoids not in due:
        raise contradiction("solenoids", f"a {valve.ports} valve has {_coils_in_words(due)}, "
                                         f"not {valve.solenoids}: write `solenoids {due[0]}`")
    if valve.solenoids == 2 and valve.back_pin is None:
        raise contradiction("solenoids", "a valve with 2 solenoids needs an output for the second one: "
                                         "write `back on`, the board and the output")
    if valve.solenoids == 1 and valve.back_pin is not None:
        raise contradiction("back_pin", "a valve with 1 solenoid has no second output; "
                                        "write `solenoids 2` or take `back on` away")
    if valve.back_pin == valve.pin:
        raise contradiction("back_pin", f"both solenoids are on {valve.pin.board} {valve.pin.pin}; "
                                        "each needs an output of its own")
    shifted = valve.responds.si + valve.shift.si
    if pulses(valve) and valve.pulse.si < shifted:
        raise contradiction("pulse", f"a pulse of {valve.pulse} ends before the valve has shifted, "
                                     f"{round(shifted * 1000)} ms after it begins; make it longer")


def _coils_in_words(counts: tuple[int, ...]) -> str:
    words = " or ".join(str(count) for count in counts)
    return f"{words} solenoid{'s' if counts[-1] > 1 else ''}"


def _check_power_off(valve: Valve) -> None:
    """Where a prop goes when power fails is never guessed."""
    if valve.ports == "5/3":
        if valve.unpowered is not None:
            raise contradiction("unpowered", "a 5/3 valve goes to its centre without power; "
                                             "write `without power centre closed` or `centre exhausted`")
        if valve.centre is None:
            raise contradiction("centre", "what its centre does is not said; write `without power centre "
                                          "closed`, `centre exhausted` or `centre pressurised`")
        return
    if valve.centre is not None:
        raise contradiction("centre", f"a {valve.ports} valve has no centre; only a 5/3 valve has one")
    due = ("stays",) if valve.solenoids == 2 else (
        ("retracts", "extends") if valve.ports == "5/2" else ("closed", "open"))
    if valve.unpowered not in due:
        choices = " or ".join(f"`without power {word}`" for word in due)
        found = "is not said" if valve.unpowered is None else f"cannot be `{valve.unpowered}`"
        raise contradiction("unpowered", f"what a {valve.ports} valve with "
                                         f"{_coils_in_words((valve.solenoids,))} does without power {found}; "
                                         f"write {choices}")


def pulses(valve: Valve) -> bool:
    """Whether it stays where a pulse put it: two coils and no centre to go back to."""
    return valve.solenoids == 2 and valve.ports != "5/3"


def power_off_way(valve: Valve) -> PowerOff:
    """Where a cylinder on this valve goes without power.

    `stays` where it was put (or where its air is trapped), `free`: both ends vented, weight and hands move
    it. A 3/2 valve that closes vents its cylinder, so the spring or weight brings it home; a closed 2/2
    valve traps the air. Both ends fed push a cylinder with one rod out, since the rod takes area from the
    other side.
    """
    if valve.centre is not None:
        return {"closed": "stays", "exhausted": "free", "pressurised": "out"}[valve.centre]
    if valve.unpowered == "closed":
        return "stays" if valve.ports == "2/2" else "home"
    return {"retracts": "home", "extends": "out", "open": "out", "stays": "stays"}[valve.unpowered]


def coils(valve: Valve, way: Way) -> tuple[Drive, ...]:
    """What the coil outputs do so that the valve goes that way, in this order.

    One coil: on or off. Two coils and a memory: the other one off, then a pulse. 5/3: the other one off,
    the one on and held. `open` is the way that feeds a cylinder's cap end, so it is `out`, and `closed` is
    `home`, save that a 5/3 valve closes by going to its centre. `unpowered`: every coil off, wherever that
    leaves the spool.
    """
    every = (valve.pin,) if valve.back_pin is None else (valve.pin, valve.back_pin)
    if way == "unpowered" or (way == "closed" and valve.ports == "5/3"):
        return tuple(SetLevel(pin, 0.0) for pin in every)
    outward = way in ("out", "open")
    if valve.back_pin is None:
        energised = outward != (valve.unpowered in ("extends", "open"))
        return (SetLevel(valve.pin, 1.0 if energised else 0.0),)
    one, other = (valve.pin, valve.back_pin) if outward else (valve.back_pin, valve.pin)
    last = Pulse(one, valve.pulse.us) if pulses(valve) else SetLevel(one, 1.0)
    return (SetLevel(other, 0.0), last)
