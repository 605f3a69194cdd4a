"""A test on a boat with the boat: models of how she stood with readings in SI, and what contradicts boat or statics."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cases.input.boat_test import BoatTestFile, OneTestTable
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.toml import collect, unknown
from models.response.boat_on_test import BoatOnTest
from models.response.boat_test_loads import Afloat, LoadPattern, Supports, places_of, position
from models.response.front_end import FrontEnd

CONTRADICTION = 5.0
"""Standard deviations: a reading further from what statics alone says contradicts how the boat is said to stand."""
ABS_TOL_HORIZONTAL = 1.0
"""N, and N·m: horizontal loads of a step whose sum is smaller balance one another."""
ABS_TOL_SLACK = 1.0
"""N: a cable that would push by less is slack and no more."""
MIN_SUPPORT_AREA = 0.05
"""m², of the triangle of the supports at which they are in one line."""


@dataclass(frozen=True, eq=False)
class TestedOnce:
    """One of the tests, in SI.

    model    : the boat as she stood, with gauges and unit load patterns
    scatter  : (g,), of each gauge;   amounts : (t, l), N, of each pattern in each step;   stay : (l,), whether it is the stay's
    readings : (t, g), NaN where not read
    branch   : (t,), 1 where load has grown to what it is, −1 where it has fallen, 0 where it never changes
    load_scatter, stay_scatter : shares;   moves : whether heave, pitch and roll of the whole boat in each step are unknown
    """

    __test__ = False  # nothing for pytest to collect

    name: str
    model: BoatOnTest
    scatter: FloatArray
    amounts: FloatArray
    stay: FloatArray
    readings: FloatArray
    branch: FloatArray
    load_scatter: float
    stay_scatter: float
    moves: bool


def runs(
    file: BoatTestFile, front: FrontEnd, unknowns: tuple[str, ...], place: str
) -> tuple[TestedOnce, ...]:
    """The tests on that front end; InputFaults, inside `place`, with all that contradicts boat or statics."""
    collect(
        place,
        (one.inside(f"tests '{test.name}'") for test in file.tests for one in _boat_faults(test, front)),
    )
    made = tuple(_run(test, front, unknowns) for test in file.tests)
    collect(place, (one.inside(f"tests '{each.name}'") for each in made for one in _statics_faults(each)))
    return made


def _boat_faults(test: OneTestTable, front: FrontEnd) -> Iterator[InputFault]:
    places = list(places_of(front))
    named = {support.place: "supports" for support in test.supports}
    named |= {gauge.reference: f"gauges '{gauge.name}'" for gauge in test.gauges if gauge.reference}
    named |= {
        g.place: f"gauges '{g.name}'" for g in test.gauges if g.kind in ("height", "inclination", "distance")
    }
    for number, step in enumerate(test.steps, 1):
        named |= dict.fromkeys((*step.up, *step.weights, *step.push), f"step {step.name or number}")
    wrong = [unknown(here, "place", place, places) for place, here in named.items() if place not in places]
    yield from wrong
    stands = [support.place for support in test.supports]
    for gauge in test.gauges:
        if gauge.kind == "reaction" and gauge.place not in stands:
            yield unknown(f"gauges '{gauge.name}'", "support", gauge.place, stands)
        if gauge.kind == "cable tension" and gauge.place not in front.frame.cables.names:
            yield unknown(f"gauges '{gauge.name}'", "cable", gauge.place, front.frame.cables.names)
        if gauge.kind == "stay tension" and not any(step.stay for step in test.steps):
            yield InputFault(
                f"gauges '{gauge.name}'", "reads a stay that no step pulls", 'add stay = "8 kN" to steps'
            )
        if gauge.kind == "distance" and gauge.place == gauge.reference:
            yield InputFault(f"gauges '{gauge.name}'", "is from a place to itself", "give another reference")
    if stands and not wrong and _support_area(front, stands) < MIN_SUPPORT_AREA:
        what = "are fewer than three" if len(stands) < 3 else "are in one line"
        yield InputFault(
            "supports", f"{what}, so that the boat tips", "give three that span a triangle, or four"
        )


def _support_area(front: FrontEnd, stands: list[str]) -> float:
    """m², the singular values' product of their plan: 0 where they are in one line."""
    plan = np.array([position(front, place)[:2] for place in stands])
    return (
        float(np.prod(np.linalg.svd(plan - plan.mean(axis=0), compute_uv=False))) if len(stands) > 2 else 0.0
    )


