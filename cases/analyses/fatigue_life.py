"""Fatigue of a study's joints: the range of every joint load in the service, and each detail's damage and miles.

A cycle goes from the racking case to its reverse, about the steady load; both ends are combinations of cases, so
what a cable that slackens does on the way is in them. In between, ranges are taken as proportional to the sea.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Annotated

import numpy as np
from pydantic import Field
from scipy import optimize

from cases.analyses.case_rows import combine, combined_responses
from cases.analyses.joint_results import JointResult
from cases.analyses.service_racking import ServiceRacking, service_racking
from cases.analyses.study import Study
from cases.input.combinations import ExpandedCombination
from cases.input.service import EVERY_JOINT, Detail, Service, ServiceLife
from femcore.base.arrays import FloatArray
from femcore.base.written import FiniteOrNull, Unwritten, named, written
from models.joints import Joint
from models.joints.base import LOAD_MIRROR, without_side
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.bonding.bond import ELASTIC
from models.strength.fatigue import (
    FILLET_WELDS,
    GLUE_LOSS,
    GLUE_LOSS_BAND,
    GLUE_SOURCE,
    SN_CURVES,
    FatigueCurve,
    GlueCurve,
    RangeDistribution,
    SNCurve,
    damage,
)
from models.strength.margins import Check, SafetyFactors

RACKING_BAND = (0.6, 1.6)
"""Times the racking range: what is not known of the sea and of the platform's stiffness, a factor of 1.6 either way."""
REL_TOL_NO_DAMAGE = 1e-6
"""Of the range at a curve's knee: a smaller range does no damage that a number could hold."""
ABS_TOL_LOG_RANGE = 1e-13
"""Of the natural logarithm of an allowable range: nearer than this is the same range."""
TINY = 1e-300
"""In place of a damage of 0, of ranges below a cut-off, so that its logarithm is finite."""


@dataclass(frozen=True, slots=True)
class DetailLife:
    """One detail at one joint, on the side where it lives least; of a fillet weld at the place that lives least."""

    detail: Unwritten[Detail]
    side: Annotated[str, Field(description="the hull where it lives least")]
    load_range: Annotated[float, Field(description="N or N·m, of its component, once in the distance")]
    largest: Annotated[float, Field(description="Pa or strain, the range that this makes")]
    mean: Annotated[float, Field(description="Pa or strain, steady")]
    allowed: Annotated[
        float,
        Field(
            description="the largest range, once in the distance, at which the damage is 1; 0 where the steady strain alone "
            "breaks it"
        ),
    ]
    factor: Annotated[float, Field(description="by which the curve's ranges were divided")]
    source: Annotated[str, Field(description="of the curve")]
    damage: Annotated[
        FiniteOrNull,
        Field(description="Miner's sum over the distance; null where the steady strain alone breaks it"),
    ]
    miles: Annotated[FiniteOrNull, Field(description="nautical, at which it reaches 1; null: never")]
    static: Annotated[bool, Field(description="whether the largest range alone breaks it")]
    place: Annotated[str, Field(description="toe or root of a fillet weld, else empty")] = ""
    damages: Annotated[
        dict[str, FiniteOrNull], Field(description="by place of a fillet weld, on that side")
    ] = field(default_factory=dict)

    @written("of the detail")
    def name(self) -> str:
        """Of the detail."""
        return self.detail.name

    @written("of the joint load, in beam words")
    def component(self) -> str:
        """Of the detail."""
        return self.detail.component

    @written("that it lives by")
    def curve(self) -> str:
        """Of the detail."""
        return self.detail.curve


@dataclass(frozen=True, slots=True)
class WeldLife:
    """A load-carrying fillet weld that a joint describes, in the service, on the side where it lives least."""

    part: str
    side: Annotated[str, Field(description="the hull where it lives least")]
    toe_range: Annotated[float, Field(description="Pa, once in the distance, in the plate beside the weld")]
    root_range: Annotated[float, Field(description="Pa, likewise, across its throat")]
    shear_range: Annotated[float, Field(description="Pa, likewise, along it")]
    toe_damage: Annotated[FiniteOrNull, Field(description="Miner's sum over the distance")]
    root_damage: Annotated[FiniteOrNull, Field(description="likewise, with its shear")]
    factor: Annotated[float, Field(description="by which the curves' ranges were divided")]
    miles: Annotated[FiniteOrNull, Field(description="nautical, at which the larger reaches 1; null: never")]
    source: Annotated[str, Field(description="of the curves of toe, root and shear")]

    @written("where it cracks first: root or toe")
    def governing(self) -> str:
        """Where it cracks first."""
        return "root" if self.root_damage >= self.toe_damage else "toe"

    @property
    def damage(self) -> float:
        """The larger of both."""
        return max(self.toe_damage, self.root_damage)


