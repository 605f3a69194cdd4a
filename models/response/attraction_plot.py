"""A picture of one joint's attraction curve, for a notebook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib import pyplot as plt

from femcore.base.numbers import engineering, unit_prefix
from femcore.plotting import style
from models.response.attraction import AttractionCurve

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DECADES_SHOWN = 2.0
"""Below and above the half stiffness."""


def plot_attraction(curve: AttractionCurve, axes: Axes | None = None) -> Axes:
    """Moment at the joint per kN of racking force over its stiffness, its own and the half stiffness marked."""
    with style.drawing_style():
        if axes is None:
            axes = plt.subplots(figsize=(5.0, 3.6))[1]
        own = curve.joint_stiffness
        marks = [curve.k_half, *([own] if 0 < own < math.inf else [])]
        k = np.geomspace(min(marks) / 10**DECADES_SHOWN, max(marks) * 10**DECADES_SHOWN, 241)
        divisor, unit = unit_prefix(1000 * max(abs(curve.rigid_moment), abs(curve.free_moment)), "N·m")
        axes.plot(k, 1000 * np.abs(curve.moment(k)) / divisor, **style.series(0))
        clipped = float(np.clip(own, k[0], k[-1]))
        axes.plot(clipped, 1000 * abs(float(curve.moment(own))) / divisor, style.marker(0), clip_on=False)
        axes.axvline(curve.k_half, color=style.MUTED_COLOUR, lw=0.9, ls=style.DASHES[1])
        axes.set_xscale("log")
        axes.set_ylim(bottom=0.0)
        axes.set_title({"pitch": "Torque", "roll": "Vertical bending"}[curve.direction] + " at the joint")
        axes.set_xlabel(
            f"stiffness in {curve.direction}, N·m/rad; broken: half stiffness {engineering(curve.k_half, 'N·m/rad')}"
        )
        axes.set_ylabel(f"{unit} per kN of racking force")
    return axes
