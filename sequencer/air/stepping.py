"""The equations of one make-up -> the text of two loops that carry them forward in time: `slide` and `rest`.

Each loop runs until its time is up or something happens that changes the equations: `hit` (an end), `stop` (v falls
through 0), `go` (the force has overcome friction), `settled` (every pressure within 1 % of what it is connected to).

Two methods share one error measure, the largest error of x / stroke, v / (0.01 m/s + |v|), p / p:
- Bogacki and Shampine 1989, third order with an error of second order, its last rate the first of the next step;
- ROS34PW2 (see `rosenbrock`), third order with any Jacobian, stable for however stiff pressures; only the blocks of
  the air are implicit. It takes over where step x fastest decay > 2.4, short of 2.5 where the first would no longer be
  stable, and hands back below 2.0.
A step that goes wrong (a pressure or mass of 0 or less) is rejected and made shorter; one that would end just short of
the time that is up is made a little longer. An event is found on the cubic through both ends of the step, then the
step is made once more up to it.
"""

from __future__ import annotations

from sequencer.air import rosenbrock as ros
from sequencer.air.equations import MakeUp, force_text, rates_text

HEAD = """\
def NAME(t, until, h, SIGNATURE, note):
    RATES1, JACOBIAN = BOTH
    fast = FASTEST
    stiff = h * fast > 2.4; landing = inf; kind = ''; count = 0
    while True:
        count += 1
        step = h
        if step > landing: step = landing
        else:
            AHEAD
            if step * 1.15 > until - t: step = until - t
        try:
            if stiff:
                IMPLICIT
            else:
                EXPLICIT
        except (ValueError, ZeroDivisionError, OverflowError):
            e = 1e9
        if not (e < 1.0 and LEAST):
            if step < 1e-9: return 'lost', t, h, STATE
            h = step * (0.2 if not e < 64.0 else 0.85 * e ** -0.4)
            landing = inf; kind = ''
            if stiff: stiff = h * fast > 2.0
            continue
        EVENTS
        t += step
        STATE = NEW
        note((t, RECORD))
        grown = step * (0.8 * e ** -0.333 if e > 0.05 else 2.2)
        if step < h and grown < h: grown = h
        h = grown if grown < longest else longest
        if kind: return kind, t, h, STATE
        if t >= until - 1e-12: return 'time', t, h, STATE
        SETTLED
        if stiff or not count & 7:
            RATES1, JACOBIAN = BOTH
            fast = FASTEST
            stiff = h * fast > (2.0 if stiff else 2.4)
        else:
            RATES1 = RATES4
"""
# A step that went far beyond the end would only be rejected: there is no room for the air there.
SLIDE_AHEAD = """\
reach = 1.05 * ((high if mode > 0 else low) - x)
if (v * step - reach) * mode > 0.0: step = reach / v
"""
SLIDE_EVENTS = """\
if landing is inf and ((xn >= high or vn <= 0.0) if mode > 0 else (xn <= low or vn >= 0.0)):
    if stiff: RATES4 = ENDING
    kind, landing = land(mode, low, high, step, (x, v, dv1, xn, vn, dv4))
    continue
"""
REST_EVENTS = """\
if landing is inf:
    x_force = FORCE_NEW
    if x_force > up or x_force < down:
        if stiff: RATES4 = ENDING
        kind = 'go'; landing = pass_by(up if x_force > up else down, step, (FORCE_OLD, RATE_OLD, x_force, RATE_NEW))
        continue
"""


def loops_text(make_up: MakeUp) -> str:
    """`moving` and `resting` (the rates), the same with their slopes, `slide` and `rest`, to be compiled inside
    `build`."""
    air = ", ".join(make_up.gases())
    texts = []
    for moves, name, states in ((True, "moving", "mode, x, v"), (False, "resting", "x")):
        rates = (["dv"] if moves else []) + [f"d{gas}" for gas in _rated(make_up)]
        for slopes in (False, True):
            found = _tuple([*rates, *(_blocks(make_up, moves) if slopes else ())])
            texts.append(f"def {name}{'_sloped' if slopes else ''}({states}, {air}):\n"
                         + indent(rates_text(make_up, moves, slopes)) + f"    return {found}\n")
    return "".join([*texts, _loop(make_up, True), _loop(make_up, False)])


