"""The governing margin over two inputs of a sweep, the boat's own point in it, and how far that may be off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special

from cases.analyses.sweeps.chunk import JOINT, REASON
from cases.analyses.sweeps.columns import Column
from cases.analyses.sweeps.plan import PreparedSweep
from cases.analyses.sweeps.run import GOVERNING, FinishedSweep
from cases.input.boat_file import BoatFile
from cases.input.grid_file import VariedKey
from cases.input.scatter import scattered_inputs
from cases.input.variants import split_key, value_at
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import InputFault
from femcore.base.spread import Spread, split_spread
from femcore.base.units import number_and_unit, si, unit_ratio

PROBABILITY = 0.9
"""Of what the ellipse encloses."""
ELLIPSE_POINTS = 181
REL_TOL_SAME_LINE = 1e-9
"""Of the spread of points along their main direction: less across it is a line, over which there is no contour."""


@dataclass(frozen=True, slots=True)
class FieldInput:
    """One of the two inputs.

    unit : as the grid has it, to show it in;   per_unit : of SI in one of these;   geometric : whether it was varied so
    own  : SI, the boat's; None where it has no such key as entered
    """

    key: str
    unit: str
    per_unit: float
    geometric: bool
    own: float | None


@dataclass(frozen=True, slots=True, eq=False)
class MarginField:
    """Of one joint.

    points  : (n, 2), values of both inputs, SI;   margin : (n,), the lowest over all else that varies, NaN without an answer
    outline : (k, 2), around what holds `PROBABILITY` of both inputs' scatter; None where one of them has none
    others  : keys over which `margin` is the lowest
    """

    joint: str
    inputs: tuple[FieldInput, FieldInput]
    points: FloatArray
    margin: FloatArray
    outline: FloatArray | None
    others: tuple[str, ...]

    @property
    def known(self) -> BoolArray:
        """(n,), where there is an answer."""
        return ~np.isnan(self.margin)


def margin_fields(done: FinishedSweep, keys: tuple[str, str] | None = None) -> list[MarginField]:
    """Of every joint of a sweep, over two of its keys; left out, the only two that are numbers.

    InputFault where there are not two such keys, the margin is not among the columns, or the points are on one line.
    """
    made = PreparedSweep.of(done.folder.plan)
    numbers = [column for column in made.inputs if column.is_number]
    first, second = _chosen(numbers, keys)
    table = done.table()
    if GOVERNING not in table.column_names:
        raise InputFault(
            "columns", f"have no {GOVERNING}", f"add it, or leave columns out, to draw {GOVERNING}"
        )
    own = tuple(
        _field_input(made.boat, made.grid.vary[made.inputs.index(one)], one) for one in (first, second)
    )
    outline = _outline(
        made.boat, [made.grid.vary[made.inputs.index(one)] for one in (first, second)], [first, second]
    )
    others = tuple(column.name for column in made.inputs if column not in (first, second))
    names = np.array(table[JOINT].to_pylist())
    at = np.column_stack([table[one.name].to_numpy() for one in (first, second)])
    margin = np.array(table[GOVERNING].to_pylist(), dtype=float)
    margin[np.array([bool(reason) for reason in table[REASON].to_pylist()])] = np.nan
    fields = []
    for joint in made.joints:
        of_joint = names == joint
        points, lowest = _lowest(at[of_joint], margin[of_joint])
        field = MarginField(joint, (own[0], own[1]), points, lowest, outline, others)
        if _on_a_line(points[field.known]):
            raise InputFault(
                f"joint '{joint}'", "has no answers over an area of both inputs", "vary both further"
            )
        fields.append(field)
    return fields


def _chosen(numbers: list[Column], keys: tuple[str, str] | None) -> tuple[Column, Column]:
    names = [column.name for column in numbers]
    if keys is None:
        if len(numbers) != 2:
            wrong = f"{len(numbers)} keys are varied as numbers, and a contour is over two"
            raise InputFault("vary", wrong, f"name two of them: {', '.join(names) or 'there is none'}")
        return numbers[0], numbers[1]
    for key in keys:
        if key not in names:
            raise InputFault(key, "is not varied as a number", f"name two of {', '.join(names)}")
    if keys[0] == keys[1]:
        raise InputFault(keys[0], "is named twice", "name two keys")
    return numbers[names.index(keys[0])], numbers[names.index(keys[1])]


def _lowest(points: FloatArray, margin: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places that differ, and the lowest margin at each; NaN where none of its designs has an answer."""
    places, which = np.unique(points, axis=0, return_inverse=True)
    lowest = np.full(len(places), np.inf)
    np.fmin.at(lowest, which.ravel(), margin)
    return places, np.where(np.isinf(lowest), np.nan, lowest)


