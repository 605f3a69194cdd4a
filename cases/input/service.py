"""What a boat's life asks of details at its joints: the sea of a service, and details with their fatigue curves."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from pydantic import Field, model_validator

from cases.input.combinations import case_name_fault
from cases.loads import LoadCase
from cases.loads.base import exactly_one
from cases.loads.racking import Racking
from cases.loads.waves import Waves
from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table, unknown
from femcore.base.units import STANDARD_GRAVITY, Unit, si
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.fatigue import (
    FILLET_WELDS,
    SN_CURVES,
    FatigueCurve,
    GlueCurve,
    RangeDistribution,
    bolt_in_tension,
    laminate,
    throat_stress_ratio,
)

METRES_PER_NAUTICAL_MILE = 1852.0
MAX_CYCLE_PERIOD = 3600.0
"""s between waves that are met: beyond an hour the boat rides with them."""
MIN_CYCLES, MAX_CYCLES = 100.0, 1e12
"""Racking cycles of a life: of fewer there is no long-term distribution, more no boat sees."""
LAMINATE = "laminate"
GLUE = "glue"
BOLT = "bolt in tension"
EVERY_JOINT = "all"
Component = Literal[
    "fore-and-aft shear",
    "axial force",
    "vertical shear",
    "vertical bending",
    "torque",
    "fore-and-aft bending",
]
"""The components of a joint load in beam words, as `JOINT_LOAD_NAMES` orders them."""
Strain = Annotated[float, Field(gt=0, lt=0.2)]


def encounter_period(wave_period: float, speed: float, heading: float) -> float:
    """s: of deep-water waves of `wave_period` (s) met at `speed` (m/s); `heading` 0 against, π with them.

    λ = g T²/2π, c = g T/2π, and the boat meets a crest every λ/|c + V cos μ| (linear wave theory).
    """
    celerity = STANDARD_GRAVITY * wave_period / (2 * math.pi)
    closing_speed = abs(celerity + speed * math.cos(heading))
    return celerity * wave_period / closing_speed if closing_speed else math.inf


class Service(Table):
    """How much sea a boat sees: miles, and racking cycles by count, by the mile, or by speed and period.

    distance  : m ("20000 nmi");   count : cycles in that distance;   per_mile : cycles in each nautical mile
    speed, period : m/s, and s from one racking cycle to the next
    wave_period, heading : s, of deep-water waves that are met at that speed, 0 against them; in place of `period`
    shape     : Weibull shape h of the racking range over the long term (common practice: 1)
    """

    distance: Annotated[float, Unit("m", above=0)]
    count: Annotated[float, Field(gt=0)] | None = None
    per_mile: Annotated[float, Field(gt=0)] | None = None
    period: Annotated[float, Unit("s", above=0)] | None = None
    wave_period: Annotated[float, Unit("s", above=0, most=60.0)] | None = None
    heading: Annotated[float, Unit("rad", most=math.pi)] = 0.0
    speed: Annotated[float, Unit("m/s", above=0)] | None = None
    shape: Annotated[float, Field(ge=0.3, le=5)] = 1.0

    @model_validator(mode="after")
    def _check_one_rate(self) -> Service:
        rate = exactly_one(self, "count", "per_mile", "period", "wave_period")
        if rate in {"period", "wave_period"}:
            exactly_one(self, "speed")
        if self.heading and self.wave_period is None:
            raise fault(
                "has a heading to waves of no period", 'give wave_period, such as "6 s", or take heading out'
            )
        if self.cycle_period > MAX_CYCLE_PERIOD:
            wrong = "the boat runs with waves of that period at their own speed, and meets hardly any"
            raise fault(wrong, "give another heading or speed, or the cycles by count")
        if not MIN_CYCLES <= self.cycles <= MAX_CYCLES:
            cycles = f"{self.cycles:.3g}"
            cure = 'give a life\'s distance (distance = "20000 nmi") and how often it is racked'
            raise fault(f"is {cycles} racking cycles long; a life has {MIN_CYCLES:g} to {MAX_CYCLES:g}", cure)
        return self

    @property
    def cycle_period(self) -> float:
        """s, from one racking cycle to the next, where a period is given or follows from the waves; else 0."""
        if self.wave_period is None:
            return self.period or 0.0
        return encounter_period(self.wave_period, self.speed or 0.0, self.heading)

    @property
    def miles(self) -> float:
        """Nautical miles."""
        return self.distance / METRES_PER_NAUTICAL_MILE

    @property
    def cycles(self) -> float:
        """Racking cycles over the distance."""
        if self.count is not None:
            return self.count
        if self.per_mile is not None:
            return self.per_mile * self.miles
        return self.distance / ((self.speed or 0.0) * self.cycle_period)

    def ranges(self, largest: float) -> RangeDistribution:
        """The ranges of a stress or strain whose largest, once over the distance, is `largest`."""
        return RangeDistribution(self.cycles, largest, self.shape)


class Detail(Table):
    """A weld, a bolt or a laminate at the joint, its nominal stress or strain, and the curve that it lives by.

    joint                  : the joint that has it, or "all"
    component              : what of the joint load stresses it, in beam words
    stress_per, strain_per : Pa, or strain, for each N·m (or N) of that; the strain's sign is kept, tension positive
    curve                  : a curve by name, "bolt in tension" with its `diameter`, or "laminate" with its strains
                             at failure in `tension` and `compression`, as sizes, and the `slope` of its curve; or "glue"
                             with its static `strength`, less its knock-downs
    plate, throat          : of a load-carrying fillet weld ("alloy fillet weld", "steel fillet weld"), thickness of the plate and
                             throat of the fillet at either side of it; the stress is the plate's, and the worse of toe and root
                             governs
    factor                 : by which the curve's ranges are divided; left out, `fatigue` of the file's `[factors]`
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    joint: str = EVERY_JOINT
    component: Component
    stress_per: str | None = None
    strain_per: str | None = None
    curve: str
    diameter: Annotated[float, Unit("m", above=0)] | None = None
    plate: Annotated[float, Unit("m", above=0)] | None = None
    throat: Annotated[float, Unit("m", above=0)] | None = None
    tension: Strain | None = None
    compression: Strain | None = None
    slope: Annotated[float, Field(ge=3, le=30)] = 10.0
    strength: Annotated[float, Unit("Pa", above=0)] | None = None
    factor: Annotated[float, Field(gt=0, le=10)] | None = None

    @model_validator(mode="after")
    def _complete(self) -> Detail:
        known = (*SN_CURVES, *FILLET_WELDS, BOLT, LAMINATE, GLUE)
        if self.curve not in known:
            wrong = unknown("", "curve", self.curve, known)
            raise fault(wrong.wrong, wrong.cure)
        needs = {"strain_per", "tension", "compression"} if self.curve == LAMINATE else {"stress_per"}
        needs |= {BOLT: {"diameter"}, GLUE: {"strength"}}.get(self.curve, set())
        needs |= {"plate", "throat"} if self.curve in FILLET_WELDS else set()
        takes = (
            "stress_per",
            "strain_per",
            "diameter",
            "plate",
            "throat",
            "tension",
            "compression",
            "strength",
        )
        given = {key for key in takes if getattr(self, key) is not None}
        for key in takes:
            if key in needs - given:
                raise fault(f"the curve '{self.curve}' needs {key}", f"give {key}")
            if key in given - needs:
                raise fault(f"the curve '{self.curve}' has no use for {key}", f"take {key} out")
        self._per()
        return self

    @property
    def column(self) -> int:
        """Which of the six components of a joint load."""
        return JOINT_LOAD_NAMES.index(self.component)

    @property
    def per(self) -> float:
        """Pa, or strain, for each N or N·m."""
        return self._per()

    def _per(self) -> float:
        load = "(N*m)" if self.column >= 3 else "N"
        key, of = ("strain_per", "1") if self.curve == LAMINATE else ("stress_per", "Pa")
        try:
            per = si(getattr(self, key), f"{of}/{load}")
        except InputFault as wrong:
            raise fault(f"{key}: {wrong.wrong}", wrong.cure) from None
        if per == 0 or (per < 0 and self.curve != LAMINATE):
            raise fault(f"{key}: '{getattr(self, key)}' is too small", f"give more than 0 {of}/{load}")
        return per

    @property
    def places(self) -> tuple[tuple[str, float, str], ...]:
        """Where it may crack: the place in a word, the stress there over the stress given, and the curve's name."""
        if self.curve not in FILLET_WELDS:
            return (("", 1.0, self.curve),)
        curves = FILLET_WELDS[self.curve]
        ratio = throat_stress_ratio(self.plate or 0.0, self.throat or 1.0)
        return (("toe", 1.0, curves.toe), ("root", ratio, curves.root))

    def sn_curve(self, name: str, mean: float, factor: float) -> FatigueCurve:
        """A place's curve by name over `factor`, about a steady strain or stress, which only laminate and glue know; ValueError
        where that breaks it.
        """
        if name == GLUE:
            return GlueCurve(self.strength or 0.0, abs(mean)).factored(factor)
        if name == LAMINATE:
            return laminate(self.tension or 0.0, self.compression or 0.0, mean, self.slope, factor)
        curve = bolt_in_tension(self.diameter or 0.0) if name == BOLT else SN_CURVES[name]
        return curve.factored(factor)


