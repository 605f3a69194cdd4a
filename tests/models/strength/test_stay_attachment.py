"""The forestay's attachment."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.materials import metals
from models.strength.bolts.bolted_plate import LaminateHole
from models.strength.lugs.lug import Lug
from models.strength.lugs.pin import Pin
from models.strength.lugs.stay_attachment import Bore, TangCheeks, bore_checks, cheek_checks
from models.strength.margins import SafetyFactors, overall_outcome

STEEL = metals()["ss_1_4401"]
BOLT_STEEL = replace(STEEL, proof=450e6, ultimate=700e6)
LUG = Lug(STEEL, width=0.05, thickness=0.008, length=0.05, end=0.03, hole=0.0165, pin=0.016)
PIN = Pin(BOLT_STEEL, 0.016, inner=0.012, outer=0.008, gap=0.001)
CHEEKS = TangCheeks(LUG, PIN, toggle=BOLT_STEEL)


def by_name(checks):
    """Check name → first of that name."""
    return {check.check: check for check in reversed(checks)}


def test_two_cheeks_share_the_pull():
    """Two cheeks each carry half of the stay's pull; the pin feels half of it at each side."""
    pull = np.array([[0, 40e3, 0], [0, 0, 40e3], [0, 24e3, 32e3]])
    found = by_name(cheek_checks("stay", CHEEKS, pull, SafetyFactors()))
    np.testing.assert_allclose(found["hole in bearing"].load, 20e3)
    np.testing.assert_allclose(found["pin in shear"].load, 20e3)
    assert found["lug's root"].load[1] == pytest.approx(6 * 20e3 * 0.05 / (0.008 * 0.05**2))


def test_a_pull_off_the_cheeks_plane_bends_them_sideways():
    """A stay that pulls along the pin stresses the cheeks' roots more than the same pull in their plane."""
    ahead, aside = (np.array([[0.0, 10e3, 0]]), np.array([[2e3, 10e3, 0]]))
    straight, skew = (
        by_name(cheek_checks("stay", CHEEKS, p, SafetyFactors()))["lug's root"].load[0]
        for p in (ahead, aside)
    )
    assert skew == pytest.approx(straight + 6 * 1e3 * 0.05 / (0.05 * 0.008**2))


def test_bore_in_a_laminate():
    """Two walls of 10 mm at 200 MPa around a 20 mm bush bear 80 kN together; built up to twice, twice that."""
    wall = LaminateHole(0.010, 0.06, bearing=200e6, shear=80e6)
    for laminate, held in ((wall, 80e3), (replace(wall, thickness=0.020), 160e3)):
        checks = bore_checks(
            "stay",
            Bore(laminate, 0.020),
            PIN,
            np.array([-held, held]),
            SafetyFactors(),
            (BOLT_STEEL, BOLT_STEEL),
        )
        assert by_name(checks)["laminate in bearing"].load_factor == pytest.approx(1.0)
        assert by_name(checks)["pin in shear"].load == pytest.approx(held / 2)


def test_bore_without_strength_is_not_known():
    """A bore in a laminate whose bearing strength is not given leaves the overall_outcome open."""
    bare = Bore(LaminateHole(0.02, 0.06), 0.020)
    strong = replace(PIN, diameter=0.03)
    assert (
        overall_outcome(
            bore_checks("stay", bare, strong, np.array([1e3]), SafetyFactors(), (BOLT_STEEL, BOLT_STEEL))
        )
        == "not known"
    )
