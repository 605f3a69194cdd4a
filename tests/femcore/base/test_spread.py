"""Scatter behind a value: what it reads as, which distribution that is, and what is refused."""

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.base.spread import read_spread, split_spread, value_text
from femcore.base.units import number_and_unit, si, si_vector


def drawn(text: str, value: float) -> np.ndarray:
    """Ten thousand equally probable values of a distribution."""
    return split_spread(text)[1].distribution(value).ppf((np.arange(10_000) + 0.5) / 10_000)


@pytest.mark.parametrize(
    ("text", "value", "median", "variation"),
    [
        ("10 kN ± 15 %", 10.0, 1.0, 0.1513),  # median × √(1 + v²) is the mean: v √(1 + v²) over the median
        ("20 mm ± 5 mm", 20.0, 20.0, 5.0),
        ("10 kN normal 1.5 kN", 10.0, 10.0, 1.5),
        ("10 kN gumbel 30 %", 10.0, 1.0, 0.3),
        ("10 kN lognormal 1.5 kN", 10.0, 10.0, 1.5168),
    ],
)
def test_a_spread_is_one_standard_deviation_about_the_value_as_median(text, value, median, variation):
    """The value is the median; the standard deviation is as written, of a lognormal that over its median."""
    found = drawn(text, value)
    assert np.median(found) == pytest.approx(median, rel=1e-3)
    assert found.std() == pytest.approx(variation, rel=0.02)


def test_a_factor_either_way_is_one_standard_deviation_of_the_logarithm():
    """× 2: the 16 % and 84 % points are half and double."""
    found = split_spread("150 kN*m/rad × 2")[1].distribution(150.0)
    assert found.cdf([0.5, 1.0, 2.0]) == pytest.approx([0.158655, 0.5, 0.841345], abs=1e-6)


def test_a_range_is_uniform_and_its_value_the_middle():
    """8 … 14 kN: 11 kN, never outside; however it is written."""
    for text in ("8 … 14 kN", "8..14 kN", "8 to 14 kN"):
        assert si(text, "N") == pytest.approx(11e3)
        found = split_spread(text)[1].distribution(11.0)
        assert found.support() == (8.0, 14.0)
        assert found.std() == pytest.approx(6 / np.sqrt(12))
    assert split_spread("10 kN uniform 8 … 14 kN")[0] == "10 kN"


def test_a_weibull_has_its_shape_and_the_value_as_median():
    """Of shape 1 it is exponential: three quarters lie below twice the median."""
    found = split_spread("10 kN weibull 1")[1].distribution(10.0)
    assert found.cdf([1.0, 2.0]) == pytest.approx([0.5, 0.75])


def test_the_value_is_read_without_its_scatter():
    """The analysis uses the value alone, of vectors too, and text without scatter is as it was."""
    assert si("12.5 mm ± 10 %", "m") == si("12.5 mm", "m")
    assert si_vector("0 -1 10 kN ± 20 %", "N") == si_vector("0 -1 10 kN", "N")
    for text in ("5 kg/m**3", "23e-6 1/K", "-12 deg", "0 0 -5 kN", "2x db 600 @45"):
        assert value_text(text) == text
    assert number_and_unit("150 kN*m/rad × 2") == ((150.0,), "kN*m/rad")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("10 kN ± -5 %", "is negative"),
        ("10 kN ± 300 %", "more than a lognormal takes, 200 %"),
        ("10 kN normal 40 %", "more than a normal takes, 30 %"),
        ("14 … 8 kN", "does not rise"),
        ("10 kN × 0.5", "no factor either way"),
        ("10 kN × 50", "no factor either way"),
        ("10 kN triangular 2 kN", "'triangular' is no distribution"),
        ("10 kN ± much", "is no scatter"),
        ("10 kN weibull 0.1", "no shape from"),
        ("10 kN uniform 3 kN", "has no range"),
    ],
)
def test_an_impossible_scatter_is_refused_in_one_sentence(text, words):
    """Where it stands, what is wrong and what cures it."""
    with pytest.raises(InputFault, match="force") as fault:
        si(text, "N", "force")
    assert words in str(fault.value)
    assert fault.value.cure


def test_a_spread_alone_is_read_and_a_value_before_it_is_refused():
    """As a table of scatter has it."""
    assert read_spread("± 15 %").size == (15.0,)
    assert read_spread("normal 10 %").kind == "normal"
    assert read_spread("± 0 %").is_none
    for text in ("10 kN ± 15 %", "10 kN", "wide"):
        with pytest.raises(InputFault, match="is no scatter"):
            read_spread(text)
