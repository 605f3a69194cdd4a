"""The walls of beams and bows: from their actions to stresses in metal and plies, and how far each wall is from buckling.

Pure functions over arrays of actions N, Vy, Vz, T, My, Mz in beam axes, all six about the beam's line, as the frame gives
them (of a crossbeam the line of its shear centres, of a bow its axis). `wall_checks` finds what governs under each of many, from
what unit actions do; `wall_states` gives everything, for a few. Both take flows, stresses and buckling from the same functions.
Nothing here knows safety factors: a factor is what the actions may be multiplied by until that wall fails.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from femcore.base.errors import InputFault
from femcore.laminates.utilisation import each_alone, group_blocks, worst_rows
from femcore.sections import (
    LocalBuckling,
    MetalPoints,
    MetalStress,
    PanelStrength,
    PlyPoints,
    SandwichPoints,
    WallFlows,
    WallPlies,
    local_buckling,
    metal_points,
    metal_stress,
    panel_buckling,
    panel_strength,
    ply_points,
    ply_states,
    sandwich_points,
    six_actions,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from femcore.laminates import Laminate
    from femcore.materials import Isotropic
    from femcore.sections import Analysis

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Names = NDArray[np.object_]

POINTS_PER_SEGMENT = 3
"""Along each wall segment: its ends and middle."""
WALL_CACHE_SIZE = 64
"""Sections whose unit actions are kept: those of the beams and of the bows' stations are asked for at every joint."""
PLY_CRITERION = "tsai_wu"


class WalledSection(Protocol):
    """What the checks need of a section.

    solved    : its analysis
    flows     : in its walls under actions (n, 6), at `POINTS_PER_SEGMENT` of each segment
    materials : of each kind of wall, None where it is a laminate
    """

    def __hash__(self) -> int:
        """By which its unit response is kept."""

    @property
    def solved(self) -> Analysis:
        """Its analysis."""

    def flows(self, actions: Array) -> WallFlows:
        """In its walls."""

    @property
    def materials(self) -> tuple[Isotropic | None, ...]:
        """Of each kind of wall."""


@dataclass(frozen=True, eq=False)
class WallStates:
    """All walls under some actions; the first axis of every array is theirs.

    flows    : forces per length in the walls;   metal : stresses of metal walls, None where there are none
    plies    : strains and stresses of every ply, for each laminate;   buckling : of every panel
    """

    flows: WallFlows
    metal: MetalStress | None
    plies: tuple[WallPlies, ...]
    buckling: LocalBuckling


@dataclass(frozen=True, eq=False)
class WallChecks:
    """What governs in the walls under each of n actions, or groups of them; a factor is inf where nothing is stressed or there.

    von_mises       : (n,), Pa, the most in metal walls; 0 where there are none
    proof_factor    : (n,), proof strength over it;   proof_part : (n,) where
    ply_factor      : (n,), first-ply failure by `criterion`;   ply_part, ply, ply_mode : (n,) where and how
    buckling_factor : (n,), R_c + R_s² = 1, core shear included;   buckling_part : (n,) which panel
    wrinkling_factor, core_factor, crimping_factor : (n,), of sandwich walls: until a face wrinkles, its core fails in shear, its
                      core crimps;   wrinkling_part, core_part, crimping_part : (n,) where
    has_core        : whether any wall has a core
    unjudged        : why walls with a core are not checked as sandwiches
    """

    criterion: str
    von_mises: Array
    proof_factor: Array
    proof_part: tuple[str, ...]
    ply_factor: Array
    ply_part: tuple[str, ...]
    ply: tuple[str, ...]
    ply_mode: tuple[str, ...]
    buckling_factor: Array
    buckling_part: tuple[str, ...]
    wrinkling_factor: Array
    wrinkling_part: tuple[str, ...]
    core_factor: Array
    core_part: tuple[str, ...]
    crimping_factor: Array
    crimping_part: tuple[str, ...]
    has_core: bool
    unjudged: tuple[InputFault, ...]


def wall_states(beam: WalledSection, actions: ArrayLike, length: float = np.inf) -> WallStates:
    """All walls of `beam` under `actions` (n, 6), N and N·m.

    length : m, between what holds the section's shape, for the buckling of curved walls in shear

    Raises InputFault where actions are not six finite numbers each.
    """
    flows = _flows(beam, actions)
    metal = metal_stress(beam.solved, flows)
    return WallStates(
        flows=flows,
        metal=metal if len(metal.segments) else None,
        plies=ply_states(beam.solved, flows),
        buckling=local_buckling(beam.solved, flows, length=length),
    )