@dataclass(frozen=True, slots=True)
class GlueLife:
    """One glue line of a joint, on the side where it lives least, by the decade rule."""

    part: Annotated[str, Field(description="of its elastic check, without its side")]
    check: Annotated[str, Field(description="its elastic check, whose peak stress and strength these are")]
    side: Annotated[str, Field(description="the hull where it lives least")]
    largest: Annotated[float, Field(description="Pa, the range of its peak stress, once in the distance")]
    mean: Annotated[float, Field(description="Pa, steady, that of temperature in it")]
    strength: Annotated[float, Field(description="Pa, static, less its knock-downs")]
    factor: Annotated[float, Field(description="on ranges and mean")]
    source: Annotated[str, Field(description="of the rule")]
    allowed: Annotated[
        float,
        Field(
            description="Pa, the largest range, once in the distance, at which the damage is 1; 0 where none is"
        ),
    ]
    damage: Annotated[
        FiniteOrNull,
        Field(description="Miner's sum over the distance; null where the steady load alone breaks it"),
    ]
    miles: Annotated[FiniteOrNull, Field(description="nautical, at which it reaches 1; null: never")]
    band: Annotated[
        tuple[FiniteOrNull, FiniteOrNull],
        Field(
            description="miles, the least and the most, with 1.6 and 0.6 times the racking range, and the loss of strength per "
            "decade at both ends of what is usual"
        ),
    ]
    static: Annotated[bool, Field(description="whether the largest cycle alone breaks it")]


@dataclass(frozen=True, slots=True)
class LifeBand:
    """Nautical miles at which the damage of a detail or a weld reaches 1; null (inf): never."""

    name: str
    shortest: Annotated[
        FiniteOrNull, Field(description="with 1.6 times the racking range, the steady load as it is")
    ]
    longest: Annotated[FiniteOrNull, Field(description="likewise, with 0.6 times")]


@dataclass(frozen=True, slots=True, eq=False)
class JointFatigueLives:
    """One joint in the service.

    ranges : (2, 6), N and N·m, of the joint load, once in the distance;   mean : (2, 6), steady, boat axes
    cycle  : (2, 6), from one end of the largest cycle to the other, signed, boat axes
    """

    joint: Annotated[str, Field(description="name of the joint")]
    ranges: Annotated[
        FloatArray,
        named(SIDES, JOINT_LOAD_NAMES),
        Field(description="hull → component in beam words, N and N·m, once in the distance"),
    ]
    mean: Unwritten[FloatArray]
    lives: Annotated[
        tuple[DetailLife, ...],
        Field(serialization_alias="details", description="of the service's details"),
    ]
    cycle: Unwritten[FloatArray]
    welds: Annotated[
        tuple[WeldLife, ...],
        Field(description="of the fillet welds that the joint describes, by all six of its loads"),
    ] = ()
    glue: Annotated[
        tuple[GlueLife, ...], Field(description="its glue lines, those of the shortest life first")
    ] = ()
    bands: Annotated[
        tuple[LifeBand, ...], Field(description="of details, then of welds; empty where not worked out")
    ] = ()

    @property
    def shortest(self) -> tuple[str, float] | None:
        """What of it lives least, and its life, nautical miles; None where nothing of it wears."""
        every = [
            *((life.detail.name, life.miles) for life in self.lives),
            *((life.part, life.miles) for life in self.welds),
            *((f"{life.part}: {life.check}", life.miles) for life in self.glue),
        ]
        return min(every, key=lambda one: one[1], default=None)


@dataclass(frozen=True, slots=True, eq=False)
class FatigueLives:
    """The service of a boat with the shape of its racking's distribution, what racks it, and its joints side by side."""

    service: Unwritten[ServiceLife]
    racking: Annotated[
        ServiceRacking, Field(description="what racks the boat, and from which the ranges are taken")
    ]
    joints: tuple[JointFatigueLives, ...]

    @written(
        "the racking case that the sea reaches once in the distance; of waves, that whose M_P is distributed over it"
    )
    def case(self) -> str:
        """Of the racking."""
        return self.racking.case

    @written("the case that acts meanwhile; null: none")
    def about(self) -> str | None:
        """Of the service."""
        return self.service.about

    @written("nautical, the distance of the service")
    def miles(self) -> float:
        """Of the service."""
        return self.service.miles

    @written("racking cycles in that distance")
    def cycles(self) -> float:
        """Of the service."""
        return self.service.cycles

    @written("Weibull shape of the racking range over the long term")
    def shape(self) -> float:
        """Of the service."""
        return self.service.shape

    @written("the range of a cycle over the case's load")
    def swing(self) -> float:
        """Of the service."""
        return self.service.swing


