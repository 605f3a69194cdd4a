"""Fatigue applied to a study: ranges of joint loads in the service, and what details at the joints make of them."""

import copy
import json
import math
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from cases.analyses.fatigue_life import (
    allowable_range,
    detail_life,
    estimate_life,
    fatigue_lives,
    glue_lives,
    weld_lives,
)
from cases.analyses.study import run_study
from cases.input.boat_file import read_boat_file
from cases.input.service import Detail, Service
from femcore.base.errors import InputFault, InputFaults
from femcore.base.written import as_json
from models.joints import JOINTS
from models.joints.base import LOAD_MIRROR
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.fatigue import FILLET_WELDS, SN_CURVES, GlueCurve, damage, laminate
from models.strength.margins import SafetyFactors
from tests.models.boats import FILES, MARTINGALE_STAYS, STRUT, boat_file_of, validated
from tests.models.joints.test_joint_lug import FITTING
from tests.models.strength.fatigue_checks import damage_integral

RIGID, FORK = {"name": "rigid", "kind": "rigid"}, {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]}
SOFT = {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
SEA = {"name": "sea", "kind": "racking", "force": "4 kN"}
TRUSS = {"striker": STRUT, "martingale": MARTINGALE_STAYS}
TOE = "IIW alloy, fillet weld toe"
WELD = {"name": "weld", "component": "torque", "curve": TOE, "stress_per": "40 kPa/(N*m)"}
TAPE = {
    "name": "tape", "component": "vertical bending", "curve": "laminate", "strain_per": "3e-7 1/(N*m)",
    "tension": 0.012, "compression": 0.01,
}  # fmt: skip
SERVICE = {"distance": "20000 nmi", "count": 2e6}


def file(*details, joints=(RIGID, FORK, SOFT), cases=(RIG, SEA), boat=None, **service):
    """The plain boat with a service."""
    made = boat_file_of(list(joints), list(cases), station=3.4, height=0.4, inboard=0.4, **(boat or {}))
    return validated(type(made), made._raw | {"service": SERVICE | service | {"details": list(details)}})


def fatigue_of(*details, **keys):
    """Its study and what the service does."""
    study = run_study(file(*details, **keys))
    return study, fatigue_lives(study)


def detail_of(table):
    """A detail as a file gives it."""
    return Detail.model_validate(table)


def validated_service():
    """20,000 nautical miles of 2 million racking cycles."""
    return Service(distance=20000 * 1852.0, count=2e6)


def test_a_cycle_goes_from_the_case_to_its_reverse():
    """In a linear frame the range of every joint load is twice the racking case's; with a swing of 1, once."""
    for swing in (2.0, 1.0, 0.5):
        study, done = fatigue_of(swing=swing)
        assert done.case == "sea"
        for joint, found in zip(study.joints, done.joints, strict=True):
            load = joint.cases[1].joint_load
            assert found.ranges == pytest.approx(swing * np.abs(load), abs=1e-9 * np.abs(load).max())


def test_what_stands_meanwhile_shifts_the_mean_alone():
    """In a linear frame the case that stands is the mean of the cycle, and leaves its range."""
    study, plain = fatigue_of()
    _, about = fatigue_of(about="rig")
    for joint, found, alone in zip(study.joints, about.joints, plain.joints, strict=True):
        size = np.abs(joint.cases[0].joint_load).max()
        assert found.ranges == pytest.approx(alone.ranges, abs=1e-9 * size)
        assert found.mean == pytest.approx(joint.cases[0].joint_load, abs=1e-9 * size)
        assert alone.mean == pytest.approx(np.zeros((2, 6)), abs=1e-9 * size)


def test_a_cable_that_slackens_on_the_way_is_in_the_range():
    """Where the sea makes one stay slack, the ends of the cycle are solved with it slack; the rig keeps it taut."""
    study, loose = fatigue_of(boat=TRUSS, joints=[RIGID, SOFT])
    _, taut = fatigue_of(boat=TRUSS, joints=[RIGID, SOFT], about="rig")
    for joint, found, held in zip(study.joints, loose.joints, taut.joints, strict=True):
        assert joint.solution.slack[1].sum() == 1
        one, other = joint.cases[1].joint_load, joint.cases[1].joint_load[::-1] * [1, -1, 1, -1, 1, -1]
        assert found.ranges == pytest.approx(np.abs(one - other), rel=1e-9, abs=1e-6)
        assert np.abs(held.ranges - found.ranges).max() > 1e-4 * found.ranges.max()


def test_damage_is_miners_sum():
    """A detail's damage is the integral of the distribution over its curve; its miles are the distance over it."""
    study, done = fatigue_of(WELD | {"factor": 1.0})
    for joint, found in zip(study.joints, done.joints, strict=True):
        [life] = found.lives
        largest = 40e3 * 2 * np.abs(joint.cases[1].joint_load[:, 4]).max()
        assert life.largest == pytest.approx(largest, rel=1e-9)
        ranges = study.file.service.ranges(largest)
        assert life.damage == pytest.approx(damage_integral(SN_CURVES[TOE], ranges), rel=1e-6, abs=0)
        assert life.miles == pytest.approx(20000 / life.damage)
        assert not life.static


def test_at_the_allowable_range_the_distance_is_the_life():
    """A stress for each N·m that brings the allowable range makes a damage of 1, with the partial factor too."""
    study, done = fatigue_of(WELD, joints=[SOFT])
    allowed = allowable_range(SN_CURVES[TOE], study.file.service, 1.25)
    per = allowed / done.joints[0].ranges[0, 4]
    [life] = (
        fatigue_of(WELD | {"stress_per": f"{per} Pa/(N*m)", "factor": 1.25}, joints=[SOFT])[1].joints[0].lives
    )
    assert life.damage == pytest.approx(1, rel=1e-6)
    assert life.miles == pytest.approx(20000, rel=1e-6)
    assert life.largest == pytest.approx(life.allowed, rel=1e-6)


def test_the_file_s_fatigue_factor_is_on_every_range():
    """Ranges are judged as if the factor were on them: by default 1.35 of `[factors]`, and a detail's own in its place."""
    study, done = fatigue_of(WELD, joints=[SOFT])
    [life] = done.joints[0].lives
    assert life.factor == study.file.factors.fatigue == 1.35
    heavier = study.file.service.ranges(1.35 * life.largest)
    assert life.damage == pytest.approx(damage_integral(SN_CURVES[TOE], heavier), rel=1e-6)
    factors = study.file.factors.model_copy(update={"fatigue": 2.0})
    [twice] = (
        fatigue_lives(replace(study, file=study.file.model_copy(update={"factors": factors}))).joints[0].lives
    )
    assert twice.factor == 2.0
    assert twice.damage > 3 * life.damage
    [own] = fatigue_of(WELD | {"factor": 1.0}, joints=[SOFT])[1].joints[0].lives
    assert own.damage < life.damage / 2
    assert own.allowed == pytest.approx(1.35 * life.allowed, rel=1e-6)


def test_a_joint_that_carries_nothing_lives_for_ever():
    """Details in bending at a joint free to bend have no damage and no end of life."""
    _, done = fatigue_of(WELD | {"component": "vertical bending"})
    lives = {joint.joint: joint.lives[0] for joint in done.joints}
    assert lives["fork"].damage == 0
    assert math.isinf(lives["fork"].miles)
    assert lives["rigid"].damage > lives["soft"].damage > 0


def test_the_stiffer_joint_wears_sooner():
    """The same detail lives fewer miles at the joint that attracts more: the ratio of ranges to a power of the slopes."""
    _, done = fatigue_of(WELD | {"stress_per": "400 kPa/(N*m)"}, joints=[RIGID, SOFT])
    rigid, soft = (joint.lives[0] for joint in done.joints)
    ratio = rigid.load_range / soft.load_range
    assert ratio > 1
    assert ratio**3 < rigid.damage / soft.damage < ratio**5


def test_a_laminate_knows_the_steady_strain():
    """The steady strain of a laminate shortens its life, on the side where it is nearer to failure."""
    _, alone = fatigue_of(TAPE | {"factor": 1.0}, joints=[SOFT])
    study, about = fatigue_of(TAPE | {"factor": 1.0}, joints=[SOFT], about="rig")
    free, held = alone.joints[0].lives[0], about.joints[0].lives[0]
    assert held.load_range == pytest.approx(free.load_range, rel=1e-9)
    assert held.damage > free.damage > 0
    steady = 3e-7 * study.joints[0].cases[0].joint_load[:, 3]
    expected = [
        damage_integral(laminate(0.012, 0.01, mean), study.file.service.ranges(held.largest))
        for mean in steady
    ]
    assert held.damage == pytest.approx(max(expected), rel=1e-6, abs=0)


def test_a_strain_s_sign_is_that_of_its_load():
    """Strain per load below zero: a positive bending compresses. The mean strain is −3·10⁻⁷ × 2 kN·m, by hand, and with strengths
    of 1.2 and 0.6 % in tension and compression it shortens the life that the opposite mean lengthens.
    """
    life = validated_service()
    ranges, mean = np.zeros((2, 2, 6))
    ranges[:, 3], mean[:, 3] = 3e3, 2e3
    compressed, stretched = (
        detail_life(
            detail_of(TAPE | {"compression": 0.006, "strain_per": f"{per} 1/(N*m)"}), life, ranges, mean, 1.0
        )
        for per in (-3e-7, 3e-7)
    )
    assert compressed.mean == pytest.approx(-6e-4, rel=1e-12)
    assert stretched.mean == pytest.approx(6e-4, rel=1e-12)
    assert compressed.largest == pytest.approx(stretched.largest)
    assert compressed.damage > stretched.damage > 0


@pytest.mark.parametrize("worse", [0, 1])
def test_a_detail_lives_by_its_worse_side(worse):
    """Twice the range on one hull: the detail is there, with that hull's range, mean and damage; mirrored, on the other."""
    life, ranges, mean = validated_service(), np.zeros((2, 6)), np.zeros((2, 6))
    ranges[:, 4], mean[:, 4] = 100.0, (1.0, 2.0)
    ranges[worse, 4] = 200.0
    found = detail_life(detail_of(WELD), life, ranges, mean, 1.35)
    assert found.side == ("port", "starboard")[worse]
    assert found.load_range == 200.0
    assert found.mean == pytest.approx(40e3 * mean[worse, 4])
    assert found.damage == pytest.approx(
        estimate_life(SN_CURVES[TOE].factored(1.35), life, 200.0 * 40e3).damage
    )


def test_welds_and_glue_live_by_their_worse_side():
    """A cycle on one hull twice that on the other's mirror image: every weld and glue line lives on that hull."""
    welded = JOINTS["lug and pin"].model_validate(copy.deepcopy(FITTING))
    on_glue = JOINTS[glued()["kind"]].model_validate(glued())
    life, factors = validated_service(), SafetyFactors()
    load = np.array([2e3, 1e3, 6e3, 500.0, 4e3, 300.0])
    for port, starboard, side in ((2.0, 1.0, "port"), (1.0, 2.0, "starboard")):
        cycle = np.stack([port * load, starboard * load * LOAD_MIRROR])
        lives = (
            *weld_lives(welded, life, cycle, 1.35),
            *glue_lives(on_glue, life, cycle, np.zeros((2, 6)), factors),
        )
        assert len(lives) > 2
        assert {one.side for one in lives if one.damage > 0} == {side}


def test_a_laminate_that_the_steady_load_breaks_has_no_life():
    """Where the steady strain alone reaches failure there are no miles, and the data stay JSON."""
    study = run_study(file(TAPE | {"strain_per": "1e-4 1/(N*m)"}, joints=[SOFT], about="rig"))
    [life] = fatigue_lives(study).joints[0].lives
    assert life.static
    assert life.miles == 0
    data = json.loads(as_json(fatigue_lives(study)))
    assert data["joints"][0]["details"][0]["damage"] is None
    assert data["joints"][0]["details"][0]["miles"] == 0


def test_a_detail_stands_at_its_joint():
    """A detail of one joint is told for that joint alone, one of all for each."""
    _, done = fatigue_of(WELD | {"joint": "soft"}, TAPE)
    assert [[life.detail.name for life in joint.lives] for joint in done.joints] == [
        ["tape"], ["tape"], ["weld", "tape"],
    ]  # fmt: skip


def test_each_component_is_read_by_its_word():
    """A force's detail takes stress per newton, of the component that its word names."""
    for word in JOINT_LOAD_NAMES:
        unit = "kPa/(N*m)" if JOINT_LOAD_NAMES.index(word) >= 3 else "kPa/N"
        bolt = {"name": "bolt", "component": word, "curve": "bolt in tension", "diameter": "12 mm"}
        _, done = fatigue_of(bolt | {"stress_per": f"3 {unit}"}, joints=[SOFT])
        [joint] = done.joints
        assert joint.lives[0].load_range in joint.ranges[:, JOINT_LOAD_NAMES.index(word)]


def test_the_data_tell_joints_side_by_side():
    """The data hold miles, cycles, all ranges and each detail's life with the source of its curve."""
    study = run_study(file(WELD, shape=0.9))
    data = json.loads(as_json(fatigue_lives(study)))
    assert (data["miles"], data["cycles"], data["shape"], data["case"]) == (20000, 2e6, 0.9, "sea")
    assert [joint["joint"] for joint in data["joints"]] == ["rigid", "fork", "soft"]
    assert set(data["joints"][0]["ranges"]["port"]) == set(JOINT_LOAD_NAMES)
    assert "Hobbacher" in data["joints"][0]["details"][0]["source"]
    assert (fatigue_lives(run_study(boat_file_of([RIGID], [SEA])))) is None


def glued(**more):
    """A joint of lugs whose eye is a plug glued into the beam's end, all described."""
    glue = {
        "shear_modulus": "0.15 GPa", "thickness": "4 mm", "shear_strength": "15 MPa", "peel_strength": "10 MPa",
        "modulus": "0.42 GPa", "knockdowns": [],
    }  # fmt: skip
    fixing = {
        "kind": "sleeved", "diameter": "150 mm", "length": "250 mm", "sleeve": {"metal": "al6082_t6", "thickness": "6 mm"},
        "tube": {"metal": "al6082_t6", "thickness": "6 mm"}, "glue": glue | more,
    }  # fmt: skip
    eye = FITTING["eye"] | {"width": "70 mm", "length": "50 mm", "end": "40 mm", "fixing": fixing}
    return FITTING | {"name": "glued", "eye": eye}


def test_glue_lives_by_its_elastic_checks():
    """A glue line's range is the peak of its elastic check under the swing of the joint's load, its life by the decade rule."""
    study, done = fatigue_of(joints=[glued()])
    [joint] = done.joints
    load = study.joints[0].cases[1].joint_load
    checks = {(c.part, c.check): c for c in study.joints[0].joint.checks(2 * load[None], study.file.factors)}
    assert {life.check for life in joint.glue} == {
        "glue in shear", "glue in peel at its ends", "glue in peel, bending as push and pull",
    }  # fmt: skip
    for life in joint.glue:
        check = checks[f"{life.side} {life.part}", f"{life.check}, elastic in service"]
        assert life.largest == pytest.approx(check.load[0], rel=1e-9)
        assert (life.strength, life.factor) == (check.allowable[0], 1.35)
        curve = GlueCurve(life.strength).factored(1.35)
        assert life.damage == pytest.approx(damage(curve, study.file.service.ranges(life.largest)), rel=1e-9)
        assert life.miles == pytest.approx(20000 / life.damage)
        worse, better = (GlueCurve(life.strength, loss=k).factored(1.35) for k in (0.12, 0.08))
        ends = (
            damage(worse, study.file.service.ranges(1.6 * life.largest)),
            damage(better, study.file.service.ranges(0.6 * life.largest)),
        )
        assert life.band == pytest.approx([20000 / end for end in ends])
        assert life.band[0] < life.miles < life.band[1]
    assert [life.damage for life in joint.glue] == sorted((life.damage for life in joint.glue), reverse=True)
    data = json.loads(as_json(done))
    assert data["joints"][0]["glue"][0]["band"] == list(joint.glue[0].band)


def test_what_stands_on_glue_meanwhile_shortens_its_life():
    """The rig's steady stress and a knock-down shorten it; a joint without glue has no such line."""
    alone = fatigue_of(joints=[glued()])[1].joints[0].glue
    about = fatigue_of(joints=[glued()], about="rig")[1].joints[0].glue
    wet = fatigue_of(joints=[glued(knockdowns=["wet"])])[1].joints[0].glue
    for life in alone:
        steady, lowered = (next(x for x in found if x.check == life.check) for found in (about, wet))
        assert steady.mean > life.mean == 0
        assert steady.damage > life.damage
        assert lowered.damage > life.damage
    assert fatigue_of(joints=[RIGID])[1].joints[0].glue == ()


def test_a_detail_of_glue_needs_its_strength():
    """A detail on the curve of glue lives by the same rule, with its strength and the steady stress."""
    bond = {"name": "bond", "component": "torque", "curve": "glue", "stress_per": "4 kPa/(N*m)"}
    study, done = fatigue_of(bond | {"strength": "14 MPa", "factor": 1.0}, joints=[SOFT])
    [life] = done.joints[0].lives
    expected = damage(GlueCurve(14e6, abs(life.mean)), study.file.service.ranges(life.largest))
    assert life.damage == pytest.approx(expected, rel=1e-9)
    with pytest.raises((InputFault, InputFaults, ValueError), match="needs strength"):
        fatigue_of(bond, joints=[SOFT])


HEAD = '[service]\ndistance = "20000 nmi"\ncount = 2e6\n'
DETAIL = '[[service.details]]\nname = "w"\ncomponent = "torque"\n'
CURVE = f'curve = "{TOE}"\n'
FAULTS = {
    "unknown case": (
        f'{HEAD}case = "rackin"',
        "service: case: case 'rackin' does not exist; did you mean 'racking'?",
    ),
    "unknown joint": (
        f'{HEAD}{DETAIL}{CURVE}joint = "bonds"\nstress_per = "1 kPa/(N*m)"',
        "service: details 'w': joint 'bonds' does not exist; did you mean 'bonded'?",
    ),
    "unknown curve": (
        f'{HEAD}{DETAIL}curve = "{TOE}e"\nstress_per = "1 kPa/(N*m)"',
        f"service: details[1] 'w': curve '{TOE}e' does not exist; did you mean '{TOE}'?",
    ),
    "stress per force for a moment": (
        f'{HEAD}{DETAIL}{CURVE}stress_per = "1 kPa/N"',
        (
            "service: details[1] 'w': stress_per: '1 kPa/N' is not a quantity in Pa/(N*m); write it with its unit, "
            'such as "1 Pa/(N*m)"'
        ),
    ),
    "no stress": (
        f"{HEAD}{DETAIL}{CURVE}",
        f"service: details[1] 'w': the curve '{TOE}' needs stress_per; give stress_per",
    ),
    "too much": (
        f'{HEAD}{DETAIL}{CURVE}stress_per = "1 kPa/(N*m)"\ndiameter = "12 mm"',
        f"service: details[1] 'w': the curve '{TOE}' has no use for diameter; take diameter out",
    ),
    "no stress at all": (
        f'{HEAD}{DETAIL}{CURVE}stress_per = "0 kPa/(N*m)"',
        "service: details[1] 'w': stress_per: '0 kPa/(N*m)' is too small; give more than 0 Pa/(N*m)",
    ),
    "twice": (
        f'{HEAD}{DETAIL}{CURVE}stress_per = "1 kPa/(N*m)"\n{DETAIL}{CURVE}stress_per = "2 kPa/(N*m)"',
        "service: details 'w': is duplicated for joint 'all'; give each a name of its own, or another joint",
    ),
    "no rate": (
        '[service]\ndistance = "20000 nmi"',
        "service: has none of count, per_mile, period, wave_period; give one of count, per_mile, period, wave_period",
    ),
    "two racking cases": (
        f'{HEAD}\n[[cases]]\nname = "harder"\nkind = "racking"\nforce = "9 kN"',
        (
            "service: has 2 racking cases to take its cycles from; "
            'say which the sea reaches once in the distance, such as case = "racking"'
        ),
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_each_fault_is_a_sentence(tmp_path, name):
    """What is wrong with a service is told with file, key and cure."""
    text, sentence = FAULTS[name]
    path = tmp_path / "mine.toml"
    path.write_text(f"{FILES['new_boat'].read_text(encoding='utf-8')}\n{text}\n", encoding="utf-8")
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read_boat_file(path)
    assert str(trouble.value) == f"{path}: {sentence}"


def test_a_boat_that_nothing_racks_has_nothing_to_live_by():
    """A service without a racking case asks for one, and takes any case that it names."""
    told = [str(fault) for fault in file(cases=[RIG]).faults()]
    assert told == [
        'service: has no racking case to take its cycles from; add a case of kind "racking" or "waves", or name a case'
    ]
    assert not list(file(cases=[RIG], case="rig").faults())


FILLET = {
    "name": "fillet", "component": "torque", "curve": "alloy fillet weld", "stress_per": "40 kPa/(N*m)", "plate": "12 mm",
    "throat": "5 mm",
}  # fmt: skip


def test_a_fillet_weld_lives_by_the_worse_of_toe_and_root():
    """Its life is that of a detail on the toe's curve, or of one on the root's with t/2a of the stress, whichever is shorter: a
    thin throat's root, a thick one's toe.
    """
    for throat, place in ((5.0, "root"), (14.0, "toe")):
        at_root = WELD | {
            "name": "root", "curve": "IIW alloy, fillet weld root", "stress_per": f"{40 * 12 / (2 * throat)} kPa/(N*m)",
        }  # fmt: skip
        _, done = fatigue_of(FILLET | {"throat": f"{throat} mm"}, WELD, at_root)
        assert done.joints[0].lives[1].damage > 0
        for joint in done.joints:
            weld, toe, root = joint.lives
            if toe.damage == 0:
                continue
            assert weld.place == place
            assert weld.damages == pytest.approx({"toe": toe.damage, "root": root.damage})
            assert weld.damage == max(toe.damage, root.damage)
            assert weld.largest == pytest.approx({"toe": toe, "root": root}[place].largest)


@pytest.mark.parametrize("lacking", ["plate", "throat"])
def test_a_fillet_weld_needs_plate_and_throat(lacking):
    """Without either the root cannot be judged; another curve has no use for them."""
    with pytest.raises((ValidationError, InputFaults), match=lacking):
        file({key: value for key, value in FILLET.items() if key != lacking})
    with pytest.raises((ValidationError, InputFaults), match="no use for plate"):
        file(WELD | {"plate": "12 mm"})


def test_welds_of_lugs_are_found_from_all_loads_of_the_cycle():
    """The welds at the lugs' roots under the joint loads' own range: by hand from the lugs' loads; the larger damage governs, and
    shear counts with the root.
    """
    study, done = fatigue_of(joints=[copy.deepcopy(FITTING), RIGID], cases=(RIG, SEA | {"force": "12 kN"}))
    lugs, rigid = done.joints
    assert rigid.welds == ()
    assert {life.part for life in lugs.welds} == {"lug 1, weld", "lug 2, weld"}
    joint, cycle = study.joints[0].joint, 2 * study.joints[0].cases[1].joint_load
    for life in lugs.welds:
        number = int(life.part[4]) - 1
        loads = cycle[0] if life.side == "port" else cycle[1] * LOAD_MIRROR
        stress = joint.weld_stresses(loads[None])[number]
        assert life.toe_range == pytest.approx(stress.toe[0])
        assert life.root_range == pytest.approx(stress.root[0])
        curve = {
            place: SN_CURVES[name] for place, name in FILLET_WELDS["alloy fillet weld"]._asdict().items()
        }
        by_hand = {
            place: estimate_life(curve[place], done.service, size, 1.35).damage
            for place, size in (
                ("toe", life.toe_range),
                ("root", life.root_range),
                ("shear", life.shear_range),
            )
        }
        assert life.toe_damage == pytest.approx(by_hand["toe"], rel=1e-6)
        assert life.root_damage == pytest.approx(by_hand["root"] + by_hand["shear"], rel=1e-6)
        assert life.miles == pytest.approx(20000 / max(life.toe_damage, life.root_damage))
        assert life.governing == "root"


def test_a_mirrored_cycle_gives_the_other_side_the_same_welds():
    """What a cycle does to the port joint its mirror image does to the starboard one; shear along the throat adds to the root."""
    joint = JOINTS["lug and pin"].model_validate(copy.deepcopy(FITTING))
    life = Service(distance=20000 * 1852.0, count=2e6)
    port = np.array([2e3, 1e3, 6e3, 0.0, 4e3, 300.0])
    one, other = np.zeros((2, 2, 6))
    one[0], other[1] = port, port * LOAD_MIRROR
    here, there = (weld_lives(joint, life, cycle, 1.35) for cycle in (one, other))
    for port_weld, starboard_weld in zip(here, there, strict=True):
        assert (port_weld.side, starboard_weld.side) == ("port", "starboard")
        assert replace(starboard_weld, side="port") == port_weld
        across = SN_CURVES[FILLET_WELDS["alloy fillet weld"].root].factored(1.35)
        assert port_weld.root_damage > 1.0001 * estimate_life(across, life, port_weld.root_range).damage
