"""A test to come: which readings would teach most of a joint's torque and bending in racking, and what they would show.

Before any reading is taken the covariance that it will leave is known (`fitting.expected_covariance`), at the stiffness of the
boat's file: sets of gauges can be compared, and the next best gauge chosen. Torque and bending are those that opposite forces at
the stems cause; how large these are is another question.

On the hard: one bow on a jack, its other end and both sterns on blocks, so that what each carries follows from statics; then both
bows lifted, and spread, on blocks at the bulkhead and aft. Afloat: a weight carried from one stem to the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from cases.analyses.calibration import relative_scatter
from cases.analyses.fitting import expected_covariance
from cases.analyses.stiffness_priors import prior_scatter
from cases.analyses.test_plan_result import ExpectedReading, PlanRow, RankedGauge, TestPlan
from cases.input.blank_test import blank_test
from cases.input.boat_file import BoatFile
from cases.input.estimates import particulars
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, unknown
from femcore.base.units import STANDARD_GRAVITY
from models.joints import Joint
from models.response.boat_on_test import (
    JOINT_FACTORS,
    TARGETS,
    UNKNOWNS,
    BoatOnTest,
    GaugeResponse,
    unavailable_unknowns,
)
from models.response.boat_test_loads import Afloat, Gauge, LoadPattern, Supports, Vector
from models.response.front_end import SIDES, FrontEnd, build

HEIGHT_SCATTER, ANGLE_SCATTER = 0.5e-3, 0.1e-3
"""m, of a rule against a laser or a taut line; rad, of an inclinometer or of two dial gauges a hand apart (common practice)."""
FINE_HEIGHT_SCATTER, FINE_ANGLE_SCATTER = 0.1e-3, 0.05e-3
"""The same with dial gauges on a stiff bar, and inclinometers read five times."""
LIFT = 5000.0
"""N, under one bow (common practice: a few per cent of the boat's weight, far below what a wave does)."""
LOAD_STEPS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 0.8, 0.6, 0.4, 0.2, 0.0)
"""Of the lift: five steps up and down, so that play shows."""
WEIGHT, WEIGHT_REPEATS = 400.0, 5
"""kg, carried from stem to stem, afloat: five people; so many times."""
WATERLINE_AFT, WATERLINE_BREADTH, WATERPLANE = 1.7, 0.13, 0.75
"""Of a hull afloat where nothing is known: how far aft of the bulkhead it reaches over the bow's length, breadth over spacing."""
MOST_RANKED = 6
"""Gauges in the ranking."""
ZERO: Vector = (0.0, 0.0, 0.0)
ONE_BOW = "port bow lifted"


def plan_test(boat: BoatFile, joint: str | None = None, lift: float = LIFT) -> TestPlan:
    """Plan it for the boat as she is with that joint; left out: the first that is neither rigid nor free in pitch and roll.

    InputFault for an unknown joint, or a boat without platform.
    """
    chosen = _joint(boat, joint)
    if boat.platform is None or boat.platform.aft == 0.0:
        wrong = (
            "has nothing aft of the main bulkhead to stand on"
            if boat.platform
            else "has root springs and no platform"
        )
        raise InputFault(
            "platform", wrong, "describe [platform] with its bulkheads or members, to the aftmost"
        )
    front = build(boat, chosen.stiffness())
    prior = prior_scatter(boat, chosen.name)
    exact = {name: "the boat's file gives it no scatter" for name in UNKNOWNS if not prior.get(name)}
    absent = exact | unavailable_unknowns(front)
    unknowns = tuple(name for name in UNKNOWNS if name not in absent)
    if not unknowns:
        raise InputFault(
            "scatter", "leaves nothing unknown that a test could find", "give some stiffness a scatter"
        )
    plans = _Plans(front, unknowns, np.array([prior[name] for name in unknowns]), lift, water_of(boat))
    carried = plans.carried()
    return TestPlan(
        boat.title, chosen.name, lift, WEIGHT, tuple(carried[ONE_BOW]), carried,
        tuple(plans.rows()), tuple(plans.ranking()), tuple(plans.expected()), absent,
        plans.one_bow.gauges,
    )  # fmt: skip


