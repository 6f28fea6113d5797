"""The sentences of the schedule's findings: the numbers that decide, the place, and the change that would mend it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from sequencer.findings import Edit, Finding, Label, Mend, Rule, Span
from sequencer.rig.drive import Motion, ValveTo
from sequencer.schedule import rules
from sequencer.schedule.laid import TOLD
from sequencer.schedule.landings import Landing, Taken
from sequencer.schedule.plan import PlannedRoutine
from sequencer.show.model import Action, After, At, Cue, Placed, Routine, When
from sequencer.units import say_time

if TYPE_CHECKING:
    from sequencer.air.stroke import Stroke


def passed(cue: Cue, due_us: int, ready_us: tuple[int, int], why: tuple[str, ...]) -> Finding:
    """A line whose time has come before what stands above it is done.

    `due_us` is when it is due and `ready_us` when it can be at the least and at the most, both counted from the
    time of the line above. `why` says what must be so for the most.
    """
    late = _say(cue, ready_us[1] - due_us)
    due = f"due at {_say(cue, cue.when.us)}" if isinstance(cue.when, At) else "due too soon after the line above"
    if ready_us == (0, 0):
        text = f"this line is {due}, and the line above it comes {late} later"
    elif ready_us[0] > due_us:
        text = f"this line is {due}, and what stands above it is over {late} later"
    else:
        text = f"this line is {due}, and what stands above it can be over as much as {late} later"
    rule = rules.PASSED if ready_us[0] > due_us else rules.CAN_HAVE_PASSED
    mends = list(_later(cue, ready_us[1] - due_us))
    if isinstance(cue.when, At) and ready_us[1] == 0:
        plus = _say(cue, cue.when.us)
        mends.insert(0, Mend(f"count {plus} from the line above", (Edit(cue.when_span.start, "+"),)))
    return _at(rule, cue.when_span, text + _when(why), mends, used(cue))


def too_early(cue: Cue, action: Action, lead_us: int, missing_us: int, stroke: Stroke | None = None) -> Finding:
    """A landing whose valve would have to open before anything can be done. `stroke` is the whole one."""
    mends = _later(cue, missing_us)
    earliest = f"; the earliest it can land is {mends[0].edits[0].text}" if mends else ""
    text = (f"`{asked(action)}` needs its valve switched {_say(cue, lead_us)} before it lands, and that "
            f"is {_say(cue, missing_us)} too early for this line{earliest}{by_needle(stroke, lead_us - missing_us)}")
    return _at(rules.LANDS_TOO_EARLY, action.span, text, mends, used(cue, action))


def too_close(cue: Cue, action: Action, lead_us: int, missing_us: int, after_landing: bool) -> Finding:
    """A landing whose valve would have to open while the motion before it is still under way."""
    before = "its landing before this one" if after_landing else "the command before this one"
    least = _say(cue, -(-lead_us // 1000) * 1000)
    text = (f"`{asked(action)}` takes {_say(cue, lead_us)} from the valve to the landing, and {before} "
            f"leaves {_say(cue, max(lead_us - missing_us, 0))}; the least distance is {least}")
    return _at(rules.LANDS_TOO_CLOSE, action.span, text, _later(cue, missing_us), used(cue, action))


def by_needle(stroke: Stroke | None, wanted_us: int) -> str:
    """Whether opening its needle would do for a whole stroke that takes too long; nothing where there is none to open.
    """
    if stroke is None or not stroke.arrives or stroke.end_us <= wanted_us:
        return ""
    # Loaded here: most shows have no such line.
    from sequencer.air.opened import opened_us

    opened = opened_us(stroke)
    if opened is None or opened >= stroke.end_us:
        return ""
    needle = f"`needle {'out' if stroke.toward == 'out' else 'back'}` fully open"
    if opened <= wanted_us:
        return f"; with {needle} it takes {say_time(opened)}"
    return f"; even with {needle} it takes {say_time(opened)}, so a larger valve or tube or less load is needed"


def does_not_settle(planned: PlannedRoutine, landing: Landing, taken: Taken) -> Finding:
    """A landing on a shared supply whose time came to no rest."""
    cylinder, span, uses = landing
    moment = next(one for one in planned.moments if one.action.span == span and one.action.uses == uses)
    off = say_time(abs(taken.late_us) // 1000 * 1000)
    lands = (f"has not landed {off} after it should" if not taken.arrives
             else f"lands {off} {'late' if taken.late_us > 0 else 'early'}")
    text = (f"`{cylinder}` {lands}: what it and the rods beside it draw pulls their supply down, and no moment was "
            "found at which its valve could be switched so that it lands in time; start the motions apart, or give "
            "them a wider line or a tank nearby")
    return _at(rules.DOES_NOT_SETTLE, span, text, labels=used(moment.cue, moment.action))


def unknown_place(cue: Cue, action: Action) -> Finding:
    text = (f"whether `{action.who}` stands home or out here depends on what ran before, so `{asked(action)}` could "
            "mean either way; bring it to one end first")
    return _at(rules.UNKNOWN_PLACE, action.span, text, labels=used(cue, action))


def returns_elsewhere(cue: Cue, action: Action) -> Finding:
    text = (f"after `{asked(action)}` the valve goes back and sends `{action.who}` out, and nothing before this line "
            "surely sent it out; write `retracts` and a later line for where it is to go")
    return _at(rules.GOES_BACK_ELSEWHERE, action.span, text, labels=used(cue, action))


def cut_by_wait(cue: Cue, action: Action, by_us: int) -> Finding:
    text = (f"`{asked(action)}` goes back {say_time(by_us)} after a wait of no fixed length or a block "
            "has begun; let it end before that, or give its end a line of its own")
    return _at(rules.BACK_IN_A_WAIT, action.span, text, labels=used(cue, action))


def reversed_wait(cue: Cue, least_us: int, most_us: int) -> Finding:
    text = f"a wait of {_say(cue, least_us)} to {_say(cue, most_us)} runs backwards; write the shorter time first"
    mend = Mend("put the shorter time first",
                (Edit(cue.when_span, f"+{_say(cue, most_us)} to {_say(cue, least_us)}"),))
    plain = isinstance(cue.when, After) and not cue.when.then
    return _at(rules.REVERSED, cue.when_span, text, (mend,) if plain else (), used(cue))


def no_bound(cue: Cue, sensor: str, what: str) -> Finding:
    text = f"{what} has a bound of 0 s, so `{sensor}` is never waited for; give it a time"
    return _at(rules.NO_BOUND, cue.when_span, text, labels=used(cue))


def short_period(cue: Cue, period_us: int, body_us: int, why: tuple[str, ...]) -> Finding:
    brief = max(period_us, body_us) < 1_000_000
    takes = say_time(body_us, brief)
    text = (f"a round is to start every {say_time(period_us, brief)}, and its lines take {takes}{_when(why)}; make the "
            f"period at least {takes}")
    return _at(rules.SHORT_PERIOD, cue.span, text, labels=used(cue))


def no_length(cue: Cue, why: tuple[str, ...]) -> Finding:
    can = "can take" if why else "takes"
    text = (f"a round of this repeat {can} no time at all; write how often it is to come, such as `every 250 ms`, "
            "or a line with a later time")
    return _at(rules.NO_LENGTH, cue.span, text, labels=used(cue))


def uneven_period(cue: Cue, period_us: int, drift_us: int) -> Finding:
    text = (f"a round of {period_us / 1000:g} ms is no whole number of milliseconds, which is what the board counts; "
            f"over all rounds it drifts by {drift_us / 1000:g} ms")
    return _at(rules.UNEVEN_PERIOD, cue.span, text, labels=used(cue))


def too_long(cue: Cue, what: str, us: int) -> Finding:
    text = f"{what} of {hours(us)} is longer than {hours(rules.LONGEST_TIME_US)}, the longest this tool takes"
    return _at(rules.TOO_LONG, cue.span, text, labels=used(cue))


def too_many_rounds(cue: Cue, times: int) -> Finding:
    text = (f"{times} rounds are more than {rules.MOST_ROUNDS}, the most this tool takes; "
            "`repeat for` says how long instead")
    return _at(rules.TOO_LONG, cue.span, text, labels=used(cue))


def routine_too_long(routine: Routine, longest_us: int) -> Finding:
    text = (f"the {routine.word} `{routine.name}` can take {hours(longest_us)}, and none may take more than "
            f"{hours(rules.LONGEST_RUN_US)}")
    return _at(rules.TOO_LONG, routine.span, text)


def routine_time_too_long(routine: Routine, what: str, us: int) -> Finding:
    text = f"{what} of {hours(us)} is longer than {hours(rules.LONGEST_TIME_US)}, the longest this tool takes"
    return _at(rules.TOO_LONG, routine.span, text)


def no_air(placed: Placed) -> Finding:
    text = (f"neither the air of `{placed.part.name}` nor its times are known, so nothing says how long its motions "
            "take; write `air from` with a regulator in its prop, or `measured out 0.4 s, back 0.9 s` here")
    return _at(rules.NO_AIR, placed.span, text)


def hours(us: int) -> str:
    """A long time in hours.

    >>> hours(5_400_000_000)
    '1.5 h'
    """
    return f"{us / 3_600_000_000:,.1f} h"


def asked(action: Action) -> str:
    """What an action asks, as an author writes it: `window.ram lands out`."""
    for drive in action.drives:
        if isinstance(drive, Motion):
            return f"{action.who} {_motion_words(drive)}"
        if isinstance(drive, ValveTo):
            word = "opens" if drive.way == "open" else "closes"
            return f"{action.who} {word}" + (f" for {say_time(drive.for_us)}" if drive.for_us else "")
    return f"{action.who} {action.verb.split(' {')[0]}"


def _motion_words(motion: Motion) -> str:
    if motion.fraction is not None:
        return f"lands at {motion.fraction * 100:g} %"
    if motion.lands:
        return f"lands {motion.toward}"
    word = "extends" if motion.toward == "out" else "retracts"
    return word + (f" for {say_time(motion.for_us)}" if motion.for_us else "")


def used(cue: Cue, action: Action | None = None) -> tuple[Label, ...]:
    """The place where a gesture was used, for a line that was written in one."""
    place = (action.used_at if action is not None else None) or cue.used_at
    return () if place is None else (Label(place, "the gesture is used here"),)


def _say(cue: Cue, us: int) -> str:
    """A time in the unit of the line that it is said of."""
    return say_time(us, getattr(cue.when, "in_ms", False))


def _at(
    rule: Rule, span: Span, text: str, mends: Iterable[Mend] = (), labels: tuple[Label, ...] = ()
) -> Finding:
    return rule.at(span, f"{text[:1].upper()}{text[1:]}.", mends=mends, labels=labels)


def _when(why: tuple[str, ...]) -> str:
    more = "; and so on" if len(why) > TOLD else ""
    return f" ({'; '.join(why[:TOLD])}{more})" if why else ""


def _later(cue: Cue, by_us: int) -> tuple[Mend, ...]:
    """The line moved to a later time, rounded up to a millisecond; only where it has one written time."""
    text = _moved(cue.when, by_us) if cue.used_at is None else None
    return () if text is None else (Mend(f"move the line to {text}", (Edit(cue.when_span, text),)),)


def _moved(when: When, by_us: int) -> str | None:
    match when:
        case At(us=us, in_ms=in_ms):
            return say_time(-(-(us + by_us) // 1000) * 1000, in_ms)
        case After(least_us=least, most_us=most, then=then, in_ms=in_ms) if least == most:
            text = say_time(-(-(least + by_us) // 1000) * 1000, in_ms)
            return f"then +{text}" if then else f"+{text}"
        case _:
            return None
