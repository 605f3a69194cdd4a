"""Natural frequencies of the front end: bare bows in closed form, and what a crossbeam does to them."""

import numpy as np
import pytest

from models.response.front_end import build
from models.response.modes import RACKING, TWISTING, lowest_mode, natural_modes
from tests.models.boats import BOW, STRUT, TAUT, plain, springs

MASS, GYRATION, LENGTH = 50.0, 0.45, 4.0
HEAVY = {"mass": MASS, "gyration": GYRATION}
JOINED = {
    "station": 3.4,
    "height": 0.4,
    "inboard": 0.4,
    "root": {"pitch": 8e6, "roll": 9e6},
    "beam": {"mass": 8.0},
}


def bare(**bow):
    """The motions of two bows without a crossbeam."""
    return natural_modes(build(plain(length=LENGTH, bow=HEAVY | bow), None, refine=2))


def frequency(root, stiffness, inertia):
    """Hz, of a cantilever whose n-th root is `root`: bending by (βL)² √(EI/m)/L²."""
    return root**2 * np.sqrt(stiffness / inertia) / LENGTH**2 / (2 * np.pi)


def test_bare_bows_bend_as_uniform_cantilevers():
    """ω = 3.516 √(EI/m)/L² up and down and sideways, each twice (S.P. Timoshenko, Vibration Problems, from memory)."""
    found = [motion.frequency for motion in bare(gyration=0.0)]
    for EI in (BOW["EI_vertical"], BOW["EI_lateral"]):
        expected = frequency(1.875104, EI, MASS)
        assert sum(abs(f / expected - 1) < 1e-4 for f in found) == 2


def test_bare_bows_twist_as_uniform_shafts():
    """ω = (π/2) √(GJ/m r²)/L, r the radius of gyration of the mass about the bow's axis, each bow alike."""
    expected = np.sqrt(BOW["GJ"] / (MASS * GYRATION**2)) / (4 * LENGTH)
    twisting = [motion.frequency for motion in bare() if motion.kind == TWISTING]
    assert twisting[:2] == pytest.approx([expected] * 2, rel=1e-3)


def test_frequencies_follow_stiffness_over_mass():
    """Half of the frequency at four times the mass, in every mode."""
    light, heavy = ([motion.frequency for motion in bare(mass=m)] for m in (MASS, 4 * MASS))
    assert light == pytest.approx([2 * f for f in heavy], rel=1e-9)


def joined(joint, **parts):
    """The motions of a plain boat with its crossbeam."""
    return natural_modes(build(plain(bow=HEAVY, **JOINED | parts), joint))


@pytest.mark.parametrize("word", ["heave", "roll", "pitch", "yaw"])
def test_a_stiffer_joint_raises_every_frequency(word):
    """No frequency falls when a joint spring rises (Rayleigh's principle), but for what a mesh of its own costs each: 10⁻⁴."""
    found = np.array([[m.frequency for m in joined(springs(**{word: k}))] for k in (1e4, 1e6, 1e8, np.inf)])
    assert np.all(np.diff(found, axis=0) > -1e-4 * found[:-1])
    assert np.any(found[-1] > 1.01 * found[0])


def test_racking_is_told_from_pitching_and_twisting():
    """In a racking mode the stems heave oppositely, in a twisting one the bows roll more than they heave."""
    front = build(plain(bow=HEAVY, **JOINED), springs(pitch=2e5, roll=3e5))
    found = natural_modes(front)
    stems = [front.frame.node_index[f"{side} stem"] for side in ("port", "starboard")]
    racked, twisted = lowest_mode(found, RACKING), lowest_mode(found, TWISTING)
    port, starboard = racked.shape[stems]
    assert port[2] == pytest.approx(-starboard[2], rel=1e-6)
    assert abs(port[2]) > 0.1
    assert np.abs(twisted.shape[stems, 3]).max() * 3.0 > np.abs(twisted.shape[stems, 2]).max()
    assert {motion.kind for motion in found} >= {RACKING, TWISTING, "pitching"}


def test_a_light_crossbeam_raises_racking_and_not_pitching():
    """A beam of hardly any mass ties the bows against racking alone, so that this goes faster than bare bows heave."""
    bare_bows = natural_modes(build(plain(bow=HEAVY, **JOINED), None))[0].frequency
    found = joined(springs(pitch=2e5, roll=3e5), beam={"mass": 1e-3})
    assert lowest_mode(found, RACKING).frequency > 1.02 * bare_bows
    assert lowest_mode(found, "pitching").frequency == pytest.approx(bare_bows, rel=0.01)


def test_softer_twisting_lowers_twisting_alone():
    """A bow of a quarter of the GJ twists at a lower frequency, and pitches at the same."""
    found = [joined(springs(), tip={"GJ": GJ}) for GJ in (BOW["GJ"], BOW["GJ"] / 8)]
    twisting, pitching = ([lowest_mode(x, kind).frequency for x in found] for kind in (TWISTING, "pitching"))
    assert twisting[1] < 0.95 * twisting[0]
    assert pitching[1] == pytest.approx(pitching[0], rel=0.01)


def test_pretension_counts_and_no_mass_has_no_motions():
    """A martingale in tension changes frequencies a little; where the bows have no mass none are told."""
    loose, tight = (
        [
            m.frequency
            for m in joined(springs(), striker=STRUT | {"mass": 2.0}, martingale=TAUT | {"pretension": T})
        ]
        for T in (1e3, 15e3)
    )
    change = np.abs(np.divide(tight, loose) - 1)
    assert 1e-5 < change.max() < 0.2
    assert natural_modes(build(plain(**JOINED), springs())) == ()
