"""The platform: what connects the two hulls aft of the bows, as transverse members and the hulls' own beams.

Racking turns one hull against the other about the twist centre of the members, which is rarely at the main bulkhead. Each
member runs athwart at its station between the hulls' inboard sides: a rigid arm from the hull's axis, an end spring in roll,
then the beam. Stations are x, in boat axes: 0 at the main bulkhead, negative aft of it.

By hand (`hand_formula`), with d_i = x_i − x_c, b the clear width, s the hulls' spacing, worked for this project:

    1/k_i = b³/12EI + b/GA + b²/2k_end + s²|d_i|/2GJ_hull        x_c = Σ k_i x_i / Σ k_i
    φ/M   = 1 / (2 [Σ k_i d_i² + Σ GJ_i/b_i])                    M on each hull, φ half the difference of the hulls' pitch
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Self

import numpy as np
from pydantic import AfterValidator, Discriminator, Field, Tag, model_validator
from scipy.optimize import brentq

from femcore.base.arrays import FloatArray
from femcore.base.errors import fault
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.base.written import Unwritten
from femcore.files.section_file import WallMaterials
from femcore.frame.builder import RIGID
from models.boat.bows import Bows
from models.tables.beams import (
    BY_SECTION,
    BY_STIFFNESS,
    BeamBySection,
    BeamStiffness,
    Length,
    input_form,
    unit_stiffness,
)
from models.tables.context import BuiltFrom

ABS_TOL_TWIST_CENTRE = 1e-12
"""m: the twist centre of the closed form is found to this."""
ABS_TOL_SAME_STATION = 1e-6
"""m: stations of a hull nearer than this are one."""
HULL_STEPS = 400
"""Steps of the integral of a hull's twist along the platform: its error is below 1e-5 where GJ halves over the platform."""


def station_aft(x: float) -> float:
    """m, of a member or bulkhead: one nearer to the main bulkhead than two stations of a hull can be is at it."""
    return 0.0 if abs(x) <= ABS_TOL_SAME_STATION else x


