"""`dryrun FILE`: a show run on this computer alone, as a timeline, as JSON, or in real time with keys
for sensors."""

from __future__ import annotations

import os
import random
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.durations import WholeNumber
from sequencer.cli.options import ShowPath, color_option, json_option
from sequencer.cli.shows import compiled_or_findings, read_show
from sequencer.cli.terminal import ColourChoice, is_terminal, look_of
from sequencer.cli.trouble import FINDINGS, WrongUse

if TYPE_CHECKING:
    from sequencer.cli.shows import Reading
    from sequencer.dryrun.session import Setup
    from sequencer.dryrun.timeline import Timeline
    from sequencer.dryrun.triggers import Trigger
    from sequencer.pages.terminal_view import View
    from sequencer.schedule import Compiled

_DRAWN_BELOW = 2**32
_WIDTH_WITHOUT_TERMINAL = 80


@dataclass(frozen=True, slots=True)
class Wanted:
    """The options as they were typed; times still as text."""

    trips: tuple[str, ...]
    seed: int | None
    length: str | None
    begin: str | None
    end: str | None
    cold: bool
    ascii_only: bool
    events: int
    as_json: bool
    color: ColourChoice
    page: Path | None = None
    against: Path | None = None
    sound: bool = True
    replay: tuple[Path, ...] = ()


@click.command()
@click.argument("file", type=ShowPath)
@click.option(
    "--trip", "trips", multiple=True, metavar="WHO@WHEN",
    help="Trip a sensor: step@2s for 0.2 s, or mat@3.5s..4s. May be said several times.",
)  # fmt: skip
@click.option(
    "--seed",
    type=WholeNumber(1, 2**32 - 1),
    help="Begin the random draws here; else one is drawn and said.",
)
@click.option(
    "--for",
    "length",
    metavar="TIME",
    help="How long to run, such as 60s; else as long as what the trips start.",
)
@click.option("--from", "begin", metavar="TIME", help="Draw from here on.")
@click.option("--to", "end", metavar="TIME", help="Draw up to here.")
@click.option("--cold", is_flag=True, help="Sensors with a warm-up start cold, as after power-up.")
@click.option(
    "--pace", type=click.Choice(["fast", "real"]), default="fast",
    help="real: runs by the clock, and keys trip the sensors.",
)  # fmt: skip
@click.option(
    "--events",
    type=WholeNumber(0),
    default=60,
    show_default=True,
    help="Lines of the list below the lanes.",
)
@click.option(
    "--page", type=ShowPath, metavar="FILE.html",
    help="Write a page that shows and plays the run: one file for any browser, without a network.",
)  # fmt: skip
@click.option(
    "--against", type=ShowPath, metavar="FILE",
    help="With --page: compare with another show, or with an earlier page.",
)  # fmt: skip
@click.option("--sound/--no-sound", default=True, help="With --page: whether the clips go into the page.")
@click.option(
    "--replay", type=ShowPath, multiple=True, metavar="LOG",
    help="Play a night again from its board's log, as `log --json` writes it. May be said several times.",
)  # fmt: skip
@click.option("--ascii", "ascii_only", is_flag=True, help="Draw with plain ASCII marks.")
@json_option
@color_option
def command(file: Path, *, pace: str, **options: object) -> int:
    """Run a show on this computer, with trips you name, and draw what every device does.

    The board's own step tables run, by the board's own rules. Nothing real moves; how cylinders move is
    predicted. A dry run shows one run, it does not prove a prop safe.
    """
    wanted = Wanted(**options)  # type: ignore[arg-type]
    _times_are_right(wanted)
    _page_is_right(wanted, file)
    reading = read_show(file)
    # What was typed wrongly is told before, and without, what is to be said of the show.
    setup = _setup(reading, reading.checked.compiled) if reading.checked.compiled else None
    triggers = _triggers(setup, wanted) if setup else ()
    compiled = compiled_or_findings(reading, wanted.color, quiet=wanted.as_json)
    if compiled is None or setup is None:
        if wanted.as_json:
            from sequencer.cli.formats import as_json, findings_value

            click.echo(as_json(findings_value(reading.findings)))
        if wanted.page is not None:
            _write_page(wanted, reading, None)
        return FINDINGS
    if wanted.replay:
        from sequencer.cli.dryrun_replay import replay_logs

        return replay_logs(compiled, wanted.replay, wanted.as_json, wanted.color)
    timeline = (_paced if pace == "real" else _fast)(setup, wanted, triggers)
    if wanted.page is not None:
        _view(wanted, timeline.ticks)
        _write_page(wanted, reading, timeline)
    if wanted.page is None or wanted.as_json:
        _say(timeline, wanted)
    return 0


