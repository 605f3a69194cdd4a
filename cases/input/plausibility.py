"""What in a boat file is hard to believe, though it reads correctly: most often a slip of units, or a number of another part.

Each finding is a sentence that names the part, its number, what it was compared with, and the cure. None stops a run.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from cases.input.boat_defaults import contradictions
from cases.input.boat_file import BoatFile
from cases.input.estimates import SEA_WATER
from cases.loads import LoadCase
from cases.loads.base import SeaLoad
from cases.loads.rig import Rig
from cases.loads.tack import Tack
from femcore.base.numbers import engineering
from models.boat.bows import Bows, Station
from models.tables.beams import BeamStiffness

MAX_STIFFNESS_RATIO = 30.0
"""Between neighbouring stations, and against the closed form of a closed section: beyond it a slip of units is likely."""
SHEAR_TO_YOUNGS_MODULUS = 0.35
"""G/E of metals 0.38, of laminates for hulls and tubes 0.1 to 0.6 (common practice): far closer than `MAX_STIFFNESS_RATIO`."""
MAX_RAKE = math.radians(30.0)
"""Of a stay or a luff from upright: rigs are raked less (common practice)."""
MIN_SLENDERNESS, MAX_SLENDERNESS = 15.0, 300.0
"""Length over radius of gyration: 15 is a tube of five diameters, below which beam theory is coarse; 300 one of a hundred."""
RACKING_LOADS: frozenset[SeaLoad] = frozenset({"racking", "pitch connecting", "torsion"})
"""What a sea does to two hulls by opposite forces at their stems."""
SLENDERNESS_RANGE = (4.0, 13.0)
"""Length over the cube root of the displaced volume: catamarans have 4.5, heavy cruisers, to 12, racers (common practice)."""
BEAM_RANGE = (0.3, 0.8)
"""Of a catamaran over her length: 0.4 to 0.7 (common practice)."""
RIG_RANGE = (0.6, 2.5)
"""Of the forestay's upper end above the water, over the length: 0.9 to 2 (common practice)."""
REL_TOL_SAME_RACKING = 1e-6
"""Of a racking load: another that is greater by less is the same."""
MIN_ROOT_SHARE = 0.5
"""Of the stem's movement under a vertical force: from here on the root is as soft as the bow."""


def plausibility_warnings(file: BoatFile) -> tuple[str, ...]:
    """A sentence for everything that is hard to believe; empty where there is nothing. Computed sections are believed."""
    return tuple(
        sentence
        for found in (
            _estimated(file),
            _particulars(file),
            _one_sea_twice(file),
            _bows(file.bows),
            _root(file),
            _beams(file),
            _rakes(file),
            contradictions(file.boat, file.cases),
            _service(file),
        )
        for sentence in found
    )


def _estimated(file: BoatFile) -> Iterator[str]:
    """What the file marks as estimated: no slip, but nothing rests on it that the owner entered."""
    if sentence := file.estimates.words():
        yield sentence


def _particulars(file: BoatFile) -> Iterator[str]:
    """What the [boat] table has, against its length: a slip of units in one of them is in every case that takes it."""
    if (boat := file.boat) is None:
        return
    slender = "length over the cube root of the displaced volume"
    slenderness = boat.length / (boat.displacement / SEA_WATER) ** (1 / 3)
    ratios = (
        ("displacement", "kg", slender, slenderness, SLENDERNESS_RANGE),
        ("beam", "m", "beam over length", boat.beam / boat.length, BEAM_RANGE),
        ("rig_height", "m", "rig height over length", boat.rig_height / boat.length, RIG_RANGE),
    )
    for key, unit, of, ratio, (least, most) in ratios:
        if not least <= ratio <= most:
            yield (
                f"boat: {key} is {engineering(getattr(boat, key), unit)} of a boat of {boat.length:g} m: {of} is {ratio:.3g}, "
                f"of catamarans {least:g} to {most:g}: check the units."
            )


