"""A pin in double shear: one inner plate between two outer ones (EN 1993-1-8:2005 3.13, Table 3.10, equations 3.14 and 3.15;
read).

Ultimate limit state, every pin:

- shear of one plane 0.6 A f_up;  bearing 1.5 t d f_y (f_y the lower of pin and plate);
- bending M = F (b + 4c + 2a)/8 against 1.5 W f_yp;  together (M/M_R)² + (F_v/F_v,R)² ≤ 1.

Serviceability limit state besides, of a pin that is to come out again, under the loads as they are (characteristic
combination; of an extreme load what belongs to it in service), so that neither pin nor hole deforms lastingly:

- bearing 0.6 t d f_y;  bending 0.8 W f_yp;
- contact stress σ_h = 0.591 √(E F (d0 − d)/(d² t)) ≤ 2.5 f_y: Hertz's line contact of a pin in a hole, ν = 0.3.
  Of two metals E = 2 E1 E2/(E1 + E2), as Hertz's formula has it.

Resistances are characteristic: the factors "ultimate" (shear), "yielding" (bearing, bending) and "serviceability" hold the
γM. The two of the combined check are mixed: it takes the larger. The square root of the interaction is its utilisation. The
contact stress grows with the root of the force, so its check compares forces.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.materials import Metal
from models.strength.bounds import require_positive
from models.strength.margins import SERVICEABILITY, Check, SafetyFactor, SafetyFactors, checked, not_checked

PIN_SOURCE = "EN 1993-1-8:2005 Table 3.10"
SERVICE_SOURCE = "EN 1993-1-8:2005 Table 3.10, replaceable pin"
CONTACT_SOURCE = "EN 1993-1-8:2005 3.13.2, (3.14) and (3.15)"
CONTACT_CONSTANT = 0.591
"""√(1/(π (1 − ν²))) of ν = 0.3, as equation 3.14 prints it."""
CONTACT_STRENGTH_RATIO = 2.5
"""Contact strength over proof stress, equation 3.15."""
NO_HOLE = "how much larger than the pin its hole is, is not known; give hole"


@dataclass(frozen=True)
class Pin:
    """A solid round pin of a metal: `diameter` m.

    inner, outer, gap : m, thickness of the inner plate (b), of each outer plate (a), and the room between
      them (c)
    replaceable       : whether it has to come out again, as one that is pulled every year
    holes             : m, diameters of the holes in inner and outer plates; None where not known
    """

    metal: Metal
    diameter: float
    inner: float
    outer: float
    gap: float = 0.0
    replaceable: bool = True
    holes: tuple[float | None, float | None] = (None, None)

    def __post_init__(self) -> None:
        require_positive("pin", diameter=self.diameter, inner=self.inner, outer=self.outer)
        for hole in self.holes:
            require_hole("pin", hole, self.diameter)

    @property
    def shear_resistance(self) -> float:
        """N, one plane, 0.6 A f_up."""
        return 0.6 * math.pi / 4 * self.diameter**2 * self.metal.ultimate

    @property
    def bending_resistance(self) -> float:
        """N·m, ultimate limit state, 1.5 W f_yp."""
        return 1.5 * self.elastic_moment

    @property
    def service_bending_resistance(self) -> float:
        """N·m, serviceability limit state of a replaceable pin, 0.8 W f_yp."""
        return 0.8 * self.elastic_moment

    @property
    def elastic_moment(self) -> float:
        """N·m, W f_yp with W = π d³/32."""
        return math.pi / 32 * self.diameter**3 * self.metal.proof

    @property
    def moment_per_force(self) -> float:
        """m, (b + 4c + 2a)/8."""
        return (self.inner + 4 * self.gap + 2 * self.outer) / 8


def require_hole(place: str, hole: float | None, pin: float) -> None:
    """InputFault for a hole that its pin does not enter, both m."""
    if hole is not None and hole < pin:
        wrong = f"the hole ({1000 * hole:.4g} mm) is smaller than the pin ({1000 * pin:.4g} mm)"
        raise InputFault(place, wrong, "correct one of the two")


def plate_bearing_resistance(thickness: float, diameter: float, proof: float) -> float:
    """N, of a plate (or plates, their thickness summed) on a pin, ultimate limit state: 1.5 t d f_y."""
    return 1.5 * thickness * diameter * proof


def service_bearing_resistance(thickness: float, diameter: float, proof: float) -> float:
    """N, the same where the pin is to come out again, serviceability limit state: 0.6 t d f_y."""
    return 0.6 * thickness * diameter * proof


def contact_stress(force: FloatArray, E: float, diameter: float, hole: float, thickness: float) -> FloatArray:
    """(cases,), Pa, 0.591 √(E F (d0 − d)/(d² t)) of forces (cases,), N, that press a pin on plates of summed `thickness`, m."""
    return np.asarray(
        CONTACT_CONSTANT * np.sqrt(E * np.abs(force) * (hole - diameter) / (diameter**2 * thickness))
    )


def contact_resistance(pin: Metal, plate: Metal, diameter: float, hole: float, thickness: float) -> float:
    """N, the force at which the contact stress is 2.5 f_y, f_y the lower of both; inf without play."""
    play = hole - diameter
    if play == 0:
        return math.inf
    E = 2 * pin.E * plate.E / (pin.E + plate.E)
    limit = CONTACT_STRENGTH_RATIO * min(pin.proof, plate.proof)
    return (limit / CONTACT_CONSTANT) ** 2 * diameter**2 * thickness / (E * play)


def pin_checks(
    part: str, pin: Pin, force: FloatArray, factors: SafetyFactors, plates: tuple[Metal, Metal]
) -> tuple[Check, ...]:
    """A pin under `force` (cases,), N, with the metals of inner and outer plates."""
    ultimate, yielding = factors.safety_factor("ultimate"), factors.safety_factor("yielding")
    F = np.abs(force)
    shear = F / 2
    bending = F * pin.moment_per_force
    utilisation = np.hypot(bending / pin.bending_resistance, shear / pin.shear_resistance)
    both: SafetyFactor = max(ultimate, yielding)
    inner, outer = (min(plate.proof, pin.metal.proof) for plate in plates)
    at_inner = plate_bearing_resistance(pin.inner, pin.diameter, inner)
    at_outer = plate_bearing_resistance(2 * pin.outer, pin.diameter, outer)
    return (
        checked(part, "pin in shear", shear, pin.shear_resistance, "N", ultimate, PIN_SOURCE),
        checked(part, "pin in bending", bending, pin.bending_resistance, "N·m", yielding, PIN_SOURCE),
        checked(part, "pin in shear and bending", utilisation, 1.0, "", both, PIN_SOURCE),
        checked(part, "inner plate in bearing", F, at_inner, "N", yielding, PIN_SOURCE),
        checked(part, "outer plates in bearing", F, at_outer, "N", yielding, PIN_SOURCE),
        *(_service_checks(part, pin, F, factors, plates) if pin.replaceable else ()),
    )


def _service_checks(
    part: str, pin: Pin, F: FloatArray, factors: SafetyFactors, plates: tuple[Metal, Metal]
) -> list[Check]:
    """Serviceability limit state of a pin that is to come out again."""
    factor, d = factors.safety_factor(SERVICEABILITY), pin.diameter
    bending, limit = F * pin.moment_per_force, pin.service_bending_resistance
    found = [checked(part, "pin in bending, in service", bending, limit, "N·m", factor, SERVICE_SOURCE)]
    rows = zip(("inner plate", "outer plates"), (pin.inner, 2 * pin.outer), plates, pin.holes, strict=True)
    for plate, thickness, metal, hole in rows:
        bearing = service_bearing_resistance(thickness, d, min(metal.proof, pin.metal.proof))
        name = f"{plate}, contact stress in service"
        found.append(
            checked(part, f"{plate} in bearing, in service", F, bearing, "N", factor, SERVICE_SOURCE)
        )
        if hole is None:
            found.append(not_checked(part, name, len(F), NO_HOLE))
        elif hole > d:
            contact = contact_resistance(pin.metal, metal, d, hole, thickness)
            found.append(checked(part, name, F, contact, "N", factor, CONTACT_SOURCE))
    return found
