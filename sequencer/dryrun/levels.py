"""The edges of one output -> the corners of the line that its level follows; a fade is a slope, all else a jump."""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.steps.events import OutputEdge


def level_corners(edges: Sequence[OutputEdge], start: float) -> list[tuple[float, float]]:
    """(tick, level 0 to 255) from tick 0 on; two corners of one tick are a jump.

    >>> level_corners([OutputEdge(10, 0, 255, 0), OutputEdge(20, 0, 0, 100), OutputEdge(70, 0, 255, 0)], 0)
    [(0, 0), (10, 0), (10, 255), (20, 255), (70, 127.5), (70, 127.5), (70, 255)]
    """
    corners: list[tuple[float, float]] = [(0, start)]
    level = start
    for index, edge in enumerate(edges):
        corners.append((edge.tick, level))
        if not edge.over:
            level = edge.level
            corners.append((edge.tick, level))
            continue
        end = edge.tick + edge.over
        stop = min(end, edges[index + 1].tick) if index + 1 < len(edges) else end
        level += (edge.level - level) * (stop - edge.tick) / edge.over
        corners.append((stop, level))
    return corners
