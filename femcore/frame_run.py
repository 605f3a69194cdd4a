"""Run a frame file: solve its cases, hold them against its expectations, and give the results as plain data in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from femcore.actions import actions_at
from femcore.frame import ACTIONS, FREEDOMS, REACTIONS
from femcore.frame_file import Expectation, FrameFile
from femcore.solve import Solution, solve


@dataclass(frozen=True, slots=True)
class Outcome:
    """One expectation and what came out, in SI."""

    expected: Expectation
    got: float

    @property
    def ok(self) -> bool:
        """Whether the difference is within the stated tolerance."""
        return bool(abs(self.got - self.expected.expected) <= self.expected.allowed)

    @property
    def difference(self) -> float:
        """Got − expected, SI."""
        return self.got - self.expected.expected


@dataclass(frozen=True, slots=True, eq=False)
class FrameRun:
    """A solved frame file."""

    file: FrameFile
    solution: Solution
    outcomes: tuple[Outcome, ...]

    @property
    def ok(self) -> bool:
        """Whether every expectation is met."""
        return all(outcome.ok for outcome in self.outcomes)


def run_frame(file: FrameFile) -> FrameRun:
    """Solve a frame file; StructureFault where it cannot be."""
    frame = file.frame()
    solution = solve(frame, file.loads(frame))
    outcomes = tuple(Outcome(expect, _got(solution, expect)) for expect in file.expect)
    return FrameRun(file, solution, outcomes)


def _got(solution: Solution, expect: Expectation) -> float:
    case, frame = solution.names.index(expect.case), solution.frame
    at, quantity = expect.at or "", expect.quantity
    name, _, end = at.rpartition(".")
    of_beam = name in frame.members and end in ("start", "end") and quantity in ACTIONS
    if not of_beam:
        node = frame.node_index[at]
        if quantity in FREEDOMS:
            return float(solution.displacement[case, node, FREEDOMS.index(quantity)])
        return float(solution.reaction[case, node, REACTIONS.index(quantity)])
    return member_ends(solution, name)[end][case][ACTIONS.index(quantity)]


def member_ends(solution: Solution, name: str) -> dict[str, list[list[float]]]:
    """Actions N, Vy, Vz, T, My, Mz at the start and the end of a beam, per case."""
    member = solution.frame.members[name]
    both = actions_at(solution, [member.first, member.last - 1], [0.0, 1.0])
    return {"start": both[:, 0].tolist(), "end": both[:, 1].tolist()}


def results(run: FrameRun) -> dict[str, Any]:
    """All results as JSON-ready data: named nodes, beams, expectations, and how far to trust them."""
    solution, frame = run.solution, run.solution.frame
    ends = {name: member_ends(solution, name) for name in frame.members}
    cases = {}
    for number, name in enumerate(solution.names):
        nodes = {
            node: {
                "displacement": solution.displacement[number, index].tolist(),
                "reaction": solution.reaction[number, index].tolist(),
            }
            for node, index in frame.node_index.items()
        }
        beams = {beam: {end: rows[number] for end, rows in both.items()} for beam, both in ends.items()}
        trust = {"balance": float(solution.balance[number]), "error": float(solution.error[number])}
        cases[name] = {"nodes": nodes, "beams": beams, **trust}
    return {"title": run.file.title, "cases": cases, "expect": [outcome_data(outcome) for outcome in run.outcomes]}


def outcome_data(outcome: Outcome) -> dict[str, Any]:
    """One expectation as JSON-ready data, SI."""
    expect = outcome.expected
    return {
        "case": expect.case, "at": expect.at, "quantity": expect.quantity, "unit": expect.unit,
        "value": expect.expected, "got": outcome.got, "ok": outcome.ok,
    }  # fmt: skip
