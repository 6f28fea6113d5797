"""The equations of a cylinder of one make-up -> the text of Python functions for them, straight lines of floats.

A make-up says of each port whether it is open, has its tube's air in the chamber, or as a volume of its own, and
whether a cushion sits there; and of the rest whether a manifold feeds the valve and whether the rod drives a mechanism.
Text, since a prop's motion is found within the few milliseconds a check has for it: there is no loop over ports, no
object and, but for a mechanism, no call in what runs, and what a make-up lacks costs nothing. `stepping` writes the
loops around them, `solver` compiles both.

Names in the text: pA mA qA = pressure and mass in the cap end, pressure in its tube; B the rod end; pM the manifold;
eA = what a quick exhaust has let out, in kg; d before a name is its rate. Valve way of port A: source sA, G = C rho
(gvA), b (bvA), k = 1 / (1 - b) (kvA), and lvA, the slope of the straight line near equal pressures; giA.. into the
chamber, goA.. out of it. The flow law is that of `flow.mass_flow_kg_s`.
"""

from __future__ import annotations

import re
from typing import Literal

from sequencer.frozen import frozen

Line = Literal["open", "lumped", "node"]


@frozen
class MakeUp:
    """What the equations of a cylinder look like, apart from any number.

    `manifold`: a regulator and its volume feed the valve, and they are states. `given`: the pressure before the
    valve is given from outside, straight in time (`Solver.ramp`), as where several props share a manifold.
    """

    cap: Line
    rod: Line
    cap_cushion: bool = False
    rod_cushion: bool = False
    manifold: bool = False
    driven: bool = False
    given: bool = False
    cap_quick: bool = False
    rod_quick: bool = False

    def ports(self) -> tuple[tuple[str, Line, bool], ...]:
        """(letter, line, cushion) of the ends that hold air of their own."""
        both = (("A", self.cap, self.cap_cushion), ("B", self.rod, self.rod_cushion))
        return tuple(port for port in both if port[1] != "open")

    def gases(self) -> tuple[str, ...]:
        """Names of the states of the air."""
        found = [f"{kind}{letter}" for letter, line, _ in self.ports()
                 for kind in ("pm" + ("q" if line == "node" else "") + ("e" if self.quick(letter) else ""))]
        return (*found, "pM") if self.fed_by_state else tuple(found)

    @property
    def fed_by_state(self) -> bool:
        """Whether the pressure before the valve is a state, pM."""
        return self.manifold or self.given

    def quick(self, letter: str) -> bool:
        """Whether a quick exhaust sits at this port."""
        return self.cap_quick if letter == "A" else self.rod_quick


