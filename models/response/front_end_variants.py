"""Many variants of a front end at once: other joints, stiffnesses, loads and pretension, each exact.

The front end is reduced once (`femcore.solvers.reduced_frame`), with joints of middling stiffness. Cases are taken in first
order. On a platform roll is balanced at the twist centre of each variant (`moving_balance`). Where a load is to reach a movement,
it is scaled in each variant until it does.

    s : variants;   l : loads;   c : cases
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray
from femcore.frame.frame import Loads
from femcore.solvers.frame_changes import Changes, Numbers
from femcore.solvers.reduced_frame import (
    REL_TOL_REDUCED,
    ReducedFrame,
    Variants,
    VariedStates,
    unit_movements,
)
from femcore.solvers.solution import Solution, undeformed_solution
from femcore.solvers.stiffness_groups import StiffnessGroup
from models.boat.boat import Boat
from models.joints import JointStiffness
from models.response.attraction import unit_racking_loads
from models.response.front_end import SIDES, FrontEnd, build
from models.response.joint_loads import REL_TOL_RACKING, differential_heave, racking_shares
from models.response.moving_balance import MovingBalance
from models.response.stiffness_names import REDUCED_JOINT, springs_of_joints, stiffness_groups

MAX_TARGET_ITERATIONS = 20
"""Rounds of scaling a load until its movement is reached: one where all cables stay taut, a few where one goes slack."""
REL_TOL_TARGET = 1e-10
"""Of a movement that is to be reached: what misses it by less has reached it."""

MAX_KEPT_VARIANTS = 1024
"""Whose states are kept while loads are scaled to their movements: some ten kilobytes each."""

NO_CHANGES = Changes()

FrontEndReading = Callable[[FrontEnd, Solution], FloatArray]
"""(c, …), linear in the solution."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FrontEndResponses(ArrayRecord):
    """What s variants do in c cases.

    joint_load        : (s, c, 2, 6), N and N·m, what the crossbeam puts on the hulls, port then starboard, boat axes
    under_pretension  : (s, 2, 6), of that, what pretension alone does
    stems             : (s, c, 2, 6), m and rad, port then starboard; NaN, as `racking_stiffness`, with `forces_alone`
    racking           : (s, c, 8), N·m, as of `RackingShares`: the racking moment about the root and where it goes, hull, torque,
                        shear; then `by_side`
    racking_stiffness : (s,), N/m, opposite forces at the stems per metre of differential heave, every cable taut
    tension           : (s, c, k), N;   slack : (s, c, k)
    weights           : (s, c, l), of the loads, those that are to reach a movement scaled until they do
    reached           : (s, c), whether they do
    more              : (s, c, …), by the name of each reading that was asked for
    error             : (s,), relative, an estimate;   refactored : (s,), solved as a frame of its own
    """

    joint_load: Numbers
    under_pretension: Numbers
    stems: Numbers
    racking: Numbers
    racking_stiffness: Numbers
    tension: Numbers
    slack: BoolArray
    weights: Numbers
    reached: BoolArray
    more: Mapping[str, Numbers]
    error: FloatArray
    refactored: BoolArray

    @property
    def exact(self) -> BoolArray:
        """(s, c), False where a variant has lost too many digits, or a load does not reach its movement."""
        return np.asarray(self.reached & (self.error <= REL_TOL_REDUCED)[:, None])

    @property
    def shares(self) -> Numbers:
        """(s, c, 3), hull, torque and shear share of the racking moment; they sum to 1; nan where nothing racks the bows."""
        return np.moveaxis(shares_of(np.moveaxis(self.racking, -1, 0)), 0, -1)


