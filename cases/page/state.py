"""The page's state: a boat file as text, and what a reader has changed of it, by key.

The page keeps the changes, in its address, and sends them with every question. So two tabs are independent, a reload loses
nothing, and the file itself is never written to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

import tomlkit

from cases.input.boat_file import BoatFile, read_boat_file
from cases.input.variants import Variant, change_tables, key_step, split_key
from cases.loads import LoadCase
from cases.loads.waves import Waves
from femcore.base.errors import InputFault, InputFaults, printable, unknown

Changes: TypeAlias = Mapping[str, Any]
"""Values by dotted key; None: the key is left out."""
NAME = "page"
"""Of the variant that the changes are, while they are read."""


@dataclass(frozen=True, eq=False)
class BoatText:
    """A boat file: its name, its text, and the boat that it describes."""

    name: str
    text: str
    boat: BoatFile

    @classmethod
    def read(cls, path: Path) -> BoatText:
        """InputFaults with every fault of the file."""
        boat = read_boat_file(path)
        return cls(printable(path.name), path.read_bytes().decode("utf-8-sig"), boat)

    def changed(self, changes: Changes) -> BoatFile:
        """The boat with the changes, its variants left out; InputFaults where that is none."""
        return self._variant(changes, []) if changes else self.boat

    def quick(self, changes: Changes, joint: str) -> BoatFile | None:
        """The same with one joint and the linear cases alone, neither combined nor in service; None where no case is linear."""
        self.require_joint(joint)
        others = [f"joints.{key_step(one.name)}" for one in self.boat.joints if one.name != joint]
        slow = [case.name for case in self.boat.cases if not is_quick(case)]
        if all(case.name in slow for case in self.boat.active_cases):
            return None
        left_out = [*others, *(f"cases.{key_step(name)}" for name in slow)]
        left_out += [key for key in ("service", "scatter") if self.boat.raw.get(key)]
        kept = {key: v for key, v in changes.items() if not any(_is_within(key, out) for out in left_out)}
        return self._variant({**kept, "combinations": []}, left_out)

    def whole(self, changes: Changes, joint: str) -> BoatFile:
        """The boat with the changes and one joint, under every case and combination."""
        self.require_joint(joint)
        return self.changed(changes).with_joints([joint])

    def require_joint(self, name: str) -> None:
        """InputFault, with the nearest name, for a joint that does not exist."""
        names = [joint.name for joint in self.boat.joints]
        if name not in names:
            raise unknown("", "joint", name, names)

    def changed_text(self, changes: Changes) -> str:
        """The file with the changes written into it, comments and order kept; InputFaults where it would be no boat."""
        if not changes:
            return self.text
        self.changed(changes)
        document = tomlkit.parse(self.text)
        change_tables(document, {k: v for k, v in changes.items() if v is not None}, _left_out(changes))
        return tomlkit.dumps(document)

    def _variant(self, changes: Changes, without: list[str]) -> BoatFile:
        given = {key: value for key, value in changes.items() if value is not None}
        left_out = [*_left_out(changes), *without]
        try:
            return self.boat.variant(Variant.model_construct(name=NAME, note="", set=given, without=left_out))
        except InputFault as fault:
            raise _as_of_file(fault) from None
        except InputFaults as faults:
            raise InputFaults(map(_as_of_file, faults.faults)) from None


class OpenedFile:
    """The file that the page is of, as it was last read: its boat, and what is wrong with it.

    A file that has become faulty leaves the boat that it last described.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._boat: BoatText | None = None
        self.name = printable(path.name)
        self.faults: tuple[InputFault, ...] = ()
        self.read()

    def read(self) -> None:
        """Read it again."""
        try:
            self._boat, self.faults = BoatText.read(self._path), ()
        except InputFault as fault:
            self.faults = (self._within(fault),)
        except InputFaults as faults:
            self.faults = tuple(map(self._within, faults.faults))

    @property
    def is_known(self) -> bool:
        """Whether it has described a boat since the page was opened."""
        return self._boat is not None

    @property
    def boat(self) -> BoatText:
        """The last one; InputFaults where there was none yet."""
        if self._boat is None:
            raise InputFaults(self.faults)
        return self._boat

    def _within(self, fault: InputFault) -> InputFault:
        """The fault by its key alone: the page is of one file."""
        return InputFault(
            fault.place.removeprefix(str(self._path)).removeprefix(": "), fault.wrong, fault.cure
        )


def is_quick(case: LoadCase) -> bool:
    """Whether the case is one linear solution: not waves, which are some eighty loads, nor one in the deformed shape."""
    return not (isinstance(case, Waves) or case.second_order)


def _left_out(changes: Changes) -> list[str]:
    return [key for key, value in changes.items() if value is None]


def _is_within(key: str, table: str) -> bool:
    steps, of_table = split_key(key), split_key(table)
    return steps[: len(of_table)] == of_table


def _as_of_file(fault: InputFault) -> InputFault:
    """The fault as one of the file that was changed."""
    place = fault.place.removeprefix(f"variants '{NAME}'").removeprefix(": ")
    for step in ("set", "without"):
        place = place.removeprefix(step).removeprefix(": ")
    return InputFault(place, fault.wrong, fault.cure)


__all__ = ["BoatText", "Changes", "OpenedFile", "is_quick"]