def fatigue_lives(study: Study) -> FatigueLives | None:
    """Ranges and lives at every joint; None where the file has no service."""
    service = study.file.service
    if service is None:
        return None
    racking = service_racking(study.file, service)
    distributed = service.model_copy(update={"shape": racking.shape})
    joints = (
        _joint_fatigue_lives(joint, distributed, racking.ends, study.file.factors) for joint in study.joints
    )
    return FatigueLives(distributed, racking, tuple(joints))


def _joint_fatigue_lives(
    joint: JointResult,
    service: ServiceLife,
    ends: tuple[ExpandedCombination, ExpandedCombination],
    factors: SafetyFactors,
) -> JointFatigueLives:
    done = combine(joint.joint, joint.solution, ends)
    assert done is not None  # noqa: S101  (there are two ends)
    one, other = combined_responses(joint.front, done).joint_load
    ranges, mean = np.abs(one - other), (one + other) / 2
    lives = tuple(
        detail_life(detail, service, ranges, mean, factors.fatigue)
        for detail in service.details
        if detail.joint in (EVERY_JOINT, joint.joint.name)
    )
    welds = weld_lives(joint.joint, service, one - other, factors.fatigue)
    glue = glue_lives(joint.joint, service, one - other, mean, factors)
    return JointFatigueLives(joint.joint.name, ranges, mean, lives, one - other, welds, glue)


def weld_lives(joint: Joint, service: Service, cycle: FloatArray, factor: float) -> tuple[WeldLife, ...]:
    """Fillet welds of a joint under a cycle of loads (2, 6), from one end to the other, boat axes, on their worse side."""
    sides = cycle[0], cycle[1] * LOAD_MIRROR
    found: dict[str, WeldLife] = {}
    for side, loads in zip(SIDES, sides, strict=True):
        for weld in joint.weld_stresses(loads[None]):
            curves = FILLET_WELDS["steel fillet weld" if weld.steel else "alloy fillet weld"]
            ranges = {
                "toe": float(weld.toe[0]), "root": float(weld.root[0]), "shear": float(weld.shear[0]),
            }  # fmt: skip
            damages = {
                place: _damage(SN_CURVES[name].factored(factor), service, ranges[place])
                for place, name in curves._asdict().items()
            }
            toe, root = damages["toe"], damages["root"] + damages["shear"]
            worst = max(toe, root)
            life = WeldLife(
                weld.part,
                side,
                toe_range=ranges["toe"],
                root_range=ranges["root"],
                shear_range=ranges["shear"],
                toe_damage=toe,
                root_damage=root,
                factor=factor,
                miles=service.miles / worst if worst > 0 else math.inf,
                source="; ".join(f"{name}: {SN_CURVES[name].source}" for name in curves),
            )
            if weld.part not in found or life.damage > found[weld.part].damage:
                found[weld.part] = life
    return tuple(found.values())


def _damage(curve: SNCurve, service: Service, largest: float) -> float:
    return 0.0 if largest <= REL_TOL_NO_DAMAGE * curve.knee else estimate_life(curve, service, largest).damage


def glue_lives(
    joint: Joint, service: Service, swing: FloatArray, mean: FloatArray, factors: SafetyFactors
) -> tuple[GlueLife, ...]:
    """Every glue line of a joint under a swing (2, 6) of its loads about steady ones (2, 6), N and N·m, from its elastic checks.

    Peak stress is linear in the load; peaks of swing and mean are taken at one place, on the safe side.
    """
    worst: dict[tuple[str, str], GlueLife] = {}
    moving, steady = (joint.checks(loads[None], factors) for loads in (swing, mean))
    for cycle, about in zip(moving, steady, strict=True):
        if cycle.kind != "checked" or not cycle.check.endswith(ELASTIC) or cycle.unit != "Pa":
            continue
        thermal = 0.0 if cycle.steady is None else float(cycle.steady[0])
        life = _glue_life(
            cycle, float(cycle.load[0]) - thermal, float(about.load[0]), service, factors.fatigue
        )
        key = (life.part, life.check)
        if key not in worst or life.damage > worst[key].damage:
            worst[key] = life
    return tuple(sorted(worst.values(), key=lambda life: -life.damage))


