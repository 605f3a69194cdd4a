"""Text with a unit becomes SI, or a fault that says what was wanted."""

import math
from contextlib import suppress
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.unit_traps import TRAPS, names_angle
from femcore.base.units import KINDS, Unit, UnitVector, registry, si, si_unit, si_vector
from femcore.base.usual_units import FACTORS, KIND_OF

NUMBERS = st.floats(-1e9, 1e9)
REL_TOL_ROUNDING = 1e-15
"""Of a factor that pint multiplies together: four roundings."""


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12 mm", "m", 0.012),
        ("12mm", "m", 0.012),
        ("1e3 mm", "m", 1.0),
        ("1 ft", "m", 0.3048),
        ("1 inch", "m", 0.0254),
        ("20 cm**2", "m**2", 20e-4),
        ("1000 cm^4", "m**4", 1e-5),
        ("70 GPa", "Pa", 70e9),
        ("70000 N/mm**2", "Pa", 70e9),
        ("1 psi", "Pa", 6894.757293168),
        ("1 kgf", "N", 9.80665),
        ("1 lbf", "N", 4.4482216152605),
        ("2 kN*m", "N*m", 2000.0),
        ("2 kN m", "N*m", 2000.0),
        ("200 kN*m/rad", "N*m/rad", 200e3),
        ("1 kN*m/deg", "N*m/rad", 1000 * 180 / math.pi),
        ("180 deg", "rad", math.pi),
        ("600 g/m**2", "kg/m**2", 0.6),
        ("20 delta_degC", "K", 20.0),
        ("23e-6 1/K", "1/K", 23e-6),
        ("-.5 m", "m", -0.5),
        ("  3.  m ", "m", 3.0),
    ],
)
def test_text_with_a_unit_becomes_si(text, unit, value):
    """A number with any unit of the right kind is read into SI, by the units' own definitions."""
    assert si(text, unit) == pytest.approx(value, rel=1e-12)


def test_usual_units_are_those_of_the_library():
    """What is read without the library of units is what the library makes of it, and of one kind, that of its table."""
    assert len(KIND_OF) == sum(len(sizes) for sizes in FACTORS.values())
    for unit, sizes in FACTORS.items():
        for written, size in sizes.items():
            assert float(registry().Quantity(1.0, written).to(unit).magnitude) == pytest.approx(
                size, rel=REL_TOL_ROUNDING
            ), written
            assert names_angle(written) == ("rad" in unit), written
            assert si_unit(f"1 {written}") == (unit if unit in KINDS else None), written


def test_a_usual_unit_means_one_amount():
    """None of the units that may mean another amount is read without a question."""
    assert not set(KIND_OF) & {word for trap in TRAPS for word in trap.words}


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("6.0 m # x", "m"),
        ("14 ddeg", "rad"),
        ("3 cinch", "m"),
        ("1 m**9**9", "m"),
        ("1 m^99", "m**2"),
        ("1 (m**2)**3", "m**2"),
        ("1 m²³", "m**2"),
    ],
)
def test_what_nobody_writes_is_no_unit(text, unit):
    """A remark behind a unit, a prefix that a unit does not take and a power of powers are faults, not other numbers."""
    with pytest.raises(InputFault, match="not known"):
        si(text, unit)


@pytest.mark.parametrize("unit", KINDS)
def test_the_example_of_each_kind_is_sound(unit):
    """The example that a fault shows is itself read without fault."""
    assert math.isfinite(si(KINDS[unit][1], unit))


@given(number=NUMBERS)
def test_a_prefix_is_a_power_of_ten(number):
    """The same number in mm, m and km differs by factors of a thousand, and in a metre is itself."""
    assert si(f"{number!r} m", "m") == number
    assert si(f"{number!r} km", "m") == pytest.approx(1e6 * si(f"{number!r} mm", "m"), rel=1e-12)


