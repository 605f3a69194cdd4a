"""Components by name: movements and reactions of nodes (global axes), internal actions of beams (beam axes)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from femcore.base.checks import known


class Displacement(NamedTuple):
    """Movement, m, and rotation, rad, global axes."""

    ux: float
    uy: float
    uz: float
    rx: float
    ry: float
    rz: float


class Reaction(NamedTuple):
    """Force, N, and moment, N·m, on the frame, global axes."""

    Fx: float
    Fy: float
    Fz: float
    Mx: float
    My: float
    Mz: float


class Actions(NamedTuple):
    """Internal forces, N, and moments, N·m, on a cut whose outward normal is +x of the beam; beam axes."""

    N: float
    Vy: float
    Vz: float
    T: float
    My: float
    Mz: float


FREEDOMS = Displacement._fields
ACTIONS = Actions._fields
REACTIONS = Reaction._fields


def freedom_numbers(place: str, freedoms: str | Iterable[str | int]) -> list[int]:
    """Numbers 0 … 5 of freedoms given by name, one or several (numbers are kept); InputFault where there is no such freedom."""
    given = [freedoms] if isinstance(freedoms, str) else list(freedoms)
    numbers: dict[object, int] = {name: number for number, name in enumerate(FREEDOMS)}
    numbers |= {number: number for number in range(len(FREEDOMS))}
    return [
        numbers[freedom] if freedom in numbers else numbers[known(place, "freedom", freedom, FREEDOMS)]
        for freedom in given
    ]
