"""Palettes -> the style sheet of a drawing's classes. A page brings its own scope; a picture by itself has both.

Curves are told apart by dashes as well as by colour, so that no palette is needed to read them. Contrast with the
ground is held by a test: 4.5 for text, 3 for curves (WCAG 2.2, 1.4.3 and 1.4.11).
"""

from __future__ import annotations

from dataclasses import dataclass

DASHES = ("", "9 4", "2.5 3.5", "12 4 2.5 4", "5 3", "14 5")
"""By number of the curve: whole, dashed, dotted, dash and dot, short dashes, long ones."""
SHAPES = ("circle", "square", "diamond", "triangle", "circle", "square")
FONT = "system-ui,-apple-system,Segoe UI,Roboto,Helvetica,Arial,Liberation Sans,DejaVu Sans,sans-serif"


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours as #rrggbb: the ground, text, quiet lines, limits, and one a curve."""

    ground: str
    ink: str
    quiet: str
    limit: str
    curves: tuple[str, ...]


LIGHT = Palette("#ffffff", "#1a1d21", "#d4d8dd", "#b3261e",
                ("#0b62a8", "#b34700", "#00735c", "#8b3a8b", "#5f5f00", "#444b52"))
DARK = Palette("#14171b", "#e8eaed", "#3a4048", "#ff8a80",
               ("#6cb8f5", "#f5a35c", "#4fd0a8", "#dd9be0", "#d6cf5a", "#b8c0c8"))
NIGHT = Palette("#000000", "#ff5a4d", "#5a1712", "#ff9a90",
                ("#ff5a4d", "#e04437", "#ff8075", "#d2382c", "#ff9a90", "#c23026"))
"""Red on black, for eyes that must keep seeing in the dark."""


def style_sheet(palette: Palette, scope: str = "") -> str:
    """The rules of every class; `scope` goes before each selector (`.dark`, say)."""
    lead = f"{scope} " if scope else ""
    rules = {
        ".d-ground": f"fill:{palette.ground}",
        ".d-label": f"fill:{palette.ink};font-size:14px",
        ".d-title": f"fill:{palette.ink};font-size:15px;font-weight:600",
        ".d-head": f"fill:{palette.ink};font-size:18px;font-weight:600",
        ".d-grid": f"stroke:{palette.quiet};stroke-width:1",
        ".d-axis": f"stroke:{palette.ink};stroke-width:1",
        ".d-frame": f"fill:none;stroke:{palette.ink};stroke-width:1",
        ".d-event": f"stroke:{palette.ink};stroke-width:1.25;stroke-dasharray:4 3",
        ".d-limit": f"stroke:{palette.limit};stroke-width:1.75;stroke-dasharray:7 3 2 3",
        ".d-limit-label": f"fill:{palette.limit};font-size:14px",
    }
    for at, (colour, dash) in enumerate(zip(palette.curves, DASHES, strict=True)):
        dashes = f";stroke-dasharray:{dash}" if dash else ""
        rules[f".d-c{at}"] = f"fill:none;stroke:{colour};stroke-width:2.25;stroke-linejoin:round{dashes}"
        rules[f".d-m{at}"] = f"fill:{palette.ground};stroke:{colour};stroke-width:2"
        rules[f".d-b{at}"] = f"fill:{colour};fill-opacity:0.18;stroke:none"
    return "".join(f"{lead}{selector}{{{body}}}" for selector, body in rules.items())


def of_a_picture() -> str:
    """The style sheet of a picture that stands by itself: light, dark where the viewer asks for dark."""
    dark = style_sheet(DARK)
    return f"text{{font-family:{FONT}}}{style_sheet(LIGHT)}@media (prefers-color-scheme:dark){{{dark}}}"
