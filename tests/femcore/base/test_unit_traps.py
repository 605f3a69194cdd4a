"""A unit that may mean another amount is not read quietly: it has its own sentence, and every unit proposed instead reads."""

import re

import pytest

from femcore.base.errors import InputFault
from femcore.base.unit_traps import TRAPS
from femcore.base.units import KINDS, si

WRITTEN = re.compile(r'"([^"]+)"')


@pytest.mark.parametrize(
    ("text", "unit", "said", "instead"),
    [
        ("12 tons", "kg", "tonnes of 1000 kg, short", {"12 t": 12e3, "12 short_ton": 10886.2, "12 long_ton": 12192.6}),
        ("12 TONS", "kg", "tonnes of 1000 kg", {"12 t": 12e3, "12 short_ton": 10886.2, "12 long_ton": 12192.6}),
        ("2 ton", "N", "tonnes of 1000 kg", {"2 tf": 19613.3, "2 short_ton_force": 17792.9, "2 long_ton_force": 19928.0}),
        ("1 ton/m2", "Pa", "of 907", {"1 tf/m**2": 9806.65, "1 short_ton_force/m**2": 8896.44, "1 long_ton_force/m**2": 9964.02}),
        ("3 tonf", "N", "tonnes-force of 9.81 kN", {"3 tf": 29420.0, "3 short_ton_force": 26689.3, "3 long_ton_force": 29892.0}),
        ("2 cwt", "kg", "short hundredweights of 45.4 kg", {"2 short_hundredweight": 90.7185, "2 long_hundredweight": 101.605}),
        ("10 lb/gal", "kg/m**3", "US gallons of 3.79", {"10 lb/US_liquid_gallon": 1198.26, "10 lb/imperial_gallon": 997.764}),
        ("600 gr/m2", "kg/m**2", "grains of 0.0648 g", {"600 g/m**2": 0.6, "600 grain/m**2": 0.0388793}),
        ("15000 miles", "m", "statute miles of 1609 m", {"15000 nmi": 27.78e6, "15000 mi": 24.1402e6}),
        ("15000 nm", "m", "nautical miles or nanometres", {"15000 nmi": 27.78e6}),
        ("5 mil", "m", "thousandths of an inch", {"5 thou": 1.27e-4, "5 mm": 5e-3}),
        ("5 mil", "rad", "thousandths of a radian", {"5 mrad": 5e-3}),
        ("12 grad", "rad", "degrees or gons", {"12 deg": 0.20944, "12 gon": 0.188496}),
        ("12 Mm", "m", "megametres", {"12 mm": 12e-3, "12 m": 12.0}),
        ("235 mPa", "Pa", "millipascals", {"235 MPa": 235e6, "235 Pa": 235.0}),
        ("9 mN", "N", "millinewtons", {"9 MN": 9e6, "9 N": 9.0}),
        ("500 dN", "N", "decinewtons", {"500 daN": 5e3, "500 N": 500.0}),
        ("9 mt", "kg", "thousandths or millions", {"9 t": 9e3}),
        ("6 oz", "kg/m**2", "cloth by the square yard", {"6 oz/yd**2": 0.203434, "6 oz/ft**2": 1.83091}),
        ("60 rpm", "Hz", "counts an angle", {"1 Hz": 1.0}),
        ("6.283185307 rad/s", "Hz", "counts an angle", {"1 Hz": 1.0}),
        ("5 kN*m", "N*m/rad", "names no angle", {"5 kN*m/rad": 5e3, "5 kN*m/deg": 286479.0}),
        ("5 kNm", "N*m/rad", "names no angle", {"5 kN*m/rad": 5e3, "5 kN*m/deg": 286479.0}),
    ],
)  # fmt: skip
def test_what_a_unit_may_mean_is_asked(text, unit, said, instead):
    """The fault says what the unit may count, and each text proposed reads as that amount (NIST HB 44, from memory)."""
    with pytest.raises(InputFault, match=re.escape(said)) as caught:
        si(text, unit)
    proposed = WRITTEN.findall(caught.value.cure)
    assert {one: si(one, unit) for one in proposed} == pytest.approx(instead, rel=1e-5)


def test_every_trap_shuts():
    """Each word of the table is refused for at least one kind of quantity, with its own sentence: none has become quiet."""
    for one in TRAPS:
        for word in one.words:
            refused = []
            for unit in KINDS:
                try:
                    si(f"3 {word}", unit)
                except InputFault as fault:
                    refused.append(one.why in fault.wrong)
                else:
                    refused.append(False)
            if one.words & {"gal"}:  # no quantity of the files is a volume
                with pytest.raises(InputFault, match=re.escape(one.why)):
                    si(f"3 lb/{word}", "kg/m**3")
            else:
                assert any(refused), word


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12 t", "kg", 12e3),
        ("12 tonne", "kg", 12e3),
        ("12 short_ton", "kg", 10886.2169),
        ("12 lb", "kg", 5.44310844),
        ("6 oz", "kg", 0.170097139),
        ("15000 nmi", "m", 27.78e6),
        ("8 kt", "m/s", 4.11555556),
        ("100 psi", "Pa", 689475.729),
        ("2 tf", "N", 19613.3),
        ("23 ppm/K", "1/K", 23e-6),
    ],
)
def test_what_means_one_amount_is_read(text, unit, value):
    """Units with one meaning in the trade are read as ever."""
    assert si(text, unit) == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("5 kN*m/deg", "N*m"),
        ("12 %", "rad"),
        ("5 link", "m"),
        ("5 u", "kg"),
        ("5 sound_pressure_level", "Pa"),
    ],
)
def test_an_angle_is_a_dimension_and_oddities_are_no_units(text, unit):
    """A moment per degree is no moment, a slope no angle, and no constant of physics a unit of a boat."""
    with pytest.raises(InputFault, match=r"is not a|not known"):
        si(text, unit)
