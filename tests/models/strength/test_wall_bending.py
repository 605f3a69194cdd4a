"""The wall under a foot: a ring with a rigid arc, by closed forms and by a frame of straight pieces; a flat panel."""

import math

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.laminates import LaminateMaterials, lay_up
from femcore.materials import metals
from models.strength.margins import SafetyFactors
from models.strength.plates.wall_bending import (
    RING_LENGTH_FACTOR,
    SupportingWall,
    arc_bending,
    ring_flows,
    wall_bending_checks,
)

ALLOY = metals()["al6082_t6"]
TUBE = SupportingWall(metal=ALLOY, thickness=0.006, diameter=0.2)
PLIES = lay_up(["2x db 600", "4x uni 300", "mirror"], LaminateMaterials(fibre="carbon_sm", process="vacuum"))


def framed_ring(half, force, couple, pieces=360):
    """Greatest |M| outside a stiff arc of ±half at the top of a ring of radius 1, by plane frame elements of straight beams.

    `force` (radial, tangential) and `couple` at the top are balanced by a thin tube's shear flow; EI = 1, stretch kept small.
    """
    angle = (
        np.linspace(0, 2 * math.pi, pieces, endpoint=False) - math.pi
    )  # from the bottom round, top in the middle
    at = np.stack([np.sin(angle), np.cos(angle)], axis=1)
    ends = np.stack([np.arange(pieces), (np.arange(pieces) + 1) % pieces], axis=1)
    K = np.zeros((3 * pieces, 3 * pieces))
    blocks = []
    for a, b in ends:
        way = at[b] - at[a]
        length = np.hypot(*way)
        c, s = way / length
        middle = math.atan2(*(at[a] + at[b]))
        EI = 1e5 if abs(middle) < half else 1.0
        T = np.kron(np.eye(2), [[c, s, 0], [-s, c, 0], [0, 0, 1]])
        w, EA = 12 * EI / length**3, 1e6
        k = np.zeros((6, 6))
        k[np.ix_([0, 3], [0, 3])] = EA / length * np.array([[1, -1], [-1, 1]])
        k[np.ix_([1, 2, 4, 5], [1, 2, 4, 5])] = np.array(
            [
                [w, w * length / 2, -w, w * length / 2],
                [w * length / 2, w * length**2 / 3, -w * length / 2, w * length**2 / 6],
                [-w, -w * length / 2, w, -w * length / 2],
                [w * length / 2, w * length**2 / 6, -w * length / 2, w * length**2 / 3],
            ]
        )
        where = np.r_[3 * a : 3 * a + 3, 3 * b : 3 * b + 3]
        K[np.ix_(where, where)] += T.T @ k @ T
        blocks.append((where, k @ T, abs(middle)))
    load = np.zeros((pieces, 3))
    top = pieces // 2
    radial, tangential = force
    load[top] += [tangential, radial, couple]
    tangent = np.stack([np.cos(angle), -np.sin(angle)], axis=1)
    step = 2 * math.pi / pieces
    # the flow that beam theory gives: sine for the pull, cosine for the force across, even for the torque that is left
    flow = radial / math.pi * np.sin(angle) - tangential / math.pi * np.cos(angle)
    # the tangent runs against the sense in which couples count
    flow = flow + (couple - tangential) / (2 * math.pi)
    load[:, :2] += flow[:, None] * tangent * step
    free = np.setdiff1d(np.arange(3 * pieces), np.r_[3 * top : 3 * top + 3])
    u = np.zeros(3 * pieces)
    u[free] = np.linalg.solve(K[np.ix_(free, free)], load.ravel()[free])
    held = (K @ u - load.ravel())[3 * top : 3 * top + 3]
    assert np.abs(held).max() < 2e-3 * max(abs(radial), abs(tangential), abs(couple))
    return max(max(abs(f[2]), abs(f[5])) for where, B, m in blocks if m > half for f in [B @ u[where]])


def test_a_pull_on_a_ring_bends_it_by_three_quarters_over_pi():
    """A radial load balanced by a thin tube's shear flow: M = 3PR/4π under it (R.J. Roark, circular ring; from memory)."""
    assert arc_bending(0.0).pull == pytest.approx(3 / (4 * math.pi), rel=1e-9)


def test_a_couple_on_a_ring_goes_off_to_either_side():
    """A couple balanced by an even shear flow is half a couple at either side of where it acts (statics, symmetry)."""
    assert arc_bending(0.0).couple == pytest.approx(0.5, rel=1e-9)


@pytest.mark.parametrize("half", [0.0, 0.3, 0.8, 1.3])
def test_the_ring_is_that_of_a_frame_of_straight_pieces(half):
    """Pull, force around and couple on a ring with a rigid arc, against plane frame elements."""
    found = arc_bending(half)
    assert found.pull == pytest.approx(framed_ring(half, (1.0, 0.0), 0.0), rel=0.02)
    assert found.couple == pytest.approx(framed_ring(half, (0.0, 0.0), 1.0), rel=0.02)
    assert found.around == pytest.approx(framed_ring(half, (0.0, 1.0), 0.0), rel=0.02)


def test_a_broader_foot_bends_the_ring_less():
    """The more of the ring the foot covers, the less a pull or a couple bends what is left."""
    narrow, broad = arc_bending(0.2), arc_bending(1.0)
    assert broad.pull < narrow.pull / 2
    assert broad.couple < narrow.couple / 2


