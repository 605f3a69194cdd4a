"""Margins: resistance over factored load, less one, with the safety factor named beside each.

    margin = allowable / (factor × load) − 1

Loads are magnitudes and grow in proportion to the boat's loads, also where several act together: an
interaction is brought to a utilisation of the first degree (1 at failure), so that margin + 1 is always the number
by which all loads may grow. Where a part of a load does not come from the boat's loads (the stress of a temperature
change), it grows with them in the margin, and stays in the load factor. A part that lacks what its check needs gives
an entry that is *not checked*, with the reason: it never passes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from pydantic import Field

from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.numbers import finite
from femcore.base.toml import Table
from femcore.base.written import AsWritten, FiniteOrNull, Unwritten, written

CheckStatus = Literal["checked", "not checked"]
Outcome = Literal["holds", "fails", "not known"]
OUTCOME_WORDS: dict[Outcome, str] = {
    "holds": "adequate for what was checked",
    "fails": "inadequate",
    "not known": "adequate for what was checked",
}
"""What may be claimed of an outcome: never that a part holds."""
FactorValue = Annotated[float, Field(ge=1.0, le=20.0)]
FailureCriterion = Literal["tsai_wu", "max_stress", "max_strain"]
CRITERION_SOURCES: dict[FailureCriterion, str] = {
    "tsai_wu": "Tsai & Wu 1971",
    "max_stress": "maximum stress",
    "max_strain": "maximum strain",
}
"""What a check of plies names as its source."""
LoadFraction = Annotated[float, Field(gt=0.0, le=1.0)]


LOAD_PART = 1.5
"""What of a safety factor is for loads (EN 1990); a breaking load is not exceeded."""
LINE_AT_BREAKING_LOAD = 0.8
"""Of its own breaking load that a line may carry once: over γM2 = 1.25."""


SERVICEABILITY = "serviceability"
"""Name of the factor of limits under the loads as they are: beyond them a part deforms lastingly, and does not fail."""
IN_SERVICE = (SERVICEABILITY, "bond_elastic")
"""Names of the factors of limits in service: lasting deformation of metal, first yield of glue that is wet and warm."""
EXTREME = "extreme load"
"""Added to the name of a factor whose `LOAD_PART` is left out, since the load is not exceeded."""


class SafetyFactor(NamedTuple):
    """A safety factor with the name that is shown beside every margin."""

    value: float
    name: str

    @property
    def under_extreme_load(self) -> SafetyFactor:
        """Without its part for loads, at least 1: a load that is not exceeded, as in an accidental design situation, where all
        actions have the factor 1 (EN 1990 A1.3.2, from memory). Limits in service are kept under the load in service that
        belongs to an extreme one, which is `LOAD_PART` less.
        """
        if self.name == SERVICEABILITY:
            return SafetyFactor(self.value / LOAD_PART, f"{self.name}, {EXTREME}")
        return SafetyFactor(max(1.0, self.value / LOAD_PART), f"{self.name}, {EXTREME}")


NO_FACTOR = SafetyFactor(1.0, "none")
"""For finding loads at failure: no factor at all."""


class SafetyFactors(Table):
    """Safety factors on the load, over characteristic (minimum) strengths; `[factors]` of a boat file, all
    optional.

    The defaults are for working loads, which come again and again or may be exceeded, without a factor of their own; of an
    extreme load, which is not exceeded, `LOAD_PART` of each is left out. They are starting points: the rules that apply to the
    boat decide.
    """

    yielding: FactorValue = Field(
        1.65,
        description="first yield of metal: 1.5 on loads (EN 1990) times 1.1 (EN 1993-1-4, from memory)",
    )
    ultimate: FactorValue = Field(
        1.875,
        description="rupture of metal, bolts, welds: 1.5 on loads (EN 1990) times γM2 = 1.25",
    )
    buckling: FactorValue = Field(
        1.65,
        description="columns, imperfections within the curve: 1.5 times γM1 = 1.1 (from memory)",
    )
    elastic_buckling: FactorValue = Field(
        2.5,
        description="critical loads of perfect plates: no imperfections in them (common practice)",
    )
    bond: FactorValue = Field(
        3.0,
        description="glue lines at their ultimate capacity, plastic strain counted, by the strength entered: "
        "workmanship, water, heat, fatigue are in no coupon test (common practice)",
    )
    bond_elastic: FactorValue = Field(
        1.5,
        description="first yield of glue lines under the load in service, by the strength less its knock-downs: "
        "1.5 on loads (EN 1990)",
    )
    laminate: FactorValue = Field(
        2.0,
        description=(
            "the load against that at which the first ply cracks, by typical ply strengths less their knock-downs: half of "
            "what breaks it, as ISO 12215-5 takes it (from memory)"
        ),
    )
    bearing: FactorValue = Field(
        2.5,
        description="bolts in laminate: loose holes and creep on top of its 2 (common practice)",
    )
    core: FactorValue = Field(
        2.0,
        description="sandwich: core in shear, crimping, faces that wrinkle: as laminate (common practice)",
    )
    criterion: FailureCriterion = Field(
        "tsai_wu", description="failure criterion of plies, wherever the first ply is checked"
    )
    line_fraction: LoadFraction = Field(
        0.4,
        description="wire, rod, rope: the part of what breaks them that they may carry (common practice)",
    )
    breaking: Annotated[float, Field(ge=1.0, le=1.5)] = Field(
        1.0,
        description="parts that are to outlive the stay, on its breaking load, in place of the 1.5 on loads in other "
        "factors: 1.0 to 1.25 (common practice)",
    )
    serviceability: FactorValue = Field(
        1.0,
        description="pins that are to come out again, under the loads as they are: γM6,ser (EN 1993-1-8 Table 2.1, from memory)",
    )
    fatigue: FactorValue = Field(
        1.35,
        description="on stress ranges: safe life, high consequence (EN 1993-1-9 Table 3.1, read as quoted)",
    )

    @property
    def at_breaking_load(self) -> SafetyFactors:
        """Those of parts that are to outlive the stay: of each factor `LOAD_PART` is replaced by `breaking`, and none falls
        below it. Of a line, whose fraction is for loads that come again and again, `LINE_AT_BREAKING_LOAD` remains.
        """
        b, names = (
            self.breaking,
            (
                "yielding",
                "ultimate",
                "buckling",
                "elastic_buckling",
                "bond",
                "bond_elastic",
                "laminate",
                "bearing",
                "core",
            ),
        )
        changed = {name: b * max(1.0, getattr(self, name) / LOAD_PART) for name in names}
        return self.model_copy(update={**changed, "line_fraction": LINE_AT_BREAKING_LOAD / b})

    def safety_factor(self, name: str) -> SafetyFactor:
        """The factor of that field, with its name; of `line_fraction` the reciprocal, named "line"."""
        if name == "line":
            return SafetyFactor(1.0 / self.line_fraction, "line")
        return SafetyFactor(float(getattr(self, name)), name)


ON_PLASTIC_STRAIN = "relies on the plastic strain entered"
"""Begins the remark on a margin that is not below zero by plastic strain alone."""


@dataclass(frozen=True, eq=False)
class PlasticReserve:
    """What of a glue line's capacity rests on the plastic strain that was entered, over all cases.

    elastic : (cases,), utilisation of its elastic check, by the factor `elastic_factor`, which is not in it
    brittle : (cases,), utilisation of the same check without the plastic strain, no factor in
    """

    elastic: FloatArray
    elastic_factor: SafetyFactor
    brittle: FloatArray


@dataclass(frozen=True, eq=False)
class Check:
    """One check of one part, over all cases.

    part, check      : what is checked, and against what
    load, allowable  : (cases,), magnitudes in `unit`; of an interaction the utilisation, and 1
    factor           : on the load, with its name
    source           : of the formula
    kind, reason     : why it is "not checked"; its arrays are NaN
    steady           : (cases,), the part of `load` that does not come from the boat's loads, None where all does
    plastic          : of a glue line's ultimate capacity, what rests on plastic strain
    extreme          : (cases,), where the load is an extreme one, so that the factor has no part for loads; None where nowhere
    """

    part: str
    check: str
    load: FloatArray
    allowable: FloatArray
    unit: str
    factor: SafetyFactor
    source: str
    kind: CheckStatus = "checked"
    reason: str = ""
    steady: FloatArray | None = None
    plastic: PlasticReserve | None = None
    extreme: BoolArray | None = None

    @property
    def margin(self) -> FloatArray:
        """(cases,), allowable/(factor × load) − 1; infinite without load, NaN where not checked."""
        factor: FloatArray | float = self.factor.value
        if self.extreme is not None:
            factor = np.where(self.extreme, self.factor.under_extreme_load.value, factor)
        with np.errstate(divide="ignore"):
            return np.asarray(self.allowable / self.load / factor - 1.0)

    def factor_in(self, case: int) -> SafetyFactor:
        """The factor in a case: without its part for loads where the load is an extreme one."""
        return (
            self.factor.under_extreme_load if self.extreme is not None and self.extreme[case] else self.factor
        )

    @property
    def load_factor(self) -> FloatArray:
        """(cases,), the number by which all loads may grow until this check reaches its limit, no factor
        taken.
        """
        return self.growth(1.0)

    def growth(self, factor: float) -> FloatArray:
        """(cases,), the number by which the boat's loads may grow until `factor` × load is the allowable value; its steady
        part stays, and where that alone is too much the number is 0.
        """
        with np.errstate(divide="ignore"):
            if self.steady is None:
                return np.asarray(self.allowable / self.load / factor)
            room, growing = self.allowable / factor - self.steady, self.load - self.steady
            return np.where(room > 0, np.maximum(room, 0.0) / np.where(room > 0, growing, 1.0), 0.0)

    @property
    def growth_to_limit(self) -> FloatArray:
        """(cases,), the number by which the boat's loads may grow until the margin is 0, the factor of each case counted."""
        grown = self.growth(self.factor.value)
        return (
            grown
            if self.extreme is None
            else np.where(self.extreme, self.growth(self.factor.under_extreme_load.value), grown)
        )

    def in_cases(self, some: slice) -> Check:
        """The same of some cases."""
        return replace(
            self,
            load=self.load[some],
            allowable=self.allowable[some],
            steady=None if self.steady is None else self.steady[some],
            extreme=None if self.extreme is None else self.extreme[some],
            plastic=None
            if self.plastic is None
            else replace(
                self.plastic, elastic=self.plastic.elastic[some], brittle=self.plastic.brittle[some]
            ),
        )

    def remark(self, case: int) -> str:
        """What a reader of its margin in a case must know beside it; mostly nothing."""
        if self.plastic is not None:
            return self._plastic_remark(self.plastic, case)
        if self.steady is None or not self.steady[case]:
            return ""
        alone = self.factor_in(case).value * float(self.steady[case]) / float(self.allowable[case])
        return f"utilisation {alone:.2f} by temperature alone"

    def _plastic_remark(self, reserve: PlasticReserve, case: int) -> str:
        """Words where plastic strain alone satisfies the check; else none."""
        extreme = self.extreme is not None and bool(self.extreme[case])
        factor = reserve.elastic_factor.under_extreme_load if extreme else reserve.elastic_factor
        elastic = factor.value * float(reserve.elastic[case])
        with np.errstate(divide="ignore"):
            without = float(1 / np.float64(self.factor_in(case).value * reserve.brittle[case]) - 1)
        if self.margin[case] < 0 or without >= 0:
            return ""
        said = f"{ON_PLASTIC_STRAIN}: elastic utilisation {elastic:.2f}, margin without it {without:+.2f}"
        return said.replace("-", "−")


