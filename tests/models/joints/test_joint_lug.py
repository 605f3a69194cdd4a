"""Lug and pin as a joint: what it leaves free, how stiff it is, who carries what, and at what torque it fails."""

import copy
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from models.joints import JOINTS
from models.joints.base import LOAD_MIRROR, as_port_loads
from models.strength.lugs.lug_fitting import (
    PLATE_AXES,
    bolt_loads,
    bolt_stiffnesses,
    part_stiffness,
    plate_bending_stiffness,
)
from models.strength.margins import SafetyFactors, overall_outcome, unchecked
from models.strength.springs import displacements, loads_in_axes, transferred_loads

FITTING = {
    "name": "lugs",
    "kind": "lug and pin",
    "lugs": {
        "metal": "al6082_t6", "spacing": "120 mm", "width": "70 mm", "thickness": "10 mm", "length": "60 mm",
        "end": "35 mm", "hole": "20.5 mm", "weld": "5 mm", "filler": "5356",
    },
    "pin": {"metal": "ss_1_4401", "diameter": "20 mm", "axis": "fore and aft"},
    "eye": {"metal": "al6082_t6", "thickness": "15 mm", "count": 2, "gap": "1 mm"},
    "plate": {"metal": "al6082_t6", "thickness": "12 mm", "fore_and_aft": "240 mm", "upright": "220 mm"},
    "bolts": {
        "size": 10, "columns": 2, "rows": 3, "pitch_fore_and_aft": "190 mm", "pitch_upright": "75 mm", "washer": "30 mm",
    },
    "hull": {
        "laminate": {"layup": ["6x biax 600 @0", "4x db 600 @45", "mirror"], "process": "infused"},
        "edge": "100 mm", "bearing": "200 MPa", "shear": "60 MPa", "through": "40 MPa", "crushing": "100 MPa",
        "held_at": "400 mm",
    },
    "backing": {"metal": "al6082_t6", "thickness": "5 mm"},
}  # fmt: skip
"""An invented fitting; the loads below are what a beam puts on the port hull, N and N·m, boat axes."""
LOADS = np.array(
    [[2e3, -3e3, 20e3, 0, 500.0, 300.0], [-4e3, 8e3, 5e3, 100.0, -900.0, 50.0], [0, 0, 0, 0, 700.0, 0]]
)


def fitting(**changed):
    """The joint with keys of its tables changed, `table__key` each; None takes a key out."""
    tables = copy.deepcopy(FITTING)
    for name, value in changed.items():
        *path, key = name.split("__")
        here = tables
        for step in path:
            here = here[step]
        here[key] = value
        if value is None:
            del here[key]
    return JOINTS["lug and pin"].model_validate(tables)


def of(joint, loads, part, check):
    """(cases,), the load of one check of the port joint."""
    return next(
        c for c in joint.port_checks(loads, SafetyFactors()) if (c.part, c.check) == (part, check)
    ).load


@pytest.mark.parametrize(
    ("axis", "turn"), [("fore and aft", [1, 0, 0]), ("upright", [0, 0, 1]), ([1, 0, 1], [1, 0, 1])]
)
def test_the_joint_is_free_about_its_pin_and_in_nothing_else(axis, turn):
    """Turning about the pin's own line, which lies off the hull by plate and lug, meets no resistance; every other way does."""
    changed = (
        {"pin__axis": axis}
        if axis != [1, 0, 1]
        else {"pin__axis": axis, "lugs__spacing": "90 mm", "eye__thickness": "10 mm"}
    )
    if axis != "fore and aft":
        changed |= {
            "lugs__width": "60 mm",
            "bolts__pitch_fore_and_aft": "170 mm",
            "bolts__rows": 2,
            "bolts__pitch_upright": "170 mm",
        }
    joint = fitting(**changed)
    K, w = joint.stiffness().matrix, np.array(turn, dtype=float) / np.linalg.norm(turn)
    arm = joint.fitting.arm
    motion = np.concatenate([np.cross(w, -arm), w])
    assert np.abs(K @ motion).max() < 1e-9 * np.abs(K).max()
    scale = 1 / np.sqrt(np.diag(K))
    values = np.linalg.eigvalsh(scale[:, None] * K * scale)
    assert np.sum(values < 1e-9) == 1
    assert values[1] > 1e-6


