"""What a sweep is of: a boat file and a grid, as text that any process can be given, checked before anything is begun."""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from pathlib import Path
from typing import Any

from cases.analyses.sweeps.columns import Column, chosen_columns
from cases.input.boat_file import BoatFile
from cases.input.grid_file import GridFile, VariedKey
from cases.input.variants import Variant
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import checked, collect, unknown
from femcore.base.units import si, si_unit
from models.joints.rigid import RigidJoint
from models.response.front_end import build


@cache
def program() -> str:
    """The version of this program and a hash of its source and data: what else decides the results."""
    found, root = hashlib.sha256(), Path(__file__).parents[3]
    for package in ("femcore", "models", "cases"):
        for file in sorted(one for ending in ("py", "toml") for one in (root / package).rglob(f"*.{ending}")):
            found.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes())
    return f"{importlib.metadata.version('forebeam')}+{found.hexdigest()[:12]}"


@dataclass(frozen=True, slots=True)
class SweepPlan:
    """A boat and a grid; equal plans have equal results, to the last bit.

    boat, grid : their content, JSON;   boat_name, grid_name : of their files, for messages;   program : as of `program`
    """

    boat: str = field(repr=False)
    grid: str = field(repr=False)
    boat_name: str = field(compare=False)
    grid_name: str = field(compare=False)
    program: str

    @property
    def identities(self) -> dict[str, str]:
        """What of boat and grid each, and of the program, decides the results: hashes of the content."""
        found = {what: hashlib.sha256(text.encode()).hexdigest() for what, text in self._contents}
        return found | {"program": self.program}

    @property
    def identity(self) -> str:
        """All of it in sixteen hexadecimal digits, which are in the names of the dataset's files."""
        return hashlib.sha256(json.dumps(self.identities, sort_keys=True).encode()).hexdigest()[:16]

    @property
    def _contents(self) -> tuple[tuple[str, str], tuple[str, str]]:
        return ("boat file", self.boat), ("grid", self.grid)


def plan_sweep(boat: BoatFile, grid: GridFile, boat_name: str = "boat", grid_name: str = "grid") -> SweepPlan:
    """The plan, checked as far as that can be done at once.

    InputFault or InputFaults for a joint, column or key that does not exist, and for a key of which the boat takes none of the
    first, last and middle value. A single value that the boat does not take, or values that do not go together, are rows of the
    result with the reason.
    """
    if not boat.raw:
        raise InputFault(
            "boat", "was made in Python, and a sweep varies keys of a file", "read it from a file"
        )
    collect(grid_name, grid.faults())
    plan = SweepPlan(
        json.dumps(boat.raw),
        grid.model_dump_json(by_alias=True, exclude_unset=True),
        boat_name,
        grid_name,
        program(),
    )
    collect(grid_name, _faults(PreparedSweep.of(plan)))
    return plan


@dataclass(frozen=True, eq=False)
class PreparedSweep:
    """A plan made ready to work with in this process: boat and grid as they are checked."""

    plan: SweepPlan
    boat: BoatFile
    grid: GridFile

    @staticmethod
    @lru_cache(maxsize=4)
    def of(plan: SweepPlan) -> PreparedSweep:
        """Of a plan; made once in a process."""
        grid = checked(json.loads(plan.grid), GridFile, plan.grid_name)
        return PreparedSweep(plan, checked(json.loads(plan.boat), BoatFile, plan.boat_name), grid)

    @cached_property
    def joints(self) -> list[str]:
        """Names of the joints that are asked for."""
        return self.grid.joints or [joint.name for joint in self.boat.joints]

    @cached_property
    def mass_as_entered(self) -> float:
        """kg, of bows and front end of the boat itself, without fittings."""
        return build(self.boat, RigidJoint(name="rigid").stiffness()).frame.mass

    @cached_property
    def inputs(self) -> list[Column]:
        """A column for each key that is varied, in its SI unit where it is a quantity."""
        return [_input_column(one) for one in self.grid.vary]

    @cached_property
    def outputs(self) -> list[Column]:
        """The columns of the result that are asked for."""
        return chosen_columns(self.grid.columns, [case.name for case in self.boat.load_cases])

    def design(self, number: int) -> BoatFile:
        """The boat of a design; InputFault or InputFaults where its values make none."""
        values = self.grid.values(number)
        keys = {key: value for one, value in zip(self.grid.vary, values, strict=True) for key in one.of}
        return self.boat.variant(Variant(name="design", set=keys))

    def entries(self, values: list[Any]) -> list[float | str]:
        """Values of keys as their columns have them: numbers in SI, or text."""
        return [_entry(column, value) for column, value in zip(self.inputs, values, strict=True)]


def _entry(column: Column, value: object) -> float | str:
    if not column.is_number:
        return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return si(value, column.unit) if isinstance(value, str) else float(str(value))


def _input_column(one: VariedKey) -> Column:
    """Numbers where all of its values are bare numbers, or quantities of one SI unit; else text."""
    values = one.values if one.values is not None else one.typical
    name, words = one.of[0], "as entered: " + ", ".join(one.of)
    if all(isinstance(value, int | float) and not isinstance(value, bool) for value in values):
        return Column(name, "", words)
    units = {si_unit(value) if isinstance(value, str) else None for value in values}
    unit = units.pop() if len(units) == 1 else None
    return Column(name, unit or "", words, is_number=unit is not None)


def _faults(made: PreparedSweep) -> Iterator[InputFault]:
    known = [joint.name for joint in made.boat.joints]
    yield from (unknown("", "joint", name, known) for name in made.joints if name not in known)
    try:
        names = [column.name for column in (*made.inputs, *made.outputs)]
    except InputFault as fault:
        yield fault
    else:
        for one in made.grid.vary:
            if names.count(one.of[0]) > 1:
                yield InputFault(
                    f"vary '{one.of[0]}'", "is the name of a result too", "leave that column out"
                )
    for one in made.grid.vary:
        yield from _key_faults(made.boat, one)


def _key_faults(boat: BoatFile, one: VariedKey) -> Iterator[InputFault]:
    """What is wrong with a key of which the boat takes no value, or whose values change nothing."""
    faults: list[InputFault] = []
    made: list[BoatFile] = []
    for value in one.typical:
        try:
            made.append(boat.variant(Variant(name="design", set=dict.fromkeys(one.of, value))))
        except InputFault as fault:
            faults.append(fault)
        except InputFaults as trouble:
            faults.append(trouble.faults[0])
    place = f"vary '{one.of[0]}'"
    if not made:
        inner = faults[0].place.removeprefix("variants 'design'").removeprefix(": ")
        yield InputFault(place + (f": {inner}" if inner else ""), faults[0].wrong, faults[0].cure)
    elif any(each.cases != boat.cases for each in made) and all(
        each.active_cases == boat.active_cases for each in made
    ):
        yield InputFault(place, "is a key of a case that is switched off", "set on = true for it")
