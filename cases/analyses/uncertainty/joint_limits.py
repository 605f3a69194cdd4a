"""Margins of one joint's parts and of those beside it as functions of the inputs that scatter, for all samples at once.

    ln(1 + margin) = ln(allowable / (factor × load))        of every check in every row; below zero where the margin is

Loads come from `response_samples`, utilisations from `check_planes`. A strength that scatters multiplies what a check allows, by
the name of its safety factor; of a glue's ultimate capacity the square is linear in its plastic strain (L.J. Hart-Smith, NASA
CR-112235, 1973, from memory). The stay at its breaking load is a check of its own, in proportion to that load.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from cases.analyses.joint_results import ATTRACTED, REL_TOL_ROUNDING_LOAD
from cases.analyses.part_margins import PartMargins
from cases.analyses.uncertainty.check_planes import CheckedLoads, CheckPlanes, utilisations
from cases.analyses.uncertainty.response_samples import JointSamples, KeyEffect, parabola
from cases.input.scatter import ScatteredInput
from femcore.base.arrays import BoolArray, FloatArray, IntArray, distinct_rows
from femcore.base.errors import InputFault
from models.checks.beam_parts import beam_part_checks
from models.joints.base import SIDE_NAMES
from models.response.joint_loads import component_index
from models.strength.margins import IN_SERVICE, Check

STRENGTH_OF = {
    "yielding": "metal", "ultimate": "metal", "serviceability": "metal", "buckling": "buckling",
    "elastic_buckling": "buckling", "laminate": "laminate", "core": "laminate", "bearing": "bearing", "line": "wire",
}  # fmt: skip
"""Name of a safety factor → the strength that scatters; of glue: see `_strengths`."""
SAMPLES_AT_ONCE = 256
"""Of which the loads of all rows are held: a few megabytes."""
EACH_AT_ONCE = 1024
"""Of which the loads of a row each are held."""


def inputs_at(inputs: Sequence[ScatteredInput], numbers: Sequence[int], u: FloatArray) -> FloatArray:
    """(s, inputs), of standard normal causes u (s, causes), in the order of `causes`; `numbers`: `cause_numbers`."""
    columns = [one.at_normal(u[:, number]) for one, number in zip(inputs, numbers, strict=True)]
    return np.stack(columns, axis=1) if columns else np.zeros((len(u), 0))


def cause_numbers(inputs: Sequence[ScatteredInput]) -> list[int]:
    """Of each input, which of `causes` it has."""
    every = causes(inputs)
    return [every.index(one.cause) for one in inputs]


def causes(inputs: Sequence[ScatteredInput]) -> tuple[str, ...]:
    """Each once, in the order of the inputs."""
    return tuple(dict.fromkeys(one.cause for one in inputs))


@dataclass(frozen=True, eq=False)
class JointLimits:
    """All checks that are made with one joint, as functions of the inputs.

    checks  : of the joint's own parts, of those beside it, of those with the stay at its breaking load; in this order
    own     : (c,), which are the joint's own;   factor : (r, c)
    at_joint, on_parts : (r, 12) and (r, z + 4), loads without scatter
    breaking : (b,), ln of the utilisations with the stay at its breaking load, factors in;   row_names : (r,)
    left_out : why keys are taken as exact, in part
    by_keys : of each key of the file (first, second), (c,): what it changes of ln utilisation by the parts themselves
    """

    samples: JointSamples
    checks: tuple[Check, ...]
    own: BoolArray
    factor: FloatArray
    at_joint: FloatArray
    on_parts: FloatArray
    breaking: FloatArray
    row_names: tuple[str, ...]
    by_keys: tuple[tuple[FloatArray, FloatArray], ...]
    left_out: tuple[InputFault, ...]

    @classmethod
    def of(cls, samples: JointSamples, margins: PartMargins) -> JointLimits:
        """Of the checks that are made without scatter. InputFault where a key changes which checks there are."""
        nominal = np.array([[one.nominal for one in samples.samples.inputs]])
        at_joint, on_parts = (of[0] for of in samples.loads(nominal))
        own = tuple(check for check in margins.own if check.kind == "checked")
        beside = tuple(check for check in margins.other_checks if check.kind == "checked")
        last = tuple(check for check in margins.at_breaking_load.checks if check.kind == "checked")
        count = len(own) + len(beside) + len(last)
        effects, left_out = list[tuple[FloatArray, FloatArray]](), list[InputFault]()
        for key in samples.keys:
            try:
                effects.append(_by_key(key, samples, at_joint, on_parts, own, beside, len(last)))
            except InputFault as fault:
                if samples.samples.inputs[key.input].basis == "entered":
                    raise
                effects.append((np.zeros(count), np.zeros(count)))
                left_out.append(fault)
        worst = np.array([float((_factors(check) * check.load / check.allowable).max()) for check in last])
        return cls(
            samples, (*own, *beside, *last),
            np.arange(count) < len(own),
            np.stack([_factors(check) for check in (*own, *beside)], axis=1) if own or beside else np.ones((len(at_joint), 0)),
            at_joint, on_parts,
            np.log(np.maximum(worst, 1e-9)),
            margins.rows.names,
            tuple(effects), (*samples.left_out, *left_out),
        )  # fmt: skip

    @cached_property
    def planes_of_joint(self) -> CheckPlanes:
        """Of the joint's own checks, at the rows that govern."""
        joint, factors = self.samples.joint, self.samples.samples.file.factors

        def checks(loads: FloatArray) -> tuple[Check, ...]:
            return joint.checks(loads.reshape(-1, 2, 6), factors)

        return _planes(checks, self.at_joint, self.checks[: int(self.own.sum())], sides=2)

    @cached_property
    def planes_of_parts(self) -> CheckPlanes:
        """Of the checks beside the joint likewise, worked out when first asked for: nothing costs more."""
        file = self.samples.samples.file

        def checks(loads: FloatArray) -> tuple[Check, ...]:
            return beam_part_checks(file, self.samples.part_loads(loads), file.factors)

        return _planes(checks, self.on_parts, self.checks[int(self.own.sum()) : self.factor.shape[1]])

    @property
    def inputs(self) -> tuple[ScatteredInput, ...]:
        """That scatter."""
        return self.samples.samples.inputs

    def inputs_at(self, u: FloatArray) -> FloatArray:
        """(s, inputs), of standard normal causes u (s, causes), in the order of `causes`."""
        return inputs_at(self.inputs, self._cause_numbers, u)

    @cached_property
    def _cause_numbers(self) -> list[int]:
        return cause_numbers(self.inputs)

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Names of all parts that are checked, both sides as one, in the order of the checks."""
        return tuple(dict.fromkeys(of_either_side(check.part) for check in self.checks))

    def of_part(self, part: str) -> IntArray:
        """Numbers of its checks, on both sides."""
        return np.array(
            [number for number, check in enumerate(self.checks) if of_either_side(check.part) == part]
        )

    @cached_property
    def in_service(self) -> BoolArray:
        """(c,), which checks are limits in service, beyond which nothing breaks."""
        return np.array([check.factor.name in IN_SERVICE for check in self.checks], dtype=bool)

    @cached_property
    def nominal(self) -> FloatArray:
        """(rows, checks), ln(1 + margin) without scatter."""
        return np.asarray(self.log_margins(np.array([[one.nominal for one in self.inputs]]))[0])

    def log_margins(
        self, x: FloatArray, rows: IntArray | None = None, checks: IntArray | None = None
    ) -> FloatArray:
        """(s, rows, checks), ln(1 + margin) of inputs x (s, inputs), in some rows, of some checks."""
        rows = np.arange(len(self.factor)) if rows is None else rows
        checks = np.arange(len(self.checks)) if checks is None else checks
        return self.from_loads(x, *self.samples.loads(x, rows), rows, checks)

    def lowest(self, x: FloatArray, checks: IntArray) -> FloatArray:
        """(s,), the lowest ln(1 + margin) of some checks over all rows, of inputs x (s, inputs)."""
        if not len(x):
            return np.zeros(0)
        # inputs that no load depends on leave the utilisations of all rows as they are
        first, same = distinct_rows(x[:, self.samples.changing_loads])
        some = (x[first[at : at + SAMPLES_AT_ONCE]] for at in range(0, len(first), SAMPLES_AT_ONCE))
        found = [self._largest(each, *self.samples.loads(each), checks)[0] for each in some]
        used = np.concatenate(found)[same] + self._beside_loads(x, checks)
        return np.asarray(-used.max(axis=1))

    def lowest_of_rows(
        self, x: FloatArray, at_joint: FloatArray, on_parts: FloatArray, checks: IntArray
    ) -> tuple[FloatArray, FloatArray]:
        """(s, checks), the lowest ln(1 + margin) of each check's rows, and the same without safety factors; the loads given."""
        beside = self._beside_loads(x, checks)
        factored, plain = self._largest(x, at_joint, on_parts, checks)
        return -(factored + beside), -(plain + beside)

    def of_each(self, x: FloatArray, rows: IntArray, checks: IntArray) -> FloatArray:
        """(s,), ln(1 + margin) of inputs x (s, inputs), each sample in a row and of a check of its own (s,)."""
        first, same = distinct_rows(np.column_stack([x[:, self.samples.changing_loads], rows]))
        # those in whose rows no movement is to be reached, which takes longer, by themselves
        aimed = self.samples.aimed_rows[rows[first]]
        order = np.argsort(aimed, kind="stable")
        ends = sorted({*range(0, len(first), EACH_AT_ONCE), int((~aimed).sum()), len(first)})
        blocks = (first[order[start:end]] for start, end in pairwise(ends))
        loads = zip(*(self.samples.loads(x[some], rows[some, None]) for some in blocks), strict=True)
        place = np.argsort(order)[same]
        at_joint, on_parts = (np.concatenate(one)[place] for one in loads)
        used = np.empty(len(x))
        pairs, pair = np.unique(np.stack([rows, checks]), axis=1, return_inverse=True)
        for number in range(pairs.shape[1]):
            of = np.flatnonzero(pair == number)
            found = self._log_used(x[of], at_joint[of], on_parts[of], *pairs[:, [number]])
            used[of] = found[:, 0, 0]
        every, which = np.unique(checks, return_inverse=True)
        return -(used + self._beside_loads(x, every)[np.arange(len(x)), which])

    def from_loads(
        self, x: FloatArray, at_joint: FloatArray, on_parts: FloatArray, rows: IntArray, checks: IntArray
    ) -> FloatArray:
        """As `log_margins`, the loads given."""
        used = self._log_used(x, at_joint, on_parts, rows, checks)
        return utilisation_to_margin(used, self._beside_loads(x, checks))

    def _log_used(
        self, x: FloatArray, at_joint: FloatArray, on_parts: FloatArray, rows: IntArray, checks: IntArray
    ) -> FloatArray:
        """(s, rows, checks), ln of the utilisation by loads alone, with safety factors."""
        regular, last = self._of_rows(checks)
        found = [
            np.log(used, out=used) + np.log(self.factor[np.ix_(rows, some)])
            for some, used in self._utilisations(x, at_joint, on_parts, rows, regular)
        ]
        if len(last):
            found.append(np.broadcast_to(self.breaking[last], (len(x), len(rows), len(last))))
        return np.concatenate(found, axis=2)

    def _of_rows(self, checks: IntArray) -> tuple[IntArray, IntArray]:
        """Those of the checks that are made in the rows, and the numbers in `breaking` of the others."""
        made = self.factor.shape[1]
        return checks[checks < made], checks[checks >= made] - made

    def _utilisations(
        self, x: FloatArray, at_joint: FloatArray, on_parts: FloatArray, rows: IntArray, checks: IntArray
    ) -> Iterator[tuple[IntArray, FloatArray]]:
        """Of the joint's own parts, then of those beside it: which of the checks, and (s, rows, these), no factor in."""
        own, main = int(self.own.sum()), self.samples.main_factors(x, rows)
        of_joint, of_parts = checks[checks < own], checks[checks >= own]
        if len(of_joint):
            yield of_joint, self.planes_of_joint.utilisation(at_joint, main, rows, of_joint)
        if len(of_parts):
            yield of_parts, self.planes_of_parts.utilisation(on_parts, main, rows, of_parts - own)

    def _largest(
        self, x: FloatArray, at_joint: FloatArray, on_parts: FloatArray, checks: IntArray
    ) -> tuple[FloatArray, FloatArray]:
        """(s, checks), ln of the largest utilisation of each check's rows by loads alone, with safety factors and without."""
        rows = np.arange(len(self.factor))
        regular, last = self._of_rows(checks)
        factored, plain = list[FloatArray](), list[FloatArray]()
        for some, used in self._utilisations(x, at_joint, on_parts, rows, regular):
            plain.append(np.log(used.max(axis=1)))
            factored.append(np.log(np.multiply(used, self.factor[:, some], out=used).max(axis=1)))
        if len(last):
            breaking = np.broadcast_to(self.breaking[last], (len(x), len(last)))
            factored.append(breaking)
            plain.append(breaking - self._log_factor_at_breaking[last])
        return np.concatenate(factored, axis=1), np.concatenate(plain, axis=1)

    @cached_property
    def _log_factor_at_breaking(self) -> FloatArray:
        """(b,), of the checks with the stay at its breaking load."""
        return np.log([_factors(check).max() for check in self.checks[self.factor.shape[1] :]])

    def _beside_loads(self, x: FloatArray, checks: IntArray) -> FloatArray:
        """(s, checks), ln of what multiplies each utilisation beside loads: strengths, model, keys of the parts themselves."""
        result = np.zeros((len(x), len(checks)))
        made = self.factor.shape[1]
        for number, one in enumerate(self.inputs):
            value = x[:, [number]]
            if one.group == "strength":
                hit = np.array([one.key in self._strengths[check] for check in checks], dtype=bool)
                if one.key == "joint_model":
                    hit = self.own[checks] & (one.part == self.samples.joint.name)
                    result[:, hit] += np.log(value)
                elif one.key == "plastic_strain":
                    gain = self._plastic_gain[checks]
                    result -= 0.5 * np.log1p((value - 1) * gain)
                else:
                    result[:, hit] -= np.log(np.maximum(value, 1e-9))
            elif one.key == "breaking_load":
                result[:, checks >= made] += np.log(value)
        for key, (first, second) in zip(self.samples.keys, self.by_keys, strict=True):
            t = key.distance(self.inputs[key.input], x[:, [key.input]])
            result += t * first[checks] + t**2 * second[checks]
        return result

    @cached_property
    def _strengths(self) -> tuple[frozenset[str], ...]:
        """Of each check, the kinds of inputs that multiply what it allows."""
        return tuple(map(_strengths, self.checks))

    @cached_property
    def _plastic_gain(self) -> FloatArray:
        """(c,), of capacity squared, the part that is in proportion to the plastic strain; 0 without."""
        gain = np.zeros(len(self.checks))
        for number, check in enumerate(self.checks):
            if check.plastic is not None:
                case = int((check.load / check.allowable).argmax())
                full, brittle = (
                    float(check.load[case] / check.allowable[case]),
                    float(check.plastic.brittle[case]),
                )
                gain[number] = max(0.0, 1 - (full / brittle) ** 2) if brittle > 0 else 0.0
        return gain


