"""Fixings as a boat file gives them: every kind read and checked, what stands on them, where loads come from, and faults."""

import copy
import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.analyses.case_rows import case_rows, longeron_stations
from cases.analyses.part_loads import longeron_ends, part_loads
from cases.analyses.solved_cases import solved_cases
from cases.input.boat_file import BoatFile
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from models.attachments import BEAM_END_KINDS, BEAM_SIDE_KINDS
from models.boat.boat import Boat
from models.checks.beam_parts import PartLoads, beam_part_checks
from models.joints import JOINTS
from models.joints.base import LOAD_MIRROR
from models.strength.lugs.beam_end import OUTBOARD, beam_end_checks
from models.strength.lugs.lug_pair import lug_loads
from models.strength.margins import SafetyFactors, overall_outcome, unchecked
from models.strength.springs import loads_in_axes, transferred_loads
from models.tables.shared import GlueTable
from tests.models.boats import LONGERON, MARTINGALE_STAYS, MIRROR, STRUT, example_boat, tables, validated
from tests.models.joints.test_joint_lug import FITTING, LOADS

GLUE = {
    "shear_modulus": "1.2 GPa", "thickness": "0.4 mm", "shear_strength": "25 MPa", "peel_strength": "12 MPa",
    "modulus": "3.2 GPa", "plastic_strain": 0.15, "temperature_change": "0 delta_degC",
}  # fmt: skip
"""Glued at the temperature that it keeps: what unequal expansion does has tests of its own."""
TUBE = {"metal": "al6082_t6", "thickness": "10 mm", "diameter": "200 mm"}
FOOT = {"metal": "ss_1_4401", "thickness": "15 mm", "along": "200 mm", "across": "140 mm"}
BOLTS = {
    "size": 12,
    "columns": 2,
    "rows": 2,
    "pitch_along": "150 mm",
    "pitch_across": "100 mm",
    "washer": "36 mm",
}
TAPE = {"layup": ["uni 300"], "fibre": "carbon_sm"}
CARBON = {"layup": ["2x db 600", "8x uni 300", "mirror"], "fibre": "carbon_sm", "process": "vacuum"}
POLYGON_SIDES = {"laminate": CARBON, "diameter": "200 mm"}
PRESSED = {
    "edge": "60 mm",
    "bearing": "200 MPa",
    "shear": "80 MPa",
    "through": "40 MPa",
    "crushing": "100 MPa",
}
FIXINGS = {
    "bolted": {"foot": FOOT, "bolts": BOLTS, "onto": TUBE | {"edge": "50 mm"}},
    "welded": {"metal": "al6082_t6", "throat": "6 mm", "filler": "5356", "onto": TUBE},
    "bonded": {"foot": FOOT, "onto": POLYGON_SIDES, "glue": GLUE},
    "strapped": {
        "along": "260 mm", "across": "160 mm", "radius": "12 mm", "overlap": "150 mm", "onto": POLYGON_SIDES, "glue": GLUE,
        "straps": {"width": "80 mm", "turns": 12, "tape": TAPE},
    },
    "sleeved": {
        "diameter": "150 mm", "length": "250 mm", "sleeve": {"metal": "al6082_t6", "thickness": "10 mm"},
        "tube": {"laminate": CARBON}, "glue": GLUE,
    },
    "taped": {
        "diameter": "150 mm", "tube": {"laminate": CARBON}, "tape": {"layup": ["6x db 450 @45"], "fibre": "carbon_sm"},
        "on_beam": "90 mm", "on_skin": "40 mm", "corner": "15 mm", "glue": GLUE, "onto": {"laminate": CARBON, "held_at": "0.4 m"},
    },
    "pinned": {
        "pin": {"metal": "ss_1_4401", "diameter": "25 mm"},
        "bush": {"metal": "ss_1_4401", "diameter": "32 mm", "hole": "25.3 mm"},
        "tongue": {"metal": "ss_1_4401", "count": 2, "thickness": "10 mm", "gap": "1 mm", "hole": "25.3 mm"},
        "collar": "50 mm",
        "tube": {"laminate": CARBON, "diameter": "150 mm"} | PRESSED,
    },
}  # fmt: skip
"""One of each kind, as a file gives it, but for what stands on it."""
STEMS = {
    "bolted": ("foot", "stem"),
    "bonded": ("foot", "stem"),
    "welded": ("diameter",),
    "strapped": ("stem",),
}
"""Where a kind is told what stands on it, if that is a tube."""
TANG = {
    "metal": "ss_1_4401", "width": "60 mm", "thickness": "12 mm", "length": "50 mm", "end": "40 mm", "pin": "25 mm",
    "hole": "25.5 mm", "toggle": "20 mm",
}  # fmt: skip


