"""The net dropped on water as the bows fall: drag of its threads, with the water that passes its openings left out.

p = ½ ρ C_D φ V² over the net's area, φ its solidity: what part of it is thread. C_D 2 is a flat plate's (S.F. Hoerner,
Fluid-Dynamic Drag, 1965, from memory; of a long one 1.98, Aeronautical Engineer's Data Book, p. 95, read), an upper bound for
threads (1.20 of long round ones, same table) that makes up for the water's being faster in the openings than ahead of them: up to
φ = 0.3 it is above the loss of a screen that all of the water must pass,
1.3 φ + (φ/(1 − φ))² (I.E. Idelchik, Handbook of Hydraulic Resistance, from memory).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cases.loads.base import LoadCase, PlaceLoad, expanded_case
from cases.loads.net import LacedNet, Net
from cases.loads.origin import Origin
from cases.loads.water import Speed, dynamic_pressure
from femcore.base.numbers import engineering
from models.boat.boat import Boat

PLATE_DRAG = 2.0
MAX_SOLIDITY = 0.3
"""A denser net dams the water up, and between the hulls the water cannot all pass around it."""


class NetSlam(LacedNet):
    """Water that meets the nets from below at `speed`, m/s; edges and lacing as of a net (`cases.loads.net`).

    solidity : φ, thread over the whole area;   drag : C_D of the threads, on their area
    """

    kind: Literal["net slam"] = "net slam"
    speed: Speed
    solidity: Annotated[float, Field(gt=0, le=1)] = 0.3
    drag: Annotated[float, Field(gt=0, le=5)] = PLATE_DRAG

    @property
    def pressure(self) -> float:
        """Pa: ½ ρ C_D φ V²."""
        return dynamic_pressure(self.speed) * self.drag * self.solidity

    def net(self) -> Net:
        """The net under that pressure, as if it came from above."""
        shared = ("name", "sag", "lacing", "begin", "side", "beam_aft", "beam_up", "hull_up")
        return Net(pressure=self.pressure, **{key: getattr(self, key) for key in shared})

    def loads(self) -> list[PlaceLoad]:
        """None: a net pulls along members, known once it is on a boat."""
        return []

    def what(self) -> str:
        """In one line."""
        which = "nets dropped" if self.side == "both" else f"{self.side} net dropped"
        return f"{which} on water at {engineering(self.speed, 'm/s')}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its line loads, upwards; InputFault where the boat has no room for the net."""
        (under,) = self.net().expand(boat)
        lines = [
            line.model_copy(update={"force": (line.force[0], line.force[1], -line.force[2])})
            for line in under.lines()
        ]
        membrane = under.origin()
        origin = Origin(
            f"drag of a long plate in a stream (Aeronautical Engineer's Data Book, p. 95, read) on the threads, common practice; "
            f"{membrane.source.partition(';')[0]}",
            f"p = ½ ρ C_D φ V² = ½ × 1025 kg/m³ × {self.drag:.3g} × {self.solidity:.3g} × ({self.speed:.3g} m/s)² = "
            f"{engineering(self.pressure, 'Pa')}, from below{membrane.formula.removeprefix('p').partition(';')[1]}"
            f"{membrane.formula.partition(';')[2]}",
            f"φ up to {MAX_SOLIDITY:g}, here {self.solidity:.3g}; {membrane.validity}".removesuffix("; "),
            inside=self.solidity <= MAX_SOLIDITY and membrane.inside is not False,
        )
        words = f"{self.what()}: {engineering(self.pressure, 'Pa')} from below"
        return [expanded_case(self, words, origin, lines=lines, of_sea=["slam"])]
