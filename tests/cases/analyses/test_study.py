"""A whole run: what it reads from its solutions, and laws that hold from one joint and case to the next."""

from operator import attrgetter

import numpy as np
import pytest

from cases.analyses import joint_results
from cases.analyses.study import run_study
from femcore.base.errors import Mechanism, StructureFault
from tests.models.boats import BOW, LONGERON, MARTINGALE_STAYS, STRUT, TAUT, boat_file_of

RIGID, FORK = {"name": "rigid", "kind": "rigid"}, {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]}
SOFT = {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
SKEW = {"name": "skew", "kind": "pinned", "axis": [1, 1, 0]}
ATHWART = {"name": "athwart", "kind": "pinned", "axis": [0, 1, 0]}
BOAT = {"station": 3.4, "height": 0.4, "inboard": 0.4, "root": {"pitch": 8e6, "roll": 9e6}}
STAY = {"stay": {"forward": 0.05, "up": 0.15}}
RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
RACKING = {"name": "racking", "kind": "racking", "force": "4 kN"}
TRUSS = {"striker": STRUT, "martingale": MARTINGALE_STAYS}
ONE_SIDED = {
    "name": "wave",
    "kind": "points",
    "also": [{"place": "port stem", "force": "-1 -3 12 kN", "moment": "1 2 3 kN*m"}],
}


def study(cases, joints=(RIGID, FORK, SOFT, SKEW), **keys):
    """A run of the plain boat under those cases and joints."""
    return run_study(boat_file_of(list(joints), list(cases), **BOAT | STAY | keys))


def test_a_run_takes_every_joint_through_every_case():
    """Results stand in the order of the file, every joint under every case."""
    run = study([RIG, RACKING])
    assert [joint.joint.name for joint in run.joints] == ["rigid", "fork", "soft", "skew"]
    assert all([case.case.name for case in joint.cases] == ["rig", "racking"] for joint in run.joints)
    assert [case.name for case in run.cases] == ["rig", "racking"]
    assert list(run.stay_lines()) == ["rig"]


def test_cases_superpose():
    """Loads of two cases in one give the sum of their joint loads, movements and ledgers."""
    both = RIG | {"name": "both", "also": [*ONE_SIDED["also"]]}
    for joint in study([RIG, ONE_SIDED, both]).joints:
        for part in ("joint_load", "stems", "path.actions", "racking_moment"):
            rig, wave, together = (attrgetter(part)(case) for case in joint.cases)
            size = np.abs(wave).max() + np.abs(rig).max()
            assert together == pytest.approx(rig + wave, abs=1e-10 * size)


@pytest.mark.parametrize("parts", [{}, TRUSS, TRUSS | {"martingale": TAUT}], ids=["bare", "slack", "taut"])
@pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])
def test_an_imposed_movement_is_reached_exactly(parts, bent):
    """Stems that are to move apart in height do, under every joint, where a stay slackens too and in the deformed shape."""
    moved = [
        {"name": f"{mm}", "kind": "racking", "movement": f"{mm} mm", "second_order": bent} for mm in (60, -90)
    ]
    for joint in study([RIG, *moved], **parts).joints:
        for case, heave in zip(joint.cases[1:], (0.06, -0.09), strict=True):
            port, starboard = case.stems
            assert port[2] - starboard[2] == pytest.approx(heave, rel=1e-9 if bent or parts else 1e-13)
            tension = list(case.truss.tension.values())
            # in the deformed shape racking slackens both, where the joints hold the beam least
            assert ([T == 0 for T in tension].count(True) > 0) == (parts is TRUSS)
            assert sum(case.shares.by_part.values()) == pytest.approx(1, abs=1e-8 if bent else 1e-10)


