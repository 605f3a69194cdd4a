"""Both hulls on a regular wave, balanced in heave, pitch and roll: the load along them goes onto the whole frame.

`cases.loads.wave_balance` has the mechanics. Of all headings, lengths and phases, the two waves are run that make most of the
pitch-connecting moment and of the bows' antisymmetric root moment, each with the port and with the starboard bow lifted.

Aft of the platform's last member the load acts on the hulls there, by a rigid arm (`cases.loads.hull_load`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from cases.loads.base import LoadCase, MemberLoad, PlaceLoad, degrees, exactly_one, expanded_case
from cases.loads.hull_load import ABS_TOL_STATION, Stretch, on_hull
from cases.loads.origin import Origin
from cases.loads.wave_balance import (
    SEA_WATER,
    HullForm,
    Motion,
    WaveStates,
    balanced_load,
    form_by_coefficients,
    grid_of_states,
    pitch_connecting_moment,
    root_moment,
)
from cases.loads.wave_spectrum import Sea
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import Unit
from models.boat.boat import Boat
from models.boat.bows import OutlinedBows
from models.boat.hull_section import HullStation
from models.response.front_end import SIDES

STATIONS = 40
"""Equal steps along a hull, beside those at the root and the platform's end: M_P of the demo is within 0.1 % of that of 160."""
SCANNED_HEADINGS = np.radians(np.arange(0.0, 91.0, 5.0))
"""rad, 0 along the boat, 90° abeam: beyond, they are mirror images."""
SCANNED_LENGTHS = np.linspace(0.5, 2.5, 21)
"""Of waves, over the waterline."""
SCANNED_PHASES = np.radians(np.arange(0.0, 360.0, 10.0))
"""rad; the greatest of a cosine is missed by at most 1 − cos 5° = 0.4 %."""
MAX_STEEPNESS = 1 / 7
"""H/λ at which a wave breaks, about (W. Bascom, Waves and Beaches, 1980, p. 41, read as quoted; J. H. Michell, The highest waves
in water, 1893, from memory: 0.142)."""
Size = Annotated[float, Unit("m", above=0, most=1000.0)]
Coefficient = Annotated[float, Field(gt=0.5, le=1)]


class WaterlineStation(Table):
    """What of one hull is in the water at a station x: breadth at the waterline, and area of the section below it."""

    at: Annotated[float, Unit("m", most=1000.0)]
    breadth: Annotated[float, Unit("m", least=0, most=1000.0)]
    area: Annotated[float, Unit("m**2", least=0, most=1000.0)]


