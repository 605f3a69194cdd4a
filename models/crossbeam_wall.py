"""The crossbeam's walls: from its actions to stresses in metal and plies, and how far each wall is from buckling.

Pure functions over arrays of actions N, Vy, Vz, T, My, Mz in beam axes, all six about the beam's line (its shear centres), as
the frame gives them. `wall_checks` finds what governs at every place along the beam; `wall_states` gives everything, for a few.
Nothing here knows safety factors: a factor is what the actions may be multiplied by until that wall fails.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from femcore.errors import InputFault
from femcore.laminates import judge
from femcore.section_file import WalledBeam
from femcore.sections import (
    LocalBuckling,
    MetalStress,
    WallFlows,
    WallPlies,
    local_buckling,
    metal_stress,
    ply_states,
    recover,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

PLACES = 3
"""Along each wall segment: its ends and middle."""
BLOCK = 16
"""Actions taken at once, so that the plies' stresses stay small in memory."""
CRITERION = "tsai_wu"


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


def wall_states(beam: WalledBeam, actions: ArrayLike, length: float = np.inf) -> WallStates:
    """All walls of `beam` under `actions` (n, 6), N and N·m.

    length : m, between what holds the section's shape, for the buckling of curved walls in shear

    Raises InputFault where actions are not six finite numbers each.
    """
    flows = recover(beam.solved, actions, about=beam.properties.shear_centre, stations=PLACES)
    metal = metal_stress(beam.solved, flows)
    return WallStates(
        flows=flows,
        metal=metal if len(metal.segments) else None,
        plies=ply_states(beam.solved, flows),
        buckling=local_buckling(beam.solved, flows, length=length),
    )


def wall_checks(
    beam: WalledBeam, actions: ArrayLike, length: float = np.inf, criterion: str = CRITERION
) -> WallChecks:
    """What governs in the walls of `beam` under each of `actions` (n, 6), N and N·m.

    Raises InputFault where a strength that the check needs was not given, naming material or laminate and key.
    """
    table = np.atleast_2d(np.asarray(actions, float))
    blocks = [table[i : i + BLOCK] for i in range(0, max(len(table), 1), BLOCK)]
    rows = [row for block in blocks for row in _block_checks(beam, block, length, criterion)]
    columns = list(zip(*rows, strict=True))
    return WallChecks(
        criterion=criterion,
        von_mises=np.array(columns[0]),
        proof_factor=np.array(columns[1]),
        proof_part=columns[2],
        ply_factor=np.array(columns[3]),
        ply_part=columns[4],
        ply=columns[5],
        ply_mode=columns[6],
        buckling_factor=np.array(columns[7]),
        buckling_part=columns[8],
    )


Metal = tuple[float, float, str]
Ply = tuple[float, str, str, str]
Row = tuple[float, float, str, float, str, str, str, float, str]


def _block_checks(beam: WalledBeam, actions: Array, length: float, criterion: str) -> list[Row]:
    states = wall_states(beam, actions, length)
    metal, plies = _metal(beam, states), _plies(beam, states, criterion)
    worst = states.buckling.factor.argmin(axis=1)
    names = states.buckling.panels.names
    return [
        (
            *metal[i],
            *plies[i],
            float(states.buckling.factor[i, panel]),
            names[panel] if _acts(actions[i]) else "",
        )
        for i, panel in enumerate(worst)
    ]


def _acts(action: Array) -> bool:
    return bool(np.any(action != 0.0))


def _metal(beam: WalledBeam, states: WallStates) -> list[Metal]:
    """Largest von Mises stress, the least of proof over it, and its part, for each action."""
    count, metal = len(states.flows.n_x), states.metal
    if metal is None:
        return [(0.0, np.inf, "")] * count
    section = beam.solved.section
    proof = np.array([_proof(beam, section.wall_of[segment]) for segment in metal.segments])
    stress = metal.von_mises.max(axis=(2, 3))
    factor = np.divide(proof, stress, out=np.full_like(stress, np.inf), where=stress > 0.0)
    worst = factor.argmin(axis=1)
    return [
        (
            float(stress[i].max()),
            float(factor[i, s]),
            section.parts[metal.segments[s]] if stress[i, s] else "",
        )
        for i, s in enumerate(worst)
    ]


def _proof(beam: WalledBeam, wall: int) -> float:
    material = beam.materials[wall]
    if material is None or material.proof is None:
        name = material.name if material else beam.solved.section.walls[wall].name
        cure = "give its proof strength: whether the wall yields cannot be judged without it"
        raise InputFault(f"materials: {name}: proof", "is missing", cure)
    return material.proof


def _plies(beam: WalledBeam, states: WallStates, criterion: str) -> list[Ply]:
    """The lowest first-ply factor over all laminate walls, its part, ply and mode, for each action."""
    found: list[Ply] = [(np.inf, "", "", "")] * len(states.flows.n_x)
    for wall in states.plies:
        try:
            verdict = judge(wall.wall.laminate, wall.state, criterion)
        except InputFault as fault:
            raise fault.inside("laminates") from None
        flat = verdict.load_factor.reshape(len(found), -1)
        shape = verdict.load_factor.shape[1:]
        for i, worst in enumerate(flat.argmin(axis=1)):
            segment, _, ply, _ = np.unravel_index(int(worst), shape)
            factor = float(flat[i, worst])
            if factor < found[i][0]:
                part = beam.solved.section.parts[wall.segments[segment]]
                label = wall.wall.laminate.plies[ply].label
                mode = verdict.modes[int(verdict.mode.reshape(len(found), -1)[i, worst])]
                found[i] = (factor, part, f"{ply + 1}: {label}", mode)
    return found
