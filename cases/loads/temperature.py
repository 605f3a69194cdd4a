"""Temperature changes of parts of the front end since the boat was built, and their expansion."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

import numpy as np
from pydantic import model_validator

from cases.loads.base import LoadCase, PlaceLoad
from cases.loads.origin import Origin
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault
from femcore.base.toml import unknown
from femcore.base.units import Unit
from models.response.front_end import (
    CROSSBEAM,
    LONGERON,
    MARTINGALE,
    MARTINGALE_STAYS,
    PROD,
    SIDES,
    STRIKER,
    FrontEnd,
)

MAX_TEMPERATURE_CHANGE = 500.0
"""K: beyond it nothing of a boat is left."""
TemperatureChange = Annotated[float, Unit("K", most=MAX_TEMPERATURE_CHANGE)]
PARTS = {
    "bows": tuple(f"{side} bow" for side in SIDES),
    "crossbeam": (CROSSBEAM,),
    "striker": (STRIKER,),
    "martingale": (MARTINGALE, *MARTINGALE_STAYS),
    "longeron": (LONGERON, PROD),
}
"""Key of the case → members of the frame."""


class Temperature(LoadCase):
    """A temperature change of each part, uniform over it; those left out keep theirs.

    The platform keeps its temperature: what it expands itself is to be taken off.
    """

    kind: Literal["temperature"] = "temperature"
    bows: TemperatureChange = 0.0
    crossbeam: TemperatureChange = 0.0
    striker: TemperatureChange = 0.0
    martingale: TemperatureChange = 0.0
    longeron: TemperatureChange = 0.0

    @model_validator(mode="after")
    def _check_not_empty(self) -> Temperature:
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

    def temperature_changes(self) -> dict[str, float]:
        """K, by member."""
        return {member: change for part, change in self._changes.items() for member in PARTS[part]}

    def what(self) -> str:
        """In one line."""
        temperature_rise = [
            f"{part} {abs(k):.3g} K {'warmer' if k > 0 else 'colder'}" for part, k in self._changes.items()
        ]
        return ", ".join(temperature_rise)

    def origin(self) -> Origin:
        """Free growth, of which the frame hinders some."""
        return Origin(
            "entered; linear expansion",
            "free growth ε = α ΔT, α of each part as the file gives it",
            basis="entered",
        )

    def faults(self, places: Iterable[str], front: FrontEnd | None = None) -> list[InputFault]:
        """Those of any case; and a part that the boat does not have, or whose expansion is not known."""
        wrong = super().faults(places, front)
        if front is None:
            return wrong
        here = f"cases '{self.name}'"
        for part in self._changes:
            expansion = _expansion(front, part)
            if not expansion.size:
                known = [key for key in PARTS if _expansion(front, key).size]
                wrong.append(unknown(here, "part", part, known))
            elif not expansion.any():
                cure = f'give it, such as expansion = "23e-6 1/K" for alloy, or leave {part} out of the case'
                wrong.append(InputFault(here, f"the {part} has no expansion", cure))
        return wrong


def _expansion(front: FrontEnd, part: str) -> FloatArray:
    """1/K, of every element and cable of a part; empty where the boat does not have it."""
    frame = front.frame
    runs = [frame.expansion[frame.members[name].elements] for name in PARTS[part] if name in frame.members]
    named = np.isin(np.array(frame.cables.names, dtype=str), PARTS[part])
    return np.concatenate([*runs, frame.cables.expansion[named]])
