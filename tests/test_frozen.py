"""`@frozen` gives what `dataclass(frozen=True, slots=True)` gives."""

from __future__ import annotations

import copy
import inspect
import pickle
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.frozen import frozen, frozen_ordered


@frozen
class Wire:
    """A wire."""

    pin: int
    colour: str | None = None
    notes: list[str] = field(default_factory=list, compare=False)
    seen: tuple[int, ...] = field(default=(1,), hash=False)
    kept: dict[str, int] = field(default_factory=dict, repr=False, compare=False)

    @property
    def doubled(self) -> int:
        return 2 * self.pin


@dataclass(frozen=True, slots=True)
class Same:
    """A wire."""

    pin: int
    colour: str | None = None
    notes: list[str] = field(default_factory=list, compare=False)
    seen: tuple[int, ...] = field(default=(1,), hash=False)
    kept: dict[str, int] = field(default_factory=dict, repr=False, compare=False)


@frozen_ordered
class Place:
    line: int
    column: int


@frozen
class Longer(Wire):
    metres: float = 1.0
    area: float = field(init=False, default=2.5)

    def __post_init__(self) -> None:
        object.__setattr__(self, "area", self.metres * 2)


@frozen
class Odd:
    """Defines what it wants otherwise."""

    size: int

    def __eq__(self, other: object) -> bool:
        return True

    def __repr__(self) -> str:
        return "odd"


@frozen
class Nothing:
    pass


WIRES = st.tuples(st.integers(-2, 2), st.none() | st.sampled_from("ab"), st.lists(st.text(max_size=1), max_size=1),
                  st.tuples(st.integers(0, 1)))


@given(WIRES, WIRES)
def test_it_compares_hashes_and_shows_as_a_dataclass_does(one: tuple, other: tuple) -> None:
    mine, theirs = (Wire(*one), Wire(*other)), (Same(*one), Same(*other))
    assert (mine[0] == mine[1]) == (theirs[0] == theirs[1])
    assert (mine[0] != mine[1]) == (theirs[0] != theirs[1])
    assert hash(mine[0]) == hash(theirs[0])
    assert repr(mine[0]) == repr(theirs[0]).replace("Same", "Wire")
    assert asdict(mine[0]) == asdict(theirs[0])
    assert mine[0] != theirs[0] and theirs[0] != mine[0]


@given(st.tuples(st.integers(0, 2), st.integers(0, 2)), st.tuples(st.integers(0, 2), st.integers(0, 2)))
def test_an_ordered_one_is_ordered_by_its_fields(one: tuple[int, int], other: tuple[int, int]) -> None:
    first, second = Place(*one), Place(*other)
    assert [first < second, first <= second, first > second, first >= second, first == second] == [
        one < other, one <= other, one > other, one >= other, one == other]


def test_an_order_is_only_between_values_of_one_class() -> None:
    with pytest.raises(TypeError):
        assert Place(1, 2) < (1, 3)


def test_it_is_a_dataclass_with_slots() -> None:
    wire = Wire(3)
    assert is_dataclass(wire) and [f.name for f in fields(wire)] == [f.name for f in fields(Same)]
    assert not hasattr(wire, "__dict__") and Wire.__slots__ == Same.__slots__
    assert Wire.__match_args__ == Same.__match_args__
    match wire:
        case Wire(pin=3, colour=None):
            pass
        case _:
            raise AssertionError


def test_each_value_has_a_list_of_its_own() -> None:
    assert Wire(1).notes is not Wire(1).notes
    assert Wire(1, "red", ["x"]).notes == ["x"]


def test_nothing_of_it_can_be_set_or_deleted() -> None:
    wire = Wire(3)
    for fault in (lambda: setattr(wire, "pin", 4), lambda: delattr(wire, "pin"), lambda: setattr(wire, "new", 4)):
        with pytest.raises(FrozenInstanceError):
            fault()
    assert wire.pin == 3


def test_it_is_replaced_copied_and_pickled() -> None:
    wire = Wire(3, "red", ["a"])
    assert replace(wire, pin=4) == Wire(4, "red") and replace(wire, pin=4).notes == ["a"]
    for again in (copy.copy(wire), copy.deepcopy(wire), pickle.loads(pickle.dumps(wire))):
        assert again == wire and again.notes == ["a"]


def test_wrong_arguments_are_told_as_by_any_function() -> None:
    for wrong in ({}, {"pin": 1, "size": 2}):
        with pytest.raises(TypeError, match="__init__"):
            Wire(**wrong)
    with pytest.raises(TypeError):
        Wire(1, "red", [], (), {}, "one more")


def test_a_class_built_on_another_has_the_fields_of_both() -> None:
    longer = Longer(1, metres=3.0)
    assert (longer.pin, longer.area, longer.doubled) == (1, 6.0, 2)
    assert longer != Wire(1) and longer == Longer(1, metres=3.0)
    assert [f.name for f in fields(longer)][-2:] == ["metres", "area"]


def test_what_a_class_defines_itself_stays() -> None:
    assert Odd(1) == Odd(2) and repr(Odd(1)) == "odd" and hash(Odd(1)) == hash(Odd(1))


def test_a_class_without_fields_is_one_value() -> None:
    assert Nothing() == Nothing() and hash(Nothing()) == hash(Nothing()) and repr(Nothing()) == "Nothing()"


def test_its_parameters_are_its_fields_once_it_has_been_made() -> None:
    Wire(1)
    assert list(inspect.signature(Wire).parameters) == ["pin", "colour", "notes", "seen", "kept"]
