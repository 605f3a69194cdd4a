"""Wire, rod and rope."""

import math

import numpy as np
import pytest

from femcore.materials import lines
from models.strength.margins import SafetyFactors
from models.strength.members.wire import (
    BEND_EFFICIENCY,
    TERMINALS,
    Wire,
    bend_efficiency,
    deviation_force,
    wire_checks,
)

WIRE = Wire(breaking=lines()["wire_1x19"].breaking_load(0.012), diameter=0.012, radius=0.12, terminal=0.95)


@pytest.mark.parametrize(("ratio", "percent"), [(1, 50), (2, 65), (4, 75), (6, 79), (8, 83), (10, 86), (15, 89), (20, 91),
                                                (30, 93), (40, 95)])  # fmt: skip
def test_bends_of_the_makers_table(ratio, percent):
    """Strength of wire rope over a fixed sheave against D/d, as its makers print it (read)."""
    assert bend_efficiency(ratio) == pytest.approx(percent / 100)


def test_bends_between_and_beyond_the_table():
    """Efficiency grows with D/d, is never above the table's last, and is not known for a bend tighter than 1."""
    values = [bend_efficiency(r) for r in np.linspace(1, 100, 200)]
    assert (np.diff(values) >= 0).all()
    assert max(values) == max(BEND_EFFICIENCY.values())
    assert math.isnan(bend_efficiency(0.9))


def test_weakest_place_of_a_line():
    """Terminal and bend are checked each by itself at the working fraction: breaking × efficiency × 0.4."""
    tension = np.array([10e3, -5.0])
    end, bend = wire_checks("martingale", WIRE, tension, SafetyFactors())
    assert end.margin[0] == pytest.approx(0.4 * 0.95 * WIRE.breaking / 10e3 - 1)
    assert bend.load_factor[0] == pytest.approx(0.91 * WIRE.breaking / 10e3)
    assert np.isposinf(end.margin[1])


def test_too_tight_a_bend_is_not_checked():
    """A line bent tighter than its own diameter is not checked, and says so; a straight one has no bend."""
    tight = Wire(100e3, 0.012, radius=0.005)
    assert "below 1" in wire_checks("m", tight, np.array([1.0]), SafetyFactors())[1].reason
    assert len(wire_checks("m", Wire(100e3, 0.012), np.array([1.0]), SafetyFactors())) == 1


def test_saddle_pull():
    """A line turned by 180° pulls with 2T, by 60° with T (statics)."""
    np.testing.assert_allclose(deviation_force(np.array([10.0]), math.pi), 20.0)
    np.testing.assert_allclose(deviation_force(np.array([10.0]), math.pi / 3), 10.0)


def test_terminals_leave_less_than_the_line():
    """Every way to end a line leaves at most the line, a knot half (common practice)."""
    assert all(0 < part <= 1 for part in TERMINALS.values())
    assert TERMINALS["knotted"] == 0.5
