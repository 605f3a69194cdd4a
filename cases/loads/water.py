"""Pressure of water that is met at speed."""

from __future__ import annotations

import math
from typing import Annotated

from cases.loads.net import SEA_WATER
from femcore.base.units import STANDARD_GRAVITY, Unit

Speed = Annotated[float, Unit("m/s", above=0, most=50.0)]
BREAKING_STEEPNESS = 0.142
"""Height over length of the steepest wave in deep water (J.H. Michell, 1893; 1/7 by W. Bascom, Waves and Beaches, 1980, p. 41,
and 0.14 by R. Miche, 1944, read as quoted; the third digit from memory): it breaks there."""


def dynamic_pressure(speed: float) -> float:
    """Pa: ½ ρ V² in sea water, for a speed in m/s."""
    return 0.5 * SEA_WATER * speed**2


def breaker_speed(height: float) -> float:
    """m/s: c = √(g L/2π) of a breaking wave in deep water, L = height/0.142, height in m; water at its crest moves as fast."""
    return math.sqrt(STANDARD_GRAVITY * height / BREAKING_STEEPNESS / (2 * math.pi))