def test_a_movement_is_the_force_that_makes_it():
    """Racking by a movement is racking by the force K times it, in every joint load, movement and share."""
    for joint in study([RACKING]).joints:
        force = joint.racking_stiffness * 0.06
        moved = {"name": "moved", "kind": "racking", "movement": "60 mm"}
        forced = {"name": "forced", "kind": "racking", "force": f"{force!r} N"}
        given = joint.joint.model_dump(exclude_none=True, include={"name", "kind", "axis"})
        same = SOFT if joint.joint.name == "soft" else given
        by_movement, by_force = study([moved, forced], [same]).joints[0].cases
        assert by_movement.joint_load == pytest.approx(by_force.joint_load, rel=1e-10, abs=1e-9 * force)
        assert by_movement.stems == pytest.approx(by_force.stems, rel=1e-10, abs=1e-12)
        assert by_movement.racking_moment == pytest.approx(-force * 4.0, rel=1e-10)
        assert by_movement.shares.by_part == pytest.approx(by_force.shares.by_part, rel=1e-10, abs=1e-12)


def test_racking_stiffness_is_force_over_movement():
    """Opposite forces F move the stems F/K apart; bare bows in closed form, and any joint stiffens them."""
    run = study([RACKING])
    a, bow = 4.0, BOW["EI_vertical"]
    assert run.bare_racking_stiffness == pytest.approx(1 / (2 * (a**3 / (3 * bow) + a**2 / 8e6)), rel=1e-12)
    for joint in run.joints:
        port, starboard = joint.cases[0].stems[:, 2]
        assert 4e3 / (port - starboard) == pytest.approx(joint.racking_stiffness, rel=1e-10)
        assert joint.racking_stiffness > run.bare_racking_stiffness
    assert max(run.joints, key=lambda joint: joint.racking_stiffness).joint.name == "rigid"


def test_only_what_racks_the_bows_has_shares():
    """A stay's pull loads the crossbeam and racks no bow; a racking moment is F times the bow's length."""
    for joint in study([RIG, RACKING]).joints:
        rig, racking = joint.cases
        assert rig.shares is None
        assert rig.racking_moment == 0
        assert racking.racking_moment == pytest.approx(-4e3 * 4.0, rel=1e-14)
        assert sum(racking.shares.by_part.values()) == pytest.approx(1, abs=1e-10)


def test_attraction_is_against_the_rigid_joint_in_the_same_case():
    """A rigid joint attracts 1, a free direction 0, any other the share of the rigid load that it carries."""
    rigid, fork, soft, _ = study([RIG, RACKING]).joints
    for number in range(2):
        assert rigid.cases[number].attraction == {"torque": 1.0, "bending": 1.0}
        assert abs(fork.cases[number].attraction["bending"]) < 1e-12
        share = soft.cases[number].joint_load / rigid.cases[number].joint_load
        found = soft.cases[number].attraction
        assert found == pytest.approx({"torque": share[0, 4], "bending": share[0, 3]}, rel=1e-9)
        assert 0 < found["bending"] < 1


def test_attraction_is_told_by_the_side_that_carries_more():
    """Under a load on one side attraction is read at the side where the rigid joint carries more."""
    for near in (0, 1):
        also = [{"place": f"{('port', 'starboard')[near]} joint", "moment": "3 0 0 kN*m"}]
        rigid, soft = study([{"name": "one", "kind": "points", "also": also}], [RIGID, SOFT]).joints
        loads = rigid.cases[0].joint_load[:, 3]
        assert abs(loads[near]) > 1.1 * abs(loads[1 - near])
        found = soft.cases[0].attraction["bending"]
        assert found == pytest.approx(soft.cases[0].joint_load[near, 3] / loads[near], rel=1e-12)


@pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])
def test_attraction_is_of_what_a_case_adds_to_the_state_at_rest(bent):
    """While stays stay taut, pretension changes no attraction: it is read from loads less those at rest, rigid and own."""
    cases = [case | {"second_order": bent} for case in (RIG, RACKING)]
    tight, tighter = (
        study(cases, striker=STRUT, martingale=TAUT | {"pretension": T}).joints for T in (5e3, 1e4)
    )
    for one, other in zip(tight, tighter, strict=True):
        assert np.abs(other.cases[1].joint_load - one.cases[1].joint_load)[:, :3].max() > 1.0
        for before, after in zip(one.cases, other.cases, strict=True):
            found = [case.attraction for case in (before, after)]
            assert found[1] == pytest.approx(found[0], rel=0.02 if bent else 1e-7, abs=1e-4 if bent else 1e-9)
    still = {"name": "still", "kind": "racking", "movement": "0 mm", "second_order": bent}
    for joint in study([still], striker=STRUT, martingale=TAUT).joints:
        assert joint.cases[0].attraction == {"torque": None, "bending": None}


