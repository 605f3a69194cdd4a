"""Where a wall's metal or plies are worst under many actions: from unit actions, found once a section.

Stresses are linear in the six actions (N, Vy, Vz, T, My, Mz), so those that unit actions bring to a place give
those of any. What governs is found by utilisation (`femcore.laminates.utilisation`), and judged there by the same functions
that judge every place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.errors import InputFault
from femcore.laminates import (
    CONVEX_CRITERIA,
    CriterionResult,
    LayerLimits,
    PlyState,
    as_sandwich,
    candidate_faces,
    criterion_named,
    face_compression,
    layer_limits,
)
from femcore.laminates.sandwich import SANDWICHES_KEPT
from femcore.laminates.utilisation import ChainedUtilisation, Utilisation, each_alone, worst_rows
from femcore.sections.recovery import SHEAR_SQUARED, metal_stress, ply_states, von_mises

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from femcore.laminates import Laminate
    from femcore.sections.analysis import Analysis
    from femcore.sections.recovery import WallFlows, WallPlies

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class MetalPoints:
    """Both faces at p places of one metal wall.

    wall    : number of the wall in its section
    segment : (p,), that the place is on
    unit    : (p, 2, 6), Pa, σ and τ there under each unit action
    chains  : at each station along the wall, that follow each other in p
    """

    wall: int
    segment: Ints
    unit: Array
    chains: int

    def among(self, segments: Mask) -> MetalPoints:
        """Those on the segments of that mask, each once."""
        here = np.flatnonzero(segments[self.segment])
        here = here[_places_at(_differ(np.moveaxis(self.unit[here], -1, 0), self.chains), self.chains)]
        return MetalPoints(self.wall, self.segment[here], self.unit[here], self.chains)

    def worst(self, actions: Array, starts: Ints | None = None) -> tuple[Ints, Array]:
        """The place of the largest von Mises stress, and that stress, Pa, under each of `actions` (n, 6); with `starts` of each
        group of them that begins there.
        """
        row, place, _ = self._utilisation.worst_of(actions, _groups(actions, starts))
        stress = _under(self.unit[place], actions[row])
        return place, von_mises(stress[:, 0], stress[:, 1])

    @cached_property
    def _utilisation(self) -> ChainedUtilisation:
        square = np.broadcast_to(np.diag([1.0, SHEAR_SQUARED]), (self.chains, 1, 2, 2))
        stress = Utilisation(np.zeros((self.chains, 1, 2)), square)
        return ChainedUtilisation(stress, self.unit.reshape(-1, self.chains, 2, 6))


@dataclass(frozen=True, eq=False)
class PlyPoints:
    """Those faces of plies, at places along one laminate wall, that can govern by a criterion: p in all, not none.

    laminate  : the wall's
    segment   : (p,), that the place is on;   ply : (p,), in the laminate
    unit      : (6, p, 3), strains and stresses there in ply axes under each unit action
    limits    : of every place
    chains    : faces at each station along the wall, that follow each other in p
    """

    laminate: Laminate
    criterion: str
    segment: Ints
    ply: Ints
    unit: PlyState
    limits: LayerLimits
    chains: int

    def among(self, segments: Mask) -> PlyPoints:
        """Those on the segments of that mask, each once."""
        here = np.flatnonzero(segments[self.segment])
        here = here[_places_at(_differ(self.unit.stress[:, here], self.chains), self.chains)]
        unit = PlyState(self.unit.strain[:, here], self.unit.stress[:, here])
        limits = self.limits.at(here)
        return PlyPoints(
            self.laminate, self.criterion, self.segment[here], self.ply[here], unit, limits, self.chains
        )

    def worst(self, actions: Array, starts: Ints | None = None) -> tuple[Ints, CriterionResult]:
        """The place of the lowest load factor under each of `actions` (n, 6), and the verdict there, arrays (n, 1); with `starts`
        of each group of them that begins there.
        """
        row, place, _ = self._utilisation.worst_of(actions, _groups(actions, starts))
        strain, stress = (_under(each[place], actions[row])[:, None] for each in self._maps)
        judge = criterion_named(self.criterion, self.laminate)
        return place, judge(PlyState(strain, stress), self.limits.at(place))

    @cached_property
    def _maps(self) -> tuple[Array, Array]:
        """(p, 3, 6): strains and stresses at each place from actions."""
        strain, stress = (
            np.ascontiguousarray(x.transpose(1, 2, 0)) for x in (self.unit.strain, self.unit.stress)
        )
        return strain, stress

    @cached_property
    def _utilisation(self) -> ChainedUtilisation:
        """As a function of the six actions."""
        convex = CONVEX_CRITERIA[self.criterion]
        strain, stress = self._maps
        maps = strain if convex.of == "strain" else stress
        within = convex.utilisation(self.limits.at(np.arange(self.chains)))
        return ChainedUtilisation(within, maps.reshape(-1, self.chains, 3, 6))


REL_TOL_SAME_STATION = 1e-12
"""Of the most that a unit action does anywhere along a wall: what differs by less is the same but for rounding."""
DIRECTIONS_APART = 10
"""Degrees between the directions by which the worst place of a face in compression is looked for, to cos² 5°: 0.8 %. It is
then judged in all directions.
"""
MISSED_BY_DIRECTIONS = 0.02
"""Of a face's compression, more than these directions miss."""


