"""Sizing: the smallest size that holds, judged by the loads it attracts; and when material chases its own load."""

import copy
import json
from dataclasses import replace

import numpy as np
import pytest

from cases.analyses.analysis import analyse
from cases.analyses.boat_sizes import boat_variables
from cases.analyses.breaking_load import CHECK, PART
from cases.analyses.case_rows import case_rows
from cases.analyses.sizing import (
    Trial,
    max_pitch_stiffness,
    pitch_bound,
    raise_sizes,
    size_boat,
    size_joint,
    sizing_data,
)
from cases.analyses.solved_cases import solved_cases
from cases.cli.commands import forebeam
from cases.cli.size_output import sizing_tables, work_order
from cases.input.boat_file import BoatFile
from cases.input.combinations import Combination
from models.attachments import BEAM_SIDE_KINDS
from models.checks.beam_parts import FRAME_BUCKLING, beam_part_checks
from models.checks.not_checked import never_checked
from models.joints.base import FailureMoment
from models.response.attraction import AttractionCurve, attraction_curve
from models.response.joint_loads import joint_loads
from models.strength.margins import SafetyFactors
from tests.models.attachments.test_attachments import fixing, loads
from tests.models.boats import boat_file_of, example_boat, validated
from tests.models.joints.test_joint_lug import FITTING

FORCE = 50e3
"""N: at 20 kN, at which the pin failed by limits of service under ultimate loads, nothing falls short."""
RACKING = [{"name": "racking", "kind": "racking", "force": f"{FORCE} N"}]


def boat(cases=RACKING, **lugs):
    """The plain boat on the lug fitting, its hull side rigid and its bolts strong."""
    joint = copy.deepcopy(FITTING)
    joint["lugs"] |= lugs
    del joint["hull"]["held_at"]
    return boat_file_of([joint], cases, station=3.6, inboard=0.4)


def test_the_size_taken_is_the_smallest_that_holds():
    """Of all steps only the last, which is taken, is at or above the target; the check holds in the end."""
    file = boat()
    sized = size_joint(file, file.joints[0])
    assert sized.sizings
    for sizing in sized.sizings:
        margins = [step.margin for step in sizing.steps]
        assert all(margin < 0 for margin in margins[:-1])
        assert sizing.chosen == len(margins) - 1 if margins[-1] >= 0 else sizing.chosen is None
    held = {(s.part, s.check) for s in sized.sizings if s.chosen is not None}
    short = {(w.part.split(" ", 1)[1], w.check) for w in sized.failing}
    assert not held & short


def test_an_analysis_is_sized_as_its_file():
    """From the solution of an analysis the same sizes are taken, to the last digit, as from the file."""
    file = boat()
    assert sizing_data(size_boat(analyse(file))) == sizing_data(size_boat(file))


def test_a_boat_as_it_is_need_not_be_checked_again_to_be_tried():
    """The checks of an analysis are those of a trial of the same rows, the frame's buckling, which no size is tried against,
    left out; so are the sizes that are raised for them.
    """
    file = boat()
    analysis = analyse(file)
    (margins,) = analysis.part_margins
    *others, buckling = margins.other_checks
    assert (buckling.part, buckling.check) == FRAME_BUCKLING
    margins = replace(
        margins, other_checks=(*others, replace(buckling, load=np.full_like(buckling.load, 2.0)))
    )
    known, made = Trial.of_margins(file, margins), Trial.of(file, file.joints[0], margins.rows)
    assert [(one.part, one.check, one.kind) for one in known.checks] == [
        (one.part, one.check, one.kind) for one in made.checks
    ]
    for one, other in zip(known.checks, made.checks, strict=True):
        np.testing.assert_array_equal(one.margin, other.margin)
    assert sizing_data(size_boat(analysis))[0]["sizings"]
    assert raise_sizes(known) == raise_sizes(made)


def test_factors_that_are_known_change_no_answer():
    """With the stay's tang elsewhere the frame is the same: loads are those of the boat that is solved on its own."""
    file = boat([*RACKING, {"name": "upwind", "kind": "rig", "tension": "20 kN", "rake": "12 deg"}])
    front, solution = solved_cases(file, file.joints[0])
    moved = file.model_copy(update={"stay": file.stay.model_copy(update={"forward": 0.3})})
    (alone, own), (with_factors, taken) = (
        solved_cases(moved, file.joints[0], solved) for solved in (None, front)
    )
    assert with_factors.prepared is front.prepared
    assert alone.prepared is not front.prepared
    assert joint_loads(taken) == pytest.approx(joint_loads(own), rel=1e-10, abs=1e-6)
    assert np.abs(joint_loads(taken)[1] - joint_loads(solution)[1]).max() > 100.0