def _glue_life(check: Check, largest: float, mean: float, service: Service, factor: float) -> GlueLife:
    """Of one glue line by its elastic check, under a range about a mean, Pa."""
    side, strength = check.part.split(" ")[0], float(check.allowable[0])
    name = check.check.removesuffix(f", {ELASTIC}")
    make_life = partial(
        GlueLife, without_side(check.part), name, side, largest, mean, strength, factor, GLUE_SOURCE
    )
    try:
        curves = [GlueCurve(strength, mean, loss).factored(factor) for loss in (GLUE_LOSS, *GLUE_LOSS_BAND)]
    except ValueError:
        return make_life(allowed=0.0, damage=math.inf, miles=0.0, band=(0.0, 0.0), static=True)
    if largest <= REL_TOL_NO_DAMAGE * curves[0].knee:
        return make_life(
            allowed=allowable_range(curves[0], service), damage=0.0, miles=math.inf,
            band=(math.inf, math.inf), static=False,
        )  # fmt: skip
    usual = estimate_life(curves[0], service, largest)
    best, least = (
        estimate_life(curve, service, scale * largest)
        for curve, scale in zip(curves[1:], RACKING_BAND, strict=True)
    )
    return make_life(
        allowed=allowable_range(curves[0], service), damage=usual.damage, miles=usual.miles,
        band=(least.miles, best.miles), static=usual.static,
    )  # fmt: skip


def detail_life(
    detail: Detail, service: ServiceLife, ranges: FloatArray, mean: FloatArray, factor: float
) -> DetailLife:
    """A detail under ranges (2, 6) about steady loads (2, 6), on the side and at the place where its damage is the greater.

    factor : on ranges, where the detail has none of its own
    """
    factor_used = factor if detail.factor is None else detail.factor
    sides = [
        [
            _life_on_side(
                detail,
                service,
                side,
                float(ranges[number, detail.column]),
                float(mean[number, detail.column]),
                factor_used,
                place,
            )
            for place in detail.places
        ]
        for number, side in enumerate(SIDES)
    ]
    worst = [max(places, key=lambda life: life.damage) for places in sides]
    side = max(range(len(sides)), key=lambda number: worst[number].damage)
    damages = {life.place: life.damage for life in sides[side] if life.place}
    return replace(worst[side], damages=damages)


def _life_on_side(
    detail: Detail,
    service: ServiceLife,
    side: str,
    load: float,
    steady: float,
    factor: float,
    at: tuple[str, float, str],
) -> DetailLife:
    place, ratio, name = at
    largest, mean, source = (
        abs(detail.per) * ratio * load,
        detail.per * ratio * steady,
        detail.sn_curve(name, 0.0, 1.0).source,
    )
    make_life = partial(
        DetailLife, detail, side, load, largest, mean, factor=factor, source=source, place=place
    )
    try:
        curve = detail.sn_curve(name, mean, factor)
    except ValueError:
        return make_life(allowed=0.0, damage=math.inf, miles=0.0, static=True)
    allowed = allowable_range(curve, service)
    if largest <= REL_TOL_NO_DAMAGE * curve.knee:
        return make_life(allowed=allowed, damage=0.0, miles=math.inf, static=False)
    found = estimate_life(curve, service, largest)
    return make_life(allowed=allowed, damage=found.damage, miles=found.miles, static=found.static)


@dataclass(frozen=True, slots=True)
class LifeEstimate:
    """What a detail makes of a service.

    damage : Miner's sum over the distance;   miles : nautical, at which it reaches 1 (inf: never)
    static : whether the largest range alone reaches failure in less than one cycle
    """

    curve: FatigueCurve
    ranges: RangeDistribution
    damage: float
    miles: float
    static: bool


def estimate_life(curve: FatigueCurve, service: Service, largest: float, factor: float = 1.0) -> LifeEstimate:
    """Damage and life of a detail whose largest range in that service is `largest`; the curve over `factor`.

    Miles go on in the same weather: the distribution of ranges stays, the number of cycles grows.
    """
    design_curve, ranges = curve.factored(factor), service.ranges(largest)
    done = damage(design_curve, ranges)
    return LifeEstimate(
        design_curve,
        ranges,
        done,
        service.miles / done if done > 0 else math.inf,
        design_curve.cycles(largest) < 1,
    )


def allowable_range(curve: FatigueCurve, service: Service, factor: float = 1.0) -> float:
    """The largest range, once in that service, at which Miner's sum is just 1; 0 where so many cycles break even for none."""
    design_curve = curve.factored(factor)
    smallest = service.ranges(REL_TOL_NO_DAMAGE * design_curve.knee)
    if damage(design_curve, smallest) >= 1:
        return 0.0

    def excess(log_size: float) -> float:
        return math.log(max(damage(design_curve, service.ranges(math.exp(log_size))), TINY))

    return _root_in_log(excess, math.log(design_curve.knee))


def _root_in_log(function: Callable[[float], float], near: float) -> float:
    """e to the zero of a rising function of a logarithm, widened from `near`."""
    low, high = near - 1, near + 1
    while function(low) > 0:
        low -= 1
    while function(high) < 0:
        high += 1
    return math.exp(float(optimize.brentq(function, low, high, xtol=ABS_TOL_LOG_RANGE)))
