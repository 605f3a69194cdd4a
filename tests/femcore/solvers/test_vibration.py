"""Natural frequencies against published cases, a general-purpose finite-element library and exact equations."""

import numpy as np
import pytest
import scipy.linalg
from scipy.optimize import brentq
from skfem import Basis, BilinearForm, ElementLineHermite, MeshLine
from skfem.helpers import dd, ddot

from femcore.base.errors import InputFault, Mechanism, NoConvergence
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve, undeformed_solution
from femcore.solvers.vibration import mass_matrix, natural_frequencies
from tests.femcore.frames import ALL, single, tip_load

L, EI, MASS = 4.0, 3e5, 12.0


def beam(elements, held, far, **more):
    """A beam AB along x that bends in x–z long before it does across."""
    bent = Stiffness(1e4 * EI, EI, 1e4 * EI, 1e4 * EI, mass=MASS, **more)
    return single(bent, to=(L, 0, 0), held=held, far=far, divide=elements)


def frequencies(frame, count, **how):
    """Hz, without load; of a frame that may be free."""
    return natural_frequencies(undeformed_solution(frame, Loads.zeros(frame, "rest")), 0, count, **how).values


def by_hermite(elements, held):
    """Frequencies of a beam by scikit-fem's Hermite element with its consistent mass; `held` start and end freedoms."""
    mesh = MeshLine(np.linspace(0, L, elements + 1))
    basis = Basis(mesh, ElementLineHermite(), intorder=8)

    @BilinearForm
    def bending(u, v, _):
        return EI * ddot(dd(u), dd(v))

    @BilinearForm
    def mass(u, v, _):
        return MASS * u * v

    K, M = (form.assemble(basis).toarray() for form in (bending, mass))
    order = np.argsort(mesh.p[0])
    lift, slope = basis.nodal_dofs[:, order]
    fixed = [(lift, slope)[kind][node] for kind, node in held]
    free = np.setdiff1d(np.arange(len(K)), fixed)
    square = scipy.linalg.eigvalsh(K[np.ix_(free, free)], M[np.ix_(free, free)])
    return np.sqrt(square) / (2 * np.pi)


@pytest.mark.parametrize(
    ("held", "far", "fixed"),
    [
        (ALL, (), [(0, 0), (1, 0)]),
        ((0, 1, 2, 3), (1, 2), [(0, 0), (0, -1)]),
        (ALL, (1, 2, 3, 4, 5), [(0, 0), (1, 0), (0, -1), (1, -1)]),
    ],
)
def test_frequencies_are_those_of_hermite_elements(held, far, fixed):
    """A cantilever, a hinged and a clamped beam of six elements have, mode by mode, the frequencies of scikit-fem's
    Hermite element with its consistent mass.
    """
    frame = beam(6, held, far)
    np.testing.assert_allclose(frequencies(frame, 3), by_hermite(6, fixed)[:3], rtol=1e-8)


CANTILEVER, HINGED = 1.8751040687119611, np.pi


@pytest.mark.parametrize(("root", "held", "far"), [(CANTILEVER, ALL, ()), (HINGED, (0, 1, 2, 3), (1, 2))])
def test_consistent_mass_comes_from_above_by_order_four(root, held, far):
    """With the consistent mass the first frequency is neared from above with the fourth power of the element's length:
    λ²/2πL² √(EI/m), λ after W.T. Thomson, Theory of Vibration, appendix D (read).
    """
    exact = root**2 / (2 * np.pi * L**2) * np.sqrt(EI / MASS)
    errors = np.array([frequencies(beam(n, held, far), 1)[0] for n in (4, 8, 16)]) / exact - 1
    assert np.all(errors > 0)
    np.testing.assert_allclose(np.log2(errors[:-1] / errors[1:]), 4, atol=0.1)


def test_lumped_mass_comes_from_below_by_order_two():
    """With the mass lumped at the nodes a cantilever's first frequency is neared from below with the square."""
    exact = CANTILEVER**2 / (2 * np.pi * L**2) * np.sqrt(EI / MASS)
    errors = np.array([frequencies(beam(n, ALL, ()), 1, lumped=True)[0] for n in (8, 16, 32)]) / exact - 1
    assert np.all(errors < 0)
    np.testing.assert_allclose(np.log2(errors[:-1] / errors[1:]), 2, atol=0.1)


