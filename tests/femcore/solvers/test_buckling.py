"""Linear buckling against frames of every handbook, the eigen-solver against a dense one, and what has no factor."""

import numpy as np
import pytest
import scipy.linalg
from scipy import sparse

from femcore.base.errors import NoConvergence
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers import eigen
from femcore.solvers.band import FactorsOfPattern
from femcore.solvers.blocks import factorise_symmetric
from femcore.solvers.buckling import buckling, buckling_of_cases
from femcore.solvers.eigen import MAX_DENSE_FREEDOMS, KnownModes, lowest
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL
from tests.femcore.laws.stability import EULER, column, factors

PORTALS = {
    "hinged feet, free to sway": (1.82, False, True),
    "built-in feet, free to sway": (7.379, True, True),
    "hinged feet, held at the top": (12.9, False, False),
    "built-in feet, held at the top": (25.2, True, False),
}


@pytest.mark.parametrize("name", PORTALS)
def test_portals(name):
    """A portal as high as wide, all of one section, buckles in its plane at the printed P l²/EI: A. Chajes, Principles of
    Structural Stability Theory, 1974, ch. 4 (from memory); with built-in feet and sway 7.379, the root of tan kl = −kl/6,
    in place of its 7.34, which is kl rounded.
    """
    wanted, built_in, sways = PORTALS[name]
    l, EI = 3.0, 1e5
    builder = FrameBuilder()
    for node, x, z in (("A", 0, 0), ("B", 0, l), ("C", l, l), ("D", l, 0)):
        builder.node(node, (x, 0, z))
        held = ALL if built_in else (0, 1, 2, 3, 5)
        builder.support(node, held if node in "AD" else (1, 3, 5) if sways else (0, 1, 3, 5))
    for path in ("AB", "BC", "CD"):
        builder.beam(path, path, Stiffness(1e10, EI, EI, EI), up=(0, 1, 0), divide=4)
    frame = builder.build()
    loads = Loads.zeros(frame, "push")
    loads.nodal[0, [1, 2], 2] = -1.0
    found = buckling(solve(frame, loads), 0, 1).values[0] * l**2 / EI
    assert found == pytest.approx(wanted, rel=3e-3)


@pytest.mark.parametrize("case", range(4))
def test_euler_loads_converge_by_order_four_from_above(case):
    """Each of Euler's four loads is neared from above with the fourth power of the element's length."""
    exact = EULER[case][0] * 3e5 / 16
    errors = np.array([factors(column(case, n), 1)[0] for n in (4, 8, 16)]) / exact - 1
    assert np.all(errors > 0)
    np.testing.assert_allclose(np.log2(errors[:-1] / errors[1:]), 4, atol=0.15)


def test_a_hinged_column_buckles_in_a_sine():
    """The shape in which a hinged column buckles is sin πx/L, its rotation the slope."""
    given = column(0, 8, (3e5, 9e5))
    mode = buckling(solve(given.frame, given.loads), 0, 1).shapes[0]
    x = given.frame.nodes[:, 0] * np.pi / 4
    lift = mode[:, 2] / mode[given.frame.nodes[:, 0] == 2.0, 2]
    np.testing.assert_allclose(lift, np.sin(x), atol=1e-4)
    np.testing.assert_allclose(-mode[:, 4] / mode[0, 4], -np.cos(x), atol=1e-4)


def test_a_pull_has_no_factor():
    """A column that is pulled has no load factor."""
    given = column(3, 4)
    given.loads.nodal[:] *= -1
    assert len(factors(given)) == 0


def test_close_and_repeated_factors_are_all_found():
    """A long chain of elements (more freedoms than are solved densely), as stiff both ways to one part in a million or
    exactly, has every factor of both planes, in pairs: (2n − 1)² times Euler's.
    """
    for apart in (0.0, 1e-6):
        given = column(3, 90, (3e5, 3e5 * (1 + apart)))
        assert MAX_DENSE_FREEDOMS < 6 * 90
        wanted = np.repeat([1, 9, 25], 2) * EULER[3][0] * 3e5 / 16
        np.testing.assert_allclose(factors(given, 6), wanted, rtol=1e-5)


def random_problem(seed, size=500, repeated=0):
    """A sparse positive definite K, a symmetric A of any sign, `repeated` times the same blocks."""
    rng = np.random.default_rng(seed)
    blocks = max(repeated, 1)
    n = size // blocks
    band = sparse.diags_array([rng.standard_normal(n - 1), rng.standard_normal(n - 3)], offsets=[-1, -3])
    K = band + band.T + sparse.diags_array(np.full(n, 8.0))
    A = sparse.diags_array(rng.standard_normal(n)) + 0.1 * (band + band.T)
    return (sparse.block_diag([each] * blocks).tocsc() for each in (K, A))


