"""What stands in the yard: one file a kind of part, and `KINDS` that names them all.

A new kind is one new file and one row here. Parts from the shelf are in `rig.shelf`, loaded when asked for.
"""

from __future__ import annotations

from sequencer.rig.base import Part
from sequencer.rig.board import Board
from sequencer.rig.compressor import Compressor
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.fogger import Fogger
from sequencer.rig.fourbar import Fourbar
from sequencer.rig.lamp import Lamp
from sequencer.rig.lever import Lever
from sequencer.rig.line import Line
from sequencer.rig.manifold import Manifold
from sequencer.rig.motor import Motor
from sequencer.rig.prop import Prop
from sequencer.rig.pump import Pump
from sequencer.rig.rope import Rope
from sequencer.rig.scissor import Scissor
from sequencer.rig.sensor import Sensor
from sequencer.rig.slide import Slide
from sequencer.rig.speaker import Speaker
from sequencer.rig.spring import Spring
from sequencer.rig.supply import Supply
from sequencer.rig.valve import Valve

KINDS: dict[str, type[Part]] = {
    part.kind: part
    for part in (
        Compressor, Line, Manifold, Supply, Board, Sensor, Prop, Valve, Cylinder, Lamp, Motor, Pump, Fogger,
        Speaker, Slide, Lever, Scissor, Fourbar, Rope, Spring,
    )
}
"""Every kind of part by the word an author writes for it."""
