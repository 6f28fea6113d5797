"""Parts of the rig -> their graphic symbols, as small SVG drawings.

Valves and pumps after the conventions of ISO 1219-1 (from memory): one square a position, arrows for ways that are
open, a T for a closed port, a triangle for exhaust to the air, a box with a stroke for a solenoid, a zigzag for a
spring; ports at the position that stands without power. When a valve shifts, its squares move so that the one that is
in force stands at the ports. Lamps and motors after IEC 60617 (a crossed circle, a circle with M), a speaker after its
own shape there. All lines are drawn here.
"""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.pages.drawing.svg import number, tag
from sequencer.pages.html.figure import poses_text
from sequencer.pages.html.once import Once
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve, power_off_way

SQUARE = 30.0
TOP, LOW, ABOVE = 12.0, 42.0, 52.0
_ABOVE, _BELOW = {"A": 10.0, "B": 20.0}, {"R": 5.0, "P": 15.0, "S": 25.0}
"""Where ports stand along a square's edges: A and B to the cylinder, P supply, R and S exhausts."""

Ways = Sequence[tuple[str, str]]
Position = tuple[Ways, Sequence[str]]
"""(arrows from port to port, ports that are closed) of one square."""

_OUT: Position = ((("P", "A"), ("B", "S")), ("R",))
_HOME: Position = ((("P", "B"), ("A", "R")), ("S",))
_CENTRES: dict[str, Position] = {
    "closed": ((), ("P", "A", "B", "R", "S")),
    "exhausted": ((("A", "R"), ("B", "S")), ("P",)),
    "pressurised": ((("P", "A"), ("P", "B")), ("R", "S")),
}


def valve_symbol(once: Once, valve: Valve, cylinder: Cylinder | None = None) -> str:
    """The valve with its squares in a group that the script moves: `data-valve`, and the square of each way.

    Above it the cylinder that it moves, with its pipes; a pipe is drawn thick while the valve feeds it (`data-fed`).
    """
    squares, ports, rest = _squares(valve)
    width = SQUARE * len(squares)
    # Room to either side for the squares to move and for what actuates them.
    side = SQUARE * (len(squares) - 1) + 26
    order = [way for way, _ in squares]
    inside = "".join(_square(position, SQUARE * at, ports) for at, (_, position) in enumerate(squares))
    inside += _solenoid(-22.0, TOP + 6)
    two = valve.back_pin is not None
    inside += _solenoid(width, TOP + 6) if two else _spring(width)
    if two and valve.ports == "5/3":
        inside += _spring(width + 22, 14.0) + _spring(-36.0, 14.0)
        side += 14
    places = {way: SQUARE * (order.index(rest) - order.index(way)) for way in order}
    attributes = {f"data-{way}": number(place) for way, place in places.items()}
    if valve.centre == "pressurised":
        # Its centre sends out as its one end does, so what the coils do tells them apart.
        attributes["data-rest"] = rest
    moving = tag("g", {"data-valve": valve.name, **attributes}, once.use(inside))
    left = SQUARE * order.index(rest)
    lines = once.use("".join(_port(port, left) for port in ports))
    total, top = width + 2 * side, 0.0
    if cylinder is not None:
        lines += _driven(once, valve, cylinder, left)
        top = -ABOVE
    return _picture(lines + moving, f"{number(-side)} {number(top)} {number(total)} {number(60 - top)}")


def _driven(once: Once, valve: Valve, cylinder: Cylinder, left: float) -> str:
    """The symbol of the cylinder over the valve's ports, its piston at a share of its way, and a pipe to each end."""
    begin, long, low, high = left - 25, 80.0, -ABOVE + 30, -ABOVE + 6
    middle, single = (low + high) / 2, cylinder.acting == "single"
    still = tag("rect", {"x": begin, "y": high, "width": long, "height": low - high})
    if single and cylinder.returned_by == "spring":
        turns = "".join(f"l5 {rise}" for rise in (-4, 8, -8, 8, -8, 4))
        still += _line(f"M{number(begin + long - 32)} {number(middle + 7)}{turns}")
    parts = [once.use(still)]
    ends = [("A", begin + 6, "out")] + ([] if single else [("B", begin + long - 6, "home")])
    for port, x, fed in ends:
        path = f"M{number(left + _ABOVE[port])} 2V-6H{number(x)}V{number(low)}"
        parts.append(tag("path", {"d": path, "data-pipe": valve.name, "data-fed": fed}))
    rod = _line(f"M0 {number(high)}V{number(low)}M0 {number(middle)}H{number(long - 4)}", "bold")
    home, out = begin + 10, begin + long - 14
    parts.append(tag("g", {"data-rod": cylinder.name, "data-poses": poses_text([(home, 0, 0, 1), (out, 0, 0, 1)]),
                           "transform": f"translate({number(home)} 0)"}, once.use(rod)))
    return "".join(parts)


