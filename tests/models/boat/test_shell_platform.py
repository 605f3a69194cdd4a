"""The tests' own shells, before anything is measured with them: patch test, cantilever, box in torsion."""

import numpy as np
import pytest

from tests.models.boat.shell_platform import IN_PLANE_AXES, ShellModel, grid_lines, isotropic

E, NU = 10e9, 0.3
G = E / (2 * (1 + NU))
REL_TOL_PATCH = 1e-7
"""Of the forces at the edge: elements' sides are rounded to a nanometre, so that equal ones share one matrix."""


def strip(normal, length, width, thickness, *marks, nu=NU):
    """A plate square to `normal` with uneven elements: the model, and its two axes."""
    one, two = IN_PLANE_AXES[normal]
    lines = [np.array([0.0])] * 3
    lines[one], lines[two] = grid_lines(0, *marks, length, size=0.25), grid_lines(0, 0.07, width, size=0.2)
    model = ShellModel(tuple(lines), isotropic(E, nu))
    model.wall(normal, 0.0, (0, length), (0, width), thickness)
    return model, one, two


@pytest.mark.parametrize("normal", [0, 1, 2])
def test_constant_strain_and_curvature_are_exact(normal):
    """Patch test: edges moved as under constant ε, γ, κ and twist, the inner nodes follow to rounding."""
    model, one, two = strip(normal, 1.1, 0.6, 0.01, 0.3, 0.85)
    s, t = model.points[:, one], model.points[:, two]
    exact = np.zeros((len(s), 6))
    exact[:, one], exact[:, two] = 1e-3 * s + 4e-4 * t, -3e-4 * t + 2e-4 * s
    exact[:, normal] = 0.01 * s**2 - 0.02 * t**2 + 0.03 * s * t
    exact[:, 3 + one], exact[:, 3 + two] = -0.04 * t + 0.03 * s, -(0.02 * s + 0.03 * t)
    exact[:, 3 + normal] = (2e-4 - 4e-4) / 2
    edge = np.flatnonzero((s == s.min()) | (s == s.max()) | (t == t.min()) | (t == t.max()))
    inner = np.setdiff1d(np.arange(len(s)), edge)
    assert len(inner) >= 4
    # the stiffness matrix times the exact movement leaves no force on a node that is not on the edge
    rows, columns, values = (np.concatenate(part) for part in model.entries)
    force = np.bincount(rows, values * exact.ravel()[columns], minlength=exact.size).reshape(-1, 6)
    assert np.abs(force[inner]).max() < REL_TOL_PATCH * np.abs(force[edge]).max()


@pytest.mark.parametrize("normal", [0, 1, 2])
def test_a_cantilever_bends_as_a_beam(normal):
    """Tip deflection F L³/3EI, with shear for the deep plane, within 1 % (ν = 0, so that the clamped edge restrains nothing)."""
    length, width, t = 2.0, 0.4, 0.01
    model, one, two = strip(normal, length, width, t, nu=0.0)
    root, tip = (np.flatnonzero(model.points[:, one] == x) for x in (0.0, length))
    fixed = (6 * root[:, None] + np.arange(6)).ravel()
    deep = length**3 / (3 * E * t * width**3 / 12) + 1.2 * length / (E / 2 * width * t)
    for axis, expected in ((two, deep), (normal, length**3 / (3 * E * width * t**3 / 12))):
        u = model.solve({6 * int(node) + axis: 1 / len(tip) for node in tip}, fixed)
        assert u[tip, axis].mean() == pytest.approx(expected, rel=0.01)


def test_a_box_twists_by_bredt():
    """dθ/dx = T Σ(s/t)/(4 A² G) of a closed box between its ends, for a torque that enters as the constant flow T/2A."""
    breadth, depth, t, length = 0.8, 0.6, 0.008, 4.0
    model = ShellModel(
        tuple(grid_lines(0, end, size=0.2) for end in (length, breadth, depth)), isotropic(E, NU)
    )
    for normal, at, first, second in (
        (2, (0.0, depth), (0, length), (0, breadth)),
        (1, (0.0, breadth), (0, depth), (0, length)),
        (0, (0.0, length), (0, breadth), (0, depth)),
    ):
        for place in at:
            model.wall(normal, place, first, second, t)
    flow, loads = 1 / (2 * breadth * depth), {}
    edges = ((1, 2, 0.0, 1), (1, 2, depth, -1), (2, 1, breadth, 1), (2, 1, 0.0, -1))
    for end, sense in ((length, 1), (0.0, -1)):
        for along, across, at, sign in edges:
            lines = model.lines[along]
            share = np.gradient(lines) * np.where((lines == lines[0]) | (lines == lines[-1]), 0.5, 1.0)
            ranges = {0: (end, end), along: (lines[0], lines[-1]), across: (at, at)}
            for node, part in zip(model.nodes(*(ranges[i] for i in range(3))), share, strict=True):
                freedom = 6 * int(node) + along
                loads[freedom] = loads.get(freedom, 0.0) - sense * sign * flow * part
    corner = [
        int(model.nodes((x, x), (y, y), (z, z))[0])
        for x, y, z in ((0, 0, 0), (0, breadth, 0), (length, 0, 0), (0, 0, depth))
    ]
    held = [6 * corner[0] + i for i in range(3)] + [6 * corner[1], 6 * corner[1] + 2, 6 * corner[3]]
    u = model.solve(loads, np.array(held))

    def roll(x):
        low, high = (int(model.nodes((x, x), (y, y), (0, 0))[0]) for y in (0, breadth))
        return (u[high, 2] - u[low, 2]) / breadth

    bredt = 2 * (breadth + depth) / t / (4 * (breadth * depth) ** 2 * G)
    assert abs(roll(3.0) - roll(1.0)) / 2.0 == pytest.approx(bredt, rel=0.01)
