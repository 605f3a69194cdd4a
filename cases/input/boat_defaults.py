"""What cases take from the [boat] table of their file where they do not state it, and which inputs are estimated.

Each kind of case names the keys that [boat] may give (`LoadCase.from_boat`). They are put into the file's own tables before these
are checked, so that a case has the same form whether it states a value or takes it. What is marked in boat.estimated, and what a
case takes that is itself an estimate (`cases.input.estimates.particulars`), is an estimated input; wherever the value is quoted
it is marked by what `InputEstimates` says of its key.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, ValidationError

from cases.input.estimates import Value, particulars
from cases.input.known_boat import BoatTable, scatter_behind
from cases.input.variants import split_key, value_at
from cases.loads import LOAD_CASES, LoadCase
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import FileContext, ReportedText

UNITS = {
    "displacement": "kg", "rig_height": "m", "waterline": "m", "waterline_breadth": "m", "windage": "m**2", "bridle": "m",
    "headsail_area": "m**2", "drive": "N", "effort_height": "m", "lee_share": "",
}  # fmt: skip
"""SI units of what cases take from [boat]; a number without one where empty."""
REL_TOL_SAME_PARTICULAR = 1e-6
"""Of a value of [boat]: a case that states it to within this states the same."""


@dataclass(frozen=True, slots=True)
class TakenKey:
    """A key of a case that [boat] gives.

    case : its name;   key : with a dot where it is in a table of the case;   of : key of [boat]
    """

    case: str
    key: str
    of: str


@dataclass(frozen=True, slots=True)
class EstimatedInput:
    """An input that is estimated, not entered."""

    key: Annotated[
        str, Field(description="of the boat file, of a value or of a table with all that is in it")
    ]
    value: Annotated[
        str, Field(description="as the file has it, or in SI where a rule gives it; empty of a table")
    ]
    scatter: Annotated[
        str, Field(description="how far it may be off: ± 5 %, ± 20 mm, or × 2, either way by a factor")
    ]
    rule: Annotated[str, Field(description="by which it was estimated here; empty where the file marks it")]
    taken_by: Annotated[tuple[str, ...], Field(description="keys of cases that take it from [boat]")]


@dataclass(frozen=True, slots=True)
class InputEstimates:
    """The estimated inputs of a boat file."""

    inputs: tuple[EstimatedInput, ...] = ()

    def at(self, key: str) -> str:
        """The scatter of what is at a key, where that or a table around it is estimated; else empty."""
        steps = split_key(key)
        found = ((one, split_key(one.key)) for one in self.inputs)
        return next((one.scatter for one, mark in found if steps[: len(mark)] == mark), "")

    def mark(self, *keys: str) -> str:
        """What follows a quoted value that rests on these keys: the scatter of the first that is estimated, in brackets."""
        scatter = next(filter(None, map(self.at, keys)), "")
        return f" (estimated {scatter})" if scatter else ""

    def of_case(self, name: str) -> tuple[str, ...]:
        """The inputs of a case that are estimated, each with its scatter; of a case that is marked as a whole, its scatter."""
        found = []
        for one in self.inputs:
            steps = split_key(one.key)
            if steps[:2] == ("cases", name):
                found.append(" ".join((*steps[2:], one.scatter)).replace("_", " "))
            for key in one.taken_by:
                of, *rest = split_key(key)[1:]
                if of == name:
                    found.append(f"{rest[-1]} {one.scatter}".replace("_", " "))
        return tuple(found)

    def words(self) -> str:
        """What is estimated, in one sentence; empty where nothing is."""
        if not self.inputs:
            return ""
        named = ", ".join(
            f"{one.key} = {one.value} {one.scatter}" if one.rule else f"{one.key} {one.scatter}"
            for one in self.inputs
        )
        several = len(self.inputs) > 1
        counted = f"{len(self.inputs)} inputs are" if several else "1 input is"
        cure = "these: measure the widest first" if several else "that: measure it"
        return (
            f"{counted} estimated, not entered: {named}. Margins are no better than {cure}, enter what you measured, and take "
            "its key out of boat.estimated."
        )


def completed(raw: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[TakenKey, ...]]:
    """A file's tables with every key of a case that its [boat] table gives, and what these are; nothing without [boat].

    A [boat] table that is at fault gives nothing but what it states.
    """
    table = raw.get("boat")
    if not (isinstance(table, Mapping) and isinstance(raw.get("cases"), list)):
        return dict(raw), ()
    boat, faulty = _boat(table)
    texts = {
        key: ReportedText(table[key]) if key in faulty and isinstance(table[key], str) else table[key]
        for key in UNITS
        if key in table
    }
    if boat is not None:
        texts = {key: _text(one, UNITS[key]) for key, one in particulars(boat).items()} | texts
    taken: list[TakenKey] = []
    cases = [_completed_case(case, texts, taken) if isinstance(case, dict) else case for case in raw["cases"]]
    return {**raw, "cases": cases}, tuple(taken)


def _completed_case(case: dict[str, Any], texts: Mapping[str, Any], taken: list[TakenKey]) -> dict[str, Any]:
    """The raw case with what it takes, which goes into `taken`."""
    kind = LOAD_CASES.get(str(case.get("kind")))
    for key, of in (kind.keys_from_boat(case) if kind else {}).items():
        table, _, last = key.rpartition(".")
        there = case[table] if table else case
        if last in there or of not in texts:
            continue
        case = case | ({table: there | {last: texts[of]}} if table else {last: texts[of]})
        taken.append(TakenKey(str(case.get("name")), key, of))
    return case


def _boat(table: Mapping[str, Any]) -> tuple[BoatTable | None, frozenset[str]]:
    """The checked table, None where it is at fault, and which of its keys are."""
    try:
        return BoatTable.model_validate(table, context=FileContext()), frozenset()
    except ValidationError as trouble:
        return None, frozenset(str(error["loc"][0]) for error in trouble.errors() if error["loc"])


def _text(value: Value, unit: str) -> Any:  # noqa: ANN401  (text with a unit, or a number that has none)
    """A value as a file has it."""
    return f"{value.value!r} {unit}" if unit else value.value


def input_estimates(raw: Mapping[str, Any], boat: BoatTable | None) -> InputEstimates:
    """Those of a file: what its [boat] table marks, then what cases take from it that is estimated from the rest of it."""
    if boat is None:
        return InputEstimates()
    known = particulars(boat)
    takers = {
        of: tuple(f'cases."{one.case}".{one.key}' for one in completed(raw)[1] if one.of == of)
        for of in UNITS
    }
    of_file = (
        EstimatedInput(key, *_shown(raw, key, scatter), "", takers.get(key.removeprefix("boat."), ()))
        for key, scatter in boat.marks.items()
    )
    by_rule = (
        EstimatedInput(
            f"boat.{of}", _quantity(known[of].value, of), known[of].scatter, known[of].rule, keys
        )
        for of, keys in takers.items()
        if keys and known[of].scatter
    )  # fmt: skip
    return InputEstimates((*of_file, *by_rule))


def _quantity(value: float, of: str) -> str:
    """A particular for reading."""
    unit = UNITS[of]
    return (
        engineering(value, unit)
        if unit in {"kg", "m", "N"}
        else f"{value:.3g} {unit.replace('**2', '²')}".rstrip()
    )


def _shown(raw: Mapping[str, Any], key: str, scatter: str) -> tuple[str, str]:
    """What a file has at a key, where that is one value, and how far it may be off: as marked, or as it stands behind it."""
    try:
        found = value_at(raw, key)
    except InputFault:
        return "", scatter
    if isinstance(found, dict | list):
        return "", scatter
    behind = scatter_behind(found)
    return str(found).removesuffix(behind).strip() if behind else str(found), scatter or behind


def contradictions(boat: BoatTable | None, cases: list[LoadCase]) -> Iterator[str]:
    """A sentence for every key of a case that states another value than the [boat] table."""
    for case in cases:
        for key, of in type(case).from_boat.items():
            stated: Any = case
            for step in key.split("."):
                stated = getattr(stated, step, None)
            entered = getattr(boat, of, None)
            if (
                stated is None
                or entered is None
                or math.isclose(stated, entered, rel_tol=REL_TOL_SAME_PARTICULAR)
            ):
                continue
            here, there = _quantity(stated, of), _quantity(entered, of)
            yield (
                f"case ‘{case.name}’: {key} is {here}, and [boat] has {there} for {of}: take it out of the case, or correct one "
                "of them."
            )