@dataclass(frozen=True, eq=False)
class SandwichPoints:
    """Places along one wall of sandwich, p in all.

    laminate : the wall's
    segment  : (p,), that the place is on
    strains  : (p, 6, 6), laminate strains there under each unit action, actions last
    shear    : (p, 6), N/m, shear force through the thickness under each
    """

    laminate: Laminate
    segment: Ints
    strains: Array
    shear: Array

    def wrinkling(self, actions: Array, starts: Ints | None = None) -> tuple[Ints, Array]:
        """The place where a face is nearest to wrinkling, and its compression over what it wrinkles at, under each of `actions`
        (n, 6); with `starts` of each group of them that begins there.
        """
        begin = _groups(actions, starts)
        row, place, used = self._wrinkling.worst_of(actions, each_alone(len(actions)))
        # the directions apart leave open which of those near the worst of a group is it
        most = np.maximum.reduceat(used, begin) if len(used) else used
        least = most - MISSED_BY_DIRECTIONS * np.abs(most)
        near = used >= np.repeat(least, np.diff(begin, append=len(used)))
        row, place = row[near], place[near]
        judged = np.maximum(_under(self.strains[place], actions[row]) @ self._per_strain.T, 0.0).max(axis=1)
        worst = worst_rows(judged, np.searchsorted(row, begin))
        return place[worst], judged[worst]

    def core_shear(self, actions: Array, starts: Ints | None = None) -> tuple[Ints, Array]:
        """The place of the largest shear in the core, and that over its strength, likewise."""
        force = np.abs(actions @ self.shear.T)
        row = worst_rows(force.max(axis=1), _groups(actions, starts))
        place = force[row].argmax(axis=1)
        return place, force[row, place] / self._core_limit

    @cached_property
    def _core_limit(self) -> float:
        """N/m, the shear force that the core bears."""
        sandwich = as_sandwich(self.laminate)
        return sandwich.distance * sandwich.core.shear_strength

    @property
    def _per_strain(self) -> Array:
        return _wrinkling_per_strain(self.laminate)

    @cached_property
    def _wrinkling(self) -> ChainedUtilisation:
        linear = self._per_strain[None, ::DIRECTIONS_APART]
        within = Utilisation(linear, np.zeros((*linear.shape, linear.shape[-1])))
        return ChainedUtilisation(within, self.strains[:, None])


@lru_cache(maxsize=SANDWICHES_KEPT)
def _wrinkling_per_strain(laminate: Laminate) -> Array:
    """(faces × directions, 6): compression over what a face wrinkles at, per strain."""
    compression, allowable = face_compression(laminate)
    found = np.asarray((compression / allowable[..., None]).reshape(-1, 6))
    found.setflags(write=False)
    return found


