"""Parts of the front end warmer than they were when the boat was built, and so longer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from pydantic import model_validator

from cases.loads.base import LoadCase, PlaceLoad, fault
from femcore.documents import unknown
from femcore.errors import InputFault
from femcore.units import Unit
from models.front_end import CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, FrontEnd

Change = Annotated[float, Unit("K")]
PARTS = {
    "bows": tuple(f"{side} bow" for side in SIDES),
    "crossbeam": (CROSSBEAM,),
    "striker": (STRIKER,),
    "martingale": tuple(f"{side} martingale" for side in SIDES),
    "longeron": (LONGERON, PROD),
}
"""Key of the case → members of the frame."""


class Temperature(LoadCase):
    """A temperature change of each part, uniform over it; those left out keep theirs.

    The root of the bows does not move: what the platform itself expands is to be taken off.
    """

    kind: Literal["temperature"]
    bows: Change = 0.0
    crossbeam: Change = 0.0
    striker: Change = 0.0
    martingale: Change = 0.0
    longeron: Change = 0.0

    @model_validator(mode="after")
    def _something(self) -> Temperature:
        if not self._changes:
            raise fault(
                "changes no temperature",
                f'give one of {", ".join(PARTS)}, such as crossbeam = "30 delta_degC"',
            )
        return self

    @property
    def _changes(self) -> dict[str, float]:
        return {part: getattr(self, part) for part in PARTS if getattr(self, part)}

    def loads(self) -> list[PlaceLoad]:
        """None."""
        return []

    def warmth(self) -> dict[str, float]:
        """K, by member."""
        return {member: change for part, change in self._changes.items() for member in PARTS[part]}

    def words(self) -> str:
        """In one line."""
        warmer = [
            f"{part} {abs(k):.3g} K {'warmer' if k > 0 else 'colder'}" for part, k in self._changes.items()
        ]
        return ", ".join(warmer)

    def faults(self, places: Iterable[str], front: FrontEnd | None = None) -> list[InputFault]:
        """Those of any case; and a part that the boat does not have, or whose expansion is not known."""
        wrong = super().faults(places, front)
        if front is None:
            return wrong
        here, frame = f"cases '{self.name}'", front.frame
        for part in self._changes:
            first = PARTS[part][0]
            if first not in frame.members and first not in frame.cables.names:
                known = [p for p in PARTS if PARTS[p][0] in frame.members]
                wrong.append(unknown(here, "part", part, known))
            elif first in frame.members and not frame.expansion[frame.members[first].elements].any():
                cure = f'give it, such as expansion = "23e-6 1/K" for alloy, or leave {part} out of the case'
                wrong.append(InputFault(here, f"the {part} has no expansion", cure))
        return wrong
