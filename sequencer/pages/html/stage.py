"""A show -> the stage: a card for each prop with its machines to scale and the symbols of its devices, as HTML.

What moves carries `data-` attributes that the script looks for; what each device does now stands beside it in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sequencer.pages.drawing.scale import round_step
from sequencer.pages.drawing.svg import escaped
from sequencer.pages.html import symbols
from sequencer.pages.html.figure import drawn
from sequencer.pages.html.machines import figures_of
from sequencer.pages.html.once import Once
from sequencer.rig.base import Part
from sequencer.rig.compressor import Compressor
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.manifold import Manifold
from sequencer.rig.supply import Supply
from sequencer.rig.valve import Valve
from sequencer.show import Show

SWITCHED = ("motor", "pump", "fogger")
SHOWN = ("cylinder", "valve", "lamp", *SWITCHED, "speaker", "sensor")


def stage_of(show: Show) -> str:
    """The cards of all props in the order of the text, then what stands in no prop."""
    by_prop: dict[str | None, list[Part]] = {}
    for placed in show.of_kind("prop"):
        by_prop[placed.part.name] = []
    for placed in show.of_kind(*SHOWN):
        by_prop.setdefault(placed.part.prop, []).append(placed.part)
    once, cards = Once(), []
    for prop, parts in by_prop.items():
        placed = show.parts.get(prop) if prop is not None else None
        label = placed.part.label if placed is not None else "Yard"
        if parts:
            cards.append(_card(show, once, prop or "", label or prop or "", parts))
    shared = _shared(show, once)
    return f'{once.definitions()}<div class="props">{shared}{"".join(cards)}</div>'


def _shared(show: Show, once: Once) -> str:
    """What feeds all props, with what the text says of it; its pressure or current beside it, where the run has one."""
    rows = "".join(
        f'<li class="device">{symbols.supply_symbol(once, placed.part.kind, placed.part.name)}<span class="who">'
        f'{escaped(placed.part.called)}</span><span class="state">'
        f'<span data-series="{escaped(placed.part.name)}"></span>{escaped(_told(placed.part))}</span></li>'
        for placed in show.of_kind("compressor", "manifold", "supply")
    )
    return (f'<figure class="prop"><figcaption><h3>Air and power</h3></figcaption><ul class="devices">{rows}</ul>'
            "</figure>") if rows else ""


def _told(part: Part) -> str:
    match part:
        case Compressor():
            return f"tank {part.tank}, {part.cut_in} to {part.cut_out}"
        case Manifold():
            regulated = f", regulator {part.regulator}" if part.regulator is not None else ""
            return f"{part.ports} ports{regulated}"
        case Supply():
            return f"{part.voltage}, up to {part.current}"
    return ""


def _card(show: Show, once: Once, prop: str, label: str, parts: Sequence[Part]) -> str:
    name = f' <span class="name">{escaped(prop)}</span>' if prop and prop != label else ""
    machines = "".join(_machine(show, part) for part in parts if isinstance(part, Cylinder))
    moved = {one.valve: one for one in reversed([part for part in parts if isinstance(part, Cylinder)])}
    devices = "".join(_device(once, part, moved.get(part.name)) for part in parts)
    return (f'<figure class="prop"><figcaption><h3>{escaped(label)}{name}</h3></figcaption>{machines}'
            f'<ul class="devices">{devices}</ul></figure>')


def _machine(show: Show, cylinder: Cylinder) -> str:
    """Each linkage of a cylinder by itself; above the second and further ones stands which they are."""
    unit = cylinder.stroke.unit
    length = round_step(float(cylinder.stroke.si / float(unit.factor)), 2, unit.symbol)
    parts = []
    for number, figure in enumerate(figures_of(show, cylinder)):
        parts.append(f'<p class="also">The same rod also drives {escaped(figure.drives)}:</p>' if number else "")
        parts.append(drawn(figure, length * float(unit.factor), f"{length:g} {unit.symbol}"))
    return "".join(parts)


def _device(once: Once, part: Part, moved: Cylinder | None) -> str:
    return "".join(
        f'<li class="device {kind}">{picture}{_told_of(kind, part)}</li>'
        for kind, picture in _pictures(once, part, moved)
    )


def _told_of(kind: str, part: Part) -> str:
    """Name and state; for a rod also room for how what it carries went in its last motion."""
    name = f'<span class="who">{escaped(_short(part))}</span>'
    state = f'<span class="state" data-state="{escaped(f"{kind}:{part.name}")}"></span>'
    if kind == "valve":
        return f'<span class="told">{name}{state}</span>'
    return f'{name}{state}<span class="state goes"></span>' if kind == "rod" else name + state


def _pictures(once: Once, part: Part, moved: Cylinder | None) -> Iterator[tuple[str, str]]:
    """Kind and symbol; `moved` is the cylinder of the same prop that a valve moves."""
    if isinstance(part, Cylinder):
        yield "rod", ""
    elif isinstance(part, Valve):
        yield "valve", symbols.valve_symbol(once, part, moved)
    elif part.kind == "lamp":
        yield "lamp", symbols.lamp_symbol(once, part.name)
    elif part.kind == "speaker":
        yield "speaker", symbols.speaker_symbol(once, part.name)
    elif part.kind == "sensor":
        yield "sensor", symbols.sensor_symbol(once, part.name)
    else:
        yield "switched", symbols.switched_symbol(once, part.kind, part.name)


def _short(part: Part) -> str:
    """The name within its prop, as in the text."""
    return part.name.rpartition(".")[2]
