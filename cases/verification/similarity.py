"""What the theory of a textbook case says after a change: as published, scaled exactly, or no longer applicable.

The source's numbers follow a change exactly where the changed frame is similar to the book's: one factor for all lengths, one for
all stiffnesses that take part and one for all loads. A stiffness takes part only where its action is not zero: in a frame
that only bends, EA does not enter, so that a cantilever's deflection follows its length by the cube. Dimensional analysis gives
the factor of each value:

    movement φ λ/ε    rotation φ/ε    force φ    moment φ λ    load factor ε/φ    frequency √(ε/(λ μ))

    λ : of lengths;   ε : of EA (EI is λ² ε, a spring ε/λ, a rotational one ε λ);   φ : of forces;   μ : of masses

In a linear frame φ is free; in the deformed shape strains have to stay what they are: φ = ε. Forces depend on those stiffnesses
alone that a state of self-stress strains: in a statically determinate frame on none. Theory that leaves the stretch of members
out (their A is very large) goes on where the similar frame, its EA scaled with the rest, has the same value, to a tenth of the
source's tolerance.

Source: E. Buckingham, On physically similar systems, Phys. Rev. 4 (1914) 345-376 (from memory); worked here for frames.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Literal

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.files.frame_file import Expectation, FrameFile, frame_of, loads_of
from femcore.files.frame_file.tables import Beam, Case
from femcore.files.frame_run import FrameRun, value_of
from femcore.frame.frame import FREEDOMS, Frame, Loads
from femcore.results.member_forces import actions_at
from femcore.solvers.assembly import Parts, internal_forces, natural_forces, parts_of
from femcore.solvers.solution import Solution, solve

REL_TOL_PROPORTION = 1e-9
"""Of a ratio: factors nearer than this are one factor."""
REL_TOL_IDLE = 1e-9
"""Of the largest action, moments over the frame's size: a smaller one is rounding, and its stiffness does not take part."""
REL_TOL_SELF_STRESS = 1e-8
"""Of unit states of self-stress, and of the largest singular value of equilibrium: less is rounding."""
REL_TOL_MODE = 1e-6
"""The same of a mode, which an iteration finds, and of the actions that a load factor multiplies."""
NEGLIGIBLE = 0.1
"""Of a value's tolerance: what the stretch of members may change where the theory leaves it out."""
NOT_LINEAR = "in the deformed shape loads and stiffnesses do not change the result in proportion"
Status = Literal["published", "scaled", "none"]


@dataclass(frozen=True)
class Theory:
    """What the theory says of one value: `factor` times the published one; with "none" nothing, for the reason in `words`."""

    status: Status
    factor: float
    words: str


class NotSimilar(Exception):
    """The changed frame is not similar to that of the source; the message says why."""


@dataclass(frozen=True)
class Scale:
    """Factors of length, stiffness (EA), force and mass."""

    length: float
    stiffness: float
    force: float
    mass: float = 1.0

    def of(self, expect: Expectation) -> float:
        """The factor of an expected quantity."""
        kind = expect.kind
        if kind == "buckling factor":
            return self.stiffness / self.force
        if kind == "frequency":
            return float(np.sqrt(self.stiffness / (self.length * self.mass)))
        if kind in ("Mx", "My", "Mz", "T"):
            return self.force * self.length
        turn = self.force / self.stiffness
        return turn * self.length if kind[0] == "u" else turn if kind[0] == "r" else self.force


def theories(before: FrameRun, after: FrameRun, *, discrete: bool = False) -> list[Theory]:
    """What the theory of `before`, as published, says of each value that it expects, now that the frame is that of `after`.

    discrete : whether the published values are those of as many elements as the source has
    """
    counts = [[beam.divide for beam in run.file.beams] for run in (before, after)]
    if discrete and counts[0] != counts[1]:
        words = f"its values are those of {sum(counts[0])} elements, not of the continuous beam"
        return [Theory("none", float("nan"), words) for _ in before.file.expect]
    comparison = _Comparison(before, after)
    return [_theory(comparison, expect) for expect in before.file.expect]


def _theory(comparison: _Comparison, expect: Expectation) -> Theory:
    try:
        factor = comparison.scale(expect).of(expect)
    except NotSimilar as reason:
        return Theory("none", float("nan"), str(reason))
    unchanged = abs(factor - 1) <= REL_TOL_PROPORTION
    return Theory("published", 1.0, "") if unchanged else Theory("scaled", factor, "")


