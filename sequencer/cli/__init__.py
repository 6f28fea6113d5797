"""The command line: arguments in, a call, words out, an exit code. No rules of its own.

One file a command; `group` finds them, `trouble` words what goes wrong in the world, `render` and `formats`
say findings. Exit codes: 0 fine; 1 findings that are errors; 2 wrong use, or a file that cannot be used;
3 trouble with a board or its port; 70 a fault of this tool; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import atexit
import gc
import os
from collections.abc import Sequence

_COLLECT_AFTER = 500_000
"""Objects between two looks for garbage, some 50 MB. A command is soon over; a check of a usual show needs no look."""


def main(args: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code. `args` are those of the process where none are given."""
    gc.set_threshold(_COLLECT_AFTER)
    # At the end nothing is looked through once more for garbage: the memory goes back as a whole, and a check saves
    # 40 ms.
    atexit.register(gc.freeze)
    # What other tools have hung into pydantic has no say in how parts are read, and the search for it takes 4 ms.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        from sequencer.cli.group import commands

        return commands.run(args)
    except KeyboardInterrupt:  # struck while the commands are loaded, or while one says what went wrong
        return 130
