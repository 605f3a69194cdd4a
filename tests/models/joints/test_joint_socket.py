"""Bonded socket as a joint: rings by lever arm, shares, limits, and what is said where strengths are lacking."""

import copy
import math

import numpy as np
import pytest
from pydantic import ValidationError

from models.joints import JOINTS
from models.joints.base import LOAD_MIRROR, as_port_loads
from models.strength.margins import SafetyFactors, overall_outcome, unchecked
from models.strength.plates import disc
from models.strength.plates.hoop_bending import TubeUnderBearing, hoop_bending
from models.strength.springs import displacements, transferred_loads

GLUE = {
    "shear_modulus": "1.2 GPa", "thickness": "0.3 mm", "shear_strength": "25 MPa", "peel_strength": "12 MPa",
    "modulus": "3.2 GPa",
}  # fmt: skip


def crossing(name, at, **changed):
    """A skin of glass, taped."""
    skin = {"layup": ["4x db 600 @45", "2x biax 600 @0", "mirror"], "process": "vacuum"}
    own = {"name": name, "at": at, "skin": skin, "held_at": "400 mm", "taped": "both", "on_beam": "90 mm"}
    return own | {"on_skin": "90 mm", "corner": "15 mm"} | changed


def socket_tables(*crossings):
    """Tables of an invented socket of a carbon tube, through the inboard skin alone if nothing else is given."""
    return {
        "name": "socket",
        "kind": "bonded socket",
        "beam": {
            "diameter": "200 mm",
            "wall": {
                "layup": ["2x uni 600 @0", "3x db 450 @45", "mirror"],
                "fibre": "carbon_sm",
                "process": "infused",
            },
        },
        "tape": {"layup": ["6x db 450 @45"], "fibre": "carbon_sm", "process": "hand"},
        "glue": GLUE,
        "crossings": list(crossings) or [crossing("inboard skin", "0 m")],
        "sway": "100 MN/m",
        "sway_strength": "60 kN",
    }


def socket(*crossings, **changed):
    """The joint of these tables, some of them changed."""
    return JOINTS["bonded socket"].model_validate(copy.deepcopy(socket_tables(*crossings)) | changed)


BOTH = (crossing("inboard skin", "0 m"), crossing("web", "500 mm"))
LOADS = np.array([[10e3, -3e3, 20e3, 3e3, 1.5e3, 300.0], [-2e3, 6e3, -9e3, 500.0, -4e3, 2e3]])


def matrix(joint):
    """(6, 6), of the port joint."""
    return joint.stiffness().matrix


def test_the_side_of_a_tape_is_unmistakable():
    """Sides are by the centreline. In older files "outside" is towards it and "inside" away from it."""
    inner, outer = "towards the centreline", "away from the centreline"

    def tapes(at, taped):
        return [
            part.partition(", tape ")[2] for part in _ring_parts(socket(crossing("skin", at, taped=taped)))
        ]

    assert tapes("0 m", inner) == tapes("0 m", "outside") == [inner]
    assert tapes("0 m", outer) == tapes("0 m", "inside") == [outer]
    assert tapes("500 mm", inner) == tapes("500 mm", "outside") == [inner]
    assert tapes("500 mm", outer) == tapes("500 mm", "inside") == [outer]
    assert tapes("0 m", "both sides") == tapes("0 m", "both") == [inner, outer]
    far, near = (socket(crossing("skin", "0 m", taped=side)).socket.rings[0] for side in (outer, inner))
    assert (far.beyond, near.beyond) == (True, False)


def _ring_parts(joint):
    return list(
        dict.fromkeys(c.part for c in joint.port_checks(LOADS, SafetyFactors()) if ", tape " in c.part)
    )


@pytest.mark.parametrize("box", [False, True])
def test_the_beam_between_the_rings_is_its_own_section(box):
    """EI, GJ and GA of the socket's beam are those of a thin tube or box of its wall (Bredt; strength of materials)."""
    outline = {"breadth": "150 mm", "depth": "100 mm"} if box else {"diameter": "200 mm"}
    beam = socket(beam=outline | {"metal": "al6082_t6", "thickness": "4 mm"}).beam
    section, E, t = beam.between_rings, beam.stiffness.along / 4e-3, 4e-3
    G = beam.stiffness.shear / t
    if box:
        b, d = 0.146, 0.096
        assert section.EI_vertical == pytest.approx(E * t * (d**3 / 6 + b * d**2 / 2))
        assert section.EI_lateral == pytest.approx(E * t * (b**3 / 6 + d * b**2 / 2))
        assert section.GJ == pytest.approx(G * 4 * (b * d) ** 2 * t / (2 * (b + d)))
        assert section.EA == pytest.approx(E * t * 2 * (b + d))
        assert (section.GA_vertical, section.GA_lateral) == pytest.approx((2 * G * t * d, 2 * G * t * b))
    else:
        r = 0.098
        assert section.EI_vertical == section.EI_lateral == pytest.approx(E * math.pi * r**3 * t)
        assert section.GJ == pytest.approx(G * 2 * math.pi * r**3 * t)
        assert section.EA == pytest.approx(E * 2 * math.pi * r * t)
        assert section.GA_vertical == pytest.approx(G * math.pi * r * t)


