"""The builder's tab: fields of the boat file by part of the boat, the answer for one joint, and the changed file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import Field
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from cases.analyses.candidates import candidates
from cases.input.boat_file import BoatFile
from cases.input.variants import key_step
from cases.page.answer import Depth, analysed, answer
from cases.page.fields import fields_of
from cases.page.messages import Asked, FiniteJSON, answering, read
from cases.page.tab import Tab, Workplace
from cases.report.pages.live_joint import live_joint
from cases.report.pages.scene import scene

GROUPS: Sequence[tuple[str, Sequence[str]]] = (
    ("Crossbeam", ("crossbeam",)),
    ("Stay and tang", ("stay",)),
    ("Striker and martingale", ("striker", "martingale")),
    ("Longeron", ("longeron",)),
    ("Loads", ("cases",)),
    ("Platform", ("platform",)),
    ("Laminates", ("laminates",)),
    ("Bows", ("bows",)),
    ("Safety factors", ("factors",)),
)
MAIN = re.compile(
    r"crossbeam\.section\.\w+|crossbeam\.E[IA]\w*|stay\.(forward|up)|martingale\.(pretension|height|half_span)|striker\.height"
    r"|cases\..+\.(tension|rake|force|movement|steepness)|laminates\..+\.layup|platform\.\w+|joints\..+\.(pitch|roll)"
)
"""Keys shown at once; the others of a part of the boat are behind “more”."""
REPORT_HEADERS = {
    "Content-Security-Policy": "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; img-src data:",
    "Content-Disposition": "inline",
}
"""A report is one file with its own policy inside; in a sandbox it is of another origin than the page, and asks it nothing."""


class JointAsked(Asked):
    """A question about one joint."""

    joint: Annotated[str, Field(min_length=1, max_length=200)]
    depth: Depth = "quick"


def routes(work: Workplace) -> Sequence[Route]:
    """Of the tab."""

    async def boat(_: Request) -> Response:
        return JSONResponse(described(work.boat.boat) | {"name": work.boat.name})

    async def answered(request: Request) -> Response:
        asked = await read(request, JointAsked)

        def found() -> dict[str, Any]:
            return answer(work.boat, asked.changes, asked.joint, asked.depth)

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    async def model(request: Request) -> Response:
        asked = await read(request, JointAsked)

        def found() -> dict[str, Any]:
            analysis, _ = analysed(work.boat, asked.changes, asked.joint, asked.depth)
            return {"scene": scene(analysis), "live": live_joint(analysis.study)}

        return FiniteJSON(await work.desk.done(asked.page, asked.number, request.is_disconnected, found))

    async def text(request: Request) -> Response:
        asked = await read(request, Asked)
        return PlainTextResponse(work.boat.changed_text(asked.changes))

    return [
        Route("/builder/boat", answering(boat)),
        Route("/builder/answer", answering(answered), methods=["POST"]),
        Route("/builder/model", answering(model), methods=["POST"]),
        Route("/builder/text", answering(text), methods=["POST"]),
        *_report_routes(work),
    ]


def _report_routes(work: Workplace) -> Sequence[Route]:
    """Of the full report."""

    async def begun(request: Request) -> Response:
        asked = await read(request, Asked)
        return JSONResponse(
            {"number": work.report.begin(work.boat.name, work.boat.changed_text(asked.changes))}
        )

    async def progress(_: Request) -> Response:
        return JSONResponse(work.report.progress())

    async def report(request: Request) -> Response:
        found = work.report.page(request.path_params["number"])
        if not found.is_file():
            return PlainTextResponse("no such report", 404)
        return FileResponse(found, media_type="text/html", headers=REPORT_HEADERS)

    return [
        Route("/builder/report", answering(begun), methods=["POST"]),
        Route("/builder/progress", answering(progress)),
        Route("/builder/report/{number:int}", answering(report)),
    ]


def described(boat: BoatFile) -> dict[str, Any]:
    """What the page builds itself from: title, joints, and the fields of each part of the boat."""
    chosen = [joint.name for joint in candidates(boat)]
    return {
        "title": boat.title,
        "question": boat.question or boat.note,
        "joints": [
            {
                "name": joint.name,
                "words": joint.words(),
                "candidate": joint.name in chosen,
                "note": joint.note,
            }
            for joint in boat.joints
        ],
        "groups": [
            {"title": title, "fields": fields}
            for title, keys in GROUPS
            if (
                fields := [
                    one for key in keys if key in boat.raw for one in fields_of(boat.raw[key], key, MAIN)
                ]
            )
        ],
        "joint_fields": {
            one["name"]: list(fields_of(one, f"joints.{key_step(one['name'])}", MAIN))
            for one in boat.raw.get("joints", [])
        },
    }


TAB = Tab("builder", "Builder", routes)

__all__ = ["TAB"]