def _page_is_right(wanted: Wanted, show: Path) -> None:
    """What can be said against a page before anything runs."""
    if wanted.page is not None and wanted.replay:
        raise WrongUse("--replay plays what a board logged and writes no page; leave --page away.")
    if wanted.page is not None:
        from sequencer.cli.dryrun_page import page_is_right

        begin, end = _ticks(wanted.begin, "--from") or 0, _ticks(wanted.end, "--to")
        length = _ticks(wanted.length, "--for") if end is None else end
        page_is_right(wanted.page, show, None if length is None else length - begin)
    elif wanted.against is not None:
        raise WrongUse("--against compares in a page; give --page FILE.html too.")


def _write_page(wanted: Wanted, reading: Reading, timeline: Timeline | None) -> None:
    from sequencer.cli.dryrun_page import Asked, write_page

    assert wanted.page is not None
    begin, end = _ticks(wanted.begin, "--from") or 0, _ticks(wanted.end, "--to")
    write_page(Asked(wanted.page, wanted.against, wanted.sound, begin, end, wanted.as_json), reading, timeline, _setup)


def _setup(reading: Reading, compiled: Compiled) -> Setup:
    from sequencer.dryrun.wiring import set_up

    return set_up(compiled, reading.checked.show)


def _times_are_right(wanted: Wanted) -> None:
    """Raises WrongUse for times that make no sense whatever the show."""
    length = _ticks(wanted.length, "--for")
    if length == 0:
        raise WrongUse("A dry run of 0 s runs nothing; give --for a longer time.")
    _view(wanted, sys.maxsize if length is None else length)


def _fast(setup: Setup, wanted: Wanted, triggers: tuple[Trigger, ...]) -> Timeline:
    from sequencer.dryrun.run import Asked, run

    length = _ticks(wanted.length, "--for")
    seed = wanted.seed or random.SystemRandom().randrange(1, _DRAWN_BELOW)
    return run(setup, Asked(triggers, seed, length, wanted.cold, trail=wanted.page is not None,
                            curves=wanted.page is not None or wanted.as_json))


def _refuse_late(triggers: tuple[Trigger, ...], length: int) -> None:
    for one in triggers:
        if one.begins >= length:
            raise WrongUse(
                f"{one.sensor} is tripped at {one.begins / 1000:g} s, but the run ends at "
                f"{length / 1000:g} s; make --for longer."
            )


def _triggers(setup: Setup, wanted: Wanted) -> tuple[Trigger, ...]:
    from sequencer.dryrun.triggers import read_triggers

    triggers, slips = read_triggers(wanted.trips, [one.sensor for one in setup.yard.inputs])
    if slips:
        raise WrongUse(" ".join(_sentence(slip.sentence) for slip in slips))
    length = _ticks(wanted.length, "--for")
    if length is not None:
        _refuse_late(triggers, length)
    return triggers


def _ticks(text: str | None, option: str) -> int | None:
    from sequencer.dryrun.triggers import Slip, read_ticks

    if text is None:
        return None
    found = read_ticks(text)
    if isinstance(found, Slip):
        raise WrongUse(f"{option}: {_sentence(found.sentence)}")
    return found


