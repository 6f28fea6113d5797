"""Values for the fields of a part -> the values it holds, or pydantic's word on why it cannot be.

What a field takes is said by its annotation, which is pydantic's. Values that are plainly what their fields take, as
nearly all are, pass here; only where one is not is a pydantic model made of the same annotations and asked. So a
show in which no part is wrong is checked without loading pydantic, which takes longer than its whole check: 130 ms
and, for the models of all kinds, 60 ms more (measured where lark takes 45 ms). Tests hold both against each other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from inspect import get_annotations
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Union, get_args, get_origin

from sequencer.frozen import frozen

if TYPE_CHECKING:
    from pydantic import BaseModel

    from sequencer.rig.base import Part

REQUIRED: Any = object()
"""Stands for the default of a field that has none."""


@frozen
class Taken:
    """One field. `plainly` is true only of values that the field takes as they are; of others it is not known."""

    annotation: object
    default: object
    plainly: Callable[[object], bool]


@cache
def fields_of(kind: type[Part]) -> dict[str, Taken]:
    """The fields of a kind of part by name, in order, those of the classes it is made of first."""
    fields: dict[str, Taken] = {}
    for made_of in reversed(kind.__mro__):
        for name, annotation in get_annotations(made_of, eval_str=True).items():
            if get_origin(annotation) is not ClassVar:
                fields[name] = Taken(annotation, getattr(kind, name, REQUIRED), _plainly(annotation))
    return fields


def plain_values(kind: type[Part], values: Mapping[str, object]) -> dict[str, object] | None:
    """All fields with their values, in order; None where pydantic must be asked."""
    fields = fields_of(kind)
    if not values.keys() <= fields.keys():
        return None
    held: dict[str, object] = {}
    for name, field in fields.items():
        if name not in values:
            held[name] = field.default
            if field.default is REQUIRED:
                return None
        elif field.plainly(values[name]):
            held[name] = values[name]
        else:
            return None
    return held


def _plainly(annotation: Any) -> Callable[[object], bool]:
    """Whether a value is plainly what an annotation of a part says: one of those that parts have, else never."""
    origin, parts = get_origin(annotation), get_args(annotation)
    if annotation in (str, int, bool, NoneType):
        return lambda value: type(value) is annotation
    if origin is Annotated and len(parts) == 2:
        inner, rule = parts
        return lambda value: type(value) is inner and rule.admits(value)
    if origin in (Union, UnionType):
        one_of = tuple(map(_plainly, parts))
        return lambda value: any(plainly(value) for plainly in one_of)
    if origin is Literal:
        return lambda value: type(value) is str and value in parts
    if origin is tuple and parts[1:] == (...,):
        each = _plainly(parts[0])
        return lambda value: type(value) is tuple and all(map(each, value))
    return lambda value: False


@cache
def model_of(kind: type[Part]) -> type[BaseModel]:
    """The pydantic model of a kind of part."""
    from pydantic import ConfigDict, create_model, model_validator

    def hold_together(model: BaseModel) -> BaseModel:
        """What of the part itself looks at several fields."""
        kind.holding(vars(model)).check()
        return model

    config = ConfigDict(frozen=True, arbitrary_types_allowed=True, extra="forbid", hide_input_in_errors=True)
    fields: Any = {name: (field.annotation, ... if field.default is REQUIRED else field.default)
                   for name, field in fields_of(kind).items()}
    validators: Any = {"hold_together": model_validator(mode="after")(hold_together)}
    return create_model(kind.__name__, __config__=config, __validators__=validators, **fields)


def faults_of(refused: ValueError) -> list[Any]:
    """What pydantic has against the values that a kind of part refused. Raises again what was no refusal."""
    from pydantic import ValidationError

    if not isinstance(refused, ValidationError):
        raise refused
    return refused.errors(include_url=False, include_input=False)
