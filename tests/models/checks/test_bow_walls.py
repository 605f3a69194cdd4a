"""The bows' shell under the bow beam's own actions: by hand at the bulkhead, warping at a hatch, laws, what is not checked."""

import numpy as np
import pytest

from cases.analyses.case_rows import case_rows
from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from femcore.sections import panel_strength, properties, warping
from models.boat.boat import Boat
from models.checks.bow_walls import (
    BETWEEN,
    BULKHEAD,
    CORNERS,
    CROSSBEAM,
    HATCH,
    _places,
    bow_shell_checks,
    shell_places,
)
from models.checks.not_checked import BOWS_BY_OUTLINE, BOWS_BY_STIFFNESS, never_checked
from models.strength.margins import SafetyFactors
from tests.models.boat.test_section_boats import ALLOY, STATIONS, outlined
from tests.models.boat.test_section_boats import HATCH as OPENING
from tests.models.boats import plain, validated

PROOF = 125e6
LAYUP = ["db 800", "biax 800", "core foam80 20 mm", "biax 800", "db 800"]


def boat(**keys):
    """The boat of `outlined`, of an alloy with a proof strength."""
    raw = outlined(**keys)
    return validated(Boat, raw | {"materials": {"alloy": ALLOY | {"proof": "125 MPa"}}})


def laid(**keys):
    """The same of glass sandwich."""
    raw = outlined(**keys)
    skin = {"laminate": "skin"}
    raw["bows"]["walls"] = {"bottom": skin, "topside": skin, "deck": skin}
    return validated(Boat, raw | {"laminates": {"skin": {"layup": LAYUP, "fibre": "e_glass"}}})


def acting(made, action, side=0):
    """(1, 2, places, 2, 6): the same action at every place of one bow."""
    table = np.zeros((1, 2, len(shell_places(made)), 2, 6))
    table[:, side] = action
    return table


def found(checks, part, name):
    """The one check of that part and name."""
    (one,) = [check for check in checks if (check.part, check.check) == (part, name)]
    return one


def test_sides_of_a_place_that_are_alike_are_one_of_each_case():
    """What acts ahead of a place counts where it is another than behind, case by case; the worst of each case is that alone."""
    made = laid()
    rng = np.random.default_rng(4)
    actions = rng.normal(size=(5, 2, len(shell_places(made)), 1, 6)) * [2e3, 3e3, 9e3, 8e3, 2e4, 1e4]
    actions = np.repeat(actions, 2, axis=3)
    actions[1, 0, :, 1] *= 1.5
    actions[3, 1, :, 0] *= 1.5
    whole = bow_shell_checks(made, actions, SafetyFactors())
    for case in range(5):
        alone = bow_shell_checks(made, actions[case : case + 1], SafetyFactors())
        for check, one in zip(whole, alone, strict=True):
            assert check.load[case] == pytest.approx(one.load[0], rel=1e-12)
    larger = actions.copy()
    larger[1, 0, :, 0], larger[3, 1, :, 1] = larger[1, 0, :, 1], larger[3, 1, :, 0]
    for check, one in zip(whole, bow_shell_checks(made, larger, SafetyFactors()), strict=True):
        np.testing.assert_allclose(check.load, one.load, rtol=1e-12)


def test_the_root_yields_by_bending_of_its_section():
    """σ = E M z/EI at the farthest place of the bulkhead's section, from the bow's own height; torque adds Bredt's flow."""
    made = boat()
    section = shell_places(made)[0].section.solved
    M = 3e5
    far = np.abs(section.section.points[:, 1] - properties(section).centre[1]).max()
    sigma = 70e9 * M * far / properties(section).EIy
    checks = bow_shell_checks(made, acting(made, [0, 0, 0, 0, M, 0]), SafetyFactors())
    assert found(checks, BULKHEAD, "first yield").load[0] == pytest.approx(sigma / PROOF, rel=0.02)
    T, area = 2e5, float(properties(section).cell_area.sum())
    checks = bow_shell_checks(made, acting(made, [0, 0, 0, T, 0, 0]), SafetyFactors())
    tau = T / (2 * area * 5e-3)
    assert found(checks, BULKHEAD, "first yield").load[0] == pytest.approx(np.sqrt(3) * tau / PROOF, rel=0.03)