def _run(test: OneTestTable, front: FrontEnd, unknowns: tuple[str, ...]) -> TestedOnce:
    each = [step.amounts() for step in test.steps]
    directions = list(dict.fromkeys(key for step in each for key in step))
    patterns = [
        LoadPattern(f"{place} {'xyz'[axis]}", ((place, _unit(axis), (0.0, 0.0, 0.0)),))
        for place, axis in directions
    ]
    if any(step.stay for step in test.steps):
        patterns.append(LoadPattern("stay", stay=1.0, rake=test.stay_rake))
    amounts = np.zeros((len(each), len(patterns)))
    for row, (step, loads) in zip(amounts, zip(test.steps, each, strict=True), strict=True):
        row[: len(directions)] = [loads.get(key, 0.0) for key in directions]
        row[len(directions) :] = step.stay
    standing = (
        Supports(
            tuple(one.place for one in test.supports),
            tuple(math.inf if one.stiffness is None else one.stiffness for one in test.supports),
        )
        if test.afloat is None
        else Afloat(test.afloat.aft, test.afloat.forward, test.afloat.breadth, test.afloat.coefficient)
    )
    return TestedOnce(
        test.name,
        BoatOnTest(front, standing, tuple(gauge.gauge() for gauge in test.gauges), tuple(patterns), unknowns),
        np.array([gauge.scatter for gauge in test.gauges]),
        amounts,
        np.array([pattern.stay > 0 for pattern in patterns]),
        np.array([[step.readings.get(gauge.name, math.nan) for gauge in test.gauges] for step in test.steps]),
        _branches(np.abs(amounts).sum(axis=1)),
        test.load_scatter,
        test.stay_scatter,
        test.settling or test.afloat is not None,
    )


def _branches(size: FloatArray) -> FloatArray:
    """(t,), 1 where load has grown to what it is, −1 where it has fallen; steps alike are of one branch, and the first
    is of that of the first change.
    """
    signs = np.sign(np.diff(size, prepend=size[:1]))
    changes = np.flatnonzero(signs)
    if not len(changes):
        return signs
    since = changes[np.maximum(np.searchsorted(changes, np.arange(len(size)), side="right") - 1, 0)]
    return np.asarray(signs[since])


def _unit(axis: int) -> tuple[float, float, float]:
    return (float(axis == 0), float(axis == 1), float(axis == 2))


def _statics_faults(run: TestedOnce) -> Iterator[InputFault]:
    """Loads that the stand cannot carry, and readings that it cannot have."""
    on_boat = run.amounts @ run.model.resultants
    yield from _horizontal_faults(on_boat)
    yield from _slack_faults(run)
    stand = run.model.standing
    if isinstance(stand, Afloat):
        return
    moved = run.readings - run.readings[[0]]
    rigid = {place for place, k in zip(stand.places, stand.stiffness, strict=True) if math.isinf(k)}
    for number, gauge in enumerate(run.model.gauges):
        if gauge.kind == "height" and not (gauge.reference or run.moves) and gauge.place in rigid:
            most = float(np.nanmax(np.abs(moved[:, number])))
            if most > CONTRADICTION * math.sqrt(2) * run.scatter[number]:
                wrong = f"reads {engineering(most, 'm')} of movement, and the boat stands there on a rigid support"
                yield InputFault(
                    f"gauges '{gauge.name}'", wrong, "give that support its stiffness, or correct the reading"
                )
    cells = {gauge.place: number for number, gauge in enumerate(run.model.gauges) if gauge.kind == "reaction"}
    if set(cells) == set(stand.places):
        some = list(cells.values())
        lacking = moved[:, some].sum(axis=1) + (on_boat - on_boat[[0]])[:, 2]
        noise = math.sqrt(2 * float((run.scatter[some] ** 2).sum()))
        allowed = CONTRADICTION * np.hypot(noise, run.load_scatter * np.abs(run.amounts).sum(axis=1))
        if (np.abs(lacking) > allowed).any():
            worst = int(np.nanargmax(np.abs(lacking) - allowed))
            yield InputFault(
                f"step {worst + 1}",
                f"the cells under the supports and the loads differ by {engineering(abs(float(lacking[worst])), 'N')}",
                "correct loads, readings or their signs: cells show what the supports carry, upwards on the boat",
            )


def _horizontal_faults(on_boat: FloatArray) -> Iterator[InputFault]:
    """Of the resultants (t, 6) of each step: what no support carries."""
    for column, unit in ((0, "N"), (1, "N"), (5, "N·m")):
        left = np.abs(on_boat[:, column])
        if left.max() > ABS_TOL_HORIZONTAL:
            step = int(left.argmax())
            yield InputFault(
                f"step {step + 1}",
                f"its horizontal loads leave {engineering(float(left[step]), unit)}, which nothing carries",
                "push one place against another by the same force in one line",
            )
            return


def _slack_faults(run: TestedOnce) -> Iterator[InputFault]:
    """Where a cable would go slack, by the boat's file: the fit counts them as bars."""
    cables = run.model.front.frame.cables
    if not len(cables):
        return
    tension = cables.pretension + run.amounts @ run.model.response({}).tension.T
    step, cable = np.unravel_index(int(tension.argmin()), tension.shape)
    if tension[step, cable] < -ABS_TOL_SLACK:
        short = engineering(-float(tension[step, cable]), "N")
        wrong = f"slackens '{cables.names[int(cable)]}', by {short} beyond its pretension"
        yield InputFault(
            f"step {int(step) + 1}",
            wrong,
            "tighten it before the test and say so in the boat's file, or load less",
        )
