"""One bad value in a boat file is one fault, and two are two: nothing that only follows from it is listed."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

import cases
from cases.input.boat_file import read_boat_file
from femcore.base.errors import InputFaults

BOATS = Path(cases.__file__).parent / "boats"
DEMO, SHORT_BOWED = ((BOATS / name).read_text("utf-8") for name in ("demo.toml", "short_bowed.toml"))
BAD_VALUES = (
    ('fibre = "e_glass"', 'fibre = "x_glass"', "no fibre is called 'x_glass'"),
    ('fibre = "carbon_sm"', 'fibre = "carbon_xx"', "no fibre is called 'carbon_xx'"),
    ('wall = { laminate = "bulkhead" }', 'wall = { laminate = "bulkhed" }', "did you mean 'bulkhead'"),
    ('wall = { laminate = "hull skin" }', 'wall = { laminate = "hull skn" }', "did you mean 'hull skin'"),
    ('inboard = "0.80 m"', 'inboard = "80 m"', "reaches the centreline"),
    ('hull_bottom = "-0.05 m"', 'hull_bottom = "5 m"', "hull_deck is not above hull_bottom"),
    ('diameter = "200 mm"', 'diameter = "-200 mm"', "is too small"),
    ('laminate = "beam tube"', 'laminate = "beam tub"', "did you mean 'beam tube'"),
    ('metal = "al6082_t6"', 'metal = "al9999"', "no metal is called 'al9999'"),
    ('EA = "60.5 MN"', 'EA = "60.5 kg"', "gives a mass where a force is needed"),
    ('height = "0.70 m"', 'height = "0.70 N"', "is not a length"),
    ('kind = "racking"', 'kind = "raking"', "'kind'"),
    # cases take these from [boat], which alone says it
    ('displacement = "10 t"', 'displacement = "10 tons"', "boat: displacement: '10 tons' may count"),
    ('rig_height = "17 m"', 'rig_height = "17 kg"', "boat: rig_height: '17 kg' is not a length"),
    ('waterline = "12.8 m"', 'waterline = "-12.8 m"', "boat: waterline: '-12.8 m' is too small"),
)


def faults(text, folder):
    """What is said of a boat file of that text."""
    file = folder / "boat.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(InputFaults) as found:
        read_boat_file(file)
    return [str(one) for one in found.value.faults]


@pytest.mark.parametrize(("good", "bad", "words"), BAD_VALUES, ids=[one[1] for one in BAD_VALUES])
def test_one_bad_value_is_one_fault(good, bad, words, tmp_path):
    """Materials, platform, beam, loads: each slip gives its own sentence and no other."""
    assert good in DEMO
    (found,) = faults(DEMO.replace(good, bad, 1), tmp_path)
    assert words in found


def test_case_resting_on_an_unknown_metal_is_no_second_fault(tmp_path):
    """A case warms a crossbeam whose metal, and with it the expansion, is not known: the metal alone is at fault."""
    good, bad = 'material = "al6082_t6"', 'material = "al9999"'
    assert good in SHORT_BOWED
    assert 'kind = "temperature"' in SHORT_BOWED
    (found,) = faults(SHORT_BOWED.replace(good, bad, 1), tmp_path)
    assert "'al9999' does not exist" in found


@pytest.mark.parametrize(("one", "other"), list(pairwise(BAD_VALUES[:3] + BAD_VALUES[8:])))
def test_two_bad_values_are_two_faults(one, other, tmp_path):
    """Neither hides the other."""
    found = faults(DEMO.replace(*one[:2], 1).replace(*other[:2], 1), tmp_path)
    assert len(found) == 2
    for words in (one[2], other[2]):
        assert any(words in sentence for sentence in found)
