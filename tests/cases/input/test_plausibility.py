"""Plausibility warnings: each fires on a slip of units, and none on what closed forms give."""

import math

import pytest

from cases.input.combinations import Combination
from cases.input.known_boat import BoatTable
from cases.input.plausibility import MAX_SLENDERNESS, plausibility_warnings
from cases.input.service import ServiceLife
from femcore.base.units import FileContext
from tests.models.boats import BEAM, BOW, FILES, LONGERON, boat_file_of, example_boat

CASES = [{"name": "racking", "kind": "racking", "force": "6 kN"}]
RIGID = [{"name": "rigid", "kind": "rigid"}]
RADIUS, WALL, YOUNGS, SHEAR = 0.1, 0.005, 70e9, 26.3e9
TUBE = {
    "EI_vertical": YOUNGS * math.pi * RADIUS**3 * WALL, "EI_lateral": YOUNGS * math.pi * RADIUS**3 * WALL,
    "GJ": SHEAR * 2 * math.pi * RADIUS**3 * WALL, "EA": YOUNGS * 2 * math.pi * RADIUS * WALL,
}  # fmt: skip
"""A thin round tube of aluminium in closed form."""


def boat(cases=CASES, **keys):
    """The plain boat with an inboard side 0.5 m off the hulls' centrelines, so that 5 m are clear; `keys` as of `tables`."""
    return boat_file_of(RIGID, cases, inboard=0.5, **keys)


def test_a_round_tube_and_the_plain_boat_are_believed():
    """A thin tube has GJ = 2 (G/E) EI and a span of 5 m: 71 radii of gyration, exact by its closed form; nothing is warned of."""
    assert plausibility_warnings(boat(beam=TUBE)) == ()


@pytest.mark.parametrize("key", ["EI_vertical", "EI_lateral", "GJ"])
def test_a_station_a_thousand_times_its_neighbour_is_named(key):
    """MN·m² typed for kN·m² at one station: key, both places and the factor are named; 20 times is believed."""
    assert not [
        s
        for s in plausibility_warnings(boat(tip={key: BOW[key] / 20}))
        if "a factor of" in s and " and " in s
    ]
    found = plausibility_warnings(boat(tip={key: BOW[key] / 1000}))
    assert any(
        f"bows: {key} is " in s and "at 0 m and" in s and "at 4 m, a factor of 1000" in s for s in found
    )


def test_gj_is_held_against_a_closed_section():
    """GJ of a tube 1000 times too large or too small is warned of, 10 times is not; an open section may be small."""
    assert plausibility_warnings(boat(beam=TUBE | {"GJ": TUBE["GJ"] / 10})) == ()
    [small] = plausibility_warnings(boat(beam=TUBE | {"GJ": TUBE["GJ"] / 1000}))
    [large] = plausibility_warnings(boat(beam=TUBE | {"GJ": TUBE["GJ"] * 1000}))
    assert small.startswith("crossbeam: GJ is ")
    assert "open section" in small
    assert "open section" not in large
    expected = 0.35 * 2 * TUBE["EI_vertical"]
    assert f"a factor of {TUBE['GJ'] * 1000 / expected:.0f}" in large


def test_ei_is_held_against_the_hull_s_breadth():
    """A box of half-breadth b has EI_lateral between EA b²/3 and EA b²: 1000 times off is a slip of units at every station."""
    found = plausibility_warnings(boat(bow={"EA": BOW["EA"] * 1e3}))
    assert [s for s in found if s.startswith("bows at 0 m: EI_lateral") and "half-breadth 0.5 m" in s]
    assert [s for s in found if s.startswith("bows at 4 m: EI_lateral")]


def test_slenderness_is_length_over_radius_of_gyration():
    """A clear span of 5 m: a radius of gyration just within 5 m/300 is believed, one beyond is not, nor a stocky beam."""
    at_limit = 5.0 / MAX_SLENDERNESS

    def made(radius):
        section = {"EI_vertical": BEAM["EA"] * radius**2, "EI_lateral": BEAM["EA"] * radius**2}
        return plausibility_warnings(boat(beam=BEAM | section | {"GJ": 0.7 * BEAM["EA"] * radius**2}))

    assert made(at_limit * 1.01) == ()
    [found] = made(at_limit / 1.01)
    assert "crossbeam: its length of 5 m is 303 times its radius of gyration" in found
    [short] = made(0.5)
    assert "is 10 times its radius of gyration" in short
    [longeron] = [
        s
        for s in plausibility_warnings(boat(longeron=LONGERON | {"EA": 1e10}))
        if s.startswith("longeron: its")
    ]
    assert "more slender" in longeron


def test_a_root_as_soft_as_the_bow_is_named():
    """A uniform bow moves FL³/3EI, its root FL²/k: as soft as the bow where k = 3EI/L, by hand; a stiffer one is believed."""
    k = 3 * BOW["EI_vertical"] / 4.0
    assert plausibility_warnings(boat(root={"pitch": 1.01 * k})) == ()
    [found] = plausibility_warnings(boat(root={"pitch": 0.99 * k}))
    assert "root: its springs give 50 % of the stem's movement" in found