def wall_checks(
    beam: WalledSection,
    actions: ArrayLike,
    length: float = np.inf,
    criterion: str = PLY_CRITERION,
    *,
    edge_length: float = np.inf,
    at_edges: bool = False,
    starts: Ints | None = None,
) -> WallChecks:
    """What governs in the walls of `beam` under each of `actions` (n, 6), N and N·m.

    length : m, as of `wall_states`;   edge_length : m, of free edges where they are shorter
    at_edges : metal and plies only, and those only in segments that end at a free edge; nothing buckles, wrinkles or shears
    starts   : (g,), rising, the first of the actions of each of g groups, none empty, such as those of a case at several places:
               then what governs in each group

    Raises InputFault where a strength that the check needs was not given, naming material or laminate and key.
    """
    walls, table = (
        _unit_response(beam, (length, edge_length), criterion, at_edges=at_edges),
        six_actions(beam.solved, actions),
    )
    groups = each_alone(len(table)) if starts is None else starts
    found = [
        _governing_columns(walls, table[rows], begin)
        for rows, begin in group_blocks(groups, len(table), walls.n_x[0].size)
    ] or [_governing_columns(walls, table, groups)]
    columns = (
        found[0]
        if len(found) == 1
        else {key: np.concatenate([block[key] for block in found]) for key in found[0]}
    )
    whole: dict[str, Any] = {key: tuple(x) if x.dtype == object else x for key, x in columns.items()}
    has_core = walls.panels is not None and bool(np.isfinite(walls.panels.crimping).any())
    return WallChecks(criterion=criterion, has_core=has_core, unjudged=walls.unjudged, **whole)


@dataclass(frozen=True, eq=False)
class _UnitResponse:
    """The walls of a beam: what unit actions do to them, and what they bear.

    parts  : (segments,), their names
    metal  : places of each metal wall, with its proof strength, Pa;   plies : places of each laminate wall
    sandwiches : places of each wall of sandwich;   unjudged : why others with a core are not among them
    panels : what they bear, None where they are not asked for
    n_x, q : (6, segments, places), N/m, flows under each unit action
    """

    parts: Names
    metal: tuple[tuple[MetalPoints, float], ...]
    plies: tuple[PlyPoints, ...]
    sandwiches: tuple[SandwichPoints, ...]
    unjudged: tuple[InputFault, ...]
    panels: PanelStrength | None
    n_x: Array
    q: Array


@lru_cache(maxsize=WALL_CACHE_SIZE)
def _unit_response(
    beam: WalledSection, lengths: tuple[float, float], criterion: str, *, at_edges: bool
) -> _UnitResponse:
    unit, solved = _flows(beam, np.eye(6)), beam.solved
    section = solved.section
    chosen = (section.degree[section.segments] == 1).any(axis=1) | (not at_edges)
    metal = [places.among(chosen) for places in metal_points(solved, unit)]
    proof = [_proof_strength(beam, places.wall) for places in metal]
    try:
        plies = [places.among(chosen) for places in ply_points(solved, unit, criterion)]
    except InputFault as fault:
        raise fault.inside("laminates") from None
    sandwiches, unjudged = ((), ()) if at_edges else sandwich_points(solved, unit)
    return _UnitResponse(
        parts=np.array(section.parts, object),
        metal=tuple(row for row in zip(metal, proof, strict=True) if len(row[0].segment)),
        plies=tuple(places for places in plies if len(places.segment)),
        sandwiches=sandwiches,
        unjudged=tuple(fault.inside("laminates") for fault in unjudged),
        panels=None if at_edges else panel_strength(solved.section, *lengths),
        n_x=unit.n_x,
        q=unit.q,
    )


def _flows(beam: WalledSection, actions: ArrayLike) -> WallFlows:
    return beam.flows(six_actions(beam.solved, actions))


def _proof_strength(beam: WalledSection, wall: int) -> float:
    material = beam.materials[wall]
    if material is None or material.proof is None:
        name = material.name if material else beam.solved.section.walls[wall].name
        cure = "give its proof strength: whether the wall yields cannot be judged without it"
        raise InputFault(f"materials: {name}: proof", "is missing", cure)
    return material.proof