class PlatformMemberGeometry(Table):
    """Where a transverse member runs, and how its ends are fixed to the hulls.

    station  : m, x ≤ 0: 0 at the main bulkhead, negative aft of it;   height : m, of its axis, boat axes
    inboard  : m, from the hull's axis to the inboard side where the member begins, a rigid arm; left out: as the bows'
    end_roll : N·m/rad, spring between each end and the hull in vertical bending; left out: rigid; 0: free in vertical bending
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    station: Annotated[Length, AfterValidator(station_aft)]
    height: Length
    inboard: Annotated[float, Unit("m", least=0)] | None = None
    end_roll: Annotated[float, Unit("N*m/rad", least=0)] | None = None

    @model_validator(mode="after")
    def _check_station(self) -> Self:
        if self.station > 0:
            raise fault(
                "the member's station is ahead of the main bulkhead", "give 0 m, or a negative x aft of it"
            )
        return self

    @property
    def end_spring(self) -> float:
        """N·m/rad, inf where rigid."""
        return RIGID if self.end_roll is None else self.end_roll


class PlatformMember(PlatformMemberGeometry, BeamStiffness):
    """A transverse member by its stiffness: "vertical" bends up and down, "lateral" in the plane of the deck.

    mass, expansion : 0: the model is of the front end alone
    """

    @model_validator(mode="after")
    def _check_no_mass(self) -> Self:
        _refuse_mass(self)
        return self


class PlatformMemberBySection(PlatformMemberGeometry, BeamBySection):
    """A transverse member by its section, y aft and z up."""

    def build(self, walls: WallMaterials) -> PlatformMember:
        """The member by the stiffness of its section; InputFault where that cannot be."""
        values, walled = self.stiffness(walls, f"platform: members '{self.name}'")
        return PlatformMember.of_section(walled, self._geometry | values | {"mass": 0.0, "expansion": 0.0})

    def outline_only(self) -> PlatformMember:
        """Its place with unit stiffness."""
        return PlatformMember(**self._geometry, **unit_stiffness())


class HullAftStation(BeamStiffness):
    """A station of the hulls' own beams aft of the bulkhead; `at` is x ≤ 0, GJ by Bredt of the hull's closed cell."""

    at: Length

    @model_validator(mode="after")
    def _check_no_mass(self) -> Self:
        _refuse_mass(self)
        return self


def _refuse_mass(beam: BeamStiffness) -> None:
    """A fault where a part of the platform has mass or thermal expansion, which no analysis of the front end takes up."""
    for key in ("mass", "expansion"):
        if getattr(beam, key):
            raise fault(f"{key} of the platform is not part of a front end's model", f"take {key} out")


_MEMBER_FORMS: Any = Annotated[
    Annotated[PlatformMember, Tag(BY_STIFFNESS)] | Annotated[PlatformMemberBySection, Tag(BY_SECTION)],
    Discriminator(input_form),
]
AnyMember = Annotated[PlatformMember, BuiltFrom(_MEMBER_FORMS)]


class Platform(Table):
    """Transverse members between the hulls, and the hulls' own beams from the bulkhead to the aftmost of them.

    hulls : by stations from 0 m aft, linear between them, constant beyond the last; none: the bows' stiffness at the
            bulkhead, constant
    """

    members: Annotated[tuple[AnyMember, ...], Field(min_length=1)]
    hulls: tuple[HullAftStation, ...] = ()

    @model_validator(mode="after")
    def _check(self) -> Self:
        names = [member.name for member in self.members]
        if len(set(names)) < len(names):
            raise fault("two members have the same name", "give each a name of its own")
        if all(member.end_roll == 0 for member in self.members):
            raise fault(
                "every member is free in vertical bending at its ends, so that each hull rolls freely",
                "give one of them an end_roll, or leave it out: rigid",
            )
        at = [station.at for station in self.hulls]
        if at and (at[0] != 0 or (np.diff(at) >= 0).any()):
            raise fault(
                "stations of the hulls do not run from 0 m aft", "begin at '0 m' and go on with negative x"
            )
        return self

    @property
    def remarks(self) -> tuple[str, ...]:
        """A sentence each on where its members come from; none where they are as typed."""
        return ()

    @property
    def twist_range(self) -> tuple[float, float] | None:
        """Factors on φ per moment between which it is expected; None where members are as typed."""
        return None

    @property
    def has_doors(self) -> bool:
        """Whether openings in its bulkheads are known, which its members leave out."""
        return False

    @property
    def for_symmetric(self) -> Platform | None:
        """With members for symmetric transverse bending, where these are others; None where members are as typed."""
        return None

    @property
    def aft(self) -> float:
        """m, x of the aftmost member."""
        return min(member.station for member in self.members)

    @property
    def foremost(self) -> PlatformMember:
        """The member nearest the main bulkhead."""
        return max(self.members, key=lambda member: member.station)

    @property
    def members_at_bulkhead(self) -> list[PlatformMember]:
        """Those at 0 m."""
        return [member for member in self.members if member.station == 0.0]

    def hull_stations(self, bows: Bows) -> tuple[HullAftStation, ...]:
        """The hulls' beams at 0 m and aft of it: those of `hulls`, or the bows' own at the bulkhead without their mass."""
        if self.hulls:
            return self.hulls
        root = bows.stations[0]
        own = {key: getattr(root, key) for key in BeamStiffness.model_fields}
        return (HullAftStation(at=0.0, **own | {"mass": 0.0, "expansion": 0.0}),)

    def clear_width(self, bows: Bows) -> FloatArray:
        """(members,), m, between the hulls' inboard sides."""
        inboard = [bows.inboard if one.inboard is None else one.inboard for one in self.members]
        return bows.spacing - 2 * np.array(inboard)


