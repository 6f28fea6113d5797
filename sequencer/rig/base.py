"""What every kind of part has in common: a name, phrases that give its properties, verbs that a cue may use.

A kind of part is one file beside this one: a frozen class whose fields are the properties, annotated for pydantic
(`judged` asks it), `phrases` that say how an author writes them, and `verbs` that say what a cue can ask of it and
what that does to pins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import FrozenInstanceError
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, dataclass_transform

from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.drive import Drive
from sequencer.rig.judged import fields_of, model_of, plain_values
from sequencer.units import Quantity, read_quantity, say_range

if TYPE_CHECKING:
    from typing import Self

    from pydantic_core import CoreSchema, PydanticCustomError


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


class _ModelFields:
    """The fields as pydantic knows them, of a class that is asked for them."""

    def __get__(self, _part: Part | None, kind: type[Part]) -> Mapping[str, Any]:
        return model_of(kind).model_fields


@dataclass_transform(frozen_default=True, kw_only_default=True)
class Part:
    """A part of the rig. Quantities keep the author's unit; other parts go by full name (`window.shove`).

    Made of values by field; raises pydantic's ValidationError, a ValueError, where it cannot be (`judged.faults_of`).
    """

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

    model_fields: ClassVar[_ModelFields] = _ModelFields()

    def __init__(self, **values: Any) -> None:
        held = plain_values(type(self), values)
        if held is not None:
            vars(self).update(held)
            try:
                self.check()
                return
            except ValueError:
                pass  # what it is that does not hold together is said in pydantic's way, below
        vars(self).update(vars(model_of(type(self))(**values)))

    @classmethod
    def holding(cls, values: Mapping[str, Any]) -> Self:
        """The part with these values for all its fields, none of them looked at."""
        part = cls.__new__(cls)
        vars(part).update(values)
        return part

    def check(self) -> None:
        """Raises a `contradiction` where properties that are right by themselves cannot be together."""

    def model_copy(self, *, update: Mapping[str, Any]) -> Self:
        """The part with some values in the place of others, none of them looked at."""
        return self.holding({**vars(self), **update})

    def __setattr__(self, name: str, value: object) -> None:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def __eq__(self, other: object) -> bool:
        return vars(self) == vars(other) if type(other) is type(self) else NotImplemented

    def __hash__(self) -> int:
        return hash((type(self), *vars(self).values()))

    def __iter__(self) -> Iterator[tuple[str, Any]]:
        """Fields with their values."""
        return iter(vars(self).items())

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={value!r}' for name, value in self)})"

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
            (field, value) for field in fields_of(type(self))
            if isinstance(value := getattr(self, field), PinName)
        )


@frozen
class _Between:
    """Holds a quantity inside the range in which the property makes sense."""

    least: Quantity
    most: Quantity

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(self, core_schema.is_instance_schema(Quantity))

    def admits(self, value: Quantity) -> bool:
        slack = 1e-9 * max(abs(self.least.si), abs(self.most.si))
        return self.least.si - slack <= value.si <= self.most.si + slack

    def __call__(self, value: Quantity) -> Quantity:
        if self.admits(value):
            return value
        raise _refusal("range", "{text} is outside {range}",
                       {"text": value.text, "range": say_range(self.least, self.most, value)})


@frozen
class _Counted:
    """Holds a whole number inside its range."""

    least: int
    most: int

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(self, core_schema.int_schema())

    def admits(self, value: int) -> bool:
        return self.least <= value <= self.most

    def __call__(self, value: int) -> int:
        if self.admits(value):
            return value
        raise _refusal("range", "{text} is outside {range}",
                       {"text": str(value), "range": f"{self.least} to {self.most:,}"})


class AsIs:
    """`Annotated[Clip, AsIs()]`: a value of that class, which pydantic is not to look into."""

    def __get_pydantic_core_schema__(self, source: Any, _handler: Any) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.is_instance_schema(source)

    def admits(self, _value: object) -> bool:
        return True


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
    return _refusal("contradiction", "{sentence}", {"sentence": sentence, "field": field})


def _refusal(kind: Any, template: Any, context: dict[str, Any]) -> PydanticCustomError:
    from pydantic_core import PydanticCustomError  # loaded where something is wrong

    return PydanticCustomError(kind, template, context)
