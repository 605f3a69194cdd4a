"""Feet that carry six components into what they stand on: levers, patches, bolts, welds, and several in series."""

import math
from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.materials import bolt_classes, metals
from models.strength.attachment import Attachment, Footprint, attachment_checks
from models.strength.bolts.bolt_group import rectangular_group
from models.strength.bolts.bolt_strength import coarse_bolt
from models.strength.bolts.bolted_base_plate import BoltedBasePlate, BoltedPlate
from models.strength.bolts.bolted_plate import LaminateHole
from models.strength.margins import SafetyFactors, unchecked
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks
from models.strength.welds.weld import (
    FILLER_STRENGTH,
    FilletGroup,
    FilletPair,
    throat_stress,
    weld_line_forces,
)
from models.strength.welds.welded_base_plate import WeldedBasePlate

STEEL, ALLOY = metals()["ss_1_4401"], metals()["al6082_t6"]
HOLE = LaminateHole(0.01, 0.06, 200e6, 80e6, 40e6, 100e6)
CHEEKS = Footprint((0.015, 0.09), ((-0.03, 0.0), (0.03, 0.0)))


class Recorder:
    """A foot that keeps what it was loaded with."""

    def __init__(self):
        """Nothing yet."""
        self.loads = None

    def checks(self, part, loads, factors):  # noqa: ARG002  (a foot's signature)
        """Nothing to check."""
        self.loads = loads
        return ()


def of(checks, part, name):
    """The one check of that part and name."""
    return next(c for c in checks if (c.part, c.check) == (part, name))


def test_each_fixing_carries_the_whole_at_its_own_height():
    """Loads at the end of an arm come to every foot with their moment about it: M = (arm + height) × F."""
    feet = Recorder(), Recorder()
    loads = np.array([[3.0, 5.0, 7.0, 11.0, 13.0, 17.0]])
    attachments = [Attachment(feet[0], 0.0), Attachment(feet[1], 0.2)]
    attachment_checks("tang", attachments, loads, SafetyFactors(), (0.1, 0.3, -0.4))
    for foot, arm in zip(feet, ([0.1, 0.3, -0.4], [0.1, 0.5, -0.4]), strict=True):
        assert foot.loads[0, :3] == pytest.approx(loads[0, :3])
        assert foot.loads[0, 3:] == pytest.approx(loads[0, 3:] + np.cross(arm, loads[0, :3]))


def test_a_pull_along_the_arm_brings_no_moment():
    """A stay along its own cheeks loads their foot with force alone."""
    foot = Recorder()
    way = np.array([0.0, math.cos(0.25), -math.sin(0.25)])
    attachment_checks(
        "tang", [Attachment(foot)], np.r_[40e3 * way, 0, 0, 0][None], SafetyFactors(), 0.05 * way
    )
    assert np.abs(foot.loads[0, 3:]).max() < 1e-9


def test_a_patch_under_cheeks_is_their_own_roots_where_nothing_reaches_further():
    """Two plates of b × d: area 2bd, moduli 2b d²/6 about the pin, and d (b³/6 + 2b a²)/(a + b/2) about the line between them."""
    patch = CHEEKS.contact_patch(0.0, (1.0, 1.0))
    b, d, a = 0.015, 0.09, 0.03
    assert patch.area == pytest.approx(2 * b * d)
    assert patch.W1 == pytest.approx(2 * b * d**2 / 6)
    assert patch.W3 == pytest.approx(d * (b**3 / 6 + 2 * b * a**2) / (a + b / 2))


def test_a_patch_grows_to_the_whole_foot_and_no_further():
    """With enough reach a patch is the foot's rectangle, A = ab and W = ab²/6; a tube's is a circle in it, πr³/4."""
    whole = CHEEKS.contact_patch(10.0, (0.2, 0.12))
    assert whole.area == pytest.approx(0.2 * 0.12)
    assert whole.W1 == pytest.approx(0.2 * 0.12**2 / 6)
    assert whole.W3 == pytest.approx(0.12 * 0.2**2 / 6)
    round_one = Footprint(diameter=0.06).contact_patch(0.01, (0.2, 0.12))
    assert round_one.W1 == pytest.approx(math.pi * 0.04**3 / 4)
    assert Footprint(diameter=0.06).contact_patch(10.0, (0.2, 0.12)).area == pytest.approx(math.pi * 0.06**2)


