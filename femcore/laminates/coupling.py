"""Which movements of a laminate come with others unasked, how strongly, and what that does to a beam made of
it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.laminates.laminate import Laminate

MIN_NOTICEABLE_COUPLING: Final = 0.01
"""A coupling below this part of its two direct stiffnesses is drowned by workmanship (common practice)."""

_EFFECTS: Final = {
    "bend-stretch": (
        "The wall bows when it is pulled or pressed: a beam of it bends under axial force, "
        "and its walls carry less compression before they buckle."
    ),
    "shear-stretch": (
        "The wall shears when it is pulled: a closed beam with all its walls alike twists under axial force, "
        "one with mirrored walls twists as it bends."
    ),
    "bend-twist": (
        "The wall twists when it is bent: small in a closed beam, but a strip or an open section of it "
        "twists as it bends."
    ),
}


@dataclass(frozen=True)
class Coupling:
    """One coupling: `size` is its largest term over the root of the two stiffnesses that it ties, 0 to 1."""

    name: str
    size: float
    terms: str
    effect: str

    @property
    def is_noticeable(self) -> bool:
        """Whether it is more than workmanship would cause anyway."""
        return self.size > MIN_NOTICEABLE_COUPLING


def couplings(laminate: Laminate) -> tuple[Coupling, ...]:
    """Bend–stretch (all of B), shear–stretch (A16, A26) and bend–twist (D16, D26), in that order.

    |K_ij|/√(K_ii K_jj) of a positive stiffness is always below one, whatever the units.
    """
    direct = np.sqrt(np.diag(laminate.stiffness))
    size = np.abs(laminate.stiffness) / np.outer(direct, direct)
    found = {
        "bend-stretch": (size[:3, 3:].max(), "B"),
        "shear-stretch": (size[:2, 2].max(), "A16, A26"),
        "bend-twist": (size[3:5, 5].max(), "D16, D26"),
    }
    return tuple(Coupling(name, float(s), terms, _EFFECTS[name]) for name, (s, terms) in found.items())
