"""A part is the same whether its values pass as they are or pydantic is asked, which has the word on all others."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from sequencer.phrases import PinName
from sequencer.rig import KINDS
from sequencer.rig.base import Part, _Between, _Counted
from sequencer.rig.judged import REQUIRED, faults_of, fields_of, model_of, plain_values
from sequencer.rig.speaker import Clip
from sequencer.units import read_quantity

ROOT = Path(__file__).resolve().parents[2]
kinds = st.sampled_from(tuple(KINDS.values()))


class Word(str):
    """A string and yet none as the fields have them."""


def within(annotation: Any) -> list[object]:
    """Values that an annotation takes."""
    origin, parts = get_origin(annotation), get_args(annotation)
    rules = getattr(annotation, "__metadata__", ())
    if rules and isinstance(rules[0], _Between):
        return [rules[0].least, rules[0].most]
    if rules and isinstance(rules[0], _Counted):
        return [rules[0].least, rules[0].most]
    if rules:
        return [PinName("box", "out1")] if parts[0] is PinName else [Clip("a", "a.wav", PinName("box", "out2"))]
    if origin is Literal:
        return list(parts)
    if origin is tuple:
        return [(), tuple(within(parts[0]))]
    if parts:
        return [value for part in parts for value in within(part)]
    return {str: ["eyes", ""], int: [0, 3], bool: [True, False], type(None): [None]}[annotation]


ANY = st.sampled_from((
    None, True, False, 0, 1, 3, 3.0, -7, 10**9, "3", "", "eyes", Word("eyes"), Word("out"), "home", "double", b"eyes",
    [], (), (Clip("a", "a.wav"),), [Clip("a", "a.wav")], ("a",), PinName("box", "out1"), read_quantity("1 ft"),
    read_quantity("60 psi"), read_quantity("1000 kg"), read_quantity("0 deg"), read_quantity("-1 s"), object(),
))


@st.composite
def values(draw: st.DrawFn, kind: type[Part]) -> dict[str, object]:
    """Values for a part of this kind: mostly such as its fields take, now and then any, too few or too many."""
    given_: dict[str, object] = {}
    for name, field in fields_of(kind).items():
        if field.default is REQUIRED or draw(st.booleans()):
            given_[name] = draw(st.sampled_from(within(field.annotation)))
    if draw(st.integers(0, 2)) == 0:
        name = draw(st.sampled_from((*fields_of(kind), "colour", "check")))
        given_[name] = draw(ANY)
    if given_ and draw(st.integers(0, 9)) == 0:
        del given_[draw(st.sampled_from(tuple(given_)))]
    return given_


def told(make: Any, given_: dict[str, object]) -> object:
    """The fields of what is made, with their types, or what is said against it."""
    try:
        made = make(**given_)
    except ValidationError as refused:
        return [(one["type"], one["loc"], one["msg"]) for one in faults_of(refused)]
    return [(name, type(value), value) for name, value in vars(made).items()]


@given(st.data(), kinds)
def test_what_passes_is_what_pydantic_makes_of_it_and_what_does_not_is_refused_as_it_refuses_it(
    data: st.DataObject, kind: type[Part]
) -> None:
    given_ = data.draw(values(kind))
    assert told(kind, given_) == told(model_of(kind), given_)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_values_that_a_field_takes_pass_without_pydantic(kind: type[Part]) -> None:
    """All kinds of annotation are known, so that no part of a right show has to be looked at twice."""
    least = {name: within(field.annotation)[0] for name, field in fields_of(kind).items()}
    for name, field in fields_of(kind).items():
        for value in within(field.annotation):
            assert plain_values(kind, {**least, name: value}) is not None, (name, value)


def test_what_is_no_refusal_goes_on_as_it_is() -> None:
    with pytest.raises(UnicodeError):
        faults_of(UnicodeError("not of a part"))


def test_parts_are_equal_by_kind_and_values(make: Any) -> None:
    one, same, other = (make("lamp", f"on box pwm{pin}") for pin in (1, 1, 2))
    assert one == same and hash(one) == hash(same) and one != other and one != dict(one)
    assert one.model_copy(update={"name": "glow"}).name == "glow"
    assert repr(one).startswith("Lamp(name=")


@pytest.mark.parametrize("show", ["first.show", "marrow_lane/marrow_lane.show"])
def test_a_right_show_is_checked_without_the_libraries_that_say_what_is_wrong(show: str) -> None:
    """Loading them takes longer than its check."""
    code = ("import sys; from sequencer.cli import main; main(['check', sys.argv[1]]); "
            "print({'pydantic', 'pydantic_core', 'lark'} & set(sys.modules), file=sys.stderr)")
    run = subprocess.run([sys.executable, "-c", code, str(ROOT / "shows" / show)], capture_output=True, text=True,
                         check=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert run.stderr == "set()\n"
