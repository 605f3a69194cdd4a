"""Parts beside the joints: striker, martingale, tang, beams; each by hand, and none passes that is not described."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from femcore.materials import lines
from models.boat.boat import Boat
from models.boat.parts import MartingaleLine, StayTang, StrikerTube
from models.checks.beam_parts import PartLoads, beam_part_checks, checks_of_each
from models.strength.margins import SafetyFactors, unchecked
from tests.models.boats import LONGERON, MARTINGALE_STAYS, STRUT, tables, validated

TUBE = {"metal": "al6082_t6", "diameter": "60 mm", "wall": "5 mm", "effective": 1.0}
ROD = {"material": "rod_1_4401", "diameter": "16 mm"}
TANG = {
    "metal": "ss_1_4401", "width": "60 mm", "thickness": "10 mm", "length": "50 mm", "end": "30 mm", "pin": "20 mm",
    "toggle": "20 mm",
}  # fmt: skip


def boat(*, tube=None, line=None, tang=None, height=STRUT["height"]):
    """The plain boat with striker, martingale and longeron, and what its file says of their make."""
    raw = tables(
        striker=STRUT | {"height": height}, martingale=MARTINGALE_STAYS, longeron=LONGERON, stay={"up": 0.1}
    )
    for place, key, given in (
        ("striker", "tube", tube),
        ("martingale", "line", line),
        ("stay", "tang", tang),
    ):
        if given:
            raw[place][key] = given
    return validated(Boat, raw)


def loads(strut=20e3, tension=40e3, stay=(-10e3, 0.0, 40e3), buckled=1 / 4):
    """One case."""
    along = np.zeros((1, 2, 6))
    return PartLoads(
        np.array([strut]), np.array([tension]), np.array([stay]), along, along, along, np.array([buckled])
    )


def found(checks, part, name):
    """The one check of that part and name."""
    return next(c for c in checks if (c.part, c.check) == (part, name))


def test_a_described_striker_is_a_column_of_its_tube():
    """Squash at A f_y of the tube, its free length from the beam's side to the top (EN 1999-1-1 6.3.1 by `column`)."""
    checks = beam_part_checks(boat(tube=TUBE), loads(), SafetyFactors())
    area = math.pi / 4 * (0.06**2 - 0.05**2)
    assert found(checks, "striker", "strut squashed").allowable[0] == pytest.approx(260e6 * area)
    assert boat(tube=TUBE).striker.tube.column(0.6).length == 0.6
    assert found(checks, "striker", "strut buckled").allowable[0] < 260e6 * area


def test_a_striker_buckles_over_its_length_clear_of_the_beam():
    """Its base is within the beam: 0.7 m high with a base of 0.1 m it is a strut of 0.6 m, upward or downward.

    By hand (EN 1999-1-1 6.3.1.2, class A): N_b = χ A f_y with χ = 1/(Φ + √(Φ² − λ̄²)), Φ = ½ (1 + 0.20 (λ̄ − 0.10) + λ̄²).
    """
    area, inertia = math.pi / 4 * (0.06**2 - 0.05**2), math.pi / 64 * (0.06**4 - 0.05**4)
    slender = math.sqrt(area * 260e6 / (math.pi**2 * 70e9 * inertia / 0.6**2))
    phi = 0.5 * (1 + 0.20 * (slender - 0.10) + slender**2)
    by_hand = area * 260e6 / (phi + math.sqrt(phi**2 - slender**2))
    for height in (0.7, -0.7):
        one = boat(tube=TUBE, height=height)
        checks = beam_part_checks(one, loads(), SafetyFactors())
        assert found(checks, "striker", "strut buckled").allowable[0] == pytest.approx(by_hand, rel=1e-9)


def test_a_line_may_carry_its_fraction_of_what_breaks_it():
    """Margin = fraction × terminal × breaking / tension − 1: 0.4 × 0.95 × 700 MPa × 201 mm² over 40 kN."""
    check = found(
        beam_part_checks(boat(line=ROD), loads(), SafetyFactors()), "martingale", "line at its terminal"
    )
    assert check.margin[0] == pytest.approx(0.4 * 0.95 * 700e6 * math.pi / 4 * 0.016**2 / 40e3 - 1)


def test_a_strap_over_a_radius_is_weaker_there():
    """A wire bent over ten of its own diameters (D/d = 20) keeps 91 % (wire rope makers' table)."""
    checks = beam_part_checks(
        boat(line={"breaking": "100 kN", "diameter": "10 mm", "radius": "100 mm"}), loads(), SafetyFactors()
    )
    assert found(checks, "martingale", "line over its bend").allowable[0] == pytest.approx(91e3)


def test_a_stay_along_its_cheeks_loads_the_pin_alone():
    """Half the pull on each shear plane; a tang that leans as the stay is raked has nothing across its cheeks."""
    rake = math.atan2(10e3, 40e3)
    leaned = TANG | {"lean": f"{rake!r} rad"}
    checks = beam_part_checks(boat(tang=leaned), loads(), SafetyFactors())
    pull = math.hypot(10e3, 40e3)
    assert found(checks, "forestay's tang", "pin in shear").load[0] == pytest.approx(pull / 2)
    straight = beam_part_checks(boat(tang=TANG), loads(), SafetyFactors())
    root = ("forestay's tang, cheek", "lug's root")
    assert found(straight, *root).load[0] > 2 * found(checks, *root).load[0]


def test_the_frame_s_own_buckling_is_a_check():
    """A load that may grow four times before the frame buckles has 4/2.5 − 1 in hand; nothing squeezed, no end to it."""
    check = found(beam_part_checks(boat(), loads(), SafetyFactors()), "beam and truss", "buckled as a whole")
    assert check.margin[0] == pytest.approx(4 / 2.5 - 1)
    free = beam_part_checks(boat(), loads(buckled=0.0), SafetyFactors())
    assert found(free, "beam and truss", "buckled as a whole").margin[0] == np.inf