def _governing_columns(walls: _UnitResponse, actions: Array, starts: Ints) -> dict[str, Any]:
    """The columns of `WallChecks` for groups of actions (n, 6) that begin at `starts`; names as arrays of objects."""
    return {
        **_metal_columns(walls, actions, starts),
        **_ply_columns(walls, actions, starts),
        **_sandwich_columns(walls, actions, starts),
        **_buckling_columns(walls, actions, starts),
    }


def _metal_columns(walls: _UnitResponse, actions: Array, starts: Ints) -> dict[str, Any]:
    """Largest von Mises stress, the least of proof over it, and its part."""
    stress, factor, part = np.zeros(len(starts)), np.full(len(starts), np.inf), _empty_names(starts)
    for places, proof in walls.metal:
        place, found = places.worst(actions, starts)
        stress = np.maximum(stress, found)
        reserve = np.divide(proof, found, out=np.full_like(found, np.inf), where=found > 0.0)
        lower = reserve < factor
        factor[lower] = reserve[lower]
        part[lower] = walls.parts[places.segment[place[lower]]]
    return {"von_mises": stress, "proof_factor": factor, "proof_part": part}


def _ply_columns(walls: _UnitResponse, actions: Array, starts: Ints) -> dict[str, Any]:
    """The lowest first-ply factor over all laminate walls, its part, ply and mode."""
    factor = np.full(len(starts), np.inf)
    part, ply, mode = (_empty_names(starts) for _ in range(3))
    for places in walls.plies:
        place, criterion_result = places.worst(actions, starts)
        lower = criterion_result.load_factor[:, 0] < factor
        factor[lower] = criterion_result.load_factor[lower, 0]
        part[lower] = walls.parts[places.segment[place[lower]]]
        ply[lower] = _labels(places.laminate)[places.ply[place[lower]]]
        mode[lower] = np.array(criterion_result.modes, object)[criterion_result.mode[lower, 0]]
    return {"ply_factor": factor, "ply_part": part, "ply": ply, "ply_mode": mode}


@lru_cache(maxsize=WALL_CACHE_SIZE)
def _labels(laminate: Laminate) -> Names:
    return np.array([f"{number}: {ply.label}" for number, ply in enumerate(laminate.plies, start=1)], object)


def _sandwich_columns(walls: _UnitResponse, actions: Array, starts: Ints) -> dict[str, Any]:
    """The lowest factors of faces that wrinkle and of cores in shear, and their parts."""
    columns: dict[str, Any] = {}
    for name, of in (("wrinkling", SandwichPoints.wrinkling), ("core", SandwichPoints.core_shear)):
        most, part = np.zeros(len(starts)), _empty_names(starts)
        for places in walls.sandwiches:
            place, found = of(places, actions, starts)
            higher = found > most
            most[higher] = found[higher]
            part[higher] = walls.parts[places.segment[place[higher]]]
        columns[f"{name}_factor"] = np.divide(1.0, most, out=np.full_like(most, np.inf), where=most > 0.0)
        columns[f"{name}_part"] = part
    return columns


def _buckling_columns(walls: _UnitResponse, actions: Array, starts: Ints) -> dict[str, Any]:
    """The panels that are nearest to buckling, and to crimping, and by what factors."""
    columns: dict[str, Any] = {}
    if walls.panels is None:
        for name in ("buckling", "crimping"):
            columns[f"{name}_factor"] = np.full(len(starts), np.inf)
            columns[f"{name}_part"] = _empty_names(starts)
        return columns
    n_x, q = (
        (actions @ unit.reshape(6, -1)).reshape(len(actions), *unit.shape[1:])
        for unit in (walls.n_x, walls.q)
    )
    panels = panel_buckling(walls.panels, n_x, q)
    names = np.array(panels.panels.names, object)
    for name, factor in (("buckling", panels.factor), ("crimping", panels.crimping_factor)):
        row = worst_rows(-factor.min(axis=1), starts)
        worst = factor[row].argmin(axis=1)
        least = factor[row, worst]
        columns[f"{name}_factor"] = least
        columns[f"{name}_part"] = np.where(np.isfinite(least), names[worst], "")
    return columns


def _empty_names(starts: Ints) -> Names:
    return np.full(len(starts), "", object)