def test_an_axial_force_acts_on_the_bows_axis():
    """σ = E (N/EA + N e z/EI) with e the axis' height over the section's elastic centre, which a straight axis cannot follow."""
    rising = STATIONS[1] | {"keel": "0 0.6 m", "chines": ["0.3 0.7 m"], "gunwale": "0.4 1.6 m"}
    made, N = boat(stations=[STATIONS[0], rising]), 4e5
    section = shell_places(made)[0].section.solved
    beam = properties(section)
    off = made.bows.height - beam.centre[1]
    assert off > 0.05
    z = section.section.points[:, 1] - beam.centre[1]
    sigma = 70e9 * np.abs(N / beam.EA + N * off * z / beam.EIy).max()
    checks = bow_shell_checks(made, acting(made, [N, 0, 0, 0, 0, 0]), SafetyFactors())
    assert found(checks, BULKHEAD, "first yield").load[0] == pytest.approx(sigma / PROOF, rel=0.01)


def test_either_bow_and_either_side_of_a_place_is_judged():
    """The same actions on port or starboard, behind or ahead, give the same utilisations; both together the worse."""
    made, action = laid(), np.array([2e3, 3e3, -9e3, 8e3, 2e4, 1e4])
    port = bow_shell_checks(made, acting(made, action), SafetyFactors())
    starboard = bow_shell_checks(made, acting(made, action, side=1), SafetyFactors())
    behind = acting(made, action)
    behind[..., 1, :] /= 2
    more = acting(made, action) + acting(made, 2 * action, side=1)
    for one, other, half, both in zip(
        port,
        starboard,
        bow_shell_checks(made, behind, SafetyFactors()),
        bow_shell_checks(made, more, SafetyFactors()),
        strict=True,
    ):
        assert one.load == other.load == half.load
        assert both.load == pytest.approx(2 * one.load, rel=1e-9)


def test_every_wall_of_sandwich_has_its_checks_at_every_place():
    """First ply, panels, wrinkling, core and crimping at bulkhead, crossbeam and hatch; the deck's corners by first ply."""
    made = laid(hatches=[OPENING])
    checks = bow_shell_checks(made, acting(made, [2e3, 3e3, -9e3, 8e3, 2e4, 1e4]), SafetyFactors(core=3.0))
    names = {"first ply", "wall buckled", "wrinkling of faces", "core in shear", "shear crimping"}
    for part in (BULKHEAD, CROSSBEAM, HATCH, BETWEEN):
        assert {check.check for check in checks if check.part == part} == names
    assert [check.check for check in checks if check.part == CORNERS] == ["first ply"]
    core = [
        check for check in checks if check.check in ("wrinkling of faces", "core in shear", "shear crimping")
    ]
    assert {check.factor for check in core} == {(3.0, "core")}


def test_torque_at_a_held_hatch_is_borne_by_its_bimoment():
    """σ = E ω B/EIω at the hatch's edge with B = T tanh(u)/(λ(1 + GJ f)) at its ends, times the corner's concentration."""
    made = boat(hatches=[OPENING | {"concentration": 2.0}])
    cut = [place for place in shell_places(made) if place.corner][
        -1
    ]  # the forward end, where the hull is smaller
    own, T, length = warping(cut.section.solved), 2e4, 0.6
    shared = 1 + own.GJ * own.shear_flexibility
    rate = np.sqrt(own.GJ / (own.EIw * shared))
    bimoment = T * np.tanh(rate * length / 2) / (rate * shared)
    edge = np.abs(own.omega[cut.section.solved.section.degree == 1]).max()
    sigma = 70e9 * edge * bimoment / own.EIw
    checks = bow_shell_checks(made, acting(made, [0, 0, 0, T, 0, 0]), SafetyFactors())
    assert found(checks, CORNERS, "first yield").load[0] == pytest.approx(2 * sigma / PROOF, rel=0.03)


