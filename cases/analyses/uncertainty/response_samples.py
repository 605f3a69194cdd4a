"""What acts on joints and parts in every case and combination of many samples of a boat: each exact in stiffness and loads.

Stiffness, loads, pretension and the joint's springs are changed in a front end that is reduced once
(`models.response.front_end_variants`). What else a row has over linear theory without scatter (second order, a combination that
was solved as a whole) is added in proportion to the load that is largest in it. A key of the file that is none of these enters by
the boats at one standard deviation to either side of it: a parabola for each load, beside the other changes, not times them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, fields
from functools import cached_property, reduce
from typing import TypeAlias

import numpy as np

from cases.analyses.case_rows import CaseRows, Responses, responses
from cases.analyses.part_loads import CheckedPlaces, stay_force
from cases.analyses.solved_cases import READINGS
from cases.analyses.uncertainty.load_parts import LoadPart, load_parts
from cases.input.boat_file import BoatFile
from cases.input.scatter import ScatteredInput, cases_of_their_own
from cases.input.variants import Variant
from cases.loads import case_loads
from femcore.base.arrays import BoolArray, FloatArray, IntArray, distinct_rows
from femcore.base.errors import InputFault, InputFaults, StructureFault
from femcore.frame.frame import Loads
from femcore.solvers.frame_changes import Changes, EndSprings
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import Solution, solve
from models.checks.beam_parts import PartLoads
from models.checks.bow_walls import shell_places
from models.joints import Joint
from models.response.front_end import FrontEnd, build
from models.response.front_end_variants import FrontEndVariants
from models.response.joint_loads import joint_loads
from models.response.stiffness_names import springs_of_joints

BOTH_JOINTS = 12
"""Loads on both joints, the first coordinates."""
STAY = 3
"""Of its pull, the last coordinates of a load on the parts, before the buckling utilisation of the frame."""
MAX_COORDINATES = 16
REL_TOL_COORDINATE = 1e-4
"""Of the largest of what acts on the parts: a direction with less of it is left out of their coordinates."""
PILOTS = 6
"""Samples from which these coordinates are taken, besides all rows."""
SCALED_BY: Mapping[str, tuple[str, ...]] = {
    "platform_EI": ("EI_vertical", "GA_vertical", "end_roll", "symmetric_roll"),
    "platform_GJ": ("GJ",),
    "hull_EI": ("EI_vertical", "EI_lateral", "EA"),
    "hull_GJ": ("GJ",),
    "crossbeam_EI": ("EI_vertical", "EI_lateral", "EA"),
    "crossbeam_GJ": ("GJ",),
    "longeron_EI": ("EI_vertical", "EI_lateral", "EA", "GJ"),
}
"""Kinds of inputs → the stiffnesses of a member that they scale."""
HULLS_AFT = "platform.hulls"
_NoLoads: TypeAlias = InputFault | InputFaults | StructureFault
"""Why a boat with a key changed has no loads."""


def scales(one: ScatteredInput, group: str) -> bool:
    """Whether an input multiplies the stiffness group of that name (`models.response.stiffness_names`)."""
    part, _, quantity = group.rpartition(".")
    if one.key == "platform_EI" and part == "root":
        return True
    if quantity not in SCALED_BY.get(one.key, ()):
        return False
    if part in (HULLS_AFT, "bows"):
        return one.key.startswith("hull")
    if part.startswith("platform."):
        return one.key.startswith("platform") and one.part in ("", part.removeprefix("platform."))
    return one.key.startswith(part)


def _flat(values: Responses) -> FloatArray:
    """(r, q), of all that acts on the parts beside the joints."""
    return np.concatenate(
        [getattr(values, key).reshape(len(values.joint_load), -1) for key in _PART_FIELDS], axis=1
    )


def _by_case(part: FloatArray) -> FloatArray:
    """(c, x), of an array with cases on its first axis."""
    return part.reshape(len(part), -1)


_PART_FIELDS = tuple(one.name for one in fields(Responses) if one.name not in ("joint_load", "stems"))


@dataclass(frozen=True, eq=False)
class BoatSamples:
    """A boat ready for samples with any of its joints.

    inputs : that scatter;   parts : of its loads;   variants : of its front end
    to_coordinates, from_coordinates : (q, z) and (z, q), of what acts on the parts (`_flat`)
    """

    file: BoatFile
    inputs: tuple[ScatteredInput, ...]
    parts: tuple[LoadPart, ...]
    variants: FrontEndVariants
    to_coordinates: FloatArray
    from_coordinates: FloatArray

    @classmethod
    def of(cls, file: BoatFile, rows: Sequence[CaseRows], inputs: tuple[ScatteredInput, ...]) -> BoatSamples:
        """Reduce the front end; `rows` of the joints that will be asked for. StructureFaults as of `solve`."""
        parts = load_parts(file, cases_of_their_own(inputs))
        targets = {
            number: (READINGS[target.reading], target.size)
            for number, part in enumerate(parts)
            if (target := part.load.target()) is not None and target.size
        }

        def loads(front: FrontEnd) -> Loads:
            return case_loads(front, [part.load for part in parts])

        readings = {"parts": lambda front, one: _flat(responses(front, one))}
        whole = FrontEndVariants.of(file, loads, readings, targets, forces_alone=True)
        pilots = np.exp(0.3 * np.random.default_rng(0).standard_normal((PILOTS, len(whole.groups))))
        weights = np.eye(len(parts) + 1, len(parts))[None]  # the last: under pretension alone
        drawn = [
            whole.solve(one.joint.stiffness(), Changes(multipliers=pilots, weights=weights)).more["parts"]
            for one in rows
        ]
        seen = np.concatenate([_flat(one.values) for one in rows] + [np.concatenate([*one]) for one in drawn])
        scale = np.abs(seen).max(axis=0)
        scale = np.maximum(scale, max(REL_TOL_COORDINATE * scale.max(initial=0.0), np.finfo(float).tiny))
        _, sizes, directions = np.linalg.svd(seen / scale, full_matrices=False)
        kept = directions[sizes > REL_TOL_COORDINATE * sizes.max(initial=0.0)][:MAX_COORDINATES]
        # rounding leaves their signs open, and differences to one side of a rounded utilisation have an error of that sign
        kept = kept * np.where(kept @ np.arange(1, kept.shape[1] + 1) < 0, -1.0, 1.0)[:, None]
        basis = (kept / scale).T
        return cls(file, inputs, parts, whole.projected("parts", basis), basis, kept * scale)

    @cached_property
    def scaled_groups(self) -> dict[int, list[int]]:
        """Of each input that scales stiffnesses, by its number: which groups."""
        groups = self.variants.groups
        found = {
            number: [at for at, group in enumerate(groups) if scales(one, group.name)]
            for number, one in enumerate(self.inputs)
            if one.group == "stiffness"
        }
        return {number: of for number, of in found.items() if of}

    @cached_property
    def pulls(self) -> FloatArray:
        """(l, 3), N, boat axes: the stay's pull in each load."""
        return np.array([stay_force(part.load) for part in self.parts]).reshape(-1, 3)

    @cached_property
    def aimed(self) -> BoolArray:
        """(l,), which loads are to reach a movement."""
        return ~np.isnan(self.variants.targets)

    @cached_property
    def without_targets(self) -> FrontEndVariants:
        """For rows in which none of these acts: there is nothing to aim at."""
        return self.variants.without_movements()

    def row_weights(self, rows: CaseRows) -> FloatArray:
        """(r, l), of each load in each row."""
        cases = len(rows.cases.names)
        of_case = (np.array([part.case for part in self.parts]) == np.arange(cases)[:, None]).astype(float)
        return rows.linear(of_case)

    @cached_property
    def entered(self) -> LaidBoat:
        """The boat as it is."""
        return LaidBoat.of(self.file, self.variants.front, self.parts)

    @cached_property
    def of_keys(self) -> dict[int, tuple[LaidBoat, LaidBoat] | InputFault]:
        """Of each key of the file, by the number of its input: the boats with it lower and higher, or why there are none."""
        found: dict[int, tuple[LaidBoat, LaidBoat] | InputFault] = {}
        for number, one in enumerate(self.inputs):
            if one.group == "key":
                lower, higher = one.at_normal(np.array([-1.0, 1.0])).tolist()
                try:
                    found[number] = self._with_key(one, lower), self._with_key(one, higher)
                except (InputFault, InputFaults, StructureFault) as wrong:
                    found[number] = _no_boat(one, wrong)
        return found

    def _with_key(self, one: ScatteredInput, value: float) -> LaidBoat:
        """InputFault or InputFaults where it is no boat, or has other loads."""
        file = self.file.variant(Variant(name=one.key, set=_nested(one.key, one.text_at(value))))
        parts = load_parts(file, cases_of_their_own(self.inputs))
        if [(part.case, part.kind) for part in parts] != [(part.case, part.kind) for part in self.parts]:
            raise InputFault("", "changes which loads there are", "leave its scatter out")
        return LaidBoat.of(file, build(file, self.variants.front.joint), parts)

    def unit_loads(self, boats: Sequence[LaidBoat], entered: CaseRows) -> list[FloatArray | _NoLoads]:
        """Of each boat (l + 1, 12 + z + 3), or why it has none: an InputFault where parts are checked elsewhere.

        Of each load without pretension, then of pretension: on the joints, on the parts, the stay's pull.

        boats : this boat or such with a key changed;   entered : rows of the joint as it is
        """
        alike = [number for number, boat in enumerate(boats) if self._is_alike(boat, entered)]
        found = dict[int, FloatArray | _NoLoads]()
        with suppress(StructureFault):  # of one of them: each then says it of its own
            found.update(
                zip(alike, self._together([boats[number] for number in alike], entered), strict=True)
            )
        for number, boat in enumerate(boats):
            if number not in found:
                try:
                    found[number] = self._alone(boat, entered)
                except (InputFault, InputFaults, StructureFault) as wrong:
                    found[number] = wrong
        return [found[number] for number in range(len(boats))]

    def _is_alike(self, boat: LaidBoat, entered: CaseRows) -> bool:
        """Whether only its loads differ from those of the boat as it is."""
        return (
            boat.joint(entered) == entered.joint
            and boat.front.frame.is_same(self.variants.front.frame)
            and [place.x for place in shell_places(boat.file)] == [one.x for one in shell_places(self.file)]
        )

    def _together(self, boats: Sequence[LaidBoat], entered: CaseRows) -> list[FloatArray]:
        """`unit_loads` of boats that differ in some of their loads alone: each of these is solved once."""
        if not boats:
            return []
        front = entered.front
        loads = reduce(Loads.concatenated, [boat.loads for boat in boats])
        first, same = distinct_rows(np.concatenate([_by_case(part) for part in loads.arrays], axis=1))
        own = self._coordinates(front, solve(front.prepared.all_cables_taut(), loads.only(*first.tolist())))
        rest = self._coordinates(front, front.under_pretension)
        each = own[same].reshape(len(boats), -1, own.shape[1])
        pairs = zip(boats, each, strict=True)
        return [np.concatenate([np.concatenate([one, rest]), boat.stay], axis=1) for boat, one in pairs]

    def _alone(self, boat: LaidBoat, entered: CaseRows) -> FloatArray:
        """`unit_loads` of a boat that has a frame of its own."""
        prepared = PreparedFrame.of(boat.front.with_joint(boat.joint(entered).stiffness()))
        own = solve(prepared.all_cables_taut(), boat.loads)
        rest = solve(prepared, Loads.zeros(prepared.frame, "under pretension"))
        both = [self._coordinates(boat.front, one) for one in (own, rest)]
        return np.concatenate([np.concatenate(both), boat.stay], axis=1)

    def _coordinates(self, front: FrontEnd, solution: Solution) -> FloatArray:
        """(c, 12 + z), on the joints and on the parts; InputFault where these are checked elsewhere."""
        flat = _flat(responses(front, solution))
        if flat.shape[1] != len(self.to_coordinates):
            raise InputFault("", "changes where parts are checked", "leave its scatter out")
        return np.concatenate(
            [joint_loads(solution).reshape(-1, BOTH_JOINTS), flat @ self.to_coordinates], axis=1
        )


