"""A sheet's pull on the front end by the sailmakers' formula.

F = 0.00431 lbf/(ft² kn²) A V² of the headsail's sheet (a deck gear catalogue's loading formulas, “genoa sheet load”, read;
0.02104 kgf/(m² kn²) there; B. Toss, The Complete Rigger's Apprentice, p. 407, gives this text as Harken's):
0.206 N/(m² kn²), V the apparent wind.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cases.loads.base import LoadCase, PlaceLoad, at, degrees
from cases.loads.origin import Origin
from cases.loads.pull import UpwardAngle, pull_vector
from femcore.base.numbers import engineering
from femcore.base.units import Unit

POUND_FORCE, FOOT, KNOT = 4.4482216152605, 0.3048, 1852 / 3600
"""N, m, m/s, by definition."""
SHEET_COEFFICIENT = 0.00431 * POUND_FORCE / FOOT**2
"""N/(m² kn²)."""


class Sheet(LoadCase):
    """The sheet of a sail of `area`, m², in an apparent wind of `wind`, m/s, on a block or lead at `place`.

    turn       : the block's load over the sheet's; left out 1, a sheet that ends there; 2 where it comes back the way it led
    rake, lean : rad, of the pull aft of vertical, and over to port
    """

    from_boat: ClassVar[Mapping[str, str]] = {"area": "headsail_area"}
    kind: Literal["sheet"] = "sheet"
    area: Annotated[float, Unit("m**2", above=0, most=5000.0)]
    wind: Annotated[float, Unit("m/s", above=0, most=100.0)]
    turn: Annotated[float, Field(gt=0, le=2)] = 1.0
    rake: UpwardAngle
    lean: UpwardAngle = 0.0
    place: str = "beam centre"

    @property
    def sheet_load(self) -> float:
        """N: 0.206 A V², V in knots."""
        return SHEET_COEFFICIENT * self.area * (self.wind / KNOT) ** 2

    def loads(self) -> list[PlaceLoad]:
        """The pull of the sheet's block."""
        return [at(self.place, pull_vector(self.turn * self.sheet_load, self.rake, self.lean), name="sheet")]

    def what(self) -> str:
        """In one line."""
        knots = f"{self.wind / KNOT:.3g} kn"
        pull = engineering(self.turn * self.sheet_load, "N")
        return f"sheet of {self.area:.3g} m² in {knots}: {pull} at the {self.place}, {degrees(self.rake)} aft of vertical"

    def origin(self) -> Origin:
        """The sailmakers' formula with its numbers."""
        return Origin(
            "sailmakers' formula for headsail sheets, 0.00431 lbf/(ft² kn²) (a deck gear catalogue, read; common practice)",
            f"F = {SHEET_COEFFICIENT:.3g} N/(m² kn²) A V² = {SHEET_COEFFICIENT:.3g} × {self.area:.3g} m² × "
            f"({self.wind / KNOT:.3g} kn)² = {engineering(self.sheet_load, 'N')}; × {self.turn:.3g} on the block",
            "headsails sheeted in, V the apparent wind",
            inside=True,
            basis="estimated",
        )