def test_there_is_no_attraction_to_what_nothing_carries():
    """Where the rigid joint carries no torque none is attracted: a pull through the beam's axis says None."""
    for joint in study([RIG], stay={}).joints:
        assert joint.cases[0].attraction["torque"] is None
        assert joint.cases[0].attraction["bending"] is not None


def test_a_case_without_load_runs():
    """Racking by nothing, and a stay without tension, give zeros and no shares or attraction."""
    nothing = [RACKING | {"force": "0 N"}, {"name": "still", "kind": "racking", "movement": "0 mm"}]
    for joint in study([*nothing, RIG | {"tension": "0 N"}]).joints:
        for case in joint.cases:
            assert not case.joint_load.any()
            assert not case.stems.any()
            assert case.shares is None
            assert case.attraction == {"torque": None, "bending": None}


@pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])
def test_a_case_without_load_shows_the_boat_at_rest(bent):
    """With a tightened martingale a case of nothing holds its pretension, moves no stem apart and racks nothing."""
    still = {"name": "still", "kind": "racking", "movement": "0 mm", "second_order": bent}
    for joint in study([still], **TRUSS | {"martingale": TAUT}).joints:
        (case,) = joint.cases
        assert list(case.truss.tension.values()) == pytest.approx([5e3, 5e3], rel=1e-8)
        assert case.stems[0, 2] == pytest.approx(case.stems[1, 2], abs=1e-9)
        assert case.shares is None


def rises(joint, number):
    """(case's) tension of each stay, N, from the strut's thrust by statics: S √(s² + h²)/2h."""
    h = STRUT["height"] - MARTINGALE_STAYS["height"]
    return joint.cases[number].truss.strut * np.hypot(MARTINGALE_STAYS["half_span"], h) / (2 * h)


def test_the_truss_is_told_by_its_parts():
    """Stays of two sides, or one strap, with the tension that the strut's thrust asks of them by statics; none without."""
    for way, names in (("fixed", ["port martingale", "starboard martingale"]), ("slips", ["martingale"])):
        for joint in study([RIG], striker=STRUT, martingale=MARTINGALE_STAYS | {"at_striker": way}).joints:
            truss = joint.cases[0].truss
            assert list(truss.tension) == names
            assert list(truss.tension.values()) == pytest.approx([rises(joint, 0)] * len(names), rel=1e-9)
            along = joint.crossbeam.actions[0, :, 0]
            assert truss.compression == pytest.approx(-along.min(), rel=1e-9)
            assert truss.compression > 1e3
    bare = study([RIG]).joints[0].cases[0].truss
    assert (bare.tension, bare.strut) == ({}, 0.0)


def test_a_load_that_pushes_the_beam_down_leaves_no_tension():
    """Crew on the beam, no pretension: tension and thrust are 0, never less."""
    crew = {"name": "crew", "kind": "points", "also": [{"place": "beam centre", "force": "0 0 -8 kN"}]}
    for joint in study([crew], **TRUSS).joints:
        assert set(joint.cases[0].truss.tension.values()) == {0.0}
        assert joint.cases[0].truss.strut == pytest.approx(0, abs=1e-6)


def test_the_part_that_buckles_is_named():
    """A limp strut buckles as the striker near Euler's π² EI/L², a limp prod as the prod near π² EI/4L², by hand."""
    limp = STRUT | {"base": 0.0, "EI": 500.0}
    (joint,) = study([RIG], [RIGID], striker=limp, martingale=MARTINGALE_STAYS | {"height": 0.0}).joints
    case = joint.cases[0]
    assert case.buckling.part == "striker"
    assert case.buckling.factor * case.truss.strut == pytest.approx(np.pi**2 * 500.0 / 0.7**2, rel=0.03)
    prod = LONGERON | {"height_at_root": 0.9, "prod": 3.0, "EI_vertical": 3e4, "EI_lateral": 2e3}
    loads = [
        {"place": "beam centre", "force": "20 0 40 kN"},
        {"place": "prod tip", "force": "-500 0 0 N"},
    ]
    push = {"name": "push", "kind": "points", "also": loads}
    (joint,) = study([push], [RIGID], longeron=prod, **TRUSS).joints
    assert joint.cases[0].buckling.part == "prod"
    assert joint.cases[0].buckling.factor * 500.0 == pytest.approx(np.pi**2 * 2e3 / (4 * 3.0**2), rel=0.05)


