"""`@frozen`: a frozen dataclass with slots, as `@dataclass(frozen=True, slots=True)` makes it, in a tenth of the time.

A check loads some two hundred of these classes. `dataclass` compiles six functions for each, most of which are never
called, and takes 0.3 ms for it (measured): together more than a small show takes to be checked. Here a function is
compiled when it is called first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from functools import partial

TYPE_CHECKING = False  # as in `typing`, which takes 4 ms to load and is not needed to run
if TYPE_CHECKING:
    from typing import Any, TypeVar, dataclass_transform

    Made = TypeVar("Made")
else:
    def dataclass_transform(**_):
        """Only a type checker asks what a class becomes."""
        return lambda decorator: decorator


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(made: type[Made]) -> type[Made]:
    """The class as a frozen dataclass with slots; what it defines itself stays."""
    return _made(made, {"__init__": _init_of, "__eq__": partial(_compared, "__eq__", "=="), "__hash__": _hash_of})


@dataclass_transform(frozen_default=True, order_default=True, field_specifiers=(field,))
def frozen_ordered(made: type[Made]) -> type[Made]:
    """The same with an order, which is that of its fields."""
    signs = {"__eq__": "==", "__lt__": "<", "__le__": "<=", "__gt__": ">", "__ge__": ">="}
    compared = {name: partial(_compared, name, sign) for name, sign in signs.items()}
    return _made(made, {"__init__": _init_of, "__hash__": _hash_of, **compared})


Compile = Callable[[type], Callable]


def _made(made: type[Made], compiled: dict[str, Compile]) -> type[Made]:
    own = dict(vars(made))
    made.__doc__ = made.__doc__ or made.__name__  # else `dataclass` would make one of the signature
    made = dataclass(init=False, repr=False, eq=False, slots=True)(made)
    methods = {**_SIMPLE, **{name: _at_first_call(made, name, compile_it) for name, compile_it in compiled.items()}}
    for name, method in methods.items():
        if own.get(name) is None:
            setattr(made, name, method)
    return made


def _at_first_call(made: type[Any], name: str, compile_it: Compile) -> Callable[..., Any]:
    """A method that puts the compiled one in its own place."""

    def first(self: Any, *given: Any, **named: Any) -> Any:
        method = compile_it(made)
        setattr(made, name, method)
        return method(self, *given, **named)

    return first


# What reads the fields one by one


def _shown(self: Any) -> str:
    shown = ", ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{self.__class__.__qualname__}({shown})"


def _state(self: Any) -> list[Any]:
    return [getattr(self, one.name) for one in fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for one, held in zip(fields(self), state, strict=True):
        object.__setattr__(self, one.name, held)


def _no_set(self: object, name: str, held: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_delete(self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


_SIMPLE: dict[str, Callable] = {
    "__repr__": _shown, "__getstate__": _state, "__setstate__": _set_state, "__setattr__": _no_set,
    "__delattr__": _no_delete,
}


# What is compiled


def _compiled(made: type[Any], name: str, parameters: str, lines: list[str], space: dict[str, Any]) -> Callable:
    exec(f"def {name}({parameters}):\n    " + "\n    ".join(lines), space)
    method: Callable[..., Any] = space[name]
    method.__qualname__ = f"{made.__qualname__}.{name}"
    return method


def _fields_of(one: str, names: list[str]) -> str:
    return f"({''.join(f'{one}.{name}, ' for name in names)})"


def _compared(name: str, sign: str, made: type[Any]) -> Callable[..., Any]:
    names = [one.name for one in fields(made) if one.compare]
    same = f"{_fields_of('self', names)} {sign} {_fields_of('other', names)}"
    return _compiled(made, name, "self, other", [
        f"return {same} if other.__class__ is self.__class__ else NotImplemented"], {})


def _hash_of(made: type[Any]) -> Callable[..., Any]:
    names = [one.name for one in fields(made) if (one.compare if one.hash is None else one.hash)]
    return _compiled(made, "__hash__", "self", [f"return hash({_fields_of('self', names)})"], {})


def _init_of(made: type[Any]) -> Callable[..., Any]:
    """Parameters in the order of the fields, each put into its slot."""
    space: dict[str, Any] = {"_missing": MISSING}
    parameters, lines = ["self"], ["pass"]
    for one in fields(made):
        space[f"_put_{one.name}"] = getattr(made, one.name).__set__
        parameter, held = _parameter_of(one, space)
        if parameter is not None:
            parameters.append(parameter)
        if held is not None:
            lines.append(f"_put_{one.name}(self, {held})")
    if hasattr(made, "__post_init__"):
        lines.append("self.__post_init__()")
    return _compiled(made, "__init__", ", ".join(parameters), lines, space)


def _parameter_of(one: Field[Any], space: dict[str, Any]) -> tuple[str | None, str | None]:
    """How a field stands among the parameters, and what is put into its slot; None where there is nothing."""
    assert not one.kw_only, f"{one.name}: fields by keyword alone are for `dataclass`"
    name = one.name
    if one.default is not MISSING:
        space[f"_default_{name}"] = one.default
        return (f"{name}=_default_{name}", name) if one.init else (None, f"_default_{name}")
    if one.default_factory is not MISSING:
        space[f"_make_{name}"] = one.default_factory
        made = f"_make_{name}()"
        return (f"{name}=_missing", f"{made} if {name} is _missing else {name}") if one.init else (None, made)
    return (name, name) if one.init else (None, None)
