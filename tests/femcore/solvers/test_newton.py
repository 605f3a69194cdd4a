"""Newton's method for cases side by side: how many steps it takes, and what a step with a kept tangent is worth."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.elements.corotational_beam import Configuration
from femcore.frame.builder import Stiffness
from femcore.frame.frame import Loads
from femcore.solvers import newton
from femcore.solvers.assembly import parts_of
from femcore.solvers.deformed_cases import DeformedCases, LoadedParts
from femcore.solvers.solution import solve
from tests.femcore.cabled import cabled
from tests.femcore.frames import ALL, single


def steps_taken(monkeypatch, force):
    """How many corrections a cantilever takes that a force at its tip, N, bends far."""
    frame = single(Stiffness(1e7, 1e3, 1e3, 8e2), to=(2, 0, 0), held=ALL, divide=4)
    loads, taken = Loads.zeros(frame, "tip"), []
    loads.nodal[0, 1, 2] = force
    right = newton.Newton.advance
    with monkeypatch.context() as patch:
        patch.setattr(newton.Newton, "advance", lambda self: taken.append(1) or right(self))
        solve(frame, loads, second_order=True)
    return len(taken)


def test_what_steps_tell_of_the_tangent_saves_steps(monkeypatch):
    """Where a tangent is kept for long, more than a fifth of the corrections are not needed."""
    monkeypatch.setattr(newton, "TANGENT_REUSE_RATIO", 1.0)
    learnt = sum(steps_taken(monkeypatch, force) for force in (100.0, 200.0))
    monkeypatch.setattr(newton._Steps, "share_of", lambda _, other: np.zeros(len(other)))
    without = sum(steps_taken(monkeypatch, force) for force in (100.0, 200.0))
    assert learnt < 0.8 * without


@pytest.mark.parametrize("warm", [False, True])
def test_unloaded_cases_of_a_frame_begin_with_one_state(warm, monkeypatch):
    """It is worked out once, but where a temperature change makes it that of the case; the answers are those of each alone."""
    given, _ = cabled(2, count=2, pretension=200.0, force=0.02)
    loads, rise = given.loads, 5.0 if warm else 0.0
    loads = replace(
        loads,
        temperature_change=np.full_like(loads.temperature_change, rise),
        cable_temperature_change=np.zeros_like(loads.cable_temperature_change),
    )
    parts, start = parts_of(given.frame), Configuration.undeformed(given.frame)
    free = np.full(len(given.frame.cables), np.inf)
    problem = DeformedCases([LoadedParts(parts, loads, free, start)])
    worked_out = []
    right = DeformedCases.state
    monkeypatch.setattr(
        DeformedCases, "state", lambda self, *given: worked_out.append(len(self.names)) or right(self, *given)
    )
    count = len(loads.names)
    shape = Configuration(np.tile(start.move, (count, 1)), np.tile(start.turn, (count, 1)))
    step = newton.unloaded(problem, shape, np.ones(count)).advance()
    assert worked_out == ([1, count] if warm else [1])
    for case in range(count):
        alone = DeformedCases([LoadedParts(parts, loads.only(case), free, start)])
        one = newton.unloaded(alone, start, np.ones(1)).advance()
        np.testing.assert_allclose(step.by[case], one.by[0], rtol=1e-9, atol=1e-12 * np.abs(one.by).max())
