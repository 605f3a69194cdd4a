"""What one joint does under one case, and under all: what the study reads off a solution."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.loads import LoadCase
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from femcore.base.numbers import engineering
from femcore.base.toml import unknown
from femcore.base.written import ByName, Stiffness, Unwritten, named, written
from femcore.results.member_forces import MemberForces
from femcore.solvers.solution import Solution
from models.joints import DIRECTIONS, Joint, JointStiffness
from models.response.attraction import (
    AttractionCurve,
    RackedBoat,
)
from models.response.front_end import SIDES, FrontEnd
from models.response.joint_loads import (
    Shares,
    TrussForces,
    larger_side,
)
from models.response.load_path import (
    FrontEndEntry,
    FrontEndLoadPath,
    Ledger,
    PathEntry,
)
from models.response.modes import NaturalMode, natural_modes

REL_TOL_ROUNDING_LOAD = 1e-9
"""Of the largest component of a joint load, N and N·m alike: a smaller one is rounding, and counts as none."""

ATTRACTED = ("torque", "vertical bending")
"""The components of a joint load that racking causes, and that a joint attracts by its stiffness."""


@dataclass(frozen=True, slots=True)
class Buckling:
    """When the trussed beam buckles."""

    factor: Annotated[float, Field(description="times the load of the case")]
    part: Annotated[str, Field(description="the member that moves most")]


@dataclass(frozen=True, slots=True)
class SecondOrderChange:
    """What the deformed shape changes: second order over first, less 1."""

    force: Annotated[float, Field(description="largest joint force")]
    moment: Annotated[float, Field(description="largest joint moment")]
    tension: Annotated[
        float | None, Field(description="of the martingale; null where it has none in first order")
    ]
    movement: Annotated[float, Field(description="of the stems")]


@dataclass(frozen=True, slots=True)
class DiscretisationError:
    """Estimates of the error from division into elements in one case, relative."""

    stems: Annotated[float, Field(description="of the largest movement of the stems")]
    force: Annotated[float, Field(description="of the largest joint force")]
    moment: Annotated[
        float | None, Field(description="of the largest joint moment; null where the joint passes none")
    ]

    @property
    def largest(self) -> float:
        """Of the three."""
        return max(self.stems, self.force, self.moment or 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class UnderPretension:
    """What pretension alone does, before any load: part of the entries of the same names.

    joint_load : (2, 6) on the hulls at the joints;   path : on the crossbeam;   held : on the roots
    tension    : N, by part of the martingale
    """

    joint_load: Annotated[FloatArray, named(SIDES, 6), Field(description="hull → on it at the joint")]
    path: Unwritten[Ledger]
    held: Unwritten[Ledger]
    tension: Annotated[dict[str, float], Field(description="N, by part of the martingale")]

    @written("on the crossbeam; sums to zero", key="path")
    def path_entries(self) -> list[PathEntry]:
        """Of `path`."""
        return self.path.entries

    @written("on the roots; sums to zero")
    def front_end(self) -> list[FrontEndEntry]:
        """Of `held`."""
        return self.held.entries_of("held")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class CaseResult:
    """One joint under one case.

    joint_load     : (2, 6), N and N·m, what the crossbeam puts on the hull, port then starboard, boat axes
    stems          : (2, 6), m and rad, movements of the stems
    shares         : hull, torque and shear share of the racking moment; None where nothing racks the bows
    attraction     : torque and bending that the case adds to pretension, over the same of the rigid joint, each on its
                     worse hull; None where that has none
    path           : the load path of the crossbeam
    whole          : the load path of the whole front end, by components of the load
    under_pretension : the same where pretension alone acts; None where there is none
    truss          : the martingale's tension, the compression of crossbeam and striker
    buckling       : times its load at which the trussed beam buckles, and which part of it does; None without compression
    change         : what the deformed shape changes of first order, relative; None where the case is of first order
    balance, error, first_error : of the solution, relative; the last before refinement
    discretisation : from the division into elements; None where it is not worked out, or could not be
    """

    case: Annotated[ByName[LoadCase], Field(description="name of the case")]
    joint_load: Annotated[
        FloatArray,
        named(SIDES, 6),
        Field(
            description="hull → what the crossbeam puts on it at the joint: Fx Fy Fz N, Mx My Mz N·m, boat axes"
        ),
    ]
    stems: Annotated[
        FloatArray,
        named(SIDES, 6),
        Field(description="hull → movement of its stem: ux uy uz m, rx ry rz rad, boat axes"),
    ]
    shares: Annotated[Shares | None, Field(description="null where nothing racks the bows")]
    racking_moment: Unwritten[float]
    attraction: Annotated[
        dict[str, float | None],
        Field(
            description="torque, bending: over those of a rigid joint in this case, each at its worse hull; null where that has "
            "none"
        ),
    ]
    path: Unwritten[Ledger]
    whole: Unwritten[FrontEndLoadPath]
    under_pretension: Annotated[
        UnderPretension | None, Field(serialization_alias="at_rest", description="null without pretension")
    ]
    truss: Annotated[TrussForces, Field(description="the trussed beam")]
    buckling: Annotated[
        Buckling | None, Field(description="null where neither crossbeam nor striker is compressed")
    ]
    change: Annotated[
        SecondOrderChange | None, Field(description="null where the case is solved in first order")
    ]
    balance: Annotated[
        float, Field(description="resultant of loads and reactions over the sum of their sizes")
    ]
    error: Annotated[
        float, Field(description="estimated relative error of the movements, from the last correction")
    ]
    first_error: Annotated[float, Field(description="the same before refinement")]
    discretisation: Annotated[
        DiscretisationError | None,
        Field(
            description="estimated relative error from the division into elements, by halving them; null where they have no "
            "answer"
        ),
    ] = None

    @written("everything that acts on the crossbeam; sums to zero", key="path")
    def path_entries(self) -> list[PathEntry]:
        """Of `path`."""
        return self.path.entries

    @written("what `applied to the crossbeam` in `path` is made of, by component of the load")
    def applied(self) -> list[PathEntry]:
        """Of `whole`."""
        return Ledger(self.whole.names, self.whole.on_crossbeam).entries

    @written("m, the beam's centre where the case has moved it: the point of all moments in load paths")
    def about(self) -> tuple[float, float, float]:
        """Of `whole`."""
        x, y, z = self.whole.about.tolist()
        return x, y, z

    @written("every component of the load, and what the bulkhead puts on the roots; sums to zero")
    def front_end(self) -> list[FrontEndEntry]:
        """Of `whole`."""
        applied = Ledger(self.whole.names, self.whole.applied)
        held = Ledger(self.whole.roots, self.whole.reactions)
        return [*applied.entries_of("applied"), *held.entries_of("held")]

    def __repr__(self) -> str:
        """Which case, and the largest sizes at the joints."""
        force, moment = (float(np.abs(part).max()) for part in np.split(self.joint_load, 2, axis=1))
        return f"<CaseResult ‘{self.case.name}’: at most {engineering(force, 'N')}, {engineering(moment, 'N·m')} at the joints>"

    @property
    def pretension_joint_load(self) -> FloatArray:
        """(2, 6), N and N·m, of the joint load what pretension puts there before any load."""
        return np.zeros((2, 6)) if self.under_pretension is None else self.under_pretension.joint_load

    @property
    def added_joint_load(self) -> FloatArray:
        """(2, 6), N and N·m, what the case adds to that."""
        return self.joint_load - self.pretension_joint_load

    def attracted(self, component: str) -> float:
        """N or N·m, the larger size on either side of what the case adds to pretension; 0 where that is rounding."""
        found = larger_side(self.added_joint_load, component)
        return found if found > REL_TOL_ROUNDING_LOAD * np.abs(self.joint_load).max() else 0.0


@dataclass(frozen=True, eq=False, repr=False)
class FurtherResults:
    """What of a joint no verdict depends on.

    racked : the boat, whose joints share what their attraction curves are read from
    """

    racked: RackedBoat
    front: FrontEnd
    stiffness: JointStiffness

    @cached_property
    def curves(self) -> Mapping[str, AttractionCurve | None]:
        """By direction."""
        return self.racked.curves(self.stiffness)

    @cached_property
    def natural_modes(self) -> tuple[NaturalMode, ...]:
        """Of the front end."""
        return natural_modes(self.front)


@dataclass(frozen=True, eq=False, repr=False)
class JointResult:
    """One joint under all cases.

    racking_stiffness : N/m, opposite forces at the stems per metre of differential heave
    stiffer           : that over the racking stiffness of the bows without a crossbeam
    further           : what is worked out when it is first asked for
    crossbeam         : actions and movements along the crossbeam, all cases, from starboard to port
    """

    joint: Unwritten[Joint]
    stiffness: Unwritten[JointStiffness]
    front: Unwritten[FrontEnd]
    solution: Unwritten[Solution]
    racking_stiffness: Annotated[
        float, Field(description="N/m, opposite forces at the stems per metre of differential heave")
    ]
    stiffer: Annotated[
        float, Field(description="racking_stiffness over that of the bows without a crossbeam")
    ]
    further: Unwritten[FurtherResults]
    crossbeam: Annotated[
        MemberForces, Field(description="actions along the crossbeam, from its starboard end to its port end")
    ]
    cases: Annotated[tuple[CaseResult, ...], Field(description="in the order of `cases`")]

    @written("name of the joint")
    def name(self) -> str:
        """Of the joint."""
        return self.joint.name

    @written("what it is")
    def words(self) -> str:
        """Of the joint."""
        return self.joint.words()

    @written(
        "surge sway heave N/m, roll pitch yaw N·m/rad, 0 free, each with the others held; null where their axes are "
        "not the boat's"
    )
    def springs(self) -> list[Stiffness] | None:
        """Of the port joint, in boat axes."""
        return self.stiffness.springs.tolist() if self.stiffness.is_in_boat_axes else None

    @written(
        "six rows of the port joint's stiffness about its point, N/m, N and N·m/rad, boat axes, where directions are coupled; of "
        "a rigid direction no numbers but 0; null where each spring acts alone"
    )
    def coupled(self) -> list[list[float]] | None:
        """Its rows."""
        joint = self.stiffness
        if joint.matrix is None or not any(joint.is_coupled(direction) for direction in DIRECTIONS):
            return None
        finite = np.isfinite(joint.springs)
        rows: list[list[float]] = np.where(np.outer(finite, finite), joint.matrix, 0.0).tolist()
        return rows

    @written("pitch (torque), roll (vertical bending); null: none")
    def curves(self) -> Mapping[str, AttractionCurve | None]:
        """What the joint attracts against its stiffness; None where it has no such spring."""
        return self.further.curves

    @written(
        "lowest natural modes: front end alone, dry; empty where the bows have no mass",
        key="motions",
    )
    def natural_modes(self) -> tuple[NaturalMode, ...]:
        """Under pretension alone."""
        return self.further.natural_modes

    def __repr__(self) -> str:
        """Which joint, and how many cases."""
        return f"<JointResult ‘{self.joint.name}’: {len(self.cases)} cases>"

    def with_discretisation(self, errors: Sequence[DiscretisationError]) -> JointResult:
        """The same with the error from division into elements in each case."""
        pairs = zip(self.cases, errors, strict=True)
        return replace(self, cases=tuple(replace(one, discretisation=error) for one, error in pairs))

    def case(self, name: str) -> CaseResult:
        """The joint under one case; InputFault where there is none of that name."""
        for one in self.cases:
            if one.case.name == name:
                return one
        raise unknown("", "case", name, [one.case.name for one in self.cases])


@dataclass(frozen=True, slots=True, eq=False)
class UnsolvedJoint:
    """A joint with which the boat has no answer.

    fault : why: a mechanism, a slack system, no convergence; it names the joint
    """

    joint: Annotated[ByName[Joint], Field(description="name of the joint")]
    fault: Unwritten[StructureFault]

    @written("a mechanism, a slack system or no convergence, in words")
    def reason(self) -> str:
        """The fault without the joint's name before it."""
        return str(self.fault).removeprefix(f"joint '{self.joint.name}': ")

    def words(self) -> str:
        """In one sentence."""
        return f"The joint ‘{self.joint.name}’ has no answer: {self.reason}."


__all__ = [
    "Buckling",
    "CaseResult",
    "DiscretisationError",
    "JointResult",
    "SecondOrderChange",
    "UnderPretension",
    "UnsolvedJoint",
]
