"""Nominal stresses of fillet welds for fatigue, and which of toe and root governs."""

import math

import numpy as np
import pytest

from femcore.materials import metals
from models.strength.attachment import Footprint
from models.strength.fatigue import FILLET_WELDS, SN_CURVES, throat_stress_ratio
from models.strength.welds.weld import FilletGroup, FilletPair
from models.strength.welds.weld_fatigue import group_stresses, weld_stresses

ALLOY = metals()["al6082_t6"]
WELD = FilletPair(ALLOY, throat=0.006, length=0.09, thickness=0.012)


def test_a_pull_goes_through_plate_and_both_throats():
    """F/wt in the plate, F/2aw across the throats: their ratio is t/2a, as a detail given by its plate's stress has it."""
    F = 20e3
    found = weld_stresses("lug", WELD, np.array([[0, F, 0, 0, 0, 0]]))
    assert found.toe[0] == pytest.approx(F / (0.09 * 0.012))
    assert found.root[0] == pytest.approx(F / (2 * 0.006 * 0.09))
    assert found.root[0] / found.toe[0] == pytest.approx(throat_stress_ratio(0.012, 0.006))
    assert found.shear[0] == 0
    assert not found.steel
    assert weld_stresses("lug", FilletPair(metals()["ss_1_4401"], 0.006, 0.09, 0.012), np.eye(6)).steel


def test_a_cross_force_turns_the_throat_s_stress_without_changing_its_size():
    """n and v of the same size give √(σ⊥² + τ⊥²) = √2 n/a, of which one sign is all normal, the other all shear; a force along
    the weld is shear along the throat alone.
    """
    F = 10e3
    both = weld_stresses("lug", WELD, np.array([[F, F, 0, 0, 0, 0]]))
    n = F / (2 * 0.09)
    assert both.root[0] == pytest.approx(math.sqrt(2) * n / 0.006)
    along = weld_stresses("lug", WELD, np.array([[0, 0, F, 0, 0, 0]]))
    assert along.root[0] == 0
    assert along.shear[0] == pytest.approx(F / (2 * 0.09 * 0.006))
    assert along.toe[0] == 0


def test_bending_of_a_plate_and_of_its_two_lines():
    """In its plane 6M/tw² in the plate and 3M/aw² in the throats: t/2a again; sideways the fillets have a longer arm."""
    M = 300.0
    found = weld_stresses("lug", WELD, np.array([[0, 0, 0, M, 0, 0], [0, 0, 0, 0, 0, M]]))
    assert found.toe == pytest.approx([6 * M / (0.012 * 0.09**2), 6 * M / (0.09 * 0.012**2)])
    assert found.root == pytest.approx([3 * M / (0.006 * 0.09**2), M / (0.012 * 0.09 * 0.006)])


def test_fillets_around_a_plate_are_the_pair_and_their_ends():
    """Along its long sides alone a plate's fillets are the pair: the same stresses under pull and bending in its plane; all
    round they are longer and carry less.
    """
    t, w, a = 0.012, 0.09, 0.006
    plate = Footprint((w, t))
    sides, around = (FilletGroup(ALLOY, a, plate.outline(ends=ends)) for ends in (False, True))
    pull, bent = np.array([[0, 20e3, 0, 0, 0, 0.0]]), np.array([[0, 0, 0, 0, 0, 300.0]])
    for loads, as_lug in ((pull, pull), (bent, np.array([[0, 0, 0, 300.0, 0, 0]]))):
        group, pair = group_stresses("eye", sides, t, loads), weld_stresses("eye", WELD, as_lug)
        assert group.root == pytest.approx(pair.root, rel=1e-9)
        assert group.toe == pytest.approx(pair.toe, rel=1e-9)
        assert (group_stresses("eye", around, t, loads).root < group.root).all()


@pytest.mark.parametrize("name", FILLET_WELDS)
def test_thin_throats_crack_from_the_root(name):
    """Toe and root are equally strong at 2a/t = toe's class over the root's, 1.75 of steel (63/36), 1.83 of alloy (22/12): a
    common fillet of a = t/2 cracks from its root.
    """
    curves = FILLET_WELDS[name]
    toe, root = SN_CURVES[curves.toe], SN_CURVES[curves.root]
    equal = toe.knee / root.knee
    assert 1.7 < equal < 1.9
    for ratio, from_root in ((0.9 * equal, True), (1.1 * equal, False)):
        in_throat = 50e6 * throat_stress_ratio(0.012, ratio * 0.006)
        assert (root.cycles(in_throat) < toe.cycles(50e6)) == from_root


def test_classes_are_those_of_the_standards():
    """Ranges at 2·10⁶ cycles: steel 63, 36 and 80 MPa (EN 1993-1-9, Table 8.5), shear with one slope of 5; alloy 22, 12, 28.

    Of alloy also parent metal 71, butt weld 32, transverse attachment 28 MPa (A. Hobbacher, IIW-1823-07, 2008, from memory).
    """
    for name, classes in (
        ("steel fillet weld", (63e6, 36e6, 80e6)),
        ("alloy fillet weld", (22e6, 12e6, 28e6)),
    ):
        for curve, category in zip(FILLET_WELDS[name], classes, strict=True):
            assert SN_CURVES[curve].cycles(category) == pytest.approx(2e6, rel=1e-9)
    for curve, category in (("parent metal", 71e6), ("butt weld", 32e6), ("transverse attachment", 28e6)):
        assert SN_CURVES[f"IIW alloy, {curve}"].cycles(category) == pytest.approx(2e6, rel=1e-9)
    sheared = SN_CURVES["steel fillet weld in shear"]
    assert (sheared.m1, sheared.m2) == (5.0, 5.0)
