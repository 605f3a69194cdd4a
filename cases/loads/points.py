"""Forces and moments at named places, loads along members, and nothing else."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from cases.loads.base import LoadCase, PlaceLoad
from femcore.base.errors import fault


class PointLoads(LoadCase):
    """Whatever `also` and `line` put on the front end."""

    kind: Literal["points"] = "points"

    @model_validator(mode="after")
    def _check_not_empty(self) -> PointLoads:
        if not self.also and not self.line:
            raise fault("has no loads", "add [[cases.also]] with a place and a force")
        return self

    def loads(self) -> list[PlaceLoad]:
        """None of its own."""
        return []

    def what(self) -> str:
        """In one line."""
        where = [load.place for load in self.also] + [f"the {load.member}" for load in self.line]
        return "loads at " + ", ".join(dict.fromkeys(where))
