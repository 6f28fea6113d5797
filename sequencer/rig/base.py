"""What every kind of part has in common: a name, phrases that give its properties, verbs that a cue may use.

A kind of part is one file beside this one: a frozen pydantic model whose fields are the properties, `phrases`
that say how an author writes them, and `verbs` that say what a cue can ask of it and what that does to pins.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.drive import Drive
from sequencer.units import Quantity, read_quantity, say_range


@frozen
class Verb:
    """One thing a cue can ask of a part: `to {level:share} over {time:time}` and what it does."""

    phrase: str
    drives: Callable[[Any, Mapping[str, Any]], tuple[Drive, ...]]


@frozen
class Many:
    """A phrase that may be said several times: each `make(**values)` is one item of the tuple `field`."""

    field: str
    make: Callable[..., Any]


class Part(BaseModel):
    """A part of the rig. Quantities keep the author's unit; other parts go by full name (`window.shove`)."""

    model_config = ConfigDict(
        frozen=True, arbitrary_types_allowed=True, defer_build=True, extra="forbid", hide_input_in_errors=True
    )

    kind: ClassVar[str]
    article: ClassVar[str] = "a"
    phrases: ClassVar[tuple[str, ...]] = ()
    verbs: ClassVar[tuple[Verb, ...]] = ()
    # What a template says beyond its slots, by template: {"cushioned": {"cushioned": True}}.
    sets: ClassVar[Mapping[str, Mapping[str, Any]]] = {}
    many: ClassVar[Mapping[str, Many]] = {}
    inside_prop: ClassVar[bool] = True

    name: str
    label: str | None = None
    prop: str | None = None

    @property
    def called(self) -> str:
        """The label for people, or the name where there is none."""
        return self.label or self.name

    def declared(self, what: str) -> tuple[str, ...]:
        """The names the part itself declares for a slot such as `#clip` (`what` is then `clip`)."""
        return ()

    def pins(self) -> tuple[tuple[str, PinName], ...]:
        """Every pin the part is on, with the field that says so."""
        return tuple(
            (field, value) for field in type(self).model_fields
            if isinstance(value := getattr(self, field), PinName)
        )


@frozen
class _Between:
    """Holds a quantity inside the range in which the property makes sense."""

    least: Quantity
    most: Quantity

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        # Said outright, since pydantic would work it out from the dataclass and the signature: 1 ms a kind of part.
        return core_schema.no_info_after_validator_function(self, core_schema.is_instance_schema(Quantity))

    def __call__(self, value: Quantity) -> Quantity:
        slack = 1e-9 * max(abs(self.least.si), abs(self.most.si))
        if self.least.si - slack <= value.si <= self.most.si + slack:
            return value
        raise PydanticCustomError("range", "{text} is outside {range}",
                                  {"text": value.text, "range": say_range(self.least, self.most, value)})


@frozen
class _Counted:
    """Holds a whole number inside its range."""

    least: int
    most: int

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self, core_schema.int_schema())

    def __call__(self, value: int) -> int:
        if self.least <= value <= self.most:
            return value
        raise PydanticCustomError("range", "{text} is outside {range}",
                                  {"text": str(value), "range": f"{self.least} to {self.most:,}"})


class AsIs:
    """`Annotated[Clip, AsIs()]`: a value of that class, which pydantic is not to look into."""

    def __get_pydantic_core_schema__(self, source: Any, _handler: Any) -> CoreSchema:
        return core_schema.is_instance_schema(source)


Pin = Annotated[PinName, AsIs()]
"""A field that holds a pin of a board."""


def between(least: str, most: str) -> Any:
    """A quantity between two others: `bore: between("3 mm", "320 mm")`."""
    return Annotated[Quantity, _Between(read_quantity(least), read_quantity(most))]


def counted(least: int, most: int) -> Any:
    """A whole number from `least` to `most`."""
    return Annotated[int, _Counted(least, most)]


def item(field: str, number: int) -> str:
    """What one item of a property that may be said several times is called: `clips 2`."""
    return f"{field} {number}"


def contradiction(field: str, sentence: str) -> PydanticCustomError:
    """Two properties that cannot both be; raise it from a validator. `field`: where the author looks."""
    return PydanticCustomError("contradiction", "{sentence}", {"sentence": sentence, "field": field})
