"""The front end's own weight, and the inertia forces of the boat's accelerations."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator

from cases.loads.base import ZERO_VECTOR, LoadCase, PlaceLoad, Vector, at
from cases.loads.origin import Origin
from femcore.base.errors import fault
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import STANDARD_GRAVITY, Unit, UnitVector
from models.response.front_end import SIDES

BOWS = tuple(f"{side} bow" for side in SIDES)


class PlacedMass(Table):
    """A mass at a named place: an anchor, a windlass, a person."""

    place: str
    mass: Annotated[float, Unit("kg", above=0, most=1e6)]


class Weight(LoadCase):
    """Gravity less the boat's own acceleration (m/s², boat axes) on all that the bows carry.

    gravity : whether weight itself acts (false: what an acceleration adds to it)
    bows    : whether it acts on the bows too, which the water bears when the boat lies afloat
    masses  : what else is carried
    """

    kind: Literal["weight"] = "weight"
    acceleration: Annotated[Vector, UnitVector("m/s**2", most=1000.0)] = ZERO_VECTOR
    gravity: bool = True
    bows: bool = False
    masses: list[PlacedMass] = []

    @model_validator(mode="after")
    def _check_not_empty(self) -> Weight:
        if not self.gravity and not any(self.acceleration):
            raise fault("has neither gravity nor acceleration", "leave gravity on, or give an acceleration")
        return self

    @property
    def per_mass(self) -> Vector:
        """m/s²: g − a."""
        x, y, z = self.acceleration
        return -x, -y, -z - (STANDARD_GRAVITY if self.gravity else 0.0)

    def origin(self) -> Origin:
        """Each kilogram under gravity less the boat's own acceleration."""
        x, y, z = (f"{part + 0.0:.3g}".replace("-", "−") for part in self.per_mass)
        source = (
            "statics (d’Alembert); acceleration and masses entered" if any(self.acceleration) else "statics"
        )
        return Origin(source, f"m (g − a) = m ({x}, {y}, {z}) m/s²")

    def member_acceleration(self, member: str) -> Vector:
        """m/s², boat axes."""
        return ZERO_VECTOR if member in BOWS and not self.bows else self.per_mass

    def loads(self) -> list[PlaceLoad]:
        """The masses that are carried."""
        x, y, z = self.per_mass
        return [
            at(
                one.place,
                (one.mass * x, one.mass * y, one.mass * z),
                name=f"{engineering(one.mass, 'kg')} at the {one.place}",
            )
            for one in self.masses
        ]

    def weight_label(self, member: str) -> str:
        """Weight, or what throwing adds to it."""
        return f"{'weight' if self.gravity else 'inertia'} of the {member}"

    def what(self) -> str:
        """In one line."""
        what = "front end" if self.bows else "crossbeam and what goes with it"
        carried = sum(one.mass for one in self.masses)
        words = f"weight of the {what}" + (f" and of {engineering(carried, 'kg')} carried" if carried else "")
        if not self.gravity:
            words = words.replace("weight", "inertia", 1)
        if not any(self.acceleration):
            return words
        size = sum(a * a for a in self.acceleration) ** 0.5
        return f"{words}, accelerated at {size:.3g} m/s²"
