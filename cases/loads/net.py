"""The trampoline: its pull on crossbeam, hull sides and longeron under people or a boarding sea."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from cases.loads.base import Length, LoadCase, MemberLoad, PlaceLoad, along, exactly_one, expanded_case
from cases.loads.membrane import Membrane, membrane
from cases.loads.origin import Origin
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.units import STANDARD_GRAVITY, Unit
from models.boat.boat import Boat
from models.response.front_end import CROSSBEAM, LONGERON, SIDES

SEA_WATER = 1025.0
"""kg/m³, at 15 °C and 35 g of salt per kg, rounded."""
MIN_NET_SAG_RATIO, MAX_NET_SAG_RATIO = 1 / 1000, 1 / 4
"""Sag over the net's shorter side: no net is laced flatter, and none deeper is a membrane of small slopes."""


class LacedNet(LoadCase):
    """Nets from `begin` to the crossbeam, between the hulls, or between hull and longeron where there is one.

    sag           : m, in the middle under that pressure: fixes the pull of the edges
    lacing        : N/m, to which the edges are laced, in their plane: the least pull, also without load
    begin         : m from the root, the net's aft edge
    side          : which of two nets is loaded; the other keeps its lacing
    beam_aft, beam_up, hull_up : m, the lacing's line from the crossbeam's axis, and above the bows' axis (the
                    crossbeam's lacing height where left out)
    """

    sag: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None
    lacing: Annotated[float, Unit("N/m", least=0, most=1e6)] = 0.0
    begin: Annotated[float, Unit("m", least=0, most=1000.0)] = 0.0
    side: Literal["both", "port", "starboard"] = "both"
    beam_aft: Length = 0.0
    beam_up: Length = 0.0
    hull_up: Length | None = None

    @model_validator(mode="after")
    def _check_edges(self) -> Self:
        if self.sag is None and not self.lacing:
            raise fault(
                "has neither sag nor lacing", "give the net's sag under load, the pull of its lacing, or both"
            )
        return self


