"""What carries the stay, with the stay at its breaking load."""

import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.breaking_load import CHECK, NO_LINE, NO_RIG, PART, breaking_load_checks
from cases.analyses.study import run_study
from femcore.base.errors import InputFaults
from femcore.materials import lines
from models.boat.parts import StayLine
from models.strength.margins import SafetyFactors
from tests.models.boats import STRUT, TAUT, boat_file_of

TANG = {
    "metal": "ss_1_4401", "width": "60 mm", "thickness": "12 mm", "length": "50 mm", "end": "40 mm", "pin": "25 mm",
    "hole": "25.5 mm", "toggle": "20 mm", "lean": "14 deg",
}  # fmt: skip
BREAKING = 80e3
SUFFIX = ", stay at its breaking load"


def rig(tension, rake="14 deg", name="upwind"):
    """A rig case as a file gives it."""
    return {"name": name, "kind": "rig", "tension": f"{tension} N", "rake": rake}


def study(cases, *, line=True, **factors):
    """A trussed beam with a tang and a rod, free about a pin."""
    stay = {"up": "0.1 m", "tang": TANG} | ({"line": {"breaking": f"{BREAKING} N"}} if line else {})
    file = boat_file_of(
        [{"name": "pinned", "kind": "pinned", "axis": [1, 0, 0]}, {"name": "rigid", "kind": "rigid"}],
        cases,
        station=3.6,
        inboard=0.4,
        striker=STRUT | {"tube": {"metal": "al6082_t6", "diameter": "60 mm", "wall": "5 mm", "effective": 1}},
        martingale=TAUT | {"line": {"breaking": "180 kN", "diameter": "16 mm"}},
        stay=stay,
    )
    if factors:
        file = file.model_copy(update={"factors": SafetyFactors(**factors)})
    return run_study(file)


def by_name(checks):
    """(part, check) → check."""
    return {(check.part, check.check): check for check in checks}


def test_the_tang_s_pin_carries_half_the_breaking_load_in_each_plane():
    """Statics: shear of BL/2 whatever the cases pull, against 0.6 A f_u with γM2 = 1.875/1.5 alone."""
    run = study([rig(20e3)])
    for joint in run.joints:
        pin = by_name(breaking_load_checks(run.file, [joint])[0].checks)[
            ("forestay's tang", f"pin in shear{SUFFIX}")
        ]
        assert pin.load[0] == pytest.approx(BREAKING / 2)
        assert (pin.factor.value, pin.factor.name) == (pytest.approx(1.25), "ultimate")


def test_parts_are_loaded_as_by_a_rig_case_of_that_tension():
    """The same loads as of a case with the stay at that tension, pretension included, at every rake; other factors, and no
    limits in service.
    """
    run = study([rig(20e3), rig(30e3, "10 deg", "reach"), rig(BREAKING, name="broken")])
    analysis = Analysis(run)
    for joint, margins in zip(run.joints, analysis.part_margins, strict=True):
        found = breaking_load_checks(run.file, [joint])[0]
        assert found.names == (
            "stay at its breaking load, raked 10°", "stay at its breaking load, raked 14°",
        )  # fmt: skip
        of_case = by_name(margins.other_checks)
        assert len(found.checks) > 12
        for check in found.checks:
            same = of_case[check.part, check.check.removesuffix(SUFFIX)]
            assert check.load[1] == pytest.approx(same.load[2], rel=1e-9)
            assert check.factor.value <= same.factor.value
        assert not any("in service" in check.check for check in found.checks)
        assert not any(check.factor.name == "bond_elastic" for check in found.checks)


def test_the_martingale_may_carry_four_fifths_of_its_own_once():
    """Over γM2 = 1.25, not the 0.4 for loads that come again and again; every factor grows with `breaking`."""
    plain, raised = (
        by_name(breaking_load_checks(run.file, [run.joints[0]])[0].checks)
        for run in (study([rig(20e3)]), study([rig(20e3)], breaking=1.2))
    )
    line = ("martingale", f"line at its terminal{SUFFIX}")
    assert plain[line].factor.value == pytest.approx(1.25)
    assert plain["forestay's tang", f"pin in bending{SUFFIX}"].factor.value == pytest.approx(1.1)
    for name, check in raised.items():
        assert check.factor.value == pytest.approx(1.2 * plain[name].factor.value)


def test_a_small_factor_is_not_made_smaller_than_the_breaking_load():
    """A file's own factor of 1.2 leaves 1.0 on the breaking load, not 0.8."""
    run = study([rig(20e3)], yielding=1.2)
    found = by_name(breaking_load_checks(run.file, [run.joints[0]])[0].checks)
    assert found["forestay's tang", f"pin in bending{SUFFIX}"].factor.value == 1.0


def test_its_margins_are_in_the_list_and_in_the_outcome():
    """A wire too strong for its tang makes the parts beside the joint inadequate, though every case is small; the worst list
    names what was solved.
    """
    weak = Analysis(study([rig(1e3)])).part_margins[0]
    assert weak.outcomes[1] == "fails"
    worst, name = weak.governing_check(own=False)
    assert worst.check.endswith(SUFFIX)
    assert name == "stay at its breaking load, raked 14°"
    margins = [one.margin for one, case in weak.worst if case is not None]
    assert margins == sorted(margins)


@pytest.mark.parametrize(
    ("cases", "line", "why"),
    [
        ([rig(20e3)], False, NO_LINE),
        ([{"name": "racking", "kind": "racking", "force": "6 kN"}], True, NO_RIG),
    ],
)
def test_without_line_or_rake_it_is_listed_as_not_checked(cases, line, why):
    """What lacks its data is asked for, never passed."""
    margins = Analysis(study(cases, line=line)).part_margins[0]
    lacking = [one for one, case in margins.worst if case is None and one.part == PART]
    assert [(one.check, one.reason) for one in lacking] == [(CHECK, why)]
    assert margins.outcomes[1] != "holds"


def test_a_line_is_given_in_one_way():
    """By its breaking load, or by material and diameter: not both, not neither, no material without a diameter."""
    wire = StayLine(material="wire_1x19", diameter=0.010)
    assert wire.breaking_load == pytest.approx(lines()["wire_1x19"].breaking_load(0.010))
    assert StayLine(breaking=80e3).breaking_load == 80e3
    for wrong in ({}, {"material": "wire_1x19", "breaking": 80e3}, {"material": "wire_1x19"}):
        with pytest.raises(InputFaults):
            StayLine(**wrong)
