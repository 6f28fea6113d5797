"""The marks that lanes are drawn with: one set for terminals that know more than ASCII, one for all others.

Each mark reads without colour; colour only helps to tell kinds of lanes apart.
"""

from __future__ import annotations

from dataclasses import dataclass

RESET = "\x1b[0m"
COLOURS = {
    "sensor": "\x1b[36m",
    "scare": "\x1b[35m",
    "lamp": "\x1b[33m",
    "switched": "\x1b[32m",
    "coil": "\x1b[34m",
    "cylinder": "\x1b[1m",
    "speaker": "\x1b[32m",
    "pressure": "\x1b[36m",
    "compressor": "\x1b[32m",
    "serious": "\x1b[31m",
    "note": "\x1b[33m",
    "quiet": "\x1b[2m",
}


@dataclass(frozen=True, slots=True)
class Marks:
    """One mark for each thing a column can say. `shades` go from just on to full, `heights` from low to high."""

    rule: str
    tick: str
    grid: str
    tripped: str
    begins: str
    runs: str
    idles: str
    ends: str
    killed: str
    skipped: str
    shades: str
    quick: str
    on: str
    coil_out: str
    coil_home: str
    coil_both: str
    home: str
    out: str
    between: str
    going_out: str
    going_home: str
    there_and_back: str
    plays: str
    clip_begins: str
    clip_ends: str
    cut: str
    heights: str

    def height(self, share: float) -> str:
        """The mark of a value between the lowest (0) and the highest (1) of its lane.

        >>> "".join(ASCII.height(share) for share in (0.0, 0.5, 1.0))
        '159'
        """
        return self.heights[min(int(share * len(self.heights)), len(self.heights) - 1)]

    def shade(self, share: float) -> str:
        """The mark of a level: 0 < share <= 1; full only where the level is full.

        >>> "".join(ASCII.shade(share) for share in (0.01, 0.5, 0.99, 1.0))
        '159#'
        """
        if share >= 0.999:
            return self.shades[-1]
        partial = self.shades[:-1]
        return partial[min(max(round(share * (len(partial) + 1)) - 1, 0), len(partial) - 1)]


PLAIN = Marks(
    rule="\u2500",
    tick="\u252c",
    grid="\u00b7",
    tripped="\u25bc",
    begins="\u251c",
    runs="\u2550",
    idles="\u2508",
    ends="\u2524",
    killed="\u00d7",
    skipped="!",
    shades="\u2591\u2592\u2593\u2588",
    quick="\u2248",
    on="\u25a0",
    coil_out="o",
    coil_home="h",
    coil_both="X",
    home="\u2581",
    out="\u2594",
    between="\u2500",
    going_out="\u2571",
    going_home="\u2572",
    there_and_back="\u2573",
    plays="\u2500",
    clip_begins="\u2590",
    clip_ends="\u258c",
    cut="\u2026",
    heights="\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588",
)
"""For terminals whose encoding has these marks."""

ASCII = Marks(
    rule="-",
    tick="+",
    grid=".",
    tripped="V",
    begins="[",
    runs="=",
    idles="~",
    ends="]",
    killed="x",
    skipped="!",
    shades="123456789#",
    quick="*",
    on="#",
    coil_out="o",
    coil_home="h",
    coil_both="X",
    home="_",
    out="^",
    between="-",
    going_out="/",
    going_home="\\",
    there_and_back="X",
    plays="-",
    clip_begins="<",
    clip_ends=">",
    cut="~",
    heights="123456789",
)
"""For every terminal, old code pages included."""


def legend(marks: Marks, kinds: frozenset[str]) -> tuple[tuple[str, str], ...]:
    """(mark, meaning) for the kinds of lanes that are drawn."""
    m = marks
    rows = (
        ("sensor", m.tripped, "tripped"),
        ("scare", m.begins + m.runs + m.ends, "runs"),
        ("scare", m.killed, "cut off"),
        ("scare", m.skipped, "start skipped"),
        ("idle", m.begins + m.idles + m.ends, "idle runs"),
        ("lamp", f"{m.shades[0]} to {m.shades[-1]}", "level"),
        ("lamp", m.quick, "changes within the column"),
        ("switched", m.on, "on"),
        ("coil", m.on, "on"),
        ("two coils", m.coil_out + " " + m.coil_home, "coil out, coil home"),
        ("cylinder", m.home, "home"),
        ("cylinder", m.going_out, "going out"),
        ("cylinder", m.out, "out"),
        ("cylinder", m.going_home, "going home"),
        ("cylinder", m.between, "stands between"),
        ("cylinder", m.there_and_back, "both ways"),
        ("pressure", f"{m.heights[0]} to {m.heights[-1]}", "lowest to highest of its lane"),
        ("compressor", m.on, "on"),
        ("speaker", m.clip_begins + m.plays + m.clip_ends, "clip"),
    )
    return tuple(dict.fromkeys((mark, meaning) for kind, mark, meaning in rows if kind in kinds))