def _undivided(file: FrameFile) -> FrameFile:
    """The file with one element for each beam: theory does not know of elements."""
    return file.model_copy(update={"beams": [beam.model_copy(update={"divide": 1}) for beam in file.beams]})


class _Comparison:
    """The source's frame and the changed one, each beam as one element."""

    def __init__(self, before: FrameRun, after: FrameRun) -> None:
        self.before, self.after = before, after
        self.files = _undivided(before.file), _undivided(after.file)
        self.frames = frame_of(self.files[0]), frame_of(self.files[1])
        self._similar: dict[tuple[int, float], Solution] = {}

    @cached_property
    def length(self) -> float:
        """NotSimilar where parts or ways of solving differ, or where lengths have no common factor."""
        _require_same_frame(*self.files, *self.frames)
        return _length(*self.frames)

    @cached_property
    def redundant(self) -> _Active:
        """Which stiffnesses take part in forces: those that a state of self-stress strains; statics gives all other forces."""
        frame = self.frames[0]
        stressed = _self_stressed(parts_of(frame))
        of_beams = stressed[: len(frame.ends)]
        beams = np.stack([np.any(of_beams[:, list(kind)], axis=1) for kind in KINDS], axis=1)
        ends = np.repeat(np.asarray(beams.any(axis=1)).reshape(-1, 1), 12, axis=1)
        return _Active(beams, ends, stressed[len(frame.ends) :], np.ones(len(frame.cables), bool))

    def scale(self, expect: Expectation) -> Scale:
        """NotSimilar where there is none."""
        length, number = self.length, self.before.solution.case(expect.case)
        pairs = zip(self.files, self.frames, strict=True)
        old, new = (loads_of(file, frame).only(number) for file, frame in pairs)
        deformed = bool(self.before.solution.second_order[number])
        stiffness = self._stiffness(expect, number, deformed=deformed)
        force = _common(
            _load_ratios(*self.frames, old, new, length, stiffness),
            "loads are no longer in the source's proportion",
        )
        cables = self.frames[0].cables
        if force < 0 and len(cables):
            raise NotSimilar("cables that are pulled by the source's loads would have to push")
        if not expect.mode:
            if deformed and not _equal(force, stiffness):
                raise NotSimilar(NOT_LINEAR)
            return Scale(length, stiffness, force)
        mass = 1.0
        acts = any(part.any() for part in old.arrays) or bool(cables.pretension.any())
        if expect.kind == "frequency":
            mass = _common(
                _mass_ratios(*self.frames, length), "masses are no longer in the source's proportion"
            )
        strained = deformed or cables.pretension.any() or (expect.kind == "frequency" and acts)
        if strained and not _equal(force, stiffness):
            raise NotSimilar(NOT_LINEAR)
        if acts:
            _require_same_actions(self.before, self.after, number, length, force)
        return Scale(length, stiffness, force, mass)

    def _stiffness(self, expect: Expectation, number: int, *, deformed: bool) -> float:
        """The factor of all stiffnesses that take part in a value."""
        if expect.mode:
            return self._common_stiffness(_in_mode(self.before, self.after, expect))
        active = _in_case(self.before, number)
        try:
            return self._common_stiffness(active)
        except NotSimilar:
            if deformed:
                raise
        if expect.kind not in FREEDOMS and not len(self.frames[0].cables):
            active = active.within(self.redundant)
        if not active.beams[:, 0].any():
            return self._common_stiffness(active)
        beams = active.beams.copy()
        beams[:, 0] = False
        stiffness = self._common_stiffness(replace(active, beams=beams))
        similar = value_of(self._stretching(number, stiffness), expect, 0)
        now = value_of(self.after.solution, expect, number)
        relative = expect.allowed / abs(expect.expected) if expect.expected else 0.0
        if abs(similar - now) > NEGLIGIBLE * relative * abs(now):
            raise NotSimilar("the stretch of members takes part, and is no longer in the source's proportion")
        return stiffness

    def _common_stiffness(self, active: _Active) -> float:
        ratios = _stiffness_ratios(*self.frames, self.length, active)
        return _common(ratios, "stiffnesses are no longer in the source's proportion")

    def _stretching(self, number: int, stiffness: float) -> Solution:
        """The changed frame with the source's EA times the factor of all other stiffnesses, in one case."""
        key = number, stiffness
        if key not in self._similar:
            solution = self.after.solution
            EA = np.repeat(self.frames[0].EA * stiffness, [beam.divide for beam in self.after.file.beams])
            self._similar[key] = solve(replace(solution.frame, EA=EA), solution.loads.only(number))
        return self._similar[key]