def test_the_inboard_skin_takes_most_of_a_torque():
    """Twist of the beam leaves the second skin less than its stiffness alone would give it: more than half goes to the first."""
    torque = np.array([[0, 0, 0, 0, 1e3, 0.0]])
    rings = socket(*BOTH).response(torque).rings[0, :, 4]
    assert rings.sum() == pytest.approx(1e3)
    assert rings[:2].sum() > 0.6 * 1e3


def test_no_overlap_no_stiffness():
    """Without overlap nothing holds the beam but what stands beside the skins."""
    K = matrix(socket(crossing("inboard skin", "0 m", on_beam="0 m")))
    assert K[1, 1] == pytest.approx(100e6)
    K[1, 1] = 0
    assert np.abs(K).max() == 0


def test_huge_tape_leaves_the_skin():
    """With tape, glue and beam far stiffer than the skin its stiffness is that of a rigid disc in the skin."""
    stiff_glue = GLUE | {"shear_modulus": "1e6 GPa"}
    beam = {"diameter": "200 mm", "metal": "ss_1_4401", "thickness": "90 mm"}
    tape = {"layup": ["900x db 450 @45"], "fibre": "carbon_sm"}
    joint = socket(
        crossing("inboard skin", "0 m", corner="0.01 mm", taped="inside"),
        glue=stiff_glue,
        beam=beam,
        tape=tape,
        sway="0 N/m",
    )
    ring = joint.socket.rings[0]
    r, R, skin = ring.skin_radius, ring.support_radius, ring.skin
    assert matrix(joint)[4, 4] == pytest.approx(disc.torsional_stiffness(skin, r, R), rel=0.05)
    assert matrix(joint)[2, 2] == pytest.approx(disc.in_plane_stiffness(skin, r, R), rel=0.05)
    assert matrix(joint)[1, 1] == pytest.approx(disc.transverse_stiffness(skin, r, R), rel=0.02)


def test_two_skins_are_stiff_in_roll_by_their_lever_arm():
    """A moment on the first of two like skins w apart turns it by w/3EI + 1/wGA + 2/kw²: beam, its shear, and springs in plane.

    The skins' own tilt, some per cent, makes it a little stiffer; on a rigid beam it would be k w²/2, ten times as much.
    """
    joint = socket(*BOTH)
    K, one, beam = matrix(joint), matrix(socket()), joint.beam.between_rings
    w, k = 0.5, one[2, 2]
    turn = w / (3 * beam.EI_vertical) + 1 / (w * beam.GA_vertical) + 2 / (k * w**2)
    own = 1 / np.linalg.inv(K)[3, 3]
    assert 1 < own * turn < 1.03
    assert own < 0.1 * k * w**2 / 2


def test_tape_at_both_faces_is_stiffer_than_at_one_and_less_than_twice():
    """Two tapes share one skin: more than one tape's stiffness, less than twice it, in every direction."""
    one, two = (
        np.diag(matrix(socket(crossing("skin", "0 m", taped=t), sway="0 N/m"))) for t in ("outside", "both")
    )
    assert (two > one).all()
    assert (two < 2 * one).all()


def test_work_on_the_joint_is_the_sum_over_its_parts():
    """½ p·u of the joint equals the energy of glue, tape, skin of all rings and of what stands beside the skins."""
    joint = socket(*BOTH)
    work = (displacements(matrix(joint), LOADS) * LOADS).sum(axis=1) / 2
    assert sum(joint.energy_by_part(LOADS).values()) == pytest.approx(work, rel=1e-9)