def water_of(boat: BoatFile) -> Afloat:
    """Her waterlines, from [boat] where the file has it, else guessed from bows and spacing; they end at the stems."""
    bow, spacing = boat.bows.length, boat.bows.spacing
    known = particulars(boat.boat) if boat.boat else {}
    length = known["waterline"].value if known else (1 + WATERLINE_AFT) * bow
    breadth = known["waterline_breadth"].value if known else WATERLINE_BREADTH * spacing
    return Afloat(bow - length, bow, breadth, WATERPLANE)


def _joint(boat: BoatFile, name: str | None) -> Joint:
    if name is not None:
        found = next((one for one in boat.joints if one.name == name), None)
        if found is None:
            raise unknown("--joint", "joint", name, [one.name for one in boat.joints])
        return found
    elastic = (
        one
        for one in boat.joints
        if one.stiffness().is_in_boat_axes
        and all(0 < one.stiffness().own_stiffness(word) < np.inf for word in JOINT_FACTORS.values())
    )
    return next(elastic, boat.joints[0])


def one_bow_gauges(front: FrontEnd) -> dict[str, tuple[Gauge, ...]]:
    """By the words of a table, what is read while the port bow is lifted; the starboard stem stands on a block."""
    bulkhead = [f"{side} hull at bulkhead" for side in SIDES]
    points = ["port stem", "port hull at beam", "starboard hull at beam"]
    if front.boat.crossbeam.station == front.boat.bows.length:
        points = ["port stem"]  # the beam is at the stems
    return {
        "height of the bows": tuple(Gauge(f"height, {place}", "height", place) for place in points),
        "height of the bulkhead's ends": tuple(
            Gauge(f"height, {place}", "height", place) for place in bulkhead
        ),
        "pitch of both hulls at the bulkhead": tuple(
            Gauge(f"pitch, {place}", "inclination", place) for place in bulkhead
        ),
        "roll of both hulls at the bulkhead": tuple(
            Gauge(f"roll, {place}", "inclination", place, "roll") for place in bulkhead
        ),
        "turn of the beam's ends against the hulls in pitch": tuple(
            Gauge(f"turn in pitch, {side} joint", "turn", side) for side in SIDES
        ),
        "turn of the beam's ends against the hulls in roll": tuple(
            Gauge(f"turn in roll, {side} joint", "turn", side, "roll") for side in SIDES
        ),
    }


def blank_file(plan: TestPlan) -> str:
    """The text of the planned test's file, its readings to be filled in."""
    gauges = [(gauge, scatter_of(gauge)) for gauge in plan.gauges]
    return blank_test(plan.joint, plan.supports, gauges, [share * plan.lift for share in LOAD_STEPS])


def scatter_of(gauge: Gauge, *, fine: bool = False) -> float:
    """m or rad, of one reading."""
    if gauge.kind in ("height", "distance"):
        return FINE_HEIGHT_SCATTER if fine else HEIGHT_SCATTER
    return FINE_ANGLE_SCATTER if fine else ANGLE_SCATTER


