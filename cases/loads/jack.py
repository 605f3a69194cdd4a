"""One bow lifted: on a jack, in a strop, or aground."""

from __future__ import annotations

from typing import Annotated, Literal

from cases.loads.base import MAX_FORCE, LoadCase, PlaceLoad, at
from femcore.base.numbers import engineering
from femcore.base.units import Unit


class Jack(LoadCase):
    """A force upwards under one bow, at its stem or where the crossbeam meets the hull."""

    kind: Literal["jack"] = "jack"
    force: Annotated[float, Unit("N", above=0, most=MAX_FORCE)]
    side: Literal["port", "starboard"] = "port"
    under: Literal["stem", "hull at beam"] = "stem"

    def loads(self) -> list[PlaceLoad]:
        """The force."""
        return [at(f"{self.side} {self.under}", (0.0, 0.0, self.force))]

    def what(self) -> str:
        """In one line."""
        return f"{engineering(self.force, 'N')} up under the {self.side} {self.under}"