class Waves(LoadCase):
    """Regular waves of one steepness or height from all headings, or from one.

    displacement         : kg, of the boat;   waterline, breadth : m, of one hull in the water
    prismatic, waterplane: coefficients: displaced volume over length × greatest area, waterplane over length × breadth
    fore                 : m, x of the waterline's fore end; left out: the stem
    stations             : in place of these, from aft forward; left out ahead of the bulkhead: from the bows' outline, below
    waterline_height     : m, z of the waterline in the outline's own heights
    steepness, height    : H/λ, or H in m, at most that at which a wave breaks
    heading, length      : rad from ahead or astern (abeam: 90°) and m; left out: the worst of all
    sea                  : irregular waves besides, by which the joints' loads are given as well
    motion               : "balanced" on the wave, or "inertia": the boat stays, and the mass of her hulls takes the rest
    """

    from_boat: ClassVar[Mapping[str, str]] = {
        "displacement": "displacement",
        "waterline": "waterline",
        "breadth": "waterline_breadth",
    }
    kind: Literal["waves"] = "waves"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)] | None = None
    waterline: Size | None = None
    breadth: Size | None = None
    prismatic: Coefficient = 0.62
    waterplane: Coefficient = 0.75
    fore: Annotated[float, Unit("m", most=1000.0)] | None = None
    stations: list[WaterlineStation] = []
    waterline_height: Annotated[float, Unit("m", most=1000.0)] | None = None
    steepness: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    height: Size | None = None
    heading: Annotated[float, Unit("rad", least=0, most=math.pi / 2 * (1 + 1e-12))] | None = None
    length: Size | None = None
    motion: Motion = "balanced"
    sea: Sea | None = None

    @classmethod
    def keys_from_boat(cls, given: Mapping[str, Any]) -> Mapping[str, str]:
        """None where the hulls are given by stations."""
        return {} if given.get("stations") else cls.from_boat

    @model_validator(mode="after")
    def _check(self) -> Waves:
        exactly_one(self, "steepness", "height")
        if self.steepness is not None and self.steepness > MAX_STEEPNESS:
            wrong = f"a steepness of {self.steepness:g} is beyond 1/7, where a wave breaks"
            raise fault(wrong, "give at most 0.142, such as steepness = 0.05 (1/20)")
        by_form = {key: getattr(self, key) for key in ("displacement", "waterline", "breadth", "fore")}
        if self.stations:
            if given := [key for key, value in by_form.items() if value is not None]:
                raise fault(
                    f"has {' and '.join(given)} beside stations, from which it follows", "take it out"
                )
            places = [one.at for one in self.stations]
            if any(b - a <= ABS_TOL_STATION for a, b in pairwise(places)):
                raise fault("stations do not run forward", "list them from aft, each further forward")
        elif missing := [key for key in ("displacement", "waterline", "breadth") if by_form[key] is None]:
            raise fault(
                f"has no {' and no '.join(missing)}", "give displacement, waterline and breadth, or stations"
            )
        elif self.waterline_height is not None:
            raise fault(
                "has a waterline_height without stations",
                "take it out, or give the stations aft of the bulkhead",
            )
        return self

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: the hulls are the boat's."""
        return []

    def what(self) -> str:
        """In one line."""
        size = (
            f"H = {engineering(self.height, 'm')}"
            if self.height
            else f"H/λ = 1/{1 / (self.steepness or 1):.3g}"
        )
        return f"both hulls on a regular wave, {size}"

    def form(self, boat: Boat) -> HullForm:
        """The hulls in the water; InputFault where they do not fit the boat."""
        here, bows = "waves", boat.bows
        if boat.platform is None:
            cure = "add [platform] with its members in place of [root]"
            raise InputFault(here, "twists the platform between the hulls, and the boat has none", cure)
        given = self._stations(boat)
        ends = (float(given[0, 0]), float(given[-1, 0])) if len(given) else self._ends(bows.length)
        if ends[1] > bows.length + ABS_TOL_STATION:
            cure = f"end it at x = {bows.length:g} m, the stem, or aft of that"
            raise InputFault(here, f"the waterline ends at x = {ends[1]:g} m, ahead of the stem", cure)
        if not ends[0] < 0 < ends[1]:
            cure = "let it run from aft of the main bulkhead, x = 0, to ahead of it"
            raise InputFault(
                here, f"the waterline from x = {ends[0]:g} to {ends[1]:g} m does not pass the bulkhead", cure
            )
        x = _distinct(
            [*np.linspace(ends[0], ends[1], STATIONS + 1), *given[:, 0], 0.0, max(boat.platform.aft, ends[0])]
        )
        if len(given):
            breadth, area = (np.interp(x, given[:, 0], given[:, column]) for column in (1, 2))
            if not (area.max() > 0 and breadth.max() > 0):
                raise InputFault(
                    here,
                    "no station has breadth and area in the water",
                    "check waterline_height and stations",
                )
            return HullForm(x, breadth, area, SEA_WATER * area, bows.spacing)
        return form_by_coefficients(
            x, self.displacement or 0.0, self.breadth or 0.0, bows.spacing, self.prismatic, self.waterplane
        )

    def _ends(self, stem: float) -> tuple[float, float]:
        fore = stem if self.fore is None else self.fore
        return fore - (self.waterline or 0.0), fore

    def _stations(self, boat: Boat) -> FloatArray:
        """(n, 3): x, breadth and area as entered, and ahead of them those of the bows' outline; (0, 3) without stations."""
        own = np.array([(one.at, one.breadth, one.area) for one in self.stations]).reshape(-1, 3)
        if self.waterline_height is None or not len(own):
            return own
        bows = boat.bows
        sections = bows.sections if isinstance(bows, OutlinedBows) else None
        if sections is None:
            cure = "give the stations up to the stem, and take waterline_height out"
            raise InputFault("waves: waterline_height", "the bows have no outline to measure it on", cure)
        ahead = [
            (one.x, *immersed(one, self.waterline_height))
            for one in sections.outlines
            if one.x > own[-1, 0] + ABS_TOL_STATION
        ]
        return np.concatenate([own, np.array(ahead).reshape(-1, 3)])

    def waves(self, form: HullForm) -> WaveStates:
        """All that are scanned for these hulls."""
        heading = SCANNED_HEADINGS if self.heading is None else np.array([self.heading])
        length = SCANNED_LENGTHS * form.length if self.length is None else np.array([self.length])
        most = MAX_STEEPNESS * length
        height = (
            np.minimum(self.height, most) if self.height is not None else (self.steepness or 0.0) * length
        )
        return grid_of_states(heading, length, height, SCANNED_PHASES)

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The worst waves, each with the port and the starboard bow lifted; InputFault where it does not fit the boat."""
        form = self.form(boat)
        return [self._case(boat, form, one, side) for one in self.worst(boat) for side in range(2)]

    def worst(self, boat: Boat) -> tuple[WorstWave, ...]:
        """The waves that are run, before `scale`: that of greatest M_P first."""
        form = self.form(boat)
        return _worst(_Scan.of(form, self.waves(form), self.motion))

    def _case(self, boat: Boat, form: HullForm, wave: WorstWave, side: int) -> LoadCase:
        load = wave.load if side == 0 else wave.load[::-1]
        placed, lines = hull_loads(boat, form, load)
        name = f"{wave.name}, {SIDES[side]} bow up"
        where = f"β = {degrees(wave.heading)}, λ = {engineering(wave.length, 'm')}, H = {engineering(wave.height, 'm')}"
        moments = f"M_P = {engineering(wave.pitch_connecting, 'N·m')}, at the bow's root {engineering(wave.root, 'N·m')}"
        origin = Origin(
            "hydrostatics of wall-sided sections on a regular wave, worked for this project; its "
            "height, as entered, is common practice",
            f"q = ρ g b max(ζ − c₀ − c₁ x − c₂ y, −A/b){' − m × acceleration' if self.motion == 'inertia' else ''}, "
            f"ζ = H/2 cos(k (x cos β + y sin β) − ε); {where}, ε = {degrees(wave.phase)}; M_P = ∫ ½ (q_port − q_starboard) x dx; "
            f"{moments}",
            "quasi-static: without dynamic amplification, slamming, forces sideways, water over the deck; a wave no steeper "
            "than 1/7, where it breaks",
            inside=wave.height <= MAX_STEEPNESS * wave.length * (1 + 1e-9),
        )
        words = f"{self.what()}: {where}: {moments}, {SIDES[side]} bow up"
        return expanded_case(
            self, words, origin, placed, lines, name, ["pitch connecting"], both_senses=False
        )


@dataclass(frozen=True, slots=True, eq=False)
class WorstWave:
    """The wave that makes most of one moment, with the port bow up.

    heading, phase : rad;   length, height : m;   pitch_connecting, root : N·m, M_P and M_r;   load : (2, n), N/m
    """

    name: str
    heading: float
    length: float
    height: float
    phase: float
    pitch_connecting: float
    root: float
    load: FloatArray


@dataclass(frozen=True, slots=True)
class _Scan:
    """Hulls and waves by value, so that a case is scanned once."""

    form: tuple[tuple[float, ...], ...]
    spacing: float
    states: tuple[tuple[float, ...], ...]
    motion: Motion

    @classmethod
    def of(cls, form: HullForm, states: WaveStates, motion: Motion) -> _Scan:
        hull = tuple(tuple(one.tolist()) for one in (form.x, form.breadth, form.area, form.mass))
        waves = (states.heading, states.length, states.height, states.phase)
        return cls(hull, form.spacing, tuple(tuple(one.tolist()) for one in waves), motion)


@lru_cache(maxsize=32)
def _worst(scan: _Scan) -> tuple[WorstWave, ...]:
    """The waves of greatest M_P and M_r; one where they are the same."""
    x, breadth, area, mass = (np.array(one) for one in scan.form)
    heading, length, height, phase = (np.array(one) for one in scan.states)
    form, states = HullForm(x, breadth, area, mass, scan.spacing), WaveStates(heading, length, height, phase)
    load = balanced_load(form, states, scan.motion)
    moments = {"hulls twisted": pitch_connecting_moment(form, load), "bows bent": root_moment(form, load)}
    found: dict[int, WorstWave] = {}
    for name, moment in moments.items():
        at = int(np.abs(moment).argmax())
        up = -1.0 if moment[at] < 0 else 1.0
        pitch, root = (up * float(one[at]) for one in moments.values())
        b, n, h, e = (float(one[at]) for one in (heading, length, height, phase))
        acting = load[at] if up > 0 else load[at, ::-1]
        found.setdefault(at, WorstWave(name, b, n, h, e, pitch, root, acting))
    return tuple(found.values())


def immersed(outline: HullStation, waterline: float) -> tuple[float, float]:
    """Breadth at the waterline, m, and area below it, m², of a whole section; both 0 where its keel is above the water."""
    z = np.array(outline.height)
    if waterline <= z[0]:
        return 0.0, 0.0
    level = min(waterline, float(z[-1]))
    half = float(np.interp(level, z, outline.half_breadth))
    below = z < level
    z, y = np.append(z[below], level), np.append(np.array(outline.half_breadth)[below], half)
    return 2 * half, 2 * float(np.trapezoid(y, z))


def hull_loads(boat: Boat, form: HullForm, load: FloatArray) -> tuple[list[PlaceLoad], list[MemberLoad]]:
    """A load (2, n), N/m upwards, along both hulls as loads on bows, hulls aft of them, and the platform's last member."""
    placed, lines = list[PlaceLoad](), list[MemberLoad]()
    for side, of_hull in zip(SIDES, load, strict=True):
        stations, loads = pairwise(form.x.tolist()), pairwise(of_hull.tolist())
        stretches = [Stretch(*ends, *sizes) for ends, sizes in zip(stations, loads, strict=True)]
        at_places, on_members = on_hull(boat, side, stretches, f"water on the {side} hull")
        placed += at_places
        lines += on_members
    return placed, lines


def _distinct(x: list[float]) -> FloatArray:
    """Rising, each once; the ends stay as they are."""
    found = np.sort(np.array(x, dtype=float))
    return np.asarray(found[np.append(True, np.diff(found) > ABS_TOL_STATION)])
