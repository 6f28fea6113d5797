"""The models -> the tables of grammar/REFERENCE.md between its `generated` marks; run it to write them anew.

    python tests/grammar/reference_tables.py

Ranges and defaults come from the models of the rig, pins from the boards' profiles, units from the unit table,
parts from the shelf. What a phrase means in words is in `meanings`. Everything outside the marks is left alone.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, get_args

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from pydantic_core import PydanticUndefined  # noqa: E402

from sequencer.board.profiles import PROFILES  # noqa: E402
from sequencer.language import never  # noqa: E402
from sequencer.phrases import Slot, pieces_of  # noqa: E402
from sequencer.rig import KINDS, asked, shelf  # noqa: E402
from sequencer.rig.base import Part, _Between, _Counted  # noqa: E402
from sequencer.rig.tubes import INNER_BY_OUTER  # noqa: E402
from sequencer.units import UNITS, Quantity  # noqa: E402
from tests.grammar import meanings  # noqa: E402

REFERENCE = ROOT / "grammar" / "REFERENCE.md"
_SECTION = re.compile(r"(<!-- generated: (?P<name>[\w ]+) -->\n).*?(<!-- end -->)", re.DOTALL)

DIMENSIONS = {
    "time": "time", "length": "length", "pressure": "pressure, as a gauge shows it", "mass": "mass", "force": "force",
    "flow": "flow of free air", "volume": "volume", "voltage": "voltage", "current": "current", "power": "power",
    "resistance": "resistance", "angle": "angle", "share": "share", "frequency": "rate", "sound": "sound level",
    "speed": "speed", "stiffness": "stiffness of a spring", "conductance": "how freely a valve passes air",
    "temperature": "temperature",
}
VERB_RANGES = {
    "share": (asked.NOTHING, asked.FULL), "time": (asked.LEAST_TIME, asked.MOST_TIME),
    "frequency": (asked.SLOWEST_FLASH, asked.FASTEST_FLASH),
}


def table(heads: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> str:
    lines = [heads, tuple("---" for _ in heads), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines) + "\n"


def shown(template: str) -> str:
    """A template as the reference writes it: `clip <name> <file>`, one of several words as `(home, out)`."""
    return " ".join(piece if isinstance(piece, str) else _slot(piece) for piece in pieces_of(template))


def _slot(slot: Slot) -> str:
    if slot.choices:
        return f"({', '.join(slot.choices)})"
    if slot.kind == "pin":
        return "<board> <pin>"
    if slot.kind[0] in "@#":
        return f"<{' or '.join(slot.kinds)}>"
    return {"word": "<name>", "text": '"<file>"', "count": "<number>"}.get(slot.kind, f"<{slot.kind}>")


# Parts of the rig


def kind_tables(name: str) -> str:
    """The properties of one kind of part, and what a cue can ask of it."""
    kind = KINDS[name]
    words = meanings.PHRASES[name]
    text = table(("write", "means", "range", "if not said"),
                 ((f"`{shown(phrase)}`", words[phrase], _ranges(kind, phrase), _default(kind, phrase))
                  for phrase in kind.phrases))
    if kind.verbs:
        says = meanings.VERBS[name]
        text += "\n" + table(("in a cue", "does", "range", "has ended"),
                             ((f"`{shown(verb.phrase)}`", says[verb.phrase][0], _asked(verb.phrase),
                               says[verb.phrase][1]) for verb in kind.verbs))
    return text


def _slots(phrase: str) -> list[Slot]:
    return [piece for piece in pieces_of(phrase) if isinstance(piece, Slot)]


def _ranges(kind: type[Part], phrase: str) -> str:
    found = [found for slot in _slots(phrase) if (found := _range(kind, slot.field))]
    return "; ".join(dict.fromkeys(found))


def _range(kind: type[Part], name: str) -> str:
    field = kind.model_fields.get(name)
    for check in () if field is None else (*field.metadata, *_metadata(field.annotation)):
        if isinstance(check, _Between | _Counted):
            return f"{check.least} to {check.most}"
    return ""


def _metadata(annotation: Any) -> Iterator[Any]:
    """What stands beside the type in `Annotated`, also inside `... | None`."""
    yield from getattr(annotation, "__metadata__", ())
    for inner in get_args(annotation):
        if inner is not annotation:
            yield from _metadata(inner)


def _default(kind: type[Part], phrase: str) -> str:
    if (kind.kind, phrase) in meanings.NEEDED_SOMETIMES:
        return meanings.NEEDED_SOMETIMES[kind.kind, phrase]
    if phrase in kind.many:
        return "–"
    fields = [kind.model_fields[slot.field] for slot in _slots(phrase) if slot.field in kind.model_fields]
    if any(field.default is PydanticUndefined for field in fields):
        return "must be said"
    defaults = [str(field.default) for field in fields if isinstance(field.default, Quantity | str | int)]
    return ", ".join(defaults) or "–"


def _asked(phrase: str) -> str:
    found = [VERB_RANGES[slot.kind] for slot in _slots(phrase) if slot.kind in VERB_RANGES]
    return "; ".join(dict.fromkeys(f"{least} to {most}" for least, most in found))


# Everything else that is generated


def units_table() -> str:
    by: dict[str, list[str]] = {}
    for unit in UNITS.values():
        by.setdefault(unit.dimension, []).append(f"`{unit.symbol}`")
    return table(("quantity", "units"), ((DIMENSIONS[name], " ".join(symbols)) for name, symbols in by.items()))


def tubes_table() -> str:
    heads = ("tube, outside", "taken as inside")
    return table(heads, ((f"`{outer}`", inner) for outer, inner in INNER_BY_OUTER.items()))


def boards_table() -> str:
    def row(profile: Any) -> tuple[str, ...]:
        fading = [pin for pin in profile.pins if pin.fades]
        plain = [pin for pin in profile.pins if not pin.fades and not pin.is_input]
        inputs = [pin for pin in profile.pins if pin.is_input]
        limits = profile.limits
        return (f"`{profile.name}`", profile.label, *(_run(pins) for pins in (fading, plain, inputs)),
                f"{limits.program_bytes:,} bytes", str(limits.routines), str(limits.routines_running))

    heads = ("board", "what", "outputs that fade", "plain outputs", "inputs", "room for a show", "scares and idles",
             "running at once")
    return table(heads, (row(profile) for profile in PROFILES))


def _run(pins: list[Any]) -> str:
    return f"`{pins[0].name}` to `{pins[-1].name}`"


def shelf_table() -> str:
    return table(("kind", "name on the shelf", "what it is"),
                 ((part.kind, f"`{part.name}`", part.about) for part in shelf.stock().values()))


def night_table() -> str:
    return table(("write", "means"), ((f"`{shown(phrase)}`", meanings.NIGHT[phrase]) for phrase in never._NIGHT))


def states_table() -> str:
    heads = ("kind", "with `while`", "with `fewer than`")
    states, events = never._STATES, never._EVENTS
    kinds = dict.fromkeys((*states, *events))
    return table(heads, ((kind, _words(states.get(kind, ())), _words(events.get(kind, ()))) for kind in kinds))


def _words(words: tuple[str, ...]) -> str:
    return " ".join(f"`{word}`" for word in words)


SECTIONS: dict[str, Callable[[], str]] = {
    "night": night_table, "states": states_table,
    "units": units_table, "tubes": tubes_table, "boards": boards_table, "shelf": shelf_table,
    **{f"kind {name}": lambda name=name: kind_tables(name) for name in KINDS},
}


def renewed(text: str) -> str:
    """The reference with every generated section written anew. Raises KeyError for a section there is none of."""
    return _SECTION.sub(lambda match: f"{match[1]}{SECTIONS[match['name']]()}{match[3]}", text)


def main() -> None:
    text = REFERENCE.read_text(encoding="utf-8")
    REFERENCE.write_text(renewed(text), encoding="utf-8")


if __name__ == "__main__":
    main()
