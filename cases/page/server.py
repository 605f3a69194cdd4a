"""The local page's server: on the loopback alone, at a free port, behind a token in the address."""

from __future__ import annotations

import secrets
import socket
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager, closing
from importlib.resources import files
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from cases.page import builder, engineer, student
from cases.page.desk import Desk
from cases.page.guard import LOOPBACK, Guard
from cases.page.messages import Asked, answering, read
from cases.page.report_job import ReportJob
from cases.page.state import OpenedFile
from cases.page.tab import Tab, Workplace

TABS: Sequence[Tab] = (builder.TAB, engineer.TAB, student.TAB)
KINDS = {
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "svg": "image/svg+xml",
    "txt": "text/plain; charset=utf-8",
}
"""Of the assets, by their ending."""
SHARED = {"house.css": "templates/style.css", "report.min.js": "assets/report.min.js"}
"""Assets that are the report's own: its style, so that colours are in one place, and its boat to turn and joint to try."""
TOKEN_BYTES = 24


def application(file: OpenedFile, port: int, token: str, report: ReportJob) -> ASGIApp:
    """The page of a boat file, guarded; whoever gives it `report` closes that."""
    desk = Desk()

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        desk.close()

    async def tabs(_: Request) -> Response:
        return JSONResponse([{"name": tab.name, "title": tab.title, "of_boat": tab.of_boat} for tab in TABS])

    async def state_of_file(_: Request) -> Response:
        return JSONResponse(described(file))

    async def read_again(request: Request) -> Response:
        await read(request, Asked)
        await run_in_threadpool(file.read)
        return JSONResponse(described(file))

    work = Workplace(file, desk, report)
    routes = [
        Route("/", _asset),
        Route("/tabs", tabs),
        Route("/file", state_of_file),
        Route("/file/read", answering(read_again), methods=["POST"]),
        *(route for tab in TABS for route in tab.routes(work)),
        Route("/{name}", _asset),
    ]
    return Guard(Starlette(routes=routes, lifespan=lifespan), port, token)


def described(file: OpenedFile) -> dict[str, Any]:
    """A file's name, whether there is a boat to show, and every fault of the file as it was last read."""
    faults = [{"place": one.place, "wrong": one.wrong, "cure": one.cure} for one in file.faults]
    return {"name": file.name, "known": file.is_known, "faults": faults}


async def _asset(request: Request) -> Response:
    """One of the page's own files, by its bare name."""
    name = request.path_params.get("name", "index.html")
    kind = KINDS.get(name.rpartition(".")[2])
    found = (
        files("cases.report.pages") / SHARED[name]
        if name in SHARED
        else files("cases.page") / "assets" / name
    )
    if kind is None or "/" in name or "\\" in name or not found.is_file():
        return Response("no such page", 404, media_type="text/plain")
    return Response(found.read_bytes(), media_type=kind)


def serve(file: OpenedFile, ready: Callable[[str], None]) -> None:
    """Serve the page of a boat file until Ctrl-C; KeyboardInterrupt then.

    ready : is given the page's address, as soon as it can be opened
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    # closed here: an interruption may come before the server has begun
    with socket.socket() as listening, closing(ReportJob()) as report:
        listening.bind((LOOPBACK, 0))
        listening.listen()
        port = listening.getsockname()[1]
        # no log of requests: each has the token in its path
        config = uvicorn.Config(
            application(file, port, token, report),
            access_log=False,
            log_level="error",
            server_header=False,
            date_header=False,
            timeout_graceful_shutdown=1,
            ws="none",
        )
        ready(f"http://{LOOPBACK}:{port}/{token}/")
        uvicorn.Server(config).run(sockets=[listening])
