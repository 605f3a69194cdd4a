"""The worst of everything over all cases and combinations, and which of them brings it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from cases.combinations import REASON, CaseSum, factor_matrix
from cases.study import JointResult, Study
from femcore.actions import along
from femcore.errors import StructureFault
from femcore.frame import ACTIONS, FREEDOMS, REACTIONS, FloatArray, IntArray
from femcore.solution import Solution
from femcore.superpose import Superposition, superpose
from models.front_end import CROSSBEAM, SIDES, FrontEnd
from models.joints import Joint
from models.readings import joint_loads, stem_movements

PER_ELEMENT = 4
"""Steps in each element of the crossbeam, as a study takes them."""
ALIKE = 1e-9
"""Of the largest size: values nearer to the worst than this are as bad, and the first of them is named."""
HOW = {
    "case": "a single case",
    "combined": "put together from solved cases",
    "slack": "solved as a whole: a cable slackens",
    "deformed": "solved as a whole, in its deformed shape",
    "cancelling": "solved as a whole: its parts all but cancel",
}
"""What was done for a row, in words."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What an envelope is over, for r cases or combinations; linear in the answer.

    joint_load : (r, 2, 6), N and N·m, what the crossbeam puts on the hulls, port and starboard, boat axes
    stems      : (r, 2, 6), m and rad, movements of the stems
    tension    : (r, k), N, of the martingale's parts
    crossbeam  : (r, s, 6), actions N, Vy, Vz, T, My, Mz along the crossbeam from its starboard end, beam axes
    """

    joint_load: FloatArray
    stems: FloatArray
    tension: FloatArray
    crossbeam: FloatArray


def readings(front: FrontEnd, solution: Solution) -> Readings:
    """Read off every case of a solution."""
    crossbeam = along(solution, solution.frame.members[CROSSBEAM], PER_ELEMENT)
    return Readings(
        joint_loads(solution), stem_movements(front, solution), solution.tension, crossbeam.actions
    )


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
    alike = ALIKE * np.maximum(np.abs(highest), np.abs(lowest))
    return Extremes(
        highest, lowest, (values >= highest - alike).argmax(axis=0), (values <= lowest + alike).argmax(axis=0)
    )


@dataclass(frozen=True, slots=True, eq=False)
class JointEnvelope:
    """One joint over all cases (first) and combinations (after them).

    names, how     : (r,), of the rows, and what was done for each: a key of `HOW`
    balance, error : (r,), relative; the error of what was combined is a bound
    cables         : (k,), names of the martingale's parts;   station : (s,), m, from the crossbeam's starboard end
    values         : all rows;   worst : their extremes, by the name of the reading
    """

    joint: Joint
    names: tuple[str, ...]
    how: tuple[str, ...]
    balance: FloatArray
    error: FloatArray
    cables: tuple[str, ...]
    station: FloatArray
    values: Readings
    worst: dict[str, Extremes]


def envelopes(study: Study) -> tuple[JointEnvelope, ...]:
    """Of every joint of a study; StructureFault, naming joint and combination, where one cannot be solved."""
    sums = study.file.case_sums
    return tuple(envelope(joint, sums) for joint in study.joints)


def envelope(joint: JointResult, sums: Sequence[CaseSum]) -> JointEnvelope:
    """Of one joint over its cases and these combinations of them, movements imposed on a case already scaled in."""
    solution, front = joint.solution, joint.front
    values, done = readings(front, solution), combine(joint, sums)
    names, how = solution.names, ("case",) * len(solution.names)
    balance, error = solution.balance, solution.error
    if done is not None:
        names, how = names + done.linear.names, how + done.how
        values = _joined(values, combined_readings(front, done))
        balance, error = np.append(balance, done.balance), np.append(error, done.error)
    values = replace(values, tension=np.maximum(values.tension, 0.0))  # rounding of cables at their limit
    worst = {field.name: extremes(getattr(values, field.name)) for field in fields(values)}
    cables, station = solution.frame.cables.names, joint.crossbeam.station
    return JointEnvelope(joint.joint, names, how, balance, error, cables, station, values, worst)


def combine(joint: JointResult, sums: Sequence[CaseSum]) -> Superposition | None:
    """The combinations with one joint, combined or solved; None where there are none."""
    if not sums:
        return None
    try:
        return superpose(
            joint.solution, factor_matrix(sums, joint.solution.names), tuple(one.name for one in sums)
        )
    except StructureFault as fault:
        raise fault.inside(f"joint '{joint.joint.name}'") from None


def combined_readings(front: FrontEnd, done: Superposition) -> Readings:
    """Of all combinations: the linear ones from those of the unit solutions, which are far fewer."""
    units = readings(front, done.units)
    solved = None if done.solved is None else readings(front, done.solved)
    return Readings(*(
        done.taken(getattr(units, field.name), None if solved is None else getattr(solved, field.name))
        for field in fields(units)
    ))  # fmt: skip


def _joined(one: Readings, other: Readings) -> Readings:
    return Readings(*(
        np.concatenate([getattr(one, field.name), getattr(other, field.name)]) for field in fields(one)
    ))  # fmt: skip


# As data ----------------------------------------------------------------------------------------------------


def combinations_data(study: Study) -> dict[str, Any]:
    """The combinations as JSON: whether they are the default ones and why, and their factors by case."""
    file = study.file
    return {
        "entered": file.combinations is not None,
        "reason": "" if file.combinations is not None or not file.case_sums else REASON,
        "combinations": [
            {"name": one.name, "note": one.note, "factors": dict(one.factors)} for one in file.case_sums
        ],
    }


def envelope_data(study: Study) -> dict[str, Any]:
    """Combinations and envelopes as JSON, in SI: each worst value with the name of the row that brings it.

    {"entered", "reason", "combinations": [...], "joints": [{"joint", "rows": [{"name", "how", "balance", "error"}],
    "joint_load": {side: {component: WORST}}, "stems": {side: {freedom: WORST}}, "tension": {part: WORST},
    "crossbeam": {"station": [...], "actions": {action: WORST, each entry a list}}}]}
    with WORST = {"highest", "highest_in", "lowest", "lowest_in"}
    """
    return combinations_data(study) | {"joints": [joint_envelope_data(one) for one in envelopes(study)]}


def joint_envelope_data(found: JointEnvelope) -> dict[str, Any]:
    """One joint’s envelope as JSON: an entry of `joints` of `envelope_data`."""
    worst, names = found.worst, found.names
    rows = zip(names, found.how, found.balance.tolist(), found.error.tolist(), strict=True)
    return {
        "joint": found.joint.name,
        "rows": [dict(zip(("name", "how", "balance", "error"), row, strict=True)) for row in rows],
        "joint_load": _by_side(worst["joint_load"], REACTIONS, names),
        "stems": _by_side(worst["stems"], FREEDOMS, names),
        "tension": {name: _worst(worst["tension"], k, names) for k, name in enumerate(found.cables)},
        "crossbeam": {
            "station": found.station.tolist(),
            "actions": {
                action: _worst(worst["crossbeam"], (slice(None), k), names)
                for k, action in enumerate(ACTIONS)
            },
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