def _one_sea_twice(file: BoatFile) -> Iterator[str]:
    """Combinations of the file's own that add cases which are each all of the quartering sea: racking, waves, a rule's moment."""
    if not file.combinations:
        return
    kinds = {
        case.name: {kind for one in case.expand(file) for kind in one.sea_loads()}
        for case in file.active_cases
    } | {case.name: set(case.sea_loads()) for case in file.load_cases}
    for combination in file.combinations:
        names = [
            f"‘{name}’"
            for name, factor in combination.factors.items()
            if factor and kinds[name] & RACKING_LOADS
        ]
        if len(names) > 1:
            yield (
                f"combination ‘{combination.name}’: {' and '.join(names)} are each the load of a quartering sea on both hulls: "
                "added, one load is counted twice. Keep one of them, and make another combination with the other."
            )


def _service(file: BoatFile) -> Iterator[str]:
    """The case that the sea reaches once in the distance against all others that rack the bows, by what they put on the stems."""
    if file.service is None:
        return
    cases = file.load_cases
    name = file.service.racking_case(cases, file.active_cases)
    own = next((case for case in cases if case.name == name), None)
    if own is None or (compared := _comparable(own)) is None:
        return
    known = [one for one in cases if _comparable(one) == compared]
    unit = "m" if compared == "movement" else "N"
    worst = max(known, key=_racking_size)
    if _racking_size(worst) > _racking_size(own) * (1 + REL_TOL_SAME_RACKING):
        yield (
            f"service: the case ‘{own.name}’, ±{engineering(_racking_size(own), unit)} at the stems, is smaller than the racking "
            f"case ‘{worst.name}’, ±{engineering(_racking_size(worst), unit)}: fatigue lives rest on the smaller one. Name the "
            "greatest that the sea reaches once in the distance as service.case."
        )


def _comparable(case: LoadCase) -> str | None:
    """What two racking cases are compared by: "movement" or "force" of the stems; None of one that is no racking there alone."""
    if not (case.is_plain and case.sea_loads() & RACKING_LOADS):
        return None
    if (target := case.target()) is not None:
        return "movement" if target.reading == "heave of the stems" else None
    at_stems = all(load.place.endswith("stem") for load in case.all_place_loads())
    return "force" if at_stems and not case.all_member_loads() else None


def _racking_size(case: LoadCase) -> float:
    """N: half the difference of the vertical forces at the stems; or m, half their movement apart."""
    if (moved := case.target()) is not None:
        return abs(moved.size) / 2
    at_stems = [
        load.force[2] if load.place.startswith("port") else -load.force[2] for load in case.all_place_loads()
    ]
    return abs(sum(at_stems)) / 2


def _bows(bows: Bows) -> Iterator[str]:
    """Entered stations against their neighbours, and against a closed section of the same EA, breadth and EI."""
    if bows.sections is not None:
        return
    for before, after in pairwise(bows.stations):
        for key in ("EI_vertical", "EI_lateral", "GJ"):
            one, other = getattr(before, key), getattr(after, key)
            if (ratio := _ratio(one, other)) > MAX_STIFFNESS_RATIO:
                cure = "check the unit; a hatch alone explains a low GJ" if key == "GJ" else "check the unit"
                yield (
                    f"bows: {key} is {_si(one)} at {before.at:g} m and {_si(other)} at {after.at:g} m, a factor of "
                    f"{ratio:.0f}: {cure}."
                )
    for station in bows.stations:
        place = f"bows at {station.at:g} m"
        yield from _torsion(place, station)
        if bows.inboard:
            yield from _breadth(place, station, bows.inboard)


