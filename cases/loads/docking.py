"""A bow against a dock: the boat's energy goes into the front end's own elastic energy, and a fender's.

½ m v² = ½ F²/k, so F = v √(m k), 1/k = δ + 1/k_fender, δ the movement of the place for each newton, of the frame with rigid
joints: none is stiffer, so no joint makes F larger (a further stiffness never lowers k).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from cases.loads.base import LoadCase, LoadLevel, PlaceLoad, Vector, at, expanded_case, fitting
from cases.loads.origin import Origin
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.joints.rigid import RigidJoint
from models.response.front_end import SIDES, build

PROBE = 1000.0
"""N, with which the flexibility is found: small, so that no cable goes slack."""


class Docking(LoadCase):
    """One bow meets a dock at `speed`, m/s, from outboard or head on, and the frame stops it.

    displacement : kg
    speed        : left out 0.3 m/s, a gentle half knot (common practice 0.2 to 0.5)
    effective    : of the mass, what the contact stops; left out 1, all of it: the rest turns the boat, and none turns where
                   she comes alongside flat
    way          : "abeam", inwards on the bow; "ahead", aft on the stem
    under        : the place that is met
    fender       : N/m, of a fender; left out: none

    Forces stay below what crushes a stem: no crushing takes up energy here.
    """

    default_level: ClassVar[LoadLevel] = "extreme"
    uncombined: ClassVar[str] = "a boat at a dock is neither at sea nor under sail"
    from_boat: ClassVar[Mapping[str, str]] = {"displacement": "displacement"}
    kind: Literal["docking"] = "docking"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    speed: Annotated[float, Unit("m/s", above=0, most=20.0)] = 0.3
    effective: Annotated[float, Field(gt=0, le=1.5)] = 1.0
    way: Literal["abeam", "ahead"] = "abeam"
    side: Literal["port", "starboard"] = "port"
    under: Literal["stem", "hull at beam"] = "stem"
    fender: Annotated[float, Unit("N/m", above=0, most=1e10)] | None = None

    @property
    def direction(self) -> Vector:
        """Of the dock's push, boat axes."""
        inwards = -1.0 if self.side == SIDES[0] else 1.0
        return (-1.0, 0.0, 0.0) if self.way == "ahead" else (0.0, inwards, 0.0)

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: the stiffness is the boat's."""
        return []

    def what(self) -> str:
        """In one line."""
        how = "head on" if self.way == "ahead" else "from outboard"
        return f"docking {how} with the {self.side} {self.under} at {engineering(self.speed, 'm/s')}"

    def flexibility(self, boat: Boat) -> float:
        """m/N: how far the place moves with the push, of the front end with rigid joints, and of the fender."""
        front = build(boat, RigidJoint(name="rigid").stiffness())
        node = front.frame.node_index[front.places[f"{self.side} {self.under}"].node]
        push = Loads.zeros(front.frame, "push")
        nodal = push.nodal.copy()
        nodal[0, node, :3] = PROBE * np.array(self.direction)
        moved = (
            solve(front.prepared, replace(push, nodal=nodal)).displacement
            - front.under_pretension.displacement
        )
        return float(moved[0, node, :3] @ self.direction) / PROBE + (1 / self.fender if self.fender else 0.0)

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its force."""
        stiffness = 1 / self.flexibility(fitting(boat))
        force = self.speed * math.sqrt(self.effective * self.displacement * stiffness)
        x, y, z = self.direction
        k, size = engineering(stiffness, "N/m"), engineering(force, "N")
        origin = Origin(
            "energy (statics of an elastic frame); all of the mass stopped where not given is common practice",
            f"F = v √(m k) = {self.speed:.3g} m/s × √({self.effective:.3g} × {self.displacement / 1000:.3g} t × {k}) = {size}, "
            "k of the front end with rigid joints"
            + (f" behind a fender of {engineering(self.fender, 'N/m')}" if self.fender else ", no fender"),
            "elastic: neither bow nor dock is crushed",
            inside=True,
        )
        placed = [at(f"{self.side} {self.under}", (force * x, force * y, force * z), name="dock")]
        return [expanded_case(self, f"{self.what()}: {size}", origin, placed)]
