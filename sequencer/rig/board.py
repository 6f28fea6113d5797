"""The board that runs the step tables: which profile it has, what feeds it, whether it wants a heartbeat.

`model` is the name of a profile of the board room; whether there is one of that name is found out above.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between


class Board(Part):
    kind: ClassVar[str] = "board"
    inside_prop: ClassVar[bool] = False
    phrases: ClassVar[tuple[str, ...]] = (
        "is {model:word}",
        "supply {supply:@supply}",
        "stops without a heartbeat for {heartbeat:time}",
    )

    model: str
    supply: str | None = None
    # At least some lost frames' worth of retries, at most what a person waits (common practice, no source).
    heartbeat: between("200 ms", "60 s") | None = None
