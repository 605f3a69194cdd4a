"""Nominal stresses of a load-carrying fillet weld for fatigue: in the plate at the toe, and in the throat at the root.

- toe: normal stress in the plate beside the weld, N/A and both bendings added (beam theory);
- root: σ_wf = √(σ⊥² + τ⊥²) across the throat, τ_wf = τ∥ along it (EN 1993-1-9:2005 5(6); from memory). In a 45° fillet of
  throat a σ⊥² + τ⊥² = (n² + v²)/a², n and v the forces per length out of the foot and across the weld (`weld`).

Welded joints live by ranges, whatever their mean. All are magnitudes, of the worst place along both fillets, so that forces that
come together are taken as if in step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.welds.weld import MIN_STEEL_MODULUS, FilletGroup, FilletPair, weld_line_forces


@dataclass(frozen=True, eq=False)
class WeldStresses:
    """Of a weld, named as the part: (cases,), Pa, in the plate at its toe, across its throat, along its throat."""

    part: str
    steel: bool
    toe: FloatArray
    root: FloatArray
    shear: FloatArray


def group_stresses(part: str, welds: FilletGroup, thickness: float, loads: FloatArray) -> WeldStresses:
    """Of fillets around plates of `thickness`, m, under loads (cases, 6) at the foot, in the axes of an attachment, at the worst
    end of a line. The plate has what both its fillets carry: 2n/t beside the toe.
    """
    flows = np.abs(welds.flows(np.asarray(loads, dtype=float)))
    n, across, along = np.moveaxis(flows, -1, 0)
    return WeldStresses(
        part,
        welds.metal.E > MIN_STEEL_MODULUS,
        2 * n.max(axis=1) / thickness,
        np.hypot(n, across).max(axis=1) / welds.throat,
        along.max(axis=1) / welds.throat,
    )


def weld_stresses(part: str, weld: FilletPair, loads: FloatArray) -> WeldStresses:
    """Of two fillets at a plate's foot under loads (cases, 6) there, in the axes of a lug, or under their ranges."""
    _, F2, _, M1, _, M3 = np.abs(np.asarray(loads, dtype=float)).T
    w, t = weld.length, weld.thickness
    toe = F2 / (w * t) + 6 * M1 / (t * w**2) + 6 * M3 / (w * t**2)
    n, v1, v3 = weld_line_forces(weld, loads).T / weld.throat
    return WeldStresses(part, weld.metal.E > MIN_STEEL_MODULUS, toe, np.hypot(n, v1), v3)
