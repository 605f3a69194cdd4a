"""The student's tab: textbook cases to open and change, theory beside result.

The page keeps the edits of a case in its address and sends them with every question, as the builder's changes of a boat.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from itertools import groupby
from math import isfinite
from typing import Annotated, Any

from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from cases.input.variants import key_step, split_key
from cases.page.fields import fields_of
from cases.page.messages import Asked, FiniteJSON, answering, read
from cases.page.student_cut import cut_numbers
from cases.page.student_picture import mode_pictures, one_case, picture
from cases.page.tab import Tab, Workplace
from cases.report.pages.chapter_topics import INTRODUCTIONS
from cases.report.pages.chapter_words import loads_in_words, paragraphs, printed
from cases.verification.changed_case import ALL_LENGTHS, ALL_LOADS, changed
from cases.verification.similarity import Theory, theories
from cases.verification.textbook import (
    OF_THEIR_ELEMENTS,
    SOURCE_STATUS,
    TextbookCase,
    in_given_unit,
    textbook_cases,
)
from femcore.base.errors import InputFault, unknown
from femcore.base.numbers import engineering, plain
from femcore.base.toml import read_toml
from femcore.files.frame_file import FrameFile, frame_of
from femcore.files.frame_run import ExpectationResult, FrameRun, run_frame
from femcore.frame.frame import FREEDOMS
from femcore.plotting.projection import choose_view
from femcore.solvers.solution import Solution

GROUPS: Sequence[tuple[str, Sequence[str]]] = (
    ("Materials and sections", ("materials", "sections")),
    ("Nodes", ("nodes",)),
    ("Supports, springs, cables, masses", ("supports", "springs", "cables", "masses")),
)
MAIN = re.compile(
    r"materials\..+\.(E|G)|sections\..+\.(A|Iy|Iz|J|diameter|wall|width|depth)|nodes\..+|cases\..+\.(force|moment|gravity|change|second_order)"
    r"|springs\..+|cables\..+\.(EA|pretension)|supports\..+\.moved\..+|masses\..+"
)
SET = ("name", "note", "kind", "from", "to", "node", "beam", "cable", "path", "axes", "up", "shape")
"""Keys that say what the case is: they are not changed here."""
FACTORS = 0.5, 2.0
"""Between which the sliders of all lengths and all loads go."""
SPRING_UNITS = dict(zip(FREEDOMS, ("N/m",) * 3 + ("N*m/rad",) * 3, strict=True))
LEAST_BENDING = 1e-4
"""Of EA L²: the bending stiffness that a bar's end is offered a spring for."""
MOST_ELEMENTS = 500
"""Of a changed case: more would keep the page waiting."""
MOST_MODES = 4
"""Drawn of a load case."""
MOST_REMEMBERED = 8
"""Solved cases: so that a cut that moves, or another load case, asks for no new solution."""


class CaseAsked(Asked):
    """A question about one load case of a textbook case.

    case  : the name of its file without ending;   load : of its load cases, the first where left out
    edits : values by key of the file, and the two factors of `changed_case`
    beam, at : the beam that is cut, the first where left out, and at which fraction of its length
    """

    case: Annotated[str, Field(min_length=1, max_length=100)]
    load: Annotated[str, Field(max_length=300)] = ""
    edits: Annotated[dict[str, Any], Field(max_length=1000)] = {}
    beam: Annotated[str, Field(max_length=300)] = ""
    at: Annotated[float, Field(ge=0, le=1)] = 0.5


