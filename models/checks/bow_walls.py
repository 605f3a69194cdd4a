"""Checks of the bows' shell where the file gives their outline: at the bulkhead, at the crossbeam, along hatches and between.

The shell at a place is a thin-walled section under the bow beam's own actions there. It is taken at every station, at both ends
and the middle of a hatch, at the crossbeam, and between these where they are far apart. Its panels reach from chine to chine and
from frame to frame. What a joint's forces do to the skin before they have spread over the section is not in it, nor is water
pressure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.arrays import FloatArray, IntArray
from femcore.base.errors import InputFault
from femcore.sections import Analysis, WallFlows, analyse, recover, recover_held
from models.boat.hull_section import Hatch, hull_section, interpolate
from models.checks.beam_walls import POINTS_PER_SEGMENT, wall_checks
from models.checks.wall_rows import wall_rows
from models.strength.margins import Check, SafetyFactors, checked, not_checked

if TYPE_CHECKING:
    from femcore.materials import Isotropic
    from models.boat.boat import Boat
    from models.boat.bows import BowSections

REL_TOL_NO_STEP = 1e-9
"""Of the largest action at a place: with less between its two sides these count as one."""
FARTHEST_APART = 0.25
"""Of the bow's length, between places where the shell is checked."""
BULKHEAD, CROSSBEAM, HATCH, BETWEEN = (
    f"bow shell {where}" for where in ("at the bulkhead", "at the crossbeam", "along a hatch", "elsewhere")
)
CORNERS = "deck at the hatch's corners"


@dataclass(frozen=True, eq=False)
class ShellSection:
    """A bow's section whose six actions act on the bow's axis.

    line : (2,), y and z of the axis, m;   hatch : that cuts the deck there;   place : m, from the hatch's after end
    """

    solved: Analysis
    line: FloatArray
    materials: tuple[Isotropic | None, ...]
    hatch: Hatch | None
    place: float

    def flows(self, actions: FloatArray) -> WallFlows:
        """In its walls, at the ends of each segment; along a hatch that is held against warping, torque is borne by warping."""
        if self.hatch is None or self.hatch.warping == "free":
            found = recover(self.solved, actions, about=self.line, stations=POINTS_PER_SEGMENT)
        else:
            found = recover_held(
                self.solved,
                actions,
                about=self.line,
                length=self.hatch.length,
                place=self.place,
                stations=POINTS_PER_SEGMENT,
            )
        # a strip has so many segments that their middles add nothing but time
        ends = [0, -1]
        columns = {
            key: getattr(found, key)[:, :, ends] for key in ("n_x", "q", "m_x", "m_xs", "v_n", "strains")
        }
        return WallFlows(at=found.at[ends], place=found.place[:, ends], **columns)


@dataclass(frozen=True, eq=False)
class ShellPlace:
    """Where the shell is checked.

    x : m, along the bow;   part : what the checks there are called;   section : whole or cut
    corner : the stress concentration of a hatch that ends there, of a section that it cuts; else None
    """

    x: float
    part: str
    section: ShellSection
    corner: float | None


def shell_places(boat: Boat) -> tuple[ShellPlace, ...]:
    """Along a bow, from the bulkhead forward; none where the bows are given by their stiffness."""
    sections = boat.bows.sections
    return () if sections is None else _places(sections, boat.crossbeam.station)