@pytest.mark.parametrize("repeated", [0, 2, 5])
@pytest.mark.parametrize("count", [1, 4, 9])
def test_sparse_eigenvalues_are_the_dense_ones(count, repeated):
    """The lowest positive λ of K φ = λ A φ of a large sparse problem are those of the dense solver, each as often as it
    stands there; their φ satisfy it.
    """
    K, A = random_problem(count, repeated=repeated)
    assert K.shape[0] > MAX_DENSE_FREEDOMS
    values, modes = lowest(K, A, count, factorise_symmetric(K, "NATURAL"))
    mu = scipy.linalg.eigvalsh(A.toarray(), K.toarray())
    np.testing.assert_allclose(values, np.sort(1 / mu[mu > 1e-9])[:count], rtol=1e-9)
    off = K @ modes.T - (A @ modes.T) * values
    assert np.abs(off).max() < 1e-7 * np.abs(K @ modes.T).max()


@pytest.mark.parametrize("offsets", [[0], [0, 2], [0, 5, 200]])
def test_K_and_A_may_have_entries_at_different_places(offsets):
    """The lowest λ is the dense solver's where A has fewer entries than K, or others, near the diagonal or far from it."""
    K, _ = random_problem(5)
    rng = np.random.default_rng(4)
    half = sparse.diags_array([rng.standard_normal(500 - one) for one in offsets], offsets=offsets)
    A = (half + half.T).tocsc()
    factor, factors = factorise_symmetric(K, "NATURAL"), FactorsOfPattern()
    next(factors.of(K, K.data[None]))
    values, _ = lowest(K, A, 1, factor, factors)
    assert values == pytest.approx(1 / scipy.linalg.eigvalsh(A.toarray(), K.toarray())[-1:], rel=1e-9)


@pytest.mark.parametrize("found", ["second", "of the wrong sign", "none"])
def test_the_lowest_is_found_where_the_iteration_comes_near_another(found, monkeypatch):
    """What is refined after a short iteration is the lowest λ, even where that came near the second one or one below zero, or
    did not converge: below it the pivots count none.
    """
    K, A = random_problem(3)
    mu, phi = scipy.linalg.eigh(A.toarray(), K.toarray())
    near = {"second": phi[:, -2], "of the wrong sign": phi[:, 0], "none": None}[found]
    monkeypatch.setattr(eigen, "_near_lowest", lambda *_: near)
    values, modes = lowest(K, A, 1, factorise_symmetric(K, "NATURAL"))
    assert values == pytest.approx(1 / mu[-1:], rel=1e-9)
    np.testing.assert_allclose(modes[0], phi[:, -1] / phi[np.abs(phi[:, -1]).argmax(), -1], atol=1e-6)


def counted_iterations(monkeypatch):
    """Grows with each Lanczos iteration."""
    made, lanczos = [], eigen._lanczos
    monkeypatch.setattr(eigen, "_lanczos", lambda *of, **how: made.append(1) or lanczos(*of, **how))
    return made


def test_the_lowest_of_matrices_much_alike_is_found_among_modes_known(monkeypatch):
    """Of many sums of three matrices the lowest λ, and its φ, are the dense solver's; most are neared without an iteration."""
    given = [list(random_problem(seed)) for seed in range(3)]
    K, made = given[0][0], counted_iterations(monkeypatch)
    factor, factors, known = factorise_symmetric(K, "NATURAL"), FactorsOfPattern(), KnownModes()
    for weights in np.random.default_rng(1).uniform(-1, 1, (60, 3)):
        A = sum((w * A for w, (_, A) in zip(weights, given, strict=True)), start=0.0 * given[0][1]).tocsc()
        values, modes = lowest(K, A, 1, factor, factors, known)
        assert values == pytest.approx(1 / scipy.linalg.eigvalsh(A.toarray(), K.toarray())[-1:], rel=1e-9)
        off = K @ modes[0] - values[0] * (A @ modes[0])
        assert np.abs(off).max() < 1e-6 * np.abs(K @ modes[0]).max()
    assert len(made) < 45


