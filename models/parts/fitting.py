"""Where the forestay is attached: a toggle pin between two cheeks, or through a bore in the beam's laminate
or metal.

The stay's pull comes at an angle to the cheeks' own line; they are lugs (`lug`), each with half of it, and
bend sideways and in their plane from the pull's lever about their root. A bore in a laminate is judged by
bearing and tearing out towards the nearest edge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from femcore.frame import FloatArray
from models.margins import Check, Factors
from models.parts.bolted_plate import LaminateHole, hole_checks
from models.parts.lug import Lug, lug_checks
from models.parts.pin import Pin, pin_checks


@dataclass(frozen=True)
class Cheeks:
    """Cheeks (lugs, `number` of them) that hold the stay's pin between or around them; `toggle_proof`: Pa,
    of the eye.
    """

    lug: Lug
    pin: Pin
    toggle_proof: float
    number: int = 2


def cheek_checks(part: str, cheeks: Cheeks, pull: FloatArray, factors: Factors) -> tuple[Check, ...]:
    """Pin and cheeks under the stay's pull (cases, 3), N, in the lugs' axes: 1 along the pin, 2 away from
    the root, 3.

    A pull along the pin is shared by the cheeks and bends them sideways.
    """
    force = np.asarray(pull, dtype=float)
    each = np.zeros((len(force), 6))
    each[:, :3] = force / cheeks.number
    inner, outer = cheeks.toggle_proof, cheeks.lug.metal.proof
    if cheeks.number == 1:
        inner, outer = outer, inner
    size = np.hypot(force[:, 1], force[:, 2])
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
    part: str, bore: Bore, pin: Pin, pull: FloatArray, factors: Factors, proofs: tuple[float, float]
) -> tuple[Check, ...]:
    """Pin and bore under the stay's pull (cases,), N; `proofs` of the eye on the pin and of the bush, Pa."""
    size = np.abs(np.asarray(pull, dtype=float))
    return (
        *pin_checks(part, pin, size, factors, proofs),
        *hole_checks(f"{part}, bore", bore.laminate, bore.diameter, size / bore.walls, factors),
    )


def backed(laminate: LaminateHole, thickness: float) -> LaminateHole:
    """The same laminate built up to another thickness, m, around its hole."""
    return replace(laminate, thickness=thickness)