def test_a_rake_from_the_deck_is_named():
    """76° is 14° measured from the deck; 30° is believed; of a luff that leans forward alike, and not of a case that is off."""

    def rig(rake, **keys):
        return {"name": "up", "kind": "rig", "tension": "20 kN", "rake": rake} | keys

    tack = {"name": "t", "kind": "tack", "tension": "9 kN", "rake": "-40 deg", "place": "stay"}
    assert plausibility_warnings(boat([*CASES, rig("30 deg")])) == ()
    [found] = plausibility_warnings(boat([*CASES, rig("76 deg")]))
    assert found.startswith("case ‘up’: the rake is 76° from upright")
    assert len(plausibility_warnings(boat([*CASES, tack]))) == 1
    assert plausibility_warnings(boat([*CASES, rig("76 deg", on=False)])) == ()


@pytest.mark.parametrize("name", FILES)
def test_the_house_s_own_boats_have_no_slip_of_units(name):
    """Of the files that are handed out at most the root is named, which a run says as well."""
    assert all(sentence.startswith("root: ") for sentence in plausibility_warnings(example_boat(name)))


RULES = {
    "name": "rules",
    "kind": "connecting",
    "rule": "bv-hsc",
    "displacement": "8 t",
    "length": "10 m",
    "acceleration": "9 m/s**2",
}
LIFE = {"distance": "20000 nmi", "per_mile": 100, "case": "racking"}


def service_warnings(cases, **keys):
    """What is said of the service of the plain boat under those cases."""
    file = boat(cases)
    file = file.model_copy(update={"service": ServiceLife.model_validate(LIFE | keys)})
    return [sentence for sentence in plausibility_warnings(file) if sentence.startswith("service")]


def test_a_service_case_smaller_than_another_racking_case_is_warned_of():
    """8 t × 9 m/s² × 10 m/8 over a lever of 5 m is ±18 kN at the stems, where the service has ±6 kN; the greatest is believed."""
    [found] = service_warnings([*CASES, RULES])
    assert (
        "the case ‘racking’, ±6 kN at the stems, is smaller than the racking case ‘rules, pitch connecting’, ±18 kN"
        in found
    )
    assert not service_warnings([CASES[0] | {"force": "18.1 kN"}, RULES])
    assert not service_warnings([CASES[0] | {"scale": 3.1}, RULES])
    assert not service_warnings(CASES)
    assert not service_warnings([*CASES, RULES], case="rules, pitch connecting")


def test_movements_are_compared_with_movements():
    """A racking by 40 mm is smaller than one by 30 mm times 2; a force and a movement are not compared."""
    by_40 = {"name": "racking", "kind": "racking", "movement": "40 mm"}
    by_60 = {"name": "larger", "kind": "racking", "movement": "30 mm", "scale": 2}
    [found] = service_warnings([by_40, by_60])
    assert "±20 mm at the stems, is smaller than the racking case ‘larger’, ±30 mm" in found
    assert not service_warnings([by_40, RULES])


KNOWN = {"length": "12 m", "beam": "6.8 m", "displacement": "6.5 t", "rig_height": "15.5 m"}


@pytest.mark.parametrize(
    ("key", "slip", "words"),
    [
        ("displacement", "65 t", ("65 t", "length over the cube root of the displaced volume is 3.01")),
        ("displacement", "650 kg", ("650 kg", "length over the cube root of the displaced volume is 14")),
        ("beam", "3 m", ("3 m", "beam over length is 0.25")),
        ("rig_height", "48 m", ("48 m", "rig height over length is 4")),
    ],
)  # fmt: skip
def test_a_slip_in_the_particulars_is_named(key, slip, words):
    """L/∇^⅓ = 12/(65/1.025)^⅓ = 3.01, B/L = 3/12, 48/12: out of what catamarans have; 6.5 t is not."""

    def found(known):
        file = boat().model_copy(update={"boat": BoatTable.model_validate(known, context=FileContext())})
        return [sentence for sentence in plausibility_warnings(file) if sentence.startswith("boat: ")]

    assert found(KNOWN) == []
    [sentence] = found(KNOWN | {key: slip})
    shown, ratio = words
    assert f"boat: {key} is {shown} of a boat of 12 m: {ratio}" in sentence


def test_one_quartering_sea_added_twice_is_warned_of():
    """Racking and a rule's pitch connecting moment are each all that a sea does: their sum counts it twice; a rig is none."""
    rig = {"name": "up", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}

    def found(**factors):
        given = Combination(
            name="both", factors={name.replace("_", " "): one for name, one in factors.items()}
        )
        file = boat([*CASES, RULES, rig]).model_copy(update={"combinations": [given]})
        return [sentence for sentence in plausibility_warnings(file) if "counted twice" in sentence]

    [sentence] = found(racking=1.0, rules=0.5)
    assert "combination ‘both’: ‘racking’ and ‘rules’ are each the load of a quartering sea" in sentence
    assert not found(racking=1.0, up=0.5)
    assert not found(racking=1.0, rules=0.0)


def test_waves_added_to_racking_are_warned_of():
    """Hulls on a wave are twisted by that wave: a racking case beside it in one combination counts it twice."""
    file = example_boat("demo")
    given = Combination(name="sea", factors={"waves": 1.0, "racking": 1.0, "upwind": 0.5})
    assert any(
        "combination ‘sea’: ‘waves’ and ‘racking’ are each" in sentence
        for sentence in plausibility_warnings(file.model_copy(update={"combinations": [given]}))
    )
