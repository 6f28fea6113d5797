"""Names, attributes and words -> SVG text. Everything that comes from outside is escaped here and nowhere else.

No `style` attribute is ever written, so a content-security policy that forbids them changes nothing; looks hang on
classes (see `theme`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

Anchor = Literal["start", "middle", "end"]
Value = str | float | int
_NAME = re.compile(r"[a-zA-Z][a-zA-Z0-9:-]*")
_ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}
# XML 1.0, section 2.2: no other control character may stand in a document, not even as a reference.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def escaped(text: str) -> str:
    """Text as it may stand between tags and in attributes; a character that XML forbids becomes `?`.

    >>> escaped('<b title="x">')
    '&lt;b title=&quot;x&quot;&gt;'
    """
    return "".join(_ESCAPES.get(sign, sign) for sign in _FORBIDDEN.sub("?", text))


def number(value: float) -> str:
    """A coordinate to a hundredth of a pixel, without useless digits. Raises ValueError for nan and infinity.

    >>> number(3.14159), number(-0.0), number(12.0)
    ('3.14', '0', '12')
    """
    if not abs(value) < 1e7:
        raise ValueError(f"{value} is no place on a drawing")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def tag(name: str, attributes: Mapping[str, Value], *inside: str) -> str:
    """One element. `inside` is SVG text already; a `_` in an attribute's name stands for `-`.

    >>> tag("rect", {"x": 1.5, "class": "d-frame"})
    '<rect x="1.5" class="d-frame"/>'
    """
    parts = [name]
    for key, value in attributes.items():
        key = key.replace("_", "-")
        if not _NAME.fullmatch(key):
            raise ValueError(f"{key!r} is no name of an attribute")
        said = value if isinstance(value, str) else number(value)
        parts.append(f'{key}="{escaped(said)}"')
    head = " ".join(parts)
    return f"<{head}>{''.join(inside)}</{name}>" if inside else f"<{head}/>"


def text(at: tuple[float, float], words: str, kind: str = "d-label", anchor: Anchor = "start",
         turned: bool = False) -> str:
    """Words with their baseline at a place; `turned` ones read from below upward."""
    x, y = at
    attributes: dict[str, Value] = {"x": x, "y": y, "class": kind}
    if anchor != "start":
        attributes["text_anchor"] = anchor
    if turned:
        attributes["transform"] = f"rotate(-90 {number(x)} {number(y)})"
    return tag("text", attributes, escaped(words))


def group(kind: str, *inside: str, label: str = "") -> str:
    """Elements that belong together; `label` is read out by a screen reader."""
    attributes: dict[str, Value] = {"class": kind}
    if label:
        attributes |= {"role": "img", "aria_label": label}
    return tag("g", attributes, *inside)


def text_width(words: str, size: float) -> float:
    """About how wide words are in a plain sans-serif face: enough to keep labels apart, a few per cent wide.

    Shares of the size by kind of character, after the widths of the Helvetica-like faces (from memory).
    """
    return size * sum(_width(sign) for sign in words)


def _width(sign: str) -> float:
    if sign in "iljI.,:;'|! ":
        return 0.32
    if sign in "frt()-/":
        return 0.4
    if sign in "mwMW%@":
        return 0.95
    if sign.isupper():
        return 0.72
    return 0.6 if ord(sign) < 0x2E80 else 1.0
