"""How large the racking is: every way to know it that can be worked out for a boat, beside what was entered.

Each way is a load case: those of the file that rack the bows, switched off or not, and where displacement and length are known
the pitch connecting moment of three published rules. All are solved with every joint. They are compared by M_P, N·m on each
hull: half the difference of the hulls' moments, bow up, about the platform's twist centre, or about the main bulkhead on root
springs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Annotated, get_args

import numpy as np
from pydantic import Field

from cases.analyses.joint_results import ATTRACTED, REL_TOL_ROUNDING_LOAD, JointResult
from cases.analyses.solved_cases import SolvedCases, solve_cases
from cases.analyses.study import Study
from cases.input.boat_file import BoatFile
from cases.input.estimates import particulars
from cases.loads import LoadCase
from cases.loads.base import SeaLoad
from cases.loads.connecting import Connecting, Rule
from cases.loads.deck_diving import DeckDiving
from cases.loads.origin import LoadBasis
from cases.loads.racking import Racking
from cases.loads.sail_twist import SailTwist
from cases.loads.waves import Waves
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, InputFaults, StructureFault
from femcore.base.units import STANDARD_GRAVITY
from femcore.solvers.solution import resultants
from models.response.joint_loads import hull_twist, larger_side
from models.response.platform_frame import platform_response

FAR = 1.5
"""Times as much, or as little: the ways themselves scatter by about that (rules 50 %, judged: common practice)."""
PITCH_LOADS: frozenset[SeaLoad] = frozenset({"racking", "pitch connecting"})
"""What makes a pitch connecting moment and nothing else; a rule's torsional moment is the same load about another axis."""


@dataclass(frozen=True, slots=True)
class RackedJoint:
    """One way of racking with one joint; sizes without sign, of the load alone, pretension left out."""

    joint: Annotated[str, Field(description="name of the joint")]
    moment: Annotated[
        float, Field(description="N·m on each hull, M_P; of a movement or twist that of this joint")
    ]
    twist: Annotated[
        float, Field(description="rad, φ with this joint: half the difference of the hulls' pitch")
    ]
    torque: Annotated[float, Field(description="N·m, attracted, the larger side")]
    bending: Annotated[float, Field(description="N·m, attracted vertical bending, the larger side")]


@dataclass(frozen=True, slots=True)
class RackingWay:
    """One way to know how large the racking is."""

    name: Annotated[str, Field(description="of the case as it is run, or of the rule")]
    case: Annotated[
        str,
        Field(
            description="of the case in the boat file, or of the rule: one way may be several cases as run"
        ),
    ]
    words: Annotated[str, Field(description="what is applied")]
    source: Annotated[str, Field(description="its source, and whether it was read")]
    basis: Annotated[LoadBasis, Field(description="whether the size was entered, computed or estimated")]
    assumed: Annotated[
        bool, Field(description="whether a force or movement was typed in, which the other ways check")
    ]
    run: Annotated[
        bool, Field(description="whether it is a case that is run; others are for comparison alone")
    ]
    moment: Annotated[float, Field(description="N·m on each hull, M_P: the largest over the joints")]
    pair: Annotated[float, Field(description="N, opposite forces at the stems that make M_P")]
    twist_alone: Annotated[
        float | None, Field(description="rad, φ of the platform alone under M_P; null: rigid roots")
    ]
    joints: tuple[RackedJoint, ...]


@dataclass(frozen=True, slots=True)
class RackingWays:
    """All ways, and what the rules were worked out from; None where displacement and length are nowhere given."""

    displacement: Annotated[float | None, Field(description="kg")]
    length: Annotated[float | None, Field(description="m")]
    taken_from: Annotated[str, Field(description="where these are given; empty where nowhere")]
    ways: tuple[RackingWay, ...]

    @property
    def far(self) -> tuple[RackingWay, ...]:
        """Those assumed that are more than `FAR` from every other way; none where there is no other way."""
        return tuple(way for way in self.ways if way.assumed and self.others and not self.near(way))

    @property
    def others(self) -> tuple[RackingWay, ...]:
        """The ways that were not assumed, and rack the bows at all; of several cases as run, the one of most M_P.

        A wave's mirror image, and a rule's moment applied in another way, are no further ways to know it.
        """
        most: dict[str, RackingWay] = {}
        for way in self.ways:
            if (
                not way.assumed
                and way.moment > 0
                and (way.case not in most or way.moment > most[way.case].moment)
            ):
                most[way.case] = way
        return tuple(most.values())

    def near(self, way: RackingWay) -> tuple[RackingWay, ...]:
        """The other ways within a factor of `FAR` of that one."""
        return tuple(one for one in self.others if one.moment / FAR <= way.moment <= one.moment * FAR)


@dataclass(frozen=True, slots=True)
class _Particulars:
    """kg, m, m/s², and where they are given."""

    displacement: float
    length: float
    acceleration: float
    taken_from: str


