"""A test on the boat, on the engineer's tab: planned or opened, its readings entered, fitted.

The page keeps the tables of the test's file, in its address. A reading that is empty was not taken, and neither was a gauge
without readings.
"""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any

import tomlkit
from pydantic import Field
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from cases.analyses.calibration import calibrate, patched_text
from cases.analyses.calibration_result import CalibrationResult
from cases.analyses.test_plan import blank_file, plan_test
from cases.input.boat_test import BoatTestFile
from cases.page.builder import JointAsked
from cases.page.messages import Asked, FiniteJSON, answering, read
from cases.page.state import BoatText, Changes
from cases.page.tab import Workplace
from cases.report.data.calibration_words import factor_lines, racking_line, verdict_lines
from femcore.base.errors import InputFault
from femcore.base.toml import checked, parsed_toml

LIFT = 5e3
"""N, under one bow, of a test that is planned here; its load steps can be changed."""
PLACE = "test"
"""How faults call what was entered."""
Tables = Mapping[str, Any]


class TextAsked(Asked):
    """The text of a test's file."""

    text: Annotated[str, Field(max_length=1_000_000)]


class TestAsked(Asked):
    """The tables of a test's file, as the page keeps them."""

    test: dict[str, Any]


def routes(work: Workplace) -> Sequence[Route]:
    """Of the test."""

    async def plan(request: Request) -> Response:
        asked = await read(request, JointAsked)

        def found() -> dict[str, Any]:
            return {"test": planned(work.boat, asked.changes, asked.joint)}

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    async def fit(request: Request) -> Response:
        asked = await read(request, TestAsked)

        def found() -> dict[str, Any]:
            return fit_numbers(fitted(work.boat, asked.changes, asked.test))

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    async def measured(request: Request) -> Response:
        asked = await read(request, TestAsked)

        def found() -> str:
            result = fitted(work.boat, asked.changes, asked.test)
            return patched_text(
                work.boat.changed(asked.changes), result, work.boat.changed_text(asked.changes)
            )

        return PlainTextResponse(
            await work.desk.done(asked.page, asked.number, request.is_disconnected, found)
        )

    return [
        Route("/engineer/plan", answering(plan), methods=["POST"]),
        Route("/engineer/open", answering(_opened), methods=["POST"]),
        Route("/engineer/fit", answering(fit), methods=["POST"]),
        Route("/engineer/measured", answering(measured), methods=["POST"]),
        Route("/engineer/test", answering(_written), methods=["POST"]),
    ]


async def _opened(request: Request) -> Response:
    """The tables of a test's text."""
    tables = parsed_toml((await read(request, TextAsked)).text, PLACE)
    if not _of(tables, "tests"):
        raise InputFault(
            PLACE,
            "the file has no [[tests]]",
            "open one that ‘forebeam plan-test BOAT --test FILE’ has written",
        )
    return FiniteJSON({"test": _shown(tables)})


def _shown(value: Any) -> Any:  # noqa: ANN401  (whatever TOML holds)
    """A date, or a number without an end, as text: JSON has neither, no test does, and it is refused where the test is fitted."""
    if isinstance(value, dict):
        return {key: _shown(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_shown(one) for one in value]
    plain = isinstance(value, str | int) or (isinstance(value, float) and math.isfinite(value))
    return value if plain else str(value)


async def _written(request: Request) -> Response:
    """The text of a test's tables."""
    return PlainTextResponse(tomlkit.dumps((await read(request, TestAsked)).test))


def planned(boat: BoatText, changes: Changes, joint: str) -> dict[str, Any]:
    """The tables of a test of a joint, without readings; InputFault for a boat that cannot be tested."""
    return tomllib.loads(blank_file(plan_test(boat.changed(changes), joint, LIFT)))


def fitted(boat: BoatText, changes: Changes, tables: Tables) -> CalibrationResult:
    """What the test teaches of the changed boat; faults as of `calibrate`, of what was entered as of a test's file."""
    test = checked(_taken(tables), BoatTestFile, PLACE)
    return calibrate(boat.changed(changes), test, boat.name, PLACE)


def _taken(tables: Tables) -> dict[str, Any]:
    """Without readings that were not taken, and the steps and gauges that have none."""
    kept = copy.deepcopy(dict(tables))
    for test in _of(kept, "tests"):
        for step in _of(test, "steps"):
            readings = step.get("readings")
            if isinstance(readings, dict):
                step["readings"] = {name: one for name, one in readings.items() if not _is_blank(one)}
        test["steps"] = [step for step in _of(test, "steps") if step.get("readings")]
        read_ones = {name for step in test["steps"] for name in step["readings"]}
        test["gauges"] = [gauge for gauge in _of(test, "gauges") if gauge.get("name") in read_ones]
    return kept


def _of(table: dict[str, Any], key: str) -> list[dict[str, Any]]:
    found = table.get(key)
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _is_blank(reading: object) -> bool:
    return isinstance(reading, str) and (not reading.strip() or reading.strip().startswith("?"))


def fit_numbers(found: CalibrationResult) -> dict[str, Any]:
    """For the page: sentences, factors with their 95 % ranges, what follows from them, gauges, joint loads; SI."""
    return {
        "title": found.title,
        "joint": found.joint,
        "verdict": found.verdict,
        "sentences": [*verdict_lines(found), *factor_lines(found), racking_line(found)],
        "factors": list(_factors(found)),
        "values": [
            {"name": one.name, "unit": one.unit, "before": one.before, "after": one.after, "range": one.range_95}
            for one in found.values
        ],
        "gauges": [
            {
                "test": one.test, "gauge": one.gauge, "unit": one.unit, "readings": one.readings, "miss": one.miss,
                "scatter": one.scatter,
            }
            for one in found.gauges
        ],
        "loads": [{"case": one.case, "torque": one.torque, "bending": one.bending} for one in found.joint_loads],
    }  # fmt: skip


def _factors(found: CalibrationResult) -> Iterator[dict[str, Any]]:
    """One that the test taught too little of has none."""
    for one in found.factors:
        quoted = one.name in found.quoted
        yield {
            "name": one.name.replace("_", " "),
            "factor": one.factor if quoted else None,
            "range": one.range_95 if quoted else None,
            "learned": max(one.learned, 0.0),
        }


__all__ = ["fit_numbers", "fitted", "planned", "routes"]