def fixing(kind, tube=None):
    """The table of a kind, with a tube of that diameter on it."""
    table = copy.deepcopy({"kind": kind} | FIXINGS[kind])
    if tube and kind in STEMS:
        *path, key = STEMS[kind]
        here = table
        for step in path:
            here = here[step]
        here[key] = tube
    return table


def boat(*, stay=None, martingale=None, ends=None, below=False):
    """The plain boat with striker, martingale and longeron, its tangs and the longeron's ends."""
    strut, stays = (
        (STRUT, MARTINGALE_STAYS)
        if not below
        else (STRUT | {"height": -0.7}, MARTINGALE_STAYS | {"height": -0.1})
    )
    raw = tables(striker=strut, martingale=stays, longeron=LONGERON, stay={"up": 0.1})
    raw["stay"] |= {} if stay is None else {"tang": stay}
    raw["martingale"] |= {} if martingale is None else {"tang": martingale}
    raw["longeron"] |= {} if ends is None else {"ends": ends}
    return validated(Boat, raw)


def loads(stay=(-10e3, 0.0, 40e3), tension=40e3, root=(0.0,) * 6, crossbeam=(0.0,) * 6):
    """One case."""
    along = np.zeros((1, 2, 6))
    return PartLoads(
        np.array([20e3]), np.array([tension]), np.array([stay]), along, along, np.array([[root, crossbeam]]),
        np.array([0.25]),
    )  # fmt: skip


def of(checks, part, name):
    """The one check of that part and name."""
    return next(c for c in checks if (c.part, c.check) == (part, name))


def parts_of(checks, part):
    """What is said of the fixing of a part."""
    return [c for c in checks if c.part.startswith(f"{part},") and "cheek" not in c.part]


@pytest.mark.parametrize("kind", BEAM_SIDE_KINDS)
def test_a_tang_is_fixed_in_every_way_that_a_file_knows(kind):
    """Every kind of fixing on the beam is checked in all its parts, and under a small load holds."""
    one = boat(stay=TANG | {"fixing": fixing(kind)}, martingale=TANG | {"fixing": fixing(kind)})
    checks = beam_part_checks(one, loads(stay=(-1e3, 0, 4e3), tension=4e3), SafetyFactors())
    for part in ("forestay's tang", "martingale's tangs"):
        assert overall_outcome(parts_of(checks, part)) == "holds"
        assert not [c for c in unchecked(checks) if c.part.startswith(part)]


@pytest.mark.parametrize("kind", BEAM_SIDE_KINDS | BEAM_END_KINDS)
def test_the_longeron_s_ends_are_fixed_in_every_way_that_a_file_knows(kind):
    """Every kind at the crossbeam, and each of those for the end of a beam at the bulkhead; small loads hold."""
    table = fixing(kind, "100 mm")
    ends = {"crossbeam": table} | ({"root": table} if kind in BEAM_END_KINDS else {})
    small = (300.0, 20.0, 100.0, 10.0, 0.0, 10.0)
    checks = beam_part_checks(boat(ends=ends), loads(root=small, crossbeam=small), SafetyFactors())
    assert overall_outcome(parts_of(checks, "longeron at the crossbeam")) == "holds"
    if kind in BEAM_END_KINDS:
        assert overall_outcome(parts_of(checks, "longeron's root")) == "holds"


