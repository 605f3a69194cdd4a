"""One class serves file and Python: a number in SI from Python, text with its unit from both."""

import math

import pytest
from pydantic import ValidationError

from cases.loads.base import PlaceLoad
from cases.loads.racking import Racking
from femcore.base.errors import InputFaults
from femcore.base.units import FileContext
from models.boat.boat import Crossbeam
from models.boat.parts import StayTang
from models.joints.sprung import SprungJoint

BEAM = {"height": 0.3, "EI_vertical": 1e6, "EI_lateral": 1e6, "GJ": 5e5, "EA": 1e8}
TANG = {"width": 0.05, "thickness": 5e-3, "length": 0.04, "end": 0.03, "pin": 0.012, "toggle": 0.012}


def test_python_gives_numbers_in_si_or_text():
    """Numbers are SI, text has its unit, and both make the same object."""
    assert Crossbeam(station=3.5, **BEAM) == Crossbeam(station="350 cm", **BEAM)
    assert Racking(name="r", force=4e3) == Racking(name="r", kind="racking", force="4 kN")
    assert PlaceLoad(place="stay", force=(0, 0, 5e3)).force == (0.0, 0.0, 5000.0)
    assert SprungJoint(name="s", pitch=2e5).stiffness().springs[4] == 2e5


@pytest.mark.parametrize("value", [3.5, 4, True, (1.0,)])
def test_a_file_gives_no_bare_number(value):
    """Where the reader says that a file is read, a number without its unit is refused."""
    with pytest.raises(ValidationError, match="where a length is needed; write it with its unit"):
        Crossbeam.model_validate({"station": value}, context=FileContext())
    with pytest.raises(ValidationError, match="where a force is needed"):
        PlaceLoad.model_validate({"place": "stay", "force": [0.0, 0.0, 1.0]}, context=FileContext())


@pytest.mark.parametrize("context", [None, FileContext()])
@pytest.mark.parametrize(
    ("number", "text", "said"),
    [(0.0, "0 m", "is too small"), (math.nan, "nan m", "a length"), (math.inf, "1e999 m", "finite|is not")],
)
def test_bounds_hold_both_ways(context, number, text, said):
    """Too small or not finite is refused as a number and as text."""
    for value in (number, text) if context is None else (text,):
        with pytest.raises(ValidationError, match=said):
            Crossbeam.model_validate({"station": value} | BEAM, context=context)


def test_a_vector_needs_its_count():
    """Three components, all numbers, none of them too large."""
    for force, said in (
        ((0.0, 1.0), "3 finite numbers"),
        ((0, 0, 1e300), "too large"),
        ((0, "1 N", 0), "no text"),
    ):
        with pytest.raises(InputFaults, match=said):
            PlaceLoad(place="stay", force=force)


def test_a_tang_knows_its_metals():
    """The cheeks' metal and the pin's are both looked up, and a wrong name is a fault of the table."""
    assert StayTang(metal="ss_1_4401", **TANG).count == 2
    for wrong in ({"metal": "nonsense"}, {"metal": "ss_1_4401", "pin_metal": "nonsense"}):
        with pytest.raises(InputFaults, match="no metal is called 'nonsense'"):
            StayTang(**TANG | wrong)


def test_objects_are_frozen():
    """No field changes once made."""
    with pytest.raises(ValidationError, match="frozen"):
        Racking(name="r", force=4e3).force = 5e3