def test_rings_balance_the_load():
    """Forces and moments of all rings and of what stands beside the skins, about the joint's point, sum to the load."""
    joint = socket(*BOTH)
    response = joint.response(LOADS)
    shared, at_end = response.rings, response.end_support
    total = sum(transferred_loads(shared[:, n], joint.socket.arms[n]) for n in range(shared.shape[1]))
    total[:, 1] += at_end
    assert total == pytest.approx(LOADS, abs=1e-6)


def test_a_skin_carries_what_both_its_tapes_bring():
    """The skin around two tapes is judged by the sum of their loads, so that one tape less does not relieve it."""
    utilisation = {}
    for taped in ("both", "outside"):
        joint = socket(crossing("skin", "0 m", taped=taped))
        utilisation[taped] = next(
            c.load for c in joint.port_checks(LOADS, SafetyFactors()) if c.check.startswith("skin beside")
        )
    assert utilisation["both"] == pytest.approx(utilisation["outside"], rel=1e-3)


def test_double_bias_is_several_times_stiffer_in_torsion_than_cross_ply():
    """Over the corner's free width ±45° carbon tape is 5 to 10 times as stiff as at 0/90° (ply theory: about 6)."""
    energy = {}
    torque = np.array([[0, 0, 0, 0, 1e3, 0.0]])
    for angle in (45, 0):
        cloth = "db" if angle else "biax"
        tape = {"layup": [f"6x {cloth} 450 @{angle}"], "fibre": "carbon_sm", "process": "hand"}
        parts = socket(tape=tape).energy_by_part(torque)
        energy[angle] = sum(e[0] for name, e in parts.items() if name.endswith("corner of the tape"))
    assert 5 < energy[0] / energy[45] < 10


@pytest.mark.parametrize("lost", ["shear_strength", "peel_strength"])
def test_glue_of_unknown_strength_never_passes(lost):
    """Without a strength of the glue the joint is not known to hold, under however small a load."""
    poor = {k: v for k, v in GLUE.items() if k != lost}
    checks = socket(glue=poor).port_checks(1e-6 * LOADS, SafetyFactors())
    assert overall_outcome(checks) == "not known"
    assert len(unchecked(checks)) > 0
    assert overall_outcome(socket().port_checks(1e-6 * LOADS, SafetyFactors())) == "holds"


def test_what_takes_the_sway_needs_a_strength_too():
    """A bulkhead of unknown strength is not known to hold; of 60 kN it is checked with the push that it gets."""
    silent = JOINTS["bonded socket"].model_validate(_without_strength())
    assert [c.part for c in unchecked(silent.port_checks(LOADS, SafetyFactors()))] == ["beside the skins"]
    told = next(c for c in socket().port_checks(LOADS, SafetyFactors()) if c.part == "beside the skins")
    assert told.load == pytest.approx([3e3, 6e3], rel=2e-2)


def _without_strength():
    tables = {
        "name": "s",
        "kind": "bonded socket",
        "glue": GLUE,
        "sway": "100 MN/m",
        "crossings": [crossing("skin", "0 m")],
    }
    beam = {"diameter": "200 mm", "wall": {"layup": ["4x db 450 @45"], "fibre": "carbon_sm"}}
    return tables | {"beam": beam, "tape": {"layup": ["6x db 450 @45"], "fibre": "carbon_sm"}}


def test_mirrored_loads_give_mirrored_margins():
    """What is on port under a load is on starboard under its mirror image."""
    joint = socket(*BOTH)
    both = np.stack([LOADS, -0.4 * LOADS], axis=1)
    here = {(c.part, c.check): c.load for c in joint.checks(both, SafetyFactors())}
    there = {(c.part, c.check): c.load for c in joint.checks(both[:, ::-1] * LOAD_MIRROR, SafetyFactors())}
    swap = {"port": "starboard", "starboard": "port"}
    for (part, check), load in here.items():
        side, _, rest = part.partition(" ")
        assert np.array_equal(there[f"{swap[side]} {rest}", check], load)


def test_a_metal_beam_wall_is_judged_as_a_thin_tube():
    """Pure torque: τ = T/2At against the proof stress through √3 (Bredt; von Mises)."""
    beam = {"diameter": "200 mm", "metal": "al6082_t6", "thickness": "6 mm"}
    torque = np.array([[0, 0, 0, 0, 5e3, 0.0]])
    wall = next(c for c in socket(beam=beam).port_checks(torque, SafetyFactors()) if c.part == "beam's wall")
    assert wall.load[0] == pytest.approx(np.sqrt(3) * 5e3 / (2 * np.pi / 4 * 0.2**2 * 6e-3))


