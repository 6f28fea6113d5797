"""Solenoid valves in 1/8 in and 1/4 in: a family of functions in two sizes.

Times and flows are from memory: what catalogues of small 12 V valves commonly print. Flow differs by a factor
of two between valves of one thread size, so enter the figure of yours where the arrival matters.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, MEMORY, PRACTICE, ShelfPart

Says = tuple[tuple[str, str], ...]

EIGHTH: Says = (
    ("conductance 0.7 dm3/s/bar", f"{MEMORY}, small 1/8 in valve, a flow coefficient Cv of about 0.18"),
    ("critical ratio 30 %", f"{MEMORY}; catalogues print 0.2 to 0.5"),
    ("shifts over 5 ms", f"{MEMORY}, a little less than a 1/4 in spool"),
    ("draws 2.5 W", PRACTICE),
)
QUARTER: Says = (
    ("conductance 1.3 dm3/s/bar", f"{MEMORY}, small 1/4 in valve, a flow coefficient Cv of about 0.33"),
    ("critical ratio 30 %", f"{MEMORY}; catalogues print 0.2 to 0.5"),
    ("shifts over 6 ms", f"{MEMORY}, 1/4 in pilot-operated 5/2"),
    ("draws 3 W", PRACTICE),
)
SIZES = (("eighth", "1/8 in", EIGHTH), ("quarter", "1/4 in", QUARTER))

PILOT: Says = (("needs at least 30 psi", f"{MEMORY}; pilot-operated valves print 20 to 40 psi"),)
SPRING_TIMES: Says = (
    ("responds in 20 ms", f"{MEMORY}, 1/4 in pilot-operated 5/2"),
    ("releases in 30 ms", f"{MEMORY}, 1/4 in pilot-operated 5/2 with spring return"),
)
DIRECT_TIMES: Says = (
    ("responds in 15 ms", f"{MEMORY}, direct-acting poppet"),
    ("releases in 20 ms", f"{MEMORY}, direct-acting poppet with its spring"),
)
DOUBLE: Says = (
    ("solenoids 2", MEANING),
    ("without power stays", "follows from two coils and no spring"),
    ("responds in 15 ms", f"{MEMORY}, no spring to work against"),
    ("releases in 15 ms", f"{MEMORY}, the second coil is like the first"),
    ("pulse 200 ms", PRACTICE),
)
CENTRED: Says = (
    ("solenoids 2", MEANING),
    ("responds in 25 ms", f"{MEMORY}, spring-centred 5/3"),
    ("releases in 40 ms", f"{MEMORY}, spring-centred 5/3"),
)

FUNCTIONS: tuple[tuple[str, str, Says], ...] = (
    ("2_2", "2/2 valve, closed without power: blows or shuts, does not vent",
     (("kind 2/2", MEANING), ("without power closed", MEANING), *DIRECT_TIMES)),
    ("3_2", "3/2 valve, closed and vented without power: for a single-acting cylinder",
     (("kind 3/2", MEANING), ("without power closed", MEANING), *DIRECT_TIMES)),
    ("3_2_open", "3/2 valve that passes air without power and vents when it has it",
     (("kind 3/2", MEANING), ("without power open", MEANING), *DIRECT_TIMES)),
    ("5_2", "5/2 valve with one coil and a spring, piped so that the cylinder goes home without power",
     (("kind 5/2", MEANING), ("without power retracts", "the usual way to pipe it; check your hoses"),
      *SPRING_TIMES, *PILOT)),
    ("5_2_double", "5/2 valve with two coils: stays where the last pulse put it, also when power fails",
     (("kind 5/2", MEANING), *DOUBLE, *PILOT)),
    ("5_3_closed", "5/3 valve, all ports shut in the centre: holds its air, even with the supply shut",
     (("kind 5/3", MEANING), ("without power centre closed", MEANING), *CENTRED, *PILOT)),
    ("5_3_exhausted", "5/3 valve, both ends vented in the centre: the load is free to fall",
     (("kind 5/3", MEANING), ("without power centre exhausted", MEANING), *CENTRED, *PILOT)),
)

PARTS: tuple[ShelfPart, ...] = tuple(
    ShelfPart(f"valve_{function}_{size}", "valve", f"{thread} {about}", (*says, *flow))
    for function, about, says in FUNCTIONS
    for size, thread, flow in SIZES
)
