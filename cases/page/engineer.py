"""The engineer's tab: one case or combination at a time, safety factors, how sure the numbers are, a test on the boat."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import Field
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from cases.analyses.case_rows import ROW_METHODS
from cases.input.boat_file import BoatFile
from cases.page import readings
from cases.page.answer import Depth, analysed, check_numbers
from cases.page.builder import JointAsked
from cases.page.messages import FiniteJSON, answering, read
from cases.page.state import BoatText, Changes
from cases.page.tab import Tab, Workplace
from cases.report.data.uncertainty_words import HOW_READ, called, joint_sentences, left_out_sentences
from femcore.base.errors import InputFault, unknown
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.margins import SafetyFactors


class RowAsked(JointAsked):
    """A question about one case or combination."""

    row: Annotated[str, Field(min_length=1, max_length=300)]


def routes(work: Workplace) -> Sequence[Route]:
    """Of the tab."""

    async def factors(_: Request) -> Response:
        return JSONResponse(list_of_factors(work.boat.boat))

    async def row(request: Request) -> Response:
        asked = await read(request, RowAsked)

        def found() -> dict[str, Any]:
            return in_row(work.boat, asked.changes, asked.joint, asked.depth, asked.row)

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    async def scatter(request: Request) -> Response:
        asked = await read(request, JointAsked)

        def found() -> dict[str, Any]:
            return scattered(work.boat, asked.changes, asked.joint)

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    return [
        Route("/engineer/factors", answering(factors)),
        Route("/engineer/row", answering(row), methods=["POST"]),
        Route("/engineer/scatter", answering(scatter), methods=["POST"]),
        *readings.routes(work),
    ]


def list_of_factors(boat: BoatFile) -> list[dict[str, Any]]:
    """Every key of `[factors]` with its value, what it is, and its bounds."""
    return [
        {"key": f"factors.{name}", "value": getattr(boat.factors, name), "words": field.description}
        for name, field in SafetyFactors.model_fields.items()
    ]


def in_row(boat: BoatText, changes: Changes, joint: str, depth: Depth, row: str) -> dict[str, Any]:
    """One case or combination of a joint: how it was solved, joint loads N and N·m, and every check in it alone.

    InputFault, with the nearest name, for a row that does not exist.
    """
    analysis, _ = analysed(boat, changes, joint, depth)
    [rows], [margins] = analysis.case_rows, analysis.part_margins
    if row not in rows.names:
        raise unknown("", "case or combination", row, rows.names)
    number = rows.names.index(row)
    [checks] = margins.case_by_case([number])
    return {
        "row": row,
        "method": ROW_METHODS[rows.method[number]],
        "balance": float(rows.balance[number]),
        "error": float(rows.error[number]),
        "loads": [
            {"component": name, **dict(zip(SIDES, map(float, of_sides), strict=True))}
            for name, of_sides in zip(JOINT_LOAD_NAMES, rows.values.joint_load[number].T, strict=True)
        ],
        "margins": [check_numbers(margins, one, row) for one in checks],
    }


def scattered(boat: BoatText, changes: Changes, joint: str) -> dict[str, Any]:
    """How sure the joint's loads and margins are: sentences, chances of its parts, and what each input moves."""
    analysis, _ = analysed(boat, changes, joint, "whole")
    found = analysis.uncertainty
    one = found.joint(joint)
    if one is None:
        raise InputFault(
            f"joint '{joint}'", "has no chances", "; ".join(left_out_sentences(found)) or "see its margins"
        )
    return {
        "how_read": f"{HOW_READ} {_samples_words(found.samples)}",
        "nominal": {"torque": one.torque.nominal, "margin": one.margin.nominal},
        "sentences": [*joint_sentences(one), *left_out_sentences(found)],
        "parts": [
            {
                "part": part.part,
                "check": part.check,
                "margin": part.margin,
                "index": part.index,
                "below_zero": part.counted.value,
                "at_least": part.counted.low,
                "at_most": part.counted.high,
                "failure": part.failure.value,
            }
            for part in one.parts
        ],
        "effects": [
            {
                "input": called(effect.input),
                "below": effect.below,
                "above": effect.above,
                "worth": 1 - effect.remaining,
                "torque": [effect.torque.low, effect.torque.high],
                "margin": [effect.margin.low, effect.margin.high],
            }
            for effect in one.effects
        ],
    }


def _samples_words(samples: int) -> str:
    return (
        f"Counted in {samples} samples of this joint alone; in the report all candidates share theirs, and its counts may differ "
        "within the bounds given."
    )


TAB = Tab("engineer", "Engineer", routes)

__all__ = ["TAB"]