def checked(
    part: str,
    check: str,
    load: npt.ArrayLike,
    allowable: npt.ArrayLike,
    unit: str,
    factor: SafetyFactor,
    source: str,
    steady: float = 0.0,
) -> Check:
    """A check of loads (cases,), signs dropped, against allowable values above zero; ValueError for others
    or NaN.

    steady : what acts beside the load without coming from the boat's loads, a magnitude; it is added to the load
    """
    magnitude = np.abs(np.atleast_1d(np.asarray(load, dtype=float))) + steady
    resistance = np.asarray(allowable, dtype=float)
    if np.isnan(magnitude).any() or not (resistance > 0).all():
        raise ValueError(f"{part}, {check}: a load is no number, or an allowable value is not above zero")
    if resistance.shape == magnitude.shape:
        resistance = resistance.copy()
    elif not resistance.ndim:
        resistance = np.full_like(magnitude, resistance)
    else:
        magnitude, resistance = (each.copy() for each in np.broadcast_arrays(magnitude, resistance))
    beside = np.full(magnitude.shape, steady) if steady else None
    return Check(part, check, magnitude, resistance, unit, factor, source, steady=beside)


def not_checked(part: str, check: str, cases: int, reason: str) -> Check:
    """The entry of a check without the data it needs; `reason` names them."""
    nothing = np.full(cases, np.nan)
    return Check(
        part, check, nothing, nothing, "", SafetyFactor(np.nan, "not checked"), "", "not checked", reason
    )


