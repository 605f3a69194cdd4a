"""Checks of the parts beside the joints: striker, martingale, forestay's tang, longeron, crossbeam.

What the boat file describes is checked; of the rest every part that the boat has gives an entry that is not checked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.errors import InputFault
from femcore.frame import FloatArray
from models.beam_tables import BeamStiffness
from models.boat_file import Boat, Martingale, Stay, Striker
from models.crossbeam_wall import wall_checks
from models.margins import Check, Factors, checked, not_checked
from models.parts.column import column_checks, foot_check
from models.parts.fitting import cheek_checks
from models.parts.line import line_checks


@dataclass(frozen=True, slots=True, eq=False)
class PartLoads:
    """What acts on the parts in every case (or combination of them).

    strut, tension : (cases,), N, of striker and martingale;   stay : (cases, 3), N, its pull in boat axes
    crossbeam, longeron : (cases, places, 6), N Vy Vz T My Mz, beam axes; of the longeron with its prod, None without one
    buckled : (cases,), one over what the whole load may be multiplied by until the frame buckles; 0 where nothing is squeezed
    """

    strut: FloatArray
    tension: FloatArray
    stay: FloatArray
    crossbeam: FloatArray
    longeron: FloatArray | None
    buckled: FloatArray


def beam_part_checks(
    boat: Boat, loads: PartLoads, factors: Factors, *, walls: bool = True
) -> tuple[Check, ...]:
    """All checks of all parts that the boat has, beside its joints; those of beams' walls may be left out."""
    cases = len(loads.strut)
    found = [*_stay(boat.stay, loads.stay, factors)]
    if boat.striker is not None:
        found += _striker(boat.striker, loads.strut, factors)
    if boat.martingale is not None:
        found += _martingale(boat.martingale, loads.tension, factors)
    if boat.longeron is not None and loads.longeron is not None:
        found += beam_wall_checks("longeron", boat.longeron, loads.longeron, factors) if walls else ()
        found.append(not_checked("longeron", "its ends", cases, "the file does not describe them"))
    found += beam_wall_checks("crossbeam", boat.crossbeam, loads.crossbeam, factors) if walls else ()
    factor = factors.named("elastic_buckling")
    source = "linear buckling of the frame"
    return (
        *found,
        checked("beam and truss", "buckled as a whole", loads.buckled, 1.0, "", factor, source),
    )


def beam_wall_checks(
    part: str, beam: BeamStiffness, actions: FloatArray, factors: Factors
) -> tuple[Check, ...]:
    """The walls of a beam given by its section, at its worst place, under actions (cases, places, 6); else not checked."""
    cases, places = actions.shape[:2]
    if beam.walled is None:
        why = "it is given by its stiffness; give its section to have it checked"
        return (not_checked(part, "its wall", cases, why),)
    try:
        found = wall_checks(beam.walled, actions.reshape(-1, 6))
    except InputFault as fault:
        return (not_checked(part, "its wall", cases, f"{fault.place} {fault.wrong}"),)
    rows = (
        ("first yield", found.proof_factor, "yielding", "thin-walled section, von Mises"),
        ("first ply", found.ply_factor, "laminate", f"thin-walled section, {found.criterion}"),
        ("wall buckled", found.buckling_factor, "elastic_buckling", "plates and cylinders, R_c + R_s² = 1"),
    )
    # a wall all of metal has no plies, one of laminate no proof stress
    return tuple(
        checked(
            part, name, (1 / factor).reshape(cases, places).max(axis=1), 1.0, "", factors.named(kind), source
        )
        for name, factor, kind, source in rows
        if np.isfinite(factor).any() or name == "wall buckled"
    )


def _striker(striker: Striker, push: FloatArray, factors: Factors) -> list[Check]:
    part, cases = "striker", len(push)
    if striker.tube is None:
        return [not_checked(part, "buckling and squash", cases, "its tube ([striker.tube]) is not described")]
    column = striker.tube.column(abs(striker.height) - striker.base)
    area, strength = striker.tube.bed_area, striker.tube.bed_strength
    if area is None:
        bed = not_checked(part, "bed under the foot", cases, "the bed's area (bed_area) is not given")
    else:
        bed = foot_check(part, push, area, strength, factors)
    return [*column_checks(part, column, push, factors), bed]


def _martingale(martingale: Martingale, tension: FloatArray, factors: Factors) -> list[Check]:
    if martingale.line is None:
        why = "its line ([martingale.line]) is not described"
        return [not_checked("martingale", "breaking load", len(tension), why)]
    found = [*line_checks("martingale", martingale.line.run, tension, factors)]
    if martingale.at_striker == "slips" and martingale.line.radius is None:
        why = "it runs over the striker at a radius that is not given"
        found.append(not_checked("martingale", "line over its bend", len(tension), why))
    found.append(
        not_checked("martingale's tangs", "on the beam", len(tension), "the file does not describe them")
    )
    return found


def _stay(stay: Stay, pull: FloatArray, factors: Factors) -> list[Check]:
    if stay.tang is None:
        why = "the tang ([stay.tang]) is not described"
        return [not_checked("forestay's tang", "pin and cheeks", len(pull), why)]
    lean = stay.tang.lean
    athwart, up = np.array([0.0, 1.0, 0.0]), np.array([-math.sin(lean), 0.0, math.cos(lean)])
    in_lug = np.stack([pull @ athwart, pull @ up, pull @ np.cross(athwart, up)], axis=1)
    root = not_checked(
        "forestay's tang", "its fixing to the beam", len(pull), "the file does not describe it"
    )
    return [*cheek_checks("forestay's tang", stay.tang.cheeks, in_lug, factors), root]
