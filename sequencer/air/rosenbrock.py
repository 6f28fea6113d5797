"""The coefficients of the method for stiff pressures, in the form that needs no product with the Jacobian.

ROS34PW2 of Rang and Angermann (2005), BIT 45, 761-787, table from memory; its order conditions are tested: four
stages, third order with any Jacobian, error of second order, stiffly accurate. With Gamma the matrix of gamma_ij:
u = Gamma k, A = alpha Gamma^-1, C = 1 / gamma - Gamma^-1, M = b Gamma^-1 (Hairer and Wanner, Solving Ordinary
Differential Equations II, IV.7), so that (1 / (h gamma) - J) u_i = f(y + sum A_ij u_j) + sum C_ij u_j / h.
"""

from __future__ import annotations

GAMMA = 4.3586652150845900e-01
ALPHA_ROWS = (
    (),
    (8.7173304301691801e-01,),
    (8.4457060015369423e-01, -1.1299064236484185e-01),
    (0.0, 0.0, 1.0),
)
GAMMA_ROWS = (
    (GAMMA,),
    (-8.7173304301691801e-01, GAMMA),
    (-9.0338057013044082e-01, 5.4180672388095326e-02, GAMMA),
    (2.4212380706095346e-01, -1.2232505839045147e+00, 5.4526025533510214e-01, GAMMA),
)
WEIGHTS = (2.4212380706095346e-01, -1.2232505839045147e+00, 1.5452602553351020e+00, GAMMA)
WEIGHTS_SECOND = (3.7810903145819369e-01, -9.6042292212423178e-02, 0.5, 2.1793326075422950e-01)
STAGES = 4


def _inverse() -> list[list[float]]:
    """Of the lower triangle of gammas, column by column."""
    inverse = [[0.0] * STAGES for _ in range(STAGES)]
    for column in range(STAGES):
        for row in range(column, STAGES):
            known = sum(GAMMA_ROWS[row][k] * inverse[k][column] for k in range(column, row))
            inverse[row][column] = ((1.0 if row == column else 0.0) - known) / GAMMA
    return inverse


def _times(row: tuple[float, ...]) -> tuple[float, ...]:
    """A row of alphas or weights times the inverse."""
    inverse = _inverse()
    found = (sum(value * inverse[k][column] for k, value in enumerate(row)) for column in range(len(row)))
    return tuple(0.0 if abs(value) < 1e-14 else value for value in found)


A = tuple(_times(row) for row in ALPHA_ROWS)
C = tuple(tuple(-value for value in row[:stage]) for stage, row in enumerate(_inverse()))
ABSCISSAE = tuple(sum(row) for row in ALPHA_ROWS)
M = _times(WEIGHTS)
ERROR = tuple(one - two for one, two in zip(M, _times(WEIGHTS_SECOND), strict=True))