def _equal(one: float, other: float) -> bool:
    return abs(one - other) <= REL_TOL_PROPORTION * abs(other)


def _require_same_frame(old: FrameFile, new: FrameFile, before: Frame, after: Frame) -> None:
    """NotSimilar where parts, supports, releases or the way of solving are others."""
    for what, same in (
        ("members connect other nodes", _parts(old) == _parts(new)),
        (
            "there are other load cases",
            [case.name for case in old.cases] == [case.name for case in new.cases],
        ),
    ):
        if not same:
            raise NotSimilar(f"{what} than the source's")
    for one, other in zip(old.beams, new.beams, strict=True):
        _require_same_ends(one, other)
    if not np.array_equal(before.fixed, after.fixed):
        raise NotSimilar("supports fix other directions than the source's")
    if not np.array_equal(before.springs > 0, after.springs > 0):
        raise NotSimilar("springs act in other directions than the source's")
    for first, second in zip(old.cases, new.cases, strict=True):
        _require_same_way(first, second)


def _parts(file: FrameFile) -> list[object]:
    beams = [(beam.name, beam.start, beam.end) for beam in file.beams]
    springs = [(spring.start, spring.end) for spring in file.springs]
    return [
        list(file.nodes),
        beams,
        springs,
        [(cable.name, cable.path, cable.gripped) for cable in file.cables],
    ]


def _require_same_ends(one: Beam, other: Beam) -> None:
    for end, first, second in zip(("start", "end"), one.ends(), other.ends(), strict=True):
        was, now = _rigidity(first.springs), _rigidity(second.springs)
        if (now < was).any():
            raise NotSimilar(
                f"the {end} of {one.name} was given a release or a spring that the source's does not have"
            )
        if (now > was).any():
            raise NotSimilar(f"the {end} of {one.name} is held where the source's has a release or a spring")


def _require_same_way(first: Case, second: Case) -> None:
    if first.second_order != second.second_order:
        way = "in the deformed shape" if second.second_order else "in the frame as drawn"
        raise NotSimilar(f"the case '{first.name}' is now solved {way}, the source's is not")
    if first.lumped_mass != second.lumped_mass or first.pretension_grows != second.pretension_grows:
        raise NotSimilar(f"the case '{first.name}' counts mass or pretension otherwise than the source")


def _rigidity(springs: Sequence[float]) -> FloatArray:
    """0 released, 1 a spring, 2 rigid."""
    given = np.array(springs)
    return np.where(given == 0, 0.0, np.where(np.isinf(given), 2.0, 1.0))


def _length(before: Frame, after: Frame) -> float:
    """The factor of all lengths; NotSimilar where there is none."""
    arms = (
        [before.offsets.reshape(-1, 3), before.cables.arms],
        [after.offsets.reshape(-1, 3), after.cables.arms],
    )
    old, new = (
        np.concatenate([frame.nodes - frame.nodes[0], *arm])
        for frame, arm in zip((before, after), arms, strict=True)
    )
    factor = float(np.linalg.norm(new)) / (float(np.linalg.norm(old)) or 1.0)
    same_axes = np.allclose(before.axes, after.axes, rtol=0, atol=REL_TOL_PROPORTION)
    if not same_axes or np.abs(new - factor * old).max() > REL_TOL_PROPORTION * after.size:
        raise NotSimilar("lengths are no longer in the source's proportion")
    return factor or 1.0


@dataclass(frozen=True, slots=True, eq=False)
class _Active:
    """Which stiffnesses take part: of beams (m, 6) by action, of their ends (m, 12), of springs (s, 6), of cables (k,)."""

    beams: BoolArray
    ends: BoolArray
    springs: BoolArray
    cables: BoolArray

    def within(self, other: _Active) -> _Active:
        """Those of both."""
        pairs = ((getattr(self, one.name), getattr(other, one.name)) for one in fields(self))
        return _Active(*(first & second for first, second in pairs))


