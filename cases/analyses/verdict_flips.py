"""By what the loads may change before the verdict on a joint does: all of them together, and the racking alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from scipy.optimize import brentq

from cases.analyses.case_rows import case_rows
from cases.analyses.part_loads import part_loads
from cases.analyses.part_margins import PartMargins, buckling_utilisation, extreme_rows
from cases.analyses.study import JointResult
from cases.input.boat_file import BoatFile
from cases.input.combinations import ExpandedCombination
from cases.loads.base import QUARTERING_SEA
from femcore.base.errors import StructureFault
from models.checks.beam_parts import beam_part_checks
from models.strength.margins import Check, with_extreme_loads

MAX_RACKING = 4.0
"""Times the racking as entered: a verdict that does not change up to it is not changed by racking."""
ABS_TOL_RACKING = 5e-3
"""Times the racking as entered: how well the factor at which the verdict changes is found."""

Varied = Literal["all loads", "racking"]


@dataclass(frozen=True, slots=True)
class VerdictFlip:
    """At what factor on some of the loads the lowest margin passes zero; None where it does so at none that was tried."""

    varied: Annotated[
        Varied,
        Field(
            description="all loads in proportion, or the racking, pitch connecting, torsion and deck diving cases alone, also in "
            "combinations"
        ),
    ]
    factor: Annotated[
        float | None,
        Field(
            description="on these loads as entered; null: the verdict is the same from none of them to four times as much"
        ),
    ]
    cases: Annotated[tuple[str, ...], Field(description="the cases that are varied; empty: all")]


def load_flip(margins: PartMargins) -> VerdictFlip | None:
    """On all loads, in proportion: the least growth over all checks at which one reaches its limit, its factor counted.

    None where nothing was checked under loads that grow; what is checked at the stay's breaking load does not.
    """
    known = _checked((*margins.own, *margins.other_checks))
    least = min((float(check.growth_to_limit.min()) for check in known), default=np.inf)
    return VerdictFlip("all loads", least, ()) if np.isfinite(least) else None


def racking_flip(file: BoatFile, result: JointResult, margins: PartMargins) -> VerdictFlip | None:
    """On the racking alone, every combination with it solved anew; None where no case racks the boat, or nothing is checked."""
    varied = tuple(case.name for case in file.load_cases if case.sea_loads() & QUARTERING_SEA)
    if not varied or margins.governing_check(own=True) is None:
        return None
    return VerdictFlip("racking", _RackedBoat(file, result, margins, varied).flip(), varied)


@dataclass(frozen=True, eq=False)
class _RackedBoat:
    """A boat with one joint, solved, whose racking is varied."""

    file: BoatFile
    result: JointResult
    margins: PartMargins
    varied: tuple[str, ...]

    def flip(self) -> float | None:
        """The factor at which the lowest margin passes zero; None where that of no racking and of the most have one sign."""
        racked = np.array([any(name in self.varied for name in one.factors) for one in self._rows])
        margins = self.margins
        known = _checked((*margins.own, *margins.other_checks))
        unchanged = [float(c.margin[~racked].min(initial=np.inf)) for c in known]
        at_breaking_load = [float(c.margin.min()) for c in _checked(margins.at_breaking_load.checks)]
        if min([*unchanged, *at_breaking_load]) < 0:
            return None
        as_entered = 1.0 / (1.0 + min(float(c.margin[racked].min()) for c in known)) - 1.0
        ends = (0.0, 1.0) if as_entered > 0 else (1.0, MAX_RACKING)

        @cache
        def shortfall(factor: float) -> float:
            """The largest utilisation, safety factors counted, less 1: nearly linear in the loads, where the margin is not."""
            return as_entered if factor == 1.0 else 1.0 / (1.0 + self._margin(factor)) - 1.0

        try:
            if np.sign(shortfall(ends[0])) == np.sign(shortfall(ends[1])):
                return None
            return float(brentq(shortfall, *ends, xtol=ABS_TOL_RACKING))
        except StructureFault:
            return None

    @property
    def _rows(self) -> tuple[ExpandedCombination, ...]:
        """Cases and combinations, the cases as combinations of themselves alone."""
        cases = (ExpandedCombination(name, "", {name: 1.0}) for name in self.margins.rows.cases.names)
        return (*cases, *self.file.expanded_combinations)

    def _margin(self, factor: float) -> float:
        """The lowest in the rows with racking, where that is so much."""
        racked = [
            replace(
                one, factors={n: f * (factor if n in self.varied else 1.0) for n, f in one.factors.items()}
            )
            for one in self._rows
            if any(name in self.varied for name in one.factors)
        ]
        acting = [one for one in racked if any(one.factors.values())]
        if not acting:
            return np.inf
        solved, factors = self.margins.rows, self.file.factors
        rows = case_rows(solved.joint, solved.front, solved.cases, acting)
        loads = part_loads(self.file.load_cases, rows, buckling_utilisation(self.result, rows))
        checks = (
            *rows.joint.checks(rows.values.joint_load, factors),
            *beam_part_checks(self.file, loads, factors),
        )
        known = with_extreme_loads(_checked(checks), extreme_rows(self.file, rows))
        return min(float(check.margin[len(solved.cases.names) :].min()) for check in known)


def _checked(checks: Iterable[Check]) -> list[Check]:
    return [check for check in checks if check.kind == "checked"]
