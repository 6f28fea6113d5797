"""A timeline -> what happened, line by line: when, what, why; and below it what was met on the way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from sequencer.air.carrying import EndRun, degrees_of
from sequencer.dryrun.motion import Movement
from sequencer.dryrun.session import Happening
from sequencer.dryrun.timeline import Device, Met, OutputInfo, Timeline, Yard
from sequencer.pages.measures import about, digits, speed_beside, trimmed
from sequencer.pages.terminal_supply import supply_words
from sequencer.pages.terminal_view import View
from sequencer.steps.events import (
    Cause,
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Ended,
    Event,
    InputChanged,
    Killed,
    ModeChanged,
    OutputEdge,
    Skipped,
    Started,
)  # fmt: skip
from sequencer.units import UNITS

_TIME_COLUMNS = 11
_QUICK_GAP = 600
_QUICK_LEAST = 6


@dataclass(frozen=True, slots=True)
class Said:
    """One line of the list."""

    tick: int
    what: str
    why: str = ""


def event_lines(timeline: Timeline, view: View, end: int) -> Iterator[str]:
    """The list for the ticks of the view, then what was met in the whole run."""
    said = [one for one in tell(timeline) if view.begin <= one.tick < end]
    shown = said[: view.most_events]
    if shown:
        yield f"{'time':>{_TIME_COLUMNS - 2}}  what"
    for one in shown:
        yield from _laid_out(one, view.width)
    if len(said) > len(shown):
        yield f"  ... and {len(said) - len(shown)} more; --events {len(said)} shows them, --json has them all"
    yield from _met_lines(timeline, view)
    yield from _air_lines(timeline, view.width)


def tell(timeline: Timeline) -> list[Said]:
    """Everything that happened, in order, in words. Faults are told as what was met."""
    said = [line for event in timeline.events if (line := say_event(event, timeline.yard)) is not None]
    said += _tell_edges(timeline)
    for track in timeline.tracks:
        for movement in track.movements:
            said += say_movement(movement, timeline.ticks)
    return sorted(said, key=lambda one: one.tick)


def say_happening(happening: Happening, yard: Yard) -> Iterator[str]:
    """What a run in real time says of one thing, at once: a line, or none. A motion is told when it is
    begun."""
    match happening:
        case Met(tick, _, _, sentence, serious):
            if serious:
                yield f"{_time(tick)}  ! {sentence}"
            return
        case OutputEdge():
            said = say_edge(happening, yard.outputs[happening.output])
        case Movement():
            arrives = f"arrives at {happening.ends / 1000:.3f} s unless sent elsewhere"
            said = Said(happening.commanded, f"{happening.cylinder} is sent {happening.toward}", arrives)
        case _:
            said = say_event(happening, yard)
    if said is not None:
        yield f"{_time(said.tick)}  {said.what}" + (f"  ({said.why})" if said.why else "")


def say_event(event: Event, yard: Yard) -> Said | None:
    """One event in words; None for those that are told in another way."""
    match event:
        case InputChanged(tick, index, tripped):
            one = yard.inputs[index]
            return Said(tick, f"{one.sensor} {'trips' if tripped != one.turned else 'clears'}")
        case Started(tick, routine, cause, subject):
            return Said(tick, f"{yard.routines[routine].name} starts", _why_started(cause, subject, yard))
        case Ended(tick, routine):
            return Said(tick, f"{yard.routines[routine].name} ends")
        case Killed(tick, routine, cause):
            return Said(tick, f"{yard.routines[routine].name} is cut off", cause.value)
        case Skipped(tick, routine, reason):
            return Said(tick, f"{yard.routines[routine].name} does not start", reason.value)
        case ModeChanged(tick, mode, cause):
            return Said(tick, f"the board is {mode.name.lower()}", cause.value)
        case ClipStarted(tick, clip):
            return Said(tick, f"{yard.clips[clip].speaker} plays {yard.clips[clip].name}")
        case ClipEnded(tick, clip):
            return Said(tick, f"{yard.clips[clip].speaker} has played {yard.clips[clip].name}")
        case ClipSilenced(tick, clip):
            return Said(tick, f"{yard.clips[clip].speaker} falls silent", f"{yard.clips[clip].name} cut off")
    return None


def say_movement(movement: Movement, ticks: int) -> list[Said]:
    """When a rod leaves and when it arrives, as far as the run goes."""
    where = _place(movement.start)
    lead = movement.leaves - movement.commanded
    said = [
        Said(
            movement.leaves,
            f"{movement.cylinder} leaves {where}, going {movement.toward}",
            f"commanded {lead} ms before",
        )
    ]
    ends = [say_end_run(run, movement.cylinder) for run in movement.carries]
    if movement.cut:
        said.append(
            Said(
                movement.ends,
                f"{movement.cylinder} stops at {_share(movement.reached)}, on its way {movement.toward}",
                "; ".join(["another command", *ends]),
            )
        )
    else:
        said.append(Said(movement.ends, f"{movement.cylinder} arrives {movement.toward}", "; ".join(ends)))
    return [one for one in said if one.tick < ticks]


def say_end_run(run: EndRun, cylinder: str) -> str:
    """How far and how fast an end went, in the author's units; its part is named where it is not the rod's own end.

    >>> say_end_run(EndRun("bunker.planks", "in", 0.3048, 0.84, 1.2192, 0.6096), "bunker.lid")
    'planks: 48.1 deg, its end 12 in, at most 4 ft/s, 2 ft/s on arrival'
    """
    length = UNITS[run.unit]
    speed, turned = speed_beside(length), degrees_of(run)
    who = "" if run.part == cylinder else f"{run.part.removeprefix(cylinder.rpartition('.')[0] + '.')}: "
    turns = "" if turned is None else f"{trimmed(digits(turned))} deg, its end "
    arrives = "" if run.arrives_m_s is None else f", {about(run.arrives_m_s, speed)} on arrival"
    return f"{who}{turns}{about(run.travel_m, length)}, at most {about(run.fastest_m_s, speed)}{arrives}"


def say_edge(edge: OutputEdge, info: OutputInfo) -> Said | None:
    """What an edge means for its device; None for a speaker, whose clips are told instead."""
    if info.kind is Device.SPEAKER:
        return None
    if info.kind is Device.COIL:
        coil = f" ({'coil home' if info.role == 'back on' else 'coil out'})" if info.role != "only" else ""
        return Said(edge.tick, f"{info.device} {'on' if edge.level else 'off'}{coil}")
    if edge.over:
        return Said(edge.tick, f"{info.device} to {_share(edge.level / 255)} over {edge.over / 1000:g} s")
    if edge.level in (0, 255):
        return Said(edge.tick, f"{info.device} {'on' if edge.level else 'off'}")
    return Said(edge.tick, f"{info.device} at {_share(edge.level / 255)}")


def _tell_edges(timeline: Timeline) -> list[Said]:
    """Edges, a row of quick ones of one lamp as one line."""
    by_output: dict[int, list[OutputEdge]] = defaultdict(list)
    for edge in timeline.edges:
        by_output[edge.output].append(edge)
    said: list[Said] = []
    for output, edges in by_output.items():
        info = timeline.yard.outputs[output]
        for row in _rows_of_quick(edges):
            if len(row) >= _QUICK_LEAST and info.kind is Device.LAMP:
                last = f"{row[-1].tick / 1000:.3f} s"
                said.append(Said(row[0].tick, f"{info.device} changes {len(row)} times until {last}"))
            else:
                said += [one for edge in _last_of_each_tick(row) if (one := say_edge(edge, info)) is not None]
    return said


def _last_of_each_tick(edges: list[OutputEdge]) -> list[OutputEdge]:
    """Without those that only say where a fade was when the next one took over."""
    return [
        edge
        for edge, after in zip(edges, [*edges[1:], None], strict=True)
        if after is None or after.tick != edge.tick
    ]


def _rows_of_quick(edges: list[OutputEdge]) -> Iterator[list[OutputEdge]]:
    row: list[OutputEdge] = []
    for edge in edges:
        if row and edge.tick - row[-1].tick > _QUICK_GAP:
            yield row
            row = []
        row.append(edge)
    if row:
        yield row


def _why_started(cause: Cause, subject: int | None, yard: Yard) -> str:
    if cause is Cause.TRIGGER and subject is not None:
        return yard.inputs[subject].sensor
    if cause is Cause.STEP and subject is not None:
        return f"a step of {yard.routines[subject].name}"
    return cause.value


def _time(tick: int) -> str:
    return f"{tick / 1000:>{_TIME_COLUMNS - 4}.3f} s"


def _place(share: float) -> str:
    return "home" if share <= 0 else "out" if share >= 1 else _share(share)


def _share(share: float) -> str:
    return f"{100 * share:.0f} %"


def _laid_out(one: Said, width: int) -> Iterator[str]:
    text = f"{one.what}  ({one.why})" if one.why else one.what
    first, *rest = wrap(text, width - _TIME_COLUMNS) or [""]
    yield f"{_time(one.tick)}  {first}"
    for more in rest:
        yield f"{'':{_TIME_COLUMNS}}{more}"


def _met_lines(timeline: Timeline, view: View) -> Iterator[str]:
    if not timeline.met:
        return
    yield ""
    yield "met on the way"
    for met in timeline.met[: view.most_events]:
        sign, word = ("!", "warning") if met.serious else ("i", "note")
        head = f"{_time(met.tick)}  {sign} {word}: "
        lines = wrap(met.sentence, view.width - len(head)) or [""]
        yield view.coloured(head, "serious" if met.serious else "note") + lines[0]
        yield from (f"{'':{_TIME_COLUMNS}}  {line}" for line in lines[1:])
    if len(timeline.met) > view.most_events:
        yield f"  ... and {len(timeline.met) - view.most_events} more"


def _air_lines(timeline: Timeline, width: int) -> Iterator[str]:
    if not timeline.tracks:
        return
    yield ""
    for line in supply_words(timeline):
        yield from wrap(line, width, subsequent_indent="  ")
    if timeline.air_std_l is None:
        yield from wrap(f"air used is not known: {timeline.air_basis}", width)
    else:
        yield from wrap(
            f"air used: about {timeline.air_std_l:.3g} L of free air (20 C, 100 kPa); {timeline.air_basis}",
            width,
        )
