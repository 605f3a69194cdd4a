"""The whole boat file: the boat, its joints and its load cases."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from cases.loads import LOAD_CASES, LoadCase
from femcore.documents import duplicates, read_checked
from femcore.errors import InputFault
from models.boat_file import Boat
from models.front_end import build
from models.joints.rigid import RigidJoint
from models.kinds import one_of

if TYPE_CHECKING:
    AnyLoadCase = LoadCase
else:
    AnyLoadCase = one_of(LOAD_CASES)


class BoatFile(Boat):
    """A boat file: one boat, any number of joints and cases; a run takes every joint through every case."""

    cases: Annotated[list[AnyLoadCase], Field(min_length=1)]

    @property
    def load_cases(self) -> list[LoadCase]:
        """The cases as they are run: each of the file's as those that it stands for on this boat."""
        return [one for case in self.cases for one in case.expand(self)]

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        of_boat = list(super().faults())
        yield from of_boat
        # a martingale that does not fit cannot be built: the rest is still to be told
        sound = self.model_copy(update={"martingale": None}) if of_boat else self
        front = build(sound, RigidJoint(name="rigid").stiffness())
        expanded: list[LoadCase] = []
        for case in self.cases:
            try:
                expanded += case.expand(self)
            except InputFault as fault:
                yield fault.inside(f"cases '{case.name}'")
        yield from duplicates("cases", [case.name for case in expanded])
        for case in expanded:
            yield from case.faults(front.places, front)


def read_boat_file(path: str | Path) -> BoatFile:
    """Read and check a boat file; InputFaults with every fault of it."""
    return read_checked(path, BoatFile)