def test_modes_known_that_are_of_others_mislead_nobody(monkeypatch):
    """Where the second mode alone is known, or one that the load stiffens, the lowest is found all the same, and kept."""
    K, A = random_problem(3)
    mu, phi = scipy.linalg.eigh(A.toarray(), K.toarray())
    made = counted_iterations(monkeypatch)
    for wrong in (-2, 0):
        known = KnownModes()
        known.add(K, phi[:, wrong])
        for again in range(2):
            before = len(made)
            values, _ = lowest(K, A, 1, factorise_symmetric(K, "NATURAL"), None, known)
            assert values == pytest.approx(1 / mu[-1:], rel=1e-9)
            assert (len(made) == before) == bool(again)


def test_no_more_factors_than_there_are():
    """Asked for more positive λ than there are, all that there are come back, in order."""
    K = sparse.eye_array(600).tocsc()
    A = sparse.diags_array(np.concatenate([[0.5, 0.25, 1.0], -np.ones(597)])).tocsc()
    values, _ = lowest(K, A, 5, factorise_symmetric(K, "NATURAL"))
    np.testing.assert_allclose(values, [1, 2, 4], rtol=1e-12)


@pytest.mark.parametrize("part", [0.2, 0.6, 0.9])
def test_axial_force_amplifies_a_mode_by_one_over_one_less_it(part):
    """A column under a side load in the pattern of its first mode sags by the linear answer over 1 − P/Pcr in its
    deformed shape.
    """
    given = column(0, 8, (1e4, 1e6), EA=1e9)
    critical = factors(given, 1)[0]
    side = Loads.zeros(given.frame, "side")
    middle = given.frame.nodes[:, 0] * np.pi / 4
    side.nodal[0, :, 2] = 1e-3 * np.sin(middle)
    linear = solve(given.frame, side).displacement[0, :, 2]
    loads = given.loads.combined([[part * critical]], ("both",))
    loads.nodal[:] += side.nodal
    found = solve(given.frame, loads, second_order=True).displacement[0, :, 2]
    np.testing.assert_allclose(found, linear / (1 - part), atol=1e-3 * np.abs(found).max())


def guyed(pretension, lean=0.0, EA=1e8, divide=6):
    """A slender mast on a ball joint with two guys in its plane, and a push from above with a side force."""
    builder = FrameBuilder()
    builder.node("foot", (0, 0, 0))
    builder.node("top", (0, 0, 6))
    builder.beam("mast", ["foot", "top"], Stiffness(1e9, 1e4, 1e4, 1e4), up=(1, 0, 0), divide=divide)
    for name, x in (("left", -4.0), ("right", 4.0)):
        builder.node(name, (x, 0, 0))
        builder.support(name, ALL)
        builder.cable(name, [name, "top"], EA, pretension)
    builder.support("foot", (0, 1, 2, 3, 5))
    builder.support("top", (1,))
    frame = builder.build()
    loads = Loads.zeros(frame, "push")
    loads.nodal[0, 1, :3] = (lean, 0, -1000.0)
    return solve(frame, loads)


def test_pretension_is_held_while_the_load_grows():
    """The compression of the mast under pretension alone comes off Euler's load; where pretension grows
    with it, both grow.
    """
    euler, p = np.pi**2 * 1e4 / 36, 200.0
    squeeze = 2 * p * 6 / np.hypot(4, 6)
    answer = guyed(p)
    down = -answer.natural[0, 0, 0] - squeeze
    held, grown = (buckling(answer, 0, 1, pretension_grows=g).values[0] for g in (False, True))
    assert held == pytest.approx((euler - squeeze) / down, rel=1e-3)
    assert grown == pytest.approx(euler / (down + squeeze), rel=1e-3)


def test_slack_cables_hold_nothing_up():
    """A guy that the case slackens adds no stiffness: the mast, pulled aside, is supported by the other guy alone."""
    both, one = guyed(300.0), guyed(0.0, lean=50.0)
    assert not both.slack[0].any()
    np.testing.assert_array_equal(one.slack[0], [False, True])
    mode = buckling(one, 0, 1)
    frame = one.frame
    thrust = -one.natural[0, 0, 0]
    assert mode.values[0] == pytest.approx(np.pi**2 * 1e4 / 36 / thrust, rel=2e-3)
    assert frame.cables.names == ("left", "right")


