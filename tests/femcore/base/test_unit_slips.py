"""Usual slips in a quantity get a sentence of their own and the text to write instead."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.base.errors import InputFault
from femcore.base.units import si, si_vector

WRITTEN = re.compile(r'"([^"]+)"')


@pytest.mark.parametrize(
    ("text", "unit", "said", "meant"),
    [
        ("2 kNm", "N*m", "puts no sign between force and length", 2e3),
        ("2 Nm", "N*m", "puts no sign", 2.0),
        ("2 MNm²", "N*m**2", "puts no sign", 2e6),
        ("40 kNm/rad", "N*m/rad", "puts no sign", 40e3),
        ("5 KN", "N", "not spelled so", 5e3),
        ("200 gpa", "Pa", "not spelled so", 200e9),
        ("600 g/m2", "kg/m**2", "not spelled so", 0.6),
        ("20cm2", "m**2", "not spelled so", 20e-4),
        ("2,5 mm", "m", "has a decimal comma", 2.5e-3),
        ("−5 kN", "N", "typographic minus", -5e3),
        ("50 kg", "N", "gives a mass where a force is needed", 490.332),
        ("20 kg/m", "N/m", "gives a mass where", 196.133),
        ("2 kg/cm2", "Pa", "gives a mass where", 196133.0),
        ("490.3325 N", "kg", "gives a force where a mass is needed", 50.0),
        ("5 daNm", "N*m", "puts no sign", 50.0),
        ("5 metric tons", "kg", "not spelled so", 5e3),
        ("15000 nautical miles", "m", "not spelled so", 27.78e6),
        ("2 ft-lbs", "N*m", "not spelled so", 2.71163590),
        ("5 kp", "N", "not spelled so", 49.03325),
        ("2 g", "m/s**2", "not spelled so", 19.6133),
        ("20 C", "K", "point on a temperature scale, not a difference", 20.0),
        ("36 °F", "K", "point on a temperature scale", 20.0),
        ("23e-6 /K", "1/K", "not spelled so", 23e-6),
        ("5 ft 6 in", "m", "number in parts", 1.6764),
        ("5' 6\"", "m", "number in parts", 1.6764),
        ("2 1/2 inch", "m", "number in parts", 0.0635),
        ("3/4 in", "m", "number in parts", 0.01905),
    ],
)
def test_a_slip_names_itself_and_its_cure_reads(text, unit, said, meant):
    """What is proposed is read without fault as the quantity that was meant: kilogram and newton by 9.80665 m/s²."""
    with pytest.raises(InputFault, match=re.escape(said)) as caught:
        si(text, unit)
    proposed = WRITTEN.search(caught.value.cure)
    assert proposed
    assert si(proposed[1], unit) == pytest.approx(meant, rel=2e-6)


def test_a_comma_that_may_be_of_thousands_is_not_guessed():
    """1,000 kg may be one kilogram or a thousand: no number is proposed."""
    with pytest.raises(InputFault, match="decimals, or thousands") as caught:
        si("1,000 kg", "kg")
    assert "1000 kg" not in caught.value.cure


def test_commas_between_components_are_named():
    """Components of a vector are apart by spaces, and the cure reads as them."""
    with pytest.raises(InputFault, match="commas between its numbers") as caught:
        si_vector("0, 0, -5 kN", "N")
    assert si_vector(WRITTEN.search(caught.value.cure)[1], "N") == (0.0, 0.0, -5000.0)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("12 kg", "m"), ("5 kN", "m"), ("3 m", "N"), ("50 kg", "N*m"), ("40 kNm", "N"), ("5 MNm²", "m")],
)
def test_another_quantity_is_no_slip(text, unit):
    """Nothing is proposed for a quantity that no spelling makes the one that is needed."""
    with pytest.raises(InputFault, match="is not a") as caught:
        si(text, unit)
    assert caught.value.cure.startswith("write it with its unit")


@given(
    text=st.text(alphabet="0123456789.,−-+eE kKNnMmg²*/'\"", max_size=14),
    unit=st.sampled_from(["N", "m", "kg"]),
)
def test_any_text_is_read_or_refused_and_no_cure_fails(text, unit):
    """Whatever is written, the reader raises nothing but a fault, and a whole quantity that it proposes can be read."""
    try:
        si(text, unit)
    except InputFault as fault:
        if fault.cure.startswith("write the "):
            si(WRITTEN.search(fault.cure)[1], unit)