def test_a_foot_s_loads_go_into_its_own_length_of_the_beam():
    """By hand: P over the foot and 1.56 √(R t), a moment along the beam as 6 M/b² at its end, a force along half to each side."""
    R, size = 0.097, (0.15, 1e-6)
    b = size[0] + RING_LENGTH_FACTOR * math.sqrt(R * 0.006)
    loads = np.array([[0, 10e3, 0, 0, 0, 0], [0, 0, 0, 0, 0, 300.0], [8e3, 0, 0, 0, 0, 0]])
    bending, _, shear = ring_flows(TUBE, size, loads)
    assert bending[0] == pytest.approx(3 / (4 * math.pi) * 10e3 / b * R, rel=1e-4)
    assert bending[1] == pytest.approx(3 / (4 * math.pi) * 6 * 300 / b**2 * R, rel=1e-4)
    assert shear[2] == pytest.approx(8e3 / (2 * b))


def test_loads_on_a_round_wall_add_up_whatever_their_signs():
    """Peaks are taken at one place: a pull, a force around, and couples of either sign bend the wall by the sum of all.

    By hand, on a foot of no width: of the couple alone C/2 to either side, over b; a moment off the wall pushes around it one way
    at the foot's one end and back at the other, 6 M/b² there.
    """
    size = (0.15, 1e-6)
    b = size[0] + RING_LENGTH_FACTOR * math.sqrt(0.097 * 0.006)
    parts = np.diag([0.0, 10e3, 2e3, 300.0, 50.0, 70.0])
    bending, force, _ = ring_flows(TUBE, size, parts)
    assert bending[3] == pytest.approx(300 / 2 / b, rel=1e-4)
    assert force[4] == pytest.approx(6 * 50 / b**2, rel=1e-9)
    for signs in ((1, 1, 1, 1, 1, 1), (1, 1, -1, -1, 1, -1), (1, -1, 1, -1, -1, 1)):
        together, both, _ = ring_flows(TUBE, size, (signs * parts.sum(axis=0))[None])
        assert together == pytest.approx([bending.sum()], rel=1e-12)
        assert both == pytest.approx([force.sum()], rel=1e-12)


def test_a_round_metal_wall_yields_in_bending():
    """σ = 6M/t² + N/t against the proof stress of the metal, by its factor."""
    load = np.array([[0, 10e3, 0, 0, 0, 0.0]])
    (check,) = wall_bending_checks("wall", TUBE, (0.15, 0.05), load, SafetyFactors())
    bending, force, _ = ring_flows(TUBE, (0.15, 0.05), load)
    assert check.load[0] == pytest.approx(6 * bending[0] / 0.006**2 + force[0] / 0.006)
    assert check.margin[0] == pytest.approx(260e6 / (1.65 * check.load[0]) - 1)


def test_twice_the_wall_holds_more_than_twice_the_load():
    """A laminate twice as thick is more than twice as strong in bending across a foot."""
    thick = lay_up(
        ["4x db 600", "8x uni 300", "mirror"], LaminateMaterials(fibre="carbon_sm", process="vacuum")
    )
    load = np.array([[1e3, 10e3, -2e3, 100, 50, 30.0]])
    thin_usage, thick_usage = (
        wall_bending_checks(
            "wall",
            SupportingWall(laminate, thickness=laminate.thickness, diameter=0.2),
            (0.2, 0.1),
            load,
            SafetyFactors(),
        )[0].load[0]
        for laminate in (PLIES, thick)
    )
    assert thick_usage < thin_usage / 2


def test_signs_of_loads_do_not_matter_to_a_symmetric_wall():
    """A foot turned about, or seen in a mirror, finds the wall as strong."""
    load = np.array([[1e3, 10e3, -2e3, 100, 50, 30.0]])
    for wall in (TUBE, SupportingWall(PLIES, thickness=PLIES.thickness, diameter=0.2)):
        here, there = (
            wall_bending_checks("wall", wall, (0.2, 0.1), sign * load, SafetyFactors())[0].load
            for sign in (1, -1)
        )
        np.testing.assert_array_equal(here, there)


def test_a_flat_metal_wall_is_a_plate_around_a_disc():
    """A push on a clamped plate with a rigid middle: M_r = P/4π [2R² ln(R/r)/(R² − r²) − 1] (Timoshenko 1959, from memory)."""
    wall = SupportingWall(metal=ALLOY, thickness=0.008, support_radius=0.3)
    side = 0.1
    r, R, P = side / math.sqrt(math.pi), 0.3, 5e3
    (check,) = wall_bending_checks(
        "wall", wall, (side, side), np.array([[0, P, 0, 0, 0, 0.0]]), SafetyFactors()
    )
    moment = P / (4 * math.pi) * (2 * R**2 * math.log(R / r) / (R**2 - r**2) - 1)
    assert check.load[0] == pytest.approx(6 * moment / 0.008**2)


def test_a_wall_whose_shape_is_not_given_is_not_checked():
    """Neither round nor held anywhere: nothing is said of it; and what holds it must lie beyond the foot."""
    load = np.ones((2, 6))
    (check,) = wall_bending_checks(
        "wall", SupportingWall(metal=ALLOY, thickness=0.008), (0.1, 0.1), load, SafetyFactors()
    )
    assert check.kind == "not checked"
    assert "held_at" in check.reason
    near = SupportingWall(metal=ALLOY, thickness=0.008, support_radius=0.05)
    with pytest.raises(InputFault, match="within the base plate"):
        near.check_size((0.1, 0.1))
