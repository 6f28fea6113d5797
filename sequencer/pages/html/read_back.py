"""A page that was made earlier -> its run, to compare another with. The file may hold anything, so all is looked at."""

from __future__ import annotations

from typing import Any

from sequencer.pages.html.compare import Other
from sequencer.pages.html.embedded import taken_out

BEGIN, END = '<script type="text/plain" id="data">', "</script>"
FORM, VERSION = "prop-sequencer page", 2
MOST_BYTES = 100_000_000
"""Of the data of an earlier page; none of this tool holds more."""
WIDTHS = {"spans": {"sensor": 2, "board": 3, "scare": 3, "valve": 3, "speaker": 4}, "moves": {"rod": 4},
          "waits": {"scare": 3},
          "asked": {"sensor": 2, "valve": 3, "rod": 3, "speaker": 2, "switched": 2}, "edges": {"lamp": 3}}
"""How many numbers make one row, by the field of a lane and its kind."""
CURVES = ("curve", "second")
NUMBERS = ("spans", "moves", "waits", "asked", "edges", *CURVES)


class NotAPage(ValueError):
    """The text is no page of this tool, or one of another version; the sentence goes on from the file's name."""


def read_page(text: str, name: str) -> Other:
    """The run that a page holds; `name` is the file's. Raises NotAPage."""
    begin = text.find(BEGIN)
    end = text.find(END, begin)
    if begin < 0 or end < 0:
        raise NotAPage("is no dry-run page")
    try:
        data = taken_out(text[begin + len(BEGIN) : end], MOST_BYTES)
    except (ValueError, RecursionError):
        raise NotAPage("is a dry-run page whose data is damaged") from None
    if not isinstance(data, dict) or data.get("form") != FORM:
        raise NotAPage("is no dry-run page")
    if data.get("version") != VERSION:
        raise NotAPage(f"is a page of version {str(data.get('version'))[:20]}, and this tool reads version {VERSION}; "
                       "make it anew")
    if not _whole(data):
        raise NotAPage("is a dry-run page whose data is damaged")
    run = data["run"]
    return Other(f"{name} (seed {run['seed']}, {run['ticks'] / 1000:g} s)", data)


def _whole(data: dict[str, Any]) -> bool:
    run, groups = data.get("run"), data.get("groups")
    if not isinstance(run, dict) or not isinstance(groups, list):
        return False
    if not all(isinstance(run.get(field), int) for field in ("seed", "ticks")):
        return False
    return all(isinstance(group, dict) and isinstance(group.get("lanes"), list)
               and all(_lane(lane) for lane in group["lanes"]) for group in groups)


def _lane(lane: Any) -> bool:
    """Whether a lane can be read without a surprise: words are words, numbers whole, rows complete."""
    if not isinstance(lane, dict) or not all(isinstance(lane.get(field), str) for field in ("key", "kind", "of")):
        return False
    for field in NUMBERS:
        row = lane.get(field, [])
        if not isinstance(row, list) or not all(isinstance(value, int) for value in row):
            return False
        if len(row) % WIDTHS.get(field, {}).get(lane["kind"], 2 if field in CURVES else 1):
            return False
    if any(field not in lane for field, kinds in WIDTHS.items() if lane["kind"] in kinds):
        return False
    words = lane.get("words", [])
    if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
        return False
    if lane["kind"] == "speaker" and any(not 0 <= at < len(words) for at in lane["spans"][3::4]):
        return False
    if not all(isinstance(lane.get(field, 0), int) for field in ("idle", "drives")):
        return False
    if lane["kind"] == "series" and not _scale(lane):
        return False
    return isinstance(lane.get("grain", 0), int | float)


def _scale(lane: dict[str, Any]) -> bool:
    """Whether a curve has a unit, a range, and marks that are a number and words each."""
    numbers = all(isinstance(lane.get(end), int | float) for end in ("low", "high", "grain"))
    if not numbers or not isinstance(lane.get("unit"), str):
        return False
    marks = [lane.get("ticks"), lane.get("limits")]
    return all(isinstance(row, list) and all(
        isinstance(mark, list) and len(mark) == 2 and isinstance(mark[0], int | float) and isinstance(mark[1], str)
        for mark in row
    ) for row in marks)
