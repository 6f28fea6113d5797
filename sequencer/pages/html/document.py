"""The parts of a page -> one HTML text that asks for nothing from outside.

Everything that comes from a show is escaped here or in `svg`, or lies in the data, whose letters can begin no tag.
Scripts and styles are let in by their hash, so that the policy in the page forbids all else, also from a disk. The
script is deflated, as the data are, which makes a page smaller by a fifth.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from sequencer.cautions import caution
from sequencer.dryrun.timeline import Timeline
from sequencer.pages.drawing.svg import escaped
from sequencer.pages.html import tables
from sequencer.pages.html.compare import Change
from sequencer.pages.html.cues import Cues
from sequencer.pages.html.embedded import embedded, packed
from sequencer.pages.html.findings import Row
from sequencer.pages.html.flashes import Fast
from sequencer.pages.html.window import Window

SCRIPTS = (
    "decode", "clock", "axis", "draw", "states", "stage", "sound", "lanes", "source", "trips", "main", "controls",
)  # fmt: skip
"""The files of the page's script, in the order in which they are put together; `loader` starts it."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What stands in a page. Without `data` it is a page of findings and text alone."""

    file: str
    title: str
    texts: Mapping[str, str]
    rows: Sequence[Row]
    data: Mapping[str, Any] | None = None
    timeline: Timeline | None = None
    window: Window | None = None
    stage: str = ""
    cues: Cues = field(default_factory=Cues)
    fastest: tuple[str, Fast] | None = None
    changes: Sequence[Change] = ()
    other: str = ""


def document(parts: Parts) -> str:
    """The whole text."""
    style, scripts = style_text(), "'none'"
    if parts.data is not None:
        scripts = f"'sha256-{digest(loader_text())}' 'sha256-{digest(script_text())}'"
    policy = (f"default-src 'none'; script-src {scripts}; style-src 'sha256-{digest(style)}'; "
              "base-uri 'none'; form-action 'none'")
    title = escaped(parts.title or parts.file)
    body = _run(parts) if parts.data is not None else _findings_only(parts)
    code = ""
    if parts.data is not None:
        code = (f'<script type="text/plain" id="data">{embedded(parts.data)}</script>'
                f'<script type="text/plain" id="code">{packed(script_text())}</script><script>{loader_text()}</script>')
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="referrer" content="no-referrer">'
        f"<title>{title}: dry run</title><style>{style}</style></head><body>{body}{code}</body></html>\n"
    )


def digest(text: str) -> str:
    """The SHA-256 of a text in base 64, as a content-security policy names it."""
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


@cache
def asset(name: str) -> str:
    """One file of the page's own, from beside this one."""
    return (Path(__file__).parent / "assets" / name).read_text(encoding="utf-8")


@cache
def script_text() -> str:
    """The whole script, in one scope of its own."""
    return '(async () => {\n"use strict";\n' + "".join(bare(asset(f"{name}.js")) for name in SCRIPTS) + "})();\n"


@cache
def loader_text() -> str:
    """What starts the script; the one part of it that stands in the page as it is."""
    return bare(asset("loader.js"))


@cache
def style_text() -> str:
    """The whole style."""
    return tight(bare(asset("page.css")))


def tight(style: str) -> str:
    """A style without the spaces around its signs; what stands between quotes stays.

    >>> tight('td::before { content: attr(data-head) ": "; color: red; }')
    'td::before{content:attr(data-head) ": ";color:red;}'
    """
    return re.sub(r'("[^"]*")|\s*([{};,]|: )\s*', lambda found: found[1] or found[2].strip(), style)


def bare(text: str) -> str:
    """A file of the page's own without indents, empty lines and the comments that have lines to themselves.

    No string of these files goes on over a line end; a test looks for one.

    >>> bare("// Why.\\nif (a) {\\n  b();\\n}\\n")
    'if (a) {\\nb();\\n}\\n'
    """
    lines = (line.strip() for line in text.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not _remark(line))


def _remark(line: str) -> bool:
    return line.startswith("//") or (line.startswith("/*") and line.endswith("*/") and line.count("*/") == 1)


def _findings_only(parts: Parts) -> str:
    errors = sum(row.severity == "error" for row in parts.rows)
    says = "1 error keeps" if errors == 1 else f"{errors} errors keep"
    title = escaped(parts.title or parts.file)
    return (f"<header><div><h1>{title}</h1><p>{says} this show from being run.</p></div></header><main>"
            f"{tables.findings(parts.rows, list(parts.texts), playable=False)}"
            f"{tables.source(parts.texts, parts.rows)}</main>")


