"""Checks of the parts beside the joints: striker, martingale, forestay's tang, longeron, crossbeam.

What the boat file describes is checked; of the rest every part that the boat has gives an entry that is not checked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.boat.boat import Boat, Martingale, Stay, Striker
from models.boat.parts import LongeronEnds, Tang
from models.checks.beam_walls import wall_checks
from models.checks.bow_walls import bow_shell_checks
from models.checks.wall_rows import wall_rows
from models.strength.attachment import attachment_checks
from models.strength.lugs.stay_attachment import cheek_checks
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.members.column import bearing_check, column_checks
from models.strength.members.wire import wire_checks
from models.strength.springs import loads_in_axes
from models.tables.beams import BeamStiffness

FORWARD, TRANSVERSE = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
CROSSBEAM_ATTACHMENT_AXES = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
"""Axes of an attachment on the crossbeam, in boat axes: along it, off it, around it."""
LONGERON_ENDS = (
    ("root", "longeron's root", np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]])),
    (
        "crossbeam",
        "longeron at the crossbeam",
        np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]),
    ),
)
"""Key, part, and axes of an attachment in the longeron's: level, away from bulkhead or crossbeam, square to both."""
FRAME_BUCKLING = "beam and truss", "buckled as a whole"
"""Part and check of the frame as a whole."""


@dataclass(frozen=True, slots=True, eq=False)
class PartLoads:
    """What acts on the parts in every case (or combination of them).

    strut, tension : (cases,), N, of striker and martingale;   stay : (cases, 3), N, its pull in boat axes
    crossbeam, longeron : (cases, places, 6), N Vy Vz T My Mz, beam axes; of the longeron with its prod, None without one
    longeron_ends : (cases, 2, 6), on bulkhead and crossbeam from the longeron with its prod, its beam axes; None without one
    bows : (cases, 2, places, 2, 6), on both bows behind and ahead of `shell_places`, beam axes; None where they have no outline
    buckled : (cases,), one over the buckling load factor of the frame; 0 where nothing is in compression
    """

    striker_compression: FloatArray
    tension: FloatArray
    stay: FloatArray
    crossbeam: FloatArray
    longeron: FloatArray | None
    longeron_ends: FloatArray | None
    buckling_utilisation: FloatArray
    bows: FloatArray | None = None


def checks_of_each(
    loads: Sequence[PartLoads], check: Callable[[PartLoads, Sequence[int]], Iterable[Check]]
) -> list[tuple[Check, ...]]:
    """The checks under several loads on the parts of one boat, as with each of its joints: of all that are alike at once.

    check : makes them of all cases of some loads, with the numbers of these; each check looks at every case by itself
    """
    alike: dict[tuple[int, ...], list[int]] = {}
    for number, one in enumerate(loads):
        longeron = one.longeron
        alike.setdefault((one.crossbeam.shape[1], 0 if longeron is None else longeron.shape[1]), []).append(
            number
        )
    found: dict[int, tuple[Check, ...]] = {}
    for numbers in alike.values():
        some = [loads[number] for number in numbers]
        made = tuple(check(_joined(some), numbers))
        ends = np.cumsum([len(one.tension) for one in some]).tolist()
        for number, start, end in zip(numbers, [0, *ends], ends, strict=False):
            found[number] = tuple(one.in_cases(slice(start, end)) for one in made)
    return [found[number] for number in range(len(loads))]


def _joined(some: Sequence[PartLoads]) -> PartLoads:
    """All their cases as those of one."""
    columns: dict[str, Any] = {}
    for of in fields(PartLoads):
        each: list[Any] = [getattr(one, of.name) for one in some]
        columns[of.name] = None if each[0] is None else np.concatenate(each)
    return PartLoads(**columns)