# What stands in [[ ]] is there only where the slopes are wanted besides the rates: how the flows change with the
# pressures, the blocks of the Jacobian that make the equations stiff. Both need the same ratios and roots.
# The part of the chamber that both kinds of line share. `@` stands for the port's letter.
CHAMBER_HEAD = """\
V = vd@ + a@ * X@
T = p@ * V / (m@ * R)
"""
CUSHION = """\
X = CAP_SIDE
go = go@; lo = lo@
if X < cl@:
    fall = (cl@ - X) / (0.2 * cl@)
    fall = 1.0 - (1.0 - cc@) * (fall if fall < 1.0 else 1.0)
    go *= fall; lo *= fall
"""
NO_CUSHION = """\
go = go@; lo = lo@
"""
FEED = """\
s = pM if fed@ else ambient
"""
NO_FEED = """\
s = s@
"""
# Both directions between a source s (at T0) and `q`, through the valve; w is into the port.
THROUGH_VALVE = """\
if s > q@:
    r = q@ / s
    if r <= bv@: w = gv@ * s[[; wq = 0.0]]
    elif r < BETA:
        z = (r - bv@) * kv@; y = sqrt(1.0 - z * z); w = gv@ * s * y[[; wq = -gv@ * z * kv@ / y]]
    else: w = lv@ * (s - q@)[[; wq = -lv@]]
else:
    r = s / q@
    if r <= bv@: w = -gv@ * q@[[; wq = -gv@]]
    elif r < BETA:
        z = (r - bv@) * kv@; y = sqrt(1.0 - z * z); w = -gv@ * q@ * y[[; wq = -gv@ * (y + r * z * kv@ / y)]]
    else: w = lv@ * (s - q@)[[; wq = -lv@]]
"""
# Between SOURCE (at T0) and the chamber; i is into the chamber, e the enthalpy it brings times gamma - 1.
INTO_PORT = """\
if SOURCE > p@:
    r = p@ / SOURCE
    if r <= bi@: i = gi@ * SOURCE[[; ip = 0.0; iq = gi@]]
    elif r < BETA:
        z = (r - bi@) * ki@; y = sqrt(1.0 - z * z); i = gi@ * SOURCE * y
        [[ip = -gi@ * z * ki@ / y; iq = gi@ * y - r * ip]]
    else: i = li@ * (SOURCE - p@)[[; ip = -li@; iq = li@]]
    e = GRT0 * i[[; ep = GRT0 * ip; eq = GRT0 * iq]]
"""
THROUGH_PORT = INTO_PORT + """\
else:
    r = SOURCE / p@
    t = sqrt(T0 / T)
    if r <= bo@: i = -go * p@ * t[[; ip = -go * t; iq = 0.0]]
    elif r < BETA:
        z = (r - bo@) * ko@; y = sqrt(1.0 - z * z); i = -go * p@ * t * y
        [[iq = go * t * z * ko@ / y; ip = -go * t * y - r * iq]]
    else: i = lo * (SOURCE - p@) * t[[; ip = -lo * t; iq = lo * t]]
    e = GR * T * i[[; ep = GR * T * ip; eq = GR * T * iq]]
"""
# The same with a quick exhaust at the port: nothing goes back into the line; once the line is below the chamber by
# the cracking pressure, the seal is fully off its seat and the chamber is open to the air outside.
QUICK_PORT = INTO_PORT + """\
elif p@ > ambient:
    o = (p@ - SOURCE) * ic@
    r = ambient / p@
    t = sqrt(T0 / T)
    if r <= bo@: i = -go * p@ * t[[; ip = -go * t]]
    elif r < BETA:
        z = (r - bo@) * ko@; y = sqrt(1.0 - z * z); i = -go * p@ * t * y
        [[ip = -go * t * (y + r * z * ko@ / y)]]
    else: i = lo * (ambient - p@) * t[[; ip = -lo * t]]
    [[iq = 0.0]]
    if o < 1.0:
        [[ip = o * ip + i * ic@; iq = -i * ic@]]
        i *= o
    e = GR * T * i[[; ep = GR * T * ip; eq = GR * T * iq]]
else: i = 0.0; e = 0.0[[; ip = iq = ep = eq = 0.0]]
de@ = -i if i < 0.0 else 0.0
[[jep@ = jeq@ = 0.0]]
[[if SOURCE <= p@: jep@ = -ip; jeq@ = -iq]]
"""
CHAMBER_TAIL = """\
dm@ = i
dp@ = (e + (h0@ + h1@ * V) * (T0 - T)WORK) / V
[[jpp@ = (ep - (h0@ + h1@ * V) * T / p@PRESSED) / V; jmp@ = ip]]
"""
NODE_TAIL = """\
dq@ = kq@ * (w - i)
[[jqq@ = kq@ * (wq - iq); jqp@ = -kq@ * ip; jpq@ = eq / V; jmq@ = iq]]
"""
SPEED_TAIL = """\
[[jpv@ = SIGMA gamma * p@ * a@ / V]]
"""
MANIFOLD = """\
o = (pset - pM) / band
o = 0.0 if o < 0.0 else 1.0 if o > 1.0 else o
r = pM / ptank
if r <= br: f = gr * o * ptank
elif r < BETA:
    z = (r - br) * kr; f = gr * o * ptank * sqrt(1.0 - z * z)
elif r < 1.0: f = lr * o * (ptank - pM)
else: f = 0.0
dpM = kM * (f - drawn)
[[jMM = -kM * gr * ptank / band]]
"""
MOTION = """\
u = v if v > 0.0 else -v
drag = Fc + B * u
if u < u_far: drag += dF * exp(-(u * u) * ivs2)
dv = (FORCE - (drag if mode > 0 else -drag)) * im
"""
DRIVEN = """\
dv = drive(x, v, mode, FORCE - (drag if mode > 0 else -drag))
"""
FORCE = "(pA - ambient) * aA - (pB - ambient) * aB + F0 + F1 * x"


