"""What a verdict rests on that was remembered, not read."""

import pytest

from cases.analyses.analysis import analyse
from cases.analyses.provenance import remembered_formulas, remembered_strengths
from cases.input.boat_file import BoatFile
from femcore.base.toml import read_toml
from femcore.materials import fibres, metals
from tests.models.boats import ROOT, validated

DEMO = ROOT / "cases" / "boats" / "demo.toml"


@pytest.fixture(scope="module")
def boat():
    """The demo boat with one joint under one case."""
    raw = read_toml(DEMO)
    for key in ("variants", "service", "combinations"):
        raw.pop(key, None)
    raw["joints"] = [joint for joint in raw["joints"] if joint["name"] == "bolted lugs"]
    raw["cases"] = [case for case in raw["cases"] if case["name"] == "gust"]
    return validated(BoatFile, raw)


def test_strengths_from_memory_are_those_of_materials_in_use(boat):
    """Carbon's breaking strain was remembered: it is listed with its value; what was read or is not on the boat is not."""
    found = {(one.material, one.field): one for one in remembered_strengths(boat)}
    assert fibres()["carbon_sm"].provenance["tension_strain"].seen == "memory"
    assert found["carbon_sm", "tension_strain"].value == "0.0105"
    assert ("carbon_sm", "E1") not in found
    assert ("al6082_t6", "proof_haz") in found
    assert metals()["al6082_t6"].provenance["proof"].seen == "text"
    assert ("al6082_t6", "proof") not in found
    assert not [name for name, _ in found if name in {"carbon_im", "s_glass", "ss_17_4ph"}]


def test_formulas_from_memory_are_counted_with_their_lowest_margin(boat):
    """Every source from memory of a check made is there once, with the lowest margin of the checks by it."""
    margins = analyse(boat).part_margins
    made = [
        check
        for one in margins
        for check, case in one.worst
        if case is not None and "from memory" in check.source
    ]
    assert made
    found = remembered_formulas(margins)
    assert {one.source for one in found} == {check.source for check in made}
    assert sum(one.checks for one in found) == len(made)
    for one in found:
        assert one.lowest.margin == min(check.margin for check in made if check.source == one.source)
