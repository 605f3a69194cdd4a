"""Failure criteria of a layer in plane stress: index, load factor and mode, for arrays of stresses.

Every criterion answers, for stresses (..., plies, faces, 3) in ply axes:

- `load_factor`: what all stresses must be multiplied by for the layer to fail (strength ratio);
- `index`: 1 at failure; it grows with the load itself for maximum stress and strain, as the criterion's own
  polynomial for the others;
- `mode`: which of the criterion's modes that is.

Criteria:

- ``max_stress``, ``max_strain``: each component against its own limit; strain limits are strengths over
  moduli (layers are linear to failure): maximum strain includes Poisson's contraction, maximum stress does not,
  so that a layer weak across its fibres may fail by splitting under a load along them.
- ``tsai_wu``: F₁σ₁ + F₂σ₂ + F₁₁σ₁² + F₂₂σ₂² + F₆₆τ² + 2F₁₂σ₁σ₂ = 1 with F₁ = 1/Xt − 1/Xc, F₁₁ = 1/XtXc,
  F₆₆ = 1/S², likewise across the fibre, and F₁₂ = −½√(F₁₁F₂₂), von Mises's analogy (S.W. Tsai & E.M. Wu,
  J. Composite Materials 5 (1971) 58; F₁₂ after S.W. Tsai & H.T. Hahn 1980; from memory). The mode named is
  the term that contributes most.

The stresses that each of them allows are a convex set (`femcore.laminates.convex` builds on that).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Final, NamedTuple

import numpy as np

from femcore.base.errors import InputFault
from femcore.laminates.laminate import Array, Laminate
from femcore.laminates.response import PlyState
from femcore.materials import STRENGTHS

COMPONENTS: Final = ("fibre tension", "fibre compression", "matrix tension", "matrix compression", "shear")
"""What maximum stress and strain look at, in this order."""

Modes = np.ndarray[tuple[int, ...], np.dtype[np.intp]]


@dataclass(frozen=True, eq=False)
class LayerLimits:
    """Strengths and moduli of every ply, each (plies, 1), Pa; strengths of cores are infinite: they are not judged here."""

    Xt: Array
    Xc: Array
    Yt: Array
    Yc: Array
    S12: Array
    E1: Array
    E2: Array
    G12: Array

    def at(self, plies: Modes) -> LayerLimits:
        """Those of the listed plies (p,), each (p, 1)."""
        return LayerLimits(**{each.name: getattr(self, each.name)[plies] for each in fields(self)})


@dataclass(frozen=True, eq=False)
class CriterionResult:
    """A criterion's answer: `load_factor`, `index` and `mode`, each (..., plies, faces); `mode` counts into `modes`."""

    criterion: str
    modes: tuple[str, ...]
    load_factor: Array
    index: Array
    mode: Modes


def layer_limits(laminate: Laminate) -> LayerLimits:
    """The limits of every ply; InputFault for a ply that is no core and lacks a strength."""
    rows: dict[str, list[float]] = {key: [] for key in (*STRENGTHS, "E1", "E2", "G12")}
    for number, ply in enumerate(laminate.plies, start=1):
        for key, column in rows.items():
            value = getattr(ply.lamina, key)
            if ply.core is not None and key not in {"E1", "E2", "G12"}:
                value = np.inf
            elif value is None:
                place = f"{laminate.name}: ply {number} ({ply.label or ply.lamina.name})"
                cure = f"give {key} for {ply.lamina.name}: failure cannot be judged without it"
                raise InputFault(place, f"strength {key} is missing", cure)
            column.append(value)
    return LayerLimits(**{key: np.array(column)[:, None] for key, column in rows.items()})