def symmetric_roll_springs(platform: Platform, bows: Bows) -> dict[str, float]:
    """N·m/rad by member: springs in roll between the hulls that give each member its stiffness for symmetric bending.

    Where both hulls roll alike (racking) such a spring is not strained. Where they roll apart by θ each, a member is bent by one
    moment M along it: θ = M (b/2EI + 1/k_end). The spring adds what `for_symmetric` has more of M/θ; its own strain is 2 θ.
    """
    others = platform.for_symmetric
    if others is None:
        return {}
    arc = [
        {
            member.name: 1 / (width / (2 * member.EI_vertical) + 1 / member.end_spring)
            for member, width in zip(one.members, one.clear_width(bows), strict=True)
            if member.end_spring > 0
        }
        for one in (platform, others)
    ]
    found = {name: (arc[1].get(name, k) - k) / 2 for name, k in arc[0].items()}
    return {name: K for name, K in found.items() if K > 0}


@dataclass(frozen=True, slots=True, eq=False)
class HandFormula:
    """What the closed form makes of a platform.

    shear_stiffness  : N/m, k_i, by member;   torsion : N·m/rad, Σ GJ_i/b_i
    twist_centre     : m, x_c
    twist_per_moment : rad/(N·m), φ/M: half the difference of the hulls' pitch per moment on each hull
    """

    shear_stiffness: Annotated[dict[str, float], Field(description="N/m, by member")]
    torsion: Unwritten[float]
    twist_centre: Annotated[float, Field(description="m, x of it")]
    twist_per_moment: Annotated[float, Field(description="rad/(N·m)")]


def hand_formula(platform: Platform, bows: Bows, *, rigid_hulls: bool = False) -> HandFormula:
    """The closed form of the module's head for hulls at the members' height.

    rigid_hulls : the first term of 1/k_i alone: members fixed to rigid hulls and not deformed by shear, exact where they are so
    """
    members, width = platform.members, platform.clear_width(bows)
    x = np.array([member.station for member in members])
    bending = width**3 / (12 * np.array([member.EI_vertical for member in members]))
    torsion = float(sum(member.GJ / b for member, b in zip(members, width, strict=True)))
    if rigid_hulls:
        return _twisted(members, 1 / bending, torsion, float((x / bending).sum() / (1 / bending).sum()))
    shear = width / np.array([member.GA_vertical or RIGID for member in members])
    with np.errstate(divide="ignore"):
        ends = width**2 / (2 * np.array([member.end_spring for member in members]))
    own, hull = bending + shear + ends, _hull_twist(platform, bows)

    def stiffness(centre: float) -> FloatArray:
        return np.asarray(1 / (own + bows.spacing**2 * np.abs(hull(x) - hull(centre)) / 2))

    def unbalance(centre: float) -> float:
        return float(stiffness(centre) @ (x - centre))

    # every term k_i d_i grows with d_i, so the sum falls steadily from the aftmost member to the foremost
    sides = float(x.min()), float(x.max())
    centre = sides[0] if sides[0] == sides[1] else float(brentq(unbalance, *sides, xtol=ABS_TOL_TWIST_CENTRE))
    return _twisted(members, stiffness(centre), torsion, centre)


def _twisted(members: Sequence[PlatformMember], k: FloatArray, torsion: float, centre: float) -> HandFormula:
    x, by_member = np.array([member.station for member in members]), zip(members, k.tolist(), strict=True)
    return HandFormula(
        {member.name: stiffness for member, stiffness in by_member}, torsion, centre,
        float(1 / (2 * (k @ (x - centre) ** 2 + torsion))),
    )  # fmt: skip


def _hull_twist(platform: Platform, bows: Bows) -> Callable[[FloatArray | float], FloatArray]:
    """rad/(N·m), twist of a hull under unit torque between 0 m and x, by the trapezoidal rule."""
    stations = platform.hull_stations(bows)
    at = np.linspace(0.0, platform.aft, HULL_STEPS + 1)
    GJ = np.interp(-at, [-one.at for one in stations], [one.GJ for one in stations])
    twist = np.concatenate([[0.0], np.cumsum((1 / GJ[1:] + 1 / GJ[:-1]) / 2 * -np.diff(at))])
    return lambda x: np.asarray(np.interp(-np.asarray(x), -at, twist))