def _rated(make_up: MakeUp) -> tuple[str, ...]:
    """The states of the air that have a rate; a pressure that is given goes straight."""
    return tuple(name for name in make_up.gases() if not (make_up.given and name == "pM"))


def _tuple(names: object) -> str:
    """Names with a comma behind the last, so that one alone is a tuple too."""
    return "".join(f"{name}, " for name in names).strip()  # type: ignore[attr-defined]


def _blocks(make_up: MakeUp, moving: bool) -> list[str]:
    found = [f"{name}{letter}" for letter, line, _ in make_up.ports()
             for name in ("jpp", "jmp", *(("jqq", "jqp", "jpq", "jmq") if line == "node" else ()),
                          *(("jep", "jeq") if make_up.quick(letter) else ()), *(("jpv",) if moving else ()))]
    return [*found, "jMM"] if make_up.manifold else found


def _loop(make_up: MakeUp, moving: bool) -> str:
    gases, rated = make_up.gases(), _rated(make_up)
    states = ("x", "v", *gases) if moving else gases
    arguments = "mode, x, v, " if moving else "x, "
    name, now = "moving" if moving else "resting", arguments + ", ".join(gases)
    then = ("mode, " if moving else "x, ") + ", ".join(f"{state}n" for state in states)
    fill = {
        "NAME": "slide" if moving else "rest",
        "SIGNATURE": ("mode, x, v, " if moving else "x, up, down, settle, ") + ", ".join(gases),
        "BOTH": f"{name}_sloped({now})",
        "ENDING": f"{name}({then})",
        "JACOBIAN": _tuple(_blocks(make_up, moving)),
        "FASTEST": _fastest(make_up),
        "LEAST": " and ".join(f"{state}n > 0.0" for state in gases if state[0] != "e"),
        "STATE": ", ".join(states),
        "NEW": ", ".join(f"{state}n" for state in states),
        "RECORD": _record(make_up, moving),
    }
    changing = ("x", "v", *rated) if moving else rated
    for stage in "14":
        fill[f"RATES{stage}"] = _tuple(f"d{state}{stage}" for state in changing if state != "x")
    fill["RATES1, "] = fill["RATES1"] + " "
    call = name + ("(mode, " if moving else "(x, ")
    text = HEAD
    text = _put(text, "EXPLICIT", _explicit(changing, make_up, call))
    text = _put(text, "IMPLICIT", _implicit(changing, make_up, call))
    text = _put(text, "EVENTS", SLIDE_EVENTS if moving else _rest_events(make_up))
    text = _put(text, "AHEAD", SLIDE_AHEAD if moving else "pass\n")
    text = _put(text, "SETTLED", "pass\n" if moving else _settled(make_up))
    for word in sorted(fill, key=len, reverse=True):
        text = text.replace(word, fill[word])
    return text


def _fastest(make_up: MakeUp) -> str:
    """A bound of the fastest decay: the trace of a block is the sum of its two rates."""
    sums = [f"-jpp{letter} - jqq{letter}" if line == "node" else f"-jpp{letter}" for letter, line, _ in make_up.ports()]
    sums += ["-jMM"] if make_up.manifold else []
    return sums[0] if len(sums) == 1 else f"max({', '.join(sums)})"


def _record(make_up: MakeUp, moving: bool) -> str:
    air = ", ".join(make_up.gases())
    return f"x, v, {air}" if moving else f"x, 0.0, {air}"


