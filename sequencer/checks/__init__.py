"""A show, checked: reads it, resolves it, plans it, compiles it, and asks every check what it sees.

Each check is one file in `rig/`, `cues/` or `board/` with a `RULE` and a function `find(facts)`, or
`find_in(yard, planned)` where it looks at one scare or idle at a time, or `find_among(yard)` where it looks at parts
alone; `NEEDS` names what of the facts it cannot do
without (`whole`, `plan`, `compiled`, `profile`).
"""

from sequencer.checks.pipeline import Checked, catalogue, check_bytes, check_file

__all__ = ["Checked", "catalogue", "check_bytes", "check_file"]