def test_what_a_file_does_not_describe_says_which_table_to_give():
    """Each part without its table is not checked, with the table's name as the cure."""
    bare = unchecked(beam_part_checks(boat(), loads(), SafetyFactors()))
    tangs = unchecked(beam_part_checks(boat(stay=TANG, martingale=TANG), loads(), SafetyFactors()))
    said = " ".join(c.reason for c in (*bare, *tangs))
    for table in (
        "[stay.tang]", "[stay.tang.fixing]", "[martingale.tang]", "[martingale.tang.fixing]", "[longeron.ends.root]",
        "[longeron.ends.crossbeam]",
    ):  # fmt: skip
        assert f"give {table}" in said


def test_bolts_are_laid_out_along_and_across_as_the_file_says():
    """Three columns along at 70 mm, two rows across at 90 mm: along −70, 0, 70, across ±45 mm of the foot's middle."""
    bolts = BOLTS | {"columns": 3, "rows": 2, "pitch_along": "70 mm", "pitch_across": "90 mm"}
    one = boat(martingale=TANG | {"fixing": fixing("bolted") | {"bolts": bolts}})
    connection = one.martingale.tang.attachments[0].connection
    across, along = connection.plate.group.positions.T
    assert sorted(set(along.round(9))) == pytest.approx([-0.07, 0.0, 0.07])
    assert sorted(set(across.round(9))) == pytest.approx([-0.045, 0.045])
    # two cheeks of 60 mm along, their outer faces 10 + 0.5 + 12 mm across: to a bolt at (70, 45) mm it is (40, 22.5) mm
    expected = np.hypot(np.maximum(abs(along) - 0.030, 0.0), np.maximum(abs(across) - 0.0225, 0.0))
    assert connection.plate.clear_distance == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("below", [False, True])
def test_the_martingale_s_pull_is_resolved_into_its_tang(below):
    """From the tang at (2.2, 0.1) to the striker's top at (0, 0.7) m: along the beam and off it as 2.2 to 0.6, either way up."""
    one = boat(martingale=TANG | {"fixing": fixing("bolted")}, below=below)
    checks = beam_part_checks(one, loads(tension=40e3), SafetyFactors())
    slope = math.hypot(2.2, 0.6)
    along, off, height = 40e3 * 2.2 / slope, 40e3 * 0.6 / slope, 0.015
    shear = of(checks, "martingale's tangs, bolts", "bolt in shear").load[0]
    assert shear == pytest.approx(along / 4)
    # the cheeks lie along the pull: its moment about the foot is that of the foot's thickness alone
    found = one.martingale.tang.attachments[0].connection.forces(
        np.array([[-along, off, 0, 0, 0, along * height]])
    )
    assert found.tension.max() == pytest.approx(off / 4 + along * height / (4 * 0.075))
    leg_difference = of(checks, "martingale's tangs, cheek", "lug buckled sideways")
    assert leg_difference.load[0] == pytest.approx(0.0, abs=1e-9)


def test_a_martingale_tang_that_stands_upright_is_bent_by_its_pull():
    """Leaned off the line its cheeks are bent in their plane by T sin(angle) × length."""
    upright = boat(martingale=TANG | {"lean": "0 deg"})
    root = of(
        beam_part_checks(upright, loads(tension=4e3), SafetyFactors()),
        "martingale's tangs, cheek",
        "lug's root",
    )
    across = 4e3 / 2 * 2.2 / math.hypot(2.2, 0.6)
    assert root.load[0] > 6 * across * 0.05 / (0.012 * 0.06**2)


def test_a_stay_along_its_cheeks_has_no_lever_but_the_foot():
    """A leaned tang puts on its foot the stay's pull and, over the foot's own thickness, its share across."""
    lean = math.atan2(10e3, 40e3)
    one = boat(stay=TANG | {"lean": f"{lean!r} rad", "fixing": fixing("bolted")})
    checks = beam_part_checks(one, loads(), SafetyFactors())
    tension = (
        one.stay.tang.attachments[0]
        .connection.forces(np.array([[0, 40e3, -10e3, 0.015 * -10e3, 0, 0]]))
        .tension
    )
    found = of(checks, "forestay's tang, bolts", "bolt in shear")
    assert found.load[0] == pytest.approx(10e3 / 4)
    assert tension.max() == pytest.approx(40e3 / 4 + 150 / (4 * 0.05))