@dataclass(frozen=True, eq=False)
class LaidBoat:
    """A boat and its loads on its frame, where they are the same with any joint.

    front : with joints of middling stiffness;   stay : (l + 1, 3), N, its pull in each load, then none under pretension
    """

    file: BoatFile
    front: FrontEnd
    loads: Loads
    stay: FloatArray

    @classmethod
    def of(cls, file: BoatFile, front: FrontEnd, parts: Sequence[LoadPart]) -> LaidBoat:
        """Of the parts of its loads."""
        stay = np.array([*(stay_force(part.load) for part in parts), np.zeros(3)])
        return cls(file, front, case_loads(front, [part.load for part in parts]), stay)

    def joint(self, entered: CaseRows) -> Joint:
        """Its joint of that name."""
        return next(other for other in self.file.joints if other.name == entered.joint.name)


@dataclass(frozen=True, eq=False)
class KeyEffect:
    """What a key of the file does: parabolas in the distance of its input from the nominal value.

    input         : its number;   steps : distances of one standard deviation to either side, lower and higher
    first, second : (l + 1, q), on the `unit_loads`
    boats, joints : with the key lower and higher
    """

    input: int
    steps: tuple[float, float]
    first: FloatArray
    second: FloatArray
    boats: tuple[BoatFile, BoatFile]
    joints: tuple[Joint, Joint]

    @classmethod
    def of(
        cls,
        samples: BoatSamples,
        rows: CaseRows,
        number: int,
        unit_loads: Mapping[int, FloatArray | _NoLoads],
    ) -> KeyEffect:
        """By the boats at one standard deviation to either side; InputFault where one of them is none.

        rows : of the joint as it is;   unit_loads : by the `id` of each boat
        """
        one, boats = samples.inputs[number], samples.of_keys[number]
        if isinstance(boats, InputFault):
            raise boats
        at = list[FloatArray]()
        for boat in (boats[0], samples.entered, boats[1]):
            found = unit_loads[id(boat)]
            if isinstance(found, Exception):
                raise found if boat is samples.entered else _no_boat(one, found)
            at.append(found)
        lower, higher = one.at_normal(np.array([-1.0, 1.0])).tolist()
        steps = lower - one.nominal, higher - one.nominal
        first, second = parabola(steps, *at)
        return cls(
            number, steps, first, second,
            (boats[0].file, boats[1].file), (boats[0].joint(rows), boats[1].joint(rows)),
        )  # fmt: skip

    def distance(self, one: ScatteredInput, x: FloatArray) -> FloatArray:
        """(s,), of values x of the input."""
        return np.asarray(x - one.nominal)