def test_torque_stiffness_is_lugs_bolts_and_skin_in_series():
    """1/k = 1/k_lugs + c_pin + 1/(k_bolt Σr²) + 1/k_skin, k_lugs = s²/2 / (ℓ³/3EI + ℓ/κGA) + 2 GJ/ℓ (derived in `lug_pair`)."""
    joint = fitting()
    lug = joint.fitting.pair.lug
    E, G, length = 70e9, 70e9 / 2.6, 0.06
    tip = 1 / (length**3 / (3 * E * 0.01 * 0.07**3 / 12) + length / (5 / 6 * G * 0.01 * 0.07))
    pair = 0.12**2 / 2 * tip + 2 * G * lug.J / length
    r2 = 4 * (0.095**2 + 0.075**2) + 2 * 0.095**2
    bolts = bolt_stiffnesses(joint.fitting)[0] * r2
    skin = part_stiffness(joint.fitting)["hull's side"][4, 4]
    pin = joint.fitting.bending.couple_flexibility
    assert 0 < pin < 1 / pair
    assert joint.stiffness().springs[4] == pytest.approx(
        1 / (1 / pair + pin + 1 / bolts + 1 / skin), rel=1e-9
    )


def test_a_thick_pin_leaves_the_lugs_alone():
    """As the pin's diameter grows the part of pin and lugs tends to that of the lugs, from below; one lug on a pin too."""
    for changed in ({}, {"lugs__count": 1, "lugs__spacing": None, "eye__count": 1}):
        fit = fitting(**changed).fitting
        lugs, pinned, thick = (
            part_stiffness(replace(fit, bending=bending))["pin and lugs"]
            for bending in (None, fit.bending, replace(fit.bending, diameter=5.0))
        )
        np.testing.assert_allclose(thick, lugs, rtol=1e-4, atol=1e-4 * np.abs(lugs).max())
        assert pinned[2, 2] < lugs[2, 2]
        assert np.linalg.eigvalsh(lugs - pinned).min() > -1e-9 * np.abs(lugs).max()


def test_play_of_the_file_s_holes():
    """Hole less pin, over the lugs' spacing and the eyes': 0.5 mm at 120 and at 83 mm, half of that in tighter eyes; none
    without a hole. Both sides are mirror images.
    """
    loads = np.zeros((1, 2, 6))
    loads[0, :, 2], loads[0, :, 4] = 10e3, 300.0
    play, states = fitting().plays(loads)
    eyes = 0.120 - 0.010 - 2 * 0.001 - 0.015
    assert play.angle == pytest.approx(0.5e-3 / 0.120 + 0.5e-3 / eyes)
    assert states[0].couple[0] == pytest.approx(300.0)
    assert states[0].opening[0] == pytest.approx(10e3 * eyes / 2)
    assert states[1].opening[0] == pytest.approx(states[0].opening[0])
    tighter, _ = fitting(eye__hole="20.25 mm").plays(loads)
    assert tighter.angle == pytest.approx(0.5e-3 / 0.120 + 0.25e-3 / eyes)
    assert fitting(lugs__hole=None).plays(loads) is None


def test_work_on_the_joint_is_the_sum_over_its_parts():
    """½ p·u of the whole joint equals the energy in lugs, plate, bolts and skin, each from what it carries."""
    joint, rng = fitting(), np.random.default_rng(5)
    at_pin = rng.normal(size=(6, 6)) * [1e4, 1e4, 1e4, 0, 1e3, 1e3]
    loads = transferred_loads(at_pin, joint.fitting.arm)
    work = (displacements(joint.stiffness().matrix, loads) * loads).sum(axis=1) / 2
    assert sum(joint.energy_by_part(loads).values()) == pytest.approx(work, rel=1e-8)


def test_bolts_balance_what_the_beam_puts_on_the_plate():
    """Forces and moments of all bolts about the joint's point sum to the load on it, whatever the plate's stiffness."""
    joint = fitting()
    on_plate = loads_in_axes(LOADS, PLATE_AXES)
    forces, at = bolt_loads(joint.fitting, LOADS), joint.fitting.group.positions
    each = np.concatenate([forces.shear, forces.tension[..., None]], axis=2)
    arms = np.concatenate([at, np.zeros((len(at), 1))], axis=1)
    found = np.concatenate([each.sum(axis=1), np.cross(arms, each).sum(axis=1)], axis=1)
    assert found == pytest.approx(on_plate, abs=1e-6)