@pytest.mark.parametrize("design_variable", ["overlap", "glue line's thickness", "tape", "skin doublers"])
def test_a_larger_size_helps_what_it_is_for(design_variable):
    """Under the same load the last size raises the least margin among the checks that its knob helps, from legs of 8 mm."""
    # a leg beyond the skin peaks where it begins, however long it is: only one between load and skin gains
    legs = {"on_beam": "8 mm", "on_skin": "8 mm", "taped": "towards the centreline"}
    joint = socket(crossing("inboard skin", "0 m", **legs), crossing("web", "500 mm", **legs))
    turned = next(k for k in joint.design_variables() if k.name == design_variable)

    def least(j):
        checks = (
            c
            for c in j.port_checks(LOADS, SafetyFactors())
            if c.kind == "checked" and turned.applies_to(c.part, c.check)
        )
        if design_variable == "tape":
            checks = (c for c in checks if c.check.startswith("tape"))
        return min(c.margin.min() for c in checks)

    assert least(turned.sizes[-1][1]) > least(joint)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"sway": None}, "bare skins holds the beam along its own axis; say what takes"),
        ({"beam": {"diameter": "200 mm"}}, "its wall is not known"),
        ({"beam": {"metal": "al6082_t6", "thickness": "5 mm"}}, "its outline is not known"),
        ({"tape": {"layup": ["6x carpet 450"]}}, "carpet"),
        ({"crossings": [crossing("skin", "0 m", held_at="150 mm")]}, "far radius"),
        ({"crossings": [crossing("skin", "0 m"), crossing("skin", "1 m")]}, "two crossings have one name"),
    ],
)
def test_a_socket_that_cannot_be_is_a_fault(changed, words):
    """What is missing or does not fit is told in a sentence with a cure."""
    if changed == {"sway": None}:
        tables = _without_strength()
        del tables["sway"]
        with pytest.raises(ValidationError, match=words):
            JOINTS["bonded socket"].model_validate(tables)
        return
    with pytest.raises(ValidationError, match=words):
        socket(**changed)


def test_overlap_beyond_what_works_adds_nothing():
    """Elastic glue works at the ends of a lap: from some length on, a longer one has the same peak (Volkersen 1938)."""
    peaks = []
    for leg in ("3 mm", "150 mm", "300 mm"):
        joint = socket(crossing("skin", "0 m", on_beam=leg, on_skin="60 mm"))
        check = next(
            c for c in joint.port_checks(LOADS, SafetyFactors()) if c.check == "glue on the beam in shear"
        )
        peaks.append(check.load[0])
    assert peaks[0] > 1.1 * peaks[1]
    assert peaks[2] == pytest.approx(peaks[1], rel=1e-3)


DIAPHRAGM = {"wall": {"layup": ["4x db 600 @45", "2x biax 600 @0", "mirror"]}, "rim": "50 mm"}


def _checks(joint):
    return {(c.part, c.check): c for c in joint.port_checks(LOADS, SafetyFactors())}


def test_a_diaphragm_cures_hoop_bending():
    """The tube's wall bends around it where a skin bears; a diaphragm takes the force in its plane, and is checked itself."""
    crossings = [crossing("inboard skin", "0 m"), crossing("web", "500 mm")]
    bare = _checks(socket(*crossings))
    hoop = [key for key in bare if key[1].startswith("hoop bending")]
    assert [part for part, _ in hoop] == ["beam's wall at inboard skin", "beam's wall at web"]
    stiffened = _checks(socket(crossings[0], crossings[1] | {"diaphragm": DIAPHRAGM}))
    assert set(bare) - set(stiffened) == {hoop[1]}
    added = {check for part, check in set(stiffened) - set(bare) if part == "diaphragm at web"}
    assert added == {
        "first ply", "buckling", "glue of its rim in shear", "glue of its rim in shear, elastic in service"
    }  # fmt: skip
    assert all(c.kind == "checked" for (part, _), c in stiffened.items() if part == "diaphragm at web")
    joint = socket(*crossings)
    cure = next(k for k in joint.design_variables() if k.name == "inner diaphragms")
    assert all(cure.applies_to(*key) for key in hoop)
    assert not [key for key in _checks(cure.sizes[0][1]) if key[1].startswith("hoop bending")]


