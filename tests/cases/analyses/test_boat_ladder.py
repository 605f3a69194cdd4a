"""A boat's joint loads and pretension do not depend on how finely its beams are divided, beyond the error of division."""

import copy
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import cases.boats
from cases.analyses.solved_cases import SolvedCases, solve_cases
from cases.input.boat_file import BoatFile
from femcore.base.toml import checked, read_toml
from models.response.joint_loads import joint_loads

SHORT_BOWED = Path(cases.boats.__path__[0]) / "short_bowed.toml"
KEPT = ("gust", "racking", "anchor snatches")
RUNGS = (40, 120, 240)


@cache
def solved(part: str, divide: int) -> SolvedCases:
    """The boat with its rigid joint, a few cases in second order, one part divided so."""
    raw = copy.deepcopy(read_toml(SHORT_BOWED))
    for table in ("variants", "combinations", "service"):
        raw.pop(table, None)
    raw[part]["divide"] = divide
    raw["cases"] = [{**case, "second_order": True} for case in raw["cases"] if case["name"] in KEPT]
    boat = checked(raw, BoatFile, "ladder")
    joint = next(one for one in boat.joints if one.name == "rigid")
    return solve_cases(boat, joint.name, joint.stiffness(), boat.load_cases)


@pytest.mark.parametrize("part", ["crossbeam", "bows"])
def test_joint_loads_are_the_same_at_every_rung(part):
    """Past the error of division, which falls with its square, joint loads and tensions are the same in every mesh."""
    coarse, fine, finest = (solved(part, divide) for divide in RUNGS)

    def change(first: SolvedCases, second: SolvedCases) -> float:
        loads = joint_loads(first.solution), joint_loads(second.solution)
        return float(np.abs(loads[0] - loads[1]).max() / np.abs(loads[1]).max())

    of_division = change(coarse, finest)
    assert of_division < 1e-4
    assert change(fine, finest) <= 1.2 * of_division * (RUNGS[0] / RUNGS[1]) ** 2 + 1e-9


@pytest.mark.parametrize("part", ["crossbeam", "bows"])
def test_pretension_is_reached_at_every_rung(part):
    """The martingale has its pretension under pretension alone, in second order, however fine the mesh."""
    for divide in RUNGS:
        rest = solved(part, divide).rest
        wanted = rest.frame.cables.pretension
        np.testing.assert_allclose(rest.tension[-1], wanted, rtol=1e-9)
