"""Every boat that the house hands out: it runs, its numbers close, and a finer mesh would not change them."""

import re
from functools import cache

import numpy as np
import pytest

from cases.analyses.study import racking_stiffness, run_study
from cases.input.boat_file import BoatFile
from cases.loads import LOAD_CASES, case_loads
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.solvers.solution import solve
from models.joints import Joint
from models.joints.rigid import RigidJoint
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from models.response.modes import RACKING, TWISTING, lowest_mode
from tests.models.boats import FILES, ROOT, example_boat

boats = pytest.mark.parametrize("name", FILES)


@cache
def run(name):
    """The study of a boat."""
    return run_study(example_boat(name))


def every(name):
    """Each joint and each case of a boat's run."""
    return [(joint, case) for joint in run(name).joints for case in joint.cases]


@boats
def test_every_joint_runs_under_every_case(name):
    """No joint is a mechanism, and every answer closes: error and imbalance at most 1e-9."""
    assert len(every(name)) == len(example_boat(name).joints) * len(example_boat(name).load_cases)
    assert max(max(case.error, case.balance) for _, case in every(name)) <= 1e-9


def close(case):
    """How closely statics holds: to rounding, or in the deformed shape to what Newton's method leaves."""
    return 1e-7 if case.change else 1e-9


@boats
def test_racking_shares_sum_to_one(name):
    """Hull, torque and shear share sum to 1 wherever something racks the bows, and to nothing else."""
    racked = [case for _, case in every(name) if case.shares]
    assert racked
    for case in racked:
        assert sum(case.shares.by_part.values()) == pytest.approx(1, abs=close(case))
        assert case.racking_moment != 0


@boats
def test_the_ledger_of_the_crossbeam_sums_to_nothing(name):
    """Forces and moments on the crossbeam sum to zero beside the largest entry of their kind under that joint."""
    for joint in run(name).joints:
        for part in (slice(0, 3), slice(3, 6)):
            largest = max(np.abs(case.path.actions[:, part]).max() for case in joint.cases)
            for case in joint.cases:
                assert np.abs(case.path.actions.sum(axis=0)[part]).max() < close(case) * largest


@boats
def test_one_case_at_least_is_solved_in_its_deformed_shape(name):
    """Each boat shows what the deformed shape changes, and it is little where the boat is sound: below a tenth."""
    changes = [case.change for _, case in every(name) if case.change]
    assert len(changes) == len(example_boat(name).joints) * sum(
        c.second_order for c in example_boat(name).load_cases
    )
    assert changes
    assert all(abs(part) < 0.1 for c in changes for part in (c.force, c.moment, c.tension, c.movement))


@boats
def test_the_martingale_stays_taut_under_racking(name):
    """Racking moves the martingale's tension by less than its pretension: a builder's reason for tightening it."""
    pretension = example_boat(name).martingale.pretension
    for _, case in every(name):
        if case.case.kind == "racking":
            assert all(0.9 * pretension < T < 1.1 * pretension for T in case.truss.tension.values())


@boats
def test_nothing_buckles_below_three_times_any_load(name):
    """Beam, strut, longeron and prod stand three times each case's load (common practice for a strut of a rig)."""
    factors = [case.buckling.factor for _, case in every(name) if case.buckling]
    assert factors
    assert min(factors) > 3


@boats
def test_the_front_end_shakes_as_fast_as_boats_do(name):
    """Bows of this size heave and rack at some ten to forty hertz, on a light platform from six (it turns about a centre aft of
    the bulkhead, with a longer lever), and twist faster than they rack (common practice).
    """
    for joint in run(name).joints:
        racking, twisting = (lowest_mode(joint.natural_modes, kind) for kind in (RACKING, TWISTING))
        assert 6 < racking.frequency < 40
        assert racking.frequency < twisting.frequency < 200


def moments_of(boat, joint, refine):
    """(c, 2, 6), joint loads with all divisions times `refine`, under loads as they stand; the largest tension of each case."""
    front = build(boat, joint.stiffness(), refine)
    loads = case_loads(front, boat.load_cases)
    solution = solve(front.frame, loads, [case.second_order for case in boat.load_cases])
    return joint_loads(solution), solution.tension.max(axis=1)


