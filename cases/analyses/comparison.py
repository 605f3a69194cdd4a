"""A boat and its variants side by side: what each asks of every joint, and how stiff it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from pydantic import Field

from cases.analyses.analysis import ComparedBoat, analyse, analysed_variant
from cases.analyses.joint_results import ATTRACTED, CaseResult, JointResult
from cases.analyses.part_margins import PartMargins
from cases.input.boat_file import BoatFile
from cases.input.variants import AS_ENTERED
from cases.loads.racking import Racking
from cases.loads.rig import Rig
from femcore.base.errors import InputFault, StructureFault
from femcore.base.numbers import finite
from femcore.base.written import WRITTEN
from models.response.joint_loads import JOINT_LOAD_NAMES, larger_side


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """One quantity in every variant."""

    quantity: str
    unit: Annotated[str, Field(description="SI; `margin` of a margin, which may be below 0")]
    joint: Annotated[str, Field(description="name of the joint; empty: of the whole boat")]
    values: Annotated[
        tuple[float | None, ...], Field(description="one for each variant; null where it has none")
    ]


class Quantity(NamedTuple):
    """What is compared: its name, its SI unit, and how it is read of a joint."""

    name: str
    unit: str
    of: Callable[[JointResult, PartMargins], float | None]


MARGIN = "margin"
REL_TOL_NO_CHANGE = 0.005
"""Of a quantity as entered: a variant that changes it by less is reported as not changing it."""
REL_TOL_NO_QUANTITY = 1e-9
"""Of the largest value of a quantity over joints and variants: a smaller one is rounding, and is reported as 0."""


def compare(
    file: BoatFile, source: str = "", done: Callable[[], None] = lambda: None
) -> tuple[ComparedBoat, ...]:
    """The boat as entered and each of its variants, run; a StructureFault names the variant in which no joint has an answer.

    done : called after the boat as entered and after each variant

    InputFault where the file has no variants.
    """
    require_variants(file, source)
    found = analyse(file, source).with_answers(lives=False)
    done()
    compared = [ComparedBoat(AS_ENTERED, file.note, found)]
    for variant in file.variants:
        made = analysed_variant(file, variant, source)
        done()
        if isinstance(made, StructureFault):
            raise made.inside(f"variant '{variant.name}'") from None
        compared.append(ComparedBoat(variant.name, variant.note, made))
    return tuple(compared)


def require_variants(file: BoatFile, source: str) -> None:
    """InputFault where the file has no variants."""
    if not file.variants:
        cure = 'add [[variants]] with a name and what to leave out or set, such as without = ["longeron"]'
        raise InputFault(source, "has no variants to compare", cure)


def _largest(
    of: type[Rig | Racking], value: Callable[[CaseResult], float | None]
) -> Callable[[JointResult, PartMargins], float | None]:
    """The largest size of a value over a joint's cases of one kind."""

    def read(joint: JointResult, _: PartMargins) -> float | None:
        found = [value(case) for case in joint.cases if isinstance(case.case, of)]
        return max((size for size in found if size is not None), default=None)

    return read


def _lowest_margin(*, own: bool) -> Callable[[JointResult, PartMargins], float | None]:
    def read(_: JointResult, part_margins: PartMargins) -> float | None:
        found = part_margins.governing_check(own=own)
        return None if found is None else finite(found[0].margin)

    return read


def _added_by_racking(word: str) -> Callable[[JointResult, PartMargins], float | None]:
    return _largest(Racking, lambda case: larger_side(case.added_joint_load, word))


def _under_rig(word: str) -> Callable[[JointResult, PartMargins], float | None]:
    return _largest(Rig, lambda case: larger_side(case.joint_load, word))


def _of_all(word: str) -> Callable[[JointResult, PartMargins], float]:
    """Over all cases and combinations."""
    return lambda _, part_margins: larger_side(part_margins.rows.values.joint_load, word)


