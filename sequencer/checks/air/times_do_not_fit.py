"""Times taken on a real prop that the parts described cannot give."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.calibrate import calibrate
from sequencer.air.fit import FRICTIONS, Fit
from sequencer.air.needle import share_of_open
from sequencer.air.request import UNSAID_PA_GAUGE, described_by
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.cylinder import Cylinder
from sequencer.schedule.supply import request_for
from sequencer.show import Placed
from sequencer.units import UNITS, Quantity, say, say_time

FAR = 0.1
"""From so far off on the show does not compile: every landing of that cylinder would miss by as much."""
TURNED = 2.0
"""A needle that has to pass so many times more, or less, than it says is worth a word (assumed)."""
RUBS = 0.6, 1.7
"""Friction beyond these times the usual is worth a word too (assumed)."""

RULE = Rule(
    "R025", "times that these parts cannot give",
    "A cylinder with measured times is fitted to them: first its needles, then its friction. Where neither gives the "
    "time within bounds, the prop that was timed is not the one described: another valve or tube, another load, "
    "another pressure, or a slip in the time.",
    failing=changed(LUNGE, ("measured out 0.4 s", "measured out 0.15 s")), mended=LUNGE,
    source="the bounds of the fit: a needle from nearly shut to none at all, friction 0.3 to 4 times the usual",
)
NEEDS = ("whole",)


def find_among(yard: Yard) -> Iterator[Finding]:
    for placed in yard.of_kind("cylinder"):
        part = placed.part
        assert isinstance(part, Cylinder)
        if part.measured_out is None and part.measured_back is None:
            continue
        request = request_for(yard.parts, part.name, 0.0, "out")
        if request is None:
            continue
        try:
            calibration = calibrate(described_by(request))
        except ValueError:
            continue  # said by the check that names what cannot be reckoned
        guessed = request.pressure_pa_gauge is None and part.measured_at is None
        for fit in calibration.fits:
            yield from _told(placed, part, fit, all(one.reached for one in calibration.fits), guessed)


def _told(placed: Placed, part: Cylinder, fit: Fit, every: bool, guessed: bool) -> Iterator[Finding]:
    """What is wrong with one way; what had to be moved only where `every` way was reached by it.

    `guessed`: no pressure is said anywhere.
    """
    field = "measured_out" if fit.toward == "out" else "measured_back"
    time: Quantity | None = getattr(part, field)
    assert time is not None
    way = "out" if fit.toward == "out" else "back"
    if not fit.reached:
        off = 1.0 if fit.predicted_s is None else abs(fit.predicted_s / fit.measured_s - 1)
        severity = Severity.ERROR if off > FAR else Severity.WARNING
        yield RULE.at(placed.at(field), _sentence(part, time, way, fit, guessed), severity=severity)
    elif every and (words := _moved(part, fit)) is not None:
        yield RULE.at(placed.at(field), f"To be {way} in {time} as timed, `{part.name}` would need {words}; look "
                      "whether valve, tube, load and needle are as written.", severity=Severity.NOTE)


def _sentence(part: Cylinder, time: Quantity, way: str, fit: Fit, guessed: bool) -> str:
    if fit.predicted_s is None or fit.predicted_s > fit.measured_s:
        bound = "never arrives" if fit.predicted_s is None else f"takes {_s(fit.predicted_s)} at the least"
        how = f"with no needle in the way and {FRICTIONS[0]:g} times the usual friction"
        mend = "a larger valve or tube, less load or more pressure would do it"
    else:
        bound = f"takes {_s(fit.predicted_s)} at the most"
        how = f"with its needle nearly shut and {FRICTIONS[1]:g} times the usual friction"
        mend = "a smaller valve or tube, more load or less pressure would do it"
    if guessed:
        taken = say(UNSAID_PA_GAUGE, UNITS["psi"])
        how = f"{how}, at {taken}, which is taken since no pressure is said"
        mend = f"say the air of its prop, or the pressure at which it was timed (`measured {way} {time} at 80 psi`)"
    return (f"`{part.name}` was timed {way} in {time}, and what is described {bound}, {how}; {mend}, or the time is "
            "another.")


def _moved(part: Cylinder, fit: Fit) -> str | None:
    """What had to be moved far from what is said, in words; None where nothing had."""
    said = part.needle_out if fit.toward == "out" else part.needle_back
    found = fit.unknowns.needle_out if fit.toward == "out" else fit.unknowns.needle_back
    if not RUBS[0] <= fit.unknowns.friction <= RUBS[1]:
        return f"{fit.unknowns.friction:.2g} times the friction that is usual"
    if said is None:
        return None
    share = share_of_open(found) / share_of_open(said.si)
    if 1 / TURNED < share < TURNED:
        return None
    at = "no needle at all" if found > 1.5 else f"its needle at {100 * found:.0f} %"
    return f"{at}, not at {said}"


def _s(seconds: float) -> str:
    return say_time(round(seconds * 1e3) * 1000)
