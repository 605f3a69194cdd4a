"""What a test on a boat teaches: factors on stiffness with their scatter, what readings say of themselves, joint loads then."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

import numpy as np
from scipy import special

from cases.analyses.calibration_result import (
    CalibrationResult,
    FoundFactor,
    FoundLoad,
    FoundValue,
    GaugeRecord,
    JointLoadChange,
    Outlier,
)
from cases.analyses.fitting import POOR_FIT, Fit, fit
from cases.analyses.reading_errors import suspect_readings
from cases.analyses.readings_fit import TestReadings, gathered
from cases.analyses.solved_cases import solved_cases
from cases.analyses.stiffness_priors import prior_scatter, scatter_after
from cases.input.boat_file import BoatFile
from cases.input.boat_test import GAUGE_UNITS, BoatTestFile
from cases.input.calibrated_file import calibrated_text
from cases.input.tested_boat import runs
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, unknown
from models.boat.calibration import FACTORS, Calibration
from models.joints import Joint, JointStiffness
from models.response.boat_on_test import JOINT_FACTORS, UNKNOWNS, unavailable_unknowns
from models.response.front_end import build
from models.response.joint_loads import joint_loads, larger_side
from models.response.platform_frame import platform_response

NOT_LEARNED = 0.05
"""Share below which readings tell nothing of an unknown that was asked for by name."""
SAME_EFFECT = 0.9999
"""Correlation of two unknowns' effects on all readings above which nothing but the prior tells them apart."""
OUTLIER_CHANCE = 0.01
"""That one of all readings is named an outlier by chance."""
MOST_OUTLIERS = 3
"""Where more are off, it is no single readings that are."""
CURES = {
    "hull_EI": "read heights of both stems against a bar that is fixed to the hull at the bulkhead",
    "hull_GJ": "read the roll of one hull at its stem and at the bulkhead",
    "platform_EI": "read the pitch of both hulls at the bulkhead while one bow is lifted",
    "platform_fore_to_aft": "read heights of both hulls at the bulkhead and at the aftmost member while one bow is lifted",
    "platform_GJ": "leave it out: beside the bending of members apart from one another it hardly matters",
    "crossbeam_EI": "measure the tube on trestles",
    "crossbeam_GJ": "measure the tube on trestles",
    "joint_pitch": "read the turn of the beam's end against the hull in pitch while one bow is lifted",
    "joint_roll": "read the turn of the beam's end against the hull in roll while both bows are lifted",
}
"""What makes an unknown identifiable."""


class MeasuredJoint(Joint):
    """A joint of which a test changed the stiffness; no file holds it."""

    found: Any

    def stiffness(self) -> JointStiffness:
        """As found."""
        return JointStiffness(self.found.springs, self.found.axes, self.found.matrix)

    def words(self) -> str:
        """In one line."""
        return "as found by a test"


