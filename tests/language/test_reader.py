"""The reader: what each kind of line becomes, and that a broken line hides neither its neighbours nor its block."""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.data import folder
from sequencer.findings import Finding
from sequencer.language import tree
from sequencer.language.reader import Document, read_document
from sequencer.phrases import AtomKind
from sequencer.units import UNITS, Quantity
from tests.bench.bar_mutate import inside, slip
from tests.generate.shows import random_show

SHOW = """show "Marrow Lane"
lamp eyes: on box pwm1
scare lunge on step trips:
    rest 25 s
    0 s: eyes on
    +300 ms to 900 ms: eyes off
    then: pick one:
        3 of 4: eyes on
        1 of 4:
            0 s: eyes to 50 %
"""


def read(text: str) -> Document:
    return read_document(text.encode("utf-8"), "a.show")


def lines_found(text: str) -> list[int]:
    return [finding.span.line for finding in read(text).findings]


def test_a_show_becomes_heads_with_their_blocks() -> None:
    document = read(SHOW)
    assert not document.findings
    title, lamp, scare = document.nodes
    assert title.head == tree.ShowTitle("Marrow Lane", title.head.span)
    assert isinstance(lamp.head, tree.PartHead) and lamp.head.kind.text == "lamp"
    assert [type(node.head) for node in scare.block] == [tree.Rest, tree.Cue, tree.Cue, tree.Cue]
    pick = scare.block[3]
    assert isinstance(pick.head.block, tree.PickOne)
    assert [type(node.head) for node in pick.block] == [tree.Arm, tree.Arm]


def test_every_unit_of_the_table_is_a_unit_of_the_grammar_and_no_other_is() -> None:
    """The grammar names the units once more, since a regular expression cannot read a table; they must agree."""
    grammar = (folder("grammar") / "show.lark").read_text("utf-8")
    pattern = re.search(r"^QUANTITY[^:]*:.*\\s\*\(\?:(.*?)\)\(\?!", grammar, re.MULTILINE)
    assert pattern is not None
    assert sorted(pattern[1].replace("\\", "").split("|")) == sorted(UNITS)


@pytest.mark.parametrize("unit", sorted(UNITS))
@pytest.mark.parametrize("gap", ["", " ", "\t"])
def test_a_number_and_its_unit_are_one_quantity_with_or_without_a_space(unit: str, gap: str) -> None:
    (node,) = read(f"let beat = 1-1/2{gap}{unit}\n").nodes
    (atom,) = node.head.amount.atoms
    assert atom.kind is AtomKind.QUANTITY
    assert isinstance(atom.value, Quantity) and atom.value.unit is UNITS[unit]


@pytest.mark.parametrize("number", ["1/0", "9" * 40, "1." + "0" * 40])
def test_a_number_that_no_one_could_mean_is_a_finding(number: str) -> None:
    assert lines_found(f'show "A"\nlet beat = {number} s\n') == [2]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("0 s: eyes on", "0 s eyes on"),
        ("rest 25 s", "rest rest 25 s"),
        ("scare lunge on", "scare lunge onn"),
        ("3 of 4:", "3 off 4:"),
        ("then: pick one:", "then pick one:"),
        ('show "Marrow Lane"', 'show "Marrow Lane'),
        ("0 s: eyes to", "0 s: : eyes to"),
    ],
)
def test_one_broken_line_is_one_finding_on_that_line(old: str, new: str) -> None:
    changed = SHOW.replace(old, new)
    (line,) = [n for n, (a, b) in enumerate(zip(SHOW.split("\n"), changed.split("\n"), strict=True), 1) if a != b]
    assert lines_found(changed) == [line]


def test_a_broken_line_keeps_its_block() -> None:
    document = read("prop ( ) :\n    lamp eyes: on box pwm1\n    scare lunge:\n        0 s: eyes on\n")
    (broken,) = document.nodes
    assert [type(node.head) for node in broken.block] == [tree.PartHead, tree.ScareHead]
    assert [finding.span.line for finding in document.findings] == [1]


def test_cues_below_an_unreadable_head_are_still_read_as_cues() -> None:
    document = read("prop hatch:\n    ? ? lunge on step trips:\n        0 s: eyes on\n        then: eyes off\n")
    assert {finding.span.line for finding in document.findings} == {2}


def test_a_name_on_a_broken_line_counts_as_declared() -> None:
    (node,) = read("lamp eyes 5 6: on : box : pwm1 :\n").nodes
    assert node.repaired or node.head == tree.Broken("part_line", node.head.name)
    assert isinstance(node.head, tree.Broken) and node.head.name.text == "eyes"


def test_a_repaired_line_becomes_what_it_was_meant_to_be() -> None:
    document = read("sacre lunge on step trips:\n    0 s: eyes on\nscare hiss of step trips:\n    0 s: eyes on\n")
    assert isinstance(document.nodes[1].head, tree.ScareHead) and document.nodes[1].repaired


def test_a_stray_comma_is_named_and_hides_no_line() -> None:
    document = read("scare lunge:\n    0 s: eyes on,\n    1 s: eyes off\n    2 s: eyes on\n")
    (finding,) = document.findings
    assert (finding.span.line, finding.span.column) == (2, 17)
    assert len(document.nodes[0].block) == 3


