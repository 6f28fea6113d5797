"""Strokes -> plain values for a program: SI, its unit at the end of a key; pressures absolute unless gauge is said."""

from __future__ import annotations

from typing import Any

from sequencer.air.carrying import degrees_of
from sequencer.pages.stroke_text import SHARES, quick_words, remark_words
from sequencer.sizing.given import Given
from sequencer.sizing.judge import remarks
from sequencer.sizing.strokes import Stroke, Strokes
from sequencer.sizing.sweep import Swept


def strokes_value(found: Strokes) -> dict[str, Any]:
    """Both ways, what was given and taken for granted, and what is to be minded."""
    said = [{"kind": one.kind, "toward": one.toward, "value": one.value, "limit": one.limit,
             "text": remark_words(one, found)} for one in remarks(found)]
    return {"given": given_value(found.given), "assumed": list(found.given.assumed),
            "early_ends": list(found.given.driven.early_ends), "out": stroke_value(found.out),
            "home": stroke_value(found.home), "cycle_air_std_l": found.cycle_air_std_l, "remarks": said}


def swept_value(swept: Swept) -> dict[str, Any]:
    """A row a value, in order."""
    rows = [{"value": value.text, "si": value.si, "out": stroke_value(found.out), "home": stroke_value(found.home),
             "cycle_air_std_l": found.cycle_air_std_l}
            for value, found in zip(swept.sweep.values, swept.strokes, strict=True)]
    return {"over": swept.sweep.field, "given": given_value(swept.strokes[0].given),
            "assumed": list(swept.assumed), "rows": rows}


def given_value(said: Given) -> dict[str, Any]:
    """The inputs as they were written, or as they were taken for what was not."""
    part, valve, tube = said.cylinder, said.valve, said.tube
    texts = {
        "bore": part.bore, "rod": part.rod, "stroke": part.stroke, "moves": part.moves, "lifts": part.lifts,
        "needle_out": part.needle_out, "needle_back": part.needle_back, "acting": part.acting,
        "regulator": said.regulator, "valve": said.valve_name, "conductance": valve.conductance,
        "critical_ratio": valve.critical_ratio, "tube": tube.tube if tube else None,
        "length": tube.length if tube else None, "reach": said.reach,
        "quick_exhaust": quick_words(part) or None, "muffler": valve.muffler,
    }
    drives = {"drives": list(said.driven.words)} if said.driven.words else {}
    return {**{name: None if value is None else str(value) for name, value in texts.items()}, **drives}


def stroke_value(stroke: Stroke) -> dict[str, Any]:
    """One way."""
    force = stroke.force
    return {
        "lead_s": stroke.lead_s, "travel_s": stroke.travel_s, "arrives_s": stroke.arrives_s,
        "fastest_s": stroke.fastest_s, "slowest_s": stroke.slowest_s, "stalls": stroke.stalls,
        "passes_s": {f"{share:g}": stroke.passes_s(share) for share in SHARES},
        "fastest_m_s": stroke.trace.fastest_m_s, "end_speed_m_s": stroke.end_speed_m_s,
        "end_energy_j": stroke.end_energy_j, "push_n": force.push_n, "load_n": force.load_n,
        "friction_n": force.friction_n, "margin": force.margin if force.push_n > 0 else None,
        "least_pa_gauge": force.least_pa_gauge, "peak_cap_pa": stroke.trace.peak_cap_pa,
        "peak_rod_pa": stroke.trace.peak_rod_pa, "air_std_l": stroke.air_std_l, "reached_m": stroke.reached_m,
        "flags": list(stroke.flags),
        "ends": [{"part": run.part, "travel_m": run.travel_m, "turned_deg": degrees_of(run),
                  "fastest_m_s": run.fastest_m_s, "arrives_m_s": run.arrives_m_s} for run in stroke.ends],
        "limits": [{"cause": limit.cause, "gain": limit.gain} for limit in stroke.limits],
    }
