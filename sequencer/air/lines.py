"""Valve, muffler, tube and flow control of one end of a cylinder -> the `Port` that the motion solver knows.

The tube's air is a volume of its own where it is more than `NODE_SHARE` of the chamber's, else it counts as dead
volume: leaving it out of the reckoning moves an arrival by -5.2 to +0.5 % (computed with the model). The delay of
the pressure wave in a long tube is left to who knows the tube (`tube.tube_delay_s`).
"""

from __future__ import annotations

from sequencer.air.cylinder import CLOSED, Port
from sequencer.air.flow import Flow
from sequencer.air.needle import FlowControl, through_flow_control
from sequencer.air.parts import CRACKING_PA, MUFFLER
from sequencer.air.series import in_series
from sequencer.air.tube import tube_flow, tube_halves, tube_volume_m3
from sequencer.frozen import frozen

NODE_SHARE = 0.05
"""Share of the tube's volume in all of the port's from which on it is a volume of its own (assumed)."""


@frozen
class Line:
    """From the valve to one port. `tube_length_m` 0: the valve sits on the cylinder. `control` None: no flow control.

    `setting` is that of its needle, 0 to 1; `node` forces the tube's air to be a volume of its own, or not to be.
    """

    supply: Flow
    exhaust: Flow
    tube_inner_m: float = 0.0
    tube_length_m: float = 0.0
    muffler: Flow | None = MUFFLER
    control: FlowControl | None = None
    setting: float = 1.0
    node: bool | None = None
    quick: Flow | None = None
    """What a quick exhaust at the port lets out with its muffler (`parts.exhaust_past_quick_exhaust`); a flow control
    then sits between it and the cylinder. None: there is none."""


@frozen
class End:
    """One end of a cylinder: area of the piston, air left when it stands against this end, volume it sweeps."""

    area_m2: float
    dead_m3: float
    swept_m3: float
    cushion_m: float = 0.0
    cushion_c_m3_s_pa: float = 0.0


def port_of(line: Line, end: End) -> Port:
    """The port of an end on a line.

    Raises ValueError where valve, tube or needle are none (see `flow`, `tube`, `needle`).
    """
    exhaust = line.exhaust if line.muffler is None else in_series((line.exhaust, line.muffler))
    rest: list[tuple[Flow, ...]] = [(), ()]
    if line.control is not None:
        rest = [(through_flow_control(line.control, line.setting, leaving),) for leaving in (False, True)]
    dead, before, node_m3 = end.dead_m3, CLOSED, 0.0
    tube: tuple[Flow, ...] = ()
    if line.tube_length_m > 0:
        volume = tube_volume_m3(line.tube_inner_m, line.tube_length_m)
        if _is_node(line, end, volume):
            before, node_m3 = tube_halves(line.tube_inner_m, line.tube_length_m)
            tube = (before,)
        else:
            dead += volume
            tube = (tube_flow(line.tube_inner_m, line.tube_length_m),)
    enter, leave = (in_series((*tube, *parts)) if tube or parts else WIDE for parts in rest)
    if line.quick is not None:
        leave = in_series((line.quick, *rest[1])) if rest[1] else line.quick
    return Port(end.area_m2, dead, line.supply, exhaust, enter, leave, before, node_m3,
                cushion_m=end.cushion_m, cushion_c_m3_s_pa=end.cushion_c_m3_s_pa,
                quick_pa=0.0 if line.quick is None else CRACKING_PA)


WIDE = Flow(1e-6, 0.5)
"""Stands for neither tube nor flow control: some hundred times what any valve of a prop passes."""


def _is_node(line: Line, end: End, volume: float) -> bool:
    if line.node is not None:
        return line.node
    return volume > NODE_SHARE * (end.dead_m3 + end.swept_m3 + volume)
