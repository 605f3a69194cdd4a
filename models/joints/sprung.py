"""A joint of entered stiffness: six springs in boat axes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator

from femcore.base.errors import fault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from femcore.frame.builder import RIGID
from models.joints.base import DIRECTIONS, Joint, JointStiffness

Direction = Literal["surge", "sway", "heave", "roll", "pitch", "yaw"]
TranslationalStiffness = Annotated[float, Unit("N/m", least=0)]
RotationalStiffness = Annotated[float, Unit("N*m/rad", least=0)]


class SprungJoint(Joint):
    """Springs where they are entered, free where `free` says so, rigid in what is left out."""

    kind: Literal["sprung"] = "sprung"
    surge: TranslationalStiffness | None = None
    sway: TranslationalStiffness | None = None
    heave: TranslationalStiffness | None = None
    roll: RotationalStiffness | None = None
    pitch: RotationalStiffness | None = None
    yaw: RotationalStiffness | None = None
    free: list[Direction] = []

    @model_validator(mode="after")
    def _check_free(self) -> SprungJoint:
        for direction in self.free:
            if getattr(self, direction) is not None:
                raise fault(f"'{direction}' is both free and sprung", "give one of the two")
        return self

    def stiffness(self) -> JointStiffness:
        """The six springs."""
        return JointStiffness.in_boat_axes([self._spring(direction) for direction in DIRECTIONS])

    def _spring(self, direction: str) -> float:
        given = getattr(self, direction)
        if direction in self.free:
            return 0.0
        return RIGID if given is None else float(given)

    def words(self) -> str:
        """In one line."""
        given = {direction: self._spring(direction) for direction in DIRECTIONS}
        sprung = [
            f"{d} {engineering(k, 'N/m' if i < 3 else 'N·m/rad')}"
            for i, (d, k) in enumerate(given.items())
            if 0 < k < RIGID
        ]
        loose = [direction for direction, k in given.items() if k == 0]
        stiff = [direction for direction, k in given.items() if k == RIGID]
        groups = (("sprung: ", sprung), ("free: ", loose), ("rigid: ", stiff))
        return "; ".join(start + ", ".join(words) for start, words in groups if words)