@given(numbers=st.tuples(NUMBERS, NUMBERS, NUMBERS))
def test_a_vector_shares_one_unit(numbers):
    """Each component of a vector is what it would be alone."""
    text = " ".join(map(repr, numbers)) + " kN"
    assert si_vector(text, "N") == pytest.approx(tuple(si(f"{n!r} kN", "N") for n in numbers))


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("12 kg", "'12 kg' is not a length"),
        ("12 m**2", "'12 m**2' is not a length"),
        ("12", "'12' has no unit where a length is needed"),
        (12, "12 is a bare number where a length is needed"),
        (12.5, "12.5 is a bare number where a length is needed"),
        (None, "None is no text where a length is needed"),
        (False, "False is no text where a length is needed"),
        ([1], "[1] is no text where a length is needed"),
        ("", "'' does not read as a length"),
        ("m", "'m' does not read as a length"),
        ("twelve mm", "'twelve mm' does not read as a length"),
        ("1 2 mm", "'1 2 mm' has 2 numbers where 1 is needed"),
        ("nan mm", "'nan mm' does not read as a length"),
        ("1e999 mm", "'1e999 mm' is not finite"),
        ("12 smoots", "'12 smoots' has a unit 'smoots' that is not known"),
        ("12 mm)", "'12 mm)' has a unit 'mm)' that is not known"),
        ("12 __import__('os')", "that is not known"),
        ("12 m; 3", "that is not known"),
        ("12 m**9**9**9", "that is not known"),
        ("12 m**(9**9)", "that is not known"),
        ("12 (9**9)**9*m", "that is not known"),
        ("12 9⁹**9*m", "that is not known"),
        ("12 m**999999", "that is not known"),
    ],
)
def test_what_is_no_length_is_a_fault(text, wrong):
    """Whatever is not one finite number with a unit of length is a fault with place, words and cure."""
    with pytest.raises(InputFault) as caught:
        si(text, "m", "file.toml: key")
    fault = caught.value
    assert fault.place == "file.toml: key"
    assert wrong in fault.wrong
    assert fault.cure == 'write it with its unit, such as "4.2 m"'


def test_a_point_on_a_scale_is_no_difference():
    """20 °C is a point on a scale; a change of temperature is a difference."""
    with pytest.raises(InputFault, match="is a point on a temperature scale, not a difference"):
        si("20 degC", "K")


@given(text=st.text(max_size=12))
def test_any_text_is_read_or_refused(text):
    """Any text is a quantity or a fault of the input: nothing else leaves the reader."""
    with suppress(InputFault):
        assert math.isfinite(si(text, "m"))


def test_bounds_of_a_field():
    """A field with a bound refuses what is below it, in the words of its unit."""
    above = Unit("m", above=0)
    assert above.read("1 mm") == 0.001
    assert Unit("m", least=0).read("0 m") == 0
    for bound in (above, Unit("m", least=1e-9)):
        with pytest.raises(PydanticCustomError, match="is too small; give "):
            bound.read("0 m")


def test_fields_describe_themselves():
    """The JSON Schema of a field shows what it measures and an example."""
    one = TypeAdapter(Annotated[float, Unit("Pa")])
    three = TypeAdapter(Annotated[tuple[float, float, float], UnitVector("N")])
    assert one.json_schema() == {
        "type": "string",
        "description": "a stress or modulus with its unit",
        "examples": ["70 GPa"],
    }
    assert three.json_schema()["examples"] == ["0 0 5 kN"]
    assert three.validate_python("1 2 3 kN") == (1000, 2000, 3000)
    with pytest.raises(ValidationError, match="has 2 numbers where 3 are needed"):
        three.validate_python("1 2 kN")


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (12345, "12.3 kN"),
        (0, "0 N"),
        (1, "1 N"),
        (-0.00321, "-3.21 mN"),
        (1000, "1 kN"),
        (2.5e6, "2.5 MN"),
        (7e10, "70 GN"),
        (5e-7, "500 nN"),
        (math.inf, "inf N"),
    ],
)
def test_numbers_for_reading(value, shown):
    """A number in SI is shown with three digits and the prefix that keeps it between 1 and 1000."""
    assert engineering(value, "N") == shown


@given(value=st.floats(1e-8, 1e11), sign=st.sampled_from([-1, 1]))
def test_a_shown_number_is_the_number(value, sign):
    """What is shown reads back as the number, to the digits shown."""
    number, unit = engineering(sign * value, "N", 6).split()
    read = float(
        registry().Quantity(float(number), unit).to("N").magnitude
    )  # a file may not write mN: it may mean MN
    assert read == pytest.approx(sign * value, rel=1e-5)


@pytest.mark.parametrize(
    ("field", "within", "beyond", "cure"),
    [
        (Unit("N", most=1e6), "-1 MN", "-1.01 MN", "give at most 1 MN"),
        (Unit("m/s**2", above=0, most=1000.0), "1 km/s**2", "1.1 km/s**2", r"give at most 1000 m/s\*\*2"),
        (UnitVector("N", most=1e6), "0 1 -1 MN", "0 0 1e300 N", "give at most 1 MN"),
    ],
)
def test_a_size_beyond_the_most_is_told(field, within, beyond, cure):
    """A bound is on the size of each number, itself allowed; beyond it the value is shown with how much is the most."""
    field.read(within)
    with pytest.raises(PydanticCustomError, match=f"is too large; {cure}"):
        field.read(beyond)


@pytest.mark.parametrize(
    ("mass", "shown"), [(85.0, "85 kg"), (0.5, "500 g"), (2350.0, "2.35 t"), (1e4, "10 t")]
)
def test_a_mass_reads_in_kilograms_and_tonnes(mass, shown):
    """The kilogram has its prefix already: 2350 kg are 2.35 t, not 2.35 kkg."""
    assert engineering(mass, "kg") == shown
