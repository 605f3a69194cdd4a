"""The forestay's tension from the boat's righting moment and the rig's geometry, by several methods at once.

None of them is exact; their range is given with the result. Each gives the tension in service, N.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, model_validator

from cases.loads.base import exactly_one
from cases.loads.pull import Tension
from cases.loads.sag import MAX_STAY_SAG_RATIO
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import STANDARD_GRAVITY, Unit

Positive = Annotated[float, Unit("m", above=0, most=1000.0)]
FACTORS = {"masthead": 15.0, "fractional": 12.0}
"""Forestay breaking load × (I + FS) / RM: Nordic Boat Standard as given by L. Larsson & R.E. Eliasson,
Principles of Yacht Design, Ch. 11 (from memory)."""
DRIVE_SCATTER = 0.1
"""Of the drive, either way: a quarter of the 0.40 that the method takes (common practice: nobody measures it)."""
MAX_DRIVE_RATIO = 4.0
"""Most over least tension with the drive so much smaller and larger, from which mast statics is not usable alone."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """What one method gives: N, in service.

    at_drives : of mast statics, N, with the drive `DRIVE_SCATTER` larger and smaller: the least, and the most
    """

    method: str
    tension: float
    source: str
    at_drives: tuple[float, float] | None = None

    @property
    def usable_alone(self) -> bool:
        """Whether the drive, which nobody measures, leaves it within a factor of four."""
        if self.at_drives is None:
            return True
        least, most = self.at_drives
        return least > 0 and most < MAX_DRIVE_RATIO * least

    @property
    def sensitivity(self) -> str:
        """How far the drive moves it, in words; empty of other methods."""
        if self.at_drives is None:
            return ""
        least, most = (engineering(one, "N").replace("-", "−") for one in self.at_drives)
        words = f"{self.method} gives {least} to {most} as the drive varies by ±{DRIVE_SCATTER:g}"
        return words if self.usable_alone else f"{words}: not usable alone"


@dataclass(frozen=True, slots=True)
class TensionRange:
    """All estimates side by side.

    righting_moment : N·m; None where no method used it
    estimates       : those that give a pull;   without : those that do not, and are left out
    taken           : N, which the case uses;   choice : how it was taken
    """

    righting_moment: float | None
    estimates: tuple[Estimate, ...]
    choice: str
    used_tension: float
    excluded: tuple[Estimate, ...] = ()

    @property
    def lowest(self) -> float:
        """N."""
        return min(estimate.tension for estimate in self.estimates)

    @property
    def highest(self) -> float:
        """N."""
        return max(estimate.tension for estimate in self.estimates)

    @property
    def excluded_words(self) -> str:
        """What gives no pull, in words; empty where every method does."""
        names = " and ".join(one.method for one in self.excluded)
        return (
            f"{names} {'give' if len(self.excluded) > 1 else 'gives'} no pull and is left out"
            if names
            else ""
        )

    def words(self, used: float) -> str:
        """How the tension `used` (N) was taken, and how far the estimates lie apart."""
        how = f"{self.choice} of {len(self.estimates)} estimate{'s' if len(self.estimates) > 1 else ''}"
        held = " or the pretension" if used > self.used_tension else ""
        low, high = engineering(self.lowest, "N"), engineering(self.highest, "N")
        apart = f"; they run from {low} to {high}" if len(self.estimates) > 1 else ""
        apart += "".join(f"; {one.sensitivity}" for one in self.estimates if one.sensitivity)
        return f"{how}{held}{apart}{f'; {self.excluded_words}' if self.excluded else ''}"


class _Method(NamedTuple):
    needs: tuple[str, ...]
    tension: Callable[[TensionEstimate, float, float, float], float]
    source: str


class TensionEstimate(Table):
    """What is known of rig and boat; each method whose needs are given is used, and two at least must be.

    righting_moment | displacement : N·m, entered; or kg, that of flying a hull: × g × half the hulls' spacing
                                     (common practice; so in a designer's note, "Cruising catamaran rigs")
    share         : of that moment which the boat is sailed to (the same note: rigs drawn for 60 % of it)
    hoist         : m, I, of the stay's upper end above deck;   freeboard : m, FS, of the deck at the mast
    rig_height    : m, I + FS, of the stay's upper end above the water, in place of these two
    wire_factor   : breaking load over load in service (2.75 in that note; common practice 2 to 3)
    stay_foot     : m, how far the stay's foot lies ahead of the mast
    mainsheet     : N, whole pull of the sheet;   sheet_aft : m, how far aft of the mast it pulls down
    shroud_base, shrouds_aft : m, of the chainplates from the centreline (half the spacing if left out), aft
    drive         : forward tipping moment of the sails over the righting moment
    side_load     : N/m, of the headsail on the stay;   length, sag : m, of the stay
    take          : which of the estimates the case uses
    """

    righting_moment: Annotated[float, Unit("N*m", above=0, most=1e10)] | None = None
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)] | None = None
    share: Annotated[float, Field(gt=0, le=1)] = 1.0
    rig: Literal["masthead", "fractional"] = "fractional"
    hoist: Positive | None = None
    freeboard: Annotated[float, Unit("m", least=0, most=1000.0)] | None = None
    rig_height: Positive | None = None
    wire_factor: Annotated[float, Field(ge=1, le=10)] = 2.75
    stay_foot: Positive | None = None
    mainsheet: Tension | None = None
    sheet_aft: Positive | None = None
    shroud_base: Positive | None = None
    shrouds_aft: Annotated[float, Unit("m", least=0, most=1000.0)] | None = None
    drive: Annotated[float, Field(ge=0, le=1)] = 0.4
    side_load: Annotated[float, Unit("N/m", above=0, most=1e5)] | None = None
    length: Positive | None = None
    sag: Positive | None = None
    take: Literal["largest", "smallest", "mean", "nordic standard", "mast statics", "sag"] = "largest"

    @model_validator(mode="after")
    def _check_data(self) -> TensionEstimate:
        if self.righting_moment is not None or self.displacement is not None:
            exactly_one(self, "righting_moment", "displacement")
        if self.rig_height is not None and (
            also := [key for key in ("hoist", "freeboard") if getattr(self, key) is not None]
        ):
            raise fault(
                f"has rig_height beside {' and '.join(also)}", "give rig_height, or hoist and freeboard"
            )
        if self.sag is not None and self.length is not None and self.sag > MAX_STAY_SAG_RATIO * self.length:
            raise fault(
                f"a sag of {self.sag:g} m is beyond 1/8 of the stay's {self.length:g} m",
                "give sag and length of the stay",
            )
        usable = list(self.methods)
        if len(usable) < 2:
            missing = (f"{name}: {', '.join(self._missing(name))}" for name in METHODS if name not in usable)
            raise fault(
                "has the data of fewer than two methods", "add what is missing (" + "; ".join(missing) + ")"
            )
        if self.take not in {"largest", "smallest", "mean", *usable}:
            raise fault(
                f"takes '{self.take}', whose data is not there", f"give {', '.join(self._missing(self.take))}"
            )
        return self

    @property
    def methods(self) -> dict[str, _Method]:
        """Those whose data is there."""
        return {name: method for name, method in METHODS.items() if not self._missing(name)}

    def _missing(self, name: str) -> list[str]:
        known = {key for key in type(self).model_fields if getattr(self, key) is not None}
        if "displacement" in known:
            known.add("righting_moment")
        if "rig_height" in known:
            known |= {"hoist", "freeboard"}
        return [key for key in METHODS[name].needs if key not in known]

    def tension_range(self, spacing: float, rake: float) -> TensionRange:
        """Every estimate for hulls `spacing` apart (m) and a stay raked by `rake` (rad).

        A method whose answer is no pull is left out; InputFault where it is the one taken, or all are such, and where mast
        statics stands alone though the drive moves it fourfold.
        """
        moment = self.moment(spacing)
        base = self.shroud_base or spacing / 2
        every = [
            Estimate(
                name,
                method.tension(self, moment or 0.0, base, rake),
                method.source,
                self._at_drives(moment or 0.0, base, rake) if name == "mast statics" else None,
            )
            for name, method in self.methods.items()
        ]
        estimates, excluded = (
            [one for one in every if (one.tension > 0) == pulls] for pulls in (True, False)
        )
        self._check_tensions(estimates, excluded)
        values = [estimate.tension for estimate in estimates]
        of = {"largest": max(values), "smallest": min(values), "mean": sum(values) / len(values)}
        of |= {estimate.method: estimate.tension for estimate in estimates}
        return TensionRange(moment, tuple(estimates), self.take, of[self.take], tuple(excluded))

    def _at_drives(self, moment: float, base: float, rake: float) -> tuple[float, float]:
        """N: mast statics with the drive larger and smaller, the least first."""
        drives = self.drive + DRIVE_SCATTER, max(self.drive - DRIVE_SCATTER, 0.0)
        least, most = (
            mast_statics(self.model_copy(update={"drive": drive}), moment, base, rake) for drive in drives
        )
        return least, most

    def _check_tensions(self, estimates: list[Estimate], excluded: list[Estimate]) -> None:
        for one in excluded:
            if one.method == self.take or not estimates:
                wrong = f"'{one.method}' gives no pull on the stay but {engineering(one.tension, 'N').replace('-', '−')}"
                cure = f"take another method, or correct {', '.join(METHODS[one.method].needs)}"
                raise InputFault("estimate: take" if estimates else "estimate", wrong, cure)

        for one in estimates:
            if not one.usable_alone and (one.method == self.take or len(estimates) == 1):
                cure = "take another method, or the largest of several"
                raise InputFault("estimate: take", one.sensitivity, cure)

    def moment(self, spacing: float) -> float | None:
        """N·m: the righting moment that the rig is sailed to, for hulls `spacing` apart, m."""
        if self.displacement is not None:
            return self.share * self.displacement * STANDARD_GRAVITY * spacing / 2
        return None if self.righting_moment is None else self.share * self.righting_moment


def nordic_standard(data: TensionEstimate, moment: float, base: float, rake: float) -> float:
    """N: breaking load 15 RM/(I + FS) masthead, 12 RM/(I + FS) fractional, over the factor of the wire."""
    del base, rake
    height = data.rig_height or (data.hoist or 0.0) + (data.freeboard or 0.0)
    return FACTORS[data.rig] * moment / height / data.wire_factor


def mast_statics(data: TensionEstimate, moment: float, base: float, rake: float) -> float:
    """N: about the mast's foot, T J cos ρ = sheet × arm + RM/base × shrouds aft − drive × RM."""
    aft = (data.mainsheet or 0.0) * (data.sheet_aft or 0.0) + moment / base * (data.shrouds_aft or 0.0)
    return (aft - data.drive * moment) / ((data.stay_foot or 0.0) * math.cos(rake))


def sag_statics(data: TensionEstimate, moment: float, base: float, rake: float) -> float:
    """N: T = w L²/(8 s), the parabola of a line under a uniform side load."""
    del moment, base, rake
    return (data.side_load or 0.0) * (data.length or 0.0) ** 2 / (8 * (data.sag or math.inf))


METHODS = {
    "nordic standard": _Method(
        ("righting_moment", "hoist", "freeboard"),
        nordic_standard,
        "Nordic Boat Standard after Larsson & Eliasson, Principles of Yacht Design, Ch. 11 (from memory); "
        "written for monohulls",
    ),
    "mast statics": _Method(
        ("righting_moment", "stay_foot", "mainsheet", "sheet_aft", "shrouds_aft"),
        mast_statics,
        "moments about the mast's foot with a drive moment of 0.40 RM, as in an estimate for beach "
        "catamarans in a sailors' forum (catsailor.com, thread 117360, read); there without cos ρ",
    ),
    "sag": _Method(
        ("side_load", "length", "sag"),
        sag_statics,
        "statics of a line under uniform load (H.M. Irvine, Cable Structures, 1981)",
    ),
}
"""By name: what each needs, how it works, and where it is from."""
