"""Forces on the bolts of a group, and its stiffness."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.base.errors import InputFault
from models.strength.bolts.bolt_group import (
    BoltGroup,
    axial_stiffness,
    bolt_forces,
    group_stiffness,
    huth_stiffness,
    rectangular_group,
    shear_forces,
    tension_about_centroid,
    tension_about_edge,
)
from models.strength.springs import displacements

SIX = rectangular_group(2, 3, 0.08, 0.06)
OUTLINE = [[-0.06, 0.06], [-0.09, 0.09]]


def test_shigley_8_7():
    """Shigley, 9th ed. (2011), Example 8-7: four bolts, 16 kN at 425 mm: 21.0 kN and 14.8 kN, secondary
    shear 17.7 kN.
    """
    group = rectangular_group(2, 2, 0.150, 0.120)
    load = np.array([[0.0, -16e3, 0, 0, 0, -16e3 * 0.425]])
    sizes = np.sort(bolt_forces(group, load).shear_magnitude[0])
    np.testing.assert_allclose(sizes, [14.8e3, 14.8e3, 21.0e3, 21.0e3], rtol=2e-3)
    secondary = shear_forces(group, np.array([[0.0, 0, 0, 0, 0, 16e3 * 0.425]]))
    assert np.hypot(*secondary[0, 0]) == pytest.approx(17.7e3, rel=1e-3)


def test_bolts_of_two_sizes():
    """R. Abbott, Standard Stress Methods, bolt group (2008), after Niu, chapter 9: six bolts of two
    diameters (read).
    """
    positions = np.array([[1, 1], [-1, 1], [-1, -1], [1, 5], [0, 5], [10, 2]]) * 1e-3
    diameters = np.array([0.375, 0.25, 0.25, 0.375, 0.25, 0.375])
    group = BoltGroup(positions, diameters**2)
    np.testing.assert_allclose(group.centroid, [2.6e-3, 2.4e-3], atol=0.06e-3)
    # −10 kN at (0.3, 0) mm with 12 N·m, which that example counts clockwise
    load = np.array([[0.0, -10e3, 0, 0, 0, -12.0 - 10e3 * 0.3e-3]])
    forces = shear_forces(group, load)[0]
    np.testing.assert_allclose(forces[:, 0], [157, 70, 172, -305, -135, 41], atol=3)
    np.testing.assert_allclose(forces[:, 1], [-2488, -1208, -1208, -2488, -1157, -1450], atol=4)


@given(st.integers(0, 10_000))
def test_bolt_forces_balance_the_load(seed):
    """Shear and tension of any group about its centroid are in equilibrium with any load."""
    rng = np.random.default_rng(seed)
    group = BoltGroup(rng.uniform(-0.1, 0.1, (5, 2)), rng.uniform(1, 3, 5))
    loads = rng.normal(size=(4, 6)) * 1e3
    found = bolt_forces(group, loads)
    x, y = group.positions.T
    total = np.stack(
        [
            found.shear[..., 0].sum(1),
            found.shear[..., 1].sum(1),
            found.tension.sum(1),
            found.tension @ y,
            -found.tension @ x,
            found.shear[..., 1] @ x - found.shear[..., 0] @ y,
        ],
        axis=1,
    )
    np.testing.assert_allclose(total, loads, rtol=1e-8, atol=1e-6)


@given(st.integers(0, 10_000))
def test_bolt_shear_is_that_of_equal_springs(seed):
    """The elastic method is a rigid plate on springs: the forces are those of the group's own stiffness
    (energy's least).
    """
    rng = np.random.default_rng(seed)
    group = BoltGroup(rng.uniform(-0.1, 0.1, (5, 2)), rng.uniform(1, 3, 5))
    loads = rng.normal(size=(3, 6)) * 1e3
    u = displacements(group_stiffness(group, 2e7, 3e7), loads)
    x, y = group.positions.T
    each = 5 * group.weights
    shear_1 = 2e7 * each * (u[:, [0]] - u[:, [5]] * y)
    pull = 3e7 * each * (u[:, [2]] + u[:, [3]] * y - u[:, [4]] * x)
    found = bolt_forces(group, loads)
    np.testing.assert_allclose(found.shear[..., 0], shear_1, rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(found.tension, pull, rtol=1e-6, atol=1e-6)


def test_group_stiffness_in_its_plane():
    """A group turned in its plane about its centroid resists with k Σr², and moved with n k."""
    K = group_stiffness(SIX, 1e7, 0.0)
    assert K[5, 5] == pytest.approx(1e7 * (SIX.positions**2).sum())
    assert K[0, 0] == pytest.approx(6e7)
    assert K[0, 5] == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("axis", [3, 4])
def test_pulls_about_an_edge_balance_the_moment(sign, axis):
    """About the edge pressed on, pulls times their distance make up the moment, and the farthest bolt pulls
    most.
    """
    load = np.zeros((1, 6))
    load[0, axis] = sign * 2000.0
    pull = tension_about_edge(SIX, load, OUTLINE)[0]
    x, y = SIX.positions.T
    along, low, high = (y, *OUTLINE[1]) if axis == 3 else (x, *OUTLINE[0])
    # +M1 lifts the side of larger y, +M2 the side of smaller x
    opens_up = (sign > 0) == (axis == 3)
    distance = along - low if opens_up else high - along
    assert pull @ distance == pytest.approx(2000.0)
    assert pull.argmax() in np.flatnonzero(np.isclose(distance, distance.max()))
    assert (pull >= 0).all()


def test_a_plate_that_bears_at_its_edge_spares_its_bolts():
    """The same moment pulls less on bolts whose plate bears on its edge than on bolts alone (common
    practice).
    """
    load = np.array([[0, 0, 0, 1000.0, 0, 0]])
    alone, bearing = tension_about_centroid(SIX, load).max(), tension_about_edge(SIX, load, OUTLINE).max()
    assert bearing < alone


def test_pull_is_shared_and_thrust_relieves_nothing():
    """A pull is shared equally; a thrust takes nothing off the pulls of a moment."""
    pull = tension_about_edge(SIX, np.array([[0, 0, 600.0, 0, 0, 0]]), OUTLINE)
    np.testing.assert_allclose(pull, 100.0)
    moment = np.array([[0, 0, 0.0, 500, 300, 0]])
    thrust = moment + np.array([[0, 0, -1000.0, 0, 0, 0]])
    np.testing.assert_allclose(
        tension_about_edge(SIX, thrust, OUTLINE), tension_about_edge(SIX, moment, OUTLINE)
    )


def test_huth_by_hand():
    """Huth's formula for 2 mm sheets of aluminium and a 5 mm titanium bolt in single shear, worked by hand:
    32.6 kN/mm.
    """
    mm = 1e-3
    k = huth_stiffness(5 * mm, ((2 * mm, 70e9), (2 * mm, 70e9)), 110e9, "metal")
    by_hand = 1 / ((4 / 10) ** (2 / 3) * 3 * (2 / (2 * 70e3) + 2 / (4 * 110e3)))
    assert k == pytest.approx(by_hand * 1e3, rel=1e-12)
    assert k == pytest.approx(32.6e6, rel=1e-3)


def test_huth_orders():
    """Bolts in laminate are softer than in metal, 4.2 for 3; the two sheets may change places."""
    sheets = ((8e-3, 40e9), (8e-3, 40e9))
    laminate, metal = (huth_stiffness(0.01, sheets, 200e9, kind) for kind in ("laminate", "metal"))
    assert metal / laminate == pytest.approx(4.2 / 3)
    thick, thin = (8e-3, 40e9), (4e-3, 70e9)
    one, other = (huth_stiffness(0.01, pair, 200e9) for pair in ((thick, thin), (thin, thick)))
    assert one == pytest.approx(other, rel=1e-12)


def test_pull_stiffness_is_two_springs_in_series():
    """A rigid bed leaves the bolt's own EA/L, a rigid bolt the bed's."""
    assert axial_stiffness(58e-6, 200e9, 0.03, 3e-4, 0.02, 1e30) == pytest.approx(200e9 * 58e-6 / 0.03)
    assert axial_stiffness(58e-6, 1e30, 0.03, 3e-4, 0.02, 8e9) == pytest.approx(8e9 * 3e-4 / 0.02)


@pytest.mark.parametrize(
    ("positions", "load"),
    [
        ([[0.0, 0.0]], [0, 0, 0, 0, 0, 5.0]),
        ([[0.0, -0.1], [0.0, 0.1]], [0, 0, 0, 0, 5.0, 0]),
    ],
)
def test_bolts_that_do_not_resist_say_so(positions, load):
    """One bolt under a moment in its plane, and bolts in line under one about it, are faults in words."""
    with pytest.raises(InputFault, match="resist"):
        bolt_forces(BoltGroup(np.array(positions)), np.array([load], dtype=float))


def test_a_bolt_beyond_the_edge_is_a_fault():
    """A bolt at the plate's edge or beyond is a fault."""
    with pytest.raises(InputFault, match="edge"):
        tension_about_edge(SIX, np.zeros((1, 6)), [[-0.04, 0.04], [-0.09, 0.09]])
