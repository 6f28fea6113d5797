"""Random shows that are right: rigs of every kind of part, and scares whose times are possible.

`random_show` draws from a `random.Random`; `shows()` is the same as a hypothesis strategy. The names are of the
derelict signal box of Marrow Lane, invented for this project.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from hypothesis import strategies

from tests.generate.cues import Cast, Scope, write_curtain, write_gestures, write_routine
from tests.generate.layout import Row, messy, plain, row

LABELS = (
    '"The drowned signalman"', '"Box # 7: upper frame"', '"Lever, bell and lamp"',
    '"Mr. \u2018Ash\u2019 \u2014 porter"',
    '"T\u00fcr"', '"a  b"', '"line \u2028 two"', '"#"', '""', '"5in: 60psi, +3 s"',
)
PROPS = ("window", "hatch", "stove", "frame", "coat_rack", "t\u00fcr")
LINKAGES = (
    "slide {n} on {c}: carries 6 lb, rises 15 deg, rubs 20 %, drag 4 N",
    "lever {n}: on {c}, rod 6 in from the pivot, cylinder 20 in from the pivot at -80 deg, "
    "swings from -30 deg to 20 deg, carries 5 lb, arm 20 in, arm weighs 2 lb, pivot friction 5 %",
    "scissor {n}: on {c}, stages 2, links 40 cm, opens from 15 deg to 50 deg, carries 3 kg, weighs 1.5 kg",
    "rope {n}: on {c}, carries 4 kg, length 5 m, multiplies 2 times, pulleys 2, each pulley loses 5 %, "
    "pulls while extending",
    "spring {n}: on {c}, rate 0.5 N/mm, preload 20 N, pushes home",
)


@dataclass(slots=True)
class Yard:
    """The pins that are still free, and what has been declared so far."""

    rng: random.Random
    rows: list[Row] = field(default_factory=list)
    fades: list[str] = field(default_factory=lambda: [f"pwm{n}" for n in range(12)])
    plains: list[str] = field(default_factory=lambda: [f"out{n}" for n in range(28)])
    inputs: list[str] = field(default_factory=lambda: [f"in{n}" for n in range(14)])

    def part(self, depth: int, head: str, properties: list[str]) -> None:
        """A part with its properties on its own line, on lines below it, or both."""
        style = self.rng.random()
        if style < 0.3:
            self.rows.append(row(depth, f"{head}: {', '.join(properties)}"))
            return
        kept = self.rng.randint(1, len(properties) - 1) if style < 0.5 and len(properties) > 1 else 0
        self.rows.append(row(depth, f"{head}:{' ' if kept else ''}{', '.join(properties[:kept])}"))
        rest = properties[kept:]
        while rest:
            count = self.rng.randint(1, 3)
            self.rows.append(row(depth + 1, ", ".join(rest[:count])))
            rest = rest[count:]

    def label(self) -> str:
        return f" {self.rng.choice(LABELS)}" if self.rng.random() < 0.3 else ""

    def some(self, *optional: str) -> list[str]:
        return [text for text in optional if self.rng.random() < 0.4]


def random_rows(rng: random.Random, sound: bool = True, moves: bool = True) -> list[Row]:
    """The logical lines of one valid show of 30 to 200 lines; without `moves` there is no cylinder in it."""
    yard = Yard(rng)
    yard.rows.append(row(0, f"show {rng.choice(LABELS[:5])}"))
    yard.rows.append(row(0, f"let beat = {rng.choice(('462 ms', '0.462 s'))}"))
    _write_air(yard)
    sensors = _write_sensors(yard)
    scopes = [_write_prop(yard, name, sensors, sound, moves) for name in rng.sample(PROPS, rng.randint(1, 3))]
    _write_top(yard, scopes, sensors)
    return yard.rows


def random_show(rng: random.Random, mess: bool = False, sound: bool = True, moves: bool = True) -> str:
    """The text of one valid show, plainly laid out or oddly."""
    rows = random_rows(rng, sound, moves)
    return messy(rows, rng) if mess else plain(rows)


def shows(mess: bool = True) -> strategies.SearchStrategy[str]:
    """Valid shows for hypothesis."""
    return strategies.builds(lambda seed: random_show(random.Random(seed), mess), strategies.integers(0, 2**32))


def _write_air(yard: Yard) -> None:
    yard.part(0, "compressor shed" + yard.label(), [
        "delivers 5.1 scfm at 90 psi", "tank 20 gal", "cuts in at 95 psi", "cuts out at 125 psi",
        *yard.some("runs at most 60 % of the time", "relief at 140 psi", "leaks 0.1 scfm"),
    ])
    yard.part(0, "line yard from shed", ["tube 3/8 in", "length 50 ft", *yard.some("inside 0.25 in")])
    yard.part(0, "manifold bench on yard", ["ports 8", *yard.some("regulator 90 psi", "volume 0.8 L")])
    yard.part(0, "supply brick", ["gives 12 V", "up to 10 A"])
    yard.part(0, "board box", ["is avr2560", "supply brick", *yard.some("stops without a heartbeat for 2 s")])


def _write_sensors(yard: Yard) -> list[str]:
    names = ["step", "mat", "beam"][: yard.rng.randint(1, 3)]
    for name in names:
        yard.part(0, f"sensor {name}{yard.label()}", [
            f"on box {yard.inputs.pop(0)}", yard.rng.choice(("low when tripped", "high when tripped")),
            *yard.some("settles in 20 ms", "ready after 45 s"),
        ])
    yard.part(0, "sensor mushroom", ["kind stop", f"on box {yard.inputs.pop(0)}", "low when tripped"])
    if yard.rng.random() < 0.3:
        yard.part(0, "sensor house_alarm", ["kind alarm", f"on box {yard.inputs.pop(0)}", "high when tripped"])
    return names


def _write_prop(yard: Yard, name: str, sensors: list[str], sound: bool, moves: bool) -> Scope:
    rng = yard.rng
    port = 1 + sum(r.tokens[0] == "prop" for r in yard.rows)
    yard.rows.append(row(0, f"prop {name}{yard.label()}:"))
    yard.rows.append(row(1, f"air from bench port {port}, tube 1/4 in, length 12 ft, regulator 60 psi"))
    yard.rows.append(row(1, f"reach {rng.choice(('none', 'fenced', 'possible'))}"))
    cast = Cast()
    for number in range(rng.randint(1, 2) if moves else 0):
        _write_cylinder(yard, cast, f"ram{number or ''}")
    _write_switched(yard, cast, sound)
    scope = Scope(name, cast)
    for number in range(rng.randint(1, 2)):
        write_routine(yard.rows, rng, scope, 1, f"lunge{number or ''}", sensors)
    if rng.random() < 0.5:
        write_routine(yard.rows, rng, scope, 1, "breathing", sensors, idle=True)
    return scope


def _write_cylinder(yard: Yard, cast: Cast, name: str) -> None:
    rng, valve = yard.rng, f"{name}_valve"
    form = rng.choice(("5/2", "5/2 double", "5/3"))
    kind = [f"kind {form[:3]}"]
    if form == "5/2":
        kind += ["without power retracts"]
    else:
        kind += ["solenoids 2", f"back on box {yard.plains.pop(0)}"]
        kind += ["without power centre exhausted"] if form == "5/3" else ["without power stays", "pulse 150 ms"]
    yard.part(1, f"valve {valve}", [f"on box {yard.plains.pop(0)}", *kind, *yard.some(
        "responds in 20 ms", "releases in 30 ms", "draws 3 W", "needs at least 30 psi", "conductance 1.3 dm3/s/bar")])
    yard.part(1, f"cylinder {name}{yard.label()}", [
        f"on {valve}", "bore 1-1/2 in", "rod 7/16 in", "stroke 12 in", "moves 9 lb", *yard.some(
            "lifts 20 deg", "needle out 100 %", "needle back 35 %", "cushioned", "starts home", "friction 8 N",
            "measured out 1.1 s at 60 psi, back 1.4 s"),
    ])
    cast.cylinders.append(name)
    if rng.random() < 0.4:
        text = rng.choice(LINKAGES).format(n=f"{name}_arm", c=name)
        head, _, tail = text.partition(": ")
        yard.part(1, head, tail.split(", "))
    if rng.random() < 0.3 and len(yard.inputs) > 2:
        yard.part(1, f"sensor {name}_home", [f"on box {yard.inputs.pop(0)}", "low when tripped", f"sees {name} home"])


def _write_switched(yard: Yard, cast: Cast, sound: bool) -> None:
    for name in yard.rng.sample(("eyes", "glow", "strip"), yard.rng.randint(1, 2)):
        properties = [f"on box {yard.fades.pop(0)}", *yard.some("draws 3 W", "colour red")]
        yard.part(1, f"lamp {name}{yard.label()}", properties)
        cast.lamps.append(name)
    for kind, name in (("motor", "fan"), ("pump", "spit"), ("fogger", "steam")):
        if yard.rng.random() < 0.4:
            yard.part(1, f"{kind} {name}", [f"on box {yard.plains.pop(0)}", "draws 20 W", "on for at most 100 s"])
            cast.switched.append(name)
    if sound and yard.rng.random() < 0.6:
        clips = ['clip growl "growl.wav"', 'clip hiss "hiss.wav"']
        yard.part(1, "speaker throat", [f"on box {yard.plains.pop(0)}", *clips])
        cast.speakers["throat"] = ["growl", "hiss"]


def _write_top(yard: Yard, scopes: list[Scope], sensors: list[str]) -> None:
    rng, rows = yard.rng, yard.rows
    yard.part(0, "lamp house", [f"on box {yard.plains.pop(0)}"])
    yard.part(0, "lamp sign like house", [f"on box {yard.plains.pop(0)}"])
    write_gestures(rows)
    for scope in scopes[:1]:
        outside = scope.from_outside()
        write_routine(rows, rng, outside, 0, "finale", sensors)
        write_curtain(rows, outside)
    rams = [f"{scope.prop}.{name}" for scope in scopes for name in scope.cast.cylinders]
    safe = [f"{ram} retracts" for ram in rams] + ["house on"]
    if rng.random() < 0.5:
        rows.append(row(0, f"stop on mushroom trips: {', '.join(safe)}"))
    else:
        rows.append(row(0, "stop on mushroom trips:"))
        rows.extend(row(1, action) for action in safe)
    if rng.random() < 0.4 and rams:
        rows.append(row(0, f"never: {rams[0]} out while sign on"))
        rows.append(row(0, f"never: fewer than 100 ms between {rams[-1]} retracts and sign on"))
    if rng.random() < 0.6 and len(rams) > 1:
        rows.append(row(0, f"at most {len(rams) - 1} of {', '.join(rams)} extending"))
    if rng.random() < 0.3:
        rows.append(row(0, "night:"))
        rows.append(row(1, "opens 6:00 pm, closes 10:30 pm"))
        rows.append(row(1, "groups 40 per hour, of 2 to 5"))
        if len(sensors) > 1:
            rows.append(row(1, f"passes {sensors[0]} then {sensors[1]} after 20 s to 60 s"))
