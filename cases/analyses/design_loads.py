"""Design loads of a joint: the largest size of each component over all cases and combinations, pretension included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import CaseRows
from femcore.base.arrays import FloatArray
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES, racking_part

REL_TOL_EQUAL = 1e-9
"""Of the largest size: one that is smaller by less is as large."""
REL_TOL_NO_COMPONENT = 1e-9
"""Of the largest component of the joint load, N and N·m alike: a smaller one is rounding, and counts as none."""


@dataclass(frozen=True, slots=True)
class DesignLoad:
    """The largest size of one component of the joint load, pretension included."""

    component: Annotated[str, Field(description="in beam words")]
    size: Annotated[float, Field(description="N or N·m")]
    racking: Annotated[
        float,
        Field(
            description="N or N·m, the part of it due to racking (antisymmetric), which at the hull with more never reduces it"
        ),
    ]
    row: Annotated[str, Field(description="case or combination in which it is largest")]
    side: Annotated[str, Field(description="the hull")]
    largest_racking: Annotated[
        float,
        Field(description="N or N·m, the largest part due to racking of all cases and combinations"),
    ]
    racking_row: Annotated[str, Field(description="in which")]


def design_loads(rows: CaseRows) -> tuple[DesignLoad, ...]:
    """The six components of `JOINT_LOAD_NAMES`, of several equal ones the first."""
    load = rows.values.joint_load
    racking = racking_part(load)
    least = REL_TOL_NO_COMPONENT * float(np.abs(load).max())
    found = []
    for column, component in enumerate(JOINT_LOAD_NAMES):
        row, side = np.unravel_index(_first_of_most(np.abs(load[..., column])), load.shape[:2])
        value, part = float(load[row, side, column]), float(racking[row, side, column])
        # at the hull with more, racking adds to what acts on both alike: |s + a| ≥ |s − a| where s and a have one sign
        size, part = (abs(value), abs(part)) if abs(value) > least else (0.0, 0.0)
        # the parts of both hulls have one size
        parts = np.abs(racking[:, 0, column])
        most = _first_of_most(parts)
        largest = float(parts[most]) if parts[most] > least else 0.0
        names = rows.names
        found.append(DesignLoad(component, size, part, names[row], SIDES[side], largest, names[most]))
    return tuple(found)


def _first_of_most(sizes: FloatArray) -> int:
    """The first, in reading order, of those that are largest but for rounding."""
    return int((sizes >= sizes.max() * (1 - REL_TOL_EQUAL)).argmax())