def test_the_outline_of_a_stem_is_as_long_as_it_is():
    """Plates have four sides each, two without their ends; a tube as much as its circle."""
    assert FilletGroup(ALLOY, 0.005, CHEEKS.outline()).lengths.sum() == pytest.approx(4 * (0.015 + 0.09))
    assert FilletGroup(ALLOY, 0.005, CHEEKS.outline(ends=False)).lengths.sum() == pytest.approx(4 * 0.09)
    assert FilletGroup(ALLOY, 0.005, Footprint(diameter=0.1).outline()).lengths.sum() == pytest.approx(
        math.pi * 0.1
    )


def test_two_lines_of_a_group_are_the_pair_along_a_plate():
    """Each load by itself flows in a group of two lines as along the foot of a plate."""
    pair = FilletPair(ALLOY, 0.005, 0.09, 0.015, 210e6)
    group = FilletGroup(ALLOY, 0.005, Footprint((0.015, 0.09)).outline(ends=False), 210e6)
    for one in range(6):
        load = np.zeros((1, 6))
        load[0, one] = 1e3
        assert np.abs(group.flows(load)).max(axis=1) == pytest.approx(weld_line_forces(pair, load))


def test_a_group_of_welds_balances_its_load():
    """Pull and shear along all lines, linear from end to end, sum to the force and moment that they came from."""
    lines = np.concatenate([CHEEKS.outline(), Footprint(diameter=0.2).outline() + np.array([0.05, -0.02])])
    group, load = FilletGroup(ALLOY, 0.005, lines), np.array([[1e3, 5e3, -2e3, 300.0, -200.0, 150.0]])
    flows, k = group.flows(load)[0], len(lines)
    found = np.zeros(6)
    for number, (a, b) in enumerate(lines):
        along = (b - a) / np.linalg.norm(b - a)
        across = np.array([-along[1], along[0]])
        for part, weight in (
            (0.0, 1 / 6),
            (0.5, 4 / 6),
            (1.0, 1 / 6),
        ):  # Simpson: exact, the moment is quadratic
            n, v, s = (1 - part) * flows[number] + part * flows[k + number]
            at, plane = a + part * (b - a), v * across + s * along
            force = np.array([plane[0], n, plane[1]]) * weight * np.linalg.norm(b - a)
            found += np.r_[force, np.cross([at[0], 0.0, at[1]], force)]
    assert found == pytest.approx(load[0], rel=1e-9)


def test_a_ring_of_weld_is_a_line_circle():
    """Weld as a line: I_u = πr³ in bending, J_u = 2πr³ in torsion (Shigley, tables 9-1 and 9-2; from memory)."""
    r = 0.05
    ring = FilletGroup(ALLOY, 0.005, Footprint(diameter=2 * r).outline())
    bent, turned = (np.abs(ring.flows(np.eye(6)[None, one] * 1e3)) for one in (3, 4))
    assert bent[..., 0].max() == pytest.approx(1e3 * r / (math.pi * r**3), rel=5e-3)
    assert turned[..., 2].max() == pytest.approx(1e3 * r / (2 * math.pi * r**3), rel=5e-3)


def test_stainless_welds_are_as_strong_as_the_steel():
    """A fillet in 1.4401 with 316L: f_u/β_w with β_w = 1 (EN 1993-1-4 6.3, from memory); a pull F on two lines is √2 F/2aw."""
    strength = FILLER_STRENGTH["316L", "ss_1_4401"]
    pair = FilletPair(STEEL, 0.005, 0.1, 0.012, strength)
    load = np.array([[0, 50e3, 0, 0, 0, 0.0]])
    foot = WeldedBasePlate(
        FilletGroup(STEEL, 0.005, Footprint((0.012, 0.1)).outline(ends=False), strength), None
    )
    check = of(foot.checks("tang", load, SafetyFactors()), "tang, weld", "weld")
    assert strength == 500e6
    assert check.load == pytest.approx(throat_stress(pair, load))
    assert check.source.startswith("EN 1993-1-8")
    assert [c.reason for c in unchecked(foot.checks("tang", load, SafetyFactors()))] == [
        "the wall that it is welded to is not described; give onto"
    ]


