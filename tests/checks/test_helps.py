"""What A001 and A002 say of the weakest place, and that each thing they advise makes them fall silent."""

from __future__ import annotations

import re

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LUNGE, changed

UNTIMED = (", measured out 0.4 s, back 0.6 s", "")
NO_FILES = (lambda name: b"", lambda name: ClipFile(name, trouble="is missing"))
LAMP = "    lamp eyes: on box pwm0\n"


def show(stroke: str, *parts: str, bore: str = "") -> str:
    moved = ("stroke 12 in", f"stroke {stroke}{bore}")
    return changed(LUNGE, UNTIMED, moved, (LAMP, LAMP + "".join(f"    {part}\n" for part in parts)))


FLAT = show("6.7 in", "lever arm on ram:", "    rod 7 in from the pivot",
            "    cylinder 20 in from the pivot at -28 deg", "    swings from -20 deg to 50 deg",
            "    arm 30 in, carries LOAD")
"""8 deg from its dead centre at the start."""
GATE = show("6.2 in", "lever arm on ram:", "    rod 8 in from the pivot",
            "    cylinder 20 in from the pivot at -90 deg", "    swings from -30 deg to 15 deg",
            "    arm 36 in, carries LOAD")
TOWER = show("5.36 in", "scissor tower on ram: stages 2, links 20 in, opens from 15 deg to 45.5 deg, carries LOAD")
JAW = show("5.4 in", "fourbar jaw on ram:", "    rod 6 in from the pivot",
           "    cylinder 18 in from the pivot at -45 deg", "    swings from 10 deg to 63 deg",
           "    ground 20 in, crank 8 in, coupler 18 in, rocker 10 in, carries LOAD")
LIFT = show("12 in", bore=", moves LOAD, lifts 90 deg")
HOIST = show("12 in", "rope sling on ram: length 6 ft, carries LOAD, pulls while retracting")


def told(text: str, code: str, way: str = "out") -> list[str]:
    """What the code says of the way out, or of the way back."""
    checked = check_bytes(text.encode(), "example.show", *NO_FILES)
    bad = [finding for finding in checked.findings if finding.code in ("R026", "N008") or finding.code[0] == "L"]
    assert not bad, bad
    said = [finding.message for finding in checked.findings if finding.code == code]
    return [message for message in said if f" {way}" in message.partition(":")[0]]


def advised(message: str) -> tuple[str | None, tuple[str, str | None] | None]:
    """The spring, and the pin with its stroke."""
    spring = re.search(r"a spring on it with `([^`]+)`", message)
    pin = re.search(r"`(rod [^`]+ from the pivot)` of `[^`]+`(?: and `stroke ([^`]+)`)?", message)
    return spring and spring[1], pin and (pin[1], pin[2])


def with_spring(text: str, spring: str) -> str:
    return text.replace(LAMP, LAMP + f"    spring helper on ram: {spring}\n")


def with_pin(text: str, pin: tuple[str, str | None]) -> str:
    text = re.sub(r"rod \S+ in from the pivot", pin[0], text)
    return text if pin[1] is None else re.sub(r"stroke \S+ in", f"stroke {pin[1]}", text)


CASES = [(FLAT, "A001", "9 lb"), (FLAT, "A002", "3 lb"), (GATE, "A002", "12 lb"), (TOWER, "A001", "15 lb"),
         (TOWER, "A002", "8 lb"), (LIFT, "A001", "120 lb"), (LIFT, "A002", "60 lb"), (HOIST, "A001", "110 lb")]


@pytest.mark.parametrize(("text", "code", "load"), CASES)
def test_the_spring_that_is_advised_makes_it_fall_silent(text: str, code: str, load: str) -> None:
    text = text.replace("LOAD", load)
    way = "back" if "sling" in text else "out"
    message, = told(text, code, way)
    spring, _ = advised(message)
    assert spring is not None, message
    assert told(with_spring(text, spring), code, way) == []


def weaker(spring: str) -> str:
    return re.sub(r"[\d.]+(?= lb)", lambda number: f"{0.9 * float(number[0]):.4g}", spring)


@pytest.mark.parametrize(("text", "load"), [(FLAT, "3 lb"), (TOWER, "8 lb"), (LIFT, "60 lb")])
def test_a_spring_a_tenth_weaker_does_not(text: str, load: str) -> None:
    text = text.replace("LOAD", load)
    spring, _ = advised(told(text, "A002")[0])
    assert spring is not None
    assert told(with_spring(text, weaker(spring)), "A002") != []


@pytest.mark.parametrize(("text", "code", "load"), [(FLAT, "A002", "3 lb"), (GATE, "A002", "12 lb"),
                                                    (JAW, "A001", "400 lb"), (JAW, "A002", "200 lb")])
def test_the_attachment_that_is_advised_makes_it_fall_silent(text: str, code: str, load: str) -> None:
    text = text.replace("LOAD", load)
    message, = told(text, code)
    _, pin = advised(message)
    assert pin is not None, message
    assert told(with_pin(text, pin), code) == []


def test_a_lever_near_its_dead_centre_is_said_to_be() -> None:
    message, = told(FLAT.replace("LOAD", "9 lb"), "A001")
    assert "weakest with the rod home, where `window.arm` stands at -20 deg, only 8 deg from its dead centre" in message


def test_a_scissor_is_said_to_be_weakest_where_it_lies_lowest() -> None:
    message, = told(TOWER.replace("LOAD", "15 lb"), "A001")
    assert "weakest with the rod home, where the links of `window.tower` stand at 15 deg" in message


def test_a_load_that_nothing_mends_is_said_to_be_too_much() -> None:
    """800 lb at the end of an arm: no pressure that a regulator is made for, no bore on the shelf."""
    message, = told(GATE.replace("LOAD", "800 lb"), "A001")
    assert message.endswith("no pressure, bore or spring that one can buy leaves 30 % of the push; lighten what it "
                            "carries.")


def test_a_place_midway_is_said_as_a_share_of_the_stroke() -> None:
    """The bars of the jaw turn their rocker fastest, by the crank, about where it stands at 47 deg."""
    message, = told(JAW.replace("LOAD", "400 lb"), "A001")
    assert "weakest at 72 % of the stroke, where the crank of `window.jaw` stands at 47 deg, it pushes" in message