def force_text(make_up: MakeUp) -> str:
    """Net force without friction, in N; an open end pushes as the air outside does, which is nothing."""
    text = FORCE
    if make_up.cap == "open":
        text = text.replace("(pA - ambient) * aA - ", "-")
    if make_up.rod == "open":
        text = text.replace(" - (pB - ambient) * aB", "").replace("-(pB - ambient) * aB + ", "")
    return text


def rates_text(make_up: MakeUp, moving: bool, slopes: bool) -> str:
    """Assignments to the rate of every state. `moving`: x and v run; else they stand and only the air moves.

    With `slopes` also to the blocks of the Jacobian: jpp and jmp of a chamber, with a tube of its own jqq, jqp, jpq,
    jmq; of a quick exhaust jep, jeq; jpv by the speed of the rod; jMM of the manifold.
    """
    motion = MOTION[: MOTION.index("dv = ")] + DRIVEN if make_up.driven else MOTION
    parts = [motion.replace("FORCE", force_text(make_up))] if moving else []
    if make_up.manifold:
        parts.append("drawn = 0.0\n")
    for letter, line, cushion in make_up.ports():
        text = _chamber_head(line, cushion, make_up.fed_by_state)
        through = QUICK_PORT if make_up.quick(letter) else THROUGH_PORT
        if line == "node":
            text += THROUGH_VALVE + through.replace("SOURCE", "q@") + NODE_TAIL
        else:
            text += through.replace("SOURCE", "s") + "w = i\n"
        if make_up.quick(letter):
            # What a quick exhaust lets out never was in the line.
            text = text.replace("(w - i)", "(w - i - de@)").replace("w = i\n", "w = i + de@\n")
            text = text.replace("(wq - iq)", "(wq - iq - jeq@)").replace("-kq@ * ip;", "-kq@ * (ip + jep@);")
        text += CHAMBER_TAIL.replace("WORK", " SIGMA gamma * p@ * a@ * v" if moving else "").replace(
            "PRESSED", " SIGMA gamma * a@ * v" if moving else "")
        text += SPEED_TAIL if moving else ""
        if make_up.manifold:
            text += "if fed@: drawn += w\n"
        parts.append(_for_port(text, letter))
    return _sloped("".join(parts) + (MANIFOLD if make_up.manifold else ""), slopes)


def _sloped(text: str, slopes: bool) -> str:
    """With what stands in [[ ]], or without it."""
    if slopes:
        return text.replace("[[", "").replace("]]", "")
    text = re.sub(r"\[\[.*?\]\]", "", text)
    return "".join(f"{line}\n" for line in text.split("\n") if line.strip())


def _chamber_head(line: Line, cushion: bool, fed_by_state: bool) -> str:
    feed = FEED if fed_by_state else NO_FEED
    return CHAMBER_HEAD + (CUSHION if cushion else NO_CUSHION) + feed


def _for_port(text: str, letter: str) -> str:
    """The template for one port: how far the piston is from this end, and which way work goes."""
    run = "x" if letter == "A" else "(stroke - x)"
    ends = "x - low" if letter == "A" else "high - x"
    text = text.replace("SIGMA gamma", "- gamma" if letter == "A" else "+ gamma")
    return text.replace("X@", run).replace("CAP_SIDE", ends).replace("@", letter)
