"""Cloths as they come off the roll, and the layers that a cloth becomes once wetted out and cured.

A cloth is a weight per area of fibre in one or more directions. Cured, it is as thick as its fibre needs at
the fibre volume fraction of the process: t = w/(ρf Vf). Each direction becomes a unidirectional layer of its
own, so that the stresses along and across each fibre can be recovered:

| cloth | layers, in the order in which they lie | angle `a` |
| --- | --- | --- |
| ``uni`` | a | of the fibre |
| ``db`` (double-bias, stitched) | +a, −a | half the angle between the fibres; 45° if left out |
| ``biax`` (stitched) | a, a + 90° | of the first layer |
| ``woven`` (balanced) | a, a + 90°, a + 90°, a (a quarter each: a weave is symmetric) | of the warp |
| ``csm`` (chopped strand mat) | one isotropic layer | none |

Weaving bends the fibres: the straightness of ``cloths.toml`` scales their stiffness, and their compressive
strength once more. Void-free; stitching and binder weigh nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from femcore.base.errors import InputFault
from femcore.materials.constituents import Fibre, Resin
from femcore.materials.lamina import Lamina
from femcore.materials.micromechanics import DEFAULT_MODEL, random_mat, unidirectional
from femcore.materials.records import Record, quantity

QUARTER_TURN: Final = math.pi / 2


@dataclass(frozen=True, kw_only=True)
class Cloth(Record):
    """A kind of cloth; `straightness` is the part of the fibre's stiffness that crimp leaves."""

    straightness: float = quantity("")


@dataclass(frozen=True, kw_only=True)
class Process(Record):
    """A way to laminate; for each kind of cloth the fibre volume fraction that it typically reaches."""

    uni: float = quantity("")
    db: float = quantity("")
    biax: float = quantity("")
    woven: float = quantity("")
    csm: float = quantity("")

    def fibre_volume(self, cloth: Cloth) -> float:
        """The typical fibre volume fraction of `cloth` laid this way."""
        return float(getattr(self, cloth.name))


@dataclass(frozen=True)
class ClothLayer:
    """One direction of a cured cloth: its material, its thickness (m), where its fibres point (rad)."""

    lamina: Lamina
    thickness: float
    angle: float


def directions(cloth: str, angle: float) -> tuple[float, ...]:
    """Fibre directions of a cloth's layers (rad), in the order in which they lie, each of equal weight."""
    across = angle + QUARTER_TURN
    layers = {
        "uni": (angle,),
        "db": (angle, -angle),
        "biax": (angle, across),
        "woven": (angle, across, across, angle),
        "csm": (0.0,),
    }
    return layers[cloth]


def cured(
    cloth: Cloth,
    fibre: Fibre,
    resin: Resin,
    *,
    areal_weight: float,
    Vf: float,
    angle: float = 0.0,
    model: str = DEFAULT_MODEL,
) -> tuple[ClothLayer, ...]:
    """The layers of one cloth of `areal_weight` (kg/m² of dry fibre) at the fibre volume fraction `Vf`.

    Raises InputFault for a weight that is not above zero and for what `unidirectional` refuses.
    """
    if not areal_weight > 0:
        wrong = f"a cloth of {1000 * areal_weight:g} g/m² is impossible"
        raise InputFault(f"cloth {cloth.name}", wrong, "give a weight above zero, such as 300")
    make = random_mat if cloth.name == "csm" else unidirectional
    lamina = make(fibre, resin, Vf, model=model, straightness=cloth.straightness)
    angles = directions(cloth.name, angle)
    thickness = areal_weight / (fibre.density * Vf) / len(angles)
    return tuple(ClothLayer(lamina, thickness, each) for each in angles)