def test_the_plate_at_a_bolt_is_half_a_t_stub():
    """0.9 E ℓ t³/m³ for a pair of bolts (EN 1993-1-8 Table 6.11, from memory), m by hand from bolt to weld's toe."""
    m = np.hypot(0.095 - 0.06 - 0.005, 0.075 - 0.035) - 0.8 * np.sqrt(2) * 0.005
    length = np.sqrt(0.24 * 0.22 / 6)
    assert plate_bending_stiffness(fitting().fitting)[0] == pytest.approx(
        0.45 * 70e9 * length * 0.012**3 / m**3
    )


def test_six_m10_share_a_force_through_their_middle():
    """Six M10 in a vertical force each carry a sixth of it in shear (common practice: six M10 for a cruising boat's beam)."""
    shear = of(fitting(), np.array([[0, 0, 24e3, 0, 0, 0.0]]), "bolts", "bolt in shear")
    assert shear == pytest.approx([4e3])


def test_a_pull_off_the_hull_by_lug_and_plate_bends_the_plate():
    """A vertical force on the pin is a moment on the bolts, by plate and lug off the hull: their pulls balance F·a."""
    joint, F = fitting(), 24e3
    arm = 0.06 + 0.012
    load = transferred_loads(np.array([[0, 0, F, 0, 0, 0.0]]), joint.fitting.arm)
    tension = bolt_loads(joint.fitting, load).tension
    upper = joint.fitting.group.positions[:, 1]
    assert load[0, 3] == pytest.approx(-F * arm)
    assert tension[0] @ upper == pytest.approx(-F * arm, rel=1e-9)
    # lifted at the pin, the plate's foot is pulled off the hull
    assert tension[0][upper < 0].min() > 0


@pytest.mark.parametrize("thickness", ["20 mm", "25 mm"])
def test_a_thicker_plate_is_stiffer_and_never_stiffer_than_its_neighbours(thickness):
    """Parts in series: stiffening one raises the whole in every direction, and the whole stays below each."""
    soft, stiff = fitting(), fitting(plate__thickness=thickness)
    more = np.linalg.eigvalsh(soft.stiffness().matrix - part_stiffness(soft.fitting)["plate and bolts"])
    assert more.max() < 1e-6 * np.abs(soft.stiffness().matrix).max()
    assert stiff.stiffness().springs[5] > soft.stiffness().springs[5]


def test_the_torque_at_failure_brings_one_part_to_its_limit():
    """Under the torque at failure the least growth of all loads to failure is 1, at the part that is named; a limit in service
    is no failure.
    """
    joint = fitting()
    failure = joint.moment_at_failure("pitch")
    loads = np.zeros((1, 6))
    loads[0, 4] = failure.moment
    load_factor = {
        f"{c.part}: {c.check}": c.load_factor[0]
        for c in joint.port_checks(loads, SafetyFactors())
        if c.kind == "checked" and c.factor.name != "serviceability"
    }
    assert min(load_factor.values()) == pytest.approx(1.0)
    assert load_factor[failure.part] == pytest.approx(1.0)


def test_a_wider_pair_fails_at_more_torque():
    """A couple needs a lever: lugs further apart take more torque, the rest being strong."""
    strong = {"pin__metal": "ss_1_4401", "pin__diameter": "25 mm", "lugs__hole": "25.5 mm"}
    near, support_radius = (
        fitting(**strong, lugs__spacing=f"{s} mm").moment_at_failure("pitch").moment for s in (90, 150)
    )
    assert support_radius > near


def test_a_weld_counts_as_heat_affected():
    """A welded lug has at its root the strength beside a weld (125 of 260 MPa for 6082-T6), one in one piece its full one."""
    welded, whole = (
        next(c for c in joint.port_checks(LOADS, SafetyFactors()) if c.check == "lug's root")
        for joint in (fitting(), fitting(lugs__weld=None, lugs__filler=None))
    )
    assert welded.allowable[0] == 125e6
    assert whole.allowable[0] == 260e6


@pytest.mark.parametrize("lost", ["hull__bearing", "hull__through", "lugs__filler", "hull__held_at"])
def test_what_is_not_known_never_passes(lost):
    """Without one strength the joint is not known to hold under no matter how small a load, and says what it lacks."""
    small = 1e-6 * LOADS
    assert overall_outcome(fitting(**{lost: None}).port_checks(small, SafetyFactors())) != "holds"
    assert len(unchecked(fitting(**{lost: None}).port_checks(small, SafetyFactors()))) > len(
        unchecked(fitting().port_checks(small, SafetyFactors()))
    )


