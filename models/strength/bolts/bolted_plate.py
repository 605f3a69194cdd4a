"""What bolts do to the plates they hold: prying, backing plates, bearing and pull-through in a laminate.

- Prying, the T-stub of EN 1993-1-8 6.2.4, Table 6.2, method 1 (read as quoted in a design code; its three modes are checked
  against a linear programme of limit analysis): per bolt row pair, with m from the hole to the stem's root,
  n = min(e, 1.25 m), M_pl = ¼ ℓ t² f_y:  F1 = 4 M_pl/m,  F2 = (2 M_pl + n ΣF_t)/(m + n),  F3 = ΣF_t; F = the
  least.
- Backing plate: it spreads a bolt's pull over the washer's circle widened by c = t √(f_y/3 f_j) all round,
  within which its bending stays elastic under a bed pressure f_j (EN 1993-1-8 6.2.5, equation 6.5,
  additional bearing width; read as quoted in a study of base plates).
- Laminate in bearing: pressure on the hole's projected area F/(d t); tear-out along two planes 2 (e − d/2) t
  τ; pull-through along the edge of washer or plate π d_w t τ_t (common practice). These strengths belong to
  the laminate and are measured: where one is not given, its check is listed as not made.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bolts.bolt_group import BoltForces
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

T_STUB_SOURCE = "EN 1993-1-8 6.2.4, Table 6.2 method 1 (read as quoted)"
COMMON_PRACTICE = "common practice"


@dataclass(frozen=True)
class TStub:
    """A plate in bending under the pull of two bolts at either side of a stem.

    length    : m, of plate that works with this pair of bolts (effective length, or half the pitch to either
      side)
    thickness : m;   proof : Pa, f_y
    m, e      : m, from the bolt to the stem's root, and to the plate's edge
    """

    length: float
    thickness: float
    proof: float
    m: float
    e: float

    def __post_init__(self) -> None:
        require_positive(
            "T-stub", length=self.length, thickness=self.thickness, proof=self.proof, m=self.m, e=self.e
        )

    @property
    def plastic_moment(self) -> float:
        """N·m, ¼ ℓ t² f_y."""
        return 0.25 * self.length * self.thickness**2 * self.proof


def t_stub_resistance(stub: TStub, bolts_tension: float) -> tuple[float, int]:
    """N, with the mode (1 plate, 2 plate and bolts, 3 bolts) for bolts of summed resistance `bolts_tension`,
    N.
    """
    n = min(stub.e, 1.25 * stub.m)
    Mpl = stub.plastic_moment
    modes = (4 * Mpl / stub.m, (2 * Mpl + n * bolts_tension) / (stub.m + n), bolts_tension)
    least = int(np.argmin(modes))
    return modes[least], least + 1


def prying_ratio(stub: TStub, pull: float, bolts_tension: float) -> float:
    """Prying: how much more than their share the bolts carry when the T-stub carries `pull`, N: Q/F, zero for a plate
    thick enough.

    Upper bound: the plate's yield line at the stem formed, F m = 2 M_pl + Q n, Q ≥ 0, and no more than fills
    the bolts.
    """
    n = min(stub.e, 1.25 * stub.m)
    lever = max((pull * stub.m - 2 * stub.plastic_moment) / n, 0.0)
    return min(lever, 2 * stub.plastic_moment / n, max(bolts_tension - pull, 0.0)) / pull


def additional_bearing_width(thickness: float, proof: float, pressure: float) -> float:
    """m, c = t √(f_y/3 f_j): how far beyond its load a plate of that proof stress (Pa) spreads a bed
    pressure (Pa).
    """
    return thickness * math.sqrt(proof / (3 * pressure))


def bearing_area(
    washer: float, hole: float, plate: tuple[float, float, float] | None, pressure: float
) -> float:
    """m², of bed that carries one bolt: washer of diameter `washer` less the hole, or a plate's disc around
    it.

    plate : (thickness m, proof Pa, greatest diameter m that belongs to this bolt), None for a washer alone
    """
    across = washer
    if plate is not None:
        across = min(
            washer + 2 * additional_bearing_width(plate[0], plate[1], pressure), max(plate[2], washer)
        )
    return math.pi / 4 * (across**2 - hole**2)


@dataclass(frozen=True)
class LaminateHole:
    """A laminate around a bolt or pin: `thickness`, `end` from the hole's centre to the edge that it is
    pushed to, m.

    bearing : Pa, on d × t;   shear : Pa, in the plane, along tear-out lines;   through : Pa, shear through
      the thickness
    crushing : Pa, pressed through its thickness
    None where it is not known. As a guide (from memory): bearing 150 to 300 MPa, through 30 to 60 MPa for
    epoxy laminates.
    """

    thickness: float
    end: float
    bearing: float | None = None
    shear: float | None = None
    through: float | None = None
    crushing: float | None = None


def hole_checks(
    part: str, laminate: LaminateHole, diameter: float, force: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Bearing and tear-out of a laminate at a bolt or pin of `diameter`, m, pushed by `force` (cases,), N."""
    factor, cases = factors.safety_factor("bearing"), len(force)
    t, name, tear = laminate.thickness, "laminate in bearing", "laminate torn out"
    planes = 2 * max(laminate.end - diameter / 2, 0.0) * t
    found = (
        not_checked(part, name, cases, "no bearing strength of the laminate is given")
        if laminate.bearing is None
        else checked(part, name, force, laminate.bearing * diameter * t, "N", factor, COMMON_PRACTICE)
    )
    if laminate.shear is None or planes == 0:
        why = "no shear strength in the plane is given" if planes else "the hole breaks out of the edge"
        return found, not_checked(part, tear, cases, why)
    return found, checked(part, tear, force, laminate.shear * planes, "N", factor, COMMON_PRACTICE)