def bolted(columns=2, rows=2, hole=HOLE, stem=CHEEKS):
    """A plate of 200 × 140 mm on four M10 at ±80, ±50 mm, through a tube."""
    group = rectangular_group(rows, columns, 0.1, 0.16)
    bolt = coarse_bolt(10, bolt_classes()["a4_70"])
    plate = BoltedPlate(STEEL, 0.01, (0.14, 0.2), bolt, group, 0.03, stem.distance(group.positions[:, ::-1]))
    wall = SupportingWall(metal=ALLOY, thickness=0.01, diameter=0.2)
    return BoltedBasePlate(plate, wall, hole, None if hole else 0.05)


def test_bolts_of_a_foot_share_by_statics():
    """A force along is a quarter on each of four bolts; a moment about the beam pulls two at one side by M/4a each."""
    foot = bolted()
    forces = foot.forces(
        np.array([[8e3, 0, 0, 0, 0, 0], [0, 0, 0, 600.0, 0, 0], [0, 4e3, 0, 0, 0, 0]], dtype=float)
    )
    assert forces.shear_magnitude[0] == pytest.approx([2e3] * 4)
    across = foot.plate.group.positions[:, 0]
    # M1 > 0 pulls off where 3 is below zero: M1 = −∫ z n
    assert forces.tension[1] == pytest.approx(-600.0 / (4 * 0.05) * np.sign(across))
    assert forces.tension[2] == pytest.approx([1e3] * 4)


def test_bolts_of_a_foot_balance_any_load():
    """Forces and moments of all bolts about the foot's middle sum to the load on it, in the axes of a fixing."""
    foot, load = bolted(), np.array([[1e3, 5e3, -2e3, 300.0, -200.0, 150.0]])
    forces, found = foot.forces(load), np.zeros(6)
    for (across, along), (v3, v1), pull in zip(
        foot.plate.group.positions, forces.shear[0], forces.tension[0], strict=True
    ):
        force = np.array([v1, pull, v3])
        found += np.r_[force, np.cross([along, 0.0, across], force)]
    assert found == pytest.approx(load[0])


def test_a_bolted_foot_has_half_a_t_stub_at_every_bolt_and_its_prying():
    """A pull of 40 kN on four M10 by hand (EN 1993-1-8, Table 6.2): T-stubs of bolt and image, half of each.

    A bolt at (80, 50) mm is 42.5 mm from the cheeks (15 × 90 mm at ±30 mm along) in the one direction and 5 mm in the other; to
    the plate's edge (200 × 140 mm) it has 20 mm.
    """
    foot, pull, factors = bolted(), 40e3 / 4, SafetyFactors()
    m, e = math.hypot(0.080 - 0.030 - 0.0075, 0.050 - 0.045), 0.020
    length = min(2 * math.pi * m, math.sqrt(0.14 * 0.2 / 4))
    moment, bolt = length * 0.01**2 * STEEL.proof / 4, foot.plate.bolt.tension_resistance
    n = min(e, 1.25 * m)
    stub = min(4 * moment / m, (2 * moment + 2 * n * bolt) / (m + n), 2 * bolt)
    checks = foot.checks("tang", np.array([[0, 4 * pull, 0, 0, 0, 0.0]]), factors)
    bent = of(checks, "tang, foot", "foot bent beside the bolts")
    assert bent.load == pytest.approx([pull / (stub / 2)], rel=1e-9)
    assert bent.factor.value == pytest.approx(factors.ultimate)
    # prying of the pair under the factored pull: the yield line at the stem, Q n = F m − 2 M_pl
    pair = 2 * factors.ultimate * pull
    prying = min((pair * m - 2 * moment) / n, 2 * moment / n, max(2 * bolt - pair, 0.0)) / pair
    assert prying > 0.05
    assert of(checks, "tang, bolts", "bolt in tension").load == pytest.approx([pull * (1 + prying)], rel=1e-9)