def test_an_upright_tang_is_tipped_by_what_the_stay_pulls_across_it():
    """Aft by 10 kN at 50 mm of cheek and 15 mm of foot: the bolts ahead of it are pulled by M/4a more than their share."""
    one = boat(stay=TANG | {"fixing": fixing("bolted")})
    foot, moment = one.stay.tang.attachments[0].connection, -10e3 * (0.05 + 0.015)
    expected = foot.forces(np.array([[0, 40e3, -10e3, moment, 0, 0.0]]))
    ahead = foot.plate.group.positions[:, 0] > 0
    assert expected.tension[0][ahead] == pytest.approx([40e3 / 4 + 650 / (4 * 0.05)] * 2)
    thin = {"foot": FOOT | {"thickness": "40 mm"}, "height": "15 mm"}  # too thick to pry
    checks = beam_part_checks(boat(stay=TANG | {"fixing": fixing("bolted") | thin}), loads(), SafetyFactors())
    found = of(checks, "forestay's tang, bolts", "bolt in tension")
    assert found.load[0] == pytest.approx(expected.tension.max())


def test_a_longeron_that_is_stretched_pulls_at_both_ends():
    """Pull in the longeron pulls bulkhead and crossbeam towards each other: it lifts both feet, and a push presses them."""
    table = fixing("bolted", "100 mm") | {
        "bolts": BOLTS | {"pitch_along": "170 mm", "pitch_across": "110 mm"}
    }
    one = boat(ends={"root": table, "crossbeam": table})
    for sign in (1.0, -1.0):
        acting = loads(root=(sign * 8e3, 0, 0, 0, 0, 0), crossbeam=(-sign * 8e3, 0, 0, 0, 0, 0))
        checks = beam_part_checks(one, acting, SafetyFactors())
        for part in ("longeron's root", "longeron at the crossbeam"):
            assert (of(checks, f"{part}, bolts", "bolt in tension").load[0] > 0) == (sign > 0)


def longeron_boat(prod):
    """The demo boat without truss, a force off its prod, or without one at the beam's middle: file, rows and longeron's ends."""
    raw = copy.deepcopy(example_boat("demo").raw)
    raw["longeron"] |= {"prod": f"{prod} m"}
    raw["joints"] = [{"name": "rigid", "kind": "rigid"}]
    place = "prod tip" if prod else "beam centre"
    raw["cases"] = [
        {"name": "pull", "kind": "points", "also": [{"place": place, "force": "-4 1 11 kN"}]},
        {"name": "racking", "kind": "racking", "force": "10 kN"},
        {"name": "mirrored", "kind": "points", "also": [{"place": place, "force": "-4 -1 11 kN"}]},
    ]
    raw |= {"combinations": []}
    raw.pop("martingale")
    raw.pop("striker")
    file = validated(BoatFile, raw)
    rows = case_rows(file.joints[0], *solved_cases(file, file.joints[0]))
    return file, rows, longeron_ends(rows.values.longeron, rows.front, longeron_stations(rows.front))


def in_boat_axes(file, ends):
    """(c, 2, 6), what the longeron puts on bulkhead and crossbeam, boat axes."""
    root = np.array([0, 0, file.longeron.height_at_root])
    ahead = np.array([file.crossbeam.station, 0, file.crossbeam.height]) - root
    x = ahead / np.linalg.norm(ahead)
    axes = np.array([x, [0, 1, 0], np.cross(x, [0, 1, 0])])
    return ends @ np.kron(np.eye(2), axes)


