"""How fast the answer nears the exact one as a beam is cut into more elements, beside the order that theory gives.

A uniform beam under loads at its nodes is exact with one element. What is not: a stiffness that changes along the beam, mass,
and an axial force that bends it further. Each study here has a closed form or a published value to measure against.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from femcore.base.arrays import FloatArray, IntArray
from femcore.frame.builder import FrameBuilder, Stiffness, Values
from femcore.frame.frame import Frame, Loads
from femcore.solvers.buckling import buckling
from femcore.solvers.solution import solve
from femcore.solvers.vibration import natural_frequencies

LENGTH, EI, EA, MASS = 4.0, 2.1e6, 1e15, 20.0
"""The cantilever: m; N·m²; N, so stiff along that it does not count; kg/m."""
STIFFNESS_RATIO = 0.2
"""EI at the tip of the tapered cantilever over that at its root."""
AXIAL_LOAD_RATIO = 0.5
"""Of the Euler load: what squeezes the beam-column."""
ELASTICA_LOAD = 2.0
"""P L²/EI of the cantilever that bends far."""
ELEMENTS = (1, 2, 4, 8, 16)
ABS_TOL_ROOT = 1e-15
"""Of the roots of closed forms, near 1 (rad, or without unit): nearer than this is rounding."""
CUBIC = "cubic elements: twice their degree less the bending's derivatives, 2 (4 − 2) (Strang & Fix 1973, from memory)"


@dataclass(frozen=True, slots=True, eq=False)
class Convergence:
    """One study: a value that approaches the exact one with more elements.

    name   : what is studied;   source : where the exact value comes from
    order  : of the error in the element's length, by theory;   why : in a line
    exact  : the value sought, in `unit`
    elements : (k,), ascending;   value : (k,), ours
    """

    name: str
    source: str
    order: int
    order_reason: str
    exact: float
    unit: str
    elements: IntArray
    value: FloatArray

    @property
    def error(self) -> FloatArray:
        """(k,), relative."""
        return np.asarray(np.abs(self.value / self.exact - 1))

    @property
    def rates(self) -> FloatArray:
        """(k − 1,), the order measured between each count of elements and the next."""
        return np.asarray(-np.diff(np.log(self.error)) / np.diff(np.log(self.elements)))


def studies(elements: Sequence[int] = ELEMENTS) -> Iterator[Convergence]:
    """Every study."""
    for study in (tapered, frequency, euler, beam_column, elastica):
        yield study(elements)


def tapered(elements: Sequence[int] = ELEMENTS) -> Convergence:
    """Tip movement of a cantilever whose EI falls linearly, constant in each element: ∫ (L − x)²/EI(x) dx in closed form."""
    loss, load = 1 - STIFFNESS_RATIO, 1e4

    def tip(count: int) -> float:
        middles = (np.arange(count) + 0.5) / count
        return _tip_movement(count, (0.0, 0.0, load), EI * (1 - loss * middles))

    # with s = L − x, EI(x) = EI (r + (1 − r) s/L): ∫ s² ds over it
    r = STIFFNESS_RATIO
    exact = load * LENGTH**3 / EI * (1 / (2 * loss) - r / loss**2 - r**2 / loss**3 * np.log(r))
    return _study(
        "tapered cantilever, tip movement",
        "virtual work, P ∫ (L − x)²/EI(x) dx in closed form",
        2,
        "EI taken at the middle of each element: the midpoint rule",
        (float(exact), "m"),
        elements,
        tip,
    )


def frequency(elements: Sequence[int] = ELEMENTS) -> Convergence:
    """First natural frequency of a uniform cantilever: cos λ cosh λ = −1, λ = 1.8751."""
    root = float(brentq(lambda x: np.cos(x) * np.cosh(x) + 1, 1.8, 2.0, xtol=ABS_TOL_ROOT))

    def first(count: int) -> float:
        frame = cantilever(count)
        return float(natural_frequencies(solve(frame, Loads.zeros(frame, "unloaded")), 0, 1).values[0])

    return _study(
        "cantilever, first frequency",
        "R.D. Blevins, Formulas for Natural Frequency and Mode Shape (1979), Table 8-1 (from memory), λ to all digits",
        4,
        CUBIC,
        (float(root**2 / (2 * np.pi * LENGTH**2) * np.sqrt(EI / MASS)), "Hz"),
        elements,
        first,
    )


def euler(elements: Sequence[int] = ELEMENTS) -> Convergence:
    """Buckling load of a cantilevered column, π² EI/4L²."""

    def factor(count: int) -> float:
        frame = cantilever(count)
        return float(buckling(solve(frame, _tip_load(frame, (-1.0, 0.0, 0.0))), 0, 1).values[0])

    return _study(
        "column, Euler load",
        "S.P. Timoshenko and J.M. Gere, Theory of Elastic Stability, 2nd ed. (1961), ch. 2 (from memory)",
        4,
        CUBIC,
        (np.pi**2 * EI / (4 * LENGTH**2), "N"),
        elements,
        factor,
    )


def beam_column(elements: Sequence[int] = ELEMENTS) -> Convergence:
    """Tip movement of a cantilever compressed by half its Euler load: (P L³/EI)(tan u − u)/u³, u² = thrust L²/EI."""
    u = np.pi / 2 * np.sqrt(AXIAL_LOAD_RATIO)
    push, side = u**2 * EI / LENGTH**2, 1.0  # a side load so small that the movement stays proportional to it
    return _study(
        "beam-column, tip movement",
        "S.P. Timoshenko and J.M. Gere, Theory of Elastic Stability, 2nd ed. (1961), ch. 1 (from memory)",
        4,
        CUBIC,
        (float(side * LENGTH**3 / EI * (np.tan(u) - u) / u**3), "m"),
        elements,
        lambda count: _tip_movement(count, (-push, 0.0, side), second_order=True),
    )


def elastica(elements: Sequence[int] = ELEMENTS) -> Convergence:
    """Tip movement of a cantilever that bends far, P L²/EI = 2: w/L = 0.49346."""
    return _study(
        "elastica, tip movement",
        "K. Mattiasson, Int. J. Num. Meth. Eng. 17 (1981) 145-153, Table 1 (from memory), to all digits by elliptic integrals",
        4,
        "cubic elements in axes that go along: what their shallowness leaves out is of the same order, as measured here",
        (LENGTH * elastica_tip(ELASTICA_LOAD), "m"),
        elements,
        lambda count: _tip_movement(count, (0.0, 0.0, ELASTICA_LOAD * EI / LENGTH**2), second_order=True),
    )


def elastica_tip(load: float) -> float:
    """w/L of an inextensible cantilever under a dead tip load P L²/EI = `load`, by elliptic integrals."""

    def modulus(slope: float) -> tuple[float, float]:
        m = (1 + np.sin(slope)) / 2
        return m, float(np.arcsin(1 / np.sqrt(2 * m)))

    def excess(slope: float) -> float:
        m, start = modulus(slope)
        return float(ellipk(m) - ellipkinc(start, m) - np.sqrt(load))

    m, start = modulus(float(brentq(excess, 1e-9, np.pi / 2 - 1e-3, xtol=ABS_TOL_ROOT)))
    return float(1 - 2 * (ellipe(m) - ellipeinc(start, m)) / np.sqrt(load))


def cantilever(count: int, bending: Values = EI) -> Frame:
    """A cantilever of `count` elements along x that bends in x–z alone; `bending` one EI, N·m², or one for each element."""
    builder = FrameBuilder()
    builder.node("root", (0.0, 0.0, 0.0))
    builder.node("tip", (LENGTH, 0.0, 0.0))
    builder.beam(
        "beam", ["root", "tip"], Stiffness(EA=EA, EIy=bending, EIz=100 * EI, GJ=EI, mass=MASS), divide=count
    )
    builder.support("root", range(6))
    return builder.build()


def _tip_load(frame: Frame, force: tuple[float, float, float]) -> Loads:
    loads = Loads.zeros(frame, "load")
    loads.nodal[0, frame.node_index["tip"], :3] = force
    return loads


def _tip_movement(
    count: int, force: tuple[float, float, float], bending: Values = EI, *, second_order: bool = False
) -> float:
    frame = cantilever(count, bending)
    solution = solve(frame, _tip_load(frame, force), [second_order])
    return float(solution.displacement[0, frame.node_index["tip"], 2])


def _study(
    name: str,
    source: str,
    order: int,
    order_reason: str,
    exact: tuple[float, str],
    elements: Sequence[int],
    value: Callable[[int], float],
) -> Convergence:
    counts = np.array(elements, dtype=np.int64)
    found = np.array([value(int(count)) for count in counts])
    return Convergence(name, source, order, order_reason, *exact, counts, found)