def test_a_floating_beam_has_six_frequencies_of_nothing():
    """A free beam moves as a whole in six ways at no frequency; the next are those of a free-free beam, the roots
    of cos λ cosh λ = 1, in both planes.
    """
    bent = Stiffness(1e9, EI, 4 * EI, 1e6, mass=MASS, inertia=(0.1, 0.0, 0.0))
    frame = single(bent, to=(L, 0, 0), held=(), divide=10)
    found = frequencies(frame, 9)
    assert np.all(found[:6] == 0)
    roots = [brentq(lambda x: np.cos(x) * np.cosh(x) - 1, *span) for span in ((4.5, 5), (7.5, 8))]
    unit = np.sqrt(EI / MASS) / (2 * np.pi * L**2)
    wanted = np.sort([roots[0] ** 2 * unit, 2 * roots[0] ** 2 * unit, roots[1] ** 2 * unit])
    np.testing.assert_allclose(found[6:], wanted, rtol=1e-3)


CROSS = [11.336, *[17.709] * 3, 45.345, *[57.390] * 3]


def test_the_pin_ended_cross():
    """Four arms of 5 m, 125 mm square, E = 200 GPa, 8,000 kg/m³, pinned at their ends and vibrating in their plane: F.
    Abbassian, D.J. Dawswell & N.C. Knowles, Selected Benchmarks for Natural Frequency Analysis, 1987, test 1 (from
    memory), which lets the arms not stretch, to 0.6 %.
    """
    side, E, density, arm = 0.125, 200e9, 8000.0, 5.0
    I, A = side**4 / 12, side**2
    builder = FrameBuilder()
    builder.node("O", (0, 0, 0))
    builder.support("O", (2, 3, 4))
    for number, (x, y) in enumerate(((1, 0), (0, 1), (-1, 0), (0, -1))):
        name = builder.node(str(number), (arm * x, arm * y, 0))
        builder.beam(
            f"arm {number}", ["O", name], Stiffness(E * A, E * I, E * I, E * I, mass=density * A), divide=8
        )
        builder.support(name, (0, 1, 2, 3, 4))
    frame = builder.build()
    frame.fixed[5:, 2:5] = True
    np.testing.assert_allclose(frequencies(frame, 8), CROSS, rtol=6e-3)


def test_a_deep_hinged_beam():
    """A beam 10 m long and 2 m square, E = 200 GPa, ν = 0.3, 8,000 kg/m³ on hinges has the bending, torsion and
    stretching frequencies of the same collection, test 5 as reissued (quoted): J = 2.25 m⁴, shear factor 0.85; to 0.3 %.
    """
    b, E, density, length = 2.0, 200e9, 8000.0, 10.0
    A, I, G = b**2, b**4 / 12, E / 2.6
    kappa, J = 0.85, 2.25
    mass = density * A
    bent = Stiffness(
        E * A,
        E * I,
        E * I,
        G * J,
        kappa * G * A,
        kappa * G * A,
        mass,
        tuple(density * I * np.array([2, 1, 1])),
    )
    frame = single(bent, to=(length, 0, 0), held=(0, 1, 2, 3), far=(1, 2), divide=24)
    found = frequencies(frame, 10)
    wanted = np.sort([42.650, 42.650, 71.20, 125.0, 148.15, 148.15, 213.61, 283.47, 283.47])
    np.testing.assert_allclose(found[:9], wanted, rtol=3e-3)


def timoshenko_cantilever(GA, rotary, low, high):
    """Hz, the exact frequency of a clamped-free Timoshenko beam between two bounds: where shear and moment at the tip
    vanish, carried from the root by the exponential of w′ = V/GA − θ, θ′ = M/EI, M′ = V − ρI ω² θ, V′ = −m ω² w.
    """

    def tip(f):
        square = (2 * np.pi * f) ** 2
        A = np.array(
            [
                [0, -1, 0, 1 / GA],
                [0, 0, 1 / EI, 0],
                [0, -rotary * square, 0, 1],
                [-MASS * square, 0, 0, 0],
            ]
        )
        return np.linalg.det(scipy.linalg.expm(A * L)[2:, 2:])

    return brentq(tip, low, high, xtol=1e-12)


def test_a_deep_cantilever_is_timoshenkos():
    """With shear deformation and rotary inertia the first two frequencies of a cantilever tend from above to those of
    Timoshenko's differential equations, by order two or more.
    """
    GA, rotary = 40 * EI / L**2, 0.05 * MASS
    errors = []
    slender = CANTILEVER**2 / (2 * np.pi * L**2) * np.sqrt(EI / MASS)
    exact = [
        timoshenko_cantilever(GA, rotary, 0.5 * slender, slender),
        timoshenko_cantilever(GA, rotary, 1.5 * slender, 5 * slender),
    ]
    for n in (8, 16, 32):
        frame = beam(n, ALL, (), GAz=GA, inertia=(0.0, rotary, 0.0))
        errors.append(frequencies(frame, 2) / exact - 1)
    errors = np.array(errors)
    assert np.all(errors > 0)
    assert errors[-1].max() < 2e-3
    assert np.log2(errors[:-1] / errors[1:]).min() > 1.9