def racking_ways(study: Study) -> RackingWays:
    """Every way that can be worked out for the boat of that study."""
    file, known = study.file, _particulars(study.file)
    found = [*_cases_of(file), *_rules(file, known)]
    solved = [_solved(file, joint, [case for case, _, _ in found]) for joint in study.joints]
    platform = platform_response(file)
    lever = file.bows.length - (0.0 if platform is None else platform.twist_centre)
    root = 1 / file.root.pitch if file.root.pitch else None
    flexibility = root if platform is None else platform.twist_per_moment
    ways = []
    for number, (case, of, run) in enumerate(found):
        joints = tuple(
            _racked(joint.name, done, number)
            for joint, done in zip(study.joints, solved, strict=True)
            if done is not None
        )
        moment = max((one.moment for one in joints), default=0.0)
        origin = case.provenance()
        ways.append(
            RackingWay(
                case.name, of, case.words(), origin.source, origin.basis,
                isinstance(case, Racking) and case.twist is None, run,
                moment, moment / lever, None if flexibility is None else moment * flexibility, joints,
            )
        )  # fmt: skip
    if known is None:
        return RackingWays(None, None, "", tuple(ways))
    return RackingWays(known.displacement, known.length, known.taken_from, tuple(ways))


def _cases_of(file: BoatFile) -> Iterator[tuple[LoadCase, str, bool]]:
    """The file's cases that rack the bows and have nothing else in them, expanded, with its case's name and whether it is run."""
    for case in file.cases:
        if not case.is_plain:
            continue
        try:
            expanded = case.expand(file)
        except (InputFault, InputFaults):
            if case.on:
                raise
            continue
        for one in expanded:
            sea = one.sea_loads()
            if (sea and sea <= PITCH_LOADS) or isinstance(case, SailTwist):
                yield one, case.name, case.on


def _rules(file: BoatFile, known: _Particulars | None) -> Iterator[tuple[LoadCase, str, bool]]:
    """The pitch connecting moment by each rule that is no case of the file."""
    entered = {case.rule for case in file.cases if isinstance(case, Connecting)}
    for rule in get_args(Rule):
        if known is None or rule in entered:
            continue
        with suppress(InputFault, InputFaults, ValueError):  # outside the rule's range
            by_rule = Connecting(
                name=f"rule {rule}", rule=rule, displacement=known.displacement, length=known.length,
                acceleration=known.acceleration,
            )  # fmt: skip
            yield from (
                (one, by_rule.name, False)
                for one in by_rule.expand(file)
                if one.sea_loads() == {"pitch connecting"}
            )


def _particulars(file: BoatFile) -> _Particulars | None:
    """Displacement and length: of a rule's case, of the [boat] table, of another case that has both; None where none has."""
    for case in file.cases:
        if isinstance(case, Connecting):
            acceleration = case.acceleration or STANDARD_GRAVITY
            return _Particulars(case.displacement, case.length, acceleration, f"case ‘{case.name}’")
    if file.boat is not None:
        waterline = particulars(file.boat)["waterline"]
        where = f"[boat], the waterline estimated {waterline.scatter}" if waterline.scatter else "[boat]"
        return _Particulars(file.boat.displacement, waterline.value, STANDARD_GRAVITY, where)
    for case in file.cases:
        if isinstance(case, DeckDiving | Waves) and case.displacement and case.waterline:
            where = f"case ‘{case.name}’, the waterline taken for the length"
            return _Particulars(case.displacement, case.waterline, STANDARD_GRAVITY, where)
    return None


def _solved(file: BoatFile, joint: JointResult, cases: Sequence[LoadCase]) -> SolvedCases | None:
    """All ways with a joint; None where one that is not run has no answer with it."""
    if not cases:
        return None
    try:
        return solve_cases(file, joint.name, joint.stiffness, cases)
    except StructureFault:
        return None


def _racked(name: str, done: SolvedCases, case: int) -> RackedJoint:
    attracted = (done.loads - done.under_pretension)[case]
    rounding = REL_TOL_ROUNDING_LOAD * float(np.abs(done.loads[case]).max())
    sizes = [larger_side(attracted, component) for component in ATTRACTED]
    torque, bending = (size if size > rounding else 0.0 for size in sizes)
    twist = abs(float(hull_twist(done.front, done.solution)[case])) / 2
    moment = abs(float(pitch_connecting_moments(done)[case]))
    return RackedJoint(name, moment, twist, torque, bending)


def pitch_connecting_moments(done: SolvedCases) -> FloatArray:
    """(c,), N·m: half of port less starboard of what acts on the hulls, bow up, about the twist centre (module's head)."""
    front = done.front
    platform = platform_response(front.boat)
    centre = 0.0 if platform is None else platform.twist_centre
    points, loads = resultants(front.frame, done.solution.loads)
    on_hulls = np.sign(points[:, 1]) / 2
    bow_up = loads[:, :, 2] * (points[:, 0] - centre) - loads[:, :, 4]
    return np.asarray(bow_up @ on_hulls)
