"""Which input scales which load of a case."""

import pytest

from cases.analyses.uncertainty.load_parts import load_parts
from cases.input.scatter import cases_of_their_own, scattered_inputs
from cases.input.variants import Variant
from tests.cases.analyses.uncertainty.test_uncertainty import CASES, boat
from tests.models.boats import example_boat

BREAKS = {"name": "breaks", "kind": "stay breaks", "rake": "12 deg"}
POINTS = {
    "name": "points", "kind": "points",
    "also": [{"place": "port stem", "force": "0 0 3 kN"}, {"place": "stay", "force": "0 0 5 kN"}],
}  # fmt: skip


def kinds(file, own=frozenset()):
    """Case number and kind of input of each part."""
    return [(part.case, part.kind) for part in load_parts(file, own)]


def test_loads_are_scaled_by_what_they_come_from():
    """Racking by force and by movement, the stay's pull, added forces that lift one hull and lower the other, one stem alone."""
    file = boat(
        {}, [*CASES, BREAKS, POINTS], stay={"forward": "0 mm", "up": "120 mm", "line": {"breaking": "60 kN"}}
    )
    assert kinds(file) == [
        (0, "racking"), (1, "stay_tension"), (2, "racking_by_movement"), (3, "stay_tension"), (3, "racking"),
        (4, "breaking_load"), (5, "other_loads"), (5, "stay_tension"),
    ]  # fmt: skip


def test_parts_of_a_case_are_all_of_its_loads_once():
    """By place, the forces of the parts sum to those of the case, its scale in them."""
    scaled = CASES[3] | {"scale": 1.5}
    file = boat({}, [scaled])
    [case] = file.load_cases

    def by_place(loads):
        found = {}
        for load in loads:
            before = found.get(load.place, (0.0, 0.0, 0.0))
            found[load.place] = tuple(a + b for a, b in zip(before, load.force, strict=True))
        return found

    parts = [load for part in load_parts(file) for load in part.load.all_place_loads()]
    whole = by_place(case.all_place_loads())
    assert by_place(parts).keys() == whole.keys()
    for place, force in by_place(parts).items():
        assert force == pytest.approx(whole[place])


def test_waves_are_an_input_of_their_own():
    """Of the template's case of waves, switched on: not the typed racking's."""
    template = example_boat("new_boat")
    others = [f"cases.'{case.name}'" for case in template.cases if case.name != "waves"]
    made = template.variant(Variant(name="waves", set={"cases.waves.on": True}, without=others))
    assert {kind for _, kind in kinds(made)} == {"racking_by_wave"}


def test_a_case_with_a_scatter_of_its_own_is_not_scaled_by_its_kind():
    """Its key is what scatters; the other cases keep theirs."""
    file = boat({"racking": "± 50 %", "cases.racking.force": "± 10 %"})
    own = cases_of_their_own(scattered_inputs(file))
    assert own == {"racking"}
    assert kinds(file, own)[:2] == [(0, ""), (1, "stay_tension")]
