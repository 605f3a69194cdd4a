"""The scan of waves: superposition against a solution of its own, symmetry, and parts worst at corners of the joint loads."""

from functools import cache

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.solved_cases import solve_cases
from cases.analyses.study import run_study
from cases.analyses.wave_scan import extreme_states, in_sea, scanned_joint_loads, unit_joint_loads, wave_scans
from cases.input.boat_file import BoatFile
from cases.loads.base import expanded_case
from cases.loads.wave_balance import balanced_load, grid_of_states
from cases.loads.wave_spectrum import Sea
from cases.loads.waves import hull_loads
from femcore.base.toml import checked
from models.joints.base import without_side
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index
from tests.models.boats import example_boat

WAVES = {
    "name": "waves",
    "kind": "waves",
    "displacement": "10 t",
    "waterline": "12.8 m",
    "breadth": "1.2 m",
    "steepness": 0.05,
}
TORQUE = component_index("torque")


@cache
def analysed(**keys):
    """The demo boat with three of its joints, in waves alone."""
    raw = {
        key: value for key, value in example_boat("demo").raw.items() if key not in {"variants", "service"}
    }
    joints = [one for one in raw["joints"] if one["name"] in {"fork and pin", "bonded socket", "bolted lugs"}]
    return Analysis(
        run_study(checked(raw | {"joints": joints, "cases": [WAVES | keys]}, BoatFile, "mine.toml"))
    )


@cache
def scanned():
    """States, load along the hulls, and what each adds to the joint loads with the bonded socket."""
    found = analysed()
    joint = next(one for one in found.study.joints if one.joint.name == "bonded socket")
    (case,) = found.file.active_cases
    form = case.form(found.file)
    states = case.waves(form).chosen(slice(None, None, 7))
    load = balanced_load(form, states)
    unit, rest = unit_joint_loads(joint.front, form, case)
    return joint, case, form, states, load, scanned_joint_loads(load, unit), rest


def test_unit_loads_add_up_to_the_solution_of_a_wave():
    """A frame in first order is linear: joint loads by unit loads are those of the wave solved as a case, less pretension."""
    joint, case, form, _, load, added, rest = scanned()
    some = np.linspace(0, len(load) - 1, 5).astype(int)
    cases = []
    for at in some:
        placed, lines = hull_loads(joint.front.boat, form, load[at])
        cases.append(expanded_case(case, "one", case.origin(), placed, lines, str(at)))
    direct = solve_cases(joint.front.boat, "socket", joint.stiffness, cases)
    scale = np.abs(added).max()
    assert np.abs(rest).max() > 1.0  # pretension is in it
    assert (added[some] + rest) / scale == pytest.approx(direct.loads / scale, abs=1e-9)


def test_no_wave_run_as_a_case_is_worse_than_the_scan():
    """The largest of each component over all waves is at least that of the cases, which are some of them."""
    found = analysed()
    (scan,) = found.wave_scans
    for of_waves, joint in zip(scan.joints, found.study.joints, strict=True):
        run = np.array([one.added_joint_load for one in joint.cases])
        for number, one in enumerate(of_waves.components):
            largest = np.abs(run[..., number]).max()
            assert one.size >= largest * (1 - 1e-6) - 1e-6 * np.abs(run).max()
            assert one.component == JOINT_LOAD_NAMES[number]


def test_the_worst_heading_and_length():
    """Torque and vertical bending are worst at 30° to 70°, in waves about as long as the boat (common practice)."""
    (scan,) = analysed().wave_scans
    for one in scan.joints:
        torque = one.components[TORQUE].state
        assert 30 <= np.degrees(torque.heading) <= 70
        assert 0.7 <= torque.length / 12.8 <= 1.4


def test_waves_from_ahead_and_abeam_attract_no_torque_but_that_of_pitching_alike():
    """At 0° and 90° both hulls are bent alike or not at all: torque is less than half of that at the worst heading."""
    (scan,) = analysed().wave_scans
    for one in scan.joints:
        over = one.over_heading[:, TORQUE]
        assert over.shape == scan.heading.shape
        assert over.max() == pytest.approx(one.components[TORQUE].size, rel=1e-12)
        assert max(over[0], over[-1]) < 0.5 * over.max()


def test_twice_the_scale_is_twice_the_load():
    """`scale` is a factor on all that a case puts on the boat."""
    once, twice = (analysed(**keys).wave_scans[0] for keys in ({}, {"scale": 2.0}))
    for one, other in zip(once.joints, twice.joints, strict=True):
        assert other.over_heading == pytest.approx(2 * one.over_heading, rel=1e-9, abs=1e-6)