def test_a_corner_concentrates_as_a_round_hole_unless_it_says_how_much():
    """2 + (1 − w/W)³ of the deck's breadth W (Heywood 1952, from memory): 3 for a small hole; in proportion where it is given."""
    loads = [
        found(
            bow_shell_checks(made, acting(made, [0, 0, 0, 0, 2e5, 0]), SafetyFactors()),
            CORNERS,
            "first yield",
        ).load[0]
        for made in (
            boat(hatches=[OPENING | given]) for given in ({}, {"concentration": 1.0}, {"concentration": 4.0})
        )
    ]
    assert loads[2] == pytest.approx(4 * loads[1], rel=1e-9)
    deck = 2 * (0.7 - 0.3 * 1.6 / 4)  # at the forward end, where less of it is left
    assert loads[0] / loads[1] == pytest.approx(2 + (1 - 0.5 / deck) ** 3, rel=0.01)
    wide = boat(hatches=[OPENING | {"width": "1 mm"}]).bows.hatches[0].hatch()
    assert wide.corner_concentration(1.0) == pytest.approx(3.0, rel=1e-2)


def test_closer_frames_never_make_panels_buckle_earlier():
    """Shorter panels bear at least as much, and with frames closer than the panels are wide more."""
    action = [-3e4, 3e3, -9e3, 8e3, 2e4, 1e4]
    loads = [
        found(bow_shell_checks(made, acting(made, action), SafetyFactors()), BULKHEAD, "wall buckled").load[0]
        for made in (
            laid(**({"frame_spacing": f"{far} m"} if far else {})) for far in (None, 3.5, 1.5, 0.8, 0.4, 0.2)
        )
    ]
    assert loads[0] == loads[1]
    # the waves that are tried depend on the length: to 1e-4
    assert (np.diff(loads) <= 1e-4 * np.array(loads[1:])).all()
    assert loads[-1] < 0.9 * loads[0]


def test_the_deck_beside_a_short_hatch_is_a_short_flange():
    """The deck's edge at a hatch is free over the hatch's length L alone: N = 12 D66/b² + π² D11/L², isotropic deck by hand."""
    made = boat(hatches=[OPENING])
    cut = next(place for place in shell_places(made) if place.corner)
    D = 70e9 * 5e-3**3 / 12 / (1 - 0.3**2)
    solved = cut.section.solved
    width = (2 * (0.7 - 0.3 / 4) - 0.5) / 2
    critical = 12 * D * 0.35 / width**2 + np.pi**2 * D / 0.6**2
    strength = panel_strength(solved.section, 3.5, 0.6)
    deck = [name.startswith("deck") for name in strength.panels.names]
    assert strength.panels.free[deck].all()
    assert strength.compression[deck] == pytest.approx(critical, rel=1e-6)
    assert (panel_strength(solved.section, 3.5).compression[deck] < critical).all()
    # and it is the hatch's length that the shell is checked with
    action = [0, 0, 0, 0, -1e4, 0]
    loads = [
        found(bow_shell_checks(one, acting(one, action), SafetyFactors()), HATCH, "wall buckled").load[0]
        for one in (laid(hatches=[OPENING | {"length": far}]) for far in ("0.3 m", "2.4 m"))
    ]
    assert loads[0] < loads[1]