def washer_checks(
    part: str,
    laminate: LaminateHole,
    hole: float,
    washer: float,
    pull: FloatArray,
    factors: SafetyFactors,
    plate: tuple[float, float, float] | None = None,
) -> tuple[Check, ...]:
    """A bolt's washer (with a backing `plate`, see `bearing_area`) drawn into and through a laminate; pull
    (cases,), N.
    """
    factor, cases = factors.safety_factor("bearing"), len(pull)
    crushing, through = "laminate crushed under the washer", "washer drawn through the laminate"
    if laminate.crushing is None:
        why = "no strength through the laminate's thickness is given"
        return not_checked(part, crushing, cases, why), _pull_through_check(
            part, through, laminate, washer, pull, factors
        )
    area = bearing_area(washer, hole, plate, laminate.crushing)
    across = math.sqrt(area * 4 / math.pi + hole**2)
    return (
        checked(
            part, crushing, pull, laminate.crushing * area, "N", factor, "EN 1993-1-8 6.2.5, equation 6.5"
        ),
        _pull_through_check(part, through, laminate, across, pull, factors),
    )


def bolted_laminate_checks(
    part: str,
    laminate: LaminateHole,
    diameter: float,
    washer: float,
    forces: BoltForces,
    factors: SafetyFactors,
    plate: tuple[float, float, float] | None = None,
) -> tuple[Check, ...]:
    """All checks of the laminate at the worst bolt of every case."""
    shear, pull = forces.shear_magnitude.max(axis=-1), forces.pull.max(axis=-1)
    bearing = hole_checks(part, laminate, diameter, shear, factors)
    return (*bearing, *washer_checks(part, laminate, diameter, washer, pull, factors, plate))


def _pull_through_check(
    part: str, name: str, laminate: LaminateHole, across: float, pull: FloatArray, factors: SafetyFactors
) -> Check:
    if laminate.through is None:
        return not_checked(
            part, name, len(pull), "no shear strength through the laminate's thickness is given"
        )
    limit = math.pi * across * laminate.thickness * laminate.through
    return checked(part, name, pull, limit, "N", factors.safety_factor("bearing"), COMMON_PRACTICE)
