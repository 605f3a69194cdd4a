"""Estimates of what an owner does not know, all in one place: value, scatter, and where the rule comes from.

Proportions are those of cruising catamarans of 8 to 20 m, judged from the example boats of this project and from common practice;
none was read in a published table. Scatter is a coefficient of variation to start from, not a bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cases.input.known_boat import BoatTable, KnownBoat, OwnersBoat
from cases.loads.tension import FACTORS
from femcore.base.units import STANDARD_GRAVITY
from femcore.materials import lines

SEA_WATER = 1025.0
"""kg/m³."""
WIRE = "wire_1x19"
ROD = "rod_xm19"
WIRES = tuple(size / 1000 for size in (4, 5, 6, 7, 8, 10, 12, 14, 16, 19, 22, 26))
"""m, stock diameters of 1x19 strand (rigging makers' lists, from memory)."""
RODS = tuple(size / 1000 for size in (6, 8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40))
"""m, diameters of bar."""
WIRE_FACTOR = 2.75
"""Breaking load of a forestay over its load in service: as the default of `cases.loads.tension.TensionEstimate`."""
SAILED_SHARE = 0.6
"""Of the righting moment of flying a hull, to which cruising rigs are drawn: as in `cases.loads.tension`."""
ROD_RESERVE = 1.25
"""Breaking load of the martingale over its pull at the stay's breaking load: 1.0 to 1.25, common practice."""
DRIVE_SHARE = 0.35
"""Of the sails' side force close-hauled: drag angles of rig and hulls of some 20° (common practice)."""
RAKE = math.radians(14.0)
"""rad, of the forestay from upright."""
STEEPNESS = 0.067
"""Of the wave that racks the boat, 1/15: steeper than the 1/20 that is met often, half as steep as one that breaks. The wave is
balanced on this boat's own hulls; rules for fast powered craft give about 1.6 times its moment, and are set beside it."""
TUBE = {True: 15e-3, False: 17.5e-3}
"""Diameter of the crossbeam's tube over the boat's length, with a longeron and without: where no longeron takes the aft
pull of the stay, all of it bends the beam fore and aft (the example boats, common practice)."""
WALL_RATIO = {
    ("aluminium", True): 30.0,
    ("aluminium", False): 27.0,
    ("carbon", True): 19.0,
    ("carbon", False): 19.0,
}
"""Diameter of that tube over its wall, by material and longeron: of alloy, so that the stay's breaking load brings it about to
first yield (worked for boats of 8, 13.4 and 20 m); of carbon as the example boats."""


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a boat.

    value : in SI;   scatter : of an estimate, as text; empty where the owner gave it;   rule : how it was estimated
    """

    value: float
    scatter: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Estimates:
    """A boat complete with what its owner did not know; lengths in m, forces in N."""

    hull_breadth: Value
    hull_depth: Value
    stem_breadth: Value
    stem_depth: Value
    spacing: Value
    bow_length: Value
    beam_station: Value
    bridge_deck: Value
    skin: Value
    core: Value
    tube_diameter: Value
    tube_wall: Value
    stay_wire: Value
    tension: Value
    rod: Value
    striker_height: Value
    outfit: Value

    @property
    def beam_place(self) -> float:
        """Where the crossbeam is: 0 at the bulkhead, 1 at the stem."""
        return self.beam_station.value / self.bow_length.value

    def half_breadth(self, place: float) -> float:
        """m, of a hull between bulkhead (0) and stem (1): a parabola, full abaft (the example boats are within 15 % of it)."""
        return (self.hull_breadth.value + (self.stem_breadth.value - self.hull_breadth.value) * place**2) / 2

    @property
    def half_breadth_at_beam(self) -> float:
        """m, of a hull at the crossbeam."""
        return self.half_breadth(self.beam_place)

    @property
    def half_span(self) -> float:
        """m, centreline to the martingale's tang: 0.91 of the beam's half clear span."""
        return 0.91 * (self.spacing.value / 2 - self.half_breadth_at_beam)


SKINS = {
    "glass sandwich": (0.14e-3, "0.14 mm of each skin per metre of length"),
    "carbon sandwich": (0.085e-3, "0.085 mm of each skin per metre of length"),
    "solid glass": (0.9e-3, "0.9 mm per metre of length"),
    "plywood": (0.9e-3, "0.9 mm per metre of length"),
    "aluminium": (0.38e-3, "0.38 mm per metre of length"),
}
"""By construction: thickness over length, and that in words (common practice; the example boats have 0.16, 0.09 and 1.3; of alloy
plate 4 mm at 10 m, 6 mm at 16 m)."""


def estimates(known: OwnersBoat) -> Estimates:
    """Every value that a short boat file needs: the owner's own, or an estimate from the four that are known."""
    length, weight = known.length, known.displacement * STANDARD_GRAVITY
    # a hull's deck is about as broad as its waterline
    breadth = _or(known.hull_breadth_at_bulkhead, _breadth(known), "± 25 %", BREADTH_RULE)
    depth = _or(known.hull_depth_at_bulkhead, 0.115 * length, "± 15 %", "0.115 L")
    stem_breadth = _or(known.hull_breadth_at_stem, 0.42 * breadth.value, "± 30 %", "0.42 of the bulkhead's")
    stem_depth = _or(known.hull_depth_at_stem, 0.78 * depth.value, "± 15 %", "0.78 of the bulkhead's")
    spacing = Value(known.beam - breadth.value, breadth.scatter and "± 5 %", "beam less a hull's breadth")
    bow_estimate = 0.33 * length if known.beam_station is None else known.beam_station / 0.84
    bow = _or(known.bow_length, bow_estimate, "± 15 %", "0.33 L")
    station = _or(known.beam_station, 0.84 * bow.value, "± 8 %", "0.84 of the bow's length")
    deck = _or(known.bridge_deck, 0.36 * length, "± 20 %", "0.36 L")
    per_length, rule = SKINS[known.construction]
    plate = known.construction == "aluminium"
    skin = _or(
        known.skin_thickness,
        _round(per_length * length, 0.5e-3) if plate else per_length * length,
        "± 35 %",
        rule,
    )
    core = _or(known.core_thickness, 1.5e-3 * length, "± 25 %", "1.5 mm per metre of length")
    held = known.longeron_diameter is not None
    rule = f"{1000 * TUBE[held]:g} mm per metre of length, {'with' if held else 'without'} a longeron"
    diameter = _or(known.tube_diameter, _round(TUBE[held] * length, 0.01), "± 15 %", rule)
    ratio = WALL_RATIO[known.tube_material, held]
    wall = _or(
        known.tube_wall, _round(diameter.value / ratio, 0.5e-3), "± 25 %", f"1/{ratio:.0f} of the diameter"
    )
    wire = lines()[WIRE]
    moment = SAILED_SHARE * weight * spacing.value / 2
    needed = FACTORS["fractional"] * moment / known.rig_height
    stay = _or(
        known.stay_wire, next((d for d in WIRES if wire.breaking_load(d) >= needed), WIRES[-1]), "± 20 %",
        "the next size to 12 × 0.6 × Δ g s/2 / rig height, breaking load",
    )  # fmt: skip
    breaking = wire.breaking_load(stay.value)
    tension = (
        Value(breaking / WIRE_FACTOR, "± 25 %", "breaking load of the stay / 2.75")
        if known.stay_wire
        else Value(needed / WIRE_FACTOR, "± 40 %", "12 × 0.6 × Δ g s/2 / rig height / 2.75")
    )
    place = station.value / bow.value
    half_clear = (spacing.value - breadth.value - (stem_breadth.value - breadth.value) * place**2) / 2
    height = Value(0.25 * half_clear, "± 20 %", "an eighth of the beam's clear span")
    angle = math.atan(height.value / (0.91 * half_clear))
    pull = ROD_RESERVE * breaking * math.cos(RAKE) / (2 * math.sin(angle))
    rod_line = lines()[ROD]
    rod = Value(
        next((d for d in RODS if rod_line.breaking_load(d) >= pull), RODS[-1]), "± 15 %",
        "outlives the stay by a quarter",
    )  # fmt: skip
    outfit = Value(0.03 * known.displacement / length, "× 2", "0.03 of the displacement over the length")
    return Estimates(
        breadth, depth, stem_breadth, stem_depth, spacing, bow, station, deck, skin, core, diameter, wall, stay, tension,
        rod, height, outfit,
    )  # fmt: skip


def particulars(boat: BoatTable) -> dict[str, Value]:
    """Of a boat, by the key of its [boat] table, what cases take where they do not state it: entered, or estimated."""
    length, height = (
        boat.length,
        _or(boat.effort_height, 0.45 * boat.rig_height, "± 15 %", "0.45 of the rig's height"),
    )
    moment = SAILED_SHARE * boat.displacement * STANDARD_GRAVITY * (boat.beam - _breadth(boat)) / 2
    return {
        "displacement": Value(boat.displacement),
        "rig_height": Value(boat.rig_height),
        "waterline": _or(boat.waterline, 0.955 * length, "± 4 %", "0.955 L"),
        "waterline_breadth": _or(boat.waterline_breadth, _breadth(boat), "± 15 %", BREADTH_RULE),
        "windage": _or(boat.windage, 0.18 * length * boat.beam, "± 30 %", "0.18 L × beam: hulls, bridge deck, mast, from ahead"),
        "bridle": _or(boat.bridle, 1.2 * boat.beam, "± 20 %", "1.2 × beam"),
        "headsail_area": _or(
            boat.headsail_area, 0.5 * (0.9 * boat.rig_height) * (0.3 * length), "± 25 %", "½ × 0.9 rig height × 0.3 L",
        ),
        "effort_height": height,
        "lee_share": _or(boat.lee_share, (1 + SAILED_SHARE) / 2, "± 15 %", "½ (1 + 0.6): 0.6 of what lifts the windward hull"),
        "drive": _or(
            boat.drive, DRIVE_SHARE * moment / height.value, "± 40 %", "0.35 of the side force 0.6 Δ g s/2 / height of effort",
        ),
    }  # fmt: skip


BREADTH_RULE = "2 T, T = √(Δ/2ρ / 0.9 L): prismatic × midship coefficient 0.45, breadth 2 T"


def _breadth(known: KnownBoat) -> float:
    """m, of a hull: its volume is 0.45 L b T with b = 2 T on the waterline; no more than a third of the boat's beam."""
    draft = math.sqrt(known.displacement / SEA_WATER / 2 / (0.9 * known.length))
    return min(2 * draft, known.beam / 3)


def _or(known: float | None, estimate: float, scatter: str, rule: str) -> Value:
    return Value(estimate, scatter, rule) if known is None else Value(known)


def _round(value: float, step: float) -> float:
    """To the nearest whole step, at least one."""
    return max(round(value / step), 1) * step
