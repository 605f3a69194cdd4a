"""The stay's line in a rig case at other sags, its tension along the chord kept."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Annotated

from pydantic import Field

from cases.input.boat_file import BoatFile
from cases.loads.rig import Rig
from cases.loads.sag import StayLine, sagging_stay_line

SAGS = (0.005, 0.01, 0.015, 0.02, 0.03, 0.05)
"""Of the span; a stay in use sags by one to two per cent (common practice)."""


@dataclass(frozen=True, slots=True)
class SaggedStayLine(StayLine):
    """The stay's line in a rig case as it would be at some sag, its tension along the chord kept."""

    load: Annotated[float, Field(description="N, the sail's whole load on the stay that bows it so")]
    own: Annotated[bool, Field(description="whether this is the case as it is run")]


def stay_line_over_sag(file: BoatFile, rig: Rig) -> list[SaggedStayLine]:
    """The stay of a case without sag, sagging aft, to port, and as the case has it."""
    sagging_stay, stay = rig.sagging_stay, file.stay
    own = (sagging_stay.aft, sagging_stay.side)
    sags = [(0.0, 0.0), *((sag, 0.0) for sag in SAGS), *((0.0, sag) for sag in SAGS), own]
    return [
        SaggedStayLine(
            **asdict(sagging_stay_line(at, stay.forward, stay.up, rig.scale)),
            load=at.load * abs(rig.scale),
            own=(aft, side) == own,
        )
        for aft, side in dict.fromkeys(sags)
        for at in [replace(sagging_stay, aft=aft, side=side)]
    ]