@dataclass(frozen=True, eq=False)
class _Plans:
    """Models of the boat as she would stand, and what readings would leave of `unknowns` with that prior (u,)."""

    front: FrontEnd
    unknowns: tuple[str, ...]
    prior: FloatArray
    lift: float
    water: Afloat

    @cached_property
    def one_bow(self) -> BoatOnTest:
        """The port bow lifted by 1 N, three blocks."""
        aft = _aft(self.front)
        stand = Supports(("starboard stem", *(f"{side} hull at {aft}" for side in SIDES)), (np.inf,) * 3)
        gauges = tuple(gauge for group in one_bow_gauges(self.front).values() for gauge in group)
        return BoatOnTest(
            self.front,
            stand,
            gauges,
            (_pushed(ONE_BOW, ("port stem", (0.0, 0.0, 1.0))),),
            self.unknowns,
        )

    @property
    def both_bows(self) -> BoatOnTest:
        """Both bows lifted by 1 N each, and spread by 1 N, on four blocks."""
        stand = Supports(
            tuple(f"{side} hull at {place}" for side in SIDES for place in ("bulkhead", _aft(self.front))),
            (np.inf,) * 4,
        )
        gauges = tuple(
            g for group in one_bow_gauges(self.front).values() for g in group if "bulkhead" not in g.place
        )
        gauges += tuple(
            Gauge(
                f"height, {side} stem from the bulkhead",
                "height",
                f"{side} stem",
                reference=f"{side} hull at bulkhead",
            )
            for side in SIDES
        )
        gauges += (Gauge("distance of the stems", "distance", "port stem", reference="starboard stem"),)
        both = _pushed("both bows lifted", *((f"{side} stem", (0.0, 0.0, 1.0)) for side in SIDES))
        spread = _pushed("bows spread", ("port stem", (0.0, 1.0, 0.0)), ("starboard stem", (0.0, -1.0, 0.0)))
        return BoatOnTest(self.front, stand, gauges, (both, spread), self.unknowns)

    @property
    def afloat(self) -> BoatOnTest:
        """The weight carried from the starboard stem to the port one, per newton of it; both inclinometers and the port joint."""
        gauges = one_bow_gauges(self.front)
        # the whole boat heels and trims by the water: only differences of hulls, and turns at joints, are hers
        both = gauges["pitch of both hulls at the bulkhead"]
        apart = Gauge(
            "pitch of the hulls against one another, afloat",
            "inclination",
            both[0].place,
            reference=both[1].place,
        )
        turns = tuple(
            replace(gauge, name=f"{gauge.name}, afloat")
            for word in ("pitch", "roll")
            for gauge in gauges[f"turn of the beam's ends against the hulls in {word}"][:1]
        )
        moved = _pushed(
            "weight carried to the port stem",
            ("port stem", (0.0, 0.0, -1.0)),
            ("starboard stem", (0.0, 0.0, 1.0)),
        )
        return BoatOnTest(self.front, self.water, (apart, *turns), (moved,), self.unknowns)

    def information(
        self, slope: FloatArray, scatter: float, repeats: Sequence[float] = LOAD_STEPS
    ) -> FloatArray:
        """(u,), the reading's slope over its scatter, of readings at fractions of the load counted from an unknown zero."""
        return np.asarray(slope / scatter * np.sqrt(np.var(repeats) * len(repeats)))

    def left(self, rows: Iterable[FloatArray]) -> FloatArray:
        """(u, u), covariance after readings with such rows."""
        some = np.array(list(rows)).reshape(-1, len(self.prior))
        return expected_covariance(some, np.ones(len(some)), np.zeros((len(some), 0)), self.prior)

    def row(self, words: str, rows: Iterable[FloatArray]) -> PlanRow:
        """Of a table."""
        C = self.left(rows)
        torque, bending = self.targets(C)
        scatter = np.sqrt(np.diag(C)).tolist()
        return PlanRow(words, dict(zip(self.unknowns, scatter, strict=True)), torque, bending)

    def targets(self, covariance: FloatArray) -> tuple[float, float]:
        """Scatter of torque and vertical bending in racking."""
        found = self.one_bow_response
        torque, bending = (
            relative_scatter(found.target[n], found.target_by[:, n], covariance) for n in range(len(TARGETS))
        )
        return torque, bending

    @cached_property
    def one_bow_response(self) -> GaugeResponse:
        """Per newton."""
        return self.one_bow.response({})

    def _one_bow_rows(self, *, fine: bool = False) -> dict[str, FloatArray]:
        """By the name of each gauge."""
        by = self.one_bow_response.readings_by[:, :, 0] * self.lift
        return {
            gauge.name: self.information(by[:, n], scatter_of(gauge, fine=fine))
            for n, gauge in enumerate(self.one_bow.gauges)
        }

    def rows(self) -> Iterator[PlanRow]:
        """None, then each group of gauges with all before it; the same finer; afloat instead."""
        yield self.row("none", [])
        groups, coarse, fine = one_bow_gauges(self.front), self._one_bow_rows(), self._one_bow_rows(fine=True)
        taken: list[str] = []
        for words, gauges in groups.items():
            taken += [gauge.name for gauge in gauges]
            yield self.row(
                words if len(taken) == len(gauges) else f"+ {words}", [coarse[name] for name in taken]
            )
        every = [coarse[name] for name in taken]
        both, found = self.both_bows, self.both_bows.response({}).readings_by * self.lift
        more = [
            self.information(found[:, n, load], scatter_of(gauge))
            for load in range(2)
            for n, gauge in enumerate(both.gauges)
        ]
        yield self.row("+ both bows lifted, and bows spread", [*every, *more])
        words = "one bow lifted, all of its gauges, with "
        yield self.row(
            f"{words}{1e3 * FINE_HEIGHT_SCATTER:g} mm and {1e3 * FINE_ANGLE_SCATTER:g} mrad",
            [fine[n] for n in taken],
        )
        afloat, steps = self.afloat, [float(n % 2) for n in range(2 * WEIGHT_REPEATS)]
        by = afloat.response({}).readings_by[:, :, 0] * WEIGHT * STANDARD_GRAVITY
        # two inclinometers make the difference
        difference = self.information(by[:, 0], np.sqrt(2) * ANGLE_SCATTER, steps)
        yield self.row("afloat instead: pitch of the hulls against one another", [difference])
        turns = [self.information(by[:, n], ANGLE_SCATTER, steps) for n in range(1, len(afloat.gauges))]
        yield self.row("afloat: + turn of the port beam's end in pitch and roll", [difference, *turns])

    def carried(self) -> dict[str, dict[str, float]]:
        """N, by load and place of a block, at full load."""
        found = {}
        for model in (self.one_bow, self.both_bows):
            reactions = model.response({}).reactions * self.lift
            for load, pattern in enumerate(model.patterns):
                places = model.standing.places if isinstance(model.standing, Supports) else ()
                found[pattern.name] = dict(zip(places, reactions[:, load].tolist(), strict=True))
        return found

    def ranking(self) -> Iterator[RankedGauge]:
        """One by one: that which leaves least of the variances of both logarithms together."""
        rows, taken = self._one_bow_rows(), list[FloatArray]()
        while rows and len(taken) < MOST_RANKED:
            left = {name: self.targets(self.left([*taken, row])) for name, row in rows.items()}
            best = min(left, key=lambda name: float(np.square(left[name]).sum()))
            taken.append(rows.pop(best))
            yield RankedGauge(best, *left[best])

    def expected(self) -> Iterator[ExpectedReading]:
        """Of every gauge under every load, by the boat's file."""
        for model, size in (
            (self.one_bow, self.lift),
            (self.both_bows, self.lift),
            (self.afloat, WEIGHT * STANDARD_GRAVITY),
        ):
            readings = model.response({}).readings * size
            for load, pattern in enumerate(model.patterns):
                for n, gauge in enumerate(model.gauges):
                    unit = "m" if gauge.kind in ("height", "distance") else "rad"
                    yield ExpectedReading(
                        gauge.name, pattern.name, unit, float(readings[n, load]), scatter_of(gauge)
                    )


def _aft(front: FrontEnd) -> str:
    """The name of the aftmost member of the platform."""
    platform = front.boat.platform
    if platform is None:
        raise ValueError("a test is planned for a boat with a platform")
    return min(platform.members, key=lambda member: member.station).name


def _pushed(name: str, *forces: tuple[str, Vector]) -> LoadPattern:
    """Forces at places."""
    return LoadPattern(name, tuple((place, force, ZERO) for place, force in forces))