@pytest.mark.parametrize("prod", [0.0, 1.2])
def test_longeron_and_prod_put_on_both_ends_what_acts_on_them(prod):
    """Forces at bulkhead and crossbeam sum to the force on the prod (none without one), moments about the crossbeam likewise."""
    file, _, ends = longeron_boat(prod)
    found = in_boat_axes(file, ends)
    root, beam = np.array([0, 0, 1.15]), np.array([3.7, 0, 1.35])
    tip = beam + (beam - root) / np.linalg.norm(beam - root) * prod
    force = np.array([-4e3, 1e3, 11e3]) * bool(prod)
    assert found[0, :, :3].sum(axis=0) == pytest.approx(force, abs=1e-3)
    moment = found[0, :, 3:].sum(axis=0) + np.cross(root - beam, found[0, 0, :3])
    assert moment == pytest.approx(np.cross(tip - beam, force), abs=1e-2)
    # pinned at its root: no bending there
    assert np.abs(ends[:, 0, 4:]).max() < 1e-6 * np.abs(ends).max()


def test_the_longeron_s_ends_feel_a_mirrored_load_mirrored_and_stand_it_as_well():
    """A load in the mirror of the centreline puts the mirror image on both ends, and leaves every margin as it was."""
    _, _, ends = longeron_boat(1.2)
    assert ends[2] == pytest.approx(MIRROR * ends[0], abs=1e-6 * np.abs(ends[0]).max())
    table = {"crossbeam": fixing("strapped", "100 mm"), "root": [fixing("pinned"), fixing("bolted", "60 mm")]}
    checks = [
        beam_part_checks(boat(ends=table), loads(root=case[0], crossbeam=case[1]), SafetyFactors())
        for case in (ends[0], MIRROR * ends[0])
    ]
    for here, there in zip(*checks, strict=True):
        assert there.load == pytest.approx(here.load, rel=1e-9, nan_ok=True)


def test_the_foot_at_the_crossbeam_feels_what_acts_at_that_beam_s_axis():
    """A torque about the crossbeam's axis is carried by straps as ΔT = M/nR, a force through the axis turns nothing."""
    one = boat(ends={"crossbeam": fixing("strapped", "100 mm")})
    (made,) = one.longeron.ends.attachments("crossbeam")
    assert made.height == pytest.approx(-0.1)
    upward, torque = (0, 0, 5e3, 0, 0, 0), (0, 0, 0, 0, 800.0, 0)
    checks = [beam_part_checks(one, loads(crossbeam=case), SafetyFactors()) for case in (upward, torque)]
    under = [of(c, "longeron at the crossbeam, straps", "glue under the straps") for c in checks]
    assert under[0].load[0] == pytest.approx(0.0, abs=1e-9)
    assert under[1].load[0] > 0.01


def lugs(**eye):
    """The fitting of the joint's own tests, its eye described."""
    shape = {"width": "70 mm", "length": "50 mm", "end": "40 mm"}
    given = copy.deepcopy(FITTING) | {"eye": FITTING["eye"] | shape | eye}
    return JOINTS["lug and pin"].model_validate(given)


def test_eyes_carry_between_them_what_the_pin_puts_on_the_beam():
    """Loads on two eyes, moved to the middle of the pin, sum to that on the pin; they pull where the beam pulls on the hull."""
    end = lugs().fitting.end
    axes = np.array([[1.0, 0, 0], OUTBOARD, [0.0, 0, 1.0]])
    at_pin = loads_in_axes(np.array([[2e3, 3e3, -20e3, 0.0, -500.0, 300.0]]), axes)
    each = lug_loads(end.eyes, at_pin)
    total = each.sum(axis=1)
    total[:, 3:] += np.cross(end.eyes.arms, each[..., :3]).sum(axis=1)
    assert total == pytest.approx(at_pin)
    pulled, pushed = (
        beam_end_checks(
            end, np.array([1.0, 0, 0]), np.array([[0, sign * 30e3, 0, 0, 0, 0.0]]), SafetyFactors()
        )
        for sign in (1, -1)
    )
    torn = [of(c, "beam's end, eye 1", "lug torn at the hole").load[0] for c in (pulled, pushed)]
    assert torn[0] > 0 == torn[1]


