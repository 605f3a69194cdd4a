"""The student's tab: textbook cases to open, theory beside result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from itertools import groupby
from typing import Annotated, Any

from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from cases.page.messages import Asked, FiniteJSON, answering, read
from cases.page.student_picture import one_case, picture
from cases.page.tab import Tab, Workplace
from cases.report.pages.chapter_topics import INTRODUCTIONS
from cases.report.pages.chapter_words import loads_in_words, paragraphs, printed
from cases.verification.textbook import SOURCE_STATUS, TextbookCase, in_given_unit, textbook_cases
from femcore.base.errors import unknown
from femcore.base.numbers import plain
from femcore.files.frame_run import ExpectationResult, FrameRun, run_frame

MOST_REMEMBERED = 8
"""Solved cases: so that a cut that moves, or another load case, asks for no new solution."""


class CaseAsked(Asked):
    """A question about one load case of a textbook case.

    case : the name of its file without ending;   load : of its load cases, the first where left out
    """

    case: Annotated[str, Field(min_length=1, max_length=100)]
    load: Annotated[str, Field(max_length=300)] = ""


def routes(work: Workplace) -> Sequence[Route]:
    """Of the tab."""

    async def listed(_: Request) -> Response:
        return JSONResponse(await run_in_threadpool(list_of_cases))

    async def described(request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(description, request.path_params["name"]))

    async def answered(request: Request) -> Response:
        asked = await read(request, CaseAsked)

        def found() -> dict[str, Any]:
            return answer(asked.case, asked.load)

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    return [
        Route("/student/cases", answering(listed)),
        Route("/student/case/{name}", answering(described)),
        Route("/student/answer", answering(answered), methods=["POST"]),
    ]


@cache
def _cases() -> dict[str, TextbookCase]:
    return {case.path.stem: case for case in textbook_cases()}


def _case(name: str) -> TextbookCase:
    """InputFault, with the nearest name, for a case that does not exist."""
    if name not in _cases():
        raise unknown("", "textbook case", name, _cases())
    return _cases()[name]


def list_of_cases() -> list[dict[str, Any]]:
    """Topics in teaching order, each with its introduction and its cases."""
    return [
        {
            "topic": topic,
            "words": INTRODUCTIONS.get(topic, ""),
            "cases": [
                {"name": case.path.stem, "title": plain(case.file.title), "source": plain(case.file.source)}
                for case in group
            ],
        }
        for topic, group in groupby(_cases().values(), lambda case: case.topic)
    ]


def description(name: str) -> dict[str, Any]:
    """A case as its file has it: title, source, note, and its load cases in words."""
    file = _case(name).file
    return {
        "name": name,
        "title": plain(file.title),
        "topic": _case(name).topic,
        "source": plain(file.source),
        "seen": SOURCE_STATUS.get(file.seen or "", "not said"),
        "note": [
            ["".join(text for text, _ in line) for line in part] for part in paragraphs(file.note, {})
        ] if file.note.strip() else [],
        "loads": [{"name": case.name, "words": loads_in_words(file, case)} for case in file.cases],
    }  # fmt: skip


def answer(name: str, load: str) -> dict[str, Any]:
    """One load case, solved: theory beside result, and what its pictures are drawn from; SI.

    InputFault for names that do not exist, StructureFault where the frame cannot be solved.
    """
    run = solved(name)
    names = run.solution.names
    number = run.solution.case(load or 0)
    return {
        "case": name,
        "load": names[number],
        "elements": len(run.solution.frame.ends),
        "method": "in the deformed shape"
        if run.solution.second_order[number]
        else "linear, in the frame as drawn",
        "error": float(run.solution.error[number]),
        "rows": list(_rows(run, names[number])),
        "others": [outcome.ok for outcome in run.outcomes if outcome.expected.case != names[number]],
        "picture": picture(one_case(run.solution, number)),
    }


def solved(name: str) -> FrameRun:
    """A case, solved; the last few are remembered."""
    return _solved(name)


@lru_cache(MOST_REMEMBERED)
def _solved(name: str) -> FrameRun:
    return run_frame(_case(name).file)


def _rows(run: FrameRun, load: str) -> Iterator[dict[str, Any]]:
    """Theory beside result: a row for each value that the source gives of the load case, in its own unit."""
    for outcome in run.outcomes:
        if outcome.expected.case == load:
            yield _row(outcome)


def _row(outcome: ExpectationResult) -> dict[str, Any]:
    expect = outcome.expected
    theory = expect.expected
    difference = outcome.computed - theory
    return {
        "at": expect.at or "frame",
        "quantity": expect.quantity,
        "theory": printed(str(expect.value)),
        "computed": printed(in_given_unit(outcome.computed, expect)),
        "difference": printed(
            f"{100 * difference / abs(theory):+.2g} %" if theory else in_given_unit(difference, expect, 2)
        ),
        "value": outcome.computed,
        "expected": theory,
        "ok": outcome.ok,
    }


TAB = Tab("student", "Student", routes)

__all__ = ["TAB"]