@dataclass(frozen=True, eq=False)
class FrontEndVariants:
    """A front end ready for variants.

    front   : it, with joints of middling stiffness
    reduced : its frame; after the loads come unit racking and the pairs of `balance`
    shapes  : of the readings beside joint loads, by name, the racking moments first
    readers : (l, m), the movement that a load is to reach, per unit of each that is read
    targets : (l,), m or rad, how large it is to be; nan where a load is not scaled
    heave   : (m,), the differential heave of the stems likewise;   roll : (m,), a unit roll of the whole boat
    balance : None without a platform aft of the main bulkhead
    """

    front: FrontEnd
    reduced: ReducedFrame
    shapes: Mapping[str, tuple[int, ...]]
    readers: FloatArray
    targets: FloatArray
    heave: FloatArray
    roll: FloatArray
    balance: MovingBalance | None

    @classmethod
    def of(
        cls,
        boat: Boat,
        loads: Callable[[FrontEnd], Loads],
        more: Mapping[str, FrontEndReading] = MappingProxyType({}),
        targets: Mapping[int, tuple[FrontEndReading, float]] = MappingProxyType({}),
        *,
        forces_alone: bool = False,
    ) -> FrontEndVariants:
        """Build and reduce it.

        loads   : of a front end, one case each;   more : forces to read beside joint loads and racking
        targets : by the number of a load, the movement it is scaled to reach, read from displacements alone, and its size
        forces_alone : whether no movement is wanted but those that loads are to reach
        StructureFaults as of `solve`.
        """
        front = build(boat, REDUCED_JOINT)
        own = loads(front)
        nodes = [front.frame.node_index[front.places[f"{side} stem"].node] for side in SIDES]
        nodes += [
            front.frame.node_index[f"{side} {place}"] for place in ("hull at beam", "root") for side in SIDES
        ]
        # where the beam is at the stems, two of these are one
        virtual = unit_movements(front.frame, list(dict.fromkeys(nodes)))
        aimed, sizes = np.array(list(targets), dtype=np.int64), np.full(len(own.names), np.nan)
        sizes[aimed] = [size for _, size in targets.values()]
        wanted = np.array([_reader(front, virtual, read) for read, _ in targets.values()])
        wanted = wanted.reshape(len(aimed), len(virtual))
        heave = _reader(front, virtual, differential_heave)
        if forces_alone:
            virtual, wanted, heave = np.tensordot(wanted, virtual, 1), np.eye(len(aimed)), heave[:0]
        acting = own.concatenated(unit_racking_loads(front))
        balance, rolling = MovingBalance.of_front_end(front, acting), np.zeros((0, *virtual.shape[1:]))
        if balance is not None:
            pairs = balance.loads(front)
            # the work of a pair over the distance between the hulls is the roll of the line through its nodes
            acting, rolling = acting.concatenated(pairs), pairs.nodal / boat.bows.spacing
        readings: dict[str, FrontEndReading] = {"racking": _racking, **more}
        shapes: dict[str, tuple[int, ...]] = {}

        def reads(solution: Solution) -> FloatArray:
            found = {name: of(front, solution) for name, of in readings.items()}
            shapes.update({name: one.shape[1:] for name, one in found.items()})
            return np.concatenate([one.reshape(len(one), -1) for one in found.values()], axis=1)

        reduced = ReducedFrame.of(
            front.prepared, acting, stiffness_groups(front), list(front.joint_elements.items()), reads,
            np.concatenate([virtual, rolling]),
        )  # fmt: skip
        readers = np.zeros((len(own.names), len(virtual)))
        readers[aimed] = wanted
        roll = np.zeros(len(virtual)) if balance is None else balance.rigid_roll(front, virtual)
        return cls(front, reduced, shapes, readers, sizes, heave, roll, balance)

    def projected(self, name: str, basis: FloatArray) -> FrontEndVariants:
        """The same, of that reading (q,) its coordinates in a basis (q, z) alone."""
        at = list(self.shapes).index(name)
        ends = np.cumsum([0, *self.sizes])
        own = slice(int(ends[at]), int(ends[at + 1]))

        def only(values: FloatArray) -> FloatArray:
            return np.concatenate(
                [values[:, : own.start], values[:, own] @ basis, values[:, own.stop :]], axis=1
            )

        shapes = {**self.shapes, name: (basis.shape[1],)}
        return replace(self, reduced=self.reduced.reading(only), shapes=shapes)

    def without_movements(self) -> FrontEndVariants:
        """The same for forces alone, no load of which is to reach a movement: those of stems and roots are NaN."""
        return replace(
            self,
            reduced=self.reduced.without_movements(),
            readers=self.readers[:, :0],
            targets=np.full_like(self.targets, np.nan),
            heave=self.heave[:0],
            roll=self.roll[:0],
        )

    @property
    def sizes(self) -> list[int]:
        """How many numbers each reading is."""
        return [int(np.prod(shape)) for shape in self.shapes.values()]

    @property
    def groups(self) -> tuple[StiffnessGroup, ...]:
        """The stiffnesses that multipliers scale, by name."""
        return self.reduced.groups

    def solve(
        self,
        joint: JointStiffness | None,
        changes: Changes = NO_CHANGES,
        reach: FloatArray | None = None,
        *,
        alone: bool = True,
    ) -> FrontEndResponses:
        """Variants with that joint, or with None those with `changes.springs` (`stiffness_names`).

        changes.weights : (s or 1, c, l), of the loads in each case, each load a case of its own where left out
        reach           : (s or 1, l), times the movements that loads are scaled to reach
        alone           : whether a variant whose estimate is too large is solved as a frame of its own
        StructureFault, with the number of the variant, where one has no answer.
        """
        given = changes if joint is None else replace(changes, springs=springs_of_joints([joint]))
        wanted = np.eye(len(self.targets))[None] if given.weights is None else given.weights
        between = self._between(given)
        varied = self.reduced.varied(given) if len(given) <= MAX_KEPT_VARIANTS else None
        scale, reached = self._scales(
            given, np.ones((1, 1)) if reach is None else reach, between, varied, alone=alone
        )
        weights = wanted * scale[:, None]
        # the last case is pretension alone
        changed = replace(given, weights=self._balanced(np.pad(weights, ((0, 0), (0, 1), (0, 0))), between))
        reduced = self.reduced
        if not len(self.heave):
            reduced = reduced.without_movements()
            varied = varied and replace(varied, moved=varied.moved[..., :0])
        solved = reduced.solve if alone else reduced.reduced_only
        done = solved(changed, varied)
        count, cases = len(done.error), weights.shape[1]
        parts = np.split(done.readings[:, :-1], np.cumsum(self.sizes)[:-1], axis=2)
        more = {
            name: one.reshape(count, cases, *shape)
            for (name, shape), one in zip(self.shapes.items(), parts, strict=True)
        }
        stems, racking_stiffness = np.full((count, cases, 2, 6), np.nan), np.full(count, np.nan)
        if len(self.heave):
            moved = self._moved(done.movements[:, :-1], between, weights)
            stems = moved[..., :12].reshape(count, cases, 2, 6)
            racking_stiffness = 1.0 / (self._added(done, between)[:, -1] @ self.heave)
        return FrontEndResponses(
            joint_load=done.end_forces[:, :-1],
            under_pretension=done.end_forces[:, -1],
            stems=stems,
            racking=more.pop("racking"),
            racking_stiffness=racking_stiffness,
            tension=done.tension[:, :-1],
            slack=done.slack[:, :-1],
            weights=np.broadcast_to(weights, (count, *weights.shape[1:])),
            reached=np.broadcast_to(((wanted == 0) | reached[:, None]).all(axis=2), (count, cases)),
            more=more,
            error=done.error,
            refactored=done.refactored,
        )

    def _between(self, changes: Changes) -> Numbers | None:
        """(s, i), of `MovingBalance`; None where the balance stays."""
        if self.balance is None or changes.multipliers is None:
            return None
        return self.balance.between(changes.multipliers)

    def _balanced(self, weights: Numbers, between: Numbers | None) -> Numbers:
        """(s or 1, c, all loads), of weights (s or 1, c, l) of the loads, with the pairs that move their balance."""
        loads, whole = weights.shape[2], len(self.reduced.loads.names)
        if between is None or self.balance is None:
            return np.pad(weights, ((0, 0), (0, 0), (0, whole - loads)))
        moved = (weights @ self.balance.pair[:loads])[..., None] * between[:, None]
        of_loads = np.broadcast_to(weights, (*moved.shape[:2], loads))
        return np.concatenate([of_loads, np.zeros((*moved.shape[:2], 1)), moved], axis=2)

    def _added(self, done: Variants, between: Numbers | None) -> Numbers:
        """(s, l + 1, m), movements that each load and unit racking add, every cable taut."""
        count = len(self.targets) + 1
        own = done.added[:, :count]
        if between is not None and self.balance is not None:
            own = own + self.balance.pair[:, None] * (between[:, None] @ done.added[:, count:])
        return self._moved(own, between, np.eye(count, len(self.targets) + 1))

    def _moved(self, movements: Numbers, between: Numbers | None, weights: Numbers) -> Numbers:
        """(s, c, m), relative to the support of each variant, of movements relative to that of the frame, with roll at nodes.

        weights : (s or 1, c, l), of the loads, whose pairs the support's springs carry
        """
        count = len(self.roll)
        if between is None or self.balance is None:
            return movements[..., :count]
        pair = weights @ self.balance.pair[: weights.shape[-1]]
        rolled = (movements[..., count:] @ between[..., None])[..., 0] + self.balance.compliance * pair
        return movements[..., :count] - rolled[..., None] * self.roll

    def _scales(
        self,
        changes: Changes,
        reach: FloatArray,
        between: Numbers | None,
        varied: VariedStates | None,
        *,
        alone: bool,
    ) -> tuple[Numbers, BoolArray]:
        """(s or 1, l), of the loads, and whether they so reach their movements, each as a case of its own."""
        aimed, loads = np.flatnonzero(~np.isnan(self.targets)), len(self.targets)
        if not len(aimed):
            return np.ones((1, loads)), np.ones((1, loads), dtype=bool)
        light = self.reduced.without_readings()
        solved = light.solve if alone else light.reduced_only
        size = np.broadcast_to(self.targets * reach, (max(len(changes), len(reach)), loads))[:, aimed]
        readers = self.readers[aimed]
        rest = solved(replace(changes, weights=np.zeros((1, 1, len(self.reduced.loads.names)))), varied)
        apart = self._moved(rest.movements, between, np.zeros((1, 1, loads)))[:, 0] @ readers.T
        part = np.where(
            size == 0,
            0.0,
            (size - apart) / np.einsum("slm,lm->sl", self._added(rest, between)[:, aimed], readers),
        )
        met = np.ones(part.shape, dtype=bool)
        for _ in range(MAX_TARGET_ITERATIONS if rest.tension.shape[2] else 0):
            cases = np.zeros((len(part), len(aimed), loads), dtype=part.dtype)
            cases[:, np.arange(len(aimed)), aimed] = part
            done = solved(replace(changes, weights=self._balanced(cases, between)), varied)
            moved = np.einsum("slm,lm->sl", self._moved(done.movements, between, cases), readers)
            ratio = np.where(size == 0, 1.0, size / np.where(size == 0, 1.0, moved))
            met = np.abs(ratio - 1) <= REL_TOL_TARGET
            if met.all():
                break
            part = part * ratio
        scale, reached = (
            np.ones((len(part), loads), dtype=part.dtype),
            np.ones((len(part), loads), dtype=bool),
        )
        scale[:, aimed], reached[:, aimed] = part, met
        return scale, reached


def shares_of(racking: Numbers) -> Numbers:
    """(3, …), hull, torque and shear share of moments (8, …) as of `FrontEndResponses.racking`; nan where nothing racks."""
    least = REL_TOL_RACKING * np.abs(racking[4:]).sum(axis=0)
    return racking[1:4] / np.where(np.abs(racking[0]) <= least, np.nan, racking[0])


def _racking(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c, 8), N·m: applied, hull, torque, shear, and `by_side`."""
    found = racking_shares(front, solution)
    whole = np.stack([found.applied, found.hull, found.torque, found.shear], axis=1)
    return np.concatenate([whole, found.by_side], axis=1)


def _reader(front: FrontEnd, virtual: FloatArray, read: FrontEndReading) -> FloatArray:
    """(m,), what `read` takes of each movement that virtual loads read, as unit displacements say."""
    unit = undeformed_solution(
        front.frame, Loads.zeros(front.frame, *(str(at) for at in range(len(virtual))))
    )
    return read(front, replace(unit, displacement=virtual))


__all__ = ["FrontEndReading", "FrontEndResponses", "FrontEndVariants", "shares_of"]
