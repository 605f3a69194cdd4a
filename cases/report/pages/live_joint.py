"""The exact reduced model of the front end as a few hundred numbers, for a page to compute joint loads from.

`web/live_joint.js` does with them what `models.response.joint_designs` does here; a test holds it against full solutions.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from cases.analyses.candidates import candidates
from cases.analyses.study import Study
from cases.analyses.sweep import variants_under
from femcore.base.arrays import FloatArray
from models.joints import DIRECTIONS, JointStiffness
from models.joints.base import LOAD_MIRROR
from models.response.joint_designs import JointDesigns
from models.response.joint_loads import REL_TOL_RACKING

SLIDERS = ("pitch", "roll")
AT = [DIRECTIONS.index(direction) for direction in SLIDERS]
REL_TOL_COUPLED = 1e-9
"""Of the geometric mean of both stiffnesses: twist and bending that are coupled by less are so by rounding."""


def live_joint(study: Study) -> dict[str, Any]:
    """The model as JSON: arrays as lists, `null` for a load that reaches no movement and for a rigid spring.

    StructureFaults as of `solve`.
    """
    designs = JointDesigns.of(variants_under(study.file, study.cases))
    chosen = {joint.name for joint in candidates(study.file)}
    model, variants = designs.model, designs.variants
    return {
        "cases": [case.name for case in study.cases],
        "mainCase": [case.name for case in study.cases].index(study.main_case.name),
        "secondOrder": [number for number, case in enumerate(study.cases) if case.second_order],
        "joints": [
            {"name": one.joint.name, "base": _base(one.stiffness), "own": _own(one.stiffness)}
            for one in sorted(study.joints, key=lambda one: one.joint.name not in chosen)
            if _has_sliders(one.stiffness)
        ],
        "turn": model.turn.tolist(),
        "M": model.M.tolist(),
        "forces": model.forces.tolist(),
        "tension": model.tension.tolist(),
        "tensionByGap": model.tension_by_gap.tolist(),
        "readings": model.readings[:8].tolist(),
        "readingsByGap": model.readings_by_gap[:8].tolist(),
        "movements": model.movements.tolist(),
        "movementsByGap": model.movements_by_gap.tolist(),
        "targets": _finite(np.where(np.isnan(variants.targets), np.inf, variants.targets)),
        "mirror": LOAD_MIRROR.tolist(),
        "pretension": variants.front.frame.cables.pretension.tolist(),
        "leastRacking": REL_TOL_RACKING,
    }  # fmt: skip


def _has_sliders(joint: JointStiffness) -> bool:
    """Whether its twist and bending stiffness can be changed each by itself: in boat axes, and not coupled with one another."""
    if not joint.is_in_boat_axes or joint.matrix is None or not np.isfinite(joint.springs[AT]).all():
        return joint.is_in_boat_axes
    return bool(abs(joint.matrix[tuple(AT)]) <= REL_TOL_COUPLED * np.sqrt(np.prod(joint.springs[AT])))


def _own(joint: JointStiffness) -> dict[str, float | None]:
    """N·m/rad, in pitch and roll, the other directions free to follow."""
    found = {direction: joint.own_stiffness(direction) for direction in SLIDERS}
    return {direction: value if np.isfinite(value) else None for direction, value in found.items()}


def _base(joint: JointStiffness) -> list[list[float | None]]:
    """(6, 6), the joint free in pitch and roll; a rigid direction is null on the diagonal, 0 beside it."""
    free = joint.with_springs(dict.fromkeys(SLIDERS, 0.0))
    finite = np.isfinite(free.springs)
    matrix = np.diag(np.where(finite, free.springs, 0.0)) if free.matrix is None else free.matrix
    matrix = np.where(np.outer(finite, finite), matrix, 0.0)
    return [[None if i == j and not finite[i] else float(matrix[i, j]) for j in range(6)] for i in range(6)]


def _finite(values: FloatArray) -> list[float | None]:
    return [float(value) if np.isfinite(value) else None for value in values]