class ServiceLife(Service):
    """A service, and what in it the details feel.

    case    : the load case that the sea reaches once in the distance, or a case of waves, by which racking is distributed
              (`cases.analyses.service_racking`); left out: the case of waves, or else of racking, where there is one alone
    once_in : s, in which the wave of a case of waves without an irregular sea is reached once, three hours where left out, as
              long as a sea is taken to last (common practice)
    about   : the case that acts meanwhile, such as the rig's; none where left out
    swing   : the range of a cycle over the case's load: 2 from the case to its reverse, 1 from nothing to the case
    details : with the curves that they live by
    """

    case: str | None = None
    once_in: Annotated[float, Unit("s", above=0, most=1e9)] = 3 * 3600.0
    about: str | None = None
    swing: Annotated[float, Field(gt=0, le=2)] = 2.0
    details: list[Detail] = []

    @model_validator(mode="after")
    def _check_once_in(self) -> ServiceLife:
        if self.once_in < MIN_CYCLES * (self.cycle_period or 1.0):
            cure = f"give at least {MIN_CYCLES:g} cycles, such as 3 h"
            raise fault(f"once_in of {self.once_in:g} s is too few cycles for a distribution", cure)
        return self

    def racking_case(self, cases: Sequence[LoadCase], active: Sequence[LoadCase]) -> str:
        """The name of the case; InputFault where none is given and not one alone racks the boat.

        cases : as they are run;   active : the file's own, of which one of waves comes before all others
        """
        if self.case is not None:
            return self.case
        waves = [case.name for case in active if isinstance(case, Waves)]
        names = waves or [case.name for case in cases if isinstance(case, Racking)]
        if len(names) == 1:
            return names[0]
        if not names:
            cure = 'add a case of kind "racking" or "waves", or name a case'
            raise InputFault("service", "has no racking case to take its cycles from", cure)
        question = "which racks the boat" if waves else "which the sea reaches once in the distance"
        cure = f'say {question}, such as case = "{names[0]}"'
        kind = "wave" if waves else "racking"
        raise InputFault("service", f"has {len(names)} {kind} cases to take its cycles from", cure)

    def faults(
        self,
        cases: Sequence[LoadCase],
        active: Sequence[LoadCase],
        joints: Sequence[str],
        off: Sequence[str] = (),
    ) -> Iterator[InputFault]:
        """Cases and joints that it names and that do not exist or are `off`, and details of one name; `active` as above."""
        names = [case.name for case in cases]
        waves = [case.name for case in active if isinstance(case, Waves)]
        for key, choices in (("case", [*names, *waves]), ("about", names)):
            given = getattr(self, key)
            if (
                given is not None
                and (wrong := case_name_fault(f"service: {key}", given, choices, off)) is not None
            ):
                yield wrong
        try:
            self.racking_case(cases, active)
        except InputFault as wrong:
            yield wrong
        for detail in self.details:
            if detail.joint not in (EVERY_JOINT, *joints):
                yield unknown(
                    f"service: details '{detail.name}'", "joint", detail.joint, (*joints, EVERY_JOINT)
                )
        known: set[tuple[str, str]] = set()
        for detail in self.details:
            if (detail.name, detail.joint) in known:
                cure = "give each a name of its own, or another joint"
                yield InputFault(
                    f"service: details '{detail.name}'", f"is duplicated for joint '{detail.joint}'", cure
                )
            known.add((detail.name, detail.joint))