def _run(parts: Parts) -> str:
    assert parts.timeline is not None and parts.window is not None and parts.data is not None
    head = _header(parts, parts.timeline, parts.window)
    compare = tables.changes(parts.changes, parts.other) if parts.other else ""
    return (
        '<a class="skip" href="#timeline">To the time axis</a>'
        f"{head}<main><div class=\"work\">"
        f'<section id="stage" aria-labelledby="stage-title" tabindex="0"><h2 id="stage-title">Stage</h2>'
        f'{parts.stage}</section>{_timeline(parts)}</div>{_player(parts, parts.window)}'
        f"{compare}{tables.findings(parts.rows, list(parts.texts), playable=True)}{tables.landings(parts.cues)}"
        f"{_trips(parts.data)}{tables.source(parts.texts, parts.rows)}{_about(parts.timeline)}</main>"
        f"{_caution(parts)}"
    )


def _header(parts: Parts, timeline: Timeline, window: Window) -> str:
    whole = (window.begin, window.end) == (0, timeline.ticks)
    shown = f"{timeline.ticks / 1000:g} s" if whole else (
        f"{window.begin / 1000:g} s to {window.end / 1000:g} s of {timeline.ticks / 1000:g} s")
    counts = tables.counted(parts.rows)
    buttons = "".join(f'<button type="button" data-to-theme="{name}" aria-pressed="false">{word}</button>'
                      for name, word in (("light", "Light"), ("dark", "Dark"), ("night", "Night")))
    return (f"<header><div><h1>{escaped(parts.title or parts.file)}</h1>"
            f"<p>Dry run of {shown}, seed {timeline.seed}. <a href=\"#findings\">{counts}</a>. A dry run shows one "
            "run; it does not prove a prop safe.</p></div>"
            f'<fieldset class="themes"><legend class="aside">Colours</legend>{buttons}</fieldset>'
            '<p class="caution" id="too-old">The time axis and playing need a browser of 2023 or later (Chrome 80, '
            "Firefox 113, Safari 16.4) that lets this page run its own script. Stage, findings and text stand here as "
            "they are without it.</p></header>")


def _timeline(parts: Parts) -> str:
    return (
        '<section id="timeline" aria-labelledby="timeline-title"><h2 id="timeline-title">Time axis</h2>'
        '<div class="tools"><div class="bar">'
        f'{_button("zoom-in", "Zoom in", "+")}{_button("zoom-out", "Zoom out", "−")}{_button("left", "Earlier", "◂")}'
        f'{_button("right", "Later", "▸")}{_button("fit", "Whole run", "Whole")}'
        '<label class="check"><span>Lanes</span><input type="text" id="filter" size="9" autocomplete="off" '
        'aria-describedby="left-over"></label>'
        f'{_button("fold", "Fold all groups", "Fold")}{_button("unfold", "Unfold all groups", "Unfold")}</div>'
        '<p class="quiet"><span id="span"></span><span id="left-over" role="status"></span></p>'
        '<div class="axis"><div></div><div class="plot"><svg id="axis" aria-hidden="true"></svg></div></div></div>'
        f"{_PATTERNS}"
        '<div class="lanes" id="lanes"><div class="head" id="head"></div></div>'
        f"{_LEGEND}</section>"
    )


_PATTERNS = (
    '<svg width="0" height="0" aria-hidden="true" focusable="false"><defs>'
    '<pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0v6" class="pattern-line"/></pattern>'
    '<pattern id="dots" width="6" height="6" patternUnits="userSpaceOnUse"><circle cx="2" cy="2" r="1.2" '
    'class="pattern-dot"/></pattern>'
    '<pattern id="fast" width="10" height="8" patternUnits="userSpaceOnUse"><path d="M0 8l2.5 -8l2.5 8l2.5 -8l2.5 8" '
    'class="pattern-fast"/></pattern></defs></svg>'
)

_LEGEND = (
    '<p class="quiet">Upper, hatched: what the board asks for (coil on, sent out, someone on the sensor). Below it: '
    "what comes of it. Flag and band: where a landing is due and may fall; ring: where the rod was there. Cross: cut "
    "off. Dots: waits for a sensor. Pressures in a cylinder: solid at the cap end, dashed at the rod end. Square, "
    "triangle, circle: error, warning, note.</p>"
)


def _button(name: str, says: str, shown: str) -> str:
    return f'<button type="button" id="{name}" aria-label="{says}" title="{says}">{shown}</button>'


