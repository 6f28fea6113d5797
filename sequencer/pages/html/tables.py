"""Findings, landings, changes and the text of a show -> the tables and lists of the page, as HTML."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sequencer.pages.drawing.svg import escaped
from sequencer.pages.html.compare import Change
from sequencer.pages.html.cues import Cues
from sequencer.pages.html.findings import Row

MOST_LANDINGS, MOST_CHANGES, MOST_BUTTONS = 300, 300, 6
"""Rows of a table, and times that can be pressed in one row; the rest is counted."""
MOST_TEXT = 400_000
"""Characters of text in one page."""
SIGNS = {"error": "■ error", "warning": "▲ warning", "note": "● note"}


def counted(rows: Sequence[Row]) -> str:
    """`1 error and 3 notes`, or that nothing was found."""
    parts = []
    for severity in SIGNS:
        number = sum(row.severity == severity for row in rows)
        if number:
            parts.append(f"{number} {severity}{'s' if number != 1 else ''}")
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts) or "Nothing found"


def findings(rows: Sequence[Row], files: Sequence[str], playable: bool) -> str:
    """The whole table; each row can be reached, so that the time axis can lead to it."""
    if not rows:
        return ('<section id="findings" aria-labelledby="findings-title"><h2 id="findings-title">Findings</h2>'
                "<p>Nothing was found.</p></section>")
    body = "".join(_finding(number, row, files, playable) for number, row in enumerate(rows))
    when = '<th scope="col">When it bites</th>' if playable else ""
    return (
        '<section id="findings" aria-labelledby="findings-title"><h2 id="findings-title">Findings</h2>'
        f"<p>{counted(rows)}.</p>"
        '<table class="stack"><thead><tr><th scope="col">What</th><th scope="col">Where</th>'
        f'<th scope="col">Finding</th>{when}</tr></thead><tbody>{body}</tbody></table></section>'
    )


def _finding(number: int, row: Row, files: Sequence[str], playable: bool) -> str:
    where = f"{escaped(row.file)}:{row.line}" if row.file else ""
    if row.file in files:
        # A line by numbers alone, since a name may hold anything.
        where = f'<a href="#line-{files.index(row.file)}-{row.line}">{where}</a>'
    mends = "".join(f"<p>Mend: {escaped(title)}</p>" for title in row.mends)
    more = "".join(f"<p>{escaped(file)}:{line}: {escaped(text)}</p>" for file, line, text in row.further)
    return (
        f'<tr id="finding-{number}" tabindex="-1"><td class="word">{SIGNS[row.severity]} {escaped(row.code)}</td>'
        f'<td data-head="Where">{where}</td><td><p>{escaped(row.message)}</p>{more}{mends}</td>'
        f"{_times(row) if playable else ''}</tr>"
    )


def _times(row: Row) -> str:
    ticks = row.ticks
    if not ticks:
        return f'<td data-head="When">{"not in this run" if row.cue else "–"}</td>'
    shown = "".join(f'<button type="button" data-at="{tick}">{tick / 1000:.3f} s</button>'
                    for tick in ticks[:MOST_BUTTONS])
    rest = f"<span>and {len(ticks) - MOST_BUTTONS} more</span>" if len(ticks) > MOST_BUTTONS else ""
    return f'<td data-head="When"><div class="times">{shown}{rest}</div></td>'


def landings(cues: Cues) -> str:
    """What `lands` asked for and what came of it."""
    if not cues.landings:
        return ""
    body = "".join(
        f'<tr><td>{escaped(one.cylinder)}</td><td class="num" data-head="Asked for"><button type="button" '
        f'data-at="{one.asked}">{one.asked / 1000:.3f} s</button></td><td class="num" data-head="Band">'
        f"{one.fastest / 1000:.3f} to {one.slowest / 1000:.3f} s</td><td class=\"num\" data-head=\"Arrives\">"
        f"{_arrives(one.arrived, one.off)}</td></tr>"
        for one in cues.landings[:MOST_LANDINGS]
    )
    rest = _rest(len(cues.landings), MOST_LANDINGS)
    return (
        '<section aria-labelledby="landings-title" id="landings"><h2 id="landings-title">Landings</h2>'
        '<table class="stack"><thead><tr><th scope="col">Cylinder</th><th scope="col" class="num">Asked for</th>'
        '<th scope="col" class="num">Band</th><th scope="col" class="num">Arrives</th></tr></thead>'
        f"<tbody>{body}</tbody></table>{rest}</section>"
    )


def _arrives(arrived: int | None, off: int | None) -> str:
    if arrived is None or off is None:
        return "never"
    said = "on time" if off == 0 else f"{abs(off)} ms {'late' if off > 0 else 'early'}"
    return f"{arrived / 1000:.3f} s, {said}"


def changes(rows: Sequence[Change], name: str) -> str:
    """What moved between two runs, the farthest first."""
    head = f'<section id="changes" aria-labelledby="changes-title"><h2 id="changes-title">Beside {escaped(name)}</h2>'
    if not rows:
        return f"{head}<p>Nothing moved: both runs do the same at the same times.</p></section>"
    body = "".join(
        f"<tr><td>{escaped(row.who)}</td><td>{escaped(row.what)}</td>"
        f'<td class="num" data-head="Before">{_moment(row.before)}</td>'
        f'<td class="num" data-head="Now">{_moment(row.now, press=True)}</td>'
        f'<td class="num" data-head="Moved by">{escaped(row.moved)}</td></tr>'
        for row in rows[:MOST_CHANGES]
    )
    return (
        f"{head}<p>{len(rows)} thing{'s' if len(rows) != 1 else ''} moved. Dotted lines on the time axis are "
        f"{escaped(name)}.</p>"
        '<table class="stack"><thead><tr><th scope="col">Who</th><th scope="col">What</th><th scope="col" class="num">'
        'Before</th><th scope="col" class="num">Now</th><th scope="col" class="num">Moved by</th></tr></thead>'
        f"<tbody>{body}</tbody></table>{_rest(len(rows), MOST_CHANGES)}</section>"
    )


def _moment(tick: int | None, press: bool = False) -> str:
    if tick is None:
        return "–"
    said = f"{tick / 1000:.3f} s"
    return f'<button type="button" data-at="{tick}">{said}</button>' if press else said


def _rest(number: int, most: int) -> str:
    return f"<p>And {number - most} more.</p>" if number > most else ""


def source(texts: Mapping[str, str], rows: Iterable[Row]) -> str:
    """Every file of the show, line by line, numbered by the style; the script makes keys of those that do something."""
    bad = {(row.file, row.line) for row in rows}
    parts, room = [], MOST_TEXT
    for number, (name, text) in enumerate(texts.items()):
        shown = []
        for at, line in enumerate(text.split("\n"), 1):
            room -= len(line) + 1
            if room < 0:
                shown.append('<li class="cut">... and more, left out of this page')
                break
            words = escaped(line.rstrip("\r"))
            # Only to these does anything lead without a script.
            shown.append(f'<li id="line-{number}-{at}" tabindex="-1"><span class="bad">{words}</span>'
                         if (name, at) in bad else f"<li>{words}")
        parts.append(f'<h3>{escaped(name)}</h3><div class="scroll" tabindex="0" role="region" '
                     f'aria-label="{escaped(name)}"><ol class="source">{"".join(shown)}</ol></div>')
    return (f'<section aria-labelledby="source-title" id="source"><h2 id="source-title">The text</h2>{"".join(parts)}'
            "</section>")
