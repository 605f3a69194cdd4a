"""Forces and moments at named places, and nothing else."""

from __future__ import annotations

from typing import Literal

from cases.loads.base import LoadCase, PlaceLoad


class PointLoads(LoadCase):
    """Whatever `also` puts on the front end."""

    kind: Literal["points"]

    def loads(self) -> list[PlaceLoad]:
        """None of its own."""
        return []

    def words(self) -> str:
        """In one line."""
        return "loads at " + ", ".join(dict.fromkeys(load.place for load in self.also))