@pytest.mark.parametrize(("count", "divide"), [(2, 6), (1, 30)])
def test_cases_that_share_a_stiffness_buckle_as_each_alone(count, divide):
    """Load factors and shapes of several cases at once, one without load, one with a slack guy, two in their deformed shapes,
    are those of each case by itself, solved densely or not.
    """
    frame = guyed(200.0, EA=1e4, divide=divide).frame
    loads = Loads.zeros(frame, "push", "rest", "slack", "aside", "deformed", "further")
    loads.nodal[[0, 2, 3, 4, 5], 1, 2] = -500.0
    loads.nodal[[2, 3, 4, 5], 1, 0] = 400.0, 30.0, 30.0, -50.0
    answer = solve(frame, loads, [False, False, False, False, True, True])
    assert answer.slack.any(axis=1).tolist() == [False, False, True, False, False, False]
    assert (answer.parts.equations > MAX_DENSE_FREEDOMS) == (divide > 6)
    for cases in (range(6), (4, 2, 0), (5, 4)):
        for case, modes in zip(cases, buckling_of_cases(answer, cases, count), strict=True):
            alone = buckling(answer, case, count)
            np.testing.assert_allclose(modes.values, alone.values, rtol=1e-10)
            np.testing.assert_allclose(np.abs(modes.shapes), np.abs(alone.shapes), atol=1e-8)


@pytest.mark.parametrize("second_order", [False, True])
def test_trusses_side_by_side_buckle_as_each_alone(second_order):
    """Two flat bars, whose rotations nothing resists, snap under several cases at once at the factors that each has alone; as
    drawn, pushed from above, where their thrust N takes off what their slope gives: N = EA tan².
    """
    builder = FrameBuilder()
    for name, x, z in (("A", 0, 0), ("B", 4, 0.5), ("C", 8, 0)):
        builder.node(name, (x, 0, z))
    builder.beam("AB", "AB", Stiffness(1e6))
    builder.beam("BC", "BC", Stiffness(1e6))
    for name in "AC":
        builder.support(name, ALL)
    builder.support("B", (1,))
    frame = builder.build()
    loads = Loads.zeros(frame, "down", "aside", "both")
    loads.nodal[[0, 2], 1, 2] = -100.0, -200.0
    loads.nodal[[1, 2], 1, 0] = 100.0, 50.0
    answer = solve(frame, loads, second_order)
    assert len(answer.parts.unresisted_loads)
    together = buckling_of_cases(answer, range(3), 1)
    for case, modes in enumerate(together):
        np.testing.assert_allclose(modes.values, buckling(answer, case, 1).values, rtol=1e-12)
    if not second_order:
        thrust = -answer.natural[0, 0, 0]
        assert together[0].values[0] == pytest.approx(1e6 * (0.5 / 4) ** 2 / thrust, rel=1e-9)


@pytest.mark.parametrize("pull", [0.0, 1e3])
def test_what_is_only_pulled_has_no_factor(pull):
    """A bar of many elements that is pulled along its line, or under no load at all, buckles at no multiple of it."""
    builder = FrameBuilder()
    for name, x in (("A", 0), ("B", 4), ("C", 6)):
        builder.node(name, (x, 0, 0))
    builder.beam("AC", "ABC", Stiffness(1e7, 1e3, 1.3e3, 1e3), divide=20)
    builder.support("A", ALL)
    frame = builder.build()
    loads = Loads.zeros(frame, "pull")
    loads.nodal[0, 1, 0] = pull
    answer = solve(frame, loads)
    assert answer.parts.equations > MAX_DENSE_FREEDOMS
    for count in (1, 5):
        assert not len(buckling(answer, 0, count).values)


def test_what_pretension_alone_buckles_is_refused():
    """Where the pretension squeezes the mast beyond its own load, it has buckled before the load grows: no factor, but a
    sentence that names the case.
    """
    with pytest.raises(
        NoConvergence, match="case 'push': the frame buckles under its pretension alone"
    ) as fault:
        buckling(guyed(2000.0), 0, 1)
    assert fault.value.exit_status == 3


@pytest.mark.parametrize("case", range(4))
def test_the_deformed_shape_ends_where_the_factor_says(case):
    """A straight column is stable in its deformed shape to just below its load factor, and refused just above."""
    given = column(case, 4, (1e4, 3e4), EA=1e8)
    critical = factors(given, 1)[0]
    solve(given.frame, given.loads.combined([[0.995 * critical]], ("below",)), second_order=True)
    with pytest.raises(NoConvergence):
        solve(given.frame, given.loads.combined([[1.005 * critical]], ("above",)), second_order=True)


@pytest.mark.parametrize("case", range(4))
def test_about_its_deformed_shape_a_straight_column_is_as_drawn(case):
    """Solved in its deformed shape under half its load, a straight column, only squashed, has the load factor 2."""
    given = column(case, 8, (1e4, 3e4), EA=1e9)
    half = given.loads.combined([[0.5 * factors(given, 1)[0]]], ("half",))
    found = buckling(solve(given.frame, half, second_order=True), 0, 1).values[0]
    assert found == pytest.approx(2.0, rel=1e-4)