def test_a_foot_is_as_long_along_as_its_plate_s_second_axis():
    """The plate's axis 1 is the foot's across: 140 mm across and 200 mm along, by which the wall under it is checked."""
    foot = bolted()
    assert foot.size == (0.2, 0.14)
    load = np.array([[0, 10e3, 0, 0, 0, 0.0]])
    (by_hand,) = wall_bending_checks("tang, wall", foot.wall, (0.2, 0.14), load, SafetyFactors())
    (check,) = (one for one in foot.checks("tang", load, SafetyFactors()) if one.check == by_hand.check)
    assert check.load == pytest.approx(by_hand.load, rel=1e-12)


def test_bolts_in_one_line_let_the_foot_turn_about_its_edge():
    """Two bolts in a line along hold a moment about that line by the plate's edge: T = M/d for each half, d from the edge."""
    tension = bolted(columns=2, rows=1).forces(np.array([[0, 0, 0, 600.0, 0, 0.0]])).tension
    assert tension[0] == pytest.approx([600.0 / 2 / 0.07] * 2)


def test_a_foot_s_bolts_are_told_from_what_they_go_through():
    """Bolts, foot and wall are parts of their own; a laminate's strength that is not given is not checked, a metal's plate is."""
    loads = np.array([[1e3, 5e3, -2e3, 300.0, -200.0, 150.0]])
    checks = bolted().checks("tang", loads, SafetyFactors())
    assert {c.part for c in checks} == {"tang, bolts", "tang, foot", "tang, wall"}
    assert not unchecked(checks)
    unknown = bolted(hole=LaminateHole(0.01, 0.06)).checks("tang", loads, SafetyFactors())
    assert len(unchecked(unknown)) == 4
    metal = bolted(hole=None).checks("tang", loads, SafetyFactors())
    assert of(metal, "tang, wall", "plate in bearing").allowable[0] > 0


def test_a_thicker_foot_bends_less_and_pries_less():
    """Twice as thick a foot has more in hand between stem and bolt, and does not pull the bolts harder."""
    loads, foot = np.array([[0, 20e3, 0, 300.0, 0, 0.0]]), bolted()
    thick = replace(foot, plate=replace(foot.plate, thickness=0.02))
    here, there = (f.checks("tang", loads, SafetyFactors()) for f in (foot, thick))
    for part, name in (("tang, foot", "foot bent beside the bolts"), ("tang, bolts", "bolt in tension")):
        assert of(there, part, name).margin[0] >= of(here, part, name).margin[0]


def test_loads_in_a_mirror_find_the_same_margins():
    """A foot that is alike on both sides has the same margins under loads seen in a mirror along and across the beam."""
    loads = np.array([[1e3, 5e3, -2e3, 300.0, -200.0, 150.0]])
    across, along = np.array([-1, 1, 1, 1, -1, -1]), np.array([1, 1, -1, -1, -1, 1])
    welded = WeldedBasePlate(FilletGroup(STEEL, 0.005, CHEEKS.outline(), 500e6), bolted().wall)
    for foot in (bolted(), welded):
        plain = [c.load[0] for c in foot.checks("tang", loads, SafetyFactors())]
        for mirror in (across, along):
            seen = [c.load[0] for c in foot.checks("tang", mirror * loads, SafetyFactors())]
            assert seen == pytest.approx(plain, rel=1e-9)


def test_a_foot_that_cannot_be_is_a_fault():
    """A bolt beyond the plate's edge, a stem without size."""
    with pytest.raises(InputFault, match="beyond the plate's edge"):
        replace(bolted().plate, size=(0.09, 0.2))
    with pytest.raises(InputFault, match="along is 0"):
        Footprint()
