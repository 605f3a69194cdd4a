"""What every load case gives: forces and moments at named places, and perhaps a movement to be reached."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.documents import Table, unknown
from femcore.errors import InputFault
from femcore.frame import FloatArray
from femcore.units import UnitVector
from models.front_end import FrontEnd

Force = Annotated[tuple[float, float, float], UnitVector("N")]
Moment = Annotated[tuple[float, float, float], UnitVector("N*m")]


class PlaceLoad(Table):
    """A force and a moment at a named place of the front end, boat axes."""

    place: str
    force: Force = (0.0, 0.0, 0.0)
    moment: Moment = (0.0, 0.0, 0.0)


class LoadCase(Table):
    """One case of a boat file; `also` adds loads at named places to any kind."""

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    also: list[PlaceLoad] = []

    @abstractmethod
    def loads(self) -> list[PlaceLoad]:
        """The loads of this kind, without `also`."""

    @abstractmethod
    def words(self) -> str:
        """What the case is, in one line."""

    def heave_to_reach(self) -> float | None:
        """m: differential heave of the stems that the loads are scaled to reach; None where they stand as they are."""
        return None

    def all_loads(self) -> list[PlaceLoad]:
        """Everything that acts."""
        return [*self.loads(), *self.also]

    def faults(self, places: Iterable[str]) -> list[InputFault]:
        """A fault for every place that the boat does not have."""
        known = list(places)
        here = f"cases '{self.name}'"
        return [unknown(here, "place", load.place, known) for load in self.all_loads() if load.place not in known]


def nodal_loads(front: FrontEnd, loads: Iterable[PlaceLoad]) -> FloatArray:
    """(n, 6), N and N·m: loads at places as forces and moments on the frame's nodes."""
    nodal = np.zeros((len(front.frame.nodes), 6))
    for load in loads:
        place = front.places[load.place]
        force = np.array(load.force)
        nodal[front.frame.node_index[place.node]] += (*force, *(np.array(load.moment) + np.cross(place.arm, force)))
    return nodal
