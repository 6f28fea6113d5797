"""A show and its dry run -> a page on disk, with its sounds, and with another run or an earlier page beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sequencer.cli.files import read_text_file, write_whole
from sequencer.cli.say import say
from sequencer.cli.shows import read_show
from sequencer.cli.text import shell_word
from sequencer.cli.trouble import WrongUse

if TYPE_CHECKING:
    from sequencer.cli.shows import Reading
    from sequencer.dryrun.session import Setup
    from sequencer.dryrun.timeline import Timeline
    from sequencer.pages.html.compare import Other
    from sequencer.pages.html.page import Sheet
    from sequencer.pages.html.sounds import Sound
    from sequencer.schedule import Compiled

    SetUp = Callable[[Reading, Compiled], Setup]

ENDINGS = (".html", ".htm")
LARGEST_PAGE = 100_000_000
"""Bytes of an earlier page; none of this tool is larger, sounds and all."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the page. Ticks; `end` None: up to the end of the run."""

    page: Path
    against: Path | None
    sound: bool
    begin: int
    end: int | None
    to_stderr: bool


def page_is_right(page: Path, show: Path, ticks: int | None) -> None:
    """Raises WrongUse for a name that is no page's, so that no show is written over, and for a run too long for one."""
    if page.suffix.lower() not in ENDINGS:
        raise WrongUse(f"--page writes HTML; end the name of the file in .html: {page.name}.html.")
    if show.suffix.lower() in ENDINGS:
        raise WrongUse(f"{show.name} is a page by its name, and a show is wanted first.")
    if ticks is not None:
        from sequencer.pages.html.page import TooMuch, refuse_too_long

        try:
            refuse_too_long(ticks)
        except TooMuch as why:
            raise WrongUse(str(why)) from None


def write_page(asked: Asked, reading: Reading, timeline: Timeline | None, set_up: SetUp) -> None:
    """Makes the page and says so; `set_up` makes another show ready for a run, if one is to be compared with.

    Raises WrongUse where there is too much for one page, OSError where it cannot be written.
    """
    from sequencer.pages.html.page import TooMuch, make_page

    try:
        other = _other(asked, timeline, set_up) if asked.against is not None and timeline is not None else None
        text = make_page(_sheet(asked, reading, timeline, other))
    except TooMuch as why:
        raise WrongUse(str(why)) from None
    data = text.encode("utf-8", errors="replace")
    write_whole(asked.page, data)
    what = "the findings" if timeline is None else "the run"
    says = f"{asked.page} shows {what} ({len(data) / 1000:.0f} kB); open it in a browser."
    say("good" if timeline is not None else "note", says, err=asked.to_stderr)


def _sheet(asked: Asked, reading: Reading, timeline: Timeline | None, other: Other | None) -> Sheet:
    from sequencer.dryrun.triggers import DEFAULT_TRIP
    from sequencer.pages.html.page import Sheet
    from sequencer.pages.html.window import Window

    checked = reading.checked
    window = None
    if timeline is not None:
        window = Window(asked.begin, timeline.ticks if asked.end is None else min(asked.end, timeline.ticks))
    folder = reading.path.parent
    return Sheet(
        file=reading.path.name, show=checked.show, findings=checked.findings, timeline=timeline,
        compiled=checked.compiled, plan=checked.plan, window=window, page=asked.page.name,
        read_sound=(lambda name: _sound(folder, name)) if asked.sound else None, other=other, usual_trip=DEFAULT_TRIP,
    )  # fmt: skip


def _sound(folder: Path, name: str) -> Sound:
    """The bytes of a clip below the folder of the show, as the checks look for it."""
    from sequencer.checks.clips import sounds_in
    from sequencer.language.load import path_below
    from sequencer.pages.html.sounds import MOST_BYTES, Sound

    trouble = sounds_in(folder)(name).trouble
    if trouble is not None:
        return Sound(trouble=trouble)
    try:
        path = Path(path_below(str(folder.resolve()), name.replace("\\", "/")))
        with path.open("rb") as file:
            return Sound(file.read(MOST_BYTES + 1))
    except OSError as why:
        return Sound(trouble=f"cannot be read: {why.strerror or 'no reason is known'}")


def _other(asked: Asked, timeline: Timeline, set_up: SetUp) -> Other:
    """The run to compare with: of an earlier page, or of another show with the same trips, seed and length."""
    assert asked.against is not None
    if asked.against.suffix.lower() in ENDINGS:
        return _earlier(asked.against)
    reading = read_show(asked.against)
    checked = reading.checked
    if checked.compiled is None:
        raise WrongUse(f"{asked.against} has errors, so there is no run to compare with; "
                       f"`sequencer check {shell_word(str(asked.against))}` shows them.")
    from sequencer.dryrun.run import Asked as Run
    from sequencer.dryrun.run import run
    from sequencer.dryrun.triggers import Slip, find_sensor
    from sequencer.pages.html.page import run_of

    setup = set_up(reading, checked.compiled)
    sensors = [one.sensor for one in setup.yard.inputs]
    for trigger in timeline.triggers:
        slip = find_sensor(trigger.sensor, sensors)
        if isinstance(slip, Slip):
            raise WrongUse(f"{asked.against} cannot be run with the same trips: {slip.sentence}.")
    ran = run(setup, Run(timeline.triggers, timeline.seed, timeline.ticks, timeline.cold, trail=True, curves=True))
    return run_of(_sheet(asked, reading, ran, None), asked.against.name)


def _earlier(path: Path) -> Other:
    from sequencer.pages.html.read_back import NotAPage, read_page

    try:
        if path.is_file() and path.stat().st_size > LARGEST_PAGE:
            raise NotAPage("is too large for a dry-run page")
        return read_page(read_text_file(path).text, path.name)
    except UnicodeDecodeError:
        raise WrongUse(f"{path} is no dry-run page.") from None
    except NotAPage as why:
        raise WrongUse(f"{path} {why}.") from None