def _explicit(states: tuple[str, ...], make_up: MakeUp, call: str) -> str:
    """One step of Bogacki and Shampine's pair."""
    lines = ["a = 0.5 * step; b = 0.75 * step"]
    for stage, width, before in (("2", "a", "1"), ("3", "b", "2")):
        lines += [f"{name}{stage} = {name} + {width} * {_rate(name, before)}" for name in states]
        lines += _given(make_up, stage, width)
        lines.append(_called(states, make_up, stage, call, stage))
    lines.append("a = step * 0.2222222222222222; b = step * 0.3333333333333333; c = step * 0.4444444444444444")
    lines += [f"{n}n = {n} + a * {_rate(n, '1')} + b * {_rate(n, '2')} + c * {_rate(n, '3')}" for n in states]
    lines += _given(make_up, "n", "step")
    lines.append(_called(states, make_up, "n", call, "4"))
    lines.append("a = step * unit * -0.06944444444444445; b = step * unit * 0.08333333333333333; "
                 "c = step * unit * 0.1111111111111111; d = step * unit * -0.125")
    errors = [f"(a * {_rate(n, '1')} + b * {_rate(n, '2')} + c * {_rate(n, '3')} + d * {_rate(n, '4')}) / {_scale(n)}"
              for n in states if n[0] not in "me"]
    return "\n".join([*lines, *_largest(errors)]) + "\n"


def _implicit(states: tuple[str, ...], make_up: MakeUp, call: str) -> str:
    """One step of ROS34PW2 but for the rates at its end; k stands for its u. x and v have no block, so theirs are
    plain sums; what v does to the pressures counts, else stiff pressures would trail behind a rod that changes its
    speed."""
    lines = [f"g = {ros.GAMMA!r} * step", *_inverted(states, make_up)]
    for stage in range(ros.STAGES):
        mark = str(stage + 1)
        if stage:
            lines += [f"{n}{mark} = {n}{_sum(ros.A[stage], n)}" for n in states]
            lines += _given(make_up, mark, f"{ros.ABSCISSAE[stage]!r} * step")
            lines.append(_called(states, make_up, mark, call, mark if stage < 3 else "5"))
        lines += _solve(states, make_up, stage)
    lines += [f"{n}n = {n}4 + k{n}4" for n in states] + _given(make_up, "n", "step")
    errors = [f"unit * ({_sum(ros.ERROR, n).lstrip(' +')}) / {_scale(n)}" for n in states if n[0] not in "me"]
    return "\n".join([*lines, *_largest(errors)]) + "\n"


def _given(make_up: MakeUp, mark: str, width: str) -> list[str]:
    """The pressure before the valve so far into the step, where it is given."""
    return [f"pM{mark} = pM + {width} * slope"] if make_up.given else []


def _sum(factors: tuple[float, ...], name: str) -> str:
    """Factors times the stages of a state that came before, each with its sign."""
    return "".join(f" {'-' if factor < 0 else '+'} {abs(factor)!r} * k{name}{stage}"
                   for stage, factor in enumerate(factors, 1) if factor)


def _inverted(states: tuple[str, ...], make_up: MakeUp) -> list[str]:
    """The inverse of 1 - g J, block by block, which all stages share: i.. for a pressure by itself, or for both."""
    lines = []
    for letter, line, _ in make_up.ports():
        if line == "lumped":
            lines.append(f"ipp{letter} = 1.0 / (1.0 - g * jpp{letter}); imp{letter} = g * jmp{letter}")
        else:
            lines += [
                f"y = 1.0 - g * jpp{letter}; z = 1.0 - g * jqq{letter}; w = g * jqp{letter}; u = g * jpq{letter}",
                "o = 1.0 / (y * z - w * u)",
                f"iqq{letter} = y * o; iqp{letter} = w * o; ipp{letter} = z * o; ipq{letter} = u * o",
                f"imp{letter} = g * jmp{letter}; imq{letter} = g * jmq{letter}",
            ]
        lines += [f"ipv{letter} = g * jpv{letter}"] if "v" in states else []
    return [*lines, "iMM = 1.0 / (1.0 - g * jMM)"] if make_up.manifold else lines


