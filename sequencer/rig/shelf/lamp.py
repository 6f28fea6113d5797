"""Lamps for 12 V outputs. Watts are common practice, no source: read the plate of yours."""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, PRACTICE, ShelfPart


def _lamp(name: str, about: str, watts: str, colour: str) -> ShelfPart:
    return ShelfPart(name, "lamp", about, ((f"draws {watts}", PRACTICE), (f"colour {colour}", MEANING)))


PARTS: tuple[ShelfPart, ...] = (
    _lamp("eyes_red", "pair of red eyes, each a small diode", "0.5 W", "red"),
    _lamp("spot_white", "small white spot", "3 W", "white"),
    _lamp("spot_amber", "small amber spot", "3 W", "amber"),
    _lamp("flood_blue", "blue flood for a moonlit wall", "10 W", "blue"),
    _lamp("flood_ultraviolet", "ultraviolet flood", "10 W", "ultraviolet"),
    _lamp("strip_white", "5 m of white strip", "24 W", "white"),
)