def test_every_step_is_solved_anew():
    """A step's torque is that of the boat solved with that size in place, not of the one before."""
    file = boat()
    sizing = next(s for s in size_joint(file, file.joints[0]).sizings if s.design_variable == "pin diameter")
    torques = [step.torque for step in sizing.steps]
    assert torques == sorted(torques)
    assert torques[-1] > torques[0]
    loads = joint_loads(solved_cases(file, file.joints[0])[1])
    first = size_joint(file, file.joints[0]).sizings[0].steps[0]
    assert first.torque == pytest.approx(np.abs(loads[..., 4]).max())
    assert first.bending == pytest.approx(np.abs(loads[..., 3]).max())
    assert first.force == pytest.approx(np.sqrt((loads[..., :3] ** 2).sum(axis=-1)).max())
    assert first.bending != pytest.approx(first.torque)


def test_sizes_hold_over_combinations_too():
    """Twice a racking case as a combination asks for the sizes that twice its force as a case asks for."""
    single = boat([RACKING[0] | {"force": f"{FORCE / 2} N"}])
    twice = single.model_copy(update={"combinations": [Combination(name="twice", factors={"racking": 2.0})]})
    taken = [
        [(s.part, s.check, s.design_variable, s.chosen) for s in size_joint(file, file.joints[0]).sizings]
        for file in (single, twice, boat())
    ]
    assert taken[1] == taken[2]
    assert taken[0] != taken[1]


def test_a_soft_joint_that_is_stiffened_chases_its_own_load():
    """Far below half-torque stiffness torque grows with stiffness, T = T_rigid k/(k + k_half): the gain mostly goes."""
    slender = {
        "width": "24 mm",
        "hole": "10.5 mm",
        "end": "14 mm",
        "length": "150 mm",
        "thickness": "6 mm",
        "weld": "4 mm",
    }
    joint = copy.deepcopy(FITTING)
    joint["lugs"] |= slender
    joint["pin"]["diameter"] = "10 mm"
    del joint["hull"]["held_at"]
    file = boat_file_of(
        [joint], [{"name": "racking", "kind": "racking", "force": "60 kN"}], station=3.6, inboard=0.4
    )
    sized = size_joint(file, file.joints[0])
    chased = [s for s in sized.sizings if s.attracts_own_load]
    assert chased
    for sizing in chased:
        last = sizing.steps[-1]
        assert last.at_first_load > last.margin
        assert last.pitch > sizing.steps[0].pitch


def test_the_bound_on_stiffness_is_where_the_curve_meets_what_is_carried():
    """T_rigid k/(k + k_half) at the bound is the torque allowed; below it less, and where rigid attracts less there is none."""
    curve = AttractionCurve("pitch", 0.2, 300e3, 500e3)
    k = max_pitch_stiffness(curve, 2000.0, 700.0)
    assert 2000.0 * curve.attraction(k) == pytest.approx(700.0)
    assert max_pitch_stiffness(curve, 600.0, 700.0) is None


def test_a_joint_at_its_bound_feels_the_torque_that_it_may():
    """The boat solved with the pitch spring at the bound puts the torque allowed on the joint in the racking case."""
    file = boat()
    joint = file.joints[0]
    bound = pitch_bound(file, joint, case_rows(joint, *solved_cases(file, joint)))
    spring = joint.stiffness().with_spring("pitch", bound.most)
    found = attraction_curve(file, spring, "pitch")
    assert abs(found.moment(bound.most)) * FORCE == pytest.approx(bound.allowed, rel=1e-6)
    failure = joint.moment_at_failure("pitch")
    assert isinstance(failure, FailureMoment)
    assert bound.allowed <= failure.moment / min(SafetyFactors().yielding, 2.5) + 1e-9


def test_the_bound_is_on_racking_torque_whatever_bends_the_joint():
    """Vertical bending alike on both hulls adds no racking torque: the bound is that without it, worked by hand from pitch."""
    lifted = {
        "name": "lifted",
        "kind": "points",
        "also": [{"place": "beam centre", "force": "0 0 90 kN"}],
    }
    alone, both = (boat(cases) for cases in (RACKING, [*RACKING, lifted]))
    found = []
    for file in (alone, both):
        joint = file.joints[0]
        rows = case_rows(joint, *solved_cases(file, joint))
        found.append(pitch_bound(file, joint, rows))
        assert np.abs(rows.values.joint_load[..., 3]).max() > 0
    torque = np.abs(joint_loads(solved_cases(alone, alone.joints[0])[1])[0, :, 4])
    for bound in found:
        assert bound.case == "racking"
        assert bound.torque == pytest.approx(torque.mean(), rel=1e-9)


def test_what_no_size_cures_is_told():
    """A joint without sizes keeps what is short and unchecked in its report, and nothing is said to hold."""
    file = boat_file_of([{"name": "rigid", "kind": "rigid"}], RACKING, station=3.6)
    sized = size_boat(file)[0]
    assert sized.sizings == ()
    assert {w.part for w in sized.not_checked} >= {"port all parts", "starboard all parts"}
    assert sized.bound is None


