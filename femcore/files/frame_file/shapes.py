"""Solid and simple hollow shapes, closed form, for frame files: area, second moments, torsion constant, shear areas.

Torsion of the rectangle is Saint-Venant's series (S.P. Timoshenko & J.N. Goodier, Theory of Elasticity, 3rd ed., sec. 109);
of the box Bredt's (W.C. Young & R.G. Budynas, Roark's Formulas, 7th ed., table 10.1 case 16, from memory). Shear coefficients
are Cowper's (J. Appl. Mech. 33 (1966) 335-340), with ν where the material gives it, else 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import model_validator

from femcore.base.errors import fault
from femcore.base.toml import Table
from femcore.base.units import Unit


@dataclass(frozen=True, slots=True)
class Properties:
    """A in m²; Iy, Iz, J in m⁴; shear areas Ay, Az in m², None: no shear deformation."""

    A: float
    Iy: float
    Iz: float
    J: float
    Ay: float | None
    Az: float | None


def rectangle_torsion(width: float, height: float) -> float:
    """J, m⁴, of a solid rectangle: (a b³/3)(1 − 192 b/(π⁵ a) Σ tanh(n π a/2b)/n⁵), n odd, a ≥ b."""
    a, b = max(width, height), min(width, height)
    n = np.arange(1, 200, 2)
    series = float(np.sum(np.tanh(n * np.pi * a / (2 * b)) / n**5))
    return a * b**3 / 3 * (1 - 192 * b / (np.pi**5 * a) * series)


class Round(Table):
    """A solid round bar."""

    shape: Literal["round"]
    diameter: Annotated[float, Unit("m", above=0)]
    shear: bool = False

    def properties(self, nu: float | None) -> Properties:
        """A, Iy, Iz, J, Ay, Az in SI."""
        d, v = self.diameter, nu or 0.0
        A, I = math.pi * d**2 / 4, math.pi * d**4 / 64
        shear = A * 6 * (1 + v) / (7 + 6 * v) if self.shear else None
        return Properties(A, I, I, 2 * I, shear, shear)


class Tube(Table):
    """A round tube."""

    shape: Literal["tube"]
    diameter: Annotated[float, Unit("m", above=0)]
    wall: Annotated[float, Unit("m", above=0)]
    shear: bool = False

    @model_validator(mode="after")
    def _hollow(self) -> Tube:
        _check_wall(self.wall, self.diameter / 2)
        return self

    def properties(self, nu: float | None) -> Properties:
        """A, Iy, Iz, J, Ay, Az in SI; the shear coefficient is that of a thin tube."""
        outer, inner, v = self.diameter, self.diameter - 2 * self.wall, nu or 0.0
        A, I = math.pi * (outer**2 - inner**2) / 4, math.pi * (outer**4 - inner**4) / 64
        shear = A * 2 * (1 + v) / (4 + 3 * v) if self.shear else None
        return Properties(A, I, I, 2 * I, shear, shear)


class Rectangle(Table):
    """A solid rectangle, `width` along the beam's y, `height` along its z."""

    shape: Literal["rectangle"]
    width: Annotated[float, Unit("m", above=0)]
    height: Annotated[float, Unit("m", above=0)]
    shear: bool = False

    def properties(self, nu: float | None) -> Properties:
        """A, Iy, Iz, J, Ay, Az in SI."""
        b, h, v = self.width, self.height, nu or 0.0
        shear = b * h * 10 * (1 + v) / (12 + 11 * v) if self.shear else None
        J = rectangle_torsion(b, h)
        return Properties(b * h, b * h**3 / 12, h * b**3 / 12, J, shear, shear)


class Box(Table):
    """A rectangular box of one wall thickness, outside `width` along y and `height` along z."""

    shape: Literal["box"]
    width: Annotated[float, Unit("m", above=0)]
    height: Annotated[float, Unit("m", above=0)]
    wall: Annotated[float, Unit("m", above=0)]
    shear: bool = False

    @model_validator(mode="after")
    def _hollow(self) -> Box:
        _check_wall(self.wall, min(self.width, self.height) / 2)
        return self

    def properties(self, nu: float | None) -> Properties:  # noqa: ARG002  (as the other shapes)
        """A, Iy, Iz, J, Ay, Az in SI; shear areas are those of the two walls parallel to the force."""
        b, h, t = self.width, self.height, self.wall
        inner_b, inner_h, mid_b, mid_h = b - 2 * t, h - 2 * t, b - t, h - t
        Ay, Az = (2 * mid_b * t, 2 * mid_h * t) if self.shear else (None, None)
        return Properties(
            A=b * h - inner_b * inner_h,
            Iy=(b * h**3 - inner_b * inner_h**3) / 12,
            Iz=(h * b**3 - inner_h * inner_b**3) / 12,
            J=2 * t * (mid_b * mid_h) ** 2 / (mid_b + mid_h),
            Ay=Ay,
            Az=Az,
        )


def _check_wall(wall: float, most: float) -> None:
    if wall > most:
        raise fault(f"has a wall of {wall:g} m that leaves no room inside", f"give at most {most:g} m")
