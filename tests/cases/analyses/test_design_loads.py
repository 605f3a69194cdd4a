"""Design loads: the worst of all cases and combinations, pretension included, and the part due to racking by symmetry."""

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.design_loads import REL_TOL_EQUAL
from cases.analyses.study import run_study
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index, racking_part
from tests.models.boats import MARTINGALE_STAYS, STRUT, boat_file_of

JOINTS = [{"name": "rigid", "kind": "rigid"}, {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad"}]
RACKING = {"name": "racking", "kind": "racking", "force": "4 kN"}
RIG = {"name": "rig", "kind": "rig", "tension": "30 kN", "rake": "12 deg"}
ONE_BOW = {"name": "one bow", "kind": "points", "also": [{"place": "port stem", "force": "0 0 4 kN"}]}
TRUSS = {
    "stay": {"forward": 0.1, "up": 0.2},
    "striker": STRUT,
    "martingale": MARTINGALE_STAYS | {"pretension": 20e3},
}


def analysis(*cases, combinations=None):
    """The plain boat with a tightened martingale."""
    file = boat_file_of(JOINTS, list(cases), inboard=0.4, height=0.4, **TRUSS)
    return Analysis(
        run_study(file.model_copy(update={"combinations": combinations} if combinations is not None else {}))
    )


def test_racking_alone_is_all_racking_and_the_rig_has_none():
    """What racking adds to pretension is antisymmetric to rounding; the rig and pretension load both hulls alike."""
    for joint in analysis(RACKING, RIG, combinations=[]).study.joints:
        racking, rig = joint.cases
        added = racking.added_joint_load
        assert racking_part(added) == pytest.approx(added, abs=1e-9 * np.abs(added).max())
        assert racking_part(racking.joint_load) == pytest.approx(
            added, abs=1e-7 * np.abs(racking.joint_load).max()
        )
        assert np.abs(racking_part(rig.joint_load)).max() < 1e-9 * np.abs(rig.joint_load).max()


def test_a_force_on_one_bow_is_half_racking():
    """4 kN up at the port stem is 2 kN up at both and a pair of ±2 kN: its racking part is half of what ±4 kN add."""
    for joint in analysis(RACKING, ONE_BOW, combinations=[]).study.joints:
        pair, one = joint.cases
        assert racking_part(one.added_joint_load) == pytest.approx(
            pair.added_joint_load / 2, abs=1e-7 * np.abs(pair.joint_load).max()
        )


def test_racking_torque_is_half_of_port_less_starboard():
    """By the formula of its docstring, of numbers by hand: torque ½ (7 − 3) = 2 on port, bending ½ (5 + 1) = 3 on both."""
    load = np.zeros((2, 6))
    load[0, [3, 4]], load[1, [3, 4]] = [5.0, 7.0], [1.0, 3.0]
    assert racking_part(load)[:, component_index("torque")] == pytest.approx([2.0, -2.0])
    assert racking_part(load)[:, component_index("vertical bending")] == pytest.approx([3.0, 3.0])


def test_the_design_load_is_the_worst_of_all_rows():
    """Of default combinations: each component is the largest size over rows and hulls, in the row named, pretension included; of
    rows that are equal but for rounding the first is named.
    """
    found = analysis(RACKING, RIG)
    assert found.file.expanded_combinations
    for rows, loads in zip(found.case_rows, found.design_loads, strict=True):
        values = rows.values.joint_load
        assert tuple(load.component for load in loads) == JOINT_LOAD_NAMES
        for column, load in enumerate(loads):
            if load.size:
                sizes = np.abs(values[..., column]).max(axis=1)
                assert load.size == pytest.approx(sizes.max(), rel=REL_TOL_EQUAL)
                assert rows.names.index(load.row) == (sizes >= sizes.max() * (1 - REL_TOL_EQUAL)).argmax()
                side = ("port", "starboard").index(load.side)
                at = values[rows.names.index(load.row), side, column]
                assert abs(at) == load.size
                part = racking_part(values[rows.names.index(load.row)])[side, column]
                assert load.racking == pytest.approx(part * np.sign(at))
            assert load.largest_racking <= np.abs(racking_part(values))[..., column].max()
    torque = found.design_loads[0][component_index("torque")]
    assert torque.row == "racking 50 %, rig 100 %", "the stay's line misses the shear centre"
    assert torque.racking == pytest.approx(torque.largest_racking / 2)
    assert torque.largest_racking == pytest.approx(
        np.abs(found.study.joints[0].cases[0].added_joint_load[0, 4])
    )


def test_what_is_free_has_no_design_load():
    """A pin fore and aft passes no vertical bending: none, and none of it due to racking, rounding apart."""
    pin = {"name": "pin", "kind": "pinned", "axis": [1, 0, 0]}
    found = Analysis(run_study(boat_file_of([pin], [RACKING, RIG], inboard=0.4)))
    bending = found.design_loads[0][component_index("vertical bending")]
    assert (bending.size, bending.racking, bending.largest_racking) == (0.0, 0.0, 0.0)