def _squares(valve: Valve) -> tuple[list[tuple[str, Position]], str, str]:
    """(way, position) from left to right, the ports, and the way that stands without power.

    The square beside a solenoid is the one in force while it is on; the left one sends out.
    """
    off = power_off_way(valve)
    if valve.ports == "5/3":
        centre = _CENTRES[valve.centre or "closed"]
        rest = {"stays": "holds", "free": "vented", "out": "vented"}[off]
        return [("out", _OUT), (rest, centre), ("home", _HOME)], "ABRPS", rest
    if valve.ports == "5/2":
        rows = [("out", _OUT), ("home", _HOME)]
        if off == "out":
            rows.reverse()
        return rows, "ABRPS", "out" if off == "out" else "home"
    if valve.ports == "3/2":
        rows = [("out", ((("P", "A"),), ("S",))), ("home", ((("A", "S"),), ("P",)))]
        rest = "out" if off == "out" else "home"
        return (rows if rest == "home" else rows[::-1]), "APS", rest
    rows = [("out", ((("P", "A"),), ())), ("holds", ((), ("P", "A")))]
    rest = "out" if off == "out" else "holds"
    return (rows if rest == "holds" else rows[::-1]), "AP", rest


def _place(port: str) -> tuple[float, float]:
    return (_ABOVE[port], TOP) if port in _ABOVE else (_BELOW[port], LOW)


def _square(position: Position, left: float, ports: str) -> str:
    ways, closed = position
    parts = [tag("rect", {"x": left, "y": TOP, "width": SQUARE, "height": LOW - TOP})]
    for begin, end in ways:
        (x0, y0), (x1, y1) = _place(begin), _place(end)
        parts.append(_arrow((left + x0, y0), (left + x1, y1)))
    for port in closed:
        if port in ports:
            x, y = _place(port)
            inner = y + 7 if port in _ABOVE else y - 7
            parts.append(_line(f"M{number(left + x)} {number(y)}V{number(inner)}m-4 0h8"))
    return "".join(parts)


def _arrow(begin: tuple[float, float], end: tuple[float, float]) -> str:
    (x0, y0), (x1, y1) = begin, end
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    dx, dy = (x1 - x0) / length, (y1 - y0) / length
    back = (x1 - 6 * dx, y1 - 6 * dy)
    head = "L".join(f"{number(x)} {number(y)}" for x, y in (
        (x1, y1), (back[0] - 2.6 * dy, back[1] + 2.6 * dx), (back[0] + 2.6 * dy, back[1] - 2.6 * dx)))
    shaft = _line(f"M{number(x0)} {number(y0)}L{number(back[0])} {number(back[1])}")
    return shaft + tag("path", {"d": f"M{head}z", "class": "full"})


def _port(port: str, left: float) -> str:
    x, y = _place(port)
    if port in _ABOVE:
        return _line(f"M{number(left + x)} {number(y)}V2")
    if port in "RS":
        tip = f"M{number(left + x)} {number(y)}v5m-4 0h8l-4 6z"
        return tag("path", {"d": tip})
    return _line(f"M{number(left + x)} {number(y)}v12") + tag(
        "path", {"d": f"M{number(left + x)} {number(y + 9)}l-3.5 7h7z", "class": "full"})


def _solenoid(left: float, top: float) -> str:
    box = tag("rect", {"x": left, "y": top, "width": 22, "height": 18})
    return box + _line(f"M{number(left + 7)} {number(top + 18)}L{number(left + 15)} {number(top)}")


def _spring(left: float, width: float = 18.0) -> str:
    step = width / 6
    turns = "".join(f"l{number(step)} {rise}" for rise in (-7, 14, -14, 14, -14, 7))
    return _line(f"M{number(left)} {number(TOP + 15)}{turns}")