def test_nothing_buckles_where_nothing_is_squeezed():
    """A beam that is only bent, or a case without load, has no buckling factor."""
    for joint in study([RACKING | {"force": "0 N"}], **TRUSS).joints:
        assert joint.cases[0].buckling is None


def test_the_change_is_second_order_over_first():
    """What second order changes is read from two cases alike but for it: largest force, moment, tension, movement."""
    bent = RIG | {"name": "bent", "second_order": True}
    for joint in study([RIG, bent], **TRUSS).joints:
        first, second = joint.cases
        assert first.change is None
        assert list(joint.solution.second_order) == [False, True]
        for part, key in ((slice(0, 3), "force"), (slice(3, 6), "moment")):
            sizes = [np.abs(case.joint_load[:, part]).max() for case in (first, second)]
            assert getattr(second.change, key) == pytest.approx(sizes[1] / sizes[0] - 1, rel=1e-9, abs=1e-12)
        sizes = [max(case.truss.tension.values()) for case in (first, second)]
        assert second.change.tension == pytest.approx(sizes[1] / sizes[0] - 1, rel=1e-9)
        sizes = [np.abs(case.stems[:, :3]).max() for case in (first, second)]
        assert second.change.movement == pytest.approx(sizes[1] / sizes[0] - 1, rel=1e-9)
        assert 1e-5 < abs(second.change.tension) < 0.05


def test_joints_that_pass_no_moment_change_by_none():
    """A ball's moments are rounding in either order, and their ratio is no change; without a martingale there is no tension."""
    ball = {"name": "ball", "kind": "sprung", "free": ["roll", "pitch", "yaw"]}
    (joint,) = study([RIG | {"second_order": True}], [ball], longeron=LONGERON).joints
    assert joint.cases[0].change.moment == 0
    assert joint.cases[0].change.tension is None
    assert joint.cases[0].change.force != 0


def test_an_even_pull_racks_nothing_in_the_deformed_shape_either():
    """What Newton's method leaves of an even load is no racking moment: a rig case has no shares in second order."""
    for joint in study(
        [RIG | {"second_order": True}], beam={"mass": 8.0}, bow={"mass": 50.0}, **TRUSS
    ).joints:
        assert joint.cases[0].shares is None


def test_motions_are_told_where_the_bows_have_mass():
    """Natural modes ascend, stand for the joint that they belong to, and are none where a bow has no mass."""
    masses = {"beam": {"mass": 8.0}, "bow": {"mass": 50.0, "gyration": 0.4}}
    run = study([RACKING], **masses)
    for joint in run.joints:
        found = [motion.frequency for motion in joint.natural_modes]
        assert len(found) == 12
        assert np.all(np.diff(found) >= 0)
        assert "racking" in {motion.kind for motion in joint.natural_modes}
    assert all(joint.natural_modes == () for joint in study([RACKING]).joints)


def test_what_buckles_under_its_pretension_alone_has_no_answer(monkeypatch):
    """A front end whose pretension alone buckles it, under a case without load, is kept apart before its modes are asked for."""
    masses = {"beam": {"mass": 8.0}, "bow": {"mass": 50.0, "gyration": 0.4}}
    strained = TRUSS | {"martingale": TAUT | {"pretension": 5e5}}
    monkeypatch.setattr(joint_results, "natural_modes", lambda _: pytest.fail("asked for"))
    run = study([RIG | {"tension": "0 kN"}], [RIGID, FORK], **masses, **strained)
    assert [joint.joint.name for joint in run.joints] == ["fork"]
    [unsolved] = run.unsolved
    assert (unsolved.joint.name, "has buckled" in unsolved.reason) == ("rigid", True)


