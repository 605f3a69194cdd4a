"""Buckling of a long flat plate whose laminate couples bending with twist (D16, D26), by Rayleigh and Ritz.

The plate is endless along x and `b` wide, simply supported along both edges, or along s = 0 alone. With s from 0 to b,

    w = Re e^{iκx} Σ c_n f_n(s),    f_n = s (b − s) P_n,  or  s P_n where the edge s = b is free

P_n Legendre's polynomials over the width. They meet w = 0 at the supports and leave the bending moment there to the energy: sine
terms, which force w_ss = 0, converge slowly where D26 is not zero. For every κ the stiffness of

    2U = ∫ D11 |w_xx|² + 2 D12 Re w_xx w̄_ss + D22 |w_ss|² + 4 D66 |w_xs|² + 4 D16 Re w_xx w̄_xs + 4 D26 Re w_ss w̄_xs ds

(S. G. Lekhnitskii, Anisotropic Plates (1968), from memory) is set against the work of flows N_x, N_xs in w_x² and 2 w_x w_s; the
least over κ is critical. Shear that compresses the plate across the fibres of its faces buckles it earlier than the other sense.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial.legendre import legder, leggauss, legval

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

TERMS = 10
"""Functions across the width: two more change two cloths at ±45° by less than 10⁻⁶."""
WAVES, CLOSER_WAVES = 40, 15
"""Wave numbers that are tried, and again between the neighbours of the worst."""
SHORTEST, LONGEST, LONGEST_FREE = 0.1, 8.0, 100.0
"""Half-waves that are tried, over b (D11/D22)^¼: the critical one of an orthotropic plate is 1 in compression."""

LAMINATES_KEPT = 64
"""Whose critical shear is kept: the panels of a section are of few laminates and many widths."""


def critical_strip_flow(
    D: Array, width: float, compression: float, shear: float, *, length: float = np.inf, free: bool = False
) -> float:
    """By what flows N_x = −`compression` and N_xs = `shear`, N/m, may be multiplied until the strip buckles; inf: it does not.

    D : (3, 3), N·m, x along the strip;   width : m;   length : m, half-waves are no longer;   free : one long edge is
    """
    kappa = _waves(D, width, length, free=free)
    return _first(lambda waves: _reaches(D, width, waves, compression, shear, free=free)[:, -1], kappa)


def critical_strip_shear(D: Array, width: float) -> tuple[float, float]:
    """The flows N_xs of positive and of negative sense, N/m, under which alone the strip buckles.

    They are as 1/b². One over the critical one of either sense is the least eigenvalue of the other with the sign changed.
    """
    positive, negative = _shear_of_unit_width(np.ascontiguousarray(D, float).tobytes())
    return positive / width**2, negative / width**2


@lru_cache(maxsize=LAMINATES_KEPT)
def _shear_of_unit_width(of_plate: bytes) -> tuple[float, float]:
    D = np.frombuffer(of_plate).reshape(3, 3)
    kappa = _waves(D, 1.0, np.inf, free=False)
    both = _reaches(D, 1.0, kappa, 0.0, 1.0, free=False)[:, [-1, 0]].T * np.array([[1.0], [-1.0]])

    def critical(sense: float, known: Array) -> float:
        return _first(lambda waves: _reaches(D, 1.0, waves, 0.0, sense, free=False)[:, -1], kappa, known)

    return critical(1.0, both[0]), critical(-1.0, both[1])


def _waves(D: Array, width: float, length: float, *, free: bool) -> Array:
    """The wave numbers that are tried, 1/m."""
    natural = width * (D[0, 0] / D[1, 1]) ** 0.25
    longest = min(length, natural * (LONGEST_FREE if free else LONGEST))
    return np.geomspace(np.pi / longest, max(np.pi / (SHORTEST * natural), 2 * np.pi / longest), WAVES)


def _first(reach: Callable[[Array], Array], kappa: Array, known: Array | None = None) -> float:
    """One over the largest reach of all waves, tried again between the neighbours of the worst; `known` at `kappa`, if it is."""
    worst = int((reach(kappa) if known is None else known).argmax())
    closer = np.geomspace(kappa[max(worst - 1, 0)], kappa[min(worst + 1, WAVES - 1)], CLOSER_WAVES)
    most = float(reach(closer).max())
    return 1 / most if most > 0 else np.inf


def _reaches(D: Array, b: float, kappa: Array, compression: float, shear: float, *, free: bool) -> Array:
    """(waves, n), ascending: for each wave number one over the critical multiples of both flows; below zero: they stiffen."""
    across = _integrals(free=free)

    def of(i: int, j: int) -> Array:
        return np.asarray(across[i, j] * b ** (1 - i - j))

    k = kappa[:, None, None]
    slope = of(0, 1) - of(1, 0)
    stiffness = (
        D[0, 0] * k**4 * of(0, 0)
        - D[0, 1] * k**2 * (of(0, 2) + of(2, 0))
        + D[1, 1] * of(2, 2)
        + 4 * D[2, 2] * k**2 * of(1, 1)
        - 2j * D[0, 2] * k**3 * slope
        + 2j * D[1, 2] * k * (of(2, 1) - of(1, 2))
    )
    work = compression * k**2 * of(0, 0) + 1j * shear * k * slope
    inverse = np.linalg.inv(np.linalg.cholesky(stiffness))
    return np.asarray(np.linalg.eigvalsh(inverse @ work @ np.conj(np.swapaxes(inverse, 1, 2))))


@cache
def _integrals(*, free: bool) -> Array:
    """(3, 3, n, n): ∫ f_n⁽ⁱ⁾ f_m⁽ʲ⁾ over a width of 1."""
    at, weight = leggauss(TERMS + 3)
    s, one = (at + 1) / 2, np.ones_like(at)
    edge = (s, one, 0 * one) if free else (s * (1 - s), 1 - 2 * s, -2 * one)
    P = [2**i * legval(at, legder(np.eye(TERMS), i)) for i in range(3)]
    values = np.stack(
        [
            edge[0] * P[0],
            edge[1] * P[0] + edge[0] * P[1],
            edge[2] * P[0] + 2 * edge[1] * P[1] + edge[0] * P[2],
        ]
    )
    found: Array = np.einsum("ing,jmg,g->ijnm", values, values, weight / 2)
    found.setflags(write=False)
    return found