@dataclass(frozen=True, slots=True)
class NotChecked:
    """Something that can fail and that no check covers.

    part : the part of the boat, or "all parts";   why : the reason, without a full stop
    """

    part: str
    what: Annotated[str, Field(description="of the part is in no check")]
    why: str


@dataclass(frozen=True)
class GoverningCheck:
    """The worst case of one part and check: `case` counts from 0, None where it was not checked.

    numbers are NaN where it was not checked
    """

    part: str
    check: str
    margin: Annotated[
        FiniteOrNull, Field(description="allowable over factor times load, less 1; null without load too")
    ]
    case: Unwritten[int | None]
    load: Annotated[
        FiniteOrNull, Field(description="in `unit`, without sign; of an interaction the utilisation")
    ]
    allowable: Annotated[FiniteOrNull, Field(description="in `unit`; of an interaction 1")]
    unit: Annotated[str, Field(description="SI; empty of a utilisation")]
    factor: Annotated[
        SafetyFactor,
        AsWritten(lambda factor: finite(factor.value), float | None),
        Field(description="safety factor on the load"),
    ]
    source: Annotated[str, Field(description="of the formula")]
    kind: Unwritten[CheckStatus]
    reason: Annotated[str, Field(description="why it was not checked; empty where it was")]
    remark: Annotated[
        str,
        Field(
            description="what the margin rests on, such as the plastic strain entered of a glue; mostly empty"
        ),
    ] = ""
    worst_in: Annotated[str | None, Field(description="case or combination; null where not checked")] = None

    @written("of the safety factor")
    def factor_name(self) -> str:
        """Beside every margin."""
        return self.factor.name


