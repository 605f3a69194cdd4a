"""Straps and clamps, and kinds that describe no parts: what they give, and that nothing of them passes unchecked."""

import numpy as np
import pytest

from models.joints import JOINTS
from models.strength.margins import SafetyFactors, overall_outcome, unchecked
from models.strength.springs import displacements, transferred_loads

LOADS = np.array([[2e3, -1e3, 9e3, 500.0, 80.0, -200.0], [-1e3, 0.4e3, 3e3, 90.0, -50.0, 10.0]])


def strapped(**changed):
    """Two straps 300 mm apart on a tube of 200 mm."""
    tables = {
        "name": "straps", "kind": "strapped", "places": ["50 mm", "350 mm"], "diameter": "200 mm", "across": "20 MN/m",
        "along": "4 MN/m",
    }  # fmt: skip
    return JOINTS[changed.get("kind", "strapped")].model_validate(tables | changed)


def test_two_straps_are_stiff_in_roll_by_their_places():
    """Σ k y² about the joint's point in roll and yaw, n k across, n k_t r² in pitch (springs on a line)."""
    K = strapped().stiffness().matrix
    assert np.diag(K) == pytest.approx([40e6, 8e6, 40e6, 20e6 * 0.125, 8e6 * 0.01, 20e6 * 0.125])


def test_straps_balance_the_load_and_the_work():
    """What the straps carry sums to the load about the joint's point, their energy to its work."""
    joint = strapped()
    shared = joint.shares(LOADS)
    total = sum(transferred_loads(shared[:, n], [0.0, y, 0.0]) for n, y in enumerate((0.05, 0.35)))
    assert total == pytest.approx(LOADS, abs=1e-6)
    work = (displacements(joint.stiffness().matrix, LOADS) * LOADS).sum(axis=1) / 2
    assert sum(joint.energy_by_part(LOADS).values()) == pytest.approx(work)


def test_a_strap_slips_by_what_acts_along_and_around_the_beam():
    """Each of two straps has half of a pull and half of a torque: √((F/2)² + (T/2r)²) against its grip (common practice)."""
    loads = np.array([[0, 600.0, 0, 0, 80.0, 0]])
    check = strapped(grip="2 kN").port_checks(loads, SafetyFactors())[0]
    assert check.load == pytest.approx([500.0])
    assert check.allowable == pytest.approx([2e3])


@pytest.mark.parametrize("kind", ["strapped", "clamped"])
def test_straps_never_pass(kind):
    """A strap's parts are not described, so that it is never said to hold, with a grip or without."""
    for changed in ({}, {"grip": "1 MN"}):
        assert (
            overall_outcome(strapped(kind=kind, **changed).port_checks(1e-6 * LOADS, SafetyFactors()))
            == "not known"
        )


@pytest.mark.parametrize(
    "tables",
    [{"kind": "rigid"}, {"kind": "pinned", "axis": [1, 0, 0]}, {"kind": "sprung", "pitch": "400 kN*m/rad"}],
)
def test_a_joint_without_parts_is_not_checked(tables):
    """Pinned, rigid and entered joints say that their parts are not described, on both sides, and have no torque at failure."""
    joint = JOINTS[tables["kind"]].model_validate({"name": "one"} | tables)
    checks = joint.checks(np.stack([LOADS, LOADS], axis=1), SafetyFactors())
    assert [check.part for check in unchecked(checks)] == ["port all parts", "starboard all parts"]
    assert overall_outcome(checks) == "not known"
    assert joint.moment_at_failure("pitch") is None
    assert joint.design_variables() == ()
