"""What is known of a boat's stiffness before a test, and how it is written after: scatter of the factors that a test finds.

Scatter is that of the boat's file, or by kind (`cases.input.scatter`), as a standard deviation of the logarithm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from scipy import special

from cases.input.boat_file import BoatFile
from cases.input.scatter import ScatteredInput, scattered_inputs
from femcore.base.arrays import FloatArray
from models.boat.calibration import FACTORS
from models.response.boat_on_test import JOINT_FACTORS
from models.response.calibrated_frame import member_powers

MEMBERS = ("platform_EI", "platform_fore_to_aft")
"""Factors that the scatter of each member by itself stands for."""
JOINT_STIFFNESS = "joint_stiffness"


def prior_scatter(file: BoatFile, joint: str) -> dict[str, float]:
    """Standard deviation of the logarithm of each factor that scatters, by its name."""
    inputs = scattered_inputs(file)
    found = {one.key: log_scatter(one) for one in inputs if one.key in FACTORS and one.key not in MEMBERS}
    each = {one.part: log_scatter(one) for one in inputs if one.key == "platform_EI"}
    if each and file.platform is not None:
        variance = np.array([each.get(member.name, 0.0) ** 2 for member in file.platform.members])
        common, fore_to_aft = np.sqrt(np.diag(_of_members(file) @ (variance[:, None] * _of_members(file).T)))
        found |= dict(zip(MEMBERS, (float(common), float(fore_to_aft)), strict=True))
    own = [log_scatter(one) for one in inputs if (one.key, one.part) == (JOINT_STIFFNESS, joint)]
    return found | dict.fromkeys(JOINT_FACTORS, own[0]) if own else found


def log_scatter(one: ScatteredInput) -> float:
    """Half of the logarithm's distance between the quantiles that are one standard deviation from a normal's middle."""
    low, high = (float(one.distribution.ppf(special.ndtr(side))) for side in (-1.0, 1.0))
    return math.log(high / low) / 2


def scatter_after(file: BoatFile, after: Mapping[str, float]) -> dict[str, str]:
    """Keys of [scatter] → what to write there, of the standard deviations of logarithms that a test left.

    Members of a platform scatter each on its own in a file: enough that neither their mean nor their ratio scatters less than
    the test leaves it. A joint has none: the file's `joint_stiffness` is of every joint.
    """
    found = {key: size for key, size in after.items() if key in FACTORS and key not in MEMBERS}
    if file.platform is not None and all(key in after for key in MEMBERS):
        rows = np.linalg.norm(_of_members(file), axis=1)
        found["platform_EI"] = max(
            after[key] / float(row) for key, row in zip(MEMBERS, rows, strict=True) if row
        )
    return {key: f"± {100 * math.sqrt(math.expm1(size**2)):.2g} %" for key, size in found.items()}


def _of_members(file: BoatFile) -> FloatArray:
    """(2, members): the logarithms of mean and of fore over aft from those of all members, by least squares."""
    power = member_powers(file.platform)
    stations = [] if file.platform is None else [member.station for member in file.platform.members]
    return np.asarray(np.linalg.pinv(np.array([[1.0, power(x)] for x in stations]).reshape(-1, 2)))