class Net(LacedNet):
    """Nets under a pressure, people or a sea.

    pressure      : Pa, as it acts
    people, person: how many on the loaded nets, evenly spread; kg each, 85 with gear (common practice)
    dynamic       : their weight times this: a weight dropped from no height loads a spring twice
    sea           : m of water on the net;   solidity : what part of it the net holds up
    """

    kind: Literal["net"] = "net"
    pressure: Annotated[float, Unit("Pa", above=0, most=1e6)] | None = None
    people: Annotated[float, Field(gt=0, le=200)] | None = None
    sea: Annotated[float, Unit("m", above=0, most=20.0)] | None = None
    person: Annotated[float, Unit("kg", above=0, most=1000.0)] = 85.0
    dynamic: Annotated[float, Field(ge=1, le=10)] = 2.0
    solidity: Annotated[float, Field(gt=0, le=1)] = 1.0

    @model_validator(mode="after")
    def _check_inputs(self) -> Net:
        exactly_one(self, "pressure", "people", "sea")
        return self

    def loads(self) -> list[PlaceLoad]:
        """None: a net pulls along members, known once it is on a boat."""
        return []

    def what(self) -> str:
        """In one line."""
        if self.people is not None:
            load = f"{self.people:g} people"
        elif self.sea is not None:
            load = f"a sea of {engineering(self.sea, 'm')}"
        else:
            load = engineering(self.pressure or 0.0, "Pa")
        return f"{load} on the {'nets' if self.side == 'both' else f'{self.side} net'}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its line loads; InputFault where the boat has no room for the net."""
        panels = self.panels(boat)
        pulls = {panel.side: panel.pull for panel in panels}
        most = max(panels, key=lambda panel: panel.pull)
        pressure, pull = engineering(most.pressure, "Pa"), engineering(most.pull, "N/m")
        words = f"{self.what()}: {pressure}, edges pulled with {pull}"
        if len(set(pulls.values())) > 1:
            words += f" ({engineering(min(pulls.values()), 'N/m')} on the other side)"
        lines = [line for panel in panels for line in self._lines(boat, panel)]
        return [
            expanded_case(
                self, words, self._origin(most, len([one for one in panels if one.pressure])), lines=lines
            )
        ]

    def _origin(self, panel: Panel, loaded: int) -> Origin:
        """Pressure and pull with this boat's numbers, of the net that pulls most."""
        shape, sag = panel.shape, panel.sag
        side = min(shape.a, shape.b)
        sags = f"s = {engineering(sag, 'm')}"
        pull = (
            f"N = {shape.sag_factor:.3g} p c²/s = {engineering(panel.pull, 'N/m')}, c = {side:.3g} m, {sags}"
        )
        if panel.pull == self.lacing:
            pull = f"N = {engineering(panel.pull, 'N/m')} as laced, at which it sags by {sags}"
        return Origin(
            "membrane theory (S.P. Timoshenko & J.N. Goodier, Theory of Elasticity); " + self._practice(),
            f"{self._mean_pressure(shape.a * shape.b * loaded)} = {engineering(panel.pressure, 'Pa')}; {pull}; lacing carries "
            f"√(N² + q²) = {engineering(panel.lacing_extension, 'N/m')} with q from above",
            f"small slopes: s up to 1/8 of the net's shorter side; here 1/{side / sag:.3g}" if sag else "",
            inside=sag <= side / 8 if sag else None,
        )

    def _practice(self) -> str:
        if self.people is not None:
            return "85 kg a person where not given, and twice the weight for a drop, are common practice"
        return (
            "that still water stands for a boarding sea is common practice"
            if self.sea is not None
            else "pressure entered"
        )

    def _mean_pressure(self, area: float) -> str:
        """The formula of the pressure, but for its result."""
        if self.people is not None:
            return f"p = n m g φ/A = {self.people:g} × {self.person:g} kg × 9.81 m/s² × {self.dynamic:g}/{area:.3g} m²"
        if self.sea is not None:
            return f"p = ρ g h φ = {SEA_WATER:g} kg/m³ × 9.81 m/s² × {self.sea:g} m × {self.solidity:g}"
        return "p"

    def panels(self, boat: Boat) -> list[Panel]:
        """One net from hull to hull, or two with the longeron between them."""
        half = boat.bows.spacing / 2 - boat.bows.inboard
        length = boat.crossbeam.station - self.beam_aft - self.begin
        if not length > 0:
            cure = f"let it begin less than {boat.crossbeam.station - self.beam_aft:g} m from the root"
            raise InputFault("net: begin", "the net begins at or ahead of the crossbeam", cure)
        if boat.longeron is None and self.side != "both":
            cure = 'write side = "both"; a net on one side needs a longeron to be laced to'
            raise InputFault("net: side", "without a longeron there is one net, from hull to hull", cure)
        sides = SIDES if boat.longeron else ("both",)
        width = half if boat.longeron else 2 * half
        loaded = [side for side in sides if self.side in {"both", side}]
        pressure = self._pressure(length * width * len(loaded))
        return [
            self._panel(side, membrane(length, width), pressure if side in loaded else 0.0) for side in sides
        ]

    def _panel(self, side: str, shape: Membrane, pressure: float) -> Panel:
        side_of = min(shape.a, shape.b)
        if (
            self.sag is not None
            and not MIN_NET_SAG_RATIO * side_of <= self.sag <= MAX_NET_SAG_RATIO * side_of
        ):
            cure = f"give from {MIN_NET_SAG_RATIO * side_of * 1000:.2g} mm to {MAX_NET_SAG_RATIO * side_of:.2g} m"
            wrong = f"no net whose shorter side is {side_of:.3g} m sags by {engineering(self.sag, 'm')}"
            raise InputFault("net: sag", wrong, cure)
        from_sag = shape.pull(pressure, self.sag) if self.sag is not None else 0.0
        panel = Panel(side, shape, pressure, max(from_sag, self.lacing))
        if panel.sag > MAX_NET_SAG_RATIO * side_of * (1 + 1e-9):
            wrong = (
                f"a net laced to {engineering(self.lacing, 'N/m')} would sag by {engineering(panel.sag, 'm')}"
            )
            raise InputFault("net: lacing", wrong, "give the sag that it has under load, or lace it tighter")
        return panel

    def _pressure(self, area: float) -> float:
        """Pa, over the loaded area, m²."""
        if self.people is not None:
            return self.people * self.person * STANDARD_GRAVITY * self.dynamic / area
        if self.sea is not None:
            return SEA_WATER * STANDARD_GRAVITY * self.sea * self.solidity
        return self.pressure or 0.0

    def _lines(self, boat: Boat, panel: Panel) -> list[MemberLoad]:
        """The pull of a net's edges; that of the aft edge goes to the bulkhead."""
        bows, beam = boat.bows, boat.crossbeam
        fore_down, side_down = panel.shape.down(panel.pressure)
        half = bows.spacing / 2 - bows.inboard
        forward_end = beam.station - self.beam_aft
        up = beam.height + self.beam_up - bows.height if self.hull_up is None else self.hull_up
        lines = []
        stretch = {"both": (-half, half), "port": (0.0, half), "starboard": (-half, 0.0)}[panel.side]
        on_beam = (-self.beam_aft, 0.0, self.beam_up)
        lines.append(
            along(CROSSBEAM, (-panel.pull, 0.0, -fore_down), *stretch, on_beam, "net on the crossbeam")
        )
        for name, sign in zip(SIDES, (1, -1), strict=True):
            if panel.side not in {"both", name}:
                continue
            inboard = (0.0, -sign * bows.inboard, up)
            force = (0.0, -sign * panel.pull, -side_down)
            on_hull = f"net on the {name} hull side"
            lines.append(along(f"{name} bow", force, self.begin, forward_end, inboard, on_hull))
            if boat.longeron:
                # per metre of the longeron, which may rise on its way forward
                plan = beam.station / math.hypot(beam.station, beam.height - boat.longeron.height_at_root)
                force = (0.0, sign * panel.pull * plan, -side_down * plan)
                lines.append(along(LONGERON, force, self.begin, forward_end, name="net on the longeron"))
        return lines


@dataclass(frozen=True, slots=True)
class Panel:
    """One net.

    side     : "port", "starboard", or "both" where it spans from hull to hull
    shape    : fore and aft × athwart
    pressure : Pa;   pull : N/m, of all edges in their plane
    """

    side: str
    shape: Membrane
    pressure: float
    pull: float

    @property
    def sag(self) -> float:
        """m, in the middle; 0 without pressure."""
        return self.shape.sag(self.pressure, self.pull) if self.pressure else 0.0

    @property
    def lacing_extension(self) -> float:
        """N/m, along the net at the edge that carries most of the load: what lacing and eyes hold, on the mean."""
        return math.hypot(self.pull, max(self.shape.down(self.pressure)))
