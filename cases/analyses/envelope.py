"""Envelopes: the extremes of every response over all cases and combinations, and which of them causes each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Annotated, Any

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import CaseRows, crossbeam_stations, longeron_stations
from femcore.base.arrays import FloatArray, IntArray
from femcore.base.written import Unwritten, named, written
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS
from models.response.front_end import SIDES

REL_TOL_EQUAL_EXTREMES = 1e-9
"""Of the largest size: values nearer to the worst than this are as bad, and the first of them is named."""


@dataclass(frozen=True, slots=True)
class Worst:
    """The most and the least of a value over all cases and combinations, and which of them causes each."""

    highest: float
    highest_in: str
    lowest: float
    lowest_in: str


@dataclass(frozen=True, slots=True)
class WorstAlong:
    """The same at every station."""

    highest: list[float]
    highest_in: list[str]
    lowest: list[float]
    lowest_in: list[str]


@dataclass(frozen=True, slots=True, eq=False)
class BeamEnvelope:
    """The envelope along a beam."""

    station: Annotated[FloatArray, named(None), Field(description="m from the starboard end")]
    actions: Annotated[dict[str, WorstAlong], Field(description="N, Vy, Vz N and T, My, Mz N·m, beam axes")]


@dataclass(frozen=True, slots=True)
class EnvelopeRow:
    """A case or a combination in an envelope."""

    name: str
    how: Annotated[
        str,
        Field(
            description="case; combined (from solved cases); slack, deformed, cancelling (solved as a whole)"
        ),
    ]
    balance: Annotated[
        float, Field(description="resultant of loads and reactions over the sum of their sizes")
    ]
    error: Annotated[float, Field(description="relative; of what was combined a bound")]


@dataclass(frozen=True, slots=True, eq=False)
class Extremes:
    """The most and the least of values over rows, and the number of the first row that causes each.

    highest, lowest       : (…), in the values' unit, signs kept
    highest_in, lowest_in : (…), row numbers
    """

    highest: FloatArray
    lowest: FloatArray
    highest_in: IntArray
    lowest_in: IntArray

    def named(self, rows: Sequence[str], *axes: Sequence[str]) -> Any:  # noqa: ANN401  (one or nested)
        """By the names of the values' axes, with those of the rows; along a last axis without names as `WorstAlong`."""
        if axes:
            return {name: self.at(k).named(rows, *axes[1:]) for k, name in enumerate(axes[0])}
        names = np.array(rows, dtype=object)
        kind = WorstAlong if self.highest.ndim else Worst
        return kind(
            self.highest.tolist(), np.asarray(names[self.highest_in]).tolist(),
            self.lowest.tolist(), np.asarray(names[self.lowest_in]).tolist(),
        )  # fmt: skip

    def at(self, *place: Any) -> Extremes:  # noqa: ANN401  (any index)
        """Of some of the values."""
        return Extremes(
            np.asarray(self.highest[place]), np.asarray(self.lowest[place]),
            np.asarray(self.highest_in[place]), np.asarray(self.lowest_in[place]),
        )  # fmt: skip


def extremes(values: FloatArray) -> Extremes:
    """Over the first axis of values (r, …)."""
    highest, lowest = values.max(axis=0), values.min(axis=0)
    alike = REL_TOL_EQUAL_EXTREMES * np.maximum(np.abs(highest), np.abs(lowest))
    return Extremes(
        highest, lowest, (values >= highest - alike).argmax(axis=0), (values <= lowest + alike).argmax(axis=0)
    )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class JointEnvelope:
    """One joint over all cases (first) and combinations (after them).

    rows  : all of them;   worst : their extremes, by the name of the response
    along : by the name of the response, (s,), m: stations along the crossbeam from its starboard end, and along the longeron
            from its root; of what the boat has
    """

    rows: Unwritten[CaseRows]
    worst: Unwritten[dict[str, Extremes]]
    along: Unwritten[dict[str, FloatArray]]

    def __repr__(self) -> str:
        """Over which rows."""
        return f"<JointEnvelope over {self.rows!r}>"

    @written("name of the joint", key="joint")
    def name(self) -> str:
        """Of the joint."""
        return self.rows.joint.name

    @written("cases first, then combinations", key="rows")
    def listed(self) -> list[EnvelopeRow]:
        """What is known of each row."""
        rows = self.rows
        known = zip(rows.names, rows.method, rows.balance.tolist(), rows.error.tolist(), strict=True)
        return [EnvelopeRow(*row) for row in known]

    @written("hull → Fx Fy Fz N, Mx My Mz N·m, boat axes")
    def joint_load(self) -> dict[str, dict[str, Worst]]:
        """By hull and component."""
        return dict(self.worst["joint_load"].named(self.rows.names, SIDES, REACTIONS))

    @written("hull → ux uy uz m, rx ry rz rad, boat axes")
    def stems(self) -> dict[str, dict[str, Worst]]:
        """By hull and freedom."""
        return dict(self.worst["stems"].named(self.rows.names, SIDES, FREEDOMS))

    @written("N, by part of the martingale")
    def tension(self) -> dict[str, Worst]:
        """By part."""
        return dict(self.worst["tension"].named(self.rows.names, self.cables))

    @written("N, axial, pull positive; null without a striker")
    def striker(self) -> Worst | None:
        """At its most compressed place."""
        place, worst = self.most_compressed_place, self.worst["striker"]
        found: Worst | None = None if place is None else worst.at(place).named(self.rows.names)
        return found

    @written("from its starboard end to its port end")
    def crossbeam(self) -> BeamEnvelope:
        """Station by station."""
        return self._along("crossbeam")

    @written("from the longeron's root, and on along the prod; null without either")
    def longeron(self) -> BeamEnvelope | None:
        """Station by station."""
        return self._along("longeron") if "longeron" in self.along else None

    def _along(self, beam: str) -> BeamEnvelope:
        worst = self.worst[beam]
        by_action = {action: worst.at(slice(None), k) for k, action in enumerate(ACTIONS)}
        return BeamEnvelope(
            self.along[beam], {action: one.named(self.rows.names) for action, one in by_action.items()}
        )

    @property
    def cables(self) -> tuple[str, ...]:
        """(k,), names of the martingale's parts."""
        return self.rows.cases.frame.cables.names

    @property
    def most_compressed_place(self) -> int | None:
        """Number of the striker's place with the largest compression (its weight makes them differ); None without a striker."""
        lowest = self.worst["striker"].lowest
        return int(lowest.argmin()) if len(lowest) else None


def envelope(rows: CaseRows) -> JointEnvelope:
    """Of one joint over its cases and combinations."""
    worst = {field.name: extremes(getattr(rows.values, field.name)) for field in fields(rows.values)}
    at = {"crossbeam": crossbeam_stations(rows.front), "longeron": longeron_stations(rows.front)}
    return JointEnvelope(
        rows, worst, {beam: found.station for beam, found in at.items() if found is not None}
    )
