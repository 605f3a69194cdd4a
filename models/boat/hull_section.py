"""A hull's section at a station, from half-breadths and heights of keel, chines and gunwale, closed by its
deck.

Each strip between two of these has its own wall, sandwich or single skin. The section is the closed cell of one hull; where a
hatch cuts the deck it is an open one. Along the bow the stations are kept apart: `bow_stiffness` puts two stations at each end
of a hatch, the same place once whole and once cut, and GJ between stations is linear. It never averages J. A single number for
a length, where one is wanted for comparison, is the one that twists as much under the same torque, L / ∫dx/GJ (`average_GJ`).

An open section alone hardly carries torsion (St-Venant). Over a length as short as a hatch it does, since the closed hull at
both ends holds it against warping: `Hatch.warping` says which is counted, "held" (rigidly, with the walls' own shear: the upper
bound) or "free" (the lower). Frames and coamings help besides, and are in neither.

Section axes: y from the hull's own centreline (to port), z up; x along the hull.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from femcore.base.errors import InputFault
from femcore.sections import (
    Analysis,
    Section,
    SectionProperties,
    Wall,
    WallRun,
    analyse,
    joined,
    properties,
    warping,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

SEGMENTS_PER_STRIP = 8
"""Segments along each strip."""


@dataclass(frozen=True)
class HullStation:
    """A station's shape, from the keel up to the gunwale.

    x            : m, along the bow
    half_breadth : m, at keel, each chine, and gunwale; the keel's is zero, or half the breadth of a flat keel
    height       : m, at the same places, rising
    crown        : m, height of the deck's middle above the gunwale
    """

    x: float
    half_breadth: tuple[float, ...]
    height: tuple[float, ...]
    crown: float = 0.0

    def __post_init__(self) -> None:
        place = f"station at x = {self.x:g} m"
        if len(self.half_breadth) != len(self.height) or len(self.height) < 2:
            wrong = f"has {len(self.half_breadth)} half-breadths and {len(self.height)} heights"
            raise InputFault(place, wrong, "give one of each at keel, chines and gunwale, two or more")
        if any(upper <= lower for lower, upper in pairwise(self.height)):
            raise InputFault(place, "has heights that do not rise", "list them from the keel up")
        if min(self.half_breadth[1:]) <= 0.0 or self.half_breadth[0] < 0.0:
            raise InputFault(
                place, "has a half-breadth below zero, or of zero above the keel", "give positive ones"
            )
        if self.crown < 0.0:
            raise InputFault(place, f"has a deck crown of {self.crown:g} m", "give zero or more")


@dataclass(frozen=True, eq=False)
class HullWalls:
    """Walls of a hull's strips, the same along the bow.

    skins : one for each strip from the keel up (bottom, topsides, …); its n points into the hull
    deck  : of the deck
    keel  : of a flat keel; left out, as the lowest strip
    names : of the strips, for tables and pictures; left out, "bottom", "topside 1", …
    """

    skins: tuple[Wall, ...]
    deck: Wall
    keel: Wall | None = None
    names: tuple[str, ...] = ()

    def name(self, strip: int) -> str:
        """Name of a strip."""
        if self.names:
            return self.names[strip]
        return "bottom" if strip == 0 else f"topside {strip}" if len(self.skins) > 2 else "topside"


@dataclass(frozen=True)
class Hatch:
    """An opening in the deck on the hull's centreline, from `start` over `length` along x, m.

    warping       : whether the hull along it counts as held against warping at both ends, or as free
    concentration : stress at its corners over that of the deck beside it; None: as of a round hole, `corner_concentration`
    """

    start: float
    length: float
    width: float
    warping: Literal["held", "free"] = "free"
    concentration: float | None = None

    def __post_init__(self) -> None:
        if min(self.length, self.width) <= 0.0:
            wrong = f"has a length of {self.length:g} m and a width of {self.width:g} m"
            raise InputFault(f"hatch at x = {self.start:g} m", wrong, "give both above zero")

    @property
    def end(self) -> float:
        """Its other end, x, m."""
        return self.start + self.length

    def corner_concentration(self, deck: float) -> float:
        """Stress at its corners over that of what it leaves of a deck of breadth `deck` (m).

        Left out: 2 + (1 − width/deck)³, of a round hole as wide (R. B. Heywood, Designing by Photoelasticity (1952), from memory;
        3 in a wide deck, E. G. Kirsch 1898); for corners of generous radius (common practice).
        """
        if self.concentration is not None:
            return self.concentration
        return 2.0 + (1.0 - self.width / deck) ** 3


@dataclass(frozen=True, eq=False)
class BowStiffness:
    """Beam properties along a bow; arrays are (stations,); two stations share an x at each end of a hatch.

    x            : m
    cut          : whether the deck is open there
    EA           : N
    EI_vertical  : N·m², against bending in the vertical plane (EIy)
    EI_lateral   : N·m², against bending in the horizontal plane (EIz)
    GJ           : N·m², along a hatch as its `warping` says
    GJ_free      : N·m², of the section free to warp
    GA_vertical, GA_lateral : N
    centre       : m, height of the elastic centre
    shear_centre : m, height of the shear centre
    mass         : kg/m
    solved       : each station's section, solved
    sections     : the properties of each in full
    """

    x: Array
    deck_open: NDArray[np.bool_]
    EA: Array
    EI_vertical: Array
    EI_lateral: Array
    GJ: Array
    GJ_free: Array
    GA_vertical: Array
    GA_lateral: Array
    centre: Array
    shear_centre: Array
    mass: Array
    solved: tuple[Analysis, ...]
    sections: tuple[SectionProperties, ...]


def hull_section(
    station: HullStation, walls: HullWalls, *, hatch_width: float = 0.0, name: str | None = None
) -> Section:
    """Section of the hull at `station`: a closed cell, or open over `hatch_width` (m) of the deck where that
    is above zero.

    The outline runs anticlockwise from the keel up the port side. Raises InputFault where walls and strips
    differ in number, or the
    hatch is as wide as the deck.
    """
    label = name or f"hull at x = {station.x:g} m{', cut' if hatch_width else ''}"
    if len(walls.skins) != len(station.height) - 1 or len(walls.names) not in (0, len(walls.skins)):
        wrong = f"has {len(station.height) - 1} strips and {len(walls.skins)} walls, {len(walls.names)} names"
        raise InputFault(label, wrong, "give one wall for each strip between keel and gunwale")
    if not 0.0 <= hatch_width < 2.0 * station.half_breadth[-1]:
        wrong = f"has a hatch of {hatch_width:g} m in a deck of {2 * station.half_breadth[-1]:g} m"
        raise InputFault(label, wrong, "give a hatch narrower than the deck")
    side = np.column_stack([station.half_breadth, station.height])
    runs = [*_port_side(side, walls), _port_deck(station, walls, hatch_width)]
    runs += [_mirrored(run) for run in reversed(runs)]
    if station.half_breadth[0] > 0.0:
        keel = np.array([[-side[0, 0], side[0, 1]], side[0]])
        runs.append(WallRun(keel, walls.keel or walls.skins[0], "keel"))
    return joined(runs, label)


def bow_stiffness(
    stations: Sequence[HullStation], walls: HullWalls, hatches: Sequence[Hatch] = ()
) -> BowStiffness:
    """Beam properties at every station, and at both ends of every hatch once whole and once cut.

    Raises InputFault where stations do not advance along x or differ in their number of chines, or a hatch
    leaves them or meets another.
    """
    _check_stations(stations, hatches)
    ordered = _ordered_stations(stations, hatches)
    solved = tuple(
        analyse(hull_section(station, walls, hatch_width=hatch.width if hatch else 0.0))
        for station, hatch in ordered
    )
    section_data = tuple(properties(each) for each in solved)
    return BowStiffness(
        x=np.array([station.x for station, _ in ordered]),
        deck_open=np.array([hatch is not None for _, hatch in ordered]),
        EA=np.array([each.EA for each in section_data]),
        EI_vertical=np.array([each.EIy for each in section_data]),
        EI_lateral=np.array([each.EIz for each in section_data]),
        GJ=np.array(
            [_station_GJ(*each) for each in zip(solved, section_data, (h for _, h in ordered), strict=True)]
        ),
        GJ_free=np.array([each.GJ for each in section_data]),
        GA_vertical=np.array([each.GAz for each in section_data]),
        GA_lateral=np.array([each.GAy for each in section_data]),
        centre=np.array([each.centre[1] for each in section_data]),
        shear_centre=np.array([each.shear_centre[1] for each in section_data]),
        mass=np.array([each.mass for each in section_data]),
        solved=solved,
        sections=section_data,
    )


def average_GJ(x: ArrayLike, GJ: ArrayLike) -> float:
    """Return the one GJ that twists as much as `GJ` (linear between stations `x`, m) under the same torque:
    L / ∫dx/GJ.

    For comparison only: a structure with a cut length is to be modelled station by station. Two stations at
                         one x are a step.
    """
    place, stiffness = np.asarray(x, float), np.asarray(GJ, float)
    if len(place) < 2 or (np.diff(place) < 0.0).any() or place[0] == place[-1] or stiffness.min() <= 0.0:
        raise InputFault(
            "torque average", "needs stations that advance and GJ above zero", "order them along x"
        )
    a, b = stiffness[:-1], stiffness[1:]
    # ∫ ds / (a + (b − a) s) = ln(b/a)/(b − a); its series where a and b are close
    close = np.abs(b - a) < 1e-6 * a
    difference = np.where(close, 1.0, b - a)
    flexibility = np.where(close, 2.0 / (a + b), np.log(b / a) / difference)
    return float((place[-1] - place[0]) / (np.diff(place) @ flexibility))


def interpolate(stations: Sequence[HullStation], x: float) -> HullStation:
    """Return the station at `x`, linear between its neighbours."""
    places = [station.x for station in stations]

    def at(values: Sequence[float]) -> float:
        return float(np.interp(x, places, values))

    count = range(len(stations[0].height))
    return HullStation(
        x,
        tuple(at([station.half_breadth[i] for station in stations]) for i in count),
        tuple(at([station.height[i] for station in stations]) for i in count),
        at([station.crown for station in stations]),
    )


def _port_side(side: Array, walls: HullWalls) -> list[WallRun]:
    return [
        WallRun(
            np.linspace(lower, upper, SEGMENTS_PER_STRIP + 1),
            walls.skins[strip],
            f"{walls.name(strip)}, port",
        )
        for strip, (lower, upper) in enumerate(pairwise(side))
    ]


def _port_deck(station: HullStation, walls: HullWalls, hatch_width: float) -> WallRun:
    """Port half of the deck, a parabola, from the gunwale to the middle or the hatch's edge."""
    b = station.half_breadth[-1]
    y = np.linspace(b, hatch_width / 2, SEGMENTS_PER_STRIP + 1)
    points = np.column_stack([y, station.height[-1] + station.crown * (1 - (y / b) ** 2)])
    radius = b**2 / (2 * station.crown) if station.crown > 0.0 else np.inf
    return WallRun(points, walls.deck, "deck, port", radius)