def test_the_report_is_json_and_tables():
    """Every curve as arrays of one length, no number that JSON does not know; the terminal has the same in words."""
    file = boat()
    sized = size_boat(file)
    data = json.loads(json.dumps(sizing_data(sized), allow_nan=False))
    for sizing in data[0]["sizings"]:
        assert len({len(values) for values in sizing["curve"].values()}) == 1
    first, *tables = sizing_tables(sized, file)
    assert len(tables) > len(data[0]["sizings"])
    assert first.plain.startswith("In no check, with any joint: ")
    assert all(entry.what in first.plain for entry in never_checked(file))


def test_the_work_order_comes_before_the_sizes_tried():
    """What is not checked comes first, then in one line the size to be made of each thing: that of the last step taken."""
    file = boat()
    [sized] = size_boat(file)
    order = work_order(sized)
    last = {one.design_variable: one.steps[one.chosen].size for one in sized.sizings if one.chosen}
    assert order == last
    assert order
    lines = [part.plain for part in sizing_tables((sized,), file) if hasattr(part, "plain")]
    begun = [next(n for n, line in enumerate(lines) if line.startswith(word)) for word in (
        "In no check", "Not checked, so not assessed", "Work order: ", "Choose ",
    )]  # fmt: skip
    assert begun == sorted(begun)
    what, size = next(iter(order.items()))
    assert f"{what}: {size}" in lines[begun[2]]


def test_where_the_stay_has_no_torque_is_said_once():
    """Of two joints with the same place one line at the end, its cases together; of two places a line below each joint."""
    file = boat()
    [sized] = size_boat(file)
    places = {"gust": -0.0399, "calm": -0.0399}
    one, other = (replace(sized, joint=name, stay_forward=places) for name in ("one", "other"))
    moved = replace(other, stay_forward={"gust": 0.0112})
    for joints, count in (((one, other), 1), ((one, moved), 2)):
        lines = [part.plain for part in sizing_tables(joints, file) if hasattr(part, "plain")]
        said = [line for line in lines if line.startswith("Torque-free attachment")]
        assert len(said) == count
        assert said[0].endswith(": 39.9 mm behind the beam's axis (gust, calm).")
        assert said[-1] == lines[-1]
        assert ("11.2 mm ahead of" in said[-1]) == (count == 2)


def test_the_command_is_there():
    """`forebeam size` is a command with its margin, JSON and picture."""
    assert {option.name for option in forebeam.commands["size"].params} == {
        "file",
        "target",
        "as_json",
        "pareto",
    }


@pytest.mark.parametrize("kind", BEAM_SIDE_KINDS)
@pytest.mark.parametrize(
    ("part", "path"),
    [
        ("forestay's tang", ("stay", "tang", "fixing")),
        ("longeron at the crossbeam", ("longeron", "ends", "crossbeam")),
    ],
)
def test_a_larger_size_of_a_fixing_helps_the_check_that_it_is_for(kind, part, path):
    """Under the same loads the next size of every knob of a fixing raises the least margin that it suits, in a list as alone."""
    raw = copy.deepcopy(example_boat("demo").raw)
    *tables, key = path
    here = raw
    for step in tables:
        here = here[step]
    one = fixing(kind, "60 mm" if part.startswith("longeron") else None)
    here[key] = [one] if kind == "bonded" else one
    if kind == "welded":
        one["throat"] = "4 mm"
    file = validated(BoatFile, raw)
    design_variables = [
        design_variable for design_variable in boat_variables(file) if design_variable.name.startswith(part)
    ]
    assert design_variables
    acting = loads(stay=(-5e3, 500.0, 20e3), crossbeam=(9e3, 1e3, 8e3, 300.0, 900.0, 400.0))

    def least(boat, design_variable):
        checks = beam_part_checks(boat, acting, SafetyFactors())
        return min(
            c.margin.min()
            for c in checks
            if c.kind == "checked" and design_variable.applies_to(c.part, c.check)
        )

    for design_variable in design_variables:
        assert least(design_variable.sizes[0][1](), design_variable) > least(file, design_variable)


def test_a_knob_of_the_joint_is_not_tried_for_what_lies_beside_it():
    """Bolts of a tang fall short: the tang's bolts are raised, not the joint's, and they hold."""
    raw = copy.deepcopy(example_boat("demo").raw)
    raw["martingale"]["tang"]["fixing"]["bolts"] |= {"size": 8, "washer": "24 mm"}
    raw["joints"] = [joint for joint in raw["joints"] if joint["name"] == "taped socket"]
    raw["cases"] = [case for case in raw["cases"] if case["name"] == "upwind"]
    file = validated(BoatFile, raw | {"combinations": []})
    sized = size_joint(file, file.joints[0])
    assert [s.design_variable for s in sized.sizings] == ["martingale's tangs: bolts"]
    assert sized.sizings[0].steps[sized.sizings[0].chosen].size == "M10"
    assert sized.failing == ()
    assert [(one.part, one.check) for one in sized.not_checked] == [(PART, CHECK)]
