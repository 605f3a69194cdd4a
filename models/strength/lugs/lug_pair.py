"""Lugs side by side on one pin: how stiff they are together, and what each carries.

Axes as a lug's, at the middle of the pin between the lugs: 1 along the pin, 2 away from the roots, 3 across.
The beam's end is rigid between the lugs. About the pin (1) it turns freely. A torque about axis 2 becomes a
couple of forces ± T/s across the lugs, each bending its lug in its plane, and twists each lug: k = s²/2 ·
1/(ℓ³/3EI + ℓ/κGA) + 2 G J/ℓ for two. Where the lugs' faces are not held (a pin with play between loose
plates) the tips turn freely about 2 and 3 too, and the twist is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.strength.lugs.lug import Lug, lug_checks, lug_flexibility
from models.strength.margins import Check, SafetyFactors, failure_load_factor
from models.strength.springs import displacements, rigid_arm_matrix, transferred_stiffness, unresisted_loads

REL_TOL_FREE_LOAD = 1e-6
"""Of a case's greatest load component: an unresisted part up to this is rounding, not a load where the pin is free."""
ABS_TOL_FREE_LOAD = 1e-12
"""N or N·m: the same without any load."""


@dataclass(frozen=True)
class LugPair:
    """Like lugs at `places` along the pin, m from its middle; `faces_held`: whether their tips turn with the
    beam's end.
    """

    lug: Lug
    places: tuple[float, ...]
    faces_held: bool = True

    def __post_init__(self) -> None:
        if len(self.places) < 1 or len(set(self.places)) < len(self.places):
            raise InputFault(
                "lugs", "two lugs are at one place", "give each lug a place of its own along the pin"
            )

    @property
    def arms(self) -> FloatArray:
        """(lugs, 3), m."""
        return np.array([[place, 0.0, 0.0] for place in self.places])


def lug_pair_at_spacing(lug: Lug, spacing: float, *, faces_held: bool = True) -> LugPair:
    """Two lugs `spacing` apart, m, from middle to middle."""
    return LugPair(lug, (-spacing / 2, spacing / 2), faces_held)


def tip_stiffness(pair: LugPair) -> FloatArray:
    """(6, 6), of one lug at its hole with what the pin leaves free released."""
    keep = [0, 1, 2, 4, 5] if pair.faces_held else [0, 1, 2]
    K = np.zeros((6, 6))
    K[np.ix_(keep, keep)] = np.linalg.inv(lug_flexibility(pair.lug)[np.ix_(keep, keep)])
    return K


def pair_stiffness(pair: LugPair) -> FloatArray:
    """(6, 6), N/m, N and N·m/rad, at the middle of the pin; nothing about the pin."""
    each = np.broadcast_to(tip_stiffness(pair), (len(pair.places), 6, 6))
    return np.asarray(transferred_stiffness(each, pair.arms).sum(axis=0))


def lug_loads(pair: LugPair, loads: FloatArray) -> FloatArray:
    """(cases, lugs, 6), at each hole, of loads (cases, 6) at the middle of the pin.

    InputFault for a moment about the pin, or another that free lugs do not resist.
    """
    K = pair_stiffness(pair)
    left = np.abs(unresisted_loads(K, loads))
    if (left > REL_TOL_FREE_LOAD * np.abs(loads).max(axis=1, keepdims=True) + ABS_TOL_FREE_LOAD).any():
        raise InputFault(
            "lugs", "a moment acts in which the pin turns freely", "leave it out: nothing resists it"
        )
    at_lugs = np.einsum("lij,cj->cli", rigid_arm_matrix(pair.arms), displacements(K, loads))
    return np.asarray(np.einsum("ij,clj->cli", tip_stiffness(pair), at_lugs))


def pair_checks(part: str, pair: LugPair, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of all lugs; parts are named "`part`, lug 1" and so on."""
    shared = lug_loads(pair, np.asarray(loads, dtype=float))
    return tuple(
        check
        for number in range(len(pair.places))
        for check in lug_checks(f"{part}, lug {number + 1}", pair.lug, shared[:, number], factors)
    )


def failure_torque(pair: LugPair, part: str = "lugs") -> tuple[float, str]:
    """N·m about axis 2, alone, at which the first of the lugs' checks reaches its limit, no factor taken;
    and which.
    """
    unit = np.zeros((1, 6))
    unit[0, 4] = 1.0
    load_factor, names = failure_load_factor(pair_checks(part, pair, unit, SafetyFactors()))
    return float(load_factor[0]), names[0]