def _line(path: str, kind: str = "") -> str:
    return tag("path", {"d": path, **({"class": kind} if kind else {})})


def _picture(inside: str, box: str = "0 0 60 60") -> str:
    return tag("svg", {"viewBox": box, "class": "symbol", "aria-hidden": "true"}, inside)


def _round(x: float = 30.0, y: float = 30.0, r: float = 15.0, kind: str = "") -> str:
    return tag("circle", {"cx": x, "cy": y, "r": r, **({"class": kind} if kind else {})})


def lamp_symbol(once: Once, name: str) -> str:
    """A crossed circle; behind it a glow whose strength is the level, around it rays that grow with it."""
    rays = "".join(f"M30 30m{number(x * 19)} {number(y * 19)}l{number(x * 9)} {number(y * 9)}"
                   for x, y in ((1, 0), (0.71, 0.71), (0, 1), (-0.71, 0.71), (-1, 0), (-0.71, -0.71), (0, -1),
                                (0.71, -0.71)))
    cross = _round() + _line("M19.4 19.4L40.6 40.6M40.6 19.4L19.4 40.6")
    return _picture(tag("g", {"data-lamp": name}, _round(kind="glow"), once.use(_line(rays), "rays"), once.use(cross)))


def switched_symbol(once: Once, kind: str, name: str) -> str:
    """A motor, a pump (a circle with its triangle of flow), a fogger, or any other thing that is on or off."""
    drawn = {
        "motor": _round() + _line("M24 36V24l6 8 6-8v12"),
        "pump": _round() + _line("M30 15l-6 9h12zM30 15V6M30 45v9"),
        "fogger": _line("M12 34h24v14H12zM36 38h5v6h-5zM18 34v-5h12v5"),
    }.get(kind, _line("M15 15h30v30H15z"))
    runs = {
        "motor": "M30 11a19 19 0 0 1 19 19m-4 -5l4 5 5 -4",
        "pump": "M12 20l-5 -5M48 20l5 -5M12 40l-5 5M48 40l5 5",
        "fogger": "M42 34c4 -8 -4 -10 0 -18M49 36c4 -8 -4 -10 0 -18M56 38c4 -8 -4 -10 0 -18",
    }.get(kind, "M8 30h-6M52 30h6M30 8v-6M30 52v6")
    return _running(once, "data-switched", name, drawn, runs)


def _running(once: Once, attribute: str, name: str, drawn: str, runs: str) -> str:
    """A drawing with lines around it that are seen while it runs."""
    return _picture(tag("g", {attribute: name}, once.use(drawn), once.use(_line(runs, "beat"), "runs")))


def speaker_symbol(once: Once, name: str) -> str:
    waves = "M40 22a11 11 0 0 1 0 16M45 17a18 18 0 0 1 0 26M50 12a25 25 0 0 1 0 36"
    return _running(once, "data-speaker", name, _line("M10 23h9l13 -11v36l-13 -11h-9z"), waves)


def supply_symbol(once: Once, kind: str, name: str) -> str:
    """A compressor and its tank (a circle with an open triangle of flow, a receiver), a manifold (a line with taps), a
    supply of current. The run says of a compressor whether it `runs`."""
    drawn = {
        "compressor": _round(22) + _line("M37 30L24 23v14zM37 30h6M47 18a5 5 0 0 1 10 0v24a5 5 0 0 1 -10 0zM43 30h4"),
        "manifold": _line("M4 40H56", "bold") + _line("M14 40V22M24 40V22M34 40V22M44 40V22M4 36v8"),
        "supply": _line("M12 14h36v32h-36zM19 26h22M19 34h4M28 34h4M37 34h4"),
    }[kind]
    if kind != "compressor":
        return _picture(once.use(drawn))
    return _running(once, "data-switched", f"{name} runs", drawn,
                    "M8 14l-5 -5M22 10V3M36 14l5 -5M8 46l-5 5M22 50v7M36 46l5 5")


def sensor_symbol(once: Once, name: str) -> str:
    """A contact that closes while the sensor is tripped."""
    ends = _line("M4 34H14M42 34H56") + _round(14, 34, 2.5, "full") + _round(42, 34, 2.5, "full")
    return _picture(tag("g", {"data-sensor": name}, once.use(ends), once.use(_line("M14 34L42 20"), "open"),
                        once.use(_line("M14 34H42"), "shut")))
