"""The catalogue of what can be wrong with names, kinds, properties and units."""

from __future__ import annotations

from sequencer.findings import Rule

_RIG = '''show "Box"
board box like avr328
lamp eyes: on box pwm1
'''
_SCARE = _RIG + '''sensor step: on box in1, low when tripped
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
'''


def _changed(old: str, new: str, show: str = _SCARE) -> str:
    assert old in show
    return show.replace(old, new)


UNKNOWN_NAME = Rule(
    "N001", "a name that nothing has",
    "Every part, scare and gesture that a line speaks of must be declared somewhere in the show or in a file it "
    "uses. Inside a prop its own parts go by their short names, elsewhere by `prop.part`.",
    failing=_changed("0 s: eyes on", "0 s: eye on"), mended=_SCARE,
)
TWICE = Rule(
    "N002", "a name declared twice",
    "A name means one thing. Two parts of the same name would leave open which one a cue moves.",
    failing=_RIG + "lamp eyes: on box pwm2\n", mended=_RIG + "lamp nose: on box pwm2\n",
)
RESERVED = Rule(
    "N003", "a word that the language needs itself",
    "Words that open a cue line, and units, cannot be names: a line with them could be read in two ways.",
    failing=_RIG + "lamp then: on box pwm2\n", mended=_RIG + "lamp after_glow: on box pwm2\n",
)
WRONG_KIND = Rule(
    "N004", "a name of another kind",
    "The name exists, but what it names cannot stand here: a cylinder sits on a valve, air comes from a manifold.",
    failing=_changed("on step trips", "on eyes trips"), mended=_SCARE,
)
UNKNOWN_KIND = Rule(
    "N005", "a kind of part there is not",
    "A line such as `valve shove:` starts with the kind of part. `sequencer shelf` lists the kinds.",
    failing=_RIG + "lmap nose: on box pwm2\n", mended=_RIG + "lamp nose: on box pwm2\n",
)
UNKNOWN_WORDS = Rule(
    "N006", "a property or action that this kind of part does not have",
    "Each kind of part has its own properties and actions. What it does not know is never skipped: it might have "
    "been meant to hold something back.",
    failing=_changed("0 s: eyes on", "0 s: eyes extends"), mended=_SCARE,
)
WRONG_WORDS = Rule(
    "N007", "a property or action said wrongly",
    "The line starts like one that is known, and goes on otherwise.",
    failing=_changed("low when tripped", "low if tripped"), mended=_SCARE,
)
NO_UNIT = Rule(
    "N008", "a number without its unit",
    "Every physical quantity carries its unit. 60 can be psi or bar, 12 inches or millimetres, and the "
    "difference breaks props.",
    failing=_changed("2 s: eyes off", "2 s: eyes to 0 % over 1"),
    mended=_changed("2 s: eyes off", "2 s: eyes to 0 % over 1 s"),
)
WRONG_DIMENSION = Rule(
    "N009", "a quantity of the wrong kind",
    "A time stands where a pressure is due, or the like.",
    failing=_changed("2 s: eyes off", "2 psi: eyes off"), mended=_SCARE,
)
OUT_OF_RANGE = Rule(
    "N010", "a value outside the range that makes sense",
    "Each property has a range outside of which no such part is built or the model means nothing. A value beyond "
    "it is nearly always a slip of a unit or a decimal point.",
    failing=_changed("eyes on", "eyes to 140 %"), mended=_changed("eyes on", "eyes to 100 %"),
    source="the ranges stand beside each property in sequencer/rig, with where they come from",
)
MISSING = Rule(
    "N011", "a property that is needed and not said",
    "Without it the part cannot be driven or checked, and nothing is guessed.",
    failing=_changed("on box in1, low when tripped", "on box in1"), mended=_SCARE,
)
CONTRADICTION = Rule(
    "N012", "properties that cannot all be true",
    "Two properties of one part exclude each other, or one needs another.",
    failing=_RIG + "valve puff:\n    kind 5/2, on box out1, without power closed\n",
    mended=_RIG + "valve puff:\n    kind 2/2, on box out1, without power closed\n",
)
SAID_TWICE = Rule(
    "N013", "a property said twice",
    "One of the two would be ignored, and it is not said which.",
    failing=_RIG + "lamp nose: on box pwm2, draws 3 W, draws 5 W\n",
    mended=_RIG + "lamp nose: on box pwm2, draws 3 W\n",
)
USE = Rule(
    "N014", "a file that cannot be used",
    "`use` takes in a file that lies beside the file that names it or deeper, never outside the folder of the "
    "show, and no file takes in itself over a ring of others.",
    failing=_RIG + 'use "../elsewhere.show"\n', mended=_RIG,
)
NO_TITLE = Rule(
    "N015", "a show without its first line",
    "A show starts with `show \"Name\"`; the name stands on every sheet, on the board and in its log. A file that "
    "others take in with `use` has none.",
    failing="board box like avr328\n", mended='show "Marrow Lane"\nboard box like avr328\n',
)
NO_SHELF = Rule(
    "N016", "nothing of that name on the shelf",
    "`like` takes values from a generic part on the shelf (`sequencer shelf` lists them) or from another part of "
    "the show of the same kind.",
    failing='show "Box"\nboard box like avr382\n', mended='show "Box"\nboard box like avr328\n',
)
GESTURE = Rule(
    "N017", "a gesture used wrongly",
    "A gesture takes as many parts and numbers as it names, and does not use itself.",
    failing=_changed("0 s: eyes on", "0 s: wink of eyes with 2") + "gesture wink of who:\n    0 s: who on\n",
    mended=_changed("0 s: eyes on", "0 s: wink of eyes") + "gesture wink of who:\n    0 s: who on\n",
)
WEIGHTS = Rule(
    "N018", "weights that do not add up",
    "The arms of `pick one:` say their share as `3 of 4:`; all count from the same whole and together make it.",
    failing=_changed("    0 s: eyes on\n", "    0 s: pick one:\n        1 of 3:\n            0 s: eyes on\n"),
    mended=_changed("    0 s: eyes on\n", "    0 s: pick one:\n        1 of 2:\n            0 s: eyes on\n"
                    "        1 of 2:\n            0 s: eyes to 50 %\n"),
)
OTHERWISE = Rule(
    "N019", "an `otherwise:` without its `if`",
    "`otherwise:` stands right below the block of an `if` or `every 3rd run` and at the same indentation.",
    failing=_SCARE + "    otherwise: eyes on\n",
    mended=_SCARE + "    3 s: if step tripped:\n        0 s: eyes on\n    otherwise: eyes off\n",
)
NOTHING_SAID = Rule(
    "N020", "a line that says nothing",
    "A time without an action does nothing; a wait alone is written as the time of the next line.",
    failing=_changed("2 s: eyes off", "2 s:"), mended=_SCARE,
)

ALL = (
    UNKNOWN_NAME, TWICE, RESERVED, WRONG_KIND, UNKNOWN_KIND, UNKNOWN_WORDS, WRONG_WORDS, NO_UNIT, WRONG_DIMENSION,
    OUT_OF_RANGE, MISSING, CONTRADICTION, SAID_TWICE, USE, NO_TITLE, NO_SHELF, GESTURE, WEIGHTS, OTHERWISE,
    NOTHING_SAID,
)