def _mirrored(run: WallRun) -> WallRun:
    """The same run on the starboard side, in reverse, so that its walls' n still points into the hull."""
    points = run.points[::-1] * [-1.0, 1.0]
    return WallRun(points, run.wall, run.part.replace(", port", ", starboard"), run.radius)


def _ordered_stations(
    stations: Sequence[HullStation], hatches: Sequence[Hatch]
) -> list[tuple[HullStation, Hatch | None]]:
    """Stations in order along x, each with the hatch that cuts it; both ends of a hatch once whole and once cut."""
    places: list[tuple[HullStation, Hatch | None]] = [(station, None) for station in stations]
    for hatch in hatches:
        places = [(s, hatch if hatch.start < s.x < hatch.end else other) for s, other in places]
        for x in (hatch.start, hatch.end):
            if all(s.x != x for s, _ in places):
                places.append((interpolate(stations, x), None))
            places.append((interpolate(stations, x), hatch))
    return sorted(places, key=lambda place: (place[0].x, _edge_order(place[0], place[1], hatches)))


def _edge_order(station: HullStation, hatch: Hatch | None, hatches: Sequence[Hatch]) -> int:
    """Order of two stations at one x: at a hatch's start the whole one first, at its end the cut one."""
    ends = any(station.x == other.end for other in hatches)
    return int((hatch is not None) != ends)


def _station_GJ(solved: Analysis, beam: SectionProperties, hatch: Hatch | None) -> float:
    if hatch is None or hatch.warping == "free":
        return beam.GJ
    return warping(solved).restrained_torsion(hatch.length)


def _check_stations(stations: Sequence[HullStation], hatches: Sequence[Hatch]) -> None:
    if len(stations) < 2 or any(after.x <= before.x for before, after in pairwise(stations)):
        raise InputFault("stations", "do not advance along x", "list two or more, from the root forward")
    if len({len(station.height) for station in stations}) > 1:
        raise InputFault("stations", "differ in their number of chines", "give the same places at each")
    for hatch in hatches:
        if hatch.start < stations[0].x or hatch.end > stations[-1].x:
            wrong = f"reaches from {hatch.start:g} to {hatch.end:g} m, beyond the stations"
            raise InputFault(
                f"hatch at x = {hatch.start:g} m", wrong, "keep it between the first and the last"
            )
    ordered = sorted(hatches, key=lambda hatch: hatch.start)
    for before, after in pairwise(ordered):
        if after.start <= before.end:
            raise InputFault(
                f"hatch at x = {after.start:g} m", "meets the one before it", "leave deck between them"
            )
