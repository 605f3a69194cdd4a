"""The platform's closed form against its limits, and faults of its table."""

import numpy as np
import pytest

from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from models.boat.boat import Boat
from models.boat.platform import HullAftStation, Platform, PlatformMember, hand_formula
from models.response.platform_frame import response_of
from tests.models.boats import LONGERON, plain, tables, text

BEAM = {"EI_vertical": 8e6, "EI_lateral": 50e6, "GJ": 1.5e6, "EA": 900e6}
BOWS = plain(inboard=0.4).bows
MEMBER = {"name": "bulkhead", "station": "0 m", "height": "1 m"} | text(BEAM)
PLATFORM = {"members": [MEMBER]}


def member(station, name=None, **keys):
    """A transverse member at the hull's own height."""
    return PlatformMember(name=name or f"at {station:g}", station=station, height=0.5, **BEAM | keys)


def platform(*members, **keys):
    """A platform of these members."""
    return Platform(members=list(members), **keys)


def test_rigid_hulls_give_the_closed_form():
    """x_c = Σ k_i x_i/Σ k_i with k_i = 12EI_i/b³; φ/M = 1/(2[Σ k_i d_i² + Σ GJ_i/b])."""
    EI, x, b = np.array([8e6, 3e6, 1e6]), np.array([0.0, -3.0, -5.0]), 5.2
    found = hand_formula(
        platform(*(member(at, EI_vertical=e) for at, e in zip(x, EI, strict=True))), BOWS, rigid_hulls=True
    )
    k = 12 * EI / b**3
    centre = k @ x / k.sum()
    assert list(found.shear_stiffness.values()) == pytest.approx(list(k), rel=1e-14)
    assert found.twist_centre == pytest.approx(centre, rel=1e-14)
    assert found.twist_per_moment == pytest.approx(
        1 / (2 * (k @ (x - centre) ** 2 + 3 * 1.5e6 / b)), rel=1e-14
    )


def test_stiff_parts_leave_the_closed_form_of_rigid_hulls():
    """As GA, end springs and the hull's GJ grow without limit the full formula tends to that of rigid hulls."""
    stiff = {"GA_vertical": 1e18, "end_roll": 1e18}
    hull = HullAftStation(at=0.0, **BEAM | {"GJ": 1e18})
    one = platform(member(0.0, **stiff), member(-4.0, EI_vertical=2e6, **stiff), hulls=[hull])
    found, rigid = hand_formula(one, BOWS), hand_formula(one, BOWS, rigid_hulls=True)
    assert found.twist_centre == pytest.approx(rigid.twist_centre, rel=1e-8)
    assert found.twist_per_moment == pytest.approx(rigid.twist_per_moment, rel=1e-8)


@pytest.mark.parametrize("change", [{"GA_vertical": 2e7}, {"end_roll": 5e6}])
def test_every_flexibility_turns_the_hulls_further(change):
    """Shear of the members, end springs and the hulls' twist each add to the movement; a member that is softened
    draws the twist centre away from it.
    """
    stiff = [member(0.0), member(-4.0)]
    base = hand_formula(platform(*stiff), BOWS)
    softer = hand_formula(platform(stiff[0], member(-4.0, **change)), BOWS)
    assert softer.twist_per_moment > base.twist_per_moment
    assert softer.twist_centre > base.twist_centre
    hull = HullAftStation(at=0.0, **BEAM | {"GJ": BOWS.stations[0].GJ / 3})
    assert hand_formula(platform(*stiff, hulls=[hull]), BOWS).twist_per_moment > base.twist_per_moment


def test_equal_members_turn_about_their_middle():
    """By symmetry the twist centre of two equal members is midway between them, whatever the hulls' own stiffness."""
    assert hand_formula(platform(member(0.0), member(-5.0)), BOWS).twist_centre == pytest.approx(
        -2.5, abs=1e-9
    )


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"members": [member(0.0, end_roll=0.0)]}, "each hull rolls freely"),
        ({"members": [member(0.0, "deck"), member(-1.0, "deck")]}, "same name"),
        ({"members": [member(0.0)], "hulls": [HullAftStation(at=-1.0, **BEAM)]}, "do not run from 0 m aft"),
    ],
)
def test_a_platform_that_cannot_be_is_refused_with_the_cure(keys, words):
    """A fault names what is wrong in one sentence."""
    with pytest.raises(InputFaults, match=words):
        Platform(**keys)


@pytest.mark.parametrize("station", [-4.1e-9, 4e-9, -0.9e-6])
def test_a_member_next_to_nothing_aft_of_the_bulkhead_is_at_it(station):
    """Nearer than two stations of a hull can be, so that no hull is a part of a thousandth of a millimetre long."""
    both = platform(member(0.0, "fore"), member(station, "aft"))
    assert both.members_at_bulkhead == list(both.members)
    assert response_of(BOWS, both).twist_centre == 0.0


def test_a_member_ahead_of_the_bulkhead_is_refused():
    """Members are at the main bulkhead or aft of it."""
    with pytest.raises(InputFaults, match="ahead of the main bulkhead"):
        member(0.5)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"platform": PLATFORM, "root": {}}, "beside \\[root\\]"),
        ({"platform": PLATFORM | {"members": [MEMBER | {"inboard": "3 m"}]}}, "reaches the centreline"),
        ({"platform": PLATFORM | {"members": [MEMBER | {"station": "-1 m"}]}, "longeron": text(LONGERON)},
         "no member at the main bulkhead"),
        ({"platform": PLATFORM | {"members": [MEMBER | {"mass": "4 kg/m"}]}}, "take mass out"),
    ],
)  # fmt: skip
def test_a_file_whose_platform_does_not_fit_the_boat_is_refused_with_the_cure(change, words):
    """The fault names the table, what is wrong and what would cure it."""
    raw = {key: value for key, value in tables().items() if key != "root"} | change
    with pytest.raises(InputFaults, match=words):
        checked(raw, Boat, "boat.toml")


def test_a_member_by_its_section_has_the_stiffness_of_the_section():
    """A round tube athwart: EI = E π r³ t by thin-walled theory, GJ = 2 G π r³ t, no mass in a front end's model."""
    section = {"shape": "thin tube", "diameter": "300 mm", "material": "al6082_t6", "thickness": "4 mm"}
    raw = {key: value for key, value in tables().items() if key != "root"}
    raw["platform"] = {
        "members": [{"name": "aft beam", "station": "-5 m", "height": "1 m", "section": section}]
    }
    (made,) = checked(raw, Boat, "boat.toml").platform.members
    E, r, t = 70e9, 0.148, 0.004
    assert made.EI_vertical == pytest.approx(E * np.pi * r**3 * t, rel=2e-3)
    assert made.EI_vertical == pytest.approx(made.EI_lateral, rel=1e-3)
    assert made.mass == 0