@boats
def test_halving_every_element_changes_no_joint_load(name):
    """Twice the elements move no joint load by 0.1 % of the largest force, the martingale's too, or moment of the case."""
    boat = example_boat(name)
    plain, fine = ([moments_of(boat, joint, refine) for joint in boat.joints] for refine in (1, 2))
    tension = np.max([pull for _, pull in fine], axis=0)
    plain, fine = (np.array([loads for loads, _ in both]) for both in (plain, fine))
    for part, pull in ((slice(0, 3), tension), (slice(3, 6), 0.0)):
        change = np.abs(plain - fine)[..., part].max(axis=(0, 2, 3))
        assert np.all(change < 1e-3 * np.maximum(np.abs(fine)[..., part].max(axis=(0, 2, 3)), pull))


@boats
def test_the_curve_agrees_with_the_table(name):
    """The mark on each curve of pitch and roll is the attraction that the racking cases give, to rounding, for every joint.

    Where a case asks for a movement, the rigid joint is racked as far, not as hard: its force is larger as its racking stiffness.
    """
    racked = [
        (joint, case)
        for joint, case in every(name)
        if case.case.kind == "racking" and not case.change and not case.case.also
    ]
    assert racked
    rigid = racking_stiffness(build(example_boat(name), RigidJoint(name="rigid").stiffness()))
    for joint, case in racked:
        force = 1.0 if case.case.target() is None else joint.racking_stiffness / rigid
        for direction, moment in (("pitch", "torque"), ("roll", "bending")):
            curve = joint.curves[direction]
            if curve is not None:
                mark = force * curve.attraction(curve.joint_stiffness)
                assert mark == pytest.approx(case.attraction[moment], rel=1e-8, abs=1e-9), joint.joint.name


@boats
def test_the_curve_rises_from_free_to_rigid(name):
    """What a joint attracts in pitch and roll is between that of the direction free and rigid, which only a rigid one has."""
    for joint in run(name).joints:
        for curve in filter(None, joint.curves.values()):
            part = (curve.moment(curve.joint_stiffness) - curve.free_moment) / (
                curve.rigid_moment - curve.free_moment
            )
            assert -1e-9 <= part <= 1
            assert (part == 1) == np.isinf(curve.joint_stiffness)
            assert curve.k_half > 0


@boats
def test_the_stays_lift_reaches_the_joints(name):
    """A stay's lift leaves by the joints, half on each side, but for what a longeron takes."""
    for joint, case in every(name):
        if case.case.name == "upwind":
            up = run(name).stay_lines()["upwind"].up
            lift = case.joint_load[:, 2]
            assert lift[0] == pytest.approx(lift[1], rel=close(case)), joint.joint.name
            assert 0.9 * up < lift.sum() < 1.05 * up


@boats
def test_any_joint_stiffens_the_bows_and_the_rigid_one_most(name):
    """Bare bows rack most, bows with a rigid joint least (Rayleigh's monotonicity), all others between."""
    stiffness = {joint.joint.name: joint.racking_stiffness for joint in run(name).joints}
    rigid = max(joint.racking_stiffness for joint in run(name).joints if joint.joint.kind == "rigid")
    assert run(name).bare_racking_stiffness < min(stiffness.values())
    assert max(stiffness.values()) == rigid


def test_the_boats_differ_as_boats_do():
    """Short bows hardly rack, long slender ones do; the longer the bow, the more of it a rigid beam takes in shear.

    In torque the short bows' beam takes least too; of the others' tubes the demo's is the stiffer in torsion.
    """
    bare = {name: run(name).bare_racking_stiffness for name in FILES}
    assert bare["short_bowed"] > 5 * bare["demo"] > 5 * bare["slender"]
    torque, shear = (
        {
            name: next(
                c for j, c in every(name) if j.joint.kind == "rigid" and c.case.name == "racking"
            ).shares.by_part[part]
            for name in bare
        }
        for part in ("torque", "shear")
    )
    assert min(torque["slender"], torque["demo"]) > torque["short_bowed"] > 0
    assert shear["slender"] > shear["demo"] > shear["short_bowed"] > 0
    assert max(torque.values()) < 0.05 < max(shear.values())


def keys_of(model, seen):
    """Every key that a table and the tables in it may hold, kinds of joints apart."""
    for name, field in model.model_fields.items():
        if name == "joints":
            continue
        yield name
        for inner in [*tables_in(field.annotation), *forms_in(field.metadata)]:
            if inner not in seen:
                seen.add(inner)
                yield from keys_of(inner, seen)


