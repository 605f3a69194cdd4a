"""The crossbeam's walls: from its actions to stresses in metal and plies, and how far each wall is from buckling.

Pure functions over arrays of actions N, Vy, Vz, T, My, Mz in beam axes, all six about the beam's line (its shear centres), as
the frame gives them. `wall_checks` finds what governs under each of many, from what unit actions do; `wall_states` gives
everything, for a few. Both take flows, stresses and buckling from the same functions.
Nothing here knows safety factors: a factor is what the actions may be multiplied by until that wall fails.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from femcore.base.errors import InputFault
from femcore.files.section_file import ThinWalledBeam
from femcore.laminates.utilisation import blocks
from femcore.sections import (
    LocalBuckling,
    MetalPoints,
    MetalStress,
    PanelStrength,
    PlyPoints,
    WallFlows,
    WallPlies,
    local_buckling,
    metal_points,
    metal_stress,
    panel_buckling,
    panel_strength,
    ply_points,
    ply_states,
    recover,
    six_actions,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from femcore.laminates import Laminate

    Array = NDArray[np.float64]
    Names = NDArray[np.object_]

POINTS_PER_SEGMENT = 3
"""Along each wall segment: its ends and middle."""
WALL_CACHE_SIZE = 8
"""Beams whose unit actions are kept: the same few are asked for at every joint."""
PLY_CRITERION = "tsai_wu"


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
    """What governs in the walls under each of n actions; a factor is inf where nothing is stressed or nothing is there.

    von_mises       : (n,), Pa, the most in metal walls; 0 where there are none
    proof_factor    : (n,), proof strength over it;   proof_part : (n,) where
    ply_factor      : (n,), first-ply failure by `criterion`;   ply_part, ply, ply_mode : (n,) where and how
    buckling_factor : (n,), R_c + R_s² = 1;   buckling_part : (n,) which panel
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


def wall_states(beam: ThinWalledBeam, actions: ArrayLike, length: float = np.inf) -> WallStates:
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
    beam: ThinWalledBeam, actions: ArrayLike, length: float = np.inf, criterion: str = PLY_CRITERION
) -> WallChecks:
    """What governs in the walls of `beam` under each of `actions` (n, 6), N and N·m.

    Raises InputFault where a strength that the check needs was not given, naming material or laminate and key.
    """
    walls, table = _unit_response(beam, length, criterion), six_actions(beam.solved, actions)
    found = [_governing_columns(walls, table[rows]) for rows in blocks(len(table), walls.n_x[0].size)]
    columns = {key: np.concatenate([block[key] for block in found]) for key in found[0]}
    whole: dict[str, Any] = {key: tuple(x) if x.dtype == object else x for key, x in columns.items()}
    return WallChecks(criterion=criterion, **whole)


@dataclass(frozen=True, eq=False)
class _UnitResponse:
    """The walls of a beam: what unit actions do to them, and what they bear.

    parts  : (segments,), their names
    metal  : places of each metal wall, with its proof strength, Pa;   plies : places of each laminate wall
    panels : what they bear;   n_x, q : (6, segments, places), N/m, flows under each unit action
    """

    parts: Names
    metal: tuple[tuple[MetalPoints, float], ...]
    plies: tuple[PlyPoints, ...]
    panels: PanelStrength
    n_x: Array
    q: Array


@lru_cache(maxsize=WALL_CACHE_SIZE)
def _unit_response(beam: ThinWalledBeam, length: float, criterion: str) -> _UnitResponse:
    unit, solved = _flows(beam, np.eye(6)), beam.solved
    metal = metal_points(solved, unit)
    proof = [_proof_strength(beam, places.wall) for places in metal]
    try:
        plies = ply_points(solved, unit, criterion)
    except InputFault as fault:
        raise fault.inside("laminates") from None
    return _UnitResponse(
        parts=np.array(solved.section.parts, object),
        metal=tuple(zip(metal, proof, strict=True)),
        plies=plies,
        panels=panel_strength(solved.section, length),
        n_x=unit.n_x,
        q=unit.q,
    )


def _flows(beam: ThinWalledBeam, actions: ArrayLike) -> WallFlows:
    return recover(beam.solved, actions, about=beam.properties.shear_centre, stations=POINTS_PER_SEGMENT)


def _proof_strength(beam: ThinWalledBeam, wall: int) -> float:
    material = beam.materials[wall]
    if material is None or material.proof is None:
        name = material.name if material else beam.solved.section.walls[wall].name
        cure = "give its proof strength: whether the wall yields cannot be judged without it"
        raise InputFault(f"materials: {name}: proof", "is missing", cure)
    return material.proof


def _governing_columns(walls: _UnitResponse, actions: Array) -> dict[str, Any]:
    """The columns of `WallChecks` for some actions (n, 6); names as arrays of objects."""
    return {
        **_metal_columns(walls, actions),
        **_ply_columns(walls, actions),
        **_buckling_columns(walls, actions),
    }


def _metal_columns(walls: _UnitResponse, actions: Array) -> dict[str, Any]:
    """Largest von Mises stress, the least of proof over it, and its part."""
    stress, factor, part = np.zeros(len(actions)), np.full(len(actions), np.inf), _empty_names(actions)
    for places, proof in walls.metal:
        place, found = places.worst(actions)
        stress = np.maximum(stress, found)
        reserve = np.divide(proof, found, out=np.full_like(found, np.inf), where=found > 0.0)
        lower = reserve < factor
        factor[lower] = reserve[lower]
        part[lower] = walls.parts[places.segment[place[lower]]]
    return {"von_mises": stress, "proof_factor": factor, "proof_part": part}


def _ply_columns(walls: _UnitResponse, actions: Array) -> dict[str, Any]:
    """The lowest first-ply factor over all laminate walls, its part, ply and mode."""
    factor = np.full(len(actions), np.inf)
    part, ply, mode = (_empty_names(actions) for _ in range(3))
    for places in walls.plies:
        place, criterion_result = places.worst(actions)
        lower = criterion_result.load_factor[:, 0] < factor
        factor[lower] = criterion_result.load_factor[lower, 0]
        part[lower] = walls.parts[places.segment[place[lower]]]
        ply[lower] = _labels(places.laminate)[places.ply[place[lower]]]
        mode[lower] = np.array(criterion_result.modes, object)[criterion_result.mode[lower, 0]]
    return {"ply_factor": factor, "ply_part": part, "ply": ply, "ply_mode": mode}


def _labels(laminate: Laminate) -> Names:
    return np.array([f"{number}: {ply.label}" for number, ply in enumerate(laminate.plies, start=1)], object)


def _buckling_columns(walls: _UnitResponse, actions: Array) -> dict[str, Any]:
    """The panel that is nearest to buckling, and by what factor."""
    n_x, q = (np.tensordot(actions, unit, axes=1) for unit in (walls.n_x, walls.q))
    panels = panel_buckling(walls.panels, n_x, q)
    worst = panels.factor.argmin(axis=1)
    names, acting = np.array(panels.panels.names, object), np.any(actions != 0.0, axis=1)
    return {
        "buckling_factor": panels.factor[np.arange(len(actions)), worst],
        "buckling_part": np.where(acting, names[worst], ""),
    }


def _empty_names(actions: Array) -> Names:
    return np.full(len(actions), "", object)