class TsaiWu(NamedTuple):
    """Coefficients of Tsai and Wu's polynomial for every ply, (plies, 1), 1/Pa and 1/Pa²; F12 = −½√(F11 F22)."""

    F1: Array
    F2: Array
    F11: Array
    F22: Array
    F66: Array
    F12: Array

    @classmethod
    def of(cls, limits: LayerLimits) -> TsaiWu:
        """From the strengths."""
        F11, F22 = 1 / (limits.Xt * limits.Xc), 1 / (limits.Yt * limits.Yc)
        F1, F2 = 1 / limits.Xt - 1 / limits.Xc, 1 / limits.Yt - 1 / limits.Yc
        return cls(F1, F2, F11, F22, limits.S12**-2.0, -np.sqrt(F11 * F22) / 2)


def stress_allowables(limits: LayerLimits) -> tuple[Array, ...]:
    """What each of `COMPONENTS` is held against in stress, (plies, 1), Pa."""
    return limits.Xt, limits.Xc, limits.Yt, limits.Yc, limits.S12


def strain_allowables(limits: LayerLimits) -> tuple[Array, ...]:
    """The same in strain: strengths over moduli."""
    moduli = (limits.E1, limits.E1, limits.E2, limits.E2, limits.G12)
    return tuple(s / E for s, E in zip(stress_allowables(limits), moduli, strict=True))


def _largest(parts: Sequence[Array]) -> tuple[Array, Modes]:
    """The largest of `parts` and which it is, the first of equals; without stacking them."""
    largest, which = parts[0].copy(), np.zeros(parts[0].shape, np.intp)
    for number, part in enumerate(parts[1:], start=1):
        np.copyto(which, number, where=part > largest)
        np.maximum(largest, part, out=largest)
    return largest, which


def _linear_result(criterion: str, values: Array, allowables: Sequence[Array]) -> CriterionResult:
    first, second, shear = (values[..., place] for place in range(3))
    signed = (first, -first, second, -second, np.abs(shear))
    index, mode = _largest([value / most for value, most in zip(signed, allowables, strict=True)])
    # no stress at all may be a negative zero
    index = np.abs(index)
    return CriterionResult(criterion, COMPONENTS, _reciprocal(index), index, mode)


def max_stress(state: PlyState, limits: LayerLimits) -> CriterionResult:
    """Each stress against its own strength."""
    return _linear_result("max_stress", state.stress, stress_allowables(limits))


def max_strain(state: PlyState, limits: LayerLimits) -> CriterionResult:
    """Each strain against strength over modulus."""
    return _linear_result("max_strain", state.strain, strain_allowables(limits))


def tsai_wu(state: PlyState, limits: LayerLimits) -> CriterionResult:
    """The quadratic polynomial of Tsai and Wu with F12 = −½√(F11 F22)."""
    s1, s2, t12 = (state.stress[..., place] for place in range(3))
    F = TsaiWu.of(limits)
    along, across, linear = F.F11 * s1**2, F.F22 * s2**2, (F.F1 * s1, F.F2 * s2)
    shear = F.F66 * t12**2
    square = along + across + shear + 2 * F.F12 * s1 * s2
    whole = linear[0] + linear[1]
    _, mode = _largest([along + linear[0], across + linear[1], shear])
    factor = quadratic_load_factor(square, whole)
    return CriterionResult("tsai_wu", ("fibre", "matrix", "shear"), factor, square + whole, mode)


def quadratic_load_factor(square: Array, linear: Array) -> Array:
    """The positive root R of square·R² + linear·R = 1 (square ≥ 0); infinite where no load factor reaches failure."""
    half = (np.abs(linear) + np.sqrt(linear**2 + 4 * np.maximum(square, 0))) / 2
    # two forms of the same root, each without cancellation where it is used
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        easing = np.where(square > 0, half / square, np.inf)
    return np.where(linear >= 0, _reciprocal(half), easing)


def _reciprocal(value: Array) -> Array:
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(1 / value)


Criterion = Callable[[PlyState, LayerLimits], CriterionResult]
CRITERIA: Final[Mapping[str, Criterion]] = {
    "max_strain": max_strain,
    "max_stress": max_stress,
    "tsai_wu": tsai_wu,
}