def _in_case(run: FrameRun, number: int) -> _Active:
    """In a load case: where the actions of the source's own frame are not zero."""
    solution, frame = run.solution, run.solution.frame
    count = len(frame.ends)
    element, xi = np.repeat(np.arange(count), 5), np.tile(np.linspace(0, 1, 5), count)
    sizes = np.abs(actions_at(solution, element, xi)[number]).reshape(count, 5, 6)
    springs = np.abs(solution.natural[number, count:])
    weights = np.array([1.0] * 3 + [1 / frame.size] * 3)
    largest = max((one * weights).max(initial=0.0) for one in (sizes, springs))
    limit = REL_TOL_IDLE * max(largest, float(solution.tension[number].max(initial=0.0))) / weights
    of_elements = (sizes > limit).any(axis=1)
    first, last = ([getattr(one, end) for one in frame.members.values()] for end in ("first", "last"))
    ends = np.concatenate([sizes[first, 0], sizes[np.array(last, dtype=int) - 1, -1]], axis=1)
    return _Active(
        _of_members(frame, of_elements),
        ends > np.tile(limit, 2),
        springs > limit,
        solution.tension[number] > 0,
    )


def _self_stressed(parts: Parts) -> BoolArray:
    """(p, 6): natural forces of beams, then springs, that are not zero in every state of self-stress."""
    size, count = parts.frame.size, len(parts.nodes)
    weights = np.array([1.0] + [size] * 5)  # N and N·m become comparable
    values, vectors = np.linalg.eigh(parts.k * weights[:, None] * weights / size**2)
    stiff = values > REL_TOL_IDLE * values.max(axis=1, initial=0.0)[:, None]
    part, mode = np.nonzero(stiff)
    q = np.zeros((len(part), count, 6))
    q[np.arange(len(part)), part] = vectors[part, :, mode] * weights
    nodal = np.asarray(internal_forces(parts, q, dtype=np.float64)) / ([1.0] * 3 + [size] * 3)
    _, sizes, states = np.linalg.svd(parts.unknowns(nodal).T)
    states = states[int((sizes > REL_TOL_SELF_STRESS * sizes.max(initial=0.0)).sum()) :]
    stressed = np.abs(np.einsum("sk,kpi->spi", states, q / weights)).max(axis=0, initial=0.0)
    strained: BoolArray = np.asarray(stressed) > REL_TOL_SELF_STRESS
    return strained


def _of_members(frame: Frame, of_elements: BoolArray) -> BoolArray:
    rows = [of_elements[one.elements].any(axis=0) for one in frame.members.values()]
    return np.array(rows, dtype=bool).reshape(-1, of_elements.shape[1])


KINDS = ((0,), (5,), (3,), (1,), (2, 3), (4, 5))
"""Natural forces of an element that N, Vy, Vz, T, My and Mz take part in."""


def _in_mode(before: FrameRun, after: FrameRun, expect: Expectation) -> _Active:
    """In a mode of either frame: idle where neither strains; springs and cables are taken to take part."""
    beams: BoolArray = np.zeros((len(before.solution.frame.members), 6), dtype=bool)
    for run in (before, after):
        frame, modes = run.solution.frame, _modes(run, expect)
        if len(modes) < expect.mode:
            raise NotSimilar(f"there is no {expect.quantity}")
        shape = modes[[expect.mode - 1]]
        forces = np.abs(natural_forces(run.solution.parts, shape)[0, : len(frame.ends)])
        forces[:, 1:] /= frame.size
        idle = forces <= REL_TOL_MODE * forces.max(initial=0.0)
        beams |= _of_members(frame, ~np.stack([idle[:, list(kind)].all(axis=1) for kind in KINDS], axis=1))
    frame = before.solution.frame
    return _Active(
        beams,
        np.ones((len(beams), 12), bool),
        np.ones(frame.springs.shape, bool),
        np.ones(len(frame.cables), bool),
    )


def _modes(run: FrameRun, expect: Expectation) -> FloatArray:
    return (run.buckling if expect.kind == "buckling factor" else run.vibration)[expect.case].shapes


