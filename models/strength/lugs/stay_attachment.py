"""Where the forestay is attached: a toggle pin between two cheeks, or through a bore in the beam's laminate
or metal.

The stay's pull comes at an angle to the cheeks' own line; they are lugs (`lug`), each with half of it, and
bend sideways and in their plane from the pull's lever about their root. A bore in a laminate is judged by
bearing and tearing out towards the nearest edge.

A pin through both walls of the end of a tube (`PinnedTubeEnd`), in the axes of an `attachment`: 1 along the pin, 2 along
the tube. Each wall has half of a force across the pin, and of torque M2 and bending M3 a couple over their
distance. Along the pin, collars press on the walls. About the pin nothing holds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bolts.bolted_plate import LaminateHole, hole_checks, washer_checks
from models.strength.lugs.lug import Lug, lug_checks
from models.strength.lugs.pin import Pin, pin_checks
from models.strength.margins import Check, SafetyFactors, not_checked


@dataclass(frozen=True)
class TangCheeks:
    """Cheeks (lugs, `number` of them) that hold the stay's pin between or around them; `toggle`: the metal of the eye."""

    lug: Lug
    pin: Pin
    toggle: Metal
    number: int = 2


def cheek_checks(
    part: str, cheeks: TangCheeks, pull: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Pin and cheeks under the stay's pull (cases, 3), N, in the lugs' axes: 1 along the pin, 2 away from
    the root, 3.

    A pull along the pin is shared by the cheeks and bends them sideways.
    """
    force = np.asarray(pull, dtype=float)
    each = np.zeros((len(force), 6))
    each[:, :3] = force / cheeks.number
    inner, outer = cheeks.toggle, cheeks.lug.metal
    if cheeks.number == 1:
        inner, outer = outer, inner
    _, along, across = force.T
    size = np.hypot(along, across)
    return (
        *pin_checks(part, cheeks.pin, size, factors, (inner, outer)),
        *lug_checks(f"{part}, cheek", cheeks.lug, each, factors),
    )


@dataclass(frozen=True)
class Bore:
    """A pin through a laminate (bushed or not): `diameter` m of bush or pin in `walls` walls that share the
    pull.
    """

    laminate: LaminateHole
    diameter: float
    walls: int = 2


def bore_checks(
    part: str,
    bore: Bore,
    pin: Pin,
    pull: FloatArray,
    factors: SafetyFactors,
    plates: tuple[Metal, Metal],
) -> tuple[Check, ...]:
    """Pin and bore under the stay's pull (cases,), N; `plates`: the metals of the eye on the pin and of the bush."""
    size = np.abs(np.asarray(pull, dtype=float))
    return (
        *pin_checks(part, pin, size, factors, plates),
        *hole_checks(f"{part}, bore", bore.laminate, bore.diameter, size / bore.walls, factors),
    )


REL_TOL_PIN_MOMENT = 1e-4
"""Of all moments at the pin: what acts about it beyond this is no rounding."""


@dataclass(frozen=True)
class PinnedTubeEnd:
    """A pin through both walls of the end of a tube, their middles `wall_spacing`, m, in bushes of `bore.diameter`.

    pin    : the shoe's tongue inside is its inner plate, the bushes in the walls are the outer ones
    collar : m, of what keeps it from sliding;   plates : the metals of the tongue and of the bushes
    """

    pin: Pin
    bore: Bore
    wall_spacing: float
    collar: float
    plates: tuple[Metal, Metal]

    def wall_force(self, loads: FloatArray) -> FloatArray:
        """(cases,), N, across the pin on the wall that has more, under loads (cases, 6) at the pin's middle."""
        _, F2, F3, _, M2, M3 = loads.T
        along = np.abs(F2 / 2) + np.abs(M3 / self.wall_spacing)
        return np.asarray(np.hypot(along, np.abs(F3 / 2) + np.abs(M2 / self.wall_spacing)))

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Pin and walls; a moment about the pin is not carried."""
        worst, laminate = self.wall_force(loads), self.bore.laminate
        F1, _, _, M1, _, _ = loads.T
        force, moment = np.split(np.abs(loads), 2, axis=1)
        collar_checks = washer_checks(
            f"{part}, wall under the collar",
            laminate,
            self.bore.diameter,
            self.collar,
            np.abs(F1),
            factors,
        )
        found = (
            *bore_checks(f"{part}, pin", self.bore, self.pin, 2 * worst, factors, self.plates),
            *collar_checks,
        )
        size = force.sum(axis=1) * self.wall_spacing + moment.sum(axis=1)
        if (np.abs(M1) > REL_TOL_PIN_MOMENT * size).any():
            why = "a pin does not hold against bending about itself; describe the end as pinned, or fix it otherwise"
            return (*found, not_checked(part, "bending about its pin", len(loads), why))
        return found