def largest_moments(at_joint: FloatArray) -> FloatArray:
    """(s, 2), N·m, torque and vertical bending: the largest size over rows and sides, of loads (s, rows, 12); 0 for rounding."""
    sides = np.abs(at_joint.reshape(len(at_joint), -1, 6))
    found = np.stack([sides[..., component_index(name)].max(axis=1) for name in ATTRACTED], axis=1)
    return np.where(found > REL_TOL_ROUNDING_LOAD * sides.max(axis=(1, 2))[:, None], found, 0.0)


def of_either_side(part: str) -> str:
    """The name of a part without its side."""
    for side in SIDE_NAMES:
        part = part.removeprefix(f"{side} ")
    return part


def utilisation_to_margin(log_utilisation: FloatArray, beside: FloatArray) -> FloatArray:
    """(s, rows, checks), ln(1 + margin), in place of the logarithms of utilisations."""
    log_utilisation += beside[:, None]
    return np.negative(log_utilisation, out=log_utilisation)


def _factors(check: Check) -> FloatArray:
    """(rows,), the safety factor in each."""
    return np.array([check.factor_in(row).value for row in range(len(check.load))])


def _strengths(check: Check) -> frozenset[str]:
    name = check.factor.name
    if name in ("bond", "bond_elastic"):
        found = {"glue_peel" if "peel" in check.check.lower() else "glue_shear"}
        return frozenset(found | ({"glue_condition"} if name == "bond_elastic" else set()))
    return frozenset({STRENGTH_OF[name]}) if name in STRENGTH_OF else frozenset()