def test_a_beam_that_pulls_at_the_hull_pulls_at_its_own_eyes():
    """What the beam puts on the hull, the pin puts back on the beam: inboard on the hull is outboard on the eyes."""
    for pull, is_torn in ((-30e3, True), (30e3, False)):
        checks = lugs().port_checks(np.array([[0, pull, 0, 0, 0, 0.0]]), SafetyFactors())
        assert (of(checks, "beam's end, eye 1", "lug torn at the hole").load[0] > 0) == is_torn
        assert (of(checks, "lug 1", "lug torn at the hole").load[0] > 0) == is_torn


@pytest.mark.parametrize("kind", [kind for kind in BEAM_END_KINDS if kind != "pinned"])
def test_a_described_beam_end_is_checked_and_seen_in_a_mirror_alike(kind):
    """Nothing of the beam's end stays open, and starboard under the mirror image has port's margins to the last digit."""
    table = fixing(kind)
    if kind == "bonded":
        table["onto"] = {"laminate": CARBON, "held_at": "0.3 m"}
    joint = lugs(fixing=table)
    assert not [
        c for c in unchecked(joint.port_checks(LOADS, SafetyFactors())) if c.part.startswith("beam's end")
    ]
    both = np.stack([LOADS, 0.3 * LOADS], axis=1)
    here = {(c.part, c.check): c.load for c in joint.checks(both, SafetyFactors())}
    there = {(c.part, c.check): c.load for c in joint.checks(both[:, ::-1] * LOAD_MIRROR, SafetyFactors())}
    for (part, check), load in here.items():
        if part.startswith("port beam's end"):
            assert np.array_equal(there[part.replace("port", "starboard"), check], load)


def test_a_beam_end_that_is_not_described_stays_open():
    """Without shape or fixing the eye is not checked, and what to give is said."""
    bare = JOINTS["lug and pin"].model_validate(FITTING).port_checks(LOADS, SafetyFactors())
    reasons = [c.reason for c in unchecked(bare) if c.part == "beam's end"]
    assert len(reasons) == 2
    assert "width, length, end" in reasons[0]
    assert "eye.fixing" in reasons[1]
    (lost,) = [c for c in unchecked(lugs().port_checks(LOADS, SafetyFactors())) if c.part == "beam's end"]
    assert lost.check == "how its eye is fixed to the beam"


def test_the_demo_s_glued_eye_is_checked_under_temperature_and_load():
    """The plug glued into the tube stays elastic between workshop and deck under all cases; on 0.4 mm of epoxy it did not."""
    file = example_boat("demo")
    joint = next(j for j in file.joints if j.name == "bolted lugs")
    loads = case_rows(joint, *solved_cases(file, joint), file.expanded_combinations).values.joint_load
    here = [c for c in joint.checks(loads, file.factors) if "sleeve" in c.part]
    assert overall_outcome(here) == "holds"
    assert any(c.steady is not None and (c.steady > 0).all() for c in here)
    thin = {
        "shear_modulus": 1.2e9,
        "thickness": 0.4e-3,
        "shear_strength": 25e6,
        "peel_strength": 12e6,
        "modulus": 3.2e9,
    }
    fixing = joint.eye.fixing
    epoxy = fixing.model_copy(update={"glue": fixing.glue.model_copy(update=thin)})
    before = joint.model_copy(update={"eye": joint.eye.model_copy(update={"fixing": epoxy})})
    there = [c for c in before.checks(0 * loads, file.factors) if "sleeve" in c.part]
    assert overall_outcome(there) == "fails"


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"knockdowns": ["moist"]}, "no knock-down is called 'moist'"),
        ({"temperature_change": "-40 delta_degC"}, "temperature_change"),
    ],
)
def test_glue_of_unknown_knock_downs_or_a_negative_range_is_a_fault(changed, words):
    """A knock-down that does not exist is named with those that do; a range of temperature is a size."""
    table = fixing("bonded", "60 mm")
    with pytest.raises((ValidationError, InputFaults), match=words):
        boat(stay=TANG | {"fixing": table | {"glue": GLUE | changed}})