SPEEDS = (
    (0.1, "1/10 speed"), (0.25, "1/4 speed"), (0.5, "1/2 speed"), (1, "Real time"), (2, "2 times"), (4, "4 times"),
)  # fmt: skip
KEYS = (
    ("Space", "play, pause"), (",", "one tick back"), (".", "one tick on"), ("p", "cue before"), ("n", "next cue"),
    ("Home", "start"), ("End", "end"), ("+", "zoom in"), ("-", "zoom out"), ("[", "earlier"), ("]", "later"),
    ("f", "whole run"), ("l", "the line of the cue"), ("t", "trip the sensor here"), ("m", "sound"),
)  # fmt: skip


def _player(parts: Parts, window: Window) -> str:
    speeds = "".join(f'<option value="{speed}"{" selected" if speed == 1 else ""}>{word}</option>'
                     for speed, word in SPEEDS)
    still = '<label class="check"><input type="checkbox" id="still" checked><span>Flashes held still</span></label>'
    still = still if parts.fastest is not None else ""
    audible = parts.data is not None and any("data" in one for one in parts.data["sounds"])
    silent = "" if audible else " disabled"
    return (
        '<section class="player" aria-label="Player">'
        f'<label><span class="aside">Moment of the run</span><input type="range" id="place" min="{window.begin}" '
        f'max="{window.end}" step="1" value="{window.begin}"></label><div class="bar">'
        '<button type="button" id="play" aria-pressed="false">Play</button>'
        f'{_button("back", "One tick back", "◂ 1 ms")}{_button("forward", "One tick on", "1 ms ▸")}'
        f'{_button("cue-before", "Cue before", "◂ cue")}{_button("cue-after", "Next cue", "cue ▸")}'
        f'<output class="time" id="time" for="place">0.000 s</output>'
        f'<span class="pick"><select id="speed" aria-label="Speed">{speeds}</select></span>'
        f'<button type="button" id="sound" aria-pressed="false"{silent}>Sound</button>'
        f'{still}<button type="button" id="to-line" disabled>Show line</button>'
        '<p class="now code" id="now"></p></div><p class="aside" id="told" role="status"></p></section>'
    )


def _trips(data: Mapping[str, Any]) -> str:
    options = "".join(f"<option>{escaped(name)}</option>" for name in data["sensors"])
    place = (
        '<div class="bar"><label class="check"><span>Trip</span> <span class="pick">'
        f'<select id="trip-who">{options}</select></span></label><label class="check"><span>for</span> '
        f'<input type="text" id="trip-long" size="6" value="{data["run"]["usual"]} ms"></label>'
        '<button type="button" id="trip-here">Trip it at the moment shown</button></div>'
    ) if options else ""
    silent = "".join(f"<li>{escaped(one['file'])} {escaped(one['trouble'])}, so it plays silence.</li>"
                     for one in data["sounds"] if "trouble" in one)
    sounds = f'<h3>Silent clips</h3><ul id="silent">{silent}</ul>' if silent else ""
    return (
        '<section aria-labelledby="trips-title" id="trips"><h2 id="trips-title">Try another run</h2>'
        f'<div class="no-print">{place}<ul id="trip-list" class="times"></ul></div>'
        '<p>This command makes the run:</p><code class="command" id="command"></code>'
        '<p class="no-print"><button type="button" id="copy">Copy the command</button></p>'
        f"{sounds}</section>"
    )


def _about(timeline: Timeline) -> str:
    notes = "".join(f"<li>{escaped(note)}</li>" for note in timeline.notes)
    if timeline.air_std_l is not None and timeline.tracks:
        notes += (f"<li>Air used: about {timeline.air_std_l:.3g} L of free air (20 C, 100 kPa); "
                  f"{escaped(timeline.air_basis)}.</li>")
    keys = "".join(f"<li><kbd>{key}</kbd> {says}</li>" for key, says in KEYS)
    return (
        f'<section aria-labelledby="about-title"><h2 id="about-title">About this run</h2><ul>{notes}</ul>'
        f'<div class="no-print"><h3>Keys</h3><ul class="keys">{keys}</ul><label class="check"><input type="checkbox" '
        'id="letters" checked><span>Letters and signs are keys of the player</span></label></div></section>'
    )


def _caution(parts: Parts) -> str:
    if parts.fastest is None:
        return ""
    who, fast = parts.fastest
    rate = f"{escaped(who)} flashes {fast.most} times in one second at {fast.begin / 1000:g} s"
    return (
        '<dialog id="caution" aria-labelledby="caution-title"><h2 id="caution-title">Fast flashes</h2>'
        f"<p>{rate}; the limit is 3 (WCAG 2.2, 2.3.1).</p><p>{escaped(caution('strobe').text)}</p>"
        '<div class="bar"><button type="button" id="play-still">Play, flashes held still</button>'
        '<button type="button" id="play-flashing">Play, flashes as they are</button>'
        '<button type="button" id="play-not">Do not play</button></div></dialog>'
    )