def test_steeper_waves_leave_less_margin():
    """A part of the joint has less margin in higher waves; the governing one comes first."""
    low, high = (analysed(**keys).wave_scans[0].joints[-1] for keys in ({}, {"steepness": 0.1}))
    assert low.joint == "bolted lugs"
    margins = [one.margin for one in low.parts]
    assert margins == sorted(margins)
    steep = {one.part: one.margin for one in high.parts}
    own = {without_side(part) for part in analysed().part_margins[-1].joint_part_names}
    assert len(own & set(steep)) > 5
    assert all(steep[one.part] < one.margin for one in low.parts if one.part in own)


def test_parts_are_worst_at_corners():
    """No state has less margin of a part than the states tried, but by what lies between their directions: 2 % of 1 + margin."""
    joint, _, _, _, _, added, rest = scanned()
    lugs = next(one for one in analysed().file.joints if one.name == "bolted lugs")
    few = added[::29] + rest
    tried = extreme_states(added)
    assert len(tried) <= 48

    def least(load):
        found = [one for one in lugs.checks(load, joint.front.boat.factors) if one.kind == "checked"]
        return {(one.part, one.check): one.margin.min() for one in found}

    of_tried, of_few = least(added[tried] + rest), least(few)
    assert all((1 + of_tried[key]) <= 1.02 * (1 + of_few[key]) for key in of_few)


def test_parts_beside_the_joint_are_no_better_off_than_in_the_waves_run():
    """The cases run are among the waves scanned: no part has a lower margin there, but for buckling of the frame as a whole."""
    found = analysed()
    scan = found.wave_scans[0].joints[-1]
    least = {one.part: one.margin for one in scan.parts}
    assert {"crossbeam", "longeron"} <= set(least)
    for worst, case in found.part_margins[-1].worst:
        part = without_side(worst.part)
        if (
            case is None
            or worst.check == "buckled as a whole"
            or part not in least
            or "breaking" in worst.check
        ):
            continue
        assert least[part] <= worst.margin + 1e-3 * (1 + abs(worst.margin))


def in_a_sea(**keys):
    """Components of the bonded socket's joint load in an irregular sea."""
    sea = {"significant": "1 m", "period": "4 s"} | keys
    joint, case, form, *_ = scanned()
    unit, _ = unit_joint_loads(joint.front, form, case)
    given = case.model_copy(update={"sea": Sea.model_validate(sea)})
    return in_sea(form, given, unit, np.radians(np.arange(0, 91, 15.0)), 1.0)


def test_a_narrow_sea_is_its_regular_wave():
    """A sea of one frequency has m₀ = |H|² Hs²/16: its significant load is that of a regular wave of amplitude Hs/2."""
    joint, case, form, *_ = scanned()
    unit, _ = unit_joint_loads(joint.front, form, case)
    heading, length = np.radians([45.0]), 9.80665 * 4.0**2 / (2 * np.pi)
    states = grid_of_states(heading, np.array([length]), np.array([0.1]), np.array([0.0, np.pi / 2]))
    torque = scanned_joint_loads(balanced_load(form, states), unit)[..., 0, TORQUE]
    regular = np.hypot(*torque) / 0.05 * 0.5

    class OneFrequency(Sea):
        def density(self, omega):
            line = np.exp(-(((omega - 2 * np.pi / self.period) / 0.05) ** 2) / 2)
            return line / np.trapezoid(line, omega) * self.significant**2 / 16

    one = OneFrequency.model_validate({"significant": "1 m", "period": "4 s"})
    found = in_sea(form, case.model_copy(update={"sea": one}), unit, heading, 1.0)[TORQUE]
    assert found.significant == pytest.approx(regular, rel=0.03)
    assert found.period == pytest.approx(4.0, rel=0.02)
    assert found.ranges[0].dirlik == pytest.approx(found.ranges[0].narrow_band, rel=0.05)


def test_a_higher_sea_loads_in_proportion():
    """Linear transfer functions: twice the height is twice every load; the largest is 1.5 to 2.2 times the significant."""
    for one, other in zip(in_a_sea(), in_a_sea(significant="2 m"), strict=True):
        assert other.significant == pytest.approx(2 * one.significant, rel=1e-9)
        assert 1.5 < one.largest / one.significant < 2.2
        for of in one.ranges:
            assert 0 < of.dirlik <= of.narrow_band * 1.02


def test_long_seas_rack_less():
    """A boat follows waves much longer than she is: at three times the period there is less than a third of the torque."""
    short, long = (in_a_sea(period=period)[TORQUE] for period in ("4 s", "12 s"))
    assert long.significant < short.significant / 3


def test_without_a_sea_there_is_none():
    """A case of regular waves alone has no irregular sea."""
    assert all(one.sea == () for one in analysed().wave_scans[0].joints)


def test_without_waves_there_is_no_scan():
    """A file without such a case has nothing to scan."""
    assert wave_scans(example_boat("slender"), []) == ()