@lru_cache(maxsize=8)
def _places(sections: BowSections, crossbeam: float) -> tuple[ShellPlace, ...]:
    found = sections.stiffness
    known = [
        (float(x), bool(cut), solved)
        for x, cut, solved in zip(found.x, found.deck_open, found.solved, strict=True)
    ]
    length = float(found.x[-1])
    wanted = {crossbeam, *(hatch.start + hatch.length / 2 for hatch in sections.hatches)}
    stops = sorted({x for x, _, _ in known} | wanted)
    for after, ahead in pairwise(stops):
        count = int(np.ceil((ahead - after) / (FARTHEST_APART * length)))
        wanted |= set(np.linspace(after, ahead, count + 1)[1:-1].tolist())
    for x in wanted - {x for x, _, _ in known}:
        hatch = _hatch_at(sections.hatches, x)
        outline = interpolate(sections.outlines, x)
        width = hatch.width if hatch else 0.0
        known.append(
            (x, hatch is not None, analyse(hull_section(outline, sections.walls, hatch_width=width)))
        )
    places = []
    for x, cut, solved in sorted(known, key=lambda each: each[0]):
        hatch = _hatch_at(sections.hatches, x)
        corner = None
        if hatch is not None and cut and x in (hatch.start, hatch.end):
            corner = hatch.corner_concentration(2 * interpolate(sections.outlines, x).half_breadth[-1])
        section = ShellSection(
            solved=solved,
            line=np.array([0.0, sections.axis]),
            materials=tuple(
                sections.materials[wall.name] if wall.laminate is None else None
                for wall in solved.section.walls
            ),
            hatch=hatch if cut else None,
            place=x - hatch.start if hatch else 0.0,
        )
        part = BULKHEAD if x == 0 else CROSSBEAM if x == crossbeam else HATCH if hatch else BETWEEN
        places.append(ShellPlace(x, part, section, corner))
    return tuple(places)


def bow_shell_checks(boat: Boat, actions: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """Of both bows, at the worse of them, under actions (cases, 2, places, 2, 6), N Vy Vz T My Mz of the bow's beam.

    Sides are port and starboard; behind and ahead of each of `shell_places`, beam axes
    """
    cases = len(actions)
    length = boat.bows.frame_spacing or boat.crossbeam.station
    found: list[Check] = []
    for number, place in enumerate(shell_places(boat)):
        table, starts = _rows(actions[:, :, number])
        try:
            edge = place.section.hatch.length if place.section.hatch else np.inf
            walls = wall_checks(
                place.section, table, length, factors.criterion, edge_length=edge, starts=starts
            )
            rows = list(wall_rows(place.part, walls, factors))
            if place.corner is not None:
                deck = wall_checks(
                    place.section, table, length, factors.criterion, at_edges=True, starts=starts
                )
                rows += [
                    replace(check, part=CORNERS, load=check.load * place.corner)
                    for check in wall_rows(CORNERS, deck, factors)
                    if check.check in ("first yield", "first ply")
                ]
        except InputFault as fault:
            rows = [not_checked(place.part, "its wall", cases, f"{fault.place} {fault.wrong}")]
        found += rows
    return _worst_of_each(found)


def _rows(both: FloatArray) -> tuple[FloatArray, IntArray]:
    """Of actions (cases, 2, 2, 6) on both bows, behind and ahead of a place: those that can govern, (rows, 6), case by case, and
    (cases,) which is the first of each. Those ahead are among them where they are others than behind.
    """
    step = np.abs(both[:, :, 0] - both[:, :, 1]).max(axis=-1)
    other = step > REL_TOL_NO_STEP * np.abs(both).max(initial=0.0)
    kept = np.stack([np.ones_like(other), other], axis=2)
    count = kept.sum(axis=(1, 2))
    return both[kept], np.cumsum(count) - count


def _hatch_at(hatches: Sequence[Hatch], x: float) -> Hatch | None:
    return next((hatch for hatch in hatches if hatch.start <= x <= hatch.end), None)


def _worst_of_each(checks: Sequence[Check]) -> tuple[Check, ...]:
    """One check of each part and name: utilisations of several places become that of the worst in each case."""
    found: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        found.setdefault((check.part, check.check), []).append(check)
    return tuple(_worst(every) for every in found.values())


def _worst(every: Sequence[Check]) -> Check:
    last = every[-1]
    if len(every) == 1 or last.kind != "checked":
        return last
    known = [check.load for check in every if check.kind == "checked"]
    return checked(last.part, last.check, np.max(known, axis=0), 1.0, last.unit, last.factor, last.source)
