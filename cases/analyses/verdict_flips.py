"""By what the loads may change before the verdict on a joint does: all of them together, and the racking alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from scipy.optimize import brentq

from cases.analyses.case_rows import combined_responses
from cases.analyses.joint_results import JointResult
from cases.analyses.part_loads import CheckedPlaces, stay_force
from cases.analyses.part_margins import PartMargins, case_buckling, extreme_rows
from cases.analyses.scaled_sizes import ScaledSize, sizes_of_cases
from cases.input.boat_file import BoatFile
from cases.input.combinations import ExpandedCombination, factor_matrix
from cases.loads.base import QUARTERING_SEA
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from femcore.solvers.superposed_buckling import buckling_utilisations
from femcore.solvers.superposition import superpose
from models.checks.beam_parts import FRAME_BUCKLING, beam_part_checks
from models.strength.margins import Check, with_extreme_loads

MAX_RACKING = 4.0
"""Times the racking as entered: a verdict that does not change up to it is not changed by racking."""
ABS_TOL_RACKING = 5e-3
"""Times the racking as entered: how well the factor at which the verdict changes is found."""
MIN_NEAR = 0.9
"""Of the largest bound on a utilisation: a row whose own is less does not govern, second order's small concavity counted."""

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
    sizes: Annotated[
        tuple[ScaledSize, ...], Field(description="of those whose size the file enters, and what it would be")
    ] = ()


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
    factor = _RackedBoat(file, result, margins, varied).flip()
    sizes = () if factor is None else sizes_of_cases(file, varied, factor)
    return VerdictFlip("racking", factor, varied, sizes)


@dataclass(frozen=True, eq=False)
class _RackedBoat:
    """A boat with one joint, solved, whose racking is varied."""

    file: BoatFile
    result: JointResult
    margins: PartMargins
    varied: tuple[str, ...]

    def flip(self) -> float | None:
        """The factor at which the lowest margin passes zero; None where that of no racking and of the most have one sign."""
        margins, racked = self.margins, self._racked
        known = _checked((*margins.own, *margins.other_checks))
        at_breaking_load = _checked(margins.at_breaking_load.checks)
        varied = np.array([row in racked for row in self._rows])
        unchanged = [float(c.margin[~varied].min(initial=np.inf)) for c in known]
        if min([*unchanged, *(float(c.margin.min()) for c in at_breaking_load)]) < 0:
            return None
        as_entered = _utilisations(known)[varied]
        ends = (0.0, 1.0) if as_entered.max() > 1 else (1.0, MAX_RACKING)
        try:
            other, buckled = self._utilisation(ends[0] + ends[1] - 1.0, racked)
            if (as_entered.max() > 1) == (other.max() > 1):
                return None
            of_ends = [other, as_entered] if ends[1] == 1.0 else [as_entered, other]
            frame = (
                [buckled, margins.buckled[varied]] if ends[1] == 1.0 else [margins.buckled[varied], buckled]
            )

            def excess(factor: float) -> float:
                """The largest utilisation less 1: nearly linear in the loads, where the margin is not."""
                if factor in ends:
                    return float(of_ends[ends.index(factor)].max()) - 1.0
                # a utilisation is convex in the loads, so that it lies below the chord between both ends
                part = (factor - ends[0]) / (ends[1] - ends[0])
                most = (1 - part) * of_ends[0] + part * of_ends[1]
                near = np.flatnonzero(most >= MIN_NEAR * most.max())
                bound = float(((1 - part) * frame[0][near] + part * frame[1][near]).max())
                used, _ = self._utilisation(factor, [racked[row] for row in near], bound)
                return float(used.max()) - 1.0

            return float(brentq(excess, *ends, xtol=ABS_TOL_RACKING))
        except StructureFault:
            return None

    @property
    def _rows(self) -> tuple[ExpandedCombination, ...]:
        """Cases and combinations, the cases as combinations of themselves alone."""
        cases = (ExpandedCombination(name, "", {name: 1.0}) for name in self.margins.rows.cases.names)
        return (*cases, *self.file.expanded_combinations)

    @property
    def _racked(self) -> list[ExpandedCombination]:
        """The rows that have racking in them."""
        return [one for one in self._rows if any(name in self.varied for name in one.factors)]

    def _utilisation(
        self, factor: float, rows: Sequence[ExpandedCombination], bound: float = np.inf
    ) -> tuple[FloatArray, FloatArray]:
        """(r,), the largest in these rows, safety factors counted, where the racking is so many times that entered.

        bound : on the buckling utilisation of the frame, which is not looked for where it would not govern by far
        Then (r,), that of the frame alone, no factor in: at most, and 0 where it was not looked for.
        """
        racked = [
            replace(
                one, factors={n: f * (factor if n in self.varied else 1.0) for n, f in one.factors.items()}
            )
            for one in rows
        ]
        acts = np.array([any(one.factors.values()) for one in racked])
        found, buckled = np.zeros(len(rows)), np.zeros(len(rows))
        if not acts.any():
            return found, buckled
        solved, factors = self.margins.rows, self.file.factors
        acting = [one for one, does in zip(racked, acts, strict=True) if does]
        names = tuple(one.name for one in acting)
        done = superpose(solved.cases, factor_matrix(acting, solved.cases.names), names, solved.combinations)
        values = combined_responses(solved.front, done)
        loads = CheckedPlaces.of(solved).loads(values, done.factors @ self._stay, np.zeros(len(acting)))
        checks = (
            *solved.joint.checks(values.joint_load, factors),
            *beam_part_checks(self.file, loads, factors),
        )
        known = with_extreme_loads(_checked(checks), extreme_rows(self.file, names))
        found[acts] = _utilisations(known)
        frame = next(one for one in known if (one.part, one.check) == FRAME_BUCKLING)
        if bound * frame.factor.value >= MIN_NEAR * found.max():
            buckled[acts] = buckling_utilisations(done, case_buckling(self.result).max())
            found[acts] = np.maximum(found[acts], _utilisations([replace(frame, load=buckled[acts])]))
        return found, buckled

    @cached_property
    def _stay(self) -> FloatArray:
        """(c, 3), N, boat axes: its pull in each case."""
        return np.array([stay_force(case) for case in self.file.load_cases])


def _utilisations(checks: Sequence[Check]) -> FloatArray:
    """(r,), the largest of some checks in each row, safety factors counted."""
    return np.asarray(1.0 / (1.0 + np.min([check.margin for check in checks], axis=0)))


def _checked(checks: Iterable[Check]) -> list[Check]:
    return [check for check in checks if check.kind == "checked"]
