"""Strokes -> text for a terminal: what was given, a table of both ways, what limits them, what is to be minded."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.air.carrying import degrees_of
from sequencer.air.from_rig import Toward
from sequencer.air.limits import EASED, Limit
from sequencer.pages.measures import (
    Measures,
    about,
    about_even,
    air_reference,
    air_said,
    digits,
    measures_of,
    share_said,
    time_said,
)
from sequencer.rig.cylinder import Cylinder
from sequencer.sizing.given import Given
from sequencer.sizing.judge import Remark
from sequencer.sizing.strokes import Stroke, Strokes
from sequencer.units import UNITS

LABEL, COLUMN = 34, 14
SHARES = (0.25, 0.5, 0.75)
WORDS: dict[Toward, str] = {"out": "out", "home": "back"}
WORTH_SAYING = 0.005
"""A part that gains less than that when it is eased limits nothing."""


def head_of(said: Given, but: tuple[str, ...] = ()) -> str:
    """One line that names the cylinder and its work, without the fields `but`."""
    part = said.cylinder
    words = {"bore": f"bore {part.bore}", "stroke": f"stroke {part.stroke}",
             "acting": "single acting" if part.acting == "single" else "",
             "regulator": f"regulator {said.regulator}", "moves": f"moves {part.moves}" if part.moves else "",
             "lifts": f"lifts {part.lifts}" if part.lifts.si else ""}
    return ", ".join(word for field, word in words.items() if word and field not in but)


def line_of(said: Given, but: tuple[str, ...] = ()) -> str:
    """One line of valve, tube and needles, without the fields `but`."""
    part, tube = said.cylinder, said.tube
    words = {"valve": said.valve_name, "tube": f"tube {tube.tube}" if tube else "no tube",
             "length": f"length {tube.length}" if tube else "",
             "needle_out": f"needle out {part.needle_out}" if part.needle_out else "",
             "needle_back": f"needle back {part.needle_back}" if part.needle_back else "",
             "quick_exhaust": quick_words(part),
             "muffler": f"muffler {said.valve.muffler}" if said.valve.muffler != "clean" else ""}
    hidden = ("needle_out", "needle_back") if "needle" in but else but
    return ", ".join(word for field, word in words.items() if word and field not in hidden)


def quick_words(part: Cylinder) -> str:
    ways = [way for way, there in (("out", part.quick_out), ("back", part.quick_back)) if there]
    return "" if not ways else f"quick exhaust {'both ways' if len(ways) == 2 else ways[0]}"


def stroke_rows(found: Strokes) -> list[str]:
    """The table, without what is said above and below it."""
    by = measures_of(found.given.cylinder.bore, found.given.regulator)
    rows = [f"{'':{LABEL}}{'out':>{COLUMN}}{'back':>{COLUMN}}"]
    for label, said in _rows(by):
        rows.append(f"{label:{LABEL}}" + "".join(f"{said(stroke):>{COLUMN}}" for stroke in found.both))
    rows += _end_rows(found, by)
    rows.append("")
    cycle = found.cycle_air_std_l
    both = "" if cycle is None else f"; out and back take {air_said(cycle, by)}"
    rows.append(f"free air is counted {air_reference(by)}{both}")
    return rows


def _end_rows(found: Strokes, by: Measures) -> Iterator[str]:
    """How the end of each part goes that the rod drives."""
    for out, home in zip(found.out.ends, found.home.ends, strict=True):
        if out.part == found.given.cylinder.name:
            continue
        both, length = (out, home), UNITS[out.unit]
        turned = [degrees_of(run) for run in both]
        rows = [("way of its end", [about_even(run.travel_m, length) for run in both]),
                ("  fastest", [about_even(run.fastest_m_s, by.speed) for run in both]),
                ("  on arrival", [_or_none(run.arrives_m_s, lambda v: about_even(v, by.speed)) for run in both])]
        if None not in turned:
            rows.insert(0, ("turns by", [f"{digits(degrees or 0.0)} deg" for degrees in turned]))
        yield from (f"{f'{out.part}: {label}' if row == 0 else f'  {label}':{LABEL}}"
                    + "".join(f"{value:>{COLUMN}}" for value in values) for row, (label, values) in enumerate(rows))


Said = Callable[[Stroke], str]


def _rows(by: Measures) -> Iterator[tuple[str, Said]]:
    yield "starts after", lambda stroke: time_said(stroke.lead_s)
    for share in SHARES:
        yield f"has {share:.0%} of its way".replace("%", " %"), _passing(share)
    yield "arrives", lambda stroke: time_said(stroke.arrives_s)
    yield "  95 of 100 such props from", lambda stroke: "-" if stroke.fastest_s is None else f"{stroke.fastest_s:.3f} s"
    yield "                         to", _slowest
    yield "on its way for", lambda stroke: _or_none(stroke.travel_s, time_said)
    yield "fastest", lambda stroke: about_even(stroke.trace.fastest_m_s, by.speed)
    yield "meets its end at", lambda stroke: _or_none(stroke.end_speed_m_s, lambda v: about_even(v, by.speed))
    yield "with an energy of", lambda stroke: _or_none(stroke.end_energy_j, lambda e: f"{e:.2f} J")
    yield "push at this pressure", lambda stroke: about_even(stroke.force.push_n, by.force)
    yield "load (below 0: it helps)", lambda stroke: about_even(stroke.force.load_n, by.force)
    yield "friction at rest", lambda stroke: about_even(stroke.force.friction_n, by.force)
    yield "margin of force", lambda stroke: share_said(stroke.force.margin)
    yield "just moves at", lambda stroke: _or_none(stroke.force.least_pa_gauge, lambda p: about_even(p, by.pressure))
    yield "highest pressure, cap end", lambda stroke: _gauge(stroke.trace.peak_cap_pa, stroke, by)
    yield "highest pressure, rod end", lambda stroke: _gauge(stroke.trace.peak_rod_pa, stroke, by)
    yield "free air", lambda stroke: air_said(stroke.air_std_l, by)


def limit_rows(found: Strokes) -> list[str]:
    """For each way what would make it faster, most first."""
    rows = []
    for stroke in found.both:
        gains = [limit for limit in stroke.limits if limit.gain > WORTH_SAYING]
        if gains:
            rows.append(f"{WORDS[stroke.toward]}: {_limits(gains)}")
    return rows


def _limits(gains: list[Limit]) -> str:
    first, *rest = gains
    much = f"a fifth {'less' if first.cause in ('mass', 'friction') else 'more'} of it"
    assert EASED == 0.2
    head = f"limited by the {first.cause} ({much} arrives {share_said(first.gain)} earlier)"
    return ", then ".join([head, *(f"{limit.cause} {share_said(limit.gain)}" for limit in rest)])


def remark_words(remark: Remark, found: Strokes) -> str:
    """The remark as one sentence with its numbers."""
    by = measures_of(found.given.cylinder.bore, found.given.regulator)
    way = f"Going {WORDS[remark.toward]}" if remark.toward else ""
    value, limit = remark.value, remark.limit

    def force(newtons: float) -> str:
        return about(newtons, by.force)

    match remark.kind:
        case "never moves":
            return f"{way} it never moves: {force(value)} stand against a push of {force(limit)}."
        case "never arrives":
            return f"{way} it never arrives: it comes {about(value, by.length)} of {found.given.cylinder.stroke} far."
        case "little margin":
            return (f"{way} only {share_said(value)} of the push is left over load and friction; keep "
                    f"{share_said(limit)} for what moves (a load ratio of 0.5 at most).")
        case "pilot starved":
            return f"The valve needs {about(limit, by.pressure)} to shift and has {about(value, by.pressure)}."
        case "rod buckles":
            return (f"The push of {force(value)} is more than {force(limit)}, the most that this rod bears with a "
                    "safety of 3.5 when its end is not guided: guide the load or take a thicker rod.")
        case "end too hard":
            cushion = "even with its cushion" if found.given.cylinder.cushioned else "without a cushion"
            return (f"{way} it meets its end with {value:.2f} J; a cylinder of this bore takes about {limit:.2f} J "
                    f"{cushion} (from memory): slow it with a needle, or put a stop outside.")
        case "closes too hard":
            return f"It can close with {force(value)} on a person; {force(limit)} is the limit (ISO 14120, 5.2.5.2)."
        case "hits too hard":
            return f"It moves with up to {value:.1f} J; {limit:.0f} J is the limit for people (ISO 14120, 5.2.5.2)."
        case "slips":
            return f"{way} it sticks and slips ({value:.0f} stops): the times hold, the end speed does not."
        case "turns back":
            return f"{way} it turns back at {about(value, by.length)} before it arrives."
        case "fast":
            return f"{way} it runs at up to {about(value, by.speed)}; seals are made for {about(limit, by.speed)}."
        case "slow":
            return f"{way} it creeps at {about(value, by.speed)}; below {about(limit, by.speed)} cylinders stick."


def _slowest(stroke: Stroke) -> str:
    if stroke.slowest_s is None:
        return "-"
    return "may stall" if stroke.stalls else f"{stroke.slowest_s:.3f} s"


def _passing(share: float) -> Said:
    return lambda stroke: time_said(stroke.passes_s(share))


def _or_none(value: float | None, said: Callable[[float], str]) -> str:
    return "-" if value is None else said(value)


def _gauge(pressure_pa: float, stroke: Stroke, by: Measures) -> str:
    return about_even(pressure_pa - stroke.trace.cylinder.ambient_pa, by.pressure)
