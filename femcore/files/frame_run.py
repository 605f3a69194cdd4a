"""Run a frame file: solve its cases, compare them with its expectations, and give the results as plain data in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import Mechanism
from femcore.files.frame_file import Expectation, FrameFile, frame_of, loads_of
from femcore.files.frame_file.tables import Case
from femcore.frame.frame import ACTIONS, FREEDOMS, Frame, Loads
from femcore.results.member_forces import actions_at
from femcore.solvers.buckling import Modes, buckling
from femcore.solvers.solution import Solution, solve, undeformed_solution
from femcore.solvers.vibration import natural_frequencies


@dataclass(frozen=True, slots=True)
class ExpectationResult:
    """One expectation and the computed value, in SI."""

    expected: Expectation
    computed: float

    @property
    def ok(self) -> bool:
        """Whether the difference is within the stated tolerance."""
        return bool(abs(self.computed - self.expected.expected) <= self.expected.allowed)

    @property
    def difference(self) -> float:
        """Computed − expected, SI."""
        return self.computed - self.expected.expected


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FrameRun(ArrayRecord):
    """A solved frame file; modes by the case's name, where any were asked for or expected."""

    file: FrameFile
    solution: Solution
    buckling: Mapping[str, Modes]
    vibration: Mapping[str, Modes]
    outcomes: tuple[ExpectationResult, ...]

    @property
    def ok(self) -> bool:
        """Whether every expectation is met."""
        return all(outcome.ok for outcome in self.outcomes)


def run_frame(file: FrameFile) -> FrameRun:
    """Solve a frame file; StructureFault where it cannot be."""
    frame = frame_of(file)
    solution = _solved(file, frame, loads_of(file, frame))
    buckled, vibrating = {}, {}
    for number, case in enumerate(file.cases):
        factors, frequencies = _wanted(file, case, "buckling factor"), _wanted(file, case, "frequency")
        if factors:
            grows = case.pretension_grows
            buckled[case.name] = buckling(solution, number, factors, pretension_grows=grows)
        if frequencies:
            lumped = case.lumped_mass
            vibrating[case.name] = natural_frequencies(solution, number, frequencies, lumped=lumped)
    outcomes = tuple(ExpectationResult(e, _got(solution, buckled, vibrating, e)) for e in file.expect)
    return FrameRun(file, solution, buckled, vibrating, outcomes)


def _solved(file: FrameFile, frame: Frame, loads: Loads) -> Solution:
    """All cases; without loads, a frame that moves freely still has natural frequencies."""
    try:
        return solve(frame, loads, [case.second_order for case in file.cases])
    except Mechanism:
        acts = any(part.any() for part in loads.arrays) or frame.cables.pretension.any()
        if acts or not all(_wanted(file, case, "frequency") for case in file.cases):
            raise
        return undeformed_solution(frame, loads)


def _wanted(file: FrameFile, case: Case, kind: str) -> int:
    """How many modes of a kind the case asks for or is expected to have."""
    asked = case.buckling if kind == "buckling factor" else case.frequencies
    return max([asked, *(e.mode for e in file.expect if e.case == case.name and e.kind == kind)])


def _got(
    solution: Solution, buckled: Mapping[str, Modes], vibrating: Mapping[str, Modes], expect: Expectation
) -> float:
    """The computed value; nan where there is no such mode."""
    if expect.mode:
        values = (buckled if expect.kind == "buckling factor" else vibrating)[expect.case].values
        return float(values[expect.mode - 1]) if expect.mode <= len(values) else float("nan")
    return value_of(solution, expect, solution.case(expect.case))


def value_of(solution: Solution, expect: Expectation, case: int) -> float:
    """What a solution has where a value is expected that is of no mode, SI, in one of its cases."""
    at, quantity = expect.at or "", expect.quantity
    if quantity == "tension":
        return solution.cable(at, case).tension
    name, _, end = at.rpartition(".")
    if name in solution.frame.members and end in ("start", "end") and quantity in ACTIONS:
        beam = solution.beam(name, case)
        return float(getattr(beam.start if end == "start" else beam.end, quantity))
    of_node = solution.node if quantity in FREEDOMS else solution.reaction
    return float(getattr(of_node(at, case), quantity))


def cable_tensions(solution: Solution, case: int) -> dict[str, float]:
    """N, of each cable by name; the largest along one that is gripped."""
    return {name: solution.cable(name, case).tension for name in dict.fromkeys(solution.frame.cables.names)}


def member_ends(solution: Solution, name: str) -> dict[str, list[list[float]]]:
    """Actions N, Vy, Vz, T, My, Mz at the start and the end of a beam, per case."""
    member = solution.frame.members[name]
    both = actions_at(solution, [member.first, member.last - 1], [0.0, 1.0])
    return {"start": both[:, 0].tolist(), "end": both[:, 1].tolist()}


def results(run: FrameRun) -> dict[str, Any]:
    """All results as JSON-ready data: named nodes, beams, expectations, balance and error."""
    solution, frame = run.solution, run.solution.frame
    ends = {name: member_ends(solution, name) for name in frame.members}
    cases = {}
    for number, name in enumerate(solution.names):
        nodes = {
            node: {
                "displacement": solution.displacement[number, index].tolist(),
                "reaction": solution.reactions[number, index].tolist(),
            }
            for node, index in frame.node_index.items()
        }
        beams = {beam: {end: rows[number] for end, rows in both.items()} for beam, both in ends.items()}
        cases[name] = {"nodes": nodes, "beams": beams, **_of_case(run, number, name)}
    expect = [outcome_data(outcome) for outcome in run.outcomes]
    return {"title": run.file.title, "cases": cases, "expect": expect, "remarks": run.file.remarks}


def _of_case(run: FrameRun, number: int, name: str) -> dict[str, Any]:
    """Cables, modes, balance and error of one case."""
    solution = run.solution
    data: dict[str, Any] = {}
    if len(solution.frame.cables):
        data["cables"] = {
            cable: {"tension": tension, "slack": tension <= 0.0}
            for cable, tension in cable_tensions(solution, number).items()
        }
    if name in run.buckling:
        data["buckling"] = {"factors": run.buckling[name].values.tolist()}
    if name in run.vibration:
        data["vibration"] = {"frequencies": run.vibration[name].values.tolist()}
    data["second_order"] = bool(solution.second_order[number])
    return data | {"balance": float(solution.balance[number]), "error": float(solution.error[number])}


def outcome_data(outcome: ExpectationResult) -> dict[str, Any]:
    """One expectation as JSON-ready data, SI."""
    expect = outcome.expected
    return {
        "case": expect.case, "at": expect.at, "quantity": expect.quantity, "unit": expect.unit,
        "value": expect.expected, "got": outcome.computed, "ok": outcome.ok,
    }  # fmt: skip