def calibrate(
    boat: BoatFile, test: BoatTestFile, boat_name: str = "", test_name: str = ""
) -> CalibrationResult:
    """Fit the test's unknowns; the names are the files' for faults.

    InputFault or InputFaults for a test that is not of this boat, whose readings contradict how she stands, or that cannot find
    what it is asked for; NoConvergence where no stiffness fits.
    """
    joint = next((one for one in boat.joints if one.name == test.joint), None)
    if joint is None:
        raise unknown(f"{test_name}: joint", "joint", test.joint, [one.name for one in boat.joints])
    if boat.platform is None:
        wrong = "has root springs in place of a platform, and a test moves what is aft of the roots"
        raise InputFault(boat_name, wrong, "describe [platform]: bulkheads and deck skins, or members")
    front = build(boat, joint.stiffness())
    prior = prior_scatter(boat, joint.name)
    exact = {name: "the boat's file gives it no scatter" for name in UNKNOWNS if not prior.get(name)}
    absent = exact | unavailable_unknowns(front)
    asked = _asked(test, absent, test_name)
    unknowns = tuple(name for name in UNKNOWNS if name not in absent)
    readings = gathered(runs(test, front, unknowns, test_name), unknowns, prior)
    if test.unknowns is not None:
        _refuse_unidentifiable(readings, asked, test_name)
    found = fit(readings.problem)
    factors = tuple(one for one in _factors(readings, found) if one.name in asked)
    if test.unknowns is not None:
        _refuse_unlearned(factors, test_name)
    fitted = found.probability >= POOR_FIT
    after = calibrated_boat(
        boat, joint, {one.name: one.factor for one in factors if one.quoted} if fitted else {}
    )
    own = [unknowns.index(name) for name in asked]
    outliers, explained = _outliers(readings, found)
    suspects = () if explained else suspect_readings(found, readings)
    return CalibrationResult(
        test.title, boat.title, joint.name, factors, tuple(_loads(readings, found)),
        found.correlation[np.ix_(own, own)], tuple(_values(boat, joint, readings, found)),
        tuple(_gauges(readings, found)), () if suspects else outliers, suspects,
        found.cost, found.degrees, found.probability, _racking_scatter(readings, found),
        _joint_load_changes(boat, joint, after), absent, readings, found,
    )  # fmt: skip


def calibrated_boat(boat: BoatFile, joint: Joint, factors: Mapping[str, float]) -> tuple[BoatFile, Joint]:
    """The boat with these factors on what her file has, and the joint with its own."""
    old = boat.calibration
    new = {key: getattr(old, key) * factors[key] for key in FACTORS if key in factors}
    own = {JOINT_FACTORS[key]: factor for key, factor in factors.items() if key in JOINT_FACTORS}
    changed = joint
    if own:
        stiffness = joint.stiffness()
        springs = {
            direction: stiffness.own_stiffness(direction) * factor for direction, factor in own.items()
        }
        changed = MeasuredJoint(name=joint.name, found=stiffness.with_springs(springs))
    return boat.model_copy(update={"calibration": Calibration(**old.factors | new, note=old.note)}), changed


def patched_text(boat: BoatFile, found: CalibrationResult, text: str) -> str:
    """The text of the boat's file with the quoted factors, the joint's springs where they are typed, and scatter.

    InputFault where the test taught nothing that can be written.
    """
    if not found.quoted:
        why = (
            "the model does not fit its readings"
            if found.verdict == "does not fit"
            else "it taught too little"
        )
        raise InputFault("--patch", f"the test has nothing to write: {why}", "leave --patch out")
    joint = next(one for one in boat.joints if one.name == found.joint)
    factors = {
        key: getattr(boat.calibration, key) * found.quoted[key] for key in FACTORS if key in found.quoted
    }
    stiffness = joint.stiffness()
    springs = {
        direction: stiffness.own_stiffness(direction) * found.quoted[key]
        for key, direction in JOINT_FACTORS.items()
        if key in found.quoted
    }
    after = {one.name: one.after for one in found.factors if one.quoted}
    return calibrated_text(text, factors, joint.name, springs, scatter_after(boat, after), found.title)


def _asked(test: BoatTestFile, absent: Mapping[str, str], place: str) -> tuple[str, ...]:
    """Those that the test names, or all that the boat has; those not named are found with the rest, and not reported."""
    for name in test.unknowns or ():
        if name in absent:
            cure = (
                f"take it out of unknowns{'; give the joint a spring there' if name in JOINT_FACTORS else ''}"
            )
            raise InputFault(f"{place}: unknowns", f"'{name}' cannot be found: {absent[name]}", cure)
    return tuple(name for name in UNKNOWNS if name not in absent and name in (test.unknowns or UNKNOWNS))


