"""Factors that a test found on a boat's stiffness: what they multiply, their exact derivatives, and where they show."""

import numpy as np
import pytest

from cases.input.boat_file import read_boat_file
from models.boat.calibration import Calibration
from models.response.calibrated_frame import with_factors
from models.response.front_end import build
from models.response.platform_frame import platform_response
from tests.models.boats import FILES

DEMO = read_boat_file(FILES["demo"])
JOINT = next(joint for joint in DEMO.joints if joint.name == "bolted plates").stiffness()


def calibrated(**factors):
    """The demo with those factors."""
    return DEMO.model_copy(update={"calibration": Calibration(**factors)})


def test_the_frame_is_built_with_the_factors_of_its_boat():
    """What is built of a boat with factors has the stiffness of the plain one times these."""
    plain, other = build(DEMO, JOINT).frame, build(calibrated(hull_EI=1.3, crossbeam_GJ=0.5), JOINT).frame
    bow, beam = (plain.members[name].elements for name in ("port bow", "crossbeam"))
    assert other.EIy[bow] == pytest.approx(1.3 * plain.EIy[bow])
    assert other.EIz[bow] == pytest.approx(1.3 * plain.EIz[bow])
    assert other.GJ[beam] == pytest.approx(0.5 * plain.GJ[beam])
    assert other.EIy[beam] == pytest.approx(plain.EIy[beam])


def test_a_boat_of_factors_one_is_the_boat_itself():
    """Factors left out change no number of the frame."""
    plain, same = build(DEMO, JOINT).frame, build(calibrated(hull_EI=1.0), JOINT).frame
    assert np.array_equal(plain.EIy, same.EIy)
    assert np.array_equal(plain.end_springs, same.end_springs)


def test_all_platform_factors_together_scale_the_platforms_response():
    """Everything that resists twist times c: φ per moment falls to 1/c, and the twist centre stays, in the frame and by hand."""
    c = 1.7
    before, after = (
        platform_response(boat)
        for boat in (DEMO, calibrated(platform_EI=c, platform_GJ=c, hull_GJ=c, hull_EI=c))
    )
    # 3 % is what the hulls' shear, which no factor multiplies, adds to φ
    assert after.twist_per_moment == pytest.approx(before.twist_per_moment / c, rel=0.03)
    assert after.hand.twist_per_moment == pytest.approx(before.hand.twist_per_moment / c, rel=1e-9)
    assert after.twist_centre == pytest.approx(before.twist_centre, abs=0.05)


def test_a_stiffer_fore_member_draws_the_twist_centre_forward():
    """x_c = Σ k x/Σ k: with EI of two members in the ratio r, both k in about that ratio, the centre goes towards the stiffer."""
    centres = [platform_response(calibrated(platform_fore_to_aft=r)).twist_centre for r in (0.5, 1.0, 2.0)]
    assert centres == sorted(centres)
    fore, aft = (one.EI_vertical for one in DEMO.platform.members)
    by_hand = platform_response(calibrated(platform_fore_to_aft=2.0)).hand.shear_stiffness
    ratio = by_hand["main bulkhead"] / by_hand["cockpit bulkhead"]
    assert fore == aft
    assert 1.0 < ratio < 2.0  # the hulls' twist, in series, is not multiplied


def test_members_keep_their_geometric_mean():
    """Fore to aft r: EI of the foremost × √r and of the aftmost / √r, so that their product stays."""
    plain = build(DEMO, JOINT).frame
    frame = with_factors(plain, DEMO.platform, {"platform_fore_to_aft": 4.0})
    fore, aft = (frame.members[f"platform {name}"].first for name in ("main bulkhead", "cockpit bulkhead"))
    assert frame.EIy[fore] == pytest.approx(2 * plain.EIy[fore])
    assert frame.EIy[aft] == pytest.approx(plain.EIy[aft] / 2)
    assert frame.GAz[fore] == pytest.approx(2 * plain.GAz[fore])


def test_the_report_says_which_stiffness_was_multiplied():
    """The remark names each factor and the test; a boat without factors has none."""
    remarks = calibrated(hull_EI=1.13, note="on the hard").derived.remarks
    assert "Stiffness is multiplied as a test on the boat found it (on the hard): hull EI × 1.13." in remarks
    assert not Calibration().remarks