def _common(ratios: Iterator[FloatArray], otherwise: str) -> float:
    """The one factor that all are; 1 where there are none; NotSimilar, with the words, where they differ."""
    every = np.concatenate([np.ravel(one) for one in ratios] or [np.zeros(0)])
    if not len(every):
        return 1.0
    first = float(every[0])
    if first == 0 or not np.isfinite(every).all() or np.abs(every / first - 1).max() > REL_TOL_PROPORTION:
        raise NotSimilar(otherwise)
    return first


def _ratio(old: FloatArray, new: FloatArray) -> FloatArray:
    """new/old where either is a number other than zero; nan, which is no factor, where only one of them is."""
    none = (old == new) & ((old == 0) | np.isinf(old))
    ratio = np.full(old.shape, np.nan)
    np.divide(new, old, out=ratio, where=np.isfinite(old) & np.isfinite(new) & (old != 0) & (new != 0))
    return np.asarray(ratio[~none])


def _stiffness_ratios(before: Frame, after: Frame, length: float, active: _Active) -> Iterator[FloatArray]:
    for column, name in enumerate(("EA", "GAy", "GAz", "GJ", "EIy", "EIz")):
        takes_part = active.beams[:, column]
        old, new = (getattr(frame, name)[takes_part] for frame in (before, after))
        yield _ratio(old, new) / length ** (0 if column < 3 else 2)
    springs = np.array([length**-1.0] * 3 + [length] * 3)
    for name, weights, chosen in (
        ("end_springs", np.tile(springs, 2), active.ends),
        ("springs", springs, active.springs),
    ):
        old, new = getattr(before, name), getattr(after, name)
        yield _ratio((old * weights)[chosen], new[chosen])
    yield _ratio(before.cables.EA[active.cables], after.cables.EA[active.cables])


def _load_ratios(
    before: Frame, after: Frame, old: Loads, new: Loads, length: float, stiffness: float
) -> Iterator[FloatArray]:
    moments = np.array([1.0] * 3 + [length] * 3)
    yield _ratio(old.nodal * moments, new.nodal)
    yield _ratio(old.line, new.line) * length
    first, second = old.stretches, new.stretches
    extents = [np.column_stack([one.element, one.begin, one.end]) for one in (first, second)]
    if extents[0].shape != extents[1].shape or not np.allclose(
        extents[0], extents[1], rtol=0, atol=REL_TOL_PROPORTION
    ):
        raise NotSimilar("loads act on other stretches than the source's")
    yield _ratio(first.load * moments / length, second.load)
    yield _ratio(old.support_displacement * moments[::-1] / stiffness, new.support_displacement)
    yield (
        _ratio(old.temperature_change * before.expansion, new.temperature_change * after.expansion)
        * stiffness
    )
    warm = (
        old.cable_temperature_change * before.cables.expansion,
        new.cable_temperature_change * after.cables.expansion,
    )
    yield _ratio(*warm) * stiffness
    yield _ratio(before.cables.pretension, after.cables.pretension)


def _mass_ratios(before: Frame, after: Frame, length: float) -> Iterator[FloatArray]:
    yield _ratio(before.line_mass, after.line_mass) * length
    yield _ratio(before.line_inertia, after.line_inertia) / length
    yield _ratio(before.point_mass, after.point_mass)


def _require_same_actions(
    before: FrameRun, after: FrameRun, number: int, length: float, force: float
) -> None:
    """NotSimilar where the actions that a load factor multiplies, or that stiffen a frame, are not in the source's proportion."""
    old, new = (_end_actions(run, number) for run in (before, after))
    scaled = old * np.array([force] * 3 + [force * length] * 3)
    weights = np.array([1.0] * 3 + [1 / after.solution.frame.size] * 3)
    apart = np.abs((new - scaled) * weights).max(initial=0.0)
    if apart > REL_TOL_MODE * np.abs(scaled * weights).max(initial=0.0):
        raise NotSimilar("actions are no longer in the source's proportion")


def _end_actions(run: FrameRun, number: int) -> FloatArray:
    """(2 members, 6): at the start and at the end of each."""
    ends = [which for one in run.solution.frame.members.values() for which in (one.first, one.last - 1)]
    elements: IntArray = np.array(ends, dtype=np.int64)
    return np.asarray(actions_at(run.solution, elements, np.arange(len(ends)) % 2)[number], dtype=float)


__all__ = ["Theory", "theories"]
