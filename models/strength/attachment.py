"""How a fitting is fixed to a beam or bulkhead: six components at its root pass through a connection, and its resistance.

Axes of an attachment: 1 along the beam that it is on (at the end of a beam: level and square to it), 2 away from what it is fixed
to, 3 = 1 × 2: around the beam (at its end: up or down). Loads (cases, 6) F1 F2 F3 M1 M2 M3, N and N·m, are what the fitting puts
on what it is fixed to: above zero, F2 pulls it off, M2 turns it about its own line.

A connection takes loads at its own plane. Several attachments of one part are in series: each carries the whole by itself.

===============  ==================================================================
`bolted_foot`    a plate on bolts through a wall
`weld`           fillets around the part
`bonded_foot`    a plate glued on
`straps`         unidirectional tape wound round foot and beam
`sleeve`         a sleeve or plug glued into the end of a tube
`taped_end`      the end of a tube taped to a wall all round
`fitting`        a pin through both walls of the end of a tube
`wall_under`     the wall itself, bent under a foot
===============  ==================================================================
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors
from models.strength.springs import transferred_loads


class Connection(Protocol):
    """What carries loads from its own plane into the beam or bulkhead."""

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """All checks under loads (cases, 6) at the foot's middle, in the axes of an attachment."""
        ...


@dataclass(frozen=True)
class Attachment:
    """A connection `height`, m, below the root of the part that it fixes (a plate's thickness, a pad)."""

    connection: Connection
    height: float = 0.0


def attachment_checks(
    part: str,
    attachments: Sequence[Attachment],
    loads: FloatArray,
    factors: SafetyFactors,
    arm: npt.ArrayLike = (0.0, 0.0, 0.0),
) -> tuple[Check, ...]:
    """All checks of the attachments of a part under loads (cases, 6) that act at `arm` (3,), m, from the part's root."""
    at = np.asarray(arm, dtype=float)
    return tuple(
        check
        for attachment in attachments
        for check in attachment.connection.checks(
            part, transferred_loads(loads, at + np.array([0.0, attachment.height, 0.0])), factors
        )
    )


@dataclass(frozen=True)
class Footprint:
    """The part on a connection: equal rectangles `size` (along 1, along 3) at `places` (k, 2), or a tube of `diameter`; m."""

    size: tuple[float, float] = (0.0, 0.0)
    places: tuple[tuple[float, float], ...] = ((0.0, 0.0),)
    diameter: float | None = None

    def __post_init__(self) -> None:
        if self.diameter is not None:
            require_positive("stem", diameter=self.diameter)
        else:
            require_positive("stem", along=self.size[0], across=self.size[1])

    def distance(self, points: FloatArray) -> FloatArray:
        """(n,), m, from points (n, 2) to the nearest side of the part; below zero inside a tube, zero in a plate."""
        if self.diameter is not None:
            return np.asarray(np.hypot(points[:, 0], points[:, 1]) - self.diameter / 2)
        beyond = np.abs(points[:, None] - np.array(self.places)) - np.array(self.size) / 2
        return np.asarray(np.linalg.norm(np.maximum(beyond, 0.0), axis=2).min(axis=1))

    def outline(self, *, ends: bool = True) -> FloatArray:
        """(lines, 2, 2), m, its sides from point to point; of plates without their `ends` the two longer ones each.

        A tube is a polygon of the same length all round.
        """
        if self.diameter is not None:
            angle = np.linspace(0, 2 * math.pi, POLYGON_SIDES + 1)
            r = self.diameter / 2 * (math.pi / POLYGON_SIDES) / math.sin(math.pi / POLYGON_SIDES)
            ring = r * np.stack([np.cos(angle), np.sin(angle)], axis=1)
            return np.stack([ring[:-1], ring[1:]], axis=1)
        half = np.array(self.size) / 2
        corners = half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
        sides = np.stack([corners[:-1], corners[1:]], axis=1)
        if not ends:
            sides = sides[::2] if self.size[0] >= self.size[1] else sides[1::2]
        return np.concatenate([sides + np.array(place) for place in self.places])

    def contact_patch(self, reach: float, size: tuple[float, float]) -> ContactPatch:
        """What of a foot of that `size`, m, works with it as if rigid: itself and `reach`, m, all round."""
        if self.diameter is not None:
            r = min(self.diameter / 2 + reach, size[0] / 2, size[1] / 2)
            return ContactPatch(math.pi * r**2, math.pi * r**3 / 4, math.pi * r**3 / 4)
        one, other = (_covered_spans(self, axis, reach, size[axis]) for axis in (0, 1))
        length, depth = (sum(b - a for a, b in spans) for spans in (one, other))
        return ContactPatch(length * depth, length * _section_modulus(other), depth * _section_modulus(one))


POLYGON_SIDES = 48
"""Sides of the polygon that represents a tube."""


@dataclass(frozen=True)
class ContactPatch:
    """A patch that presses or pulls: `area` m², and section moduli against moments about axes 1 and 3, m³."""

    area: float
    W1: float
    W3: float

    def stress(self, loads: FloatArray) -> FloatArray:
        """(cases,), Pa, the greatest pull under loads (cases, 6): a push relieves nothing."""
        _, F2, _, M1, _, M3 = loads.T
        return np.asarray(np.maximum(F2, 0.0) / self.area + np.abs(M1) / self.W1 + np.abs(M3) / self.W3)


def _covered_spans(footprint: Footprint, axis: int, reach: float, size: float) -> list[tuple[float, float]]:
    """Stretches of a connection of `size` along an axis within `reach` of a plate, in order, without overlap."""
    half, edge = footprint.size[axis] / 2 + reach, size / 2
    found: list[tuple[float, float]] = []
    for middle in sorted({place[axis] for place in footprint.places}):
        low, high = max(middle - half, -edge), min(middle + half, edge)
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return found


def _section_modulus(spans: list[tuple[float, float]]) -> float:
    """m², ∫x² dx over the stretches, about the foot's middle, over the greatest |x|."""
    inertia = sum((b**3 - a**3) / 3 for a, b in spans)
    return inertia / max(max(abs(a), abs(b)) for a, b in spans)
