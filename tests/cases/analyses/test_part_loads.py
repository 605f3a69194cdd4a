"""Where along a beam its walls are checked: at no fewer places than its actions need."""

import numpy as np
import pytest

from cases.analyses.case_rows import case_rows
from cases.analyses.part_loads import part_loads
from cases.analyses.solved_cases import solved_cases
from tests.models.boats import boat_file_of, validated

FORK = {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]}
VERTICAL_BENDING = 4


def places_of(*cases, divide=50):
    """Actions (cases, places, 6) at the places checked along the plain boat's crossbeam, 6 m on hinges; and at all stations."""
    made = boat_file_of([FORK], list(cases))
    file = validated(type(made), made._raw | {"crossbeam": made._raw["crossbeam"] | {"divide": divide}})
    rows = case_rows(file.joints[0], *solved_cases(file, file.joints[0]))
    return part_loads(file.load_cases, rows, np.zeros(len(rows.names))).crossbeam, rows.values.crossbeam


def points(**loads):
    """A case of loads as given."""
    return {"name": "points", "kind": "points"} | loads


def test_under_a_line_load_the_walls_are_checked_between_nodes():
    """1 kN/m on the 2 m from the middle to port of a beam of 6 m on hinges: M is largest where V = 0.

    The starboard hinge carries 2 kN × 2 m/6 m = 667 N, so V = 0 at 0.667 m to port of the middle and
    M = 667 × 3.667 − 1000 × 0.667²/2 = 2222 N·m; at the middle, a named node, it is 2000.
    """
    line = {"member": "crossbeam", "force": "0 0 -1 kN/m", "begin": "0 m", "end": "2 m"}
    chosen, every = places_of(points(line=[line]))
    moment = np.abs(chosen[0, :, VERTICAL_BENDING])
    assert moment.max() == pytest.approx(1000 * 2 / 3 * (3 + 2 / 3) - 1000 * (2 / 3) ** 2 / 2, rel=1e-3)
    assert moment.max() == pytest.approx(np.abs(every[0, :, VERTICAL_BENDING]).max(), rel=1e-3)


def test_under_loads_at_places_both_sides_of_the_named_nodes_suffice():
    """Actions are linear between them: 3 kN at the middle of 6 m give M = F L/4 = 4.5 kN·m there, and all extremes are chosen."""
    chosen, every = places_of(points(also=[{"place": "beam centre", "force": "0 0 -3 kN"}]))
    assert np.abs(chosen[0, :, VERTICAL_BENDING]).max() == pytest.approx(4500, rel=1e-9)
    assert chosen.shape[1] < every.shape[1]
    for extreme in (np.max, np.min):
        assert extreme(chosen[0], axis=0) == pytest.approx(extreme(every[0], axis=0), abs=1e-6)


def test_in_second_order_the_walls_are_checked_between_nodes():
    """Pushed together at its ends a bent beam's moment has N v in it, which is not linear: every extreme is found nearly."""
    also = [
        {"place": "beam centre", "force": "0 0 -3 kN"},
        {"place": "port joint", "force": "0 -150 0 kN"},
        {"place": "starboard joint", "force": "0 150 0 kN"},
    ]
    chosen, every = places_of(points(also=also, second_order=True))
    assert chosen.shape[1] > 50
    most = np.abs(every[0]).max(axis=0)
    assert np.abs(chosen[0]).max(axis=0) == pytest.approx(most, rel=1e-3, abs=1e-6 * most.max())