@pytest.mark.parametrize(
    "below",
    [
        "idle breathing:", "scare hiss on step trips:", "gesture wink of who:", "lamp nose: on box pwm3",
        "stop: eyes off", "let beat = 1 s", 'use "yard.rig.show"', "at most 2 of ram, lever extending",
        "never: ram out while lid home",
    ],
)
def test_a_comma_before_a_line_further_left_is_told_where_it_stands(below: str) -> None:
    document = read(f"scare lunge:\n    0 s: eyes on\n    then: eyes to 0 % over 1 s,\n\n{below}\n")
    (finding,) = [found for found in document.findings if found.span.line < 5]
    assert (finding.code, finding.span.line, finding.span.column) == ("L008", 3, 31)
    assert finding.mends[0].title == "take out the comma" and len(document.nodes) == 2
    assert len(document.nodes[0].block) == 2 and document.nodes[1].head != tree.Broken("part_line")


def test_a_line_spoilt_by_its_comma_spoils_no_other() -> None:
    document = read("scare lunge:\n    0 s: ,\nidle breathing:\n    0 s: eyes on\n")
    assert {found.span.line for found in document.findings} == {2}
    assert isinstance(document.nodes[1].head, tree.ScareHead)


@pytest.mark.parametrize(
    "line",
    [
        "when ram_home trips,\nor after 2 s: eyes on",
        "0 s: repeat until mat clears,\nat most 10 s:\n        0 s: eyes on",
        "0 s: eyes on,\nthroat plays growl",
    ],
)
def test_a_line_may_go_on_further_left(line: str) -> None:
    document = read(f"scare lunge:\n    {line}\n")
    assert not document.findings and len(document.nodes[0].block) == 1


def test_a_line_that_goes_on_rightly_is_one_line() -> None:
    (scare,) = read("scare lunge:\n    0 s: eyes on,\n    throat plays growl\n").nodes
    assert len(scare.block) == 1 and len(scare.block[0].head.actions) == 2


def test_a_deeper_line_below_one_that_opens_no_block_is_named() -> None:
    (finding,) = read('show "A"\n    let beat = 1 s\n').findings
    assert finding.code == "L009" and finding.span.line == 2


@pytest.mark.parametrize("word", ["night", "never", "stop", "otherwise"])
def test_no_space_is_needed_behind_a_colon(word: str) -> None:
    tight, loose = {
        "night": ("night:opens 6:00 pm", "night: opens 6:00 pm"),
        "never": ("never:a out while b on", ""),
        "stop": ("stop:a on", ""),
        "otherwise": ("scare a:\n    0 s: if b clear:\n        0 s: c on\n    otherwise:c off", ""),
    }[word]
    assert not read(tight).findings
    assert not read(loose or tight.replace(":", ": ")).findings


def test_what_a_broken_line_complained_of_is_not_said_of_the_next_file() -> None:
    read("lamp a: on 99:99 \u00a0 : : :\n")
    assert not read(SHOW).findings


def places_are_inside(findings: tuple[Finding, ...], text: str) -> bool:
    return all(inside(finding, text) for finding in findings)


@settings(max_examples=400, deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes_can_be_read(data: bytes) -> None:
    assert places_are_inside(read_document(data, "a.show").findings, data.decode("utf-8", "replace"))


WORDS = st.sampled_from(
    [
        'show "A"',
        "prop a:",
        "lamp b:",
        "scare c on d trips:",
        "1 s:",
        "on",
        "5",
        "%",
        ",",
        ":",
        "\n",
        "\n    ",
        "\n\t",
        '"',
        "#",
        "\r",
        "+",
        "then",
        "when",
        "repeat 3 times",
        "=",
        "1/0",
        "\u201c",
        "gesture g of x:",
        "never:",
        "while",
        "at most 2 of",
        "like b",
        "6:00 pm",
        "99:99",
        "of",
        "\u2028",
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.lists(WORDS, max_size=14).map(" ".join) | st.text(max_size=60))
def test_any_text_can_be_read(text: str) -> None:
    document = read_document(text.encode("utf-8", "surrogatepass"), "a.show")
    assert places_are_inside(document.findings, text.encode("utf-8", "surrogatepass").decode("utf-8", "replace"))


@pytest.mark.parametrize("seed", range(40))
def test_a_slip_that_breaks_the_syntax_is_reported_on_its_line_and_no_other(seed: int) -> None:
    rng = random.Random(seed)
    text = random_show(rng)
    for _ in range(6):
        made = slip(text, rng)
        if made is None:
            continue
        findings = read(made.text).findings
        assert places_are_inside(findings, made.text)
        assert all(made.lines & set(range(f.span.line, f.span.end_line + 1)) for f in findings), made


@pytest.mark.parametrize("space", (" ", "\u2028", " \u2003\x0b "))
def test_a_number_that_no_one_could_mean_is_told_whatever_stands_before_its_unit(space: str) -> None:
    found = read(f"lamp a: draws 1/0{space}W\n").findings
    assert "1/0 divides by zero." in [finding.message for finding in found]