def _planes(
    checked: CheckedLoads, loads: FloatArray, checks: tuple[Check, ...], sides: int = 1
) -> CheckPlanes:
    exact = utilisations(checks)
    factors = np.stack([_factors(check) for check in checks], axis=1)
    return CheckPlanes.of(checked, loads, exact, exact * factors, sides)


def _by_key(
    key: KeyEffect, samples: JointSamples, at_joint: FloatArray, on_parts: FloatArray,
    own: tuple[Check, ...], beside: tuple[Check, ...], breaking: int,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """First and second of the parabola of ln utilisation, at the governing rows' loads, that the parts themselves make."""
    factors, one = samples.samples.file.factors, samples.samples.inputs[key.input]
    count = len(own) + len(beside)
    first, second = np.zeros(count + breaking), np.zeros(count + breaking)
    if one.key.split(".")[0] in ("cases", "stay"):
        return first, second
    changed = []
    for boat, joint in zip(key.boats, key.joints, strict=True):
        made: list[Check] = []
        if own:
            made += joint.checks(at_joint.reshape(-1, 2, 6), factors) if joint != samples.joint else own
        made += beam_part_checks(boat, samples.part_loads(on_parts), factors) if beside else ()
        checked = [check for check in made if check.kind == "checked"]
        if len(checked) != count:
            raise InputFault(
                f"scatter of '{one.key}'", "changes which checks are made", "leave its scatter out"
            )
        changed.append(np.log(np.maximum(utilisations(checked), 1e-9)))
    exact = utilisations((*own, *beside))
    row = exact.argmax(axis=0), np.arange(count)
    lower, higher = (one[row] for one in changed)
    first[:count], second[:count] = parabola(key.steps, lower, np.log(np.maximum(exact[row], 1e-9)), higher)
    return first, second


__all__ = ["JointLimits", "cause_numbers", "causes", "inputs_at", "largest_moments"]
