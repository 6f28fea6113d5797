"""Random cue blocks whose times are possible: scares, idles, gestures, and every block inside them."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from tests.generate.layout import Row, row


@dataclass(slots=True)
class Cast:
    """Names of the parts that cues may use."""

    cylinders: list[str] = field(default_factory=list)
    lamps: list[str] = field(default_factory=list)
    switched: list[str] = field(default_factory=list)
    speakers: dict[str, list[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Scope:
    """A prop, and what stands in it as seen from where the cues are written."""

    prop: str
    cast: Cast

    def from_outside(self) -> Scope:
        def whole(names: list[str]) -> list[str]:
            return [f"{self.prop}.{name}" for name in names]

        inside = self.cast
        speakers = {f"{self.prop}.{name}": clips for name, clips in inside.speakers.items()}
        return Scope(self.prop, Cast(whole(inside.cylinders), whole(inside.lamps), whole(inside.switched), speakers))


def write_routine(
    rows: list[Row], rng: random.Random, scope: Scope, depth: int, name: str, sensors: list[str], *, idle: bool = False
) -> None:
    if idle:
        rows.append(row(depth, f"idle {name}:"))
    else:
        starts = (f" on {sensors[0]} trips", f" on {sensors[-1]} clears", f" on {' trips or '.join(sensors)} trips",
                  " every 90 s to 150 s", "")
        label = rng.choice(("", ' "A lunge: at # 3"'))
        rows.append(row(depth, f"scare {name}{label}{rng.choice(starts)}:"))
        policies = ["while running " + rng.choice(("ignore", "restart", "once more")), "rest 25 s", "rank 3"]
        rows.extend(row(depth + 1, text) for text in policies if rng.random() < 0.4)
    _Block(rows, rng, scope, depth + 1, sensors, moves=not idle).write(rng.randint(1, 7))


def write_gestures(rows: list[Row]) -> None:
    """Used by the blocks above as `rattle of LAMP with N` and `trade of LAMP and LAMP with N and M`."""
    rows.append(row(0, "gesture rattle of who with n:"))
    rows.append(row(1, "0 s: repeat n times every 600 ms:"))
    rows.append(row(2, "0 s: who on"))
    rows.append(row(2, "+200 ms: who off"))
    rows.append(row(0, "gesture trade of one and other with n and m:"))
    rows.append(row(1, "0 s: one on, other off"))
    rows.append(row(1, "+1 beat: repeat n times every 700 ms:"))
    rows.append(row(2, "0 s: other on"))
    rows.append(row(1, "then: repeat m times every 700 ms:"))
    rows.append(row(2, "0 s: other off"))


def write_curtain(rows: list[Row], scope: Scope) -> None:
    """A scare that uses every gesture and starts another one, so that each is looked at wherever it stands."""
    lamp = scope.cast.lamps[0]
    rows.append(row(0, "scare curtain every 5 min to 9 min:"))
    rows.append(row(1, f"0 s: rattle of {lamp} with 3, finale starts"))
    rows.append(row(1, f"12 s: trade of {lamp} and {lamp} with 2 and 3"))


class _Block:
    """Writes the cue lines of one block; `clock` is the latest time of the line above, in tenths of a second."""

    def __init__(
        self, rows: list[Row], rng: random.Random, scope: Scope, depth: int, sensors: list[str], *, moves: bool
    ) -> None:
        self.rows, self.rng, self.scope, self.depth = rows, rng, scope, depth
        self.sensors, self.moves = sensors, moves
        self.clock: int | None = 0
        self.first = True
        # What a gesture takes is not known here, so the line below one waits for it.
        self.after_gesture = False
        self.after_sensor = False

    def write(self, count: int) -> None:
        """That many lines; a motion takes two, with time between them to arrive."""
        for _ in range(count):
            if self.depth < 4 and self.rng.random() < 0.25:
                self._block()
            elif self.moves and self.scope.cast.cylinders and self.rng.random() < 0.4:
                self._motion()
            else:
                self._cue(self._when(), self._effects())

    def _cue(self, when: str, does: str) -> None:
        self.rows.append(row(self.depth, f"{when}: {does}"))
        self.first = False
        self.after_gesture = " with " in does

    def _when(self, least: int = 1, waits: bool = True, blocks: bool = False) -> str:
        """A time in any form that is possible here, at least `least` tenths after the line above."""
        rng, step = self.rng, least + self.rng.randint(0, 20)
        if self.after_gesture:
            self.clock = None
            return f"then +{step * 100} ms"
        form = rng.choice(("at", "at", "after", "random", "then", "sensor"))
        if not waits and form in ("random", "then", "sensor"):
            form = "after"
        # Two waits that may end at once, or a wait and a block, can fill the one millisecond of a small board.
        if form == "sensor" and (blocks or self.after_sensor):
            form = "after"
        self.after_sensor = form == "sensor"
        if self.clock is not None and (form == "at" or self.first):
            # Blocks start a little later: a board takes eight steps a millisecond, and each level has its own.
            self.clock += step if not self.first or not self.moves or least > 1 or rng.random() < 0.5 else 0
            return rng.choice((f"{self.clock / 10} s", f"{self.clock * 100} ms"))
        if form == "random" or form == "at":
            self._forward(step + 5)
            return f"+{step * 100} ms to {(step + 5) * 100} ms"
        if form == "after":
            self._forward(step)
            return f"+{step * 100} ms" if step % 3 else f"+{step} beat"
        self.clock = None
        if form == "then":
            return rng.choice(("then", f"then +{step * 100} ms", f"then +{step * 100} ms to {(step + 3) * 100} ms"))
        edge = f"{rng.choice(self.sensors)} {rng.choice(('trips', 'clears'))}"
        return f"when {edge}, or after {step / 10} s"

    def _forward(self, tenths: int) -> None:
        """A beat is 462 ms, so times counted in beats may come up to five times later than in tenths."""
        self.clock = None if self.clock is None else self.clock + 5 * tenths

    def _effects(self) -> str:
        """One or two actions; one line uses at most one gesture, and a part does one thing."""
        count = self.rng.choice((1, 1, 1, 2))
        found = [self._effect(gesture=True), *(self._effect(gesture=False) for _ in range(count - 1))]
        by_part = {(text.split()[2] if " of " in text else text.split()[0]): text for text in found}
        return ", ".join(by_part.values())

    def _effect(self, gesture: bool) -> str:
        rng, cast = self.rng, self.scope.cast
        lamp = rng.choice(cast.lamps)
        choices = [f"{lamp} on", f"{lamp} off", f"{lamp} to 60 %", f"{lamp} to 100 % over 400 ms",
                   f"{lamp} flickers 20 % to 80 % for 3 s", f"{lamp} flashes 2 Hz for 2 s"]
        choices += [f"{name} runs for 2 s" for name in cast.switched]
        choices += [f"{name} plays {clip}" for name, clips in cast.speakers.items() for clip in clips]
        choices += [f"{name} falls silent" for name in cast.speakers]
        if self.moves and gesture:
            choices.append(f"rattle of {lamp} with {rng.randint(2, 5)}")
            choices.append(f"trade of {lamp} and {rng.choice(cast.lamps)} with 2 and {rng.randint(2, 5)}")
        return rng.choice(choices)

    def _motion(self) -> None:
        """Out and home again, each with more time than the slowest of these cylinders takes."""
        ram = self.rng.choice(self.scope.cast.cylinders)
        out, home = self.rng.choice((
            ("extends", "retracts"), ("lands out", "retracts"), ("extends", "lands home"), ("lands out", "lands home"),
            ("lands at 60 %", "retracts"),
        ))
        self._cue(self._when(80, waits=False), f"{ram} {out}")
        self._cue(self._when(80, waits=False), f"{ram} {home}")
        self._cue(self._when(80, waits=False), self._effects())

    def _block(self) -> None:
        rng, when = self.rng, self._when(blocks=True)
        sensor = rng.choice(self.sensors)
        # A round of a loop has room for waits and branches, not for a loop of its own.
        form = rng.choice(("repeat", "repeat", "pick", "if", "every") if self.moves else ("pick", "if", "every"))
        if form == "repeat":
            loop = rng.choice(("4 times", "for 90 s", f"until {sensor} clears, at most 100 s"))
            self._cue(when, f"repeat {loop} every 60 s:" if rng.random() < 0.7 else "repeat 3 times every 45 s:")
            self._below(rng.randint(1, 2), 1)
        elif form == "pick":
            self._cue(when, "pick one:")
            weights = rng.choice(((1, 1), (3, 1), (1, 2, 1)))
            for weight in weights:
                self._arm(f"{weight} of {sum(weights)}")
        else:
            self._cue(when, f"if {sensor} {rng.choice(('tripped', 'clear'))}:" if form == "if" else "every 3rd run:")
            self._below(rng.randint(1, 2), 1)
            if rng.random() < 0.6:
                self._arm("otherwise", 0)
        self.clock = None
        self._cue(rng.choice(("then", "then +500 ms")), self._effects())

    def _arm(self, head: str, deeper: int = 1) -> None:
        depth = self.depth + deeper
        if self.rng.random() < 0.4:
            self.rows.append(row(depth, f"{head}: {self._effects()}"))
        else:
            self.rows.append(row(depth, f"{head}:"))
            self._below(self.rng.randint(1, 2), deeper + 1)

    def _below(self, count: int, deeper: int) -> None:
        inner = _Block(self.rows, self.rng, self.scope, self.depth + deeper, self.sensors, moves=False)
        inner.write(count)