def _refuse_unidentifiable(readings: TestReadings, asked: Sequence[str], place: str) -> None:
    """InputFault where there are fewer readings than unknowns asked for, or where two of them do the same to every reading."""
    problem = readings.problem
    Q = problem.basis()
    if Q.shape[1] < len(asked):
        wrong = f"{Q.shape[1]} readings beyond the gauges' zeros are fewer than {len(asked)} unknowns"
        raise InputFault(f"{place}: unknowns", wrong, "read more gauges or load steps, or look for less")
    _, slope = problem.model(np.zeros(len(problem.prior)))
    effects = Q.T @ (slope / problem.scatter[:, None])
    for first, second in combinations(asked, 2):
        a, b = (effects[:, readings.unknowns.index(name)] for name in (first, second))
        both = float(np.linalg.norm(a) * np.linalg.norm(b))
        if both > 0 and abs(a @ b) > SAME_EFFECT * both:
            wrong = f"'{first}' and '{second}' do the same to every reading, so that these cannot distinguish them"
            raise InputFault(f"{place}: unknowns", wrong, f"take one out, or {CURES[second]}")


def _refuse_unlearned(factors: tuple[FoundFactor, ...], place: str) -> None:
    """InputFault for an unknown, asked for by name, that the readings say nothing of."""
    for one in factors:
        if one.learned < NOT_LEARNED:
            wrong = f"'{one.name}' cannot be found: these readings determine {100 * max(one.learned, 0):.1g} % of it"
            raise InputFault(f"{place}: unknowns", wrong, f"take it out, or {CURES[one.name]}")


def _factors(readings: TestReadings, found: Fit) -> Iterator[FoundFactor]:
    after = np.sqrt(np.diag(found.covariance)).tolist()
    for n, name in enumerate(readings.unknowns):
        before = float(readings.problem.prior[n])
        yield FoundFactor(name, math.exp(found.p[n]), before, after[n], float(found.learned[n]))


def _loads(readings: TestReadings, found: Fit) -> Iterator[FoundLoad]:
    after, first = np.sqrt(np.diag(found.covariance)).tolist(), len(readings.unknowns)
    for n, (test, kind) in enumerate(readings.load_factors, first):
        yield FoundLoad(
            readings.runs[test].name, kind, math.exp(found.p[n]), float(readings.problem.prior[n]), after[n]
        )


def _gauges(readings: TestReadings, found: Fit) -> Iterator[GaugeRecord]:
    amounts, scatters = found.free_amounts()
    missed = readings.problem.y - found.value - readings.problem.free @ amounts
    by_kind = {(one.test, one.gauge, one.kind): n for n, one in enumerate(readings.free)}
    for test, run in enumerate(readings.runs):
        for number, gauge in enumerate(run.model.gauges):
            own = readings.of_gauge(test, number)
            zero, at = by_kind[test, number, "zero"], by_kind.get((test, number, "hysteresis"))
            yield GaugeRecord(
                run.name, gauge.name, GAUGE_UNITS[gauge.kind], int(own.sum()), float(amounts[zero]),
                float(np.sqrt((missed[own] ** 2).mean())), float(run.scatter[number]),
                None if at is None else -float(amounts[at]), None if at is None else float(scatters[at]),
            )  # fmt: skip


def _outliers(readings: TestReadings, found: Fit) -> tuple[tuple[Outlier, ...], bool]:
    """Beyond what the largest of so many readings is by chance, and whether all others then fit.

    One by one, since an outlier drags others with it; a gauge that is off in all its readings has no outliers.
    """
    limit = -float(special.ndtri(OUTLIER_CHANCE / 2 / len(readings.rows)))
    left, outliers = np.arange(len(readings.rows)), list[Outlier]()
    while abs(found.studentised).max() > limit:
        if len(outliers) == MOST_OUTLIERS:
            return (), False
        worst = int(np.abs(found.studentised).argmax())
        amounts, _ = found.free_amounts()
        expected = found.value[worst] + found.problem.free[worst] @ amounts
        run, gauge = readings.gauge(left[worst])
        outliers.append(
            Outlier(
                run.name,
                readings.rows[left[worst]][1] + 1,
                gauge.name,
                GAUGE_UNITS[gauge.kind],
                float(found.problem.y[worst]),
                float(expected),
                float(found.studentised[worst]),
            )
        )
        found = fit(found.problem.without(np.arange(len(left)) == worst))
        left = np.delete(left, worst)
    return tuple(outliers), found.probability > POOR_FIT


