"""Forces and moments at named places, and nothing else."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from cases.loads.base import LoadCase, PlaceLoad


class PointLoads(LoadCase):
    """Whatever `also` puts on the front end."""

    kind: Literal["points"]

    @model_validator(mode="after")
    def _something(self) -> PointLoads:
        if not self.also:
            context = {"wrong": "has no loads", "cure": "add [[cases.also]] with a place and a force"}
            raise PydanticCustomError("forebeam", "{wrong}; {cure}", context)
        return self

    def loads(self) -> list[PlaceLoad]:
        """None of its own."""
        return []

    def words(self) -> str:
        """In one line."""
        return "loads at " + ", ".join(dict.fromkeys(load.place for load in self.also))
