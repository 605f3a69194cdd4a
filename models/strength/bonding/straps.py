"""Unidirectional tape wound round a base plate and the beam under it: straps.

Axes of an `attachment`: 1 along the beam, 2 off it, 3 around. Of n straps of width w half are at either side of the part on the
base plate, side by side at a pitch, each wound so many turns. A strap leaves the plate's edge along the beam's surface, at
an angle φ to the plate's plane: sin φ is half the plate's breadth over half the beam's, 1 where the plate is as broad
as the beam. Each of its two legs carries

    F2/(2 n sin φ)  +  M3 x/(2 sin φ Σ(x² + w²/12))  +  ΔT,      ΔT = |F3 + M1/R|/n + |M2| x/Σ(x² + w²/12)

x to the outer edge of the outermost strap: a pull by both legs, a moment about the beam's axis and a force around it by one leg
alone (statics, each on the safe side; a push rests on the beam). That pull grows in the inner turns, bent over a radius r, by at
most
(t/r)/ln(1 + t/r), t of all turns (turns that stretch equally around half a circle; derived). ΔT, and a force along the beam as
shear across the straps, go into the beam by the glue under them, over half of what each leg covers; the foot presses on the wall
where the strap begins, so that the load enters and leaves at the same end (`bond`). Temperature shears the straps' edges where
the beam is a metal one. Where a turn ends it laps over the one below: a lap of two like sheets, `single_lap`, held flat by the
winding, which is on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.laminates import Laminate, first_ply_failure, free_expansion, membrane_constants, wall_stiffness
from models.strength.bonding.bond import NO_EXPANSION, Adhesive, Lap, shear_checks, thermal_shear
from models.strength.bonding.ring import TubeWall
from models.strength.bonding.single_lap import SingleLap, single_lap_checks
from models.strength.bounds import require_larger, require_positive
from models.strength.margins import CRITERION_SOURCES, Check, SafetyFactors, checked, not_checked
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks

ABS_TOL_LENGTH = 1e-9
"""m: straps that overlap, or reach beyond the base plate, by no more than this fit exactly."""


@dataclass(frozen=True, eq=False)
class Straps:
    """`each_side` straps of `width`, m, `pitch` m apart, at either side of the part, which is
    `clear_width` m along the foot; each of `turns` turns of the laminate `turn` (x along the tape).

    foot   : (along, across), m;   radius : m, of the foot's edge that they are bent over
    overlap: m, of the end of a turn on the one below;   wall : of a round beam
    glue   : between the turns, and under them where there is no `bed` of another glue
    """

    each_side: int
    width: float
    pitch: float
    clear_width: float
    turns: int
    turn: Laminate
    foot: tuple[float, float]
    radius: float
    overlap: float
    glue: Adhesive
    wall: SupportingWall
    bed: Adhesive | None = None

    def __post_init__(self) -> None:
        require_positive("straps", width=self.width, radius=self.radius, overlap=self.overlap)
        if self.wall.diameter is None:
            raise InputFault("straps", "go round a beam whose diameter is not given", "give its diameter")
        require_larger(
            "straps", ("the foot across", self.foot[1]), ("half around the beam", self.half_circumference)
        )
        if self.each_side > 1 and self.pitch < self.width - ABS_TOL_LENGTH:
            raise InputFault("straps", "overlap", "let the pitch be no less than their width")
        if self.edge > self.foot[0] / 2 + ABS_TOL_LENGTH:
            wrong = f"reach to {1000 * self.edge:.0f} mm from the foot's middle, beyond its ends"
            raise InputFault("straps", wrong, "make the foot longer, or the straps narrower")

    @property
    def under(self) -> Adhesive:
        """The glue that the straps lie on."""
        return self.glue if self.bed is None else self.bed

    @property
    def count(self) -> int:
        """Of both sides."""
        return 2 * self.each_side

    @property
    def edge(self) -> float:
        """m, from the foot's middle to the outer edge of the outermost strap."""
        return self.clear_width / 2 + (self.each_side - 1) * self.pitch + self.width

    @property
    def diameter(self) -> float:
        """m, of the beam."""
        return self.wall.diameter or math.nan

    @property
    def half_circumference(self) -> float:
        """m, half around the beam."""
        return math.pi / 2 * self.diameter

    @property
    def hold_down_ratio(self) -> float:
        """sin φ: the part of a leg's pull that holds the foot down."""
        return min(self.foot[1] / self.diameter, 1.0)

    @property
    def bend_stress_factor(self) -> float:
        """(t/r)/ln(1 + t/r), of all turns over the foot's edge."""
        ratio = self.turns * self.turn.thickness / self.radius
        return ratio / math.log1p(ratio)

    @property
    def _moment_factor(self) -> float:
        """1/m, x/Σ(x² + w²/12) to the outer edge of the outermost strap."""
        x = (self.clear_width + self.width) / 2 + np.arange(self.each_side) * self.pitch
        return float(self.edge / (2 * x @ x + self.count * self.width**2 / 12))

    def leg_difference(self, loads: FloatArray) -> FloatArray:
        """(cases,), N, ΔT: by what the two legs of the worst strap differ."""
        _, _, F3, M1, M2, _ = loads.T
        around = np.abs(F3 + M1 / (self.diameter / 2))
        return np.asarray(around / self.count + np.abs(M2) * self._moment_factor)

    def leg_tension(self, loads: FloatArray) -> FloatArray:
        """(cases,), N, in the worst leg."""
        _, F2, _, _, _, M3 = loads.T
        pull = np.maximum(F2, 0.0) / self.count + np.abs(M3) * self._moment_factor
        return np.asarray(pull / (2 * self.hold_down_ratio) + self.leg_difference(loads))

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The straps, their laps, the glue under them, and the beam's wall under the foot."""
        flow = self.leg_tension(loads) / self.width
        sheet = membrane_constants(self.turn)
        lap = SingleLap(sheet.Ex, sheet.nu_xy, self.turn.thickness, self.overlap, self.glue)
        name = f"{part}, straps"
        return (
            self._tension(name, flow, factors),
            *single_lap_checks(f"{name}' laps", lap, flow / self.turns, factors),
            *self._glue_checks(name, loads, factors),
            *self._temperature_not_checked(name, len(loads)),
            *wall_bending_checks(f"{part}, wall", self.wall, self.foot, loads, factors),
        )

    def _tension(self, part: str, flow: FloatArray, factors: SafetyFactors) -> Check:
        name, unit = "strap in tension", np.array([1.0, 0, 0, 0, 0, 0])
        try:
            strength = float(first_ply_failure(self.turn, unit, factors.criterion).load_factor) * self.turns
        except InputFault as error:
            return not_checked(part, name, len(flow), f"{error.place}: {error.wrong}")
        factor = factors.safety_factor("laminate")
        source = f"statics; {CRITERION_SOURCES[factors.criterion]}, first ply"
        return checked(part, name, flow * self.bend_stress_factor, strength, "N/m", factor, source)

    def _glue_checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, Check]:
        strap, turns, length = wall_stiffness(self.turn), self.turns, self.half_circumference / 2
        along = Lap(strap.axial * turns, self.wall.axial_stiffness[1], length, self.under, same_end=True)
        across = Lap(strap.shear * turns, self.wall.tube_wall.shear, length, self.under, same_end=True)
        pulled = self.leg_difference(loads) / self.width
        F1, *_ = loads.T
        sheared = np.abs(F1) / (2 * self.count * self.width)
        flows = [(along, pulled), (across, sheared)]
        return shear_checks(part, "glue under the straps", flows, factors, self.thermal_shear)

    @property
    def thermal_shear(self) -> float:
        """Pa, at a strap's edges on a beam of metal, of unequal expansion along the beam; around it a strap has no ends."""
        turn, wall = TubeWall.of(self.turn, None, self.turn.thickness), self.wall.tube_wall
        if not wall.of_metal or turn.expansion is None or turn.around is None or wall.expansion is None:
            return 0.0
        lap = Lap(turn.around * self.turns, wall.along, self.width, self.under)
        return thermal_shear(lap, turn.expansion[1] - wall.expansion[0])

    def _temperature_not_checked(self, part: str, cases: int) -> tuple[Check, ...]:
        """An entry where the tape on a beam of metal has no known expansion."""
        if (
            not (self.wall.metal is not None and self.under.temperature_change)
            or free_expansion(self.turn) is not None
        ):
            return ()
        return (not_checked(part, "glue under a temperature change", cases, NO_EXPANSION),)