def _on_a_line(points: FloatArray) -> bool:
    if len(points) < 3:
        return True
    spread = (points - points.mean(axis=0)) / np.ptp(points, axis=0).clip(min=np.finfo(float).tiny)
    along, across = np.linalg.svd(spread, compute_uv=False)
    return bool(across <= REL_TOL_SAME_LINE * along)


def _field_input(boat: BoatFile, varied: VariedKey, column: Column) -> FieldInput:
    try:
        value = value_at(boat.raw, varied.of[0])
        own = si(value, column.unit) if isinstance(value, str) else float(value)
    except (InputFault, TypeError, ValueError):
        own = None  # a key that the boat does not have as entered
    written = varied.typical[0]
    unit = number_and_unit(written)[1] if isinstance(written, str) else ""
    per_unit = unit_ratio(unit, column.unit) if unit else 1.0
    return FieldInput(column.name, unit, per_unit, varied.spacing == "geometric", own)


def _outline(boat: BoatFile, varied: list[VariedKey], columns: list[Column]) -> FloatArray | None:
    """(k, 2), SI: where both inputs are a common distance from their medians in standard normal space.

    The circle of radius √χ²(0.9, 2) there, taken back through both distributions: exactly `PROBABILITY` is inside where the
    inputs are independent. One cause for both is a line.
    """
    found = [_scatter(boat, one, column) for one, column in zip(varied, columns, strict=True)]
    if found[0] is None or found[1] is None:
        return None
    (first, cause), (second, other) = found[0], found[1]
    radius = float(np.sqrt(special.chdtri(2, 1 - PROBABILITY)))
    angle = np.linspace(0.0, 2 * np.pi, ELLIPSE_POINTS)
    u = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    if cause == other:
        u[:, 1] = u[:, 0]
    share = special.ndtr(u)
    return np.column_stack([first(share[:, 0]), second(share[:, 1])])


def _scatter(boat: BoatFile, varied: VariedKey, column: Column) -> tuple[Any, str] | None:
    """The quantile function of an input in SI, and its cause: as the grid draws it, or by the boat file; None without."""
    text, spread = split_spread(varied.sample or "")
    if spread is not None:
        return _quantiles(text, spread, column), varied.of[0]
    steps = [split_key(key) for key in varied.of]
    for one in scattered_inputs(boat):
        if one.group == "key" and split_key(one.key) in steps:
            return _quantiles(one.value, one.spread, column), one.cause
    kinds = list(_kinds_at(boat, steps[0]))
    kind = next((one for one in scattered_inputs(boat) if (one.key, one.part) in kinds), None)
    if kind is None:
        return None
    value = value_at(boat.raw, varied.of[0])
    return _quantiles(str(value), kind.spread, column), kind.cause


def _quantiles(text: str, spread: Spread, column: Column) -> Any:  # noqa: ANN401  (a function of arrays)
    (value, *_), unit = number_and_unit(text)
    to_si = unit_ratio(unit, column.unit) if unit else 1.0
    distribution = spread.distribution(
        value, 1.0 if spread.is_relative or not unit else unit_ratio(spread.unit, unit)
    )
    by = to_si * (value if spread.is_relative else 1.0)
    return lambda share: by * distribution.ppf(share)


def _kinds_at(boat: BoatFile, steps: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Kinds of scatter, and the parts, that are of what is at a key: size of a load, pretension, a spring as it is entered."""
    if steps == ("martingale", "pretension"):
        yield "pretension", ""
    if len(steps) != 3:
        return
    table, entry, key = steps
    if table == "joints" and key in ("surge", "sway", "heave", "roll", "pitch", "yaw"):
        yield "joint_stiffness", entry
    if table == "cases":
        case = next((one for one in boat.cases if one.name == entry), None)
        kind = getattr(case, "kind", "")
        if kind == "racking" and key in ("force", "movement", "twist"):
            yield ("racking" if key == "force" else "racking_by_movement"), ""
        if kind == "rig" and key == "tension":
            yield "stay_tension", ""


__all__ = ["PROBABILITY", "FieldInput", "MarginField", "margin_fields"]
