"""What the page sends and gets: JSON that is checked before anything is done with it, and faults as sentences."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from typing import Annotated, Any, NoReturn, TypeVar

from pydantic import Field
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from cases.page.desk import Superseded
from femcore.base.errors import ForebeamError, InputFault, InputFaults
from femcore.base.toml import Table, require_plain
from femcore.base.written import plain_json

NO_JSON = InputFault("message", "is no JSON object", "send one")


class Asked(Table):
    """What every question of the page brings.

    page, number : which open page asks, and its how manieth question this is;   changes : of the boat file, by key
    """

    page: Annotated[str, Field(pattern=r"^[0-9a-f]{8,32}$")]
    number: Annotated[int, Field(ge=0, le=2**53)]
    changes: Annotated[dict[str, Any], Field(max_length=1000)] = {}


class FiniteJSON(JSONResponse):
    """JSON, null for a number that is infinite or none."""

    def render(self, content: Any) -> bytes:  # noqa: ANN401  (as of its base)
        """As bytes."""
        return plain_json(content).encode()


Message = TypeVar("Message", bound=Table)


async def read(request: Request, kind: type[Message]) -> Message:
    """The body of a request as that kind of message; InputFaults where it is none."""
    body = await request.body()
    try:
        given = json.loads(body, parse_constant=_refuse)
    except (ValueError, RecursionError):
        raise NO_JSON from None
    if not isinstance(given, dict):
        raise NO_JSON
    require_plain(given, "message")
    return kind(**given)


def _refuse(_: str) -> NoReturn:
    raise ValueError


def answering(endpoint: Callable[[Request], Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
    """The same with faults as sentences: 422 with what is wrong with file or structure, 409 where a newer question has come."""

    async def answered(request: Request) -> Response:
        try:
            return await endpoint(request)
        except Superseded:
            return JSONResponse({"superseded": True}, 409)
        except InputFaults as faults:
            return _refused(*faults.faults)
        except ForebeamError as fault:
            return _refused(fault)

    return answered


def _refused(*faults: ForebeamError) -> JSONResponse:
    sentences = [
        {"place": fault.place if isinstance(fault, InputFault) else "", "words": str(fault)}
        for fault in faults
    ]
    return JSONResponse({"faults": sentences}, 422)


__all__ = ["Asked", "FiniteJSON", "answering", "read"]
