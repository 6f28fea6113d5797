"""Faults put into a copy of the core one at a time, to see that the tests would notice them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from tests.firmware.core.bench import CORE


@dataclass(frozen=True, slots=True)
class FaultMade:
    """A fault: the file, the text that is right, the text in its place, and what goes wrong then."""

    file: str
    right: str
    wrong: str
    what: str


def core_with(fault: FaultMade, folder: Path) -> Path:
    """A copy of the core that has the fault. The right text must stand there exactly once."""
    copy = folder / "core"
    shutil.copytree(CORE, copy)
    path = copy / fault.file
    text = path.read_text(encoding="ascii")
    assert text.count(fault.right) == 1, f"{fault.file}: {fault.right!r} stands there {text.count(fault.right)} times"
    path.write_text(text.replace(fault.right, fault.wrong), encoding="ascii")
    return copy


RULES = (
    FaultMade("inputs.c", "input->differs >= (get16", "input->differs > (get16", "an input settles a tick late"),
    FaultMade("inputs.c", "if (first && tripped)", "if (false && tripped)", "what is tripped at power-up is a change"),
    FaultMade(
        "inputs.c",
        "        input->differs = 0;\n    } else if",
        "    } else if",
        "a bounce does not start settling anew",
    ),
    FaultMade(
        "machine.c",
        "if (machine_mode != MODE_ALARMED && inputs_any",
        "if (machine_mode < MODE_STOPPED && inputs_any",
        "a stop keeps an alarm away",
    ),
    FaultMade("machine.c", " || !machine_stop_worked", "", "an alarm is reset with nobody at the board"),
    FaultMade(
        "machine.c",
        "        machine_stop_worked = false;\n        return;\n",
        "        return;\n",
        "a stop that was worked before the alarm ended counts",
    ),
    FaultMade("machine.c", ">= program.heartbeat)", "> program.heartbeat)", "a lost link is noticed a tick late"),
    FaultMade(
        "outputs.c",
        "out->held >= row[OUTPUT_ROW_SHORTEST_ON]",
        "out->held > row[OUTPUT_ROW_SHORTEST_ON]",
        "the shortest on-time is a pair of ticks longer",
    ),
    FaultMade(
        "outputs.c",
        "(out->flags & OUTPUT_HURRY) == 0 && out->held < row[OUTPUT_ROW_SHORTEST_OFF]",
        "out->held < row[OUTPUT_ROW_SHORTEST_OFF]",
        "the way to rest waits for the shortest off-time",
    ),
    FaultMade(
        "outputs.c",
        "} else if (longest != 0 &&",
        "} else if (longest > 1 &&",
        "the least of the longest on-times does not hold",
    ),
    FaultMade(
        "outputs.c", "row[OUTPUT_ROW_EXCLUSION] != 0 &&", "row[OUTPUT_ROW_EXCLUSION] > 1 &&", "a group excludes nothing"
    ),
    FaultMade(
        "effects.c", "    out->is.fade.total = out->is.fade.sum;\n", "", "a fade that waited takes its whole time"
    ),
    FaultMade(
        "effects.c",
        "        fade_on(out);\n        take_step",
        "        take_step",
        "a fade that is replaced does not make its last step",
    ),
    FaultMade(
        "effects.c",
        "out->is.pulse.left == 1 ?",
        "out->is.pulse.left == 0 ?",
        "a clip that ends as it is cut short was silenced",
    ),
    FaultMade(
        "effects.c",
        "random_below((uint32_t)(out->is.flicker.hi - lo) + 1)",
        "random_below((uint32_t)(out->is.flicker.hi - lo))",
        "a flicker never takes its brightest level",
    ),
    FaultMade(
        "routines.c",
        "    standing->flags &= (uint8_t)~(STANDING_ONCE_MORE | STANDING_WANTS_CLEAR);",
        "    standing->flags &= (uint8_t)~STANDING_WANTS_CLEAR;",
        "a kept start is not forgotten when it comes about",
    ),
    FaultMade(
        "routines.c",
        "    if (rest == 0 && (row[ROUTINE_ROW_POLICY] & IDLE_BIT) != 0) {\n        rest = 1;\n    }\n",
        "",
        "an idle comes again in the tick of its end",
    ),
    FaultMade(
        "routines.c",
        "            standing_rest_for(standing, 1);",
        "            standing_rest_for(standing, 0);",
        "an idle comes back in the tick in which a scare ends",
    ),
    FaultMade("triggers.c", "STANDING_WANTS_CLEAR;", "0U;", "a latch is not cleared by its input"),
    FaultMade("triggers.c", " &&\n            input < found) {", ") {", "of two changes the last one is the cause"),
    FaultMade(
        "slots.c",
        ": other > rank;",
        ": other < rank;",
        "the higher rank writes first",
    ),
    FaultMade(
        "slots.c",
        "slots_begun != MOST_BEGINNING",
        "slots_begun <= MOST_BEGINNING",
        "five that start together step at once",
    ),
    FaultMade(
        "steps.c",
        "    if (tick_has_come(&latest))",
        "    if (tick_now != latest && tick_has_come(&latest))",
        "a wait runs out a tick late",
    ),
    FaultMade("steps.c", "? --frame->bound == 0 :", "? frame->bound-- == 0 :", "a loop has a round more"),
    FaultMade(
        "steps.c",
        "        run->due = tick_now;\n        run->at = behind_time(run->at);\n",
        "        run->due += read_time(&run->at);\n",
        "an answered wait lasts to its bound",
    ),
    FaultMade(
        "steps.c",
        "frame_open(run)->base = run->due;",
        "frame_open(run)->base = run->start;",
        "a mark counts from the start",
    ),
    FaultMade(
        "standing.c", "random_below(hi - lo + 1)", "random_below(hi - lo)", "a clock is never as late as it may be"
    ),
)
"""Into the rules: what the stories must tell."""

STORE = (
    FaultMade(
        "store.c",
        " ||\n        crc32_end(memory_crc(CRC32_START, image_at(slot), found->length)) != found->crc) {",
        ") {",
        "the image of a slot is not checked",
    ),
    FaultMade("store.c", " || crc16(header, 8) != get16(header + 8)", "", "the header of a slot is not checked"),
    FaultMade("store.c", "header[SLOT_COMMIT] != SLOT_COMMITTED || ", "", "the commit byte is not looked at"),
    FaultMade(
        "store.c",
        "begin_single((uint16_t)(header_at(other_slot()) + SLOT_COMMIT), SLOT_TAKEN_BACK);",
        "begin_single((uint16_t)(header_at(other_slot()) + SLOT_COMMIT), SLOT_COMMITTED);",
        "an upload does not take back the old commit",
    ),
    FaultMade(
        "store.c",
        "(uint16_t)(store_live.generation + 1)",
        "store_live.generation",
        "the new program is not newer than the old one",
    ),
    FaultMade("store.c", "ahead >= 0x8000", "ahead < 0x8000", "the oldest program wins"),
    FaultMade(
        "store.c",
        "return store_live.slot == 0 ? 1 : 0;",
        "return store_live.slot == 1 ? 1 : 0;",
        "an upload goes over the program that is live",
    ),
    FaultMade(
        "store.c",
        "    room[SLOT_STANDING] = SLOT_ON_TRIAL;",
        "    room[SLOT_STANDING] = SLOT_CONFIRMED;",
        "a new program has no trial",
    ),
    FaultMade(
        "store.c",
        "if (differs && job.reading_back) {",
        "if (differs && job.reading_back && job.count > 60) {",
        "what is written is not read back",
    ),
    FaultMade(
        "core.c",
        "cause == PORT_RESET_WATCHDOG && store_live.standing",
        "cause == PORT_RESET_WATCHDOG && 9 == store_live.standing",
        "a failed trial is not taken back",
    ),
    FaultMade(
        "requests.c",
        "            header_is_next = false;\n            store_commit();\n            return ANSWER_WHEN_WRITTEN;",
        "            header_is_next = false;",
        "the commit byte is never written",
    ),
    FaultMade(
        "requests.c",
        "    header_is_next = true;\n    store_header(body);",
        "    header_is_next = true;\n    store_commit();",
        "the commit byte is written before the header",
    ),
)
"""Into the store: what cuts, damage and wear must tell."""
