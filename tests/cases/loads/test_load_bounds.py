"""What no boat's load is: refused in one sentence with key and cure, before anything is solved."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.input.boat_file import BoatFile
from cases.loads import LOAD_CASES
from cases.loads.connecting import DNV_MAX_LENGTH
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import checked
from tests.cases.loads.load_kinds import boat, boat_with_longeron, case
from tests.models.boats import tables

RIG = {"tension": "40 kN", "rake": "14 deg"}
MOORING = {"tension": "9 kN", "leg": "5 m"}
NET = {"pressure": "1 kPa", "begin": "0.4 m"}
DNV = {"rule": "dnv-hslc", "displacement": "9 t", "acceleration": "10 m/s**2"}


@pytest.mark.parametrize(
    ("kind", "keys", "said"),
    [
        ("rig", RIG | {"tension": "1e12 kN"}, "'1e12 kN' is too large; give at most 10 MN"),
        ("jack", {"force": "1e300 N"}, "'1e300 N' is too large; give at most 100 MN"),
        ("racking", {"force": "-1e300 N"}, "'-1e300 N' is too large; give at most 100 MN"),
        ("points", {"also": [{"place": "stay", "force": "0 0 1e300 N"}]}, "'0 0 1e300 N' is too large"),
        ("points", {"line": [{"member": "crossbeam", "force": "0 0 1e30 N/m"}]}, "is too large"),
        ("weight", {"acceleration": "0 0 1e9 m/s**2"}, "is too large; give at most 1000 m/s**2"),
        ("temperature", {"bows": "1e6 delta_degC"}, "is too large; give at most 500 K"),
        ("mooring", MOORING | {"direction": "180 deg"}, "direction takes the pull 180° off the bow, through the boat; keep"),
        ("mooring", MOORING | {"direction": "60 deg", "sweep": "40 deg"}, "direction and sweep take the pull 100° off the bow"),
        ("mooring", MOORING | {"sweep": "300 deg"}, "take the pull 300° off the bow, through the boat; keep their sum to 90 deg"),
        ("mooring", MOORING | {"sweep": "400 deg"}, "take the pull 400° off the bow"),
        ("mooring", MOORING | {"down": "170 deg"}, "down of 170° hangs the anchor below the bows; give down below 85 deg"),
        ("connecting", DNV | {"length": "80 m"}, "80 m is outside the rule, whose M_S = Δ a b/s is for less than 50 m"),
    ],
)  # fmt: skip
def test_a_load_beyond_reason_is_refused(kind, keys, said):
    """Each kind bounds what it is given; the sentence shows the value and how much is the most."""
    with pytest.raises(ValidationError) as trouble:
        case(kind, **keys)
    assert said in str(trouble.value)


def test_the_bounds_themselves_are_allowed():
    """A pull from abeam is a bridle's last one; DNV's formula goes up to 50 m and not to it (Sec.3 B200)."""
    assert case("mooring", direction="90 deg", **MOORING)
    assert case("mooring", direction="30 deg", sweep="60 deg", **MOORING)
    assert case("connecting", length=f"{DNV_MAX_LENGTH - 0.01} m", **DNV)
    with pytest.raises(ValidationError, match="outside the rule"):
        case("connecting", length=f"{DNV_MAX_LENGTH} m", **DNV)


@pytest.mark.parametrize("direction", np.linspace(-90, 90, 13))
def test_no_leg_of_a_bridle_pulls_aft(direction):
    """Within the bounds every leg pulls its bow forward or square to the boat."""
    (one,) = case("mooring", direction=f"{direction} deg", **MOORING).expand(boat())
    assert all(load.force[0] >= -1e-9 for load in one.loads())


@pytest.mark.parametrize(
    ("kind", "keys", "said"),
    [
        ("net", NET | {"sag": "1 um"}, r"net: sag: no net whose shorter side is 2.5 m sags by 1 µm; give from 2.5 mm to 0.62 m"),
        ("net", NET | {"sag": "50 m"}, r"net: sag: no net whose shorter side is 2.5 m sags by 50 m"),
        ("net", NET | {"lacing": "10 N/m"}, r"net: lacing: a net laced to 10 N/m would sag by .* or lace it tighter"),
        ("racking", {"movement": "60 m"}, r"racking: movement: 60 m apart is further than the hulls stand .*, 6 m; give"),
        ("racking", {"movement": "2 m", "scale": 4}, r"racking: movement: 8 m apart is further"),
    ],
)  # fmt: skip
def test_what_does_not_fit_the_boat_is_refused(kind, keys, said):
    """A net's sag is measured by the net, a racking by the distance of the hulls."""
    with pytest.raises(InputFault, match=said):
        case(kind, **keys).expand(boat_with_longeron())


def test_the_file_names_case_key_and_cure():
    """The same through a whole boat file: one line, and the file is not run."""
    cases = [{"name": "gale", "kind": "rig", "rake": "10 deg", "tension": "1e12 kN"}]
    with pytest.raises(InputFaults) as trouble:
        checked(tables() | {"cases": cases}, BoatFile, "mine.toml")
    assert (
        str(trouble.value)
        == "mine.toml: cases[1] 'gale': tension: '1e12 kN' is too large; give at most 10 MN"
    )


def test_every_number_of_every_kind_is_bounded():
    """No key of any load case, nor of the tables in it, takes a number of any size."""
    units = {(kind, key): unit for kind, model in LOAD_CASES.items() for key, unit in every_unit(model)}
    assert len(units) > 50
    assert {place for place, unit in units.items() if unit.most is None} <= BOUNDED_TOGETHER


BOUNDED_TOGETHER = {("mooring", "down"), ("mooring", "sweep")}
"""With others, not by themselves."""


def every_unit(model):
    """Key and unit of all dimensional values of a table and of the tables in it."""
    for key, field in model.model_fields.items():
        parts = (field.annotation, *getattr(field.annotation, "__args__", ()))
        known = [*field.metadata, *(one for part in parts for one in getattr(part, "__metadata__", ()))]
        yield from ((key, one) for one in known if hasattr(one, "most"))
        for part in parts:
            if hasattr(part, "model_fields"):
                yield from every_unit(part)
