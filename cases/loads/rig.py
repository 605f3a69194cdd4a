"""The forestay's pull on the crossbeam: up, aft, and what becomes torque because the stay's line misses the beam's axis."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import field_validator
from pydantic_core import PydanticCustomError

from cases.loads.base import LoadCase, PlaceLoad
from femcore.units import Unit, engineering


class Rig(LoadCase):
    """A stay of known tension, raked aft of vertical by `rake`, at the boat's stay attachment."""

    kind: Literal["rig"]
    tension: Annotated[float, Unit("N", least=0)]
    rake: Annotated[float, Unit("rad")]

    @field_validator("rake")
    @classmethod
    def _a_stay(cls, rake: float) -> float:
        if not abs(rake) < math.pi / 2:
            context = {
                "wrong": f"a rake of {math.degrees(rake):g}° is no stay's",
                "cure": "give the angle aft of vertical, below 90 deg",
            }
            raise PydanticCustomError("forebeam", "{wrong}; {cure}", context)
        return rake

    @property
    def pull(self) -> tuple[float, float, float]:
        """N, boat axes: T (−sin ρ, 0, cos ρ)."""
        return -self.tension * math.sin(self.rake), 0.0, self.tension * math.cos(self.rake)

    def loads(self) -> list[PlaceLoad]:
        """The pull at the stay attachment."""
        return [PlaceLoad.model_construct(place="stay", force=self.pull, moment=(0.0, 0.0, 0.0))]

    def words(self) -> str:
        """In one line."""
        return f"stay at {engineering(self.tension, 'N')}, raked {math.degrees(self.rake):.3g}° aft of vertical"


@dataclass(frozen=True, slots=True)
class StayLine:
    """How the stay's line passes the crossbeam's shear centre.

    up, aft              : N, components of the pull
    offset               : m, from the shear centre square to the line, positive where the pull turns the bow down
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

    The torque is y of r × T: up·Tx − forward·Tz; it vanishes where the line, produced, meets the shear centre.
    """
    along_x, _, along_z = rig.pull
    arm = -up * math.sin(rig.rake) - forward * math.cos(rig.rake)
    return StayLine(along_z, -along_x, arm, rig.tension * arm, -up * math.tan(rig.rake))