def test_masses_on_a_taut_string():
    """Masses M at equal spaces a on a cable of tension T, gripped at each, swing across it at 1/π √(T/Ma) sin kπ/2(n + 1):
    the lattice of J.L. Lagrange.
    """
    n, a, T, M = 5, 0.8, 4e3, 3.0
    builder = FrameBuilder()
    path = [builder.node(str(i), (i * a, 0, 0)) for i in range(n + 2)]
    for i in range(1, n + 1):
        builder.mass(str(i), M)
        builder.support(str(i), (0, 1, 3, 4, 5))
    for end in (path[0], path[-1]):
        builder.support(end, ALL)
    builder.beam("beside", path[1:-1], Stiffness(1e-3, 1e-6, 1e-6, 1e-6))
    builder.cable("string", path, 1e7, T, gripped=True)
    frame = builder.build()
    answer = solve(frame, Loads.zeros(frame, "rest"), second_order=True)
    np.testing.assert_allclose(answer.tension, T, rtol=1e-8)
    k = np.arange(1, n + 1)
    wanted = np.sqrt(T / (M * a)) / np.pi * np.sin(k * np.pi / (2 * (n + 1)))
    np.testing.assert_allclose(natural_frequencies(answer, 0, n).values, wanted, rtol=1e-5)


@pytest.mark.parametrize("bent", [False, True])
@pytest.mark.parametrize("part", [-0.75, 3.0])
def test_axial_force_tunes_a_beam_as_drawn_and_as_it_stands(bent, part):
    """A hinged beam under N vibrates at f √(1 + N/Pe), about the shape as drawn and about its deformed shape alike."""
    frame = beam(8, (0, 1, 2, 3), (1, 2))
    pull = part * np.pi**2 * EI / L**2
    answer = solve(frame, tip_load(frame, "B", [pull, 0, 0, 0, 0, 0]), bent)
    exact = np.pi / (2 * L**2) * np.sqrt(EI / MASS * (1 + part))
    assert natural_frequencies(answer, 0, 1).values[0] == pytest.approx(exact, rel=2e-3 if bent else 2e-4)


def test_a_heavy_tip_is_a_mass_on_a_spring():
    """As the mass at a cantilever's tip grows beyond its own, its frequency tends to 1/2π √(3EI/ML³); as it shrinks, to the
    bare cantilever's.
    """
    for ratio in (1e4, 1e-6):
        frame = beam(8, ALL, ())
        M = ratio * MASS * L
        frame.point_mass[1] = M
        spring = np.sqrt(3 * EI / (M * L**3)) / (2 * np.pi)
        bare = CANTILEVER**2 / (2 * np.pi * L**2) * np.sqrt(EI / MASS)
        assert frequencies(frame, 1)[0] == pytest.approx(spring if ratio > 1 else bare, rel=1e-4)


def test_modes_are_told_at_unit_size():
    """Each mode is 1 at its largest entry, is 0 where a support fixes it, and belongs to its frequency."""
    frame = beam(6, ALL, ())
    answer = undeformed_solution(frame, Loads.zeros(frame, "rest"))
    modes = natural_frequencies(answer, 0, 3)
    np.testing.assert_allclose(np.abs(modes.shapes).max(axis=(1, 2)), 1)
    assert not modes.shapes[:, frame.fixed].any()
    assert np.all(np.diff(modes.values) > 0)
    assert mass_matrix(answer.parts).diagonal().min() >= 0


def test_what_has_no_frequency_is_told():
    """Without mass there is nothing to vibrate: an input fault, with its cure. A part without mass that moves freely is a
    mechanism. A buckled frame has no frequencies: no convergence.
    """
    bare = single(Stiffness(1e9, EI, EI, EI), to=(L, 0, 0), divide=2)
    with pytest.raises(
        InputFault, match="nothing that can move has mass; give materials a density, or add masses"
    ):
        frequencies(bare, 1)
    rotating = single(Stiffness(1e9, EI, EI, EI, mass=MASS), to=(L, 0, 0), held=(0, 1, 2, 4, 5), divide=2)
    with pytest.raises(Mechanism, match="turns freely about its own axis"):
        frequencies(rotating, 1)
    frame = beam(4, ALL, ())
    for over in (1.1, 20.0):
        push = -over * np.pi**2 * EI / (4 * L**2)
        pushed = solve(frame, tip_load(frame, "B", [push, 0, 0, 0, 0, 0]))
        with pytest.raises(NoConvergence, match="buckled under the case's forces"):
            natural_frequencies(pushed, 0, 1)
