"""How the front end alone vibrates, dry: its lowest racking and twisting frequencies, classified by the stems' movement.

Without the mass of water that moves with the bows, of rig and sails, and of the boat behind the model: afloat all are lower.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.base.written import Unwritten
from femcore.solvers.buckling import is_stable
from femcore.solvers.vibration import natural_frequencies
from models.response.front_end import SIDES, FrontEnd

MAX_MODES = 12
RACKING, TWISTING = "racking", "twisting"


@dataclass(frozen=True, slots=True, eq=False)
class NaturalMode:
    """A natural mode of the front end under pretension alone.

    kind      : "racking" (stems up and down in turn), "twisting" (bows turn about their own axes), or what else leads
    frequency : Hz;   shape : (n, 6), 1 at its largest
    """

    kind: Annotated[str, Field(description="racking, twisting, or what else the stems do most")]
    frequency: Annotated[float, Field(description="Hz")]
    shape: Unwritten[FloatArray]


def natural_modes(front: FrontEnd) -> tuple[NaturalMode, ...]:
    """The lowest modes of the front end under pretension alone; none where a bow has no mass."""
    if not _has_mass(front):
        return ()
    modes = natural_frequencies(front.under_pretension, 0, MAX_MODES)
    return tuple(
        NaturalMode(_mode_kind(front, shape), float(value), shape)
        for value, shape in zip(modes.values, modes.shapes, strict=True)
    )


def require_natural_modes(front: FrontEnd) -> None:
    """The StructureFaults of `natural_modes`, without its work but for a front end that moves freely."""
    if _has_mass(front) and not is_stable(front.under_pretension):
        natural_frequencies(front.under_pretension, 0, 1)


def _has_mass(front: FrontEnd) -> bool:
    """Whether all of both bows has."""
    bows = [front.frame.members[f"{side} bow"].elements for side in SIDES]
    return all(front.frame.line_mass[bow].all() for bow in bows)


def lowest_mode(found: tuple[NaturalMode, ...], kind: str) -> NaturalMode | None:
    """The lowest mode of a kind, or None."""
    return next((mode for mode in found if mode.kind == kind), None)


def _mode_kind(front: FrontEnd, shape: FloatArray) -> str:
    """What the stems do most: each movement as a distance, a bow's twist at half the spacing of the bows."""
    stems = shape[[front.frame.node_index[front.places[f"{side} stem"].node] for side in SIDES]]
    half = front.boat.bows.spacing / 2
    antisymmetric, symmetric = np.abs(stems[0] - stems[1]) / 2, np.abs(stems[0] + stems[1]) / 2
    sizes = {
        RACKING: antisymmetric[2],
        "pitching": symmetric[2],
        TWISTING: half * max(antisymmetric[3], symmetric[3]),
        "swaying": symmetric[1],
        "opening": antisymmetric[1],
        "surging": max(symmetric[0], antisymmetric[0]),
    }
    leading = max(sizes, key=lambda kind: float(sizes[kind]))
    # where the bows move little it is the beam, the strut or the longeron that swings
    return leading if sizes[leading] > MIN_STEM_RATIO else "of the beam alone"


MIN_STEM_RATIO = 0.1
"""Of the mode's largest movement: less at both stems, and the bows are not what moves."""
