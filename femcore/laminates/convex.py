"""Criteria whose safe stresses are convex, as usages; and the few faces of a laminate that can fail first.

Strain is linear through the thickness, and usage by such a criterion convex: of all plies of one layer at one
angle, wherever they lie, the lowest and the highest face are worst.

Hashin's safe stresses are not convex: compression eases shear, with corners towards no stress where it begins.
Those that also stay within the shear strength are (each of its curves then meets the next one level), so that
`CONVEX_BOUNDS` bounds from the outermost faces what the others use.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from femcore.laminates.failure import LayerLimits, Modes, TsaiWu, strain_allowables, stress_allowables
from femcore.laminates.laminate import Array, Laminate
from femcore.laminates.response import PlyState
from femcore.laminates.utilisation import Utilisation

ANGLE_DIGITS: Final = 12
"""Decimals to which the turns of two plies agree that lie at one angle."""


@dataclass(frozen=True)
class ConvexCriterion:
    """A criterion as a usage (places, pieces, 3) of strains or of stresses in ply axes, as `of` says."""

    of: Literal["strain", "stress"]
    utilisation: Callable[[LayerLimits], Utilisation]


def tsai_wu_utilisation(limits: LayerLimits) -> Utilisation:
    """1/R of F·R² + f·R = 1 is f/2 + √((f/2)² + F), an ellipsoid since F12² < F11 F22."""
    F = TsaiWu.of(limits)
    half = np.stack([F.F1, F.F2, np.zeros_like(F.F1)], axis=-1) / 2
    square = half[..., :, None] * half[..., None, :]
    for (i, j), value in {(0, 0): F.F11, (1, 1): F.F22, (2, 2): F.F66, (0, 1): F.F12, (1, 0): F.F12}.items():
        square[..., i, j] += value
    return Utilisation(half, square)


def max_stress_utilisation(limits: LayerLimits) -> Utilisation:
    """Every stress over its strength, of either sign."""
    return _component_utilisation(stress_allowables(limits))


def max_strain_utilisation(limits: LayerLimits) -> Utilisation:
    """Every strain over strength over modulus, of either sign."""
    return _component_utilisation(strain_allowables(limits))


def _component_utilisation(allowables: Sequence[Array]) -> Utilisation:
    components, signs = np.repeat(np.arange(3), 2), np.tile([1.0, -1.0], 3)
    most = np.concatenate([*allowables, allowables[-1]], axis=1)
    linear = np.zeros((*most.shape, 3))
    linear[:, np.arange(6), components] = signs / most
    return Utilisation(linear, np.zeros((*linear.shape, 3)))


CONVEX_CRITERIA: Final[Mapping[str, ConvexCriterion]] = {
    "max_strain": ConvexCriterion("strain", max_strain_utilisation),
    "max_stress": ConvexCriterion("stress", max_stress_utilisation),
    "tsai_wu": ConvexCriterion("stress", tsai_wu_utilisation),
}


CONVEX_BOUNDS: Final[Mapping[str, Callable[[PlyState, LayerLimits], Array]]] = {
    "hashin": lambda state, limits: np.abs(state.stress[..., 2]) / limits.S12
}
"""For every other criterion, a usage (..., plies, faces) which with its own, the larger of both, is convex."""


def candidate_faces(laminate: Laminate, criterion: str) -> tuple[Modes, Modes, Modes]:
    """Plies (p,) and their faces (p,), 0 at smaller z, of which one is worst whatever the strains, and which of
    these are outermost of their layer at their angle (o,); cores are never among them.

    By a convex criterion those are all; by another, each face stands once where two equal plies meet.
    """
    turns = np.round(laminate.strain_rotation, ANGLE_DIGITS) + 0.0
    kinds = [(ply.lamina, turn.tobytes()) for ply, turn in zip(laminate.plies, turns, strict=True)]
    layers = [number for number, ply in enumerate(laminate.plies) if ply.core is None]
    last = {kinds[number]: number for number in layers}
    first = {kinds[number]: number for number in reversed(layers)}
    outer = {(number, 0) for number in first.values()} | {(number, 1) for number in last.values()}
    again = {number for number in layers if number - 1 in layers and kinds[number] == kinds[number - 1]}
    every = {(number, face) for number in layers for face in (0, 1) if face or number not in again}
    found = sorted(outer if criterion in CONVEX_CRITERIA else every)
    plies, faces = np.array(found, np.intp).reshape(-1, 2).T
    return plies, faces, np.array([place for place, face in enumerate(found) if face in outer], np.intp)
