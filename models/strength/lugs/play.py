"""Play: a pin smaller than its holes lets the beam's end turn a little before anything resists it.

Two lugs s apart hold a force V across the pin, each V/2, and a couple T as ± T/s. Both stay pressed the same way while T < V s/2:
closed, without play, and as stiff as the linear model has it. At T = V s/2 one lug lets go: the joint turns by c/s, c = hole less
pin, without attracting more, then the lug bears on the other side of its hole and the joint goes on as stiff as before. From
closed to closed the pin tilts by c/s in the lugs, and the eyes on the pin by their own c over their own arm: 0.5 mm in lugs
120 mm apart are 4.2 mrad. What has the shorter arm lets go first.

Seen from the joint, the rest of the boat is one spring (`models.response.attraction`): a joint of stiffness k that would carry
T₁ carries

    T₁ while T₁ ≤ T₀ = V s/2;   else the larger of T₀ and T₁ − φ k k_half/(k + k_half)

with φ the free angle (derived: the spring's line k_half meets the joint's, which has a step of φ at T₀). V is taken as constant
on the way. A joint that lets go and bears again at every wave rattles: pin, lugs and eyes wear, and the play grows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray

ABS_TOL_CLOSED = 1e-9
"""N·m: a couple up to this beyond what holds the joint closed, or any of it without load, is rounding."""


@dataclass(frozen=True)
class Play:
    """Of a pin in lugs and eyes.

    in_lugs, in_eyes     : m, hole less pin
    lugs_reach, eyes_reach : m, between the lugs' middles, and the eyes'; of one alone from end to end of its hole
    """

    in_lugs: float
    in_eyes: float
    lugs_reach: float
    eyes_reach: float

    @property
    def angle(self) -> float:
        """rad, by which the beam's end turns free from closed to closed."""
        return self.in_lugs / self.lugs_reach + self.in_eyes / self.eyes_reach

    def state(self, loads: FloatArray) -> PlayState:
        """Under loads (cases, 6) at the pin's middle, in the axes of a lug.

        Of the couple counts what presses the lugs along the force across the pin; what is square to it only rolls the pin in its
        holes. Without any force across, all of it.
        """
        force, couple = loads[:, 1:3], loads[:, 4:6]
        held = np.linalg.norm(force, axis=1)
        # the couple's forces at lugs 1 m apart, along axes 2 and 3
        pair = np.stack([couple[:, 1], -couple[:, 0]], axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            along = np.abs((pair * force).sum(axis=1)) / held
        acting = np.where(held > 0, along, np.linalg.norm(pair, axis=1))
        return PlayState(np.asarray(acting), held * min(self.lugs_reach, self.eyes_reach) / 2)


@dataclass(frozen=True, eq=False)
class PlayState:
    """couple, opening : (cases,), N·m, the couple that acts, and at which the joint opens."""

    couple: FloatArray
    opening: FloatArray

    @property
    def closed(self) -> BoolArray:
        """(cases,)."""
        return np.asarray(self.couple <= self.opening + ABS_TOL_CLOSED)

    def couple_with_play(self, angle: float, stiffness: float, k_half: float) -> FloatArray:
        """(cases,), N·m, what the joint carries with a free angle, rad, of the couple that the linear model gives it.

        stiffness, k_half : N·m/rad, the joint's own (inf: rigid), and of the rest of the boat
        """
        series = 1 / (1 / stiffness + 1 / k_half)
        opened = np.maximum(self.opening, self.couple - angle * series)
        return np.where(self.closed, self.couple, opened)
