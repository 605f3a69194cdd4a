"""Loads along part of a beam, at an arm, or not uniform: against closed forms, equilibrium, and the beam divided there."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.frame.loads_builder import LoadsBuilder
from femcore.frame.stretches import Stretches
from femcore.results.member_forces import actions_at, displacement_at
from femcore.solvers.solution import solve
from femcore.solvers.superposition import superpose

L, EIY, EIZ, GJ, EA = 3.0, 2e5, 5e5, 1.1e5, 4e7
HINGED, SPRUNG = (RIGID,) * 4 + (0.0, 0.0), (3e6, 2e6, 5e6, 8e4, 6e4, 9e4)
ENDS = {
    "clamped": ((RIGID,) * 6, (RIGID,) * 6),
    "hinged at the end": ((RIGID,) * 6, HINGED),
    "hinged at both": (HINGED, HINGED),
    "sprung": (SPRUNG, SPRUNG),
}


def beam(stops=(), start=(RIGID,) * 6, end=(RIGID,) * 6, EIy=EIY, shear=(6e5, 4e5)):
    """One oblique beam between fixed nodes, divided at `stops`, m along it."""
    way = np.array([2.0, 1.0, 2.0]) / 3
    builder = FrameBuilder()
    at = [0.0, *stops, L]
    nodes = [builder.node(f"n{i}", x * way) for i, x in enumerate(at)]
    stiffness = Stiffness(EA=EA, EIy=EIy, EIz=EIZ, GJ=GJ, GAy=shear[0], GAz=shear[1])
    builder.beam("AB", nodes, stiffness, (0.0, 0.0, 1.0), 1, start=End(springs=start), end=End(springs=end))
    for node in (nodes[0], nodes[-1]):
        builder.support(node, range(6))
    return builder.build()


def linear(frame, begin, end, near, far):
    """A load of six components that is `near` at `begin` and `far` at `end`, m, beam axes."""
    edges = np.concatenate([[0.0], np.cumsum(frame.length)])
    rows = []
    for element, (a, b) in enumerate(pairwise(edges)):
        low, high = max(a, begin), min(b, end)
        if high > low:
            both = [near + (far - near) * (x - begin) / (end - begin) for x in (low, high)]
            rows.append((element, (low - a) / (b - a), (high - a) / (b - a), both))
    element, first, last, load = zip(*rows, strict=True)
    stretches = Stretches(np.array(element), np.array(first), np.array(last), np.array(load)[None])
    return replace(Loads.zeros(frame, "load"), stretches=stretches)


NEAR, FAR = np.array([300.0, -500, 700, 60, -80, 90]), np.array([-200.0, 400, 900, 30, 50, -20])


@pytest.mark.parametrize("ends", ENDS)
@pytest.mark.parametrize(("begin", "end"), [(0.0, L), (0.4, 1.7), (1.1, L), (0.0, 0.2)])
def test_a_load_within_an_element_is_as_if_nodes_were_where_it_ends(ends, begin, end):
    """Reactions, actions and movements anywhere are those of the beam with nodes at both ends of the load and in it."""
    start, far_end = ENDS[ends]
    one = beam((), start, far_end)
    stops = sorted({begin, (begin + end) / 2, end} - {0.0, L})
    cut = beam(stops, start, far_end)
    whole, parts = (solve(frame, linear(frame, begin, end, NEAR, FAR)) for frame in (one, cut))
    size = np.abs(whole.reactions).max()
    assert whole.reactions[0, [0, 1]] == pytest.approx(parts.reactions[0, [0, -1]], rel=1e-9, abs=1e-9 * size)
    edges = np.array([0.0, *stops, L])
    for x in (0.05, 0.4, 0.9, 1.4, 1.7, 2.2, 2.95):
        place = int(np.searchsorted(edges, x)) - 1
        xi = (x - edges[place]) / (edges[place + 1] - edges[place])
        for of, exact in ((actions_at, 1e-9), (displacement_at, 1e-9)):
            got, want = of(whole, [0], [x / L]), of(parts, [place], [xi])
            assert got == pytest.approx(want, rel=1e-8, abs=exact * np.abs(want).max())


def test_a_clamped_beam_under_a_partial_load_has_the_textbooks_moments():
    """Load w over the first half of a clamped beam: end moments 11 w L²/192 and 5 w L²/192.

    W.C. Young, Roark's Formulas for Stress and Strain, table 8, from memory; 13 w L/32 and 3 w L/32 at the ends by statics.
    """
    frame, w = beam(shear=(RIGID, RIGID)), 1000.0
    solution = solve(frame, LoadsBuilder(frame).line("AB", qz=-w, axes="beam", end=L / 2))
    start, end = solution.beam("AB").start, solution.beam("AB").end
    assert (start.Vz, end.Vz) == pytest.approx((-13 * w * L / 32, 3 * w * L / 32), rel=1e-12)
    assert (start.My, end.My) == pytest.approx((11 * w * L**2 / 192, 5 * w * L**2 / 192), rel=1e-12)


def test_a_triangular_load_on_a_clamped_beam_has_the_textbooks_moments():
    """Load from 0 to w: w L²/30 and w L²/20, 3 w L/20 and 7 w L/20 (Roark's Formulas, table 8, from memory)."""
    frame, w = beam(shear=(RIGID, RIGID)), 1000.0
    falling = np.array([0.0, 0.0, -w, 0.0, 0.0, 0.0])
    solution = solve(frame, linear(frame, 0.0, L, 0 * falling, falling))
    start, end = solution.beam("AB").start, solution.beam("AB").end
    assert (start.Vz, end.Vz) == pytest.approx((-3 * w * L / 20, 7 * w * L / 20), rel=1e-12)
    assert (start.My, end.My) == pytest.approx((w * L**2 / 30, w * L**2 / 20), rel=1e-12)


def test_torque_is_linear_and_shared_by_length_under_part_of_a_uniform_twist():
    """m over a … b of a clamped shaft: T(0) = m (b − a)(1 − (a + b)/2L), falls by m per metre, and is even elsewhere."""
    frame, a, b, m = beam(), 0.6, 2.1, 240.0
    arm, force = (0.0, 0.3, 0.0), m / 0.3
    solution = solve(frame, LoadsBuilder(frame).line("AB", qz=force, axes="beam", begin=a, end=b, arm=arm))
    x = np.linspace(0.0, 1.0, 41)
    torque = actions_at(solution, np.zeros(41, dtype=int), x)[0, :, 3]
    at_start = m * (b - a) * (1 - (a + b) / 2 / L)
    assert torque == pytest.approx(at_start - m * np.clip(x * L - a, 0, b - a), rel=1e-11, abs=1e-9)


@pytest.mark.parametrize("ends", ENDS)
def test_every_piece_of_the_beam_is_in_equilibrium(ends):
    """Cut at any two stations: actions and what acts between them sum to zero, force and moment."""
    frame = beam((), *ENDS[ends])
    solution = solve(frame, linear(frame, 0.4, 1.7, NEAR, FAR))
    x = np.array([0.1, 0.8, 1.5, 2.9])
    actions = actions_at(solution, np.zeros(4, dtype=int), x / L)[0]
    for i, j in ((0, 1), (1, 2), (2, 3), (0, 3)):
        s = np.linspace(x[i], x[j], 200_001)
        inside = ((s >= 0.4) & (s <= 1.7))[:, None]
        q = np.where(inside, NEAR + (FAR - NEAR) * ((s - 0.4) / 1.3)[:, None], 0.0)
        force = np.trapezoid(q[:, :3], s, axis=0)
        lever = np.column_stack([s - x[i], 0 * s, 0 * s])
        moment = np.trapezoid(q[:, 3:] + np.cross(lever, q[:, :3]), s, axis=0)
        near, far = actions[i], actions[j]
        assert far[:3] - near[:3] + force == pytest.approx(0, abs=0.05)
        turned = far[3:] + np.cross([x[j] - x[i], 0, 0], far[:3]) - near[3:] + moment
        assert turned == pytest.approx(0, abs=0.05)


def test_a_bar_takes_a_couple_as_forces_at_its_ends():
    """Without bending stiffness there is no end moment: m per metre over a length c makes a pair of m c/L."""
    frame = beam(EIy=0.0)
    couple = np.array([0.0, 0.0, 0.0, 0.0, 60.0, 0.0])
    solution = solve(frame, linear(frame, 0.5, 1.5, couple, couple))
    start = actions_at(solution, [0], [0.0])[0, 0]
    assert start[2] == pytest.approx(60.0 / L, rel=1e-12)
    assert np.abs(start[3:]).max() < 1e-9


def test_combinations_of_stretches_of_different_extents_add_up():
    """Cases with loads over different parts, combined, have the actions of all of them at once."""
    frame = beam()
    builder = LoadsBuilder(frame, "a", "b", "both")
    for case, factor in (("a", 1.0), ("both", 2.0)):
        builder.line("AB", qz=-300 * factor, begin=0.3, end=1.2, arm=(0.1, 0, 0), case=case)
    for case, factor in (("b", 1.0), ("both", -0.5)):
        builder.line("AB", qy=200 * factor, begin=0.9, case=case)
    solution = solve(frame, builder)
    linear_sum = superpose(
        solution.concatenated(solve(frame, LoadsBuilder(frame, "c"))), [[2, -0.5, 0, 0]], ("sum",)
    )
    x = np.linspace(0.0, 1.0, 7)
    got, want = (actions_at(one, np.zeros(7, dtype=int), x) for one in (linear_sum.linear, solution))
    assert got[0] == pytest.approx(want[2], rel=1e-10, abs=1e-9 * np.abs(want).max())


def test_second_order_under_a_partial_load_settles_with_division():
    """A slender cantilever in compression under a load that ends within elements: 4 and 16 pieces have one tip."""
    tips = []
    for count in (4, 16):
        builder = FrameBuilder()
        nodes = [builder.node("A", (0, 0, 0)), builder.node("B", (2.0, 0, 0))]
        builder.beam("AB", nodes, Stiffness(EA=1e7, EIy=900.0, EIz=900.0, GJ=700.0), (0, 0, 1), count)
        builder.support("A", range(6))
        frame = builder.build()
        loads = LoadsBuilder(frame).line("AB", qz=12.0, begin=0.7, end=1.33, arm=(0.0, 0.05, 0.0))
        solution = solve(frame, loads.point("B", Fx=-250.0), second_order=True)
        tips.append(solution.displacement[0, frame.node_number("B")])
    assert tips[0] == pytest.approx(tips[1], rel=2e-4, abs=2e-5 * np.abs(tips[1]).max())


@pytest.mark.parametrize(("begin", "end"), [(1.0, 1.0), (2.0, 1.0), (-0.1, 1.0), (1.0, 3.1)])
def test_a_stretch_off_the_beam_is_refused(begin, end):
    """A line load begins before it ends, and both are on the beam."""
    frame = beam()
    with pytest.raises(InputFault, match="no stretch of a beam of 3 m"):
        LoadsBuilder(frame).line("AB", qz=1.0, begin=begin, end=end)


def test_stretches_of_another_frame_are_refused():
    """A stretch on an element that the frame does not have is a fault, not an index error."""
    frame = beam((1.0,))
    loads = linear(frame, 0.0, L, NEAR, FAR)
    with pytest.raises(InputFault, match="loads: stretches"):
        solve(beam(), loads)