def test_every_part_that_is_not_described_says_so():
    """A boat of stiffnesses alone has each of its parts listed as not checked."""
    parts = {c.part for c in unchecked(beam_part_checks(boat(), loads(), SafetyFactors()))}
    assert parts == {
        "striker",
        "martingale",
        "martingale's tangs",
        "forestay's tang",
        "longeron",
        "longeron's root",
        "longeron at the crossbeam",
        "crossbeam",
    }
    described = {
        c.part
        for c in unchecked(beam_part_checks(boat(tube=TUBE, line=ROD, tang=TANG), loads(), SafetyFactors()))
    }
    assert "martingale" not in described


@pytest.mark.parametrize(
    ("table", "given", "words"),
    [
        (StrikerTube, TUBE | {"wall": "40 mm"}, "thicker than the tube's radius"),
        (StrikerTube, TUBE | {"curve": "z"}, "no buckling curve 'z'"),
        (MartingaleLine, {"diameter": "16 mm"}, "breaking load is not known"),
        (MartingaleLine, {"diameter": "16 mm", "material": "rope"}, "no line is called"),
        (StayTang, TANG | {"pin": "70 mm"}, "width"),
    ],
)
def test_a_part_that_cannot_be_is_a_fault(table, given, words):
    """What does not fit is told in a sentence with a cure."""
    with pytest.raises(ValidationError, match=words):
        table.model_validate(given)


def test_a_closed_tube_in_torsion_buckles_as_a_cylinder_of_the_beams_length():
    """Two lobes in a long tube: τ = E/(3√2 (1 − ν²)^¾) (t/r)^1.5 (Timoshenko & Gere, Elastic Stability, 11.11, from memory).

    200 × 5 mm of alloy: 206 MPa, where its wall unrolled to a flat plate bears 22 MPa. Knocked down, and shorter than endless,
    it is within a third of 0.67 of that.
    """
    raw = tables(longeron=LONGERON)
    keep = {key: raw["crossbeam"][key] for key in ("station", "height")}
    section = {"shape": "thin tube", "diameter": "200 mm", "material": "al6082_t6", "thickness": "5 mm"}
    made = validated(Boat, raw | {"crossbeam": keep | {"section": section}})
    twist = 1e3
    along = np.zeros((1, 2, 6))
    along[..., 3] = twist
    acting = PartLoads(
        np.zeros(1),
        np.zeros(1),
        np.zeros((1, 3)),
        along,
        np.zeros((1, 2, 6)),
        np.zeros((1, 2, 6)),
        np.zeros(1),
    )
    check = found(beam_part_checks(made, acting, SafetyFactors()), "crossbeam", "wall buckled")
    radius, wall = 0.0975, 0.005
    shear = twist / (2 * math.pi * radius**2 * wall)
    critical = shear / float(check.load[0])
    long_tube = 70e9 / (3 * math.sqrt(2) * (1 - 0.33**2) ** 0.75) * (wall / radius) ** 1.5
    assert 0.67 * long_tube * 2 / 3 < critical < 0.67 * long_tube * 4 / 3


def test_a_strut_and_a_line_that_are_described_have_their_own_stiffness():
    """E A and E I of the tube, ρ A; E A of the bar. What is entered is taken; without either it is missing."""
    bare = {key: value for key, value in STRUT.items() if key not in ("EA", "EI", "mass")}
    lines_alone = {key: value for key, value in MARTINGALE_STAYS.items() if key != "EA"}
    raw = tables(striker=bare, martingale=lines_alone)
    raw["striker"]["tube"], raw["martingale"]["line"] = TUBE, ROD
    made = validated(Boat, raw)
    column = StrikerTube.model_validate(TUBE, context=Boat.context({})).column(1.0)
    assert (made.striker.EA, made.striker.EI) == pytest.approx((column.E * column.A, column.E * column.I))
    assert made.striker.mass == pytest.approx(2700 * column.A, rel=0.01)
    assert made.martingale.EA == pytest.approx(lines()["rod_1_4401"].axial_stiffness(0.016))
    raw["striker"]["EA"], raw["striker"]["EI"] = "50 MN", "20 kN*m**2"
    assert validated(Boat, raw).striker.EA == 50e6
    del raw["striker"]["tube"], raw["striker"]["EA"]
    with pytest.raises(ValidationError, match="EA"):
        validated(Boat, raw)


def test_loads_of_several_joints_are_checked_at_once_as_each_alone():
    """Whatever number of cases each has, and of places along the beams."""
    made, rng = boat(tube=TUBE, line=ROD, tang=TANG), np.random.default_rng(1)

    def acting(cases, places):
        along = rng.normal(size=(cases, places, 6))
        return PartLoads(
            rng.uniform(1e3, 2e4, cases), rng.uniform(1e3, 2e4, cases), rng.normal(size=(cases, 3)) * 1e4,
            along, along, along[:, :2], rng.uniform(0.1, 0.5, cases),
        )  # fmt: skip

    several = [acting(3, 4), acting(1, 2), acting(2, 4)]
    asked = []

    def check(some, numbers):
        asked.append(numbers)
        return beam_part_checks(made, some, SafetyFactors())

    for one, checks in zip(several, checks_of_each(several, check), strict=True):
        for alone, at_once in zip(beam_part_checks(made, one, SafetyFactors()), checks, strict=True):
            assert (alone.part, alone.check, alone.kind) == (at_once.part, at_once.check, at_once.kind)
            np.testing.assert_allclose(at_once.load, alone.load, rtol=1e-12)
    assert asked == [[0, 2], [1]]