def parabola(
    steps: tuple[float, float], lower: FloatArray, middle: FloatArray, higher: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """First and second coefficient of the parabola through values at both steps and at 0; ValueError where a step is 0."""
    if 0.0 in steps or steps[0] == steps[1]:
        raise ValueError("a parabola needs three points")
    slopes = (lower - middle) / steps[0], (higher - middle) / steps[1]
    second = (slopes[1] - slopes[0]) / (steps[1] - steps[0])
    return slopes[0] - second * steps[0], second


def _no_boat(one: ScatteredInput, wrong: Exception) -> InputFault:
    words = f"has no boat at one standard deviation ({wrong})"
    return InputFault(f"scatter of '{one.key}'", words, "give a smaller scatter")


def _nested(key: str, text: str) -> dict[str, object]:
    """What sets a key: a number where the file has one."""
    try:
        return {key: float(text)}
    except ValueError:
        return {key: text}


@dataclass(frozen=True, eq=False)
class JointSamples:
    """One joint of a boat ready for samples.

    weights : (r, l), of the loads in each row;   main : (r,), the number of the load that is largest in each
    beyond  : (r, q), of each row what linear theory without scatter leaves out;   buckled : (r,), utilisation of the frame
    places  : where parts are checked;   keys : what keys of the file do;   left_out : why others are taken as exact
    """

    samples: BoatSamples
    joint: Joint
    weights: FloatArray
    main: IntArray
    beyond: FloatArray
    buckled: FloatArray
    places: CheckedPlaces
    keys: tuple[KeyEffect, ...]
    left_out: tuple[InputFault, ...]

    @classmethod
    def of(cls, samples: BoatSamples, rows: CaseRows, buckled: FloatArray) -> JointSamples:
        """`rows` of the joint, with the frame's buckling utilisation in each (r,). InputFaults where a key has no effect."""
        joint, inputs = rows.joint, samples.inputs
        weights = samples.row_weights(rows)
        own = samples.variants.solve(joint.stiffness()).joint_load[0].reshape(-1, BOTH_JOINTS)
        main = np.abs(
            weights * np.linalg.norm(own / np.maximum(np.abs(own).max(axis=0), 1e-30), axis=1)
        ).argmax(axis=1)
        keys, left_out = list[KeyEffect](), list[InputFault]()
        moved = (pair for pair in samples.of_keys.values() if not isinstance(pair, InputFault))
        boats = [samples.entered, *(boat for pair in moved for boat in pair)] if samples.of_keys else []
        unit_loads = dict(zip(map(id, boats), samples.unit_loads(boats, rows), strict=True))
        for number in samples.of_keys:
            try:
                keys.append(KeyEffect.of(samples, rows, number, unit_loads))
            except InputFault as fault:
                if inputs[number].basis == "entered":
                    raise
                left_out.append(fault)
        nothing = np.zeros((len(weights), BOTH_JOINTS + samples.to_coordinates.shape[1] + STAY))
        linear = cls(
            samples,
            joint,
            weights,
            main,
            nothing,
            buckled,
            CheckedPlaces.of(rows),
            tuple(keys),
            tuple(left_out),
        )
        at_nominal = np.array([[one.nominal for one in inputs]])
        found = np.concatenate(linear.loads(at_nominal), axis=2)[0, :, :-1]
        stay = weights @ samples.pulls
        exact = np.concatenate(
            [
                rows.values.joint_load.reshape(-1, BOTH_JOINTS),
                _flat(rows.values) @ samples.to_coordinates,
                stay,
            ],
            axis=1,
        )
        return cls(
            samples, joint, weights, main, exact - found, buckled, linear.places, linear.keys, linear.left_out
        )

    def loads(self, x: FloatArray, rows: IntArray | None = None) -> tuple[FloatArray, FloatArray]:
        """(s, rows, 12) on both joints, and (s, rows, z + 4) coordinates of what acts on the parts, of inputs x (s, inputs).

        rows : some of them, or (s, rows), each sample its own
        """
        samples, inputs, count = self.samples, self.samples.inputs, len(x)
        some = np.arange(len(self.weights)) if rows is None else rows
        scale = self._factors(x)
        aimed = samples.aimed
        weights = self.weights[some] * np.where(aimed, 1.0, scale)[:, None]
        pretension = np.ones(count)
        for number, one in enumerate(inputs):
            if one.key == "pretension":
                pretension = x[:, number]
        cables = len(samples.variants.front.frame.cables)
        changes = Changes(
            self._multipliers(x), self._springs(x), weights, np.repeat(pretension[:, None], cables, axis=1)
        )
        variants = samples.variants if self.aimed_rows[some].any() else samples.without_targets
        done = variants.solve(None, changes, np.where(aimed, scale, 1.0))
        pulls = samples.pulls
        found = np.concatenate(
            [done.joint_load.reshape(count, -1, BOTH_JOINTS), done.more["parts"], done.weights @ pulls],
            axis=2,
        )
        for key in self.keys:
            t = key.distance(inputs[key.input], x[:, key.input])[:, None, None]
            effect = t * key.first + t**2 * key.second
            found = found + done.weights @ effect[:, :-1] + pretension[:, None, None] * effect[:, -1:]
        main = self.main_factors(x, some)
        found = found + main[..., None] * self.beyond[some]
        buckled = (main * self.buckled[some])[..., None]
        return found[..., :BOTH_JOINTS], np.concatenate([found[..., BOTH_JOINTS:], buckled], axis=2)

    @cached_property
    def aimed_rows(self) -> BoolArray:
        """(r,), in which rows a load acts that is to reach a movement."""
        return np.asarray(self.weights[:, self.samples.aimed].any(axis=1))

    def part_loads(self, coordinates: FloatArray) -> PartLoads:
        """What acts on the parts, of their coordinates (r, z + 4)."""
        flat = coordinates[:, : -STAY - 1] @ self.samples.from_coordinates
        shapes = {key: getattr(self.places.shapes, key).shape[1:] for key in _PART_FIELDS}
        ends = np.cumsum([int(np.prod(shape)) for shape in shapes.values()])[:-1]
        pieces = zip(shapes.items(), np.split(flat, ends, axis=1), strict=True)
        values = {key: piece.reshape(len(flat), *shape) for (key, shape), piece in pieces}
        nothing = np.zeros((len(flat), 2, 6))
        return self.places.loads(
            Responses(joint_load=nothing, stems=nothing, **values),
            coordinates[:, -STAY - 1 : -1],
            coordinates[:, -1],
        )

    def main_factors(self, x: FloatArray, rows: IntArray) -> FloatArray:
        """(s, rows), on the largest load of each row; rows as of `loads`."""
        return np.take_along_axis(self._factors(x), np.atleast_2d(self.main[rows]), axis=1)

    def _factors(self, x: FloatArray) -> FloatArray:
        """(s, l), on the loads."""
        return np.concatenate([x, np.ones((len(x), 1))], axis=1)[:, self._scaling]

    @cached_property
    def _scaling(self) -> IntArray:
        """(l,), the number of the input that scales each load; −1 where none does."""
        inputs = self.samples.inputs
        of_kind = {one.key: number for number, one in enumerate(inputs) if one.group == "loads"}
        return np.array([of_kind.get(part.kind, -1) for part in self.samples.parts], dtype=np.int64)

    @cached_property
    def changing_loads(self) -> IntArray:
        """Numbers of the inputs that a load depends on, or what stands for one."""
        acting = {*self._scaling.tolist(), *self.samples.scaled_groups, *(key.input for key in self.keys)}
        for number, one in enumerate(self.samples.inputs):
            own = one.key == "joint_stiffness" and one.part == self.joint.name
            acting |= {number} if own or one.key == "pretension" else set()
        return np.array(sorted(acting - {-1}), dtype=np.int64)

    def _multipliers(self, x: FloatArray) -> FloatArray:
        """(s, groups), of stiffnesses."""
        result = np.ones((len(x), len(self.samples.variants.groups)))
        for number, of in self.samples.scaled_groups.items():
            result[:, of] *= x[:, [number]]
        return result

    @cached_property
    def _nominal_springs(self) -> EndSprings:
        return springs_of_joints([self.joint.stiffness()])

    def _springs(self, x: FloatArray) -> EndSprings:
        """Of both joints in each sample; free and rigid ones stay so."""
        own = self._nominal_springs
        for number, one in enumerate(self.samples.inputs):
            if one.key == "joint_stiffness" and one.part == self.joint.name:
                k = x[:, number, None, None]
                matrix = None if own.matrix is None else own.matrix * k[..., None]
                return EndSprings(own.springs * k, np.repeat(own.axes, len(x), axis=0), matrix)
        return own


__all__ = ["BoatSamples", "JointSamples", "KeyEffect", "parabola", "scales"]
