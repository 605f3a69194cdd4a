"""Fatigue of a study's joints: the range of every joint load in the service, and each detail's damage and miles.

A cycle goes from the racking case to its reverse, about what stands meanwhile; both ends are combinations of cases, so
what a cable that slackens does on the way is in them. In between, ranges are taken as proportional to the sea.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from cases.analyses.case_rows import combine, combined_readings
from cases.analyses.fatigue import allowable_range, life
from cases.analyses.study import JointResult, Study
from cases.input.combinations import CaseSum
from cases.input.service import EVERY_JOINT, Detail, ServiceLife
from femcore.base.arrays import FloatArray
from models.response.front_end import SIDES
from models.response.joint_loads import BEAM_WORDS

SLIGHT = 1e-6
"""Of the range at a curve's knee: a smaller range does no damage that a number could hold."""


@dataclass(frozen=True, slots=True)
class DetailLife:
    """One detail at one joint, on the side where it lives least.

    load_range : N or N·m, of its component, once in the distance;   largest : Pa or strain, the range that this makes
    mean       : Pa or strain, steady;   allowed : the largest range, once in the distance, at which the damage is 1; 0 where the
                 steady strain alone breaks it
    factor     : by which the curve's ranges were divided;   source : of the curve
    damage     : Miner's sum over the distance; inf where the steady strain alone breaks it
    miles      : nautical, at which it reaches 1; inf: never
    static     : whether the largest range alone breaks it
    """

    detail: Detail
    side: str
    load_range: float
    largest: float
    mean: float
    allowed: float
    factor: float
    source: str
    damage: float
    miles: float
    static: bool


@dataclass(frozen=True, slots=True, eq=False)
class JointWear:
    """One joint in the service.

    ranges : (2, 6), N and N·m, of the joint load, once in the distance;   mean : (2, 6), steady, boat axes
    """

    joint: str
    ranges: FloatArray
    mean: FloatArray
    lives: tuple[DetailLife, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Wear:
    """The service of a boat, the case that it reaches once, and its joints side by side."""

    service: ServiceLife
    case: str
    joints: tuple[JointWear, ...]


def wear(study: Study) -> Wear | None:
    """Ranges and lives at every joint; None where the file has no service."""
    service = study.file.service
    if service is None:
        return None
    case = service.racking_case(study.cases)
    ends = [_end("one way", service, case, 1.0), _end("the other way", service, case, 1.0 - service.swing)]
    return Wear(
        service,
        case,
        tuple(_joint_wear(joint, service, ends, study.file.factors.fatigue) for joint in study.joints),
    )


def _end(name: str, service: ServiceLife, case: str, factor: float) -> CaseSum:
    """The load at one end of a cycle."""
    factors = {} if service.about is None else {service.about: 1.0}
    factors[case] = factors.get(case, 0.0) + factor
    return CaseSum(f"service, {name}", "", factors)


def _joint_wear(joint: JointResult, service: ServiceLife, ends: list[CaseSum], factor: float) -> JointWear:
    done = combine(joint.joint, joint.solution, ends)
    assert done is not None  # noqa: S101  (there are two ends)
    one, other = combined_readings(joint.front, done).joint_load
    ranges, mean = np.abs(one - other), (one + other) / 2
    lives = tuple(
        detail_life(detail, service, ranges, mean, factor)
        for detail in service.details
        if detail.joint in (EVERY_JOINT, joint.joint.name)
    )
    return JointWear(joint.joint.name, ranges, mean, lives)


def detail_life(
    detail: Detail, service: ServiceLife, ranges: FloatArray, mean: FloatArray, factor: float
) -> DetailLife:
    """A detail under ranges (2, 6) about steady loads (2, 6), on the side where its damage is the greater.

    factor : on ranges, where the detail has none of its own
    """
    taken = factor if detail.factor is None else detail.factor
    sides = [
        _on_one_side(
            detail,
            service,
            side,
            float(ranges[number, detail.column]),
            float(mean[number, detail.column]),
            taken,
        )
        for number, side in enumerate(SIDES)
    ]
    return max(sides, key=lambda side: side.damage)


def _on_one_side(
    detail: Detail, service: ServiceLife, side: str, load: float, steady: float, factor: float
) -> DetailLife:
    largest, mean, source = abs(detail.per) * load, detail.per * steady, detail.life_curve(0.0, 1.0).source
    told = partial(DetailLife, detail, side, load, largest, mean, factor=factor, source=source)
    try:
        curve = detail.life_curve(mean, factor)
    except ValueError:
        return told(allowed=0.0, damage=math.inf, miles=0.0, static=True)
    allowed = allowable_range(curve, service)
    if largest <= SLIGHT * curve.knee:
        return told(allowed=allowed, damage=0.0, miles=math.inf, static=False)
    found = life(curve, service, largest)
    return told(allowed=allowed, damage=found.damage, miles=found.miles, static=found.static)


def wear_data(study: Study) -> dict[str, Any] | None:
    """The service and what it does as JSON, in SI (distances in nautical miles); None where there is no service.

    {"case", "about", "miles", "cycles", "shape", "swing", "joints": [{"joint", "ranges": {side: {component: value}},
    "details": [{"name", "component", "curve", "source", "side", "factor", "load_range", "largest", "mean", "allowed", "damage",
    "miles", "static"}]}]}; damage null: broken by the steady load alone; miles null: never
    """
    done = wear(study)
    if done is None:
        return None
    service = done.service
    return {
        "case": done.case,
        "about": service.about,
        "miles": service.miles,
        "cycles": service.cycles,
        "shape": service.shape,
        "swing": service.swing,
        "joints": [
            {
                "joint": joint.joint,
                "ranges": {
                    side: dict(zip(BEAM_WORDS, row, strict=True))
                    for side, row in zip(SIDES, joint.ranges.tolist(), strict=True)
                },
                "details": [_life_data(found) for found in joint.lives],
            }
            for joint in done.joints
        ],
    }


def _life_data(found: DetailLife) -> dict[str, Any]:
    detail = found.detail
    broken = math.isinf(found.damage)
    return {
        "name": detail.name,
        "component": detail.component,
        "curve": detail.curve,
        "source": found.source,
        "factor": found.factor,
        "side": found.side,
        "load_range": found.load_range,
        "largest": found.largest,
        "mean": found.mean,
        "allowed": found.allowed,
        "damage": None if broken else found.damage,
        "miles": None if math.isinf(found.miles) else found.miles,
        "static": found.static,
    }