def _sentence(text: str) -> str:
    end = "" if text.endswith(("?", ".")) else "."
    return text[:1].upper() + text[1:] + end


def _say(timeline: Timeline, wanted: Wanted) -> None:
    if wanted.as_json:
        from sequencer.dryrun.as_json import as_json

        click.echo(as_json(timeline))
        return
    from sequencer.pages.terminal import draw_timeline

    view = _view(wanted, timeline.ticks)
    click.echo(draw_timeline(timeline, view), color=view.colour)
    if wanted.seed is None:
        click.echo(f"The seed was drawn; --seed {timeline.seed} repeats this run.", err=True)


def _view(wanted: Wanted, ticks: int) -> View:
    """How to draw. Raises WrongUse for a window that holds nothing of the run."""
    from sequencer.pages.terminal_view import View

    begin, end = _ticks(wanted.begin, "--from") or 0, _ticks(wanted.end, "--to")
    if end is not None and end <= begin:
        raise WrongUse(f"--to ({end / 1000:g} s) must be later than --from ({begin / 1000:g} s).")
    if begin >= ticks:
        raise WrongUse(f"--from ({begin / 1000:g} s) lies beyond the end of the run at {ticks / 1000:g} s.")
    look = look_of(sys.stdout, wanted.color)
    known = is_terminal(sys.stdout) or os.environ.get("COLUMNS")
    width = look.width if known else _WIDTH_WITHOUT_TERMINAL
    return View(width, wanted.ascii_only or not _can_draw(), look.colour, begin, end, wanted.events)


def _can_draw() -> bool:
    """Whether the output's encoding has the marks that are not ASCII."""
    from dataclasses import astuple

    from sequencer.pages.terminal_marks import PLAIN

    try:
        "".join(astuple(PLAIN)).encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _paced(setup: Setup, wanted: Wanted, triggers: tuple[Trigger, ...]) -> Timeline:
    """Runs by the clock until a key leaves it."""
    from sequencer.dryrun.keyboard import NoKeyboard, TerminalClock, keys_of
    from sequencer.dryrun.pace import Pace, map_keys, run_paced
    from sequencer.dryrun.session import Session

    seed = wanted.seed or random.SystemRandom().randrange(1, _DRAWN_BELOW)
    session = Session(setup, seed, wanted.cold, trail=wanted.page is not None,
                      curves=wanted.page is not None or wanted.as_json)
    for trigger in triggers:
        session.add_trigger(trigger)
    keymap = map_keys(setup.yard.inputs)
    to_stderr = wanted.as_json
    try:
        with keys_of(sys.stdin) as keys:
            click.echo(_keys_said(setup, keymap.trips), err=to_stderr)
            pace = Pace(
                TerminalClock(), keys,
                say=lambda happening: _say_happening(happening, setup, to_stderr),
                answer=lambda words: click.echo(f"{'':13}{words}", err=to_stderr),
                until=_ticks(wanted.length, "--for"),
            )  # fmt: skip
            return run_paced(session, keymap, pace)
    except NoKeyboard:
        raise WrongUse(
            "--pace real reads keys, and there is no terminal here to read them from; leave it away, and "
            "name the trips with --trip."
        ) from None


def _keys_said(setup: Setup, trips: dict[str, int]) -> str:
    lines = [f"  {key}      {setup.yard.inputs[index].sensor}" for key, index in trips.items()]
    if not lines:
        lines = ["  (this show has no sensors)"]
    return "\n".join([
        "A dry run in real time; nothing real moves. Keys trip the sensors:",
        *lines,
        "  A ...  the capital letter holds the sensor until the key comes again",
        "  space  stop (the show's stop input, else disarm)    return  arm again",
        "  q, Esc or Ctrl-C  leave",
    ])  # fmt: skip


def _say_happening(happening: object, setup: Setup, to_stderr: bool) -> None:
    from sequencer.pages.terminal_events import say_happening

    for line in say_happening(happening, setup.yard):
        click.echo(line, err=to_stderr)
