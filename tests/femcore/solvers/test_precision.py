"""How many digits an answer has, and whether the solver knows."""

import numpy as np
import pytest

from femcore.base.errors import PoorSolution
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.assembly import extended_digits
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL, RIGID_SHEAR, STEEL, chain, chain_error, chain_load, tip_load
from tests.femcore.laws.planted_faults import set_everywhere


def chain_answer(elements):
    """The long cantilever under 1 kN at its tip, and its relative error."""
    frame = chain(elements)
    answer = solve(frame, chain_load(frame))
    return answer, chain_error(answer)


@pytest.mark.parametrize(("elements", "limit"), [(10, 1e-12), (1_000, 1e-9), (10_000, 1e-6)])
def test_a_long_chain_keeps_its_digits(elements, limit):
    """Refinement in extended precision keeps FL³/3EI however many elements there are, and says so."""
    answer, error = chain_answer(elements)
    assert error <= limit
    assert error <= max(answer.error[0], answer.balance[0]) + 1e-14
    assert answer.balance[0] <= limit


def test_the_platform_says_how_precise_its_residual_is():
    """The digits of the residual are those of the platform's long double, never fewer than double's."""
    assert extended_digits() == np.finfo(np.longdouble).precision >= 15


@pytest.mark.parametrize("elements", [300, 1_000, 3_000])
def test_the_first_error_is_honest(elements, monkeypatch):
    """The first correction is, within two orders, the true error of the answer before refinement."""
    answer, _ = chain_answer(elements)
    set_everywhere(monkeypatch, "MAX_REFINEMENT_STEPS", 1)
    set_everywhere(monkeypatch, "REL_TOL_SOLUTION", np.inf)
    _, true = chain_answer(elements)
    assert true > 1e-12, "nothing was lost, so nothing is shown"
    assert 1e-2 < answer.first_error[0] / true < 1e2


def test_more_elements_lose_more_digits_and_the_estimate_sees_it():
    """The estimate of what is lost before refinement grows with the number of elements, by two orders at
    least from 100 to 3,000.
    """
    estimates = [chain_answer(n)[0].first_error[0] for n in (100, 3_000)]
    assert estimates[1] > 100 * estimates[0]


def test_a_chain_too_long_is_no_number():
    """A cantilever of 100,000 elements is refused, not answered wrongly."""
    with pytest.raises(
        PoorSolution,
        match=r"case 'load' could not be solved accurately enough: estimated error .* fewer elements",
    ):
        chain_answer(100_000)


def spread(ratio):
    """A cantilever of three metre-long parts, the middle one `ratio` times as stiff: solution and exact tip
    movement.
    """
    builder = FrameBuilder()
    for x, name in enumerate("ABCD"):
        builder.node(name, (x, 0, 0))
    stiff = Stiffness(*(ratio * k for k in (2e8, 3e5, 8e5, 1e5)))
    for name, section in (("AB", RIGID_SHEAR), ("BC", stiff), ("CD", RIGID_SHEAR)):
        builder.beam(name, list(name), section)
    builder.support("A", ALL)
    frame = builder.build()
    # ∫(3 − x)² dx / EI over each part
    exact = (19 / 3 + 7 / 3 / ratio + 1 / 3) / 3e5
    return solve(frame, tip_load(frame, "D", [0, 0, 1, 0, 0, 0])).displacement[0, 3, 2], exact


@pytest.mark.parametrize("ratio", [1e3, 1e6, 1e9, 1e12])
def test_stiffnesses_far_apart_keep_their_digits(ratio):
    """Neighbours of very different stiffness cost digits that refinement brings back."""
    got, exact = spread(ratio)
    assert got == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("ratio", [1e17, 1e18, 1e20])
def test_stiffnesses_hopelessly_far_apart_are_refused(ratio):
    """Where one stiffness drowns its neighbours in rounding there is no number, and no mechanism either."""
    with pytest.raises(PoorSolution):
        spread(ratio)


def on_a_soft_spring(k):
    """A stiff beam AB on one spring k in all six freedoms at A: solution and exact movement of B under
    1 N.
    """
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (4, 0, 0))
    builder.beam("AB", ["A", "B"], STEEL, divide=3)
    builder.spring("A", None, [k] * 6)
    frame = builder.build()
    exact = 17 / k + 64 / (3 * STEEL.EIy) + 4 / STEEL.GAz
    return solve(frame, tip_load(frame, "B", [0, 0, 1, 0, 0, 0])).displacement[0, 1, 2], exact


@pytest.mark.parametrize("k", [1e-6, 1e-3, 1.0, 1e3, 1e6, 1e9, 1e12])
def test_a_very_soft_spring_is_no_mechanism(k):
    """A frame on a spring a million millionth as stiff as itself is in equilibrium, and moves by F/k."""
    got, exact = on_a_soft_spring(k)
    assert got == pytest.approx(exact, rel=1e-9)


def test_a_spring_softer_than_rounding_is_refused_as_poor():
    """Where the spring drowns in the rounding of the beam's stiffness the frame is neither solved nor called
    a mechanism.
    """
    with pytest.raises(PoorSolution):
        on_a_soft_spring(1e-12)


@pytest.mark.parametrize("elements", [1, 100, 1_000])
def test_supports_moved_together_carry_a_frame_along(elements):
    """A uniform settlement costs no force, and is an answer, not a poor one."""
    frame = chain(elements)
    loads = Loads.zeros(frame, "settled")
    loads.support_displacement[0, 0, 2] = -0.01
    answer = solve(frame, loads)
    np.testing.assert_allclose(answer.displacement[0, :, 2], -0.01, rtol=1e-9)
    assert np.abs(answer.reactions).max() < 1e-8  # of the 10⁸ N that one element alone would take
