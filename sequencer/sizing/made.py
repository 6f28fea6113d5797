"""Values by name -> a checked part of the rig, or what speaks against it as one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from sequencer.rig.base import Part
from sequencer.rig.judged import faults_of
from sequencer.units import Quantity

Value = Quantity | str | float | bool | tuple[str, ...]
P = TypeVar("P", bound=Part)


class Unfit(ValueError):
    """A value that cannot be: `field` is its name, the message one sentence without the name."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field

    @property
    def plain(self) -> str:
        """The sentence where the field has been named already."""
        return str(self).replace(f"the {self.field} is", "it is")


def made(kind: type[P], values: Mapping[str, Any], own: tuple[str, ...]) -> P:
    """The part, or what speaks against it as one sentence."""
    try:
        return kind(**values)
    except ValueError as refused:
        error = faults_of(refused)[0]
    context: Any = error.get("ctx", {})
    field = str(error["loc"][0]) if error["loc"] else str(context.get("field", own[0]))
    match error["type"]:
        case "missing":
            raise Unfit(field, f"the {field} is not said") from None
        case "range":
            raise Unfit(field, f"{context['text']} is outside {context['range']}") from None
        case "contradiction":
            raise Unfit(field, str(context["sentence"])) from None
        case _:
            raise Unfit(field, str(error["msg"])) from None