def envelope(checks: Iterable[Check]) -> tuple[GoverningCheck, ...]:
    """The worst case of every part and check, the governing one first; those not checked follow in their
    order.

    Checks of the same part and name are taken together (two bolts, two sides). One of them not checked is
    kept beside.
    """
    worst: dict[tuple[str, str, CheckStatus], GoverningCheck] = {}
    for check in checks:
        here, key = _worst_case(check), (check.part, check.check, check.kind)
        if key not in worst or here.margin < worst[key].margin:
            worst[key] = here
    return tuple(sorted(worst.values(), key=lambda w: (w.case is None, 0.0 if w.case is None else w.margin)))


def case_by_case(checks: Iterable[Check], cases: Iterable[int]) -> Iterator[tuple[GoverningCheck, ...]]:
    """Of each of these cases alone what `envelope` gives of all, without what was not checked."""
    known = [check for check in checks if check.kind == "checked"]
    margins = [check.margin.tolist() for check in known]
    for case in cases:
        worst: dict[tuple[str, str], tuple[float, Check]] = {}
        for check, margin in zip(known, margins, strict=True):
            key = check.part, check.check
            if key not in worst or margin[case] < worst[key][0]:
                worst[key] = margin[case], check
        found = (_in_case(check, case, margin) for margin, check in worst.values())
        yield tuple(sorted(found, key=lambda one: one.margin))


def governing_check(checks: Iterable[Check]) -> GoverningCheck | None:
    """The lowest margin of all that was checked; None where nothing was."""
    first = next(iter(envelope(checks)), None)
    return first if first is not None and first.case is not None else None


def unchecked(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Everything that was not checked."""
    return tuple(check for check in checks if check.kind == "not checked")


def failure_load_factor(checks: Iterable[Check]) -> tuple[FloatArray, tuple[str, ...]]:
    """By what all loads may grow until the first part fails, no factor taken: (cases,), and which ("part:
    check").

    Infinite and "nothing" where no load acts; what was not checked is left out (see `unchecked`), and so are limits in
    service.
    """
    known = [check for check in checks if check.kind == "checked" and check.factor.name not in IN_SERVICE]
    if not known:
        raise ValueError("nothing was checked")
    load_factor = np.stack([check.load_factor for check in known])
    first, names = load_factor.argmin(axis=0), [f"{check.part}: {check.check}" for check in known]
    least = load_factor.min(axis=0)
    return least, tuple(
        names[i] if np.isfinite(value) else "nothing" for i, value in zip(first, least, strict=True)
    )


def overall_outcome(checks: Sequence[Check]) -> Outcome:
    """Of these checks alone; what is in no check at all is in `models.checks.not_checked`.

    "fails" with any margin below zero; "not known" with a check that lacks its data, or none; else "holds".
    """
    worst = governing_check(checks)
    if worst is not None and worst.margin < 0:
        return "fails"
    return "not known" if worst is None or unchecked(checks) else "holds"


def _worst_case(check: Check) -> GoverningCheck:
    if check.kind == "not checked":
        rest = (check.source, check.kind, check.reason)
        return GoverningCheck(
            check.part, check.check, np.nan, None, np.nan, np.nan, check.unit, check.factor, *rest
        )
    margin = check.margin
    case = int(margin.argmin())
    return _in_case(check, case, float(margin[case]))


def _in_case(check: Check, case: int, margin: float) -> GoverningCheck:
    return GoverningCheck(
        check.part, check.check, margin, case, float(check.load[case]), float(check.allowable[case]), check.unit,
        check.factor_in(case), check.source, check.kind, check.reason, check.remark(case),
    )  # fmt: skip


def with_extreme_loads(checks: Iterable[Check], extreme: BoolArray) -> tuple[Check, ...]:
    """The same checks with the factors of extreme loads in those of their cases (cases,) that are such."""
    return tuple(replace(check, extreme=extreme) if check.kind == "checked" else check for check in checks)