def test_glue_is_wet_and_warm_where_nothing_is_said():
    """Left out, knock-downs are wet and warm and the range is 40 K; an empty list is none; they multiply as on a ply's matrix."""
    plain = {key: value for key, value in GLUE.items() if key != "temperature_change"}

    def read(**more):
        return GlueTable.model_validate(plain | more).adhesive

    assert read().knockdown == pytest.approx(0.8 * 0.7)
    assert read().temperature_change == 40.0
    assert read(knockdowns=[]).knockdown == 1.0
    assert read(knockdowns=["wet", "warm", "fatigue_glue"]).knockdown == pytest.approx(0.8 * 0.7 * 0.4)


def test_the_demo_s_taped_socket_holds_with_all_that_is_beside_it():
    """The house's own boat shows a joint of which everything is described, checked and strong enough, over all cases."""
    file = example_boat("demo")
    joint = next(j for j in file.joints if j.name == "taped socket")
    rows = case_rows(joint, *solved_cases(file, joint), file.expanded_combinations)
    acting = part_loads(file.load_cases, rows, np.zeros(len(rows.names)))
    checks = (
        *joint.checks(rows.values.joint_load, file.factors),
        *beam_part_checks(file, acting, file.factors),
    )
    assert overall_outcome(checks) == "holds"


@pytest.mark.parametrize(
    ("stay", "words"),
    [
        (
            fixing("sleeved"),
            "has no 'kind' that is known; give kind as one of bolted, welded, bonded, strapped",
        ),
        (
            {"kind": "bolted", "bolts": BOLTS, "onto": TUBE | {"edge": "50 mm"}},
            "fixing: foot: 'foot' is missing",
        ),
        (fixing("bolted") | {"bolts": BOLTS | {"size": 11}}, "fixing: bolts: size: there is no bolt M11"),
        (fixing("bolted") | {"bolts": BOLTS | {"pitch_along": None}}, "pitch_along is not given"),
        (
            fixing("bolted") | {"bolts": BOLTS | {"pitch_along": "30 mm", "pitch_across": "40 mm"}},
            "under the part that is on the foot",
        ),
        (fixing("bolted") | {"onto": TUBE}, "where the wall ends is not known"),
        (fixing("bonded") | {"onto": {"diameter": "200 mm"}}, "what it is made of is not known"),
        (
            [fixing("bonded"), fixing("welded") | {"metal": "tin"}],
            r"fixing\[2\]: metal: no metal is called 'tin'",
        ),
        (fixing("strapped") | {"along": "200 mm"}, "beyond its ends"),
    ],
)
def test_a_fixing_that_cannot_be_is_told_in_a_sentence_with_a_cure(stay, words):
    """File, table, key, what is wrong and what would cure it, whether one fixing stands there or a list."""
    raw = copy.deepcopy(example_boat("demo").raw)
    raw["stay"]["tang"] |= {"width": "60 mm", "fixing": stay}
    if isinstance(stay, dict) and stay.get("bolts", {}).get("pitch_along", "") is None:
        del stay["bolts"]["pitch_along"]
    with pytest.raises(InputFaults, match=words) as told:
        checked(raw, BoatFile, "boat.toml")
    assert str(told.value).startswith("boat.toml: stay: tang")


@pytest.mark.parametrize("kind", STEMS)
def test_a_fixing_asks_what_stands_on_it(kind):
    """At the end of a beam no cheeks tell: the tube's diameter has to be given."""
    with pytest.raises(ValidationError, match="is not known"):
        boat(ends={"crossbeam": fixing(kind)})


def test_a_joint_may_name_a_laminate_of_the_file():
    """A name under [laminates] stands wherever a lay-up does, alone or in a table, and gives the very laminate."""
    raw = copy.deepcopy(example_boat("demo").raw)
    socket = next(j for j in raw["joints"] if j["name"] == "taped socket")
    inline = dict(raw["laminates"]["solid"])
    socket["crossings"][0]["skin"], socket["crossings"][1]["skin"] = "solid", {"laminate": "solid"}
    named = validated(BoatFile, raw)
    socket["crossings"][0]["skin"] = socket["crossings"][1]["skin"] = inline
    spelt = validated(BoatFile, raw)
    one, other = (next(j for j in f.joints if j.name == "taped socket") for f in (named, spelt))
    assert one.stiffness().matrix == pytest.approx(other.stiffness().matrix)
    skins = [crossing.skin.built for crossing in one.crossings]
    assert [skin.thickness for skin in skins] == pytest.approx([other.crossings[0].skin.built.thickness] * 2)
    assert named.model_dump(mode="json")["joints"][named.joints.index(one)]["crossings"][0]["skin"] == "solid"
    grown = next(k for k in one.design_variables() if k.name == "skin doublers").sizes[0][1]
    same = next(k for k in other.design_variables() if k.name == "skin doublers").sizes[0][1]
    assert grown.stiffness().matrix == pytest.approx(same.stiffness().matrix)
    for tape in (one.tape, one.crossings[0].skin):
        assert tape.repeated(2).built.thickness == pytest.approx(2 * tape.built.thickness)


