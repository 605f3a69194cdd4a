"""What an analysis claims, and what it does not: the loads under which its checks were made, and everything in no check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Annotated, get_args

from pydantic import Field

from cases.analyses.part_margins import PartMargins
from cases.input.boat_file import BoatFile
from cases.loads.origin import LoadBasis
from models.checks.not_checked import never_checked
from models.joints.base import ALL_PARTS, without_side
from models.strength.margins import NotChecked

WHOLE_JOINT = "all parts of the joint"
"""The entry of a joint that does not describe its parts."""


@dataclass(frozen=True, slots=True)
class CheckedLoads:
    """The loads under which checks were made: how many cases of each basis, and how many combinations of them."""

    by_basis: dict[LoadBasis, int]
    combinations: int

    @property
    def cases(self) -> int:
        """How many."""
        return sum(self.by_basis.values())


def checked_loads(file: BoatFile) -> CheckedLoads:
    """The cases of a boat file as they are run, by the basis of their loads; a basis without a case is left out."""
    count = Counter(case.provenance().basis for case in file.load_cases)
    by_basis: dict[LoadBasis, int] = {basis: count[basis] for basis in get_args(LoadBasis) if count[basis]}
    return CheckedLoads(by_basis, len(file.expanded_combinations))


@dataclass(frozen=True, slots=True)
class UncheckedEntry(NotChecked):
    """One thing that is in no check, and the joints with which it is not."""

    joints: Annotated[
        tuple[str, ...], Field(description="with which it is not checked; empty: with every joint")
    ]


def unchecked_entries(file: BoatFile, part_margins: Sequence[PartMargins]) -> tuple[UncheckedEntry, ...]:
    """Everything in no check: what lacks its data, joint by joint, both sides in one; then what is never checked."""
    lacks: dict[NotChecked, list[str]] = {}
    for one in part_margins:
        for entry in _lacking(one):
            joints = lacks.setdefault(entry, [])
            joints += [] if one.joint in joints else [one.joint]
    everywhere = len(part_margins)
    found = [
        UncheckedEntry(**asdict(entry), joints=() if len(joints) == everywhere else tuple(joints))
        for entry, joints in lacks.items()
    ]
    return (*found, *(UncheckedEntry(**asdict(entry), joints=()) for entry in never_checked(file)))


def _lacking(one: PartMargins) -> Iterator[NotChecked]:
    """The checks of a joint, and of the parts beside it, that lack their data."""
    for worst, name in one.worst:
        if name is None:
            own = worst.part in one.joint_part_names
            part = without_side(worst.part)
            yield NotChecked(WHOLE_JOINT if own and part == ALL_PARTS else part, worst.check, worst.reason)
