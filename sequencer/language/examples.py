"""What must be said of a part -> how an author would say it, for the message where it is missing.

The values are ordinary ones for a prop; a test holds that each is in the range of its property.
"""

from __future__ import annotations

from sequencer.language.wording import example_of
from sequencer.phrases import pieces_of

_WRITTEN = {
    "delivers {flow:flow} at {flow_at:pressure}": "delivers 5.1 scfm at 90 psi",
    "tank {tank:volume}": "tank 20 gal",
    "cuts in at {cut_in:pressure}": "cuts in at 95 psi",
    "cuts out at {cut_out:pressure}": "cuts out at 125 psi",
    "tube {tube:length}": "tube 1/4 in",
    "length {length:length}": "length 12 ft",
    "ports {ports:count}": "ports 8",
    "gives {voltage:voltage}": "gives 12 V",
    "up to {current:current}": "up to 5 A",
    "is {model:word}": "is avr328",
    "{tripped:low|high} when tripped": "low when tripped` or `high when tripped",
    "kind {ports:2/2|3/2|5/2|5/3}": "kind 5/2",
    "bore {bore:length}": "bore 1-1/2 in",
    "rod {rod:length}": "rod 7/16 in",
    "stroke {stroke:length}": "stroke 12 in",
    "carries {carries:mass}": "carries 6 lb",
    "rod {rod_at:length} from the pivot": "rod 8 in from the pivot",
    "cylinder {base_at:length} from the pivot at {base_angle:angle}": "cylinder 20 in from the pivot at -90 deg",
    "swings from {start:angle} to {end:angle}": "swings from -30 deg to 15 deg",
    "arm {arm:length}": "arm 36 in",
    "stages {stages:count}": "stages 3",
    "links {link:length}": "links 12 in",
    "opens from {start:angle} to {end:angle}": "opens from 15 deg to 65 deg",
    "ground {ground:length}": "ground 20 in",
    "crank {crank:length}": "crank 8 in",
    "coupler {coupler:length}": "coupler 18 in",
    "rocker {rocker:length}": "rocker 12 in",
    "rate {rate:stiffness}": "rate 10 lbf/in",
    "pushes {pushes:home|out}": "pushes home",
}


def written(template: str) -> str:
    """A template as an author would write it: `on BOARD PIN`, `bore 1-1/2 in`."""
    example = _WRITTEN.get(template)
    if example is not None:
        return example
    return " ".join(piece if isinstance(piece, str) else example_of(piece) for piece in pieces_of(template))