def test_mirrored_loads_give_mirrored_margins():
    """What is on port under a load is on starboard under its mirror image, to the last digit."""
    joint = fitting()
    both = np.stack([LOADS, 0.3 * LOADS], axis=1)
    mirrored = both[:, ::-1] * LOAD_MIRROR
    here = {(c.part, c.check): c.load for c in joint.checks(both, SafetyFactors())}
    there = {(c.part, c.check): c.load for c in joint.checks(mirrored, SafetyFactors())}
    swap = {"port": "starboard", "starboard": "port"}
    for (part, check), load in here.items():
        side, _, rest = part.partition(" ")
        assert np.array_equal(there[f"{swap[side]} {rest}", check], load, equal_nan=True)


@pytest.mark.parametrize(
    "design_variable", ["lug thickness", "pin diameter", "bolts", "plate thickness", "backing plate"]
)
def test_a_larger_size_helps_the_part_that_it_is_for(design_variable):
    """Under the same load the next size raises the least margin of its own part."""
    joint = fitting()
    turned = next(k for k in joint.design_variables() if k.name == design_variable)
    larger = turned.sizes[-1][1] if design_variable == "bolts" else turned.sizes[0][1]

    def least(j):
        found = (
            c
            for c in j.port_checks(LOADS, SafetyFactors())
            if c.kind == "checked" and turned.applies_to(c.part, c.check)
        )
        return min(c.margin.min() for c in found)

    assert least(larger) > least(joint)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"pin__axis": [0, 1, 0]}, "is not parallel to the hull's side"),
        ({"bolts__pitch_fore_and_aft": "120 mm"}, "a bolt is under a lug"),
        ({"bolts__pitch_upright": "120 mm"}, "a bolt is at or beyond the plate's edge"),
        ({"eye__thickness": "60 mm"}, "thicker than the room between the lugs"),
        ({"bolts__size": 11}, "there is no bolt M11"),
        ({"lugs__metal": "al6082"}, "no metal is called 'al6082'"),
        ({"lugs__spacing": None}, "two lugs have no spacing"),
        ({"pin__axis": "sideways"}, "is no direction"),
        ({"hull__laminate": None}, "are not known"),
    ],
)
def test_a_fitting_that_cannot_be_is_a_fault(changed, words):
    """What does not fit together is told in a sentence with a cure."""
    with pytest.raises(ValidationError, match=words):
        fitting(**changed)


def test_mass_is_volume_times_density():
    """Worked by hand: alloy 2,700 kg/m³, steel of pin and bolts 8,000; eyes where their shape is given."""
    joint = fitting(eye__width="60 mm", eye__length="50 mm", eye__end="30 mm")
    hole = np.pi / 4 * 0.0205**2
    grip = 0.012 + joint.hull.depth + 0.005 + 3 * 0.010
    assert joint.masses() == pytest.approx(
        {
            "lugs": 2 * 2700 * 0.010 * (0.070 * (0.060 + 0.035) - hole),
            "pin": 8000 * np.pi / 4 * 0.020**2 * (0.120 + 0.010),
            "plate": 2700 * 0.240 * 0.220 * 0.012,
            "bolts": 6 * 8000 * np.pi / 4 * 0.010**2 * grip,
            "backing": 2700 * 0.240 * 0.220 * 0.005,
            "eyes": 2 * 2700 * 0.015 * (0.060 * (0.050 + 0.030) - hole),
        },
        rel=1e-12,
    )
    assert 2.0 < sum(joint.masses().values()) < 5.0
    assert {"lugs", "pin", "plate", "bolts"} == set(fitting(backing=None).masses())


def test_checks_of_both_joints_are_those_of_either_side():
    """Loads of port and starboard side are checked as cases of one, and told apart again."""
    made, factors = JOINTS["lug and pin"].model_validate(FITTING), SafetyFactors()
    loads = 2e3 * np.random.default_rng(4).standard_normal((5, 2, 6))
    both = made.checks(loads, factors)
    port, starboard = (made.port_checks(side, factors) for side in as_port_loads(loads))
    assert [one.part for one in both] == [
        *(f"port {one.part}" for one in port), *(f"starboard {one.part}" for one in starboard)
    ]  # fmt: skip
    for one, other in zip(both, (*port, *starboard), strict=True):
        np.testing.assert_allclose(one.margin, other.margin, rtol=1e-12)
    assert any((one.load[:5] != two.load[:5]).any() for one, two in zip(port, starboard, strict=True))
