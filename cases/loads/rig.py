"""The forestay's pull on the crossbeam: up, aft, and torque where the stay's line misses the beam's axis."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import PrivateAttr, field_validator, model_validator

from cases.loads.base import LoadCase, PlaceLoad, Vector, at, exactly_one, fault
from cases.loads.pull import Angle, Pull, Tension, checked_angle, pull_vector
from cases.loads.tension import TensionEstimate, TensionSpread
from femcore.units import Unit, engineering
from models.boat_file import Boat


class Rig(LoadCase):
    """A stay raked aft of vertical by `rake`, at the boat's stay place; its tension entered or estimated.

    pretension : N, at rest: a case of its own, and the least that an estimate is taken as
    side_load  : N/m, of the headsail on the stay, to port; half of it, over the `length` (m), is at the
                 foot a side pull (statics of a line hung between its ends)
    inner      : further stays and their places
    """

    kind: Literal["rig"]
    tension: Tension | None = None
    estimate: TensionEstimate | None = None
    rake: Angle
    pretension: Tension | None = None
    side_load: Annotated[float, Unit("N/m")] = 0.0
    length: Annotated[float, Unit("m", above=0)] | None = None
    inner: list[Pull] = []
    _spread: TensionSpread | None = PrivateAttr(None)

    @field_validator("rake")
    @classmethod
    def _a_stay(cls, rake: float) -> float:
        return checked_angle("rake", rake)

    @model_validator(mode="after")
    def _known(self) -> Rig:
        exactly_one(self, "tension", "estimate")
        if self.side_load and self.length is None:
            raise fault(
                "has a side_load on a stay of no length", 'give the stay\'s length, such as length = "15 m"'
            )
        return self

    @property
    def spread(self) -> TensionSpread | None:
        """The estimates that the tension was taken from; None where it was entered, or before `expand`."""
        return self._spread

    @property
    def stay_tension(self) -> float:
        """N; ValueError where it is still to be estimated, which `expand` does."""
        if self.tension is None:
            raise ValueError(f"the tension of '{self.name}' is estimated for a boat: expand the case first")
        return self.tension

    @property
    def pull(self) -> Vector:
        """N, boat axes: T (−sin ρ, 0, cos ρ)."""
        return pull_vector(self.stay_tension, self.rake)

    @property
    def sag(self) -> float | None:
        """m: w L²/(8 T), how far the side load bows the stay out; None without one or where slack."""
        if self.length is None or not self.side_load or not self.stay_tension:
            return None
        return abs(self.side_load) * self.length**2 / (8 * self.stay_tension)

    def expand(self, boat: Boat) -> list[LoadCase]:
        """With its tension known; and, where a pretension is given, the rig at rest."""
        under_way = self
        if self.estimate is not None:
            spread = self.estimate.spread(boat.bows.spacing, self.rake)
            tension = max(spread.taken, self.pretension or 0.0)
            under_way = self.model_copy(update={"tension": tension, "estimate": None, "pretension": None})
            under_way._spread = spread  # noqa: SLF001  (its own class)
        if self.pretension is None:
            return [under_way]
        at_rest = {
            "name": f"{self.name}, at rest",
            "tension": self.pretension,
            "estimate": None,
            "side_load": 0.0,
        }
        at_rest |= {"pretension": None, "inner": [], "also": [], "line": []}
        return [under_way.model_copy(update={"pretension": None}), self.model_copy(update=at_rest)]

    def loads(self) -> list[PlaceLoad]:
        """The pull at the stay attachment, and those of inner stays."""
        along_x, _, along_z = self.pull
        to_port = self.side_load * (self.length or 0.0) / 2
        return [at("stay", (along_x, to_port, along_z)), *(stay.load for stay in self.inner)]

    def words(self) -> str:
        """In one line."""
        if self.tension is None:
            return f"stay at an estimated tension, raked {math.degrees(self.rake):.3g}° aft of vertical"
        words = (
            f"stay at {engineering(self.tension, 'N')}, raked {math.degrees(self.rake):.3g}° aft of vertical"
        )
        if (spread := self._spread) is not None:
            low, high = engineering(spread.lowest, "N"), engineering(spread.highest, "N")
            how = f"{spread.choice} of {len(spread.estimates)} estimates"
            held = " or the pretension" if self.tension > spread.taken else ""
            words += f" ({how}{held}; they run from {low} to {high})"
        if (sag := self.sag) is not None:
            words += f", bowed out {engineering(sag, 'm')} by the headsail"
        return words + ("" if not self.inner else f", with {len(self.inner)} inner")


@dataclass(frozen=True, slots=True)
class StayLine:
    """How the stay's line passes the crossbeam's shear centre.

    up, aft              : N, components of the pull
    offset               : m, from the shear centre square to the line, positive: the pull turns the bow down
    torque               : N·m about the beam's axis, positive bow down
    torque_free_forward  : m, where the attachment would have to be, at its own height, for no torque
    """

    up: float
    aft: float
    offset: float
    torque: float
    torque_free_forward: float


def stay_line(rig: Rig, forward: float, up: float) -> StayLine:
    """The geometry of a stay attached `forward` of and `up` from the shear centre, m.

    The torque is y of r × T: up·Tx − forward·Tz; it vanishes where the line, produced, meets the centre.
    """
    along_x, _, along_z = rig.pull
    arm = -up * math.sin(rig.rake) - forward * math.cos(rig.rake)
    return StayLine(along_z, -along_x, arm, rig.stay_tension * arm, -up * math.tan(rig.rake))