def tables_in(annotation):
    """The tables that a field's type speaks of."""
    if isinstance(annotation, type):
        return [annotation] if hasattr(annotation, "model_fields") else []
    inner = [table for part in getattr(annotation, "__args__", ()) for table in tables_in(part)]
    return [*inner, *forms_in(getattr(annotation, "__metadata__", ()))]


def forms_in(metadata):
    """The tables of the form in which a file gives a field (`ValidatedAs`, `BuiltFrom`)."""
    return [table for one in metadata for table in tables_in(getattr(one, "form", None))]


def test_the_boat_to_start_from_explains_every_key():
    """Each key of the boat's and its cases' tables stands in the template, in use or commented out, and is explained."""
    template = (ROOT / "cases/input/new_boat.toml").read_text(encoding="utf-8")
    lines = [line.removeprefix("# ") for line in template.splitlines()]
    keys = set(keys_of(type(example_boat("new_boat")), set()))
    assert keys > {key for kind in LOAD_CASES.values() for key in kind.model_fields}
    for key in keys:
        standing = [
            line for line in lines if re.match(rf'{key} = ["\d\[{{tf]|\[?\[([\w.]+\.)?{key}(\.\w+)?\]', line)
        ]
        assert standing, key
        assert any("#" in line for line in standing) or standing[0].startswith("["), key
    assert all(issubclass(type(joint), Joint) for joint in example_boat("new_boat").joints)


def cases_of_every_kind():
    """The first case of each kind in the template, as the file gives it but switched on, by its kind."""
    found = {}
    for case in example_boat("new_boat").raw["cases"]:
        found.setdefault(case["kind"], case | {"on": True})
    return found


def under(name, case):
    """A house boat under that case alone, with a rigid joint."""
    bare = {
        key: x
        for key, x in example_boat(name).raw.items()
        if key not in ("variants", "service", "combinations")
    }
    return checked(bare | {"cases": [case], "joints": [{"name": "rigid", "kind": "rigid"}]}, BoatFile, name)


LACKS = {
    **{
        ("short_bowed", kind): "place 'prod tip' does not exist"
        for kind in ("tack", "gybe", "points", "weight")
    },
    **{(name, "temperature"): "has no expansion" for name in FILES if name != "new_boat"},
}
"""What another boat lacks for a case of the template, by boat and kind."""
RUNS = [(name, kind) for name in FILES for kind in LOAD_CASES if (name, kind) not in LACKS]


def test_the_boat_to_start_from_has_every_kind_of_case():
    """A newcomer finds each kind in the file, ready to be switched on."""
    assert set(cases_of_every_kind()) == set(LOAD_CASES)
    assert {one["kind"] for one in example_boat("new_boat").raw["cases"] if one.get("on", True)} == {
        "rig",
        "racking",
        "points",
    }


@pytest.mark.parametrize(("name", "kind"), RUNS)
def test_each_case_to_start_from_runs_when_switched_on(name, kind):
    """On the template's own boat each runs and closes, and on the other house boats where they have what it loads."""
    (joint,) = run_study(under(name, cases_of_every_kind()[kind])).joints
    assert joint.cases
    assert max(max(case.error, case.balance) for case in joint.cases) <= 1e-9
    assert any(np.abs(case.joint_load).max() > 1 for case in joint.cases)


@pytest.mark.parametrize(("name", "kind"), LACKS)
def test_a_boat_that_lacks_what_a_case_loads_is_told_so(name, kind):
    """Only that, and on every such boat: the case is not run on something else instead."""
    with pytest.raises(InputFaults) as trouble:
        under(name, cases_of_every_kind()[kind])
    assert all(LACKS[name, kind] in str(fault) for fault in trouble.value.faults)


def test_every_case_of_the_template_runs():
    """Each case of the template that is off runs when switched on, the second of a kind as the first."""
    for case in example_boat("new_boat").raw["cases"]:
        assert (
            max(c.balance for c in run_study(under("new_boat", case | {"on": True})).joints[0].cases) <= 1e-9
        )


def test_one_house_boat_at_least_runs_each_further_kind():
    """Net, bridle, diving bow, rules' moments, weight and warmth each run live on a boat of the house that is not the demo."""
    live = {
        one["kind"]
        for name in FILES
        if name != "demo"
        for one in example_boat(name).raw["cases"]
        if one.get("on", True)
    }
    assert live >= {
        "net",
        "mooring",
        "deck diving",
        "connecting",
        "weight",
        "temperature",
        "rig",
        "racking",
        "points",
    }