def beam_part_checks(boat: Boat, loads: PartLoads, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of all parts that the boat has, beside its joints."""
    found = [*_stay_checks(boat.stay, loads.stay, factors)]
    if boat.striker is not None:
        found += _striker_checks(boat.striker, loads.striker_compression, factors)
    if boat.martingale is not None:
        found += _martingale_checks(boat.martingale, loads.tension, factors)
        found += _martingale_tang_checks(boat, boat.martingale, loads.tension, factors)
    if boat.longeron is not None and loads.longeron is not None and loads.longeron_ends is not None:
        length = boat.crossbeam.station + boat.longeron.prod
        found += beam_wall_checks("longeron", boat.longeron, loads.longeron, factors, length)
        found += _longeron_ends_checks(boat.longeron.ends or LongeronEnds(), loads.longeron_ends, factors)
    clear = boat.bows.spacing - 2 * boat.bows.inboard
    found += beam_wall_checks("crossbeam", boat.crossbeam, loads.crossbeam, factors, clear)
    if loads.bows is not None:
        found += bow_shell_checks(boat, loads.bows, factors)
    factor = factors.safety_factor("elastic_buckling")
    source = "linear buckling of the frame"
    return (*found, checked(*FRAME_BUCKLING, loads.buckling_utilisation, 1.0, "", factor, source))


def beam_wall_checks(
    part: str, beam: BeamStiffness, actions: FloatArray, factors: SafetyFactors, length: float
) -> tuple[Check, ...]:
    """The walls of a beam given by its section, at its worst place, under actions (cases, places, 6); else not checked.

    length : m, all of the beam, whose ends are kept round or square by what they are fixed to; tangs between them are not counted
             on. A closed tube in torsion is a cylinder of that length, far stiffer than the flat plate that it would be unrolled
    """
    cases, places = actions.shape[:2]
    if beam.thin_walled is None:
        why = "it is given by its stiffness; give its section to have it checked"
        return (not_checked(part, "its wall", cases, why),)
    try:
        found = wall_checks(
            beam.thin_walled,
            actions.reshape(-1, 6),
            length,
            factors.criterion,
            starts=places * np.arange(cases),
        )
    except InputFault as fault:
        return (not_checked(part, "its wall", cases, f"{fault.place} {fault.wrong}"),)
    return wall_rows(part, found, factors)


def _striker_checks(striker: Striker, compression: FloatArray, factors: SafetyFactors) -> list[Check]:
    part, cases = "striker", len(compression)
    if striker.tube is None:
        return [not_checked(part, "buckling and squash", cases, "its tube ([striker.tube]) is not described")]
    column = striker.tube.column(abs(striker.height) - striker.base)
    area, strength = striker.tube.bed_area, striker.tube.bed_strength
    if area is None:
        bed = not_checked(part, "bed under the foot", cases, "the bed's area (bed_area) is not given")
    else:
        bed = bearing_check(part, compression, area, strength, factors)
    return [*column_checks(part, column, compression, factors), bed]


def _martingale_checks(martingale: Martingale, tension: FloatArray, factors: SafetyFactors) -> list[Check]:
    if martingale.line is None:
        why = "its line ([martingale.line]) is not described"
        return [not_checked("martingale", "breaking load", len(tension), why)]
    found = [*wire_checks("martingale", martingale.line.wire, tension, factors)]
    if martingale.at_striker == "slips" and martingale.line.radius is None:
        why = "it runs over the striker at a radius that is not given"
        found.append(not_checked("martingale", "line over its bend", len(tension), why))
    return found


def _martingale_tang_checks(
    boat: Boat, martingale: Martingale, tension: FloatArray, factors: SafetyFactors
) -> list[Check]:
    """At either end on the beam, as for the port one: its pull goes to the striker's top, inboard and off the beam."""
    part, tang = "martingale's tangs", martingale.tang
    if tang is None:
        why = "the file does not describe them; give [martingale.tang]"
        return [not_checked(part, "pin, cheeks and their fixing", len(tension), why)]
    top = 0.0 if boat.striker is None else boat.striker.height
    rise = abs(top - martingale.height)
    line = np.array([0.0, -martingale.half_span, rise]) / math.hypot(martingale.half_span, rise)
    lean = math.atan2(martingale.half_span, rise) if tang.lean is None else tang.lean
    along = np.array([0.0, -math.sin(lean), math.cos(lean)])
    pull = np.maximum(tension, 0.0)[:, None] * line
    return _tang_checks(part, tang, (FORWARD, along), pull, factors)


def _stay_checks(stay: Stay, pull: FloatArray, factors: SafetyFactors) -> list[Check]:
    part, tang = "forestay's tang", stay.tang
    if tang is None:
        why = "the file does not describe it; give [stay.tang]"
        return [not_checked(part, "pin, cheeks and their fixing", len(pull), why)]
    along = np.array([-math.sin(tang.lean), 0.0, math.cos(tang.lean)])
    return _tang_checks(part, tang, (TRANSVERSE, along), pull, factors)


def _tang_checks(
    part: str, tang: Tang, axes: tuple[FloatArray, FloatArray], pull: FloatArray, factors: SafetyFactors
) -> list[Check]:
    """Pin, cheeks and fixing under a pull (cases, 3), N, boat axes; `axes`: the pin's, and the cheeks' off the beam."""
    pin, along = axes
    in_lug = pull @ np.array([pin, along, np.cross(pin, along)]).T
    found = [*cheek_checks(part, tang.cheeks, in_lug, factors)]
    if not tang.attachments:
        why = f"the file does not describe it; give {tang.table}"
        return [*found, not_checked(part, "its fixing to the beam", len(pull), why)]
    loads = np.concatenate([pull @ CROSSBEAM_ATTACHMENT_AXES.T, np.zeros_like(pull)], axis=1)
    return [
        *found,
        *attachment_checks(
            part, tang.attachments, loads, factors, tang.length * CROSSBEAM_ATTACHMENT_AXES @ along
        ),
    ]


def _longeron_ends_checks(ends: LongeronEnds, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
    """Bulkhead and crossbeam, each with its own axes of an attachment: level, away from what it is fixed to, up or down."""
    found: list[Check] = []
    for number, (key, part, axes) in enumerate(LONGERON_ENDS):
        fixed = ends.attachments(key)
        if fixed:
            found += attachment_checks(part, fixed, loads_in_axes(loads[:, number], axes), factors)
        else:
            why = f"the file does not describe it; give [longeron.ends.{key}]"
            found.append(not_checked(part, "its fixing", len(loads), why))
    return found