def test_hoop_bending_of_a_metal_tube_by_hand():
    """Von Mises of the bent wall: 6 M/t² around, M the ring's force times its unit moment, beside the thin tube's n/t and q/t."""
    beam = {"diameter": "200 mm", "metal": "al6082_t6", "thickness": "6 mm"}
    joint = socket(crossing("skin", "0 m", taped="towards the centreline"), beam=beam)
    lift = np.array([[0, 40e3, 9e3, 0, 0, 0.0]])
    found = {(c.part, c.check): c for c in joint.port_checks(lift, SafetyFactors())}
    t, r, E, nu = 6e-3, 0.097, joint.beam.metal_record.E, joint.beam.metal_record.nu
    thickness = joint.crossings[0].skin.built.thickness
    tube = TubeUnderBearing(r, E * t, E * t**3 / 12 / (1 - nu**2), thickness + 0.015, at_end=True)
    bent, _ = hoop_bending(tube)
    pull, shear, around = 40e3 / (2 * math.pi * 0.1) / t, 9e3 / (math.pi * 0.1) / t, 6 * 9e3 * bent / t**2
    wanted = math.sqrt(pull**2 + around**2 + pull * around + 3 * shear**2)
    assert found["beam's wall at skin", "hoop bending, first yield"].load[0] == pytest.approx(
        wanted, rel=1e-9
    )


def test_a_box_needs_a_diaphragm_to_be_known():
    """Bending of a box's walls around it is not computed, and says so; a diaphragm takes its place."""
    box = {"breadth": "150 mm", "depth": "150 mm", "metal": "al6082_t6", "thickness": "5 mm"}
    bare = socket(crossing("skin", "0 m"), beam=box).port_checks(LOADS, SafetyFactors())
    assert [c.check for c in unchecked(bare)] == ["hoop bending"]
    cured = socket(crossing("skin", "0 m", diaphragm=DIAPHRAGM), beam=box).port_checks(LOADS, SafetyFactors())
    assert not unchecked(cured)


def test_an_alloy_beam_in_carbon_tape_is_remarked():
    """Alloy in carbon corrodes; the same tape on a carbon beam does not."""
    carbon = {"layup": ["6x db 450 @45"], "fibre": "carbon_sm", "process": "hand"}
    in_carbon = socket(beam={"diameter": "200 mm", "metal": "al6082_t6", "thickness": "5 mm"}, tape=carbon)
    assert [remark.subject for remark in in_carbon.remarks(np.zeros((1, 2, 6)))] == ["galvanic corrosion"]
    assert socket(tape=carbon).remarks(np.zeros((1, 2, 6))) == ()


def test_mass_of_tapes_is_their_area_times_their_weight():
    """A ring of tape on a 200 mm tube: two legs and a corner along 0.628 m, the leg on the skin spreads as it goes round."""
    one = socket(crossing("inboard skin", "0 m", taped="outside"))
    weight = one.tape.built.areal_mass
    assert (
        6 * 0.45 < weight < 15 * 0.45
    )  # six cloths of 450 g/m², laid by hand with up to one and a half times as much resin
    area = np.pi * 0.2 * (0.090 + 0.015) + np.pi * (
        0.19**2 - 0.1**2
    )  # the last from 100 to 190 mm off the axis
    assert one.masses() == pytest.approx({"tapes": weight * area}, rel=1e-12)
    assert socket(*BOTH).masses()["tapes"] == pytest.approx(4 * weight * area, rel=1e-12)
    disc_of = {"metal": "al6082_t6", "thickness": "3 mm", "rim": "60 mm"}
    closed = socket(crossing("web", "0 m", diaphragm=disc_of)).masses()
    assert closed["diaphragms"] == pytest.approx(2700 * 0.003 * np.pi / 4 * 0.2**2, rel=1e-12)


def test_plastic_reserves_of_both_joints_are_those_of_either_side():
    """Loads of both sides are checked as cases of one, and told apart again with what rests on plastic strain."""
    made, factors = socket(*BOTH, glue=GLUE | {"plastic_strain": 0.5}), SafetyFactors()
    loads = np.stack([LOADS, 1.3 * LOADS[::-1]], axis=1)
    both = made.checks(loads, factors)
    sides = [one for side in as_port_loads(loads) for one in made.port_checks(side, factors)]
    pairs = [(one, other) for one, other in zip(both, sides, strict=True) if other.plastic is not None]
    assert pairs
    for one, other in pairs:
        np.testing.assert_allclose(one.margin, other.margin, rtol=1e-9)
        np.testing.assert_allclose(one.plastic.elastic, other.plastic.elastic, rtol=1e-9)
        np.testing.assert_allclose(one.plastic.brittle, other.plastic.brittle, rtol=1e-9)