def routes(work: Workplace) -> Sequence[Route]:
    """Of the tab."""

    async def listed(_: Request) -> Response:
        return JSONResponse(await run_in_threadpool(list_of_cases))

    async def described(request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(description, request.path_params["name"]))

    async def answered(request: Request) -> Response:
        asked = await read(request, CaseAsked)

        def found() -> dict[str, Any]:
            return answer(asked.case, asked.load, asked.edits, asked.beam, asked.at)

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
    """A case as its file has it: title, source, note, load cases in words, and the fields of what can be changed."""
    case = _case(name)
    file, tables = case.file, read_toml(case.path)
    return {
        "name": name,
        "title": plain(file.title),
        "topic": case.topic,
        "source": plain(file.source),
        "seen": SOURCE_STATUS.get(file.seen or "", "not said"),
        "note": [
            ["".join(text for text, _ in line) for line in part] for part in paragraphs(file.note, {})
        ] if file.note.strip() else [],
        "loads": [
            {"name": one.name, "words": loads_in_words(file, one), "fields": list(_load_fields(table))}
            for one, table in zip(file.cases, tables["cases"], strict=True)
        ],
        "factors": [
            {"key": key, "value": 1, "range": list(FACTORS), "number": 1, "main": True}
            for key in (ALL_LENGTHS, ALL_LOADS)
        ],
        "groups": [
            {"title": title, "fields": fields} for title, keys in GROUPS if (fields := list(_fields(tables, keys)))
        ],
        "beams": list(_beam_fields(file, tables.get("beams", []))),
    }  # fmt: skip