QUANTITIES = (
    Quantity("racking stiffness", "N/m", lambda joint, _: joint.racking_stiffness),
    *(Quantity(f"{word} that racking adds", "N·m", _added_by_racking(word)) for word in ATTRACTED),
    *(
        Quantity(f"{word} under the rig", unit, _under_rig(word))
        for word, unit in zip(JOINT_LOAD_NAMES, 3 * ["N"] + 3 * ["N·m"], strict=True)
    ),
    Quantity(
        "martingale tension under the rig",
        "N",
        _largest(Rig, lambda case: max(case.truss.tension.values(), default=None)),
    ),
    *(Quantity(f"{word} of all cases", "N·m", _of_all(word)) for word in ATTRACTED),
    Quantity("lowest margin of the joint's parts", MARGIN, _lowest_margin(own=True)),
    Quantity("lowest margin beside the joint", MARGIN, _lowest_margin(own=False)),
)
"""What is compared at each joint: of joint loads the larger of both hulls, the largest over all cases of that kind; of racking
what it adds to pretension, of the rig and of all cases (and combinations) the whole load."""


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """A boat and its variants side by side."""

    __pydantic_config__ = WRITTEN
    variants: Annotated[tuple[ComparedBoat, ...], Field(description="the boat as entered first")]
    rows: tuple[ComparisonRow, ...]


def comparison(compared: tuple[ComparedBoat, ...]) -> Comparison:
    """Boats with what is compared of them."""
    return Comparison(compared, tuple(rows(compared)))


def rows(compared: tuple[ComparedBoat, ...]) -> list[ComparisonRow]:
    """Quantity by quantity, joint by joint, a value for each variant."""
    return [
        *_boat_rows(compared),
        *(row for quantity in QUANTITIES for row in _joint_rows(quantity, compared)),
    ]


def _boat_rows(compared: tuple[ComparedBoat, ...]) -> Iterator[ComparisonRow]:
    bare = tuple(one.study.bare_racking_stiffness for one in compared)
    yield ComparisonRow("racking stiffness of the bows without a crossbeam", "N/m", "", bare)
    torques = [[abs(line.torque) for line in one.study.stay_lines().values()] for one in compared]
    if any(torques):
        yield ComparisonRow(
            "torque of the stay about the beam's axis",
            "N·m",
            "",
            tuple(max(t, default=None) for t in torques),
        )


def _joint_rows(quantity: Quantity, compared: tuple[ComparedBoat, ...]) -> Iterator[ComparisonRow]:
    joints = [
        {
            joint.joint.name: (joint, part_margins)
            for joint, part_margins in zip(one.study.joints, one.part_margins, strict=True)
        }
        for one in compared
    ]
    for name in dict.fromkeys(name for one in joints for name in one):
        values = tuple(quantity.of(*one[name]) if name in one else None for one in joints)
        if any(value is not None for value in values):
            yield ComparisonRow(quantity.name, quantity.unit, name, values)


@dataclass(frozen=True, slots=True)
class QuantityChange:
    """What a variant changes most: a quantity, the most of it at any joint as entered and in the variant, in `unit`."""

    variant: str
    quantity: str
    unit: str
    before: float
    after: float


def largest_changes(compared: tuple[ComparedBoat, ...]) -> list[QuantityChange]:
    """For each variant the quantity whose most, over the joints that both have, changes by the largest ratio.

    A variant that changes nothing has none; what is there in one of both only is no ratio, and neither is a margin's.
    """
    compared_rows = rows(compared)
    found = []
    for number, variant in enumerate(compared[1:], start=1):
        most: dict[tuple[str, str], tuple[float, float]] = {}
        for row in compared_rows:
            before, after = row.values[0], row.values[number]
            if row.unit != MARGIN and before is not None and after is not None:
                known = most.get((row.quantity, row.unit), (0.0, 0.0))
                most[row.quantity, row.unit] = (max(known[0], before), max(known[1], after))
        ratios = {key: abs(math.log(b / a)) for key, (a, b) in most.items() if a > 0 and b > 0}
        key = max(ratios, key=ratios.__getitem__, default=None)
        if key is not None and ratios[key] > 0:
            found.append(QuantityChange(variant.name, *key, *most[key]))
    return found
