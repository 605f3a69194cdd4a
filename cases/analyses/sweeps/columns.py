"""The columns of a sweep's result: what each is, in which SI unit, and how it is read of a joint of an analysed design."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from cases.analyses.analysis import JointAnalysis
from cases.analyses.joint_results import CaseResult
from cases.analyses.part_margins import PartMargins
from femcore.base.numbers import finite
from femcore.base.toml import unknown
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.margins import GoverningCheck

EVERY_JOINT_LOAD = "joint_load"
"""In `columns`, stands for every component on both hulls in every case."""
COMPONENTS = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")


class DesignJoint:
    """One joint of a design, and what its columns are read of."""

    def __init__(self, joint: JointAnalysis, mass_as_entered: float) -> None:
        self.joint, self.mass_as_entered = joint, mass_as_entered

    @cached_property
    def fittings(self) -> float | None:
        """kg, of both joints' fittings; None where no part of them is described."""
        masses = self.joint.result.joint.masses()
        return 2 * sum(masses.values()) if masses else None

    @property
    def mass(self) -> float:
        """kg, of bows and front end with the fittings."""
        return self.joint.result.front.frame.mass + (self.fittings or 0.0)

    @cached_property
    def margins(self) -> PartMargins:
        """Of its parts and of those beside it."""
        return self.joint.analysis.part_margins[self.joint.number]

    @cached_property
    def racking(self) -> CaseResult | None:
        """The case of racking with the largest racking moment; None where nothing racks the bows."""
        names = [case.name for case in self.joint.analysis.study.racking_cases]
        found = [one for one in self.joint.result.cases if one.case.name in names and one.shares is not None]
        return max(found, key=lambda one: abs(one.racking_moment), default=None)

    def design_load(self, component: str) -> float:
        """N or N·m, the largest size over all cases and combinations."""
        loads = self.joint.analysis.design_loads[self.joint.number]
        return next(one.size for one in loads if one.component == component)