def metal_points(solved: Analysis, unit: WallFlows) -> tuple[MetalPoints, ...]:
    """The places of every metal wall; `unit` are the flows of the six unit actions."""
    stress = metal_stress(solved, unit)
    both = np.moveaxis(np.stack([stress.sigma, stress.tau]), (0, 1), (-2, -1))
    wall_of = solved.section.wall_of[stress.segments]
    return tuple(
        MetalPoints(
            int(wall),
            np.repeat(stress.segments[wall_of == wall], both.shape[1] * both.shape[2]),
            both[wall_of == wall].reshape(-1, 2, 6),
            both.shape[2],
        )
        for wall in np.unique(wall_of)
    )


def ply_points(solved: Analysis, unit: WallFlows, criterion: str) -> tuple[PlyPoints, ...]:
    """The places of every laminate wall that has a ply to judge; `unit` are the flows of the six unit actions.

    Raises InputFault for an unknown criterion and for a missing strength.
    """
    walls = [wall for wall in ply_states(solved, unit) if len(wall.segments)]
    found = (_points_of(wall, criterion) for wall in walls)
    return tuple(places for places in found if len(places.ply))


def sandwich_points(
    solved: Analysis, unit: WallFlows
) -> tuple[tuple[SandwichPoints, ...], tuple[InputFault, ...]]:
    """The places of every wall with a core, each once, and why those cannot be judged that are no sandwich of two faces and one
    core.
    """
    found, faults = [], []
    for number, wall in enumerate(solved.section.walls):
        segments = np.flatnonzero(solved.section.wall_of == number)
        laminate: Laminate | None = wall.laminate
        if laminate is None or not len(segments) or all(ply.core is None for ply in laminate.plies):
            continue
        try:
            as_sandwich(laminate)
        except InputFault as fault:
            faults.append(fault)
            continue
        strains, shear = unit.strains[:, segments].reshape(6, -1, 6), unit.v_n[:, segments].reshape(6, -1)
        apart = _differ(strains[..., :3]) | _differ(strains[..., 3:]) | _differ(shear[..., None])
        found.append(
            SandwichPoints(
                laminate=laminate,
                segment=np.repeat(segments, unit.strains.shape[2])[apart],
                strains=np.moveaxis(strains[:, apart], 0, -1),
                shear=shear[:, apart].T,
            )
        )
    return tuple(found), tuple(faults)


def _groups(actions: Array, starts: Ints | None) -> Ints:
    return each_alone(len(actions)) if starts is None else starts


def _differ(unit: Array, chains: int = 1) -> Mask:
    """(stations,), where unit actions do to the places of a station, `unit` (6, stations × chains, s), something else than at the
    station before: a segment ends where the next one begins, mostly with the same flows.
    """
    here = unit.reshape(len(unit), -1, chains * unit.shape[-1])
    step = np.abs(np.diff(here, axis=1)).max(axis=2)
    most = np.abs(here).max(axis=(1, 2), initial=0.0)
    return np.append(
        np.ones(min(1, here.shape[1]), bool), (step > REL_TOL_SAME_STATION * most[:, None]).any(axis=0)
    )


def _places_at(stations: Mask, chains: int) -> Ints:
    """The places at the stations of that mask."""
    return np.asarray((np.flatnonzero(stations)[:, None] * chains + np.arange(chains)).reshape(-1))


def _points_of(wall: WallPlies, criterion: str) -> PlyPoints:
    laminate: Laminate = wall.wall.laminate
    criterion_named(criterion, laminate)
    limits, (plies, faces) = layer_limits(laminate), candidate_faces(laminate)
    count, along = len(plies), len(wall.segments) * wall.state.stress.shape[2]
    strain, stress = (
        x[..., plies, faces, :].reshape(6, along * count, 3) for x in (wall.state.strain, wall.state.stress)
    )
    ply = np.tile(plies, along)
    return PlyPoints(
        laminate=laminate,
        criterion=criterion,
        segment=np.repeat(wall.segments, count * wall.state.stress.shape[2]),
        ply=ply,
        unit=PlyState(strain, stress),
        limits=limits.at(ply),
        chains=count,
    )


def _under(unit: Array, actions: Array) -> Array:
    """(n, s): each of n rows of `unit` (n, s, 6) under its own of `actions` (n, 6)."""
    return np.asarray((unit @ actions[:, :, None])[..., 0])
