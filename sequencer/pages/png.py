"""SVG text -> the bytes of a PNG picture, by a library that the tool itself does without.

`resvg-py` was taken for it: 3.0 MB in one file, loaded in 1 ms, a picture of a stroke in 0.2 s, and it needs nothing
of the system but a font; `cairosvg` was 26 MB with what it brings, 155 ms to load, and needs a library of the system.
"""

from __future__ import annotations

from sequencer.pages.drawing.theme import FONT

SHARPNESS = 2.0
"""Pixels of the PNG for one of the SVG: sharp on a telephone and in print (common practice, no source)."""
MEND = "`pip install 'prop-sequencer[png]'` brings it; --svg needs nothing"


class NoPng(Exception):
    """Why there is no PNG, and what to do: one sentence."""


def png_of(svg: str) -> bytes:
    """The picture in its light colours. Raises NoPng where the library, or any font that it can use, is missing."""
    try:
        import resvg_py
    except ImportError:
        raise NoPng(f"A PNG is drawn by the library resvg-py, which is not installed; {MEND}.") from None
    if _draws_no_text(resvg_py.svg_to_bytes):
        raise NoPng("A PNG without words is of no use, and this system has no plain font that can be found; install "
                    "one, such as DejaVu Sans, or use --svg.")
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=SHARPNESS))


def _draws_no_text(draw: object) -> bool:
    """Whether a word leaves no trace: it does where no font of the list is there, and no error says so."""
    assert callable(draw)
    whole = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">{}</svg>'
    word = f'<text x="2" y="15" font-family="{FONT}" font-size="12">word</text>'
    return bytes(draw(svg_string=whole.format(word))) == bytes(draw(svg_string=whole.format("<g/>")))
