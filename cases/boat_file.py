"""The whole boat file: the boat, its joints and its load cases."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from cases.loads import LOAD_CASES, LoadCase
from femcore.documents import collect, duplicates, read_document
from femcore.errors import InputFault
from models.boat_file import Boat
from models.front_end import build
from models.joints import JointStiffness
from models.kinds import one_of

if TYPE_CHECKING:
    AnyLoadCase = LoadCase
else:
    AnyLoadCase = one_of(LOAD_CASES)


class BoatFile(Boat):
    """A boat file: one boat, any number of joints and cases; a run takes every joint through every case."""

    cases: Annotated[list[AnyLoadCase], Field(min_length=1)]

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        of_boat = list(super().faults())
        yield from of_boat
        yield from duplicates("cases", [case.name for case in self.cases])
        if not of_boat:
            places = build(self, JointStiffness.in_boat_axes([float("inf")] * 6)).places
            for case in self.cases:
                yield from case.faults(places)


def read_boat_file(path: str | Path) -> BoatFile:
    """Read and check a boat file; InputFaults with every fault of it."""
    file = read_document(path, BoatFile)
    collect(str(path), file.faults())
    return file