def test_the_actions_at_the_bulkhead_are_those_of_the_bow_beam():
    """A bow alone with a force at its stem: N, V and moments at x = 0 by statics from all that acts ahead of it."""
    raw = outlined(hatches=[OPENING]) | {"materials": {"alloy": ALLOY | {"proof": "125 MPa"}}}
    raw["joints"] = [{"name": "rigid", "kind": "rigid"}]
    force, moment = np.array([1e3, 2e3, 9e3]), np.array([3e3, 0.0, 0.0])
    raw["cases"] = [
        {
            "name": "case", "kind": "points",
            "also": [
                {"place": "port stem", "force": "1 2 9 kN", "moment": "3 0 0 kN*m"},
                {"place": "starboard stem", "force": "0 -1 -4 kN"},
            ],
        }
    ]  # fmt: skip
    file = validated(BoatFile, raw)
    (joint,) = run_study(file).joints
    values = case_rows(joint.joint, joint.front, joint.solution).values
    # beam axes are boat axes turned: x forward, y to port, z up; a section's actions are what is ahead puts on it
    both = (force, moment), (np.array([0.0, -1e3, -4e3]), np.zeros(3))
    for side, (force, moment) in enumerate(both):
        total = np.concatenate([force, moment + np.cross([4.0, 0, 0], force)])
        from_beam = values.joint_load[0, side]
        arm = joint.front.joint_position(side) - np.array([0.0, 3.0 - 6.0 * side, file.bows.height])
        total += np.concatenate([from_beam[:3], from_beam[3:] + np.cross(arm, from_beam[:3])])
        at_root = values.bows[0, side, 0]
        assert at_root[0] == pytest.approx(total, rel=1e-6)
        assert at_root[1] == pytest.approx(at_root[0], rel=1e-9)
    from_beam = values.joint_load[0, 0]
    # the joint's load is between both sides of the crossbeam's place
    number = next(i for i, p in enumerate(shell_places(file)) if p.part == CROSSBEAM)
    step = values.bows[0, 0, number, 0] - values.bows[0, 0, number, 1]
    assert step[:3] == pytest.approx(from_beam[:3], rel=1e-6, abs=1e-3)


def test_places_in_between_leave_little_unseen(monkeypatch):
    """Five times as many places along the bow raise no utilisation by more than 3 %."""
    made = laid(hatches=[OPENING])
    few = shell_places(made)
    x = np.array([place.x for place in few])
    monkeypatch.setattr("models.checks.bow_walls.FARTHEST_APART", 0.05)
    many = _places.__wrapped__(made.bows.sections, made.crossbeam.station)
    assert len(many) > 2 * len(few)

    def worst(places):
        monkeypatch.setattr("models.checks.bow_walls.shell_places", lambda _: places)
        at = np.array([place.x for place in places])
        # a force at the stem and a torque
        action = np.zeros((1, 2, len(at), 2, 6))
        action[..., 2], action[..., 3] = 5e3, 4e3
        action[..., 4] = -5e3 * (4.0 - at)[None, None, :, None]
        return {
            name: max(c.load[0] for c in bow_shell_checks(made, action, SafetyFactors()) if c.check == name)
            for name in ("first ply", "wall buckled", "wrinkling of faces", "shear crimping")
        }

    one, other = worst(few), worst(many)
    for name, load in one.items():
        assert load <= other[name] + 1e-12 <= 1.03 * load
    assert len(x) == len(few)


def test_what_lacks_its_data_is_not_checked():
    """Walls without a proof strength are rows that are not checked; bows by stiffness have no outline and are listed so."""
    made = validated(Boat, outlined())
    checks = bow_shell_checks(made, acting(made, [0, 0, 0, 0, 1e4, 0]), SafetyFactors())
    assert {check.part for check in checks} == {BULKHEAD, CROSSBEAM, BETWEEN}
    assert all(check.kind == "not checked" and "proof" in check.reason for check in checks)
    by_stiffness = plain()
    assert shell_places(by_stiffness) == ()
    assert never_checked(by_stiffness)[0] is BOWS_BY_STIFFNESS
    assert "no outline" in BOWS_BY_STIFFNESS.why
    assert never_checked(made)[0] is BOWS_BY_OUTLINE
    for one in (made, by_stiffness):
        assert any(entry.part == "frames and bulkheads behind the joints" for entry in never_checked(one))
