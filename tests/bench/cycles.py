"""What each thing costs a board in cycles, measured on the shipped images in the simulator; and bounds beside ticks.

    python -m tests.bench.cycles             # prints the tables
    python -m tests.bench.cycles --write     # renews sequencer/board/profiles/cycles.py: after any change of the core
    python -m tests.bench.cycles --bounds    # the bound of the compiler beside the worst tick, program by program

Two to four minutes a table.
"""

from __future__ import annotations

import argparse
from dataclasses import fields
from pathlib import Path

from sequencer.steps.costs import Costs
from tests.firmware.bench.costs import measured_costs
from tests.firmware.bench.driver import CHIPS, build_bench, build_firmware

TABLE = Path(__file__).parents[2] / "sequencer" / "board" / "profiles" / "cycles.py"
HEAD = '''"""What each thing costs the firmware in cycles, by board: made by `python -m tests.bench.cycles --write`.

Measured on the images as they ship, in the simulator (Debian's simavr 1.6): small programs that differ in that thing.
"""

from __future__ import annotations

from sequencer.steps.costs import Costs

'''


def table(name: str, costs: Costs) -> str:
    """The costs of a board as the text that makes them."""
    lines = [f"{name} = Costs("]
    lines += [f"    {f.name}={getattr(costs, f.name)}," for f in fields(costs) if f.name != "steps"]
    lines += ["    steps=(", *(f"        (0x{form:02X}, {by_bytes})," for form, by_bytes in costs.steps), "    ),", ")"]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Measures, and prints or writes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--bounds", action="store_true")
    asked = parser.parse_args()
    build_bench()
    for board in CHIPS:
        build_firmware(board)
    if asked.bounds:
        from tests.firmware.bench.bounds import compared

        for line in compared():
            print(line, flush=True)
        return
    boards = "".join(f'    "{board}": {board.upper()},\n' for board in CHIPS)
    tables = "\n".join(table(board.upper(), measured_costs(board)) for board in CHIPS)
    text = f"{HEAD}{tables}\nCOSTS = {{\n{boards}}}\n"
    if asked.write:
        TABLE.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