def _racking_scatter(readings: TestReadings, found: Fit) -> dict[str, tuple[float, float]]:
    """Of the joint's torque and bending in racking, by stiffness alone: before, at the file's stiffness, and after."""
    count, model = len(readings.unknowns), readings.runs[0].model
    factors = dict(zip(readings.unknowns, np.exp(found.p[:count]).tolist(), strict=True))
    before, after = model.response({}), model.response(factors)
    prior, covariance = np.diag(readings.problem.prior[:count] ** 2), found.covariance[:count, :count]
    return {
        key: (
            relative_scatter(before.target[n], before.target_by[:, n], prior),
            relative_scatter(after.target[n], after.target_by[:, n], covariance),
        )
        for n, key in enumerate(("torque", "vertical bending"))
    }


def relative_scatter(value: float, slope: FloatArray, covariance: FloatArray) -> float:
    """Standard deviation of the logarithm of a quantity with that slope (u,); 0 where it is none."""
    return float(np.sqrt(slope @ covariance @ slope) / abs(value)) if value else 0.0


def _values(boat: BoatFile, joint: Joint, readings: TestReadings, found: Fit) -> Iterator[FoundValue]:
    """Twist and twist centre of the platform, and the joint's stiffness."""
    count = len(readings.unknowns)
    p, covariance = found.p[:count], found.covariance[:count, :count]
    prior = np.diag(readings.problem.prior[:count] ** 2)
    of_platform = [n for n, name in enumerate(readings.unknowns) if name in FACTORS]

    def response(logarithms: FloatArray) -> FloatArray:
        factors = {readings.unknowns[n]: math.exp(logarithms[n]) for n in of_platform}
        alone = platform_response(calibrated_boat(boat, joint, factors)[0])
        assert alone is not None  # noqa: S101  (checked where the test was read)
        return np.array([alone.twist_per_moment, alone.twist_centre])

    before, after = ((response(at), _slopes(response, at)) for at in (np.zeros(count), p))
    for n, (name, unit) in enumerate(
        (("twist of the platform per moment", "rad/(N·m)"), ("twist centre of the platform, x", "m"))
    ):
        own = (math.sqrt(by[n] @ C @ by[n]) for (_, by), C in ((before, prior), (after, covariance)))
        yield FoundValue(name, unit, float(before[0][n]), float(after[0][n]), *own)
    for key, direction in JOINT_FACTORS.items():
        if key in readings.unknowns:
            n = readings.unknowns.index(key)
            k = joint.stiffness().own_stiffness(direction)
            new = k * math.exp(p[n])
            yield FoundValue(
                f"stiffness of the joint in {direction}", "N·m/rad", k, new,
                k * math.sqrt(prior[n, n]), new * math.sqrt(covariance[n, n]),
            )  # fmt: skip


STEP = 1e-3
"""Of a logarithm, for slopes of what the platform alone does: their own error is 1e-6 of them."""


def _slopes(function: Any, at: FloatArray) -> FloatArray:  # noqa: ANN401  (a function of arrays)
    """(2, u), by central differences."""
    steps = STEP * np.eye(len(at))
    return np.array([(function(at + step) - function(at - step)) / (2 * STEP) for step in steps]).T


def _joint_load_changes(
    boat: BoatFile, joint: Joint, after: tuple[BoatFile, Joint]
) -> tuple[JointLoadChange, ...]:
    loads = [joint_loads(solved_cases(*one)[1]) for one in ((boat, joint), after)]
    return tuple(
        JointLoadChange(
            case.name,
            *(
                (larger_side(loads[0][n], word), larger_side(loads[1][n], word))
                for word in ("torque", "vertical bending")
            ),
        )
        for n, case in enumerate(boat.load_cases)
    )


__all__ = ["CalibrationResult", "calibrate", "calibrated_boat", "relative_scatter"]
