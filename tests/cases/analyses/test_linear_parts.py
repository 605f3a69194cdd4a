"""Margins of parts that one force decides, for many joints at once, against those of a study."""

import numpy as np
import pytest

from cases.analyses.case_rows import case_rows
from cases.analyses.part_margins import part_margins
from cases.analyses.study import run_study
from cases.loads import case_loads
from models.checks.linear_parts import FORCES, linear_margins, linear_parts
from models.response.front_end_variants import FrontEndVariants
from models.response.joint_designs import JointDesigns
from models.response.joint_loads import striker_axial
from tests.models.boats import example_boat

OURS = {"martingale", "martingale's tangs", "striker"}


def test_margins_of_lines_fittings_and_strut_are_those_of_a_study():
    """Every check of the martingale, its tangs and the striker, in every case of first order: a ratio of forces, with the factor
    of an extreme load where it is one, is the margin that the study gives.
    """
    demo = example_boat("demo")
    cases = [
        case.model_copy(update={"second_order": False})
        for case in demo.cases
        if case.name in {"upwind", "racking"}
    ]
    joints = [one for one in demo.joints if one.name == "bolted plates"]
    boat = demo.model_copy(update={"cases": cases, "joints": joints})
    study = run_study(boat)
    (joint,) = study.joints
    whole = part_margins(boat, [joint], [case_rows(joint.joint, joint.front, joint.solution)])[0]
    variants = FrontEndVariants.of(
        boat, lambda front: case_loads(front, boat.load_cases), {"striker": striker_axial}
    )
    found = JointDesigns.of(variants).solve(joints[0].stiffness().springs[None])
    forces = dict(
        zip(
            FORCES,
            (found.tension.max(axis=2), np.maximum(-found.more["striker"], 0.0).max(axis=2)),
            strict=True,
        )
    )
    parts = linear_parts(boat, boat.factors)
    extreme = np.array([boat.load_levels.get(one.name) == "extreme" for one in boat.load_cases])
    margins = linear_margins(parts, forces, extreme)
    assert {one.part.split(",")[0] for one in parts} == OURS
    by_name = {(one.part, one.check): one for one in whole.other_checks if one.kind == "checked"}
    for part, margin in zip(parts, margins, strict=True):
        np.testing.assert_allclose(margin[0], by_name[part.part, part.check].margin, rtol=1e-8)
    ours = [check for check in by_name if check[0].split(",")[0] in OURS]
    loaded = [check for check in ours if by_name[check].margin.min() < 1e9]
    assert sorted(loaded) == sorted({(one.part, one.check) for one in parts})


def test_the_margin_falls_as_the_force_grows_and_is_zero_at_its_limit():
    """At the limit nothing is left; at half of it as much again; without force no limit; an extreme load may be larger."""
    parts = linear_parts(example_boat("demo"), example_boat("demo").factors)
    for part in parts:
        forces = dict.fromkeys(FORCES, np.array([part.limit, part.limit / 2, 0.0]))
        margins = linear_margins([part], forces, np.zeros(3, dtype=bool))[0]
        assert margins == pytest.approx([0.0, 1.0, np.inf], abs=1e-12)
        assert part.extreme_limit >= part.limit
    assert [one.limit for one in parts] == sorted(one.limit for one in parts)