def _solve(states: tuple[str, ...], make_up: MakeUp, stage: int) -> list[str]:
    """(1 - g J) k = right, block by block; a mass follows the pressures that drive it."""
    mark = str(stage + 1)
    coupled = tuple(ros.GAMMA * factor for factor in ros.C[stage])
    right = {n: f"g * {_rate(n, mark if stage < 3 else '5')}{_sum(coupled, n)}" for n in states}
    lines = [f"k{n}{mark} = {right[n]}" for n in states if n in ("x", "v")]
    for letter, line, _ in make_up.ports():
        p, m, q = f"p{letter}", f"m{letter}", f"q{letter}"
        right[p] += f" + ipv{letter} * kv{mark}" if "v" in states else ""
        quick = f"ke{letter}{mark} = {right.get(f'e{letter}')} + g * jep{letter} * k{p}{mark}"
        if line == "lumped":
            lines += [f"k{p}{mark} = ({right[p]}) * ipp{letter}",
                      f"k{m}{mark} = {right[m]} + imp{letter} * k{p}{mark}"]
            lines += [quick] if make_up.quick(letter) else []
            continue
        lines += [
            f"r = {right[q]}", f"s = {right[p]}",
            f"k{q}{mark} = r * iqq{letter} + s * iqp{letter}; k{p}{mark} = s * ipp{letter} + r * ipq{letter}",
            f"k{m}{mark} = {right[m]} + imp{letter} * k{p}{mark} + imq{letter} * k{q}{mark}",
        ]
        lines += [f"{quick} + g * jeq{letter} * k{q}{mark}"] if make_up.quick(letter) else []
    if make_up.manifold:
        lines.append(f"kpM{mark} = ({right['pM']}) * iMM")
    return lines


def _rate(name: str, stage: str) -> str:
    """The rate of a state at a stage; 4 is the end of the step and 5 the implicit method's own fourth."""
    if name != "x":
        return f"d{name}{stage}"
    return {"1": "v", "4": "vn", "5": "v4"}.get(stage, f"v{stage}")


def _called(states: tuple[str, ...], make_up: MakeUp, suffix: str, call: str, stage: str) -> str:
    rated = _tuple(f"d{name}{stage}" for name in states if name != "x")
    given = [f"pM{suffix}"] if make_up.given else []
    return f"{rated} = {call}{', '.join([*(f'{name}{suffix}' for name in states), *given])})"


def _scale(name: str) -> str:
    return {"x": "stroke", "v": "(0.01 + (v if v > 0.0 else -v))"}.get(name, name)


def _largest(errors: list[str]) -> list[str]:
    """The largest of the absolute errors in `e`."""
    lines = ["e = 1e-9"]
    for error in errors:
        lines += [f"z = {error}", "if z < 0.0: z = -z", "if z > e: e = z"]
    return lines


def _rest_events(make_up: MakeUp) -> str:
    """The force is a sum of pressures times areas, so its rate is that of their rates."""
    force, areas = force_text(make_up), {"pA": "aA", "pB": "-aB"}
    held = [name for name in ("pA", "pB") if name in make_up.gases()]
    new = force
    for name in held:
        new = new.replace(name, f"{name}n")
    return REST_EVENTS.replace("FORCE_NEW", new).replace("FORCE_OLD", force).replace(
        "RATE_OLD", " + ".join(f"d{name}1 * {areas[name]}" for name in held)).replace(
        "RATE_NEW", " + ".join(f"d{name}4 * {areas[name]}" for name in held))


def _settled(make_up: MakeUp) -> str:
    near, set_source = [], ""
    for letter, line, _ in make_up.ports():
        source = f"c{letter}" if make_up.given else f"s{letter}"
        set_source += f"c{letter} = pM if fed{letter} else s{letter}; " if make_up.given else ""
        near += [f"abs({kind}{letter} - {source}) < 0.01 * {source}" for kind in ("pq" if line == "node" else "p")]
    near += ["abs(pM - pset) < 0.01 * pset"] if make_up.manifold else []
    return f"if settle:\n    {set_source}\n    if {' and '.join(near)}: return 'settled', t, h, STATE\n"


def _put(text: str, word: str, block: str) -> str:
    """Put a block in the place of a line that holds one word, as deep as that."""
    lines = []
    for line in text.split("\n"):
        if line.strip() == word:
            deep = line[: len(line) - len(line.lstrip())]
            lines += [deep + inner for inner in block.rstrip("\n").split("\n")]
        else:
            lines.append(line)
    return "\n".join(lines)


def indent(text: str) -> str:
    return "".join(f"    {line}\n" for line in text.rstrip("\n").split("\n"))
