"""Several linkages on one rod -> one load: effective mass, its slope, force and friction, for the motion's hot loop.

All pieces share the rod's x, so their masses, slopes and loads add up. Friction is told in two ways. `load_at` without
a push takes what the piece's own load makes of it, which is right for slow motion; with the push of the air it counts
what the push makes of it too, as in a fast start. A pivot or a row of pulleys that eats the share d of what goes
through it takes

    d x the greater of |load of the piece| and |push less all other loads|

so that raising slowly needs load / (1 - d) and lowering gives load x (1 - d), as tackles are reckoned in any textbook
of mechanics. That the forces of inertia of the other pieces are in that push as well is left out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field

from sequencer.air.mechanism.hot import Acceleration, HotTable, acceleration_by, hot_table
from sequencer.air.mechanism.linkage import End, Linkage, Pulling, Remark, Terms
from sequencer.frozen import frozen


@frozen
class Mechanism:
    """What one rod drives. `names[i]` is the part that `pieces[i]` was made of; `stroke_m` the cylinder's."""

    pieces: tuple[Linkage, ...]
    names: tuple[str, ...]
    stroke_m: float
    remarks: tuple[Remark, ...] = ()
    _plain: tuple[Callable[[float], Terms], ...] = field(init=False, repr=False, compare=False)
    _eating: tuple[tuple[Callable[[float], Terms], float], ...] = field(init=False, repr=False, compare=False)
    _pulling: tuple[tuple[str, Callable[[float, float, float], float]], ...] = field(
        init=False, repr=False, compare=False)
    _rubs_n: float = field(init=False, repr=False, compare=False)
    _table: list[HotTable | None] = field(default_factory=list, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        assert len(self.pieces) == len(self.names)
        derived = {
            "_plain": tuple(piece.terms for piece in self.pieces if piece.share == 0),
            "_eating": tuple((piece.terms, piece.share) for piece in self.pieces if piece.share != 0),
            "_pulling": tuple((name, piece.tension_n) for name, piece in zip(self.names, self.pieces, strict=True)
                              if isinstance(piece, Pulling)),
            "_rubs_n": sum(piece.rubs_n for piece in self.pieces),
        }
        for name, value in derived.items():
            object.__setattr__(self, name, value)

    @property
    def out_m(self) -> float:
        """How far out the rod can go: its stroke, or less where a piece stands at its end before that."""
        return min((self.stroke_m, *(piece.out_m for piece in self.pieces)))

    def load_at(self, x_m: float, v_m_s: float, push_n: float | None = None) -> Terms:
        """Effective mass, half its slope, and load in N (positive homeward) with friction against v.

        At v = 0 the load comes without friction, which then only holds: see `friction_n`. `push_n` as in the module's
        text.

        >>> from sequencer.air.mechanism.straight import StraightLoad
        >>> Mechanism((StraightLoad(2.0, rubs_n=3.0),), ("sledge",), 0.3).load_at(0.1, -0.5)
        (2.0, 0.0, -3.0)
        """
        mass = half = load = 0.0
        for terms in self._plain:
            m, h, q = terms(x_m)
            mass += m
            half += h
            load += q
        eating = []
        for terms, share in self._eating:
            m, h, q = terms(x_m)
            mass += m
            half += h
            load += q
            eating.append((q, share))
        if v_m_s == 0:
            return mass, half, load
        friction = self._rubs_n
        for own, share in eating:
            friction += share * _through(own, load, v_m_s, push_n, share)
        return mass, half, load + friction if v_m_s > 0 else load - friction

    def friction_n(self, x_m: float, push_n: float) -> float:
        """The most that friction of the pieces holds against, at rest under a push: what has to be overcome to start.

        Rest ends outward when push - load exceeds it, homeward when load - push does. No piece tells rest from sliding.

        >>> from sequencer.air.mechanism.straight import StraightLoad
        >>> Mechanism((StraightLoad(2.0, rubs_n=3.0, share=0.1),), ("sledge",), 0.3).friction_n(0.1, 50.0)
        8.0
        """
        own = [(terms(x_m)[2], share) for terms, share in self._eating]
        load = sum(q for q, _ in own) + sum(terms(x_m)[2] for terms in self._plain)
        return self._rubs_n + sum(share * _through(q, load, 0.0, push_n, share) for q, share in own)

    def hot(self, rod_kg: float) -> Acceleration | None:
        """The acceleration of the rod by a table of all pieces, made when it is first asked for; None: see `hot`."""
        if not self._table:
            self._table.append(hot_table(self.pieces, self.out_m) if self.pieces else None)
        return None if self._table[0] is None else acceleration_by(self._table[0], rod_kg)

    @property
    def pulls(self) -> bool:
        """Whether a piece is there that can go slack."""
        return bool(self._pulling)

    def ends_at(self, x_m: float) -> dict[str, End]:
        """By name of the part, where the end of each piece is that carries something."""
        ends = ((name, piece.end_at(x_m)) for name, piece in zip(self.names, self.pieces, strict=True))
        return {name: end for name, end in ends if end is not None}

    def slack_at(self, x_m: float, v_m_s: float, a_m_s2: float) -> tuple[str, ...]:
        """The ropes that would have to push if the rod went so: they are slack, and `without` them it goes otherwise.

        The piece on a slack rope falls by itself until the rope is straight again. That fall is `air.slack`'s.
        """
        return tuple(
            name for name, tension_n in self._pulling if tension_n(x_m, v_m_s, a_m_s2) < 0
        )

    def without(self, names: tuple[str, ...]) -> Mechanism:
        """The same less some pieces."""
        kept = [pair for pair in zip(self.pieces, self.names, strict=True) if pair[1] not in names]
        return Mechanism(tuple(piece for piece, _ in kept), tuple(name for _, name in kept), self.stroke_m)


def _through(own: float, load: float, v: float, push: float | None, share: float) -> float:
    """The force in N that goes through a piece whose own load is `own` of all the `load` on the rod."""
    if push is not None:
        return max(abs(own), abs(push - (load - own)))
    return abs(own) / (1 - share) if own * v > 0 else abs(own)


def together(*mechanisms: Mechanism) -> Mechanism:
    """Several on one cylinder: all of their pieces, the least of their strokes.

    >>> from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad
    >>> sledge = Mechanism((StraightLoad(2.0),), ("sledge",), 0.3)
    >>> helper = Mechanism((OutsideSpring(100.0, 50.0, False),), ("helper",), 0.3)
    >>> together(sledge, helper).load_at(0.1, 0.0)
    (2.0, 0.0, -40.0)
    """
    return Mechanism(
        tuple(piece for mechanism in mechanisms for piece in mechanism.pieces),
        tuple(name for mechanism in mechanisms for name in mechanism.names),
        min(mechanism.stroke_m for mechanism in mechanisms),
        tuple(remark for mechanism in mechanisms for remark in mechanism.remarks),
    )