def _load_fields(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """What acts in a load case, and whether it is solved in the deformed shape, which a file may leave out."""
    key = f"cases.{key_step(table['name'])}"
    given = {"second_order": False, **table}
    for one in fields_of(given, key, MAIN, SET):
        yield one | {"words": _words(given, split_key(one["key"])[2:])}


def _fields(tables: Mapping[str, Any], keys: Sequence[str]) -> Iterator[dict[str, Any]]:
    """Of some of a file's tables."""
    for key in keys:
        for one in fields_of(tables.get(key, {}), key, MAIN, SET):
            first, *rest = split_key(one["key"])
            yield one | {"words": _words(tables[first], rest)}


def _words(table: Any, steps: Sequence[str]) -> str:  # noqa: ANN401  (whatever the file holds)
    """A key for reading: an entry of a list that has no name is called by what it acts on."""
    said = []
    for step in steps:
        if isinstance(table, list) and step.isdecimal():
            table = table[int(step) - 1]
            of = [table[key] for key in ("node", "beam", "cable", "from", "to") if key in table]
            said.append("–".join(of) if isinstance(table, dict) else step)
        else:
            table = (
                next(one for one in table if one.get("name") == step)
                if isinstance(table, list)
                else table[step]
            )
            said.append(step.replace("_", " "))
    return " ".join(said)


def _beam_fields(file: FrameFile, tables: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """Of every beam: its elements, what its ends release, its springs there, and springs as stiff as it is itself."""
    frame = frame_of(file)
    for beam, table in zip(file.beams, tables, strict=True):
        first = frame.member(beam.name).first
        length = float(frame.length[frame.member(beam.name).elements].sum())
        bending = float(max(frame.EIy[first], frame.EIz[first], frame.EA[first] * length**2 * LEAST_BENDING))
        yield {
            "name": beam.name,
            "key": f"beams.{key_step(beam.name)}",
            "divide": beam.divide,
            "ends": {
                end: {"release": table.get(f"{end}_release", []), "spring": table.get(f"{end}_spring", {})}
                for end in ("from", "to")
            },
            "as_stiff": {
                freedom: _rounded(bending / length ** (1 if freedom[0] == "r" else 3), unit)
                for freedom, unit in SPRING_UNITS.items()
            },
        }


def _rounded(value: float, unit: str) -> str:
    return engineering(float(f"{value:.2g}"), unit)


def answer(name: str, load: str, edits: Mapping[str, Any], beam: str = "", at: float = 0.5) -> dict[str, Any]:
    """One load case of a changed case, solved: theory beside result, what its pictures are drawn from, and a cut; SI.

    InputFaults for what the edits make of the file, InputFault for names that do not exist, StructureFault where the frame cannot
    be solved.
    """
    run = solved(name, edits)
    names = run.solution.names
    number = run.solution.case(load or 0)
    found = _theories(name, _key(edits))
    rows = [
        _row(theory, outcome)
        for theory, outcome in zip(found, run.outcomes, strict=True)
        if outcome.expected.case == names[number]
    ]
    deformed = run.solution.second_order[number]
    solution, beams = one_case(run.solution, number), run.solution.frame.members
    view = choose_view(solution)
    return {
        "case": name,
        "load": names[number],
        "words": loads_in_words(run.file, run.file.cases[number]),
        "elements": len(run.solution.frame.ends),
        "method": "in the deformed shape" if deformed else "linear, in the frame as drawn",
        "error": float(run.solution.error[number]),
        "rows": rows,
        "without": list(dict.fromkeys(row["reason"] for row in rows if row["reason"])),
        "picture": picture(solution, view),
        "modes": list(_modes(run, names[number], solution)),
        "cut": cut_numbers(solution, beam or next(iter(beams)), at, view)
        if beams and solution.natural.any()
        else None,
    }


def _modes(run: FrameRun, load: str, solution: Solution) -> Iterator[dict[str, Any]]:
    """Modes of buckling and vibration that the source gives values of, the first few of each."""
    for kind, found in (("buckling factor", run.buckling), ("frequency", run.vibration)):
        expected = {one.mode for one in run.file.expect if (one.case, one.kind) == (load, kind)}
        if load in found and expected:
            chosen = sorted(expected)[:MOST_MODES]
            yield from ({"kind": kind, **one} for one in mode_pictures(solution, found[load], chosen))


def solved(name: str, edits: Mapping[str, Any]) -> FrameRun:
    """A changed case, solved; the last few are remembered."""
    return _solved(name, _key(edits))


def _key(edits: Mapping[str, Any]) -> str:
    return json.dumps(edits, sort_keys=True)


@lru_cache(MOST_REMEMBERED)
def _theories(name: str, edits: str) -> list[Theory]:
    return theories(_solved(name, _key({})), _solved(name, edits), discrete=name in OF_THEIR_ELEMENTS)


@lru_cache(MOST_REMEMBERED)
def _solved(name: str, edits: str) -> FrameRun:
    file = changed(_case(name), json.loads(edits))
    if (count := sum(beam.divide for beam in file.beams)) > MOST_ELEMENTS:
        raise InputFault(
            "beams", f"have {count:,} elements together, the page takes {MOST_ELEMENTS}", "divide them less"
        )
    return run_frame(file)


def _row(theory: Theory, outcome: ExpectationResult) -> dict[str, Any]:
    """One value: what the theory says of it now, in the file's own unit, beside what was computed."""
    expect = outcome.expected
    row = {
        "at": expect.at or "frame",
        "quantity": expect.quantity,
        "published": printed(str(expect.value)),
        "computed": printed(in_given_unit(outcome.computed, expect))
        if isfinite(outcome.computed)
        else "none found",
        "value": outcome.computed,
        "status": theory.status,
        "factor": theory.factor,
        "reason": theory.words,
    }
    if theory.status == "none":
        return row | {"theory": None, "expected": None, "difference": None, "ok": None}
    value = theory.factor * expect.expected
    difference = outcome.computed - value
    least = max(1.0, abs(theory.factor)) if isinstance(expect.tolerance, str) else abs(theory.factor)
    scaled = printed(in_given_unit(value, expect)) if theory.status == "scaled" else row["published"]
    words = f"{100 * difference / abs(value):+.2g} %" if value else in_given_unit(difference, expect, 2)
    return row | {
        "theory": scaled,
        "expected": value,
        "difference": printed(words) if isfinite(difference) else "–",
        "ok": bool(abs(difference) <= expect.allowed * least),
    }


TAB = Tab("student", "Student", routes, of_boat=False)

__all__ = ["TAB"]
