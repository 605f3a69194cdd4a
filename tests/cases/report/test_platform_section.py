"""The report's section on the platform says what the frame and the closed form give, and what root springs cannot show."""

import json

import numpy as np
import pytest

from cases.analyses.analysis import analyse
from cases.report.data.results import results
from cases.report.sections.platform_section import ROOT_LIMITS, platform_section
from cases.report.tables.boat_tables import boat_sentences
from models.boat.platform import Platform, PlatformMember
from models.response.platform_frame import response_of
from tests.models.boats import boat_file_of

DECK = {"EI_vertical": 20e6, "EI_lateral": 60e6, "GJ": 0.6e6, "EA": 300e6, "height": 1.0}
PLATFORM = Platform(
    members=(
        PlatformMember(name="main bulkhead", station=0.0, end_roll=40e6, GA_vertical=50e6, **DECK),
        PlatformMember(name="aft beam", station=-5.0, **DECK),
    )
)
JOINTS = [{"name": "rigid", "kind": "rigid"}]
CASES = [
    {"name": "sea", "kind": "racking", "force": "5 kN"},
    {"name": "stay", "kind": "rig", "tension": "20 kN", "rake": "10 deg"},
]


def section(platform):
    """The section, and the study it was made of."""
    analysis = analyse(boat_file_of(JOINTS, CASES, inboard=0.5, station=3.4, platform=platform))
    return analysis, platform_section(analysis.study, analysis)


def test_the_section_has_the_frame_beside_the_closed_form():
    """Twist centre and stiffness are those of the platform's response; the members' shares of the twisting moment sum to 1."""
    analysis, found = section(PLATFORM)
    response = response_of(analysis.file.bows, PLATFORM)
    twist, members, springs = found.tables
    frame, hand, rigid = twist.rows
    assert frame[1:] == (response.twist_centre, 1 / response.twist_per_moment)
    assert hand[1:] == (response.hand.twist_centre, 1 / response.hand.twist_per_moment)
    assert rigid[2] > hand[2] > frame[2]
    shares = np.array([[float(cell) for cell in row[-2:]] for row in members.rows])
    assert shares.sum() == pytest.approx(1, abs=1e-9)
    assert [row[1:] for row in springs.rows] == [
        (response.antisymmetric_roll, response.symmetric_roll, None),
        (response.antisymmetric_yaw, response.symmetric_yaw, None),
    ]


def test_the_section_says_where_loads_are_balanced_and_which_cases_are_outside_the_members_range():
    """The reader learns what holds the boat, and that the stay's case is symmetric; the racking case is not named there."""
    said = section(PLATFORM)[1].words
    assert any("roll by vertical forces on both hulls at the twist centre" in one for one in said)
    (outside,) = [one for one in said if "outside the range" in one]
    assert "‘stay’" in outside
    assert "‘sea’" not in outside


def test_root_springs_are_given_with_their_limits():
    """A boat on root springs has the section too: what a spring at the bulkhead does not show."""
    analysis, found = section(None)
    assert list(found.words) == list(ROOT_LIMITS)
    assert "0.71 to 0.88" in ROOT_LIMITS[0]
    assert "0.41 to 0.83" in ROOT_LIMITS[0]
    assert not found.tables
    assert results(analysis).platform is None
    assert any(sentence.startswith("Roots: ") for sentence in boat_sentences(analysis.file))


def test_results_hold_the_platform():
    """`results.json` has twist centre, twist per moment and stiffnesses of the response, by hand beside them."""
    analysis, _ = section(PLATFORM)
    found = json.loads(results(analysis).json())["platform"]
    response = response_of(analysis.file.bows, PLATFORM)
    assert found["twist_centre"] == response.twist_centre
    assert found["symmetric_roll"] == response.symmetric_roll
    assert list(found["by_hand"]["shear_stiffness"]) == ["main bulkhead", "aft beam"]
    assert any("aft beam 5.00 m behind it" in sentence for sentence in boat_sentences(analysis.file))


def test_a_platform_as_built_has_its_scatter_and_its_own_symmetric_members_beside():
    """Of the recipe: the range of twist, openings one-sided, and how much softer its members for racking are, rolled apart."""
    metal = {"E": "10 GPa", "nu": 0.3}
    wall = {"material": "solid", "thickness": "12 mm"}
    built = {
        "inboard": "0.5 m", "hull_bottom": "0 m", "hull_deck": "1.6 m",
        "bulkheads": [
            {"name": name, "station": station, "bottom": "0.5 m", "top": "1.4 m", "wall": wall, "doors": doors}
            for name, station, doors in (("main", "0 m", ["0.6 0.6 m"]), ("aft", "-4.5 m", []))
        ],
        "skins": [{"height": "1.4 m", "aft": "-4.5 m", "wall": wall | {"thickness": "6 mm"}}],
    }  # fmt: skip
    file = boat_file_of(JOINTS, CASES, inboard=0.5, station=3.4, platform=built, materials={"solid": metal})
    analysis = analyse(file)
    found = platform_section(analysis.study, analysis)
    response, numbers = response_of(file.bows, file.platform), results(analysis).platform
    low, high = numbers.twist_range
    assert low < response.twist_per_moment / 1.1
    assert high > 1.25 * response.twist_per_moment
    assert numbers.symmetric_recipe_roll == response.symmetric_recipe_roll
    assert response.symmetric_roll == pytest.approx(response.symmetric_recipe_roll, rel=0.02)
    roll = next(table for table in found.tables if table.name == "platform_springs").rows[0]
    assert roll[-1] == response.symmetric_recipe_roll
    text = " ".join(found.words)
    for words in (
        "openings in bulkheads allowed for one-sided",
        "twist centre within 0.3 m",
        "recipe's own symmetric ones",
    ):
        assert words in text
    assert any("+25 %" in remark for remark in file.derived.remarks)