@pytest.mark.parametrize(
    ("skin", "words"),
    [
        ("solidd", "'solidd' does not stand under .laminates.; did you mean 'solid'"),
        ({"laminate": "solid", "fibre": "carbon_sm"}, "names a laminate and has fibre too"),
        ({}, "its lay-up is not known"),
    ],
)
def test_a_laminate_that_is_not_there_is_a_fault(skin, words):
    """A name that no laminate has, a name with a lay-up beside it, and nothing at all are told with their place."""
    raw = copy.deepcopy(example_boat("demo").raw)
    next(j for j in raw["joints"] if j["name"] == "taped socket")["crossings"][0]["skin"] = skin
    with pytest.raises(InputFaults, match=words) as told:
        checked(raw, BoatFile, "boat.toml")
    assert "'taped socket': crossings[1] 'inboard skin': skin" in str(told.value)


@pytest.mark.parametrize("kind", ["bonded", "strapped", "sleeved"])
def test_a_thicker_glue_line_raises_elastic_margins_in_shear(kind):
    """The glue line is a size to raise: under load and temperature its next thickness leaves more of the elastic strength."""
    table = fixing(kind, "60 mm") | {"glue": GLUE | {"temperature_change": "20 delta_degC"}}
    one = (BEAM_SIDE_KINDS | BEAM_END_KINDS)[kind].model_validate(table)
    [variable] = [v for v in one.design_variables() if "glue line" in v.name]

    def margin(attachment):
        made = attachment.connection_under(None).checks("eye", LOADS, SafetyFactors())
        found = [c for c in made if c.check.endswith("elastic in service") and "peel" not in c.check]
        assert all(
            variable.applies_to(c.part.removeprefix("eye, "), c.check) for c in found if "laps" not in c.part
        )
        return min(c.margin.min() for c in found if "laps" not in c.part)

    margins = [margin(one), *(margin(size) for _, size in variable.sizes)]
    assert (np.diff(margins) > 0).all()


def test_welded_eyes_are_in_fatigue_by_what_reaches_their_foot():
    """A pull along the beam goes through both eyes' fillets alike: F over their whole length and throat; an up and down force
    across the plates' width bends them at their foot, by its lever to the pin.
    """
    joint = lugs(fixing={"kind": "welded", "metal": "al6082_t6", "throat": "6 mm", "filler": "5356"})
    (weld,) = (
        w for w in joint.weld_stresses(np.array([[0, -20e3, 0, 0, 0, 0.0]])) if w.part == "beam's end, weld"
    )
    around = 2 * 2 * (0.070 + 0.015)
    assert weld.root[0] == pytest.approx(20e3 / (around * 0.006))
    assert weld.toe[0] == pytest.approx(2 * 20e3 / around / 0.015)
    arm = joint.fitting.arm
    at_pin = np.array([[0, 0, 5e3, 0, 0, 0.0]])
    (bent,) = (w for w in joint.weld_stresses(transferred_loads(at_pin, arm)) if w.part == "beam's end, weld")
    inertia = 4 * (0.070**3 / 12) + 4 * 0.015 * 0.035**2
    assert bent.toe[0] == pytest.approx(2 * 5e3 * 0.050 * 0.035 / inertia / 0.015)
    assert not [w for w in lugs().weld_stresses(at_pin) if w.part == "beam's end, weld"]