def _breadth(place: str, station: Station, half_breadth: float) -> Iterator[str]:
    """EI_lateral against EA b²/2, b the half-breadth: a box lies between b²/3 (all deck and bottom) and b² (all sides)."""
    expected = station.EA * half_breadth**2 / 2
    if (ratio := _ratio(station.EI_lateral, expected)) > MAX_STIFFNESS_RATIO:
        yield (
            f"{place}: EI_lateral is {_si(station.EI_lateral)}; a hull of that EA and of half-breadth {half_breadth:g} m has "
            f"about {_si(expected)}, a factor of {ratio:.0f}: check the units."
        )


def _torsion(place: str, beam: BeamStiffness) -> Iterator[str]:
    """GJ against G/E (EI_vertical + EI_lateral), exact for a thin round tube of one material."""
    expected = SHEAR_TO_YOUNGS_MODULUS * (beam.EI_vertical + beam.EI_lateral)
    if (ratio := _ratio(beam.GJ, expected)) > MAX_STIFFNESS_RATIO:
        cure = (
            "check the units; an open section alone explains a low GJ"
            if expected > beam.GJ
            else "check the units"
        )
        yield (
            f"{place}: GJ is {_si(beam.GJ)}; a closed section of that EI has about {_si(expected)}, a factor of "
            f"{ratio:.0f}: {cure}."
        )


def _root(file: BoatFile) -> Iterator[str]:
    """The root's part of the stem's movement under a vertical force there: L²/k_pitch + 1/k_heave beside ∫ (L − x)²/EI dx."""
    bows, root = file.bows, file.root
    of_root = (bows.length**2 / root.pitch if root.pitch else 0.0) + (1.0 / root.heave if root.heave else 0.0)
    if not of_root:
        return
    x = np.linspace(0.0, bows.length, 1 + 64)
    stiffness = np.interp(x, [s.at for s in bows.stations], [s.EI_vertical for s in bows.stations])
    of_bow = float(np.trapezoid((bows.length - x) ** 2 / stiffness, x))
    if (share := of_root / (of_root + of_bow)) >= MIN_ROOT_SHARE:
        yield (
            f"root: its springs give {100 * share:.0f} % of the stem's movement under a vertical force, the bow's bending "
            "the rest: racking and attraction rest on these springs; measure them, or describe the platform."
        )


def _beams(file: BoatFile) -> Iterator[str]:
    """Slenderness of crossbeam and longeron; GJ of those whose stiffness is entered."""
    clear = file.bows.spacing - 2 * file.bows.inboard
    spans: list[tuple[str, BeamStiffness, float]] = [("crossbeam", file.crossbeam, clear)]
    if file.longeron is not None:
        spans.append(("longeron", file.longeron, file.crossbeam.station))
    for name, beam, length in spans:
        radius = math.sqrt(min(beam.EI_vertical, beam.EI_lateral) / beam.EA)
        slenderness = length / radius
        measured = (
            f"{name}: its length of {length:.3g} m is {slenderness:.3g} times its radius of gyration √(EI/EA) = "
            f"{engineering(radius, 'm')}"
        )
        if slenderness > MAX_SLENDERNESS:
            yield f"{measured}: more slender than any beam that carries a stay; check the units of EI and EA."
        elif slenderness < MIN_SLENDERNESS:
            yield f"{measured}: so short a beam bends in shear and at its ends, which beam theory holds only in part."
        if beam.thin_walled is None:
            yield from _torsion(name, beam)


def _rakes(file: BoatFile) -> Iterator[str]:
    """Rakes of stays and luffs that are far from upright."""
    for case in file.active_cases:
        if isinstance(case, Rig | Tack) and abs(case.rake) > MAX_RAKE:
            yield (
                f"case ‘{case.name}’: the rake is {math.degrees(case.rake):.3g}° from upright, beyond "
                f"{math.degrees(MAX_RAKE):.0f}°: rake is measured from upright, not from the deck."
            )


def _ratio(one: float, other: float) -> float:
    return max(one / other, other / one)


def _si(stiffness: float) -> str:
    return engineering(stiffness, "N·m²")
