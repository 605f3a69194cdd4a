"""Rotary inertia of a section's walls."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from femcore.sections.outline import Section


def rotary_inertia(section: Section, about: ArrayLike) -> tuple[float, float, float]:
    """Rotary inertia per length about x, y, z through the point `about` (y, z, m), kg·m, walls thin.

    ∫ m (y² + z²) ds, ∫ m z² ds and ∫ m y² ds, m in kg/m²; along a straight wall from p to q the mean of y² is
    (p² + p q + q²)/3.
    """
    areal = np.array([wall.areal_mass for wall in section.walls])[section.wall_of]
    start, end = (section.points[section.segments[:, i]] - np.asarray(about, float) for i in (0, 1))
    square = (start**2 + start * end + end**2) / 3
    of_y, of_z = (areal * section.length) @ square
    return float(of_y + of_z), float(of_z), float(of_y)