def test_curves_stand_for_springs_in_boat_axes():
    """A joint in boat axes has curves in pitch and roll, its own stiffness on them; a pin askew has none."""
    rigid, fork, soft, skew = study([RACKING]).joints
    assert skew.curves == {"pitch": None, "roll": None}
    assert (rigid.curves["pitch"].joint_stiffness, fork.curves["roll"].joint_stiffness) == (np.inf, 0.0)
    assert (soft.curves["pitch"].joint_stiffness, soft.curves["roll"].joint_stiffness) == (2e5, 3e5)
    for joint in (rigid, soft):
        curve, torque = joint.curves["pitch"], joint.cases[0].joint_load[0, 4]
        assert 4e3 * curve.moment(curve.joint_stiffness) == pytest.approx(torque, rel=1e-8)


def test_the_crossbeam_ends_at_its_joints():
    """Actions at the beam's port end are the port joint's loads, turned into the beam's axes."""
    for joint in study([RIG, RACKING, ONE_SIDED]).joints:
        for number, case in enumerate(joint.cases):
            N, Vy, Vz, T, My, Mz = joint.crossbeam.actions[number, -1]
            # the beam's x is the boat's y, its y points aft, its z up
            assert case.joint_load[0] == pytest.approx([Vy, -N, -Vz, My, -T, -Mz], rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    "parts",
    [
        {},
        {"striker": STRUT, "martingale": MARTINGALE_STAYS},
        {"longeron": LONGERON | {"at_crossbeam": "pinned"}},
    ],
    ids=["bare beam", "with striker and stays", "longeron pinned to the beam"],
)
def test_a_beam_that_can_spin_is_told_in_a_boats_words(parts):
    """Athwart pins and nothing else that holds pitch: no answer with that joint, which names movement and cure."""
    with pytest.raises(Mechanism) as fault:
        study([RIG], [ATHWART], **parts)
    reason = (
        "the crossbeam turns freely about its own axis: "
        "nothing holds pitch at either joint; "
        "give one of them pitch stiffness, or fix a longeron to the beam"
    )
    assert str(fault.value) == f"joint 'athwart': {reason}"
    assert fault.value.exit_status == 3
    found = study([RIG], [RIGID, ATHWART], **parts)
    assert [one.joint.name for one in found.joints] == ["rigid"]
    assert [(one.joint.name, one.reason) for one in found.unsolved] == [("athwart", reason)]


def test_a_joint_without_an_answer_changes_nothing_of_the_others():
    """Joints are analysed one by one: beside a mechanism every number of a rigid joint is what it is alone."""
    alone, beside = study([RIG], [RIGID]), study([RIG], [ATHWART, RIGID])
    assert np.array_equal(alone.joints[0].cases[0].joint_load, beside.joints[0].cases[0].joint_load)
    assert alone.joints[0].racking_stiffness == beside.joints[0].racking_stiffness


def test_where_no_joint_has_an_answer_each_is_named():
    """Two mechanisms and nothing else: a fault of the structure with a line for each joint."""
    with pytest.raises(StructureFault) as fault:
        study([RIG], [ATHWART, ATHWART | {"name": "another"}])
    assert [line.split(":")[0] for line in str(fault.value).split("\n")] == [
        "joint 'athwart'",
        "joint 'another'",
    ]
    assert fault.value.exit_status == 3


def test_a_longeron_fixed_to_the_beam_keeps_it_from_spinning():
    """With a longeron fixed to the beam, athwart pins hold, and pass no torque to the hulls."""
    (joint,) = study([RIG], [ATHWART], longeron=LONGERON).joints
    assert np.abs(joint.cases[0].joint_load[:, 4]).max() < 1e-9 * 4e4
    assert joint.cases[0].error < 1e-9


def test_a_beam_that_can_slide_out_is_told_too():
    """A joint free in sway on both sides lets the beam slide athwart: a mechanism that names the joint."""
    loose = {"name": "loose", "kind": "sprung", "free": ["sway"]}
    with pytest.raises(Mechanism, match=r"^joint 'loose': .*uy"):
        study([RIG], [loose])