Entry = float | str | None


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: a number in SI, or text; null where there is none."""

    name: str
    unit: str
    words: str
    of: Callable[[DesignJoint], Entry] | None = None
    is_number: bool = True
    needs_margins: bool = False


def _share(part: str) -> Callable[[DesignJoint], Entry]:
    def read(one: DesignJoint) -> Entry:
        shares = None if one.racking is None else one.racking.shares
        return None if shares is None else shares.by_part[part]

    return read


def _attraction(moment: str) -> Callable[[DesignJoint], Entry]:
    return lambda one: None if one.racking is None else one.racking.attraction[moment]


def _racked(component: str) -> Callable[[DesignJoint], Entry]:
    return lambda one: None if one.racking is None else one.racking.attracted(component)


def _designed(component: str) -> Callable[[DesignJoint], Entry]:
    return lambda one: one.design_load(component)


def _governing(one: DesignJoint) -> tuple[GoverningCheck, str] | None:
    known = ((check, row) for check, row in one.margins.worst if row is not None)
    return next(known, None)


def _own(one: DesignJoint) -> tuple[GoverningCheck, str] | None:
    return one.margins.governing_check(own=True)


def _beside(one: DesignJoint) -> tuple[GoverningCheck, str] | None:
    return one.margins.governing_check(own=False)


Found = Callable[[DesignJoint], tuple[GoverningCheck, str] | None]


def _check_columns(name: str, words: str, found: Found) -> Iterator[Column]:
    """Margin, part, check and case of the lowest margin of some parts."""

    def margin(one: DesignJoint) -> Entry:
        lowest = found(one)
        return None if lowest is None else finite(lowest[0].margin)

    def text(read: Callable[[GoverningCheck, str], str]) -> Callable[[DesignJoint], Entry]:
        def of(one: DesignJoint) -> Entry:
            lowest = found(one)
            return None if lowest is None else read(*lowest)

        return of

    yield Column(
        f"{name}_margin", "", f"lowest margin {words}; null: none checked", margin, needs_margins=True
    )
    for what, read in (
        ("part", lambda check, _: check.part),
        ("check", lambda check, _: check.check),
        ("case", lambda _, row: row),
    ):
        yield Column(f"{name}_{what}", "", f"{what} of it", text(read), is_number=False, needs_margins=True)


def _words(component: str) -> str:
    return component.replace("-", "_").replace(" ", "_")


USUAL_COLUMNS: tuple[Column, ...] = (
    *_check_columns("governing", "of all parts, over all cases and combinations", _governing),
    *_check_columns("joint", "of the joint's own parts", _own),
    *_check_columns("beside", "of the parts beside the joint", _beside),
    Column(
        "not_checked", "", "number of checks that lack their data",
        lambda one: float(sum(row is None for _, row in one.margins.worst)), needs_margins=True,
    ),
    Column(
        "racking_stiffness", "N/m", "opposite forces at the stems per metre of differential heave",
        lambda one: one.joint.racking_stiffness,
    ),
    Column(
        "stiffer", "", "that over the racking stiffness of the bows without a crossbeam",
        lambda one: one.joint.result.stiffer,
    ),
    Column("hull_share", "", "of the racking moment, in the racking case with the largest one", _share("hull")),
    Column("torque_share", "", "of the same", _share("torque")),
    Column("shear_share", "", "of the same", _share("shear")),
    Column("torque_attraction", "", "torque that this case adds over that at a rigid joint", _attraction("torque")),
    Column("bending_attraction", "", "vertical bending likewise", _attraction("bending")),
    Column("racking_torque", "N·m", "that this case adds to pretension, the larger of both hulls", _racked("torque")),
    Column("racking_bending", "N·m", "vertical bending likewise", _racked("vertical bending")),
    *(
        Column(_words(component), unit, f"{component}, largest size over all cases and combinations", _designed(component))
        for component, unit in zip(JOINT_LOAD_NAMES, 3 * ("N",) + 3 * ("N·m",), strict=True)
    ),
    Column(
        "fittings_mass", "kg", "of both joints' lugs, plates, bolts, pins or tapes; null: no part is described",
        lambda one: one.fittings,
    ),
    Column(
        "mass", "kg", "of bows and front end as modelled (shells, tubes, masses entered), with these fittings",
        lambda one: one.mass,
    ),
    Column(
        "added_mass", "kg", "that less bows and front end as entered, which have no fittings",
        lambda one: one.mass - one.mass_as_entered,
    ),
)  # fmt: skip


def joint_load_columns(cases: Sequence[str]) -> list[Column]:
    """A column for each case, hull and component: ``joint_load.racking.port.My``, as in results.json."""
    return [
        Column(
            f"{EVERY_JOINT_LOAD}.{case}.{side}.{component}",
            "N" if component.startswith("F") else "N·m",
            f"{component} on the {side} hull at the joint in ‘{case}’, boat axes",
            _joint_load(case, SIDES.index(side), COMPONENTS.index(component)),
        )
        for case in cases
        for side in SIDES
        for component in COMPONENTS
    ]


def _joint_load(case: str, side: int, component: int) -> Callable[[DesignJoint], Entry]:
    return lambda one: float(one.joint.case(case).joint_load[side, component])


def chosen_columns(names: Sequence[str] | None, cases: Sequence[str]) -> list[Column]:
    """Those of the names, or the usual ones; InputFault for a name that does not exist."""
    if names is None:
        return list(USUAL_COLUMNS)
    loads = joint_load_columns(cases)
    known = {column.name: [column] for column in USUAL_COLUMNS} | {EVERY_JOINT_LOAD: loads}
    known |= {column.name: [column] for column in loads}
    for name in names:
        if name not in known:
            raise unknown("columns", "column", name, known)
    found = {column.name: column for name in names for column in known[name]}
    return list(found.values())
