"""Failure criteria of a layer in plane stress: index, load factor and mode, for arrays of stresses.

Every criterion answers, for stresses (..., plies, faces, 3) in ply axes:

- `load_factor`: what all stresses must be multiplied by for the layer to fail (strength ratio);
- `index`: 1 at failure; it grows with the load itself for maximum stress and strain, as the criterion's own
  polynomial for the others;
- `mode`: which of the criterion's modes that is.

Criteria:

- ``max_stress``, ``max_strain``: each component against its own limit; strain limits are strengths over
  moduli (layers are linear to failure): maximum strain sees Poisson's contraction, maximum stress does not,
  and a layer weak across its fibres may so be said to split under a load along them.
- ``tsai_wu``: F₁σ₁ + F₂σ₂ + F₁₁σ₁² + F₂₂σ₂² + F₆₆τ² + 2F₁₂σ₁σ₂ = 1 with F₁ = 1/Xt − 1/Xc, F₁₁ = 1/XtXc,
  F₆₆ = 1/S², likewise across the fibre, and F₁₂ = −½√(F₁₁F₂₂), von Mises's analogy (S.W. Tsai & E.M. Wu,
  J. Composite Materials 5 (1971) 58; F₁₂ after S.W. Tsai & H.T. Hahn 1980; from memory). The mode named is
  the term that contributes most.
- ``hashin``: Z. Hashin, J. Applied Mechanics 47 (1980) 329, plane stress (from memory):
  fibre tension (σ₁/Xt)² + (τ/S)², fibre compression |σ₁|/Xc, matrix tension (σ₂/Yt)² + (τ/S)²,
  matrix compression (σ₂/2S₂₃)² + [(Yc/2S₂₃)² − 1] σ₂/Yc + (τ/S)². S₂₃ left out is taken as 0.378 Yc, a
  fracture plane at 53° (C.G. Dávila & P.P. Camanho, NASA/TM-2003-212663, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.errors import InputFault
from femcore.laminates.laminate import Array, Laminate
from femcore.laminates.response import PlyState
from femcore.materials import STRENGTHS

TRANSVERSE_SHEAR_OVER_YC: Final = 0.378
"""S23/Yc = cos α (sin α + cos α/tan 2α) for a fracture plane at α = 53°."""


@dataclass(frozen=True, eq=False)
class LayerLimits:
    """Strengths and moduli of every ply, each (plies, 1), Pa; infinite strengths where a core is not to be
    judged.
    """

    Xt: Array
    Xc: Array
    Yt: Array
    Yc: Array
    S12: Array
    S23: Array
    E1: Array
    E2: Array
    G12: Array


@dataclass(frozen=True, eq=False)
class Verdict:
    """A criterion's answer; `load_factor`, `index` and `mode` share the stresses' leading shape (..., plies,
    faces).

    `mode` counts into `modes`.
    """

    criterion: str
    modes: tuple[str, ...]
    load_factor: Array
    index: Array
    mode: np.ndarray[tuple[int, ...], np.dtype[np.intp]]


def layer_limits(laminate: Laminate) -> LayerLimits:
    """The limits of every ply; InputFault for a ply that is no core and lacks a strength."""
    rows: dict[str, list[float]] = {key: [] for key in (*STRENGTHS, "S23", "E1", "E2", "G12")}
    for number, ply in enumerate(laminate.plies, start=1):
        for key, column in rows.items():
            value = getattr(ply.lamina, key)
            if ply.core is not None and key not in {"E1", "E2", "G12"}:
                value = np.inf
            elif value is None and key == "S23":
                value = TRANSVERSE_SHEAR_OVER_YC * rows["Yc"][-1]
            elif value is None:
                place = f"{laminate.name}: ply {number} ({ply.label or ply.lamina.name})"
                cure = f"give {key} for {ply.lamina.name}: failure cannot be judged without it"
                raise InputFault(place, f"strength {key} is missing", cure)
            column.append(value)
    return LayerLimits(**{key: np.array(column)[:, None] for key, column in rows.items()})


def _ratios(parts: Mapping[str, Array]) -> tuple[tuple[str, ...], Array]:
    return tuple(parts), np.stack(list(parts.values()), axis=-1)


def _linear_verdict(criterion: str, parts: Mapping[str, Array]) -> Verdict:
    modes, ratio = _ratios(parts)
    mode = ratio.argmax(axis=-1)
    index = np.take_along_axis(ratio, mode[..., None], axis=-1)[..., 0]
    return Verdict(criterion, modes, _reciprocal(index), index, mode)


def _components(values: Array, limits: Mapping[str, Array]) -> dict[str, Array]:
    first, second, shear = (values[..., place] for place in range(3))
    return {
        "fibre tension": np.maximum(first, 0) / limits["1+"],
        "fibre compression": np.maximum(-first, 0) / limits["1-"],
        "matrix tension": np.maximum(second, 0) / limits["2+"],
        "matrix compression": np.maximum(-second, 0) / limits["2-"],
        "shear": np.abs(shear) / limits["12"],
    }


def max_stress(state: PlyState, limits: LayerLimits) -> Verdict:
    """Each stress against its own strength."""
    strengths = {"1+": limits.Xt, "1-": limits.Xc, "2+": limits.Yt, "2-": limits.Yc, "12": limits.S12}
    return _linear_verdict("max_stress", _components(state.stress, strengths))


def max_strain(state: PlyState, limits: LayerLimits) -> Verdict:
    """Each strain against strength over modulus."""
    allowed = {
        "1+": limits.Xt / limits.E1,
        "1-": limits.Xc / limits.E1,
        "2+": limits.Yt / limits.E2,
        "2-": limits.Yc / limits.E2,
        "12": limits.S12 / limits.G12,
    }
    return _linear_verdict("max_strain", _components(state.strain, allowed))


def tsai_wu(state: PlyState, limits: LayerLimits) -> Verdict:
    """The quadratic polynomial of Tsai and Wu with F12 = −½√(F11 F22)."""
    s1, s2, t12 = (state.stress[..., place] for place in range(3))
    F11, F22 = 1 / (limits.Xt * limits.Xc), 1 / (limits.Yt * limits.Yc)
    linear = {"fibre": (1 / limits.Xt - 1 / limits.Xc) * s1, "matrix": (1 / limits.Yt - 1 / limits.Yc) * s2}
    shear = (t12 / limits.S12) ** 2
    square = F11 * s1**2 + F22 * s2**2 + shear - np.sqrt(F11 * F22) * s1 * s2
    index = square + linear["fibre"] + linear["matrix"]
    share = {
        "fibre": F11 * s1**2 + linear["fibre"],
        "matrix": F22 * s2**2 + linear["matrix"],
        "shear": shear,
    }
    modes, parts = _ratios(share)
    factor = quadratic_load_factor(square, linear["fibre"] + linear["matrix"])
    return Verdict("tsai_wu", modes, factor, index, parts.argmax(axis=-1))


def hashin(state: PlyState, limits: LayerLimits) -> Verdict:
    """Hashin's four modes in plane stress; the mode with the lowest load factor governs."""
    s1, s2, t12 = (state.stress[..., place] for place in range(3))
    shear, zero = (t12 / limits.S12) ** 2, np.zeros_like(t12)
    twice = 2 * limits.S23
    with np.errstate(invalid="ignore"):
        steep = np.where(np.isinf(limits.Yc), 0.0, (limits.Yc / twice) ** 2 - 1) / limits.Yc
    terms = {
        "fibre tension": (s1 > 0, (s1 / limits.Xt) ** 2 + shear, zero),
        "fibre compression": (s1 < 0, (s1 / limits.Xc) ** 2, zero),
        "matrix tension": (s2 >= 0, (s2 / limits.Yt) ** 2 + shear, zero),
        "matrix compression": (s2 < 0, (s2 / twice) ** 2 + shear, steep * s2),
    }
    on = np.stack([each[0] for each in terms.values()], axis=-1)
    square = np.where(on, np.stack([each[1] for each in terms.values()], axis=-1), 0.0)
    linear = np.where(on, np.stack([each[2] for each in terms.values()], axis=-1), 0.0)
    factors = quadratic_load_factor(square, linear)
    mode = factors.argmin(axis=-1)
    chosen = mode[..., None]
    factor = np.take_along_axis(factors, chosen, axis=-1)[..., 0]
    index = np.take_along_axis(square + linear, chosen, axis=-1)[..., 0]
    return Verdict("hashin", tuple(terms), factor, index, mode)


def quadratic_load_factor(square: Array, linear: Array) -> Array:
    """The positive root R of square·R² + linear·R = 1 (square ≥ 0); infinite where the load can grow for
    ever.
    """
    root = np.sqrt(linear**2 + 4 * np.maximum(square, 0))
    # two forms of the same root, each without cancellation where it is used
    growing = _reciprocal((linear + root) / 2)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        easing = (root - linear) / (2 * square)
    return np.where(linear >= 0, growing, np.where(square > 0, easing, np.inf))


def _reciprocal(value: Array) -> Array:
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(1 / value)


CRITERIA: Final[Mapping[str, Callable[[PlyState, LayerLimits], Verdict]]] = {
    "hashin": hashin,
    "max_strain": max_strain,
    "max_stress": max_stress,
    "tsai_wu": tsai_wu,
}
