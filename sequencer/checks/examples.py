"""Small shows that the examples of the checks start from, so that each example changes one thing only."""

from __future__ import annotations

BOARD = '''show "Marrow Lane"
board box like avr328
'''

LAMP = BOARD + '''sensor step like mat: on box in0
lamp eyes: on box pwm0
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
'''
"""A lamp that comes on when somebody steps on the mat."""

AIR = '''show "Marrow Lane"
compressor shed like compressor_20_gal:
manifold bench on shed: ports 4
board box like avr328
sensor mushroom like stop_mushroom: on box in0
sensor step like mat: on box in1
prop window:
    air from bench port 1, regulator 60 psi
    reach fenced
    valve shove like valve_5_2_quarter: on box out0
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 12 in, measured out 0.4 s, back 0.6 s
    lamp eyes: on box pwm0
'''
"""Air, a stop input, a prop with a cylinder and a lamp."""

LUNGE = AIR + '''    scare lunge on step trips:
        0 s: ram extends, eyes on
        2 s: ram retracts
        4 s: eyes off
stop on mushroom trips: window.ram retracts
'''
"""The same with one scare that is right."""


TUNE = BOARD + '''sensor step like mat: on box in0
lamp eyes: on box pwm0
speaker throat: on box out0
    clip growl "growl.wav"
scare moan on step trips:
    0 s: throat plays growl, eyes on
    then: eyes off
'''
"""A sound and a lamp."""


def changed(show: str, *changes: tuple[str, str]) -> str:
    """The show with each `old` replaced by its `new`; an `old` that is not there is a slip of ours."""
    for old, new in changes:
        assert old in show, old
        show = show.replace(old, new)
    return show
