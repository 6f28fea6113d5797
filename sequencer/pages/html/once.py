"""Drawings that stand in a page once, however often they are shown: each place has an element `use` in their stead."""

from __future__ import annotations


class Once:
    """Gathers drawings while a page is made. Like ones are told by their text, so nothing has to be named."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def use(self, drawing: str, kind: str = "") -> str:
        """What shows the drawing (SVG text) here; `kind` is the class of this one place.

        >>> once = Once()
        >>> once.use("<path/>"), once.use("<path/>", "runs")
        ('<use href="#d0"/>', '<use href="#d0" class="runs"/>')
        """
        number = self._numbers.setdefault(drawing, len(self._numbers))
        told = f' class="{kind}"' if kind else ""
        return f'<use href="#d{number}"{told}/>'

    def definitions(self) -> str:
        """The drawings themselves, for a place of the page in which they are not seen."""
        drawings = "".join(f'<g id="d{number}">{drawing}</g>' for drawing, number in self._numbers.items())
        return f'<svg class="symbol aside" aria-hidden="true"><defs>{drawings}</defs></svg>' if drawings else ""
