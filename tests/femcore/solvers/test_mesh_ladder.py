"""Answers do not depend on how finely beams are divided, beyond the error of division itself, in either order."""

from functools import cache

import numpy as np
import pytest

from femcore.base.arrays import EXTENDED
from femcore.base.errors import PoorSolution
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.loads_builder import LoadsBuilder
from femcore.results import nodal_forces
from femcore.solvers import blocks
from femcore.solvers.second_order import solve_second_order
from femcore.solvers.solution import Solution, solve

SPAN, STRUT, LIFT, PRETENSION = 3.0, 0.6, 40e3, 12e3
RUNGS = (16, 64, 400, 1000)
ROUNDING = float(np.finfo(EXTENDED).eps)
"""Of shapes as they are kept. Kept in double, the balance at 1,000 elements a side would be 2e-7."""


@cache
def trussed_beam(divide: int) -> Solution:
    """A beam of 6 m over a strut and a martingale under pretension, lifted in the middle, in first and second order."""
    builder = FrameBuilder()
    for name, at in {"A": (0, 0, 0), "M": (0, SPAN, 0), "B": (0, 2 * SPAN, 0), "S": (0, SPAN, STRUT)}.items():
        builder.node(name, at)
    tube = Stiffness(EA=6e8, EIy=2e6, EIz=2e6, GJ=1.1e6)
    builder.beam("AM", ["A", "M"], tube, up=(0, 0, 1), divide=divide)
    builder.beam("MB", ["M", "B"], tube, up=(0, 0, 1), divide=divide)
    builder.beam("MS", ["M", "S"], tube, up=(1, 0, 0))
    builder.cable("martingale", ["A", "S", "B"], EA=9e6, pretension=PRETENSION)
    builder.support("A", ("ux", "uy", "uz", "ry", "rz"))
    builder.support("B", ("ux", "uz", "ry", "rz"))
    frame = builder.build()
    loads = LoadsBuilder(frame, "first order", "second order", "pretension alone")
    for case in ("first order", "second order"):
        loads.point("M", Fx=3e3, Fz=LIFT, case=case)
    return solve(frame, loads, ("second order", "pretension alone"))


def actions(solution: Solution, case: str) -> np.ndarray:
    """(7,), what a joint would be checked with, boat axes, and the martingale's tension."""
    return np.array([*solution.reaction("A", case), solution.cable("martingale", case).tension])


@pytest.mark.parametrize("case", ["first order", "second order", "pretension alone"])
def test_a_finer_mesh_changes_no_more_than_theory_says(case):
    """Corotational elements converge with the square of their length; past that, no rung changes what a joint gets."""
    coarse, fine, finer, finest = (actions(trussed_beam(divide), case) for divide in RUNGS)
    size = np.abs(finest).max()
    expected = np.abs(fine - coarse).max() / (1 - (RUNGS[0] / RUNGS[1]) ** 2) * (RUNGS[0] / RUNGS[1]) ** 2
    assert np.abs(finest - fine).max() <= 1.2 * expected + 1e-9 * size
    assert np.abs(finest - finer).max() <= 1.2 * expected * (RUNGS[1] / RUNGS[2]) ** 2 + 1e-9 * size


@pytest.mark.parametrize("divide", RUNGS)
def test_pretension_is_reached_and_reactions_balance_at_every_rung(divide):
    """However short the elements, the martingale has its pretension and reactions balance the loads.

    Rounding of a position turns an element by 1/h of it and bends it by 1/h of that; of a coarse one the bound is that of the
    iteration.
    """
    solution = trussed_beam(divide)
    assert solution.cable("martingale", "pretension alone").tension == pytest.approx(PRETENSION, rel=1e-10)
    balance = solution.balance[: solution.case("pretension alone")].max()
    assert balance <= ROUNDING * max(1e6, (2 * divide) ** 2)


@pytest.mark.parametrize("divide", RUNGS)
def test_the_stated_error_covers_every_free_node(divide):
    """No free node is out of balance by more than the stated error of the largest force."""
    solution = trussed_beam(divide)
    case = solution.case("second order")
    frame = solution.frame
    net = solution.loads.nodal[case].copy()
    np.add.at(net, frame.ends, -nodal_forces.beam_forces(solution)[case])
    inner = np.setdiff1d(np.arange(len(frame.nodes)), list(frame.node_index.values()))
    largest = solution.tension[case].max()
    # this balance is of rounded movements, so it is no better than a double's
    rounding = 1e3 * np.finfo(float).eps * divide**2
    assert np.abs(net[inner]).max() <= (solution.error[case] + rounding) * largest


def test_the_stated_error_sees_what_the_whole_balance_does_not(monkeypatch):
    """An equal and opposite pair of forces in the middle of a beam: no reaction shows it, the stated error does."""
    whole = solve_second_order

    def disturbed(parts, *arguments):
        found = whole(parts, *arguments)
        middle = parts.frame.ends[parts.frame.members["AM"].first + 8]
        found[0].internal_force[middle, 2] += np.array([1.0, -1.0]) * 1e-3 * LIFT
        return found

    monkeypatch.setattr("femcore.solvers.solution.solve_second_order", disturbed)
    with pytest.raises(PoorSolution, match=r"second order.*estimated error"):
        trussed_beam.__wrapped__(16)


def test_factors_that_do_not_fit_the_memory_are_a_sentence(monkeypatch):
    """Running out of memory in the factorisation says how large the system is and what to do."""

    def exhausted(*_arguments, **_options):
        raise MemoryError

    monkeypatch.setattr(blocks, "splu", exhausted)
    with pytest.raises(PoorSolution, match=r"the factors of \d+ equations do not fit the memory; divide"):
        trussed_beam.__wrapped__(16)
