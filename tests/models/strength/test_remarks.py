"""Remarks follow from what the parts are: metals side by side, holes, shears, prying."""

import pytest

from femcore.laminates import LaminateMaterials, lay_up
from femcore.materials import bolt_classes, metals
from models.strength.bolts.bolt_strength import coarse_bolt
from models.strength.remarks import (
    alloy_on_bolts_remarks,
    bolt_remarks,
    galvanic_remarks,
    is_carbon,
    mixed_metal_remarks,
    pin_remarks,
    slip_force,
)

ALLOY, STEEL = metals()["al6082_t6"], metals()["ss_1_4401"]
CARBON, GLASS = LaminateMaterials(fibre="carbon_sm"), LaminateMaterials()
BOLT = coarse_bolt(10, bolt_classes()["a4_70"])


def subjects(remarks):
    """Subject → words."""
    return {remark.subject: remark.words for remark in remarks}


def test_only_alloy_beside_carbon_corrodes():
    """Alloy on carbon is remarked; steel on carbon, alloy on glass, and alloy on what is not known are not."""
    carbon, glass = (
        lay_up(["4x db 450 @45", "mirror"], CARBON, "c"),
        lay_up(["4x db 450 @45", "mirror"], GLASS, "g"),
    )
    assert all(map(is_carbon, carbon.plies))
    assert not any(map(is_carbon, glass.plies))
    assert subjects(galvanic_remarks("plate", ALLOY, carbon))
    for metal, laminate in ((STEEL, carbon), (ALLOY, glass), (ALLOY, None)):
        assert not subjects(galvanic_remarks("plate", metal, laminate))


def test_a_face_of_glass_is_the_isolating_layer():
    """Carbon on a face asks for a layer of glass; with glass on both faces that layer is there, and is to stay closed."""
    bare = lay_up(["4x db carbon_sm 450", "2x csm e_glass 300", "mirror"], CARBON, "bare")
    faced = lay_up(["csm e_glass 300", "4x db carbon_sm 450", "mirror"], CARBON, "faced")
    (asked,), (there,) = (list(galvanic_remarks("plate", ALLOY, laminate)) for laminate in (bare, faced))
    one_face = lay_up(["csm e_glass 300", "4x db carbon_sm 450"], CARBON, "one face")
    assert "lay a closed ply" in next(iter(galvanic_remarks("plate", ALLOY, one_face))).words
    assert "lay a closed ply of glass" in asked.words
    assert "keep that layer closed" in there.words


def test_mixed_metals_and_alloy_on_steel_bolts():
    """Both metals in one fitting are named; of one metal alone nothing is said."""
    (mixed,) = mixed_metal_remarks("fitting", {"lugs": ALLOY, "pin": STEEL})
    assert "lugs" in mixed.words
    assert "pin" in mixed.words
    assert not list(mixed_metal_remarks("fitting", {"lugs": STEEL, "pin": STEEL}))
    assert list(alloy_on_bolts_remarks("plate", ALLOY))
    assert not list(alloy_on_bolts_remarks("plate", STEEL))


def test_slip_is_friction_on_half_the_proof_load():
    """0.2 × 0.5 × 450 MPa × 58 mm² = 2.6 kN of an M10 A4-70, set against its shear; the holes' play over the reach turns it."""
    assert slip_force(BOLT) == pytest.approx(0.2 * 0.5 * 450e6 * 57.99e-6, rel=1e-3)
    less, more = (
        subjects(bolt_remarks("bolts", BOLT, hole=0.011, reach=0.1, shear=shear))["preload and slip"]
        for shear in (5e3, 1e3)
    )
    assert "less than its greatest shear of 5 kN" in less
    assert "more than its greatest shear of 1 kN" in more
    assert "up to 1 mm, which turns the plate by 10 mrad" in less
    fitted = subjects(bolt_remarks("bolts", BOLT, hole=None, reach=0.1))["preload and slip"]
    assert "count as fitted" in fitted


def test_prying_is_remarked_where_there_is_any():
    """A thin plate's prying is said with its size, a thick one's is not."""
    assert "up to 23 %" in subjects(bolt_remarks("b", BOLT, hole=None, reach=0.1, prying=0.23))["prying"]
    assert "prying" not in subjects(bolt_remarks("b", BOLT, hole=None, reach=0.1, prying=0.0))


def test_a_pin_s_remarks():
    """Whether it comes out and its play; wear where its load reverses and it has play."""
    assert "play 0.5 mm" in subjects(pin_remarks("pin", replaceable=True, clearance=0.5e-3))["pin"]
    assert "replaceable = false" in subjects(pin_remarks("pin", replaceable=False, clearance=None))["pin"]
    assert "wear" in subjects(pin_remarks("pin", replaceable=True, clearance=0.5e-3, reverses=True))
    for keys in (
        {"clearance": 0.5e-3},
        {"clearance": 0.0, "reverses": True},
        {"clearance": None, "reverses": True},
    ):
        assert "wear" not in subjects(pin_remarks("pin", replaceable=True, **keys))
