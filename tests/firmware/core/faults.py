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
    FaultMade("inputs.c", "        input->differs = 0;\n    } else if", "    } else if", "a bounce does not start settling anew"),
    FaultMade("machine.c", "if (machine_mode != MODE_ALARMED && inputs_any", "if (machine_mode < MODE_STOPPED && inputs_any",
              "a stop keeps an alarm away"),
    FaultMade("machine.c", ">= program.heartbeat)", "> program.heartbeat)", "a lost link is noticed a tick late"),
    FaultMade("outputs.c", "out->held >= row[OUTPUT_ROW_SHORTEST_ON]", "out->held > row[OUTPUT_ROW_SHORTEST_ON]",
              "the shortest on-time is a pair of ticks longer"),
    FaultMade("outputs.c", "(out->flags & OUTPUT_HURRY) == 0 && out->held < row[OUTPUT_ROW_SHORTEST_OFF]",
              "out->held < row[OUTPUT_ROW_SHORTEST_OFF]", "the way to rest waits for the shortest off-time"),
    FaultMade("outputs.c", "} else if (longest != 0 &&", "} else if (longest > 1 &&", "the least of the longest on-times does not hold"),
    FaultMade("outputs.c", "row[OUTPUT_ROW_EXCLUSION] != 0 &&", "row[OUTPUT_ROW_EXCLUSION] > 1 &&", "a group excludes nothing"),
    FaultMade("effects.c", "    out->is.fade.total = out->is.fade.sum;\n", "", "a fade that waited takes its whole time"),
    FaultMade("effects.c", "            fade_on(out);\n            reached = out->level;\n", "            reached = out->level;\n",
              "a fade that is replaced does not make its last step"),
    FaultMade("effects.c", "out->is.pulse.left == 1 ?", "out->is.pulse.left == 0 ?", "a clip that ends as it is cut short was silenced"),
    FaultMade("effects.c", "random_below((uint32_t)(out->is.flicker.hi - lo) + 1)", "random_below((uint32_t)(out->is.flicker.hi - lo))",
              "a flicker never takes its brightest level"),
    FaultMade("routines.c", "    standing->flags &= (uint8_t)~(STANDING_ONCE_MORE | STANDING_WANTS_CLEAR);",
              "    standing->flags &= (uint8_t)~STANDING_WANTS_CLEAR;", "a kept start is not forgotten when it comes about"),
    FaultMade("routines.c", "    if (rest == 0 && routine_is_idle(routine)) {\n        rest = 1;\n    }\n", "", "an idle comes again in the tick of its end"),
    FaultMade("routines.c", "            standing_rest_until(i, routines_tick + 1);", "            standing_rest_until(i, routines_tick);",
              "an idle comes back in the tick in which a scare ends"),
    FaultMade("triggers.c", "STANDING_WANTS_CLEAR;", "0U;", "a latch is not cleared by its input"),
    FaultMade("triggers.c", " &&\n            input < found) {", ") {", "of two changes the last one is the cause"),
    FaultMade("slots.c", "slot_turn(runs[slots_order[place - 1]].routine) > turn", "slot_turn(runs[slots_order[place - 1]].routine) < turn",
              "the higher rank writes first"),
    FaultMade("steps.c", "        run->due = latest;\n", "        run->due = routines_tick;\n", "a wait that ran out late counts from when it was noticed"),
    FaultMade("steps.c", "        run->due = routines_tick;\n    } else if", "        run->due = latest;\n    } else if", "an answered wait lasts to its bound"),
    FaultMade("steps.c", "        frame->base = run->due;\n        run->at = at;", "        run->at = at;", "a round counts from the first one"),
    FaultMade("standing.c", "random_below(hi - lo + 1)", "random_below(hi - lo)", "a clock is never as late as it may be"),
)  # fmt: skip
"""Into the rules: what the stories must tell."""
