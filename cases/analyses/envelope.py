"""Envelopes: the extremes of every response over all cases and combinations, and which of them causes each."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from cases.analyses.case_rows import CaseRows, crossbeam_stations, longeron_stations
from femcore.base.arrays import FloatArray, IntArray

REL_TOL_EQUAL_EXTREMES = 1e-9
"""Of the largest size: values nearer to the worst than this are as bad, and the first of them is named."""


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

    rows: CaseRows
    worst: dict[str, Extremes]
    along: dict[str, FloatArray]

    def __repr__(self) -> str:
        """Over which rows."""
        return f"<JointEnvelope over {self.rows!r}>"

    @property
    def name(self) -> str:
        """Of the joint."""
        return self.rows.joint.name

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
