"""The worst of everything over all cases and combinations, and which of them brings it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from cases.analyses.case_rows import CaseRows, crossbeam_stations, longeron_stations
from cases.analyses.study import Study
from cases.input.combinations import DEFAULT_COMBINATIONS_REASON
from femcore.base.arrays import FloatArray, IntArray
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS
from models.response.front_end import SIDES

REL_TOL_EQUAL_EXTREMES = 1e-9
"""Of the largest size: values nearer to the worst than this are as bad, and the first of them is named."""


@dataclass(frozen=True, slots=True, eq=False)
class Extremes:
    """The most and the least of values over rows, and the number of the first row that brings each.

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

    rows  : all of them;   worst : their extremes, by the name of the reading
    along : by the name of the reading, (s,), m: stations along the crossbeam from its starboard end, and along the longeron
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
    def most_compressed_element(self) -> int | None:
        """Number of the striker's element that is squeezed most (its weight makes them differ); None without a striker."""
        lowest = self.worst["striker"].lowest
        return int(lowest.argmin()) if len(lowest) else None


def envelope(rows: CaseRows) -> JointEnvelope:
    """Of one joint over its cases and combinations."""
    worst = {field.name: extremes(getattr(rows.values, field.name)) for field in fields(rows.values)}
    at = {"crossbeam": crossbeam_stations(rows.front), "longeron": longeron_stations(rows.front)}
    return JointEnvelope(
        rows, worst, {beam: found.station for beam, found in at.items() if found is not None}
    )


# As data ----------------------------------------------------------------------------------------------------


def combinations_data(study: Study) -> dict[str, Any]:
    """The combinations as JSON: whether they are the default ones and why, and their factors by case."""
    file = study.file
    return {
        "entered": file.combinations is not None,
        "reason": ""
        if file.combinations is not None or not file.expanded_combinations
        else DEFAULT_COMBINATIONS_REASON,
        "combinations": [
            {"name": one.name, "note": one.note, "factors": dict(one.factors)}
            for one in file.expanded_combinations
        ],
    }


def joint_envelope_data(found: JointEnvelope) -> dict[str, Any]:
    """One joint’s envelope as JSON, in SI: each extreme value with the name of the row that brings it.

    {"joint", "rows": [{"name", "how", "balance", "error"}], "joint_load": {side: {component: WORST}}, "stems": {side: {freedom:
    WORST}}, "tension": {part: WORST}, "striker": WORST or None, "crossbeam": {"station": [...], "actions": {action: WORST, each
    entry a list}}, "longeron": None or as "crossbeam"} with WORST = {"highest", "highest_in", "lowest", "lowest_in"}
    """
    worst, rows = found.worst, found.rows
    names = rows.names
    listed = zip(names, rows.method, rows.balance.tolist(), rows.error.tolist(), strict=True)
    return {
        "joint": found.name,
        "rows": [dict(zip(("name", "how", "balance", "error"), row, strict=True)) for row in listed],
        "joint_load": _by_side(worst["joint_load"], REACTIONS, names),
        "stems": _by_side(worst["stems"], FREEDOMS, names),
        "tension": {name: _worst(worst["tension"], k, names) for k, name in enumerate(found.cables)},
        "striker": None
        if found.most_compressed_element is None
        else _worst(worst["striker"], found.most_compressed_element, names),
    } | {beam: _along(found, beam) if beam in found.along else None for beam in ("crossbeam", "longeron")}


def _along(found: JointEnvelope, beam: str) -> dict[str, Any]:
    return {
        "station": found.along[beam].tolist(),
        "actions": {
            action: _worst(found.worst[beam], (slice(None), k), found.rows.names)
            for k, action in enumerate(ACTIONS)
        },
    }


def _by_side(found: Extremes, components: Sequence[str], names: Sequence[str]) -> dict[str, Any]:
    return {
        side: {word: _worst(found, (s, k), names) for k, word in enumerate(components)}
        for s, side in enumerate(SIDES)
    }


def _worst(found: Extremes, at: Any, names: Sequence[str]) -> dict[str, Any]:  # noqa: ANN401  (any index)
    """One value, or a list of values, with the names of the rows that bring it."""
    rows = np.array(names, dtype=object)
    return {
        "highest": found.highest[at].tolist(),
        "highest_in": np.asarray(rows[found.highest_in[at]]).tolist(),
        "lowest": found.lowest[at].tolist(),
        "lowest_in": np.asarray(rows[found.lowest_in[at]]).tolist(),
    }
