"""Failure criteria as convex utilisations; and the few faces of a laminate that can fail first.

Every criterion allows a convex set of stresses. Strain is linear through the thickness, so that the utilisation is
convex through it: of all plies of one material at one angle, the lowest and the highest face govern.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np

from femcore.laminates.failure import (
    LayerLimits,
    Modes,
    TsaiWu,
    layer_limits,
    strain_allowables,
    stress_allowables,
)
from femcore.laminates.first_ply import criterion_named
from femcore.laminates.laminate import Array, Laminate
from femcore.laminates.response import ply_state_under
from femcore.laminates.utilisation import Utilisation

ANGLE_DIGITS: Final = 12
"""Plies whose rotation matrices agree to so many decimals are at one angle."""


@dataclass(frozen=True)
class ConvexCriterion:
    """A criterion as a utilisation (places, pieces, 3) of strains or of stresses in ply axes, as `of` says."""

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


def candidate_faces(laminate: Laminate) -> tuple[Modes, Modes]:
    """Plies (p,) and their faces (p,), 0 at smaller z, of which one governs under any strains; no core is among them."""
    turns = np.round(laminate.strain_rotation, ANGLE_DIGITS) + 0.0
    kinds = [(ply.lamina, turn.tobytes()) for ply, turn in zip(laminate.plies, turns, strict=True)]
    layers = [number for number, ply in enumerate(laminate.plies) if ply.core is None]
    last = {kinds[number]: number for number in layers}
    first = {kinds[number]: number for number in reversed(layers)}
    found = sorted({(number, 0) for number in first.values()} | {(number, 1) for number in last.values()})
    plies, faces = np.array(found, np.intp).reshape(-1, 2).T
    return plies, faces


@lru_cache(maxsize=256)  # one laminate is checked under many loads
def first_ply_utilisation(laminate: Laminate, criterion: str = "tsai_wu") -> Utilisation:
    """Of the faces of which one governs, under the six resultants, N/m and N: one over `first_ply_failure`'s load factor.

    InputFault for an unknown criterion, and for a missing strength.
    """
    criterion_named(criterion, laminate)
    limits, (plies, faces) = layer_limits(laminate), candidate_faces(laminate)
    convex, unit = CONVEX_CRITERIA[criterion], ply_state_under(laminate, np.eye(6))
    values = (unit.strain if convex.of == "strain" else unit.stress)[:, plies, faces]
    return convex.utilisation(limits.at(plies)).under(np.moveaxis(values, 0, -1))
