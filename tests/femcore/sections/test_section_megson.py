"""Worked examples of T. H. G. Megson, Aircraft Structures for Engineering Students (3rd/4th ed.), numbers as
printed.

The 2010 Introduction to Aircraft Structural Analysis carries the same examples as 16.1, 16.3 and 18.1.
"""

import numpy as np
import pytest

from femcore.sections import Section, Wall, analyse, outline, properties, recover

MM, N_MM = 1e-3, 1e3


def _graph(points, walls):
    """A section from points in mm and (start, end, book length mm, t mm, G N/mm²): flexibility ℓ/Gt as in
    the book.

    The book gives lengths and cell areas, not coordinates; the cells here are rectangles of its areas, and
    each
    wall's G is scaled by the ratio of the drawn length to the book's, so that ℓ/(G t) is the book's.
    """
    points = np.array(points, float) * MM
    kinds, segments = [], []
    for i, (start, end, length, t, G) in enumerate(walls):
        drawn = np.hypot(*(points[end] - points[start])) / MM
        modulus = G * 1e6 * drawn / length
        kinds.append(Wall.isotropic(2.6 * modulus, t * MM, G=modulus, name=f"wall {i}"))
        segments.append([start, end])
    count = len(segments)
    parts = tuple(f"wall {i}" for i in range(count))
    return Section(
        np.array(points), np.array(segments), tuple(kinds), np.arange(count), parts, np.full(count, np.inf)
    )


def _torque(section, torque):
    solved = analyse(section)
    return np.abs(recover(solved, [0, 0, 0, torque, 0, 0]).q[0, :, 0]) / N_MM, solved


def test_three_cell_wing_box_under_torque():
    """Example 10.7 (22.2 in the 4th ed.): qI 7.1, qII 8.9, qIII 4.2 N/mm for T = 11.3 kN m (read)."""
    h = 508.0
    x = np.cumsum([0.0, 258000 / h, 355000 / h, 161000 / h])
    # The nose is one outer wall of three sides: its 1650 mm are shared by the sides as drawn.
    points = [[x[1], 0], [x[1], h], [x[2], 0], [x[2], h], [x[3], 0], [x[3], h], [x[0], 0], [x[0], h]]
    around = 2 * x[1] + h
    nose = [(0, 6, x[1]), (6, 7, h), (7, 1, x[1])]
    walls = [(a, b, 1650 * part / around, 1.22, 24200) for a, b, part in nose]
    walls += [
        (0, 1, 508, 2.03, 27600),
        (0, 2, 775, 1.22, 24200),
        (1, 3, 775, 1.22, 24200),
        (2, 3, 380, 1.63, 27600),
    ]
    walls += [(2, 4, 508, 0.92, 20700), (3, 5, 508, 0.92, 20700), (4, 5, 254, 0.92, 20700)]
    section = _graph(points, walls)
    q, solved = _torque(section, 11.3e3)
    np.testing.assert_allclose(solved.cells.area.sum() / MM**2, 774000, rtol=1e-12)
    qI, qII, qIII = q[0], q[4], q[7]
    np.testing.assert_allclose([qI, qII, qIII], [7.1, 8.9, 4.2], atol=0.06)
    # The same without the book's rounding of t*, and the wall between I and II as their difference.
    np.testing.assert_allclose([qI, qII, qIII], [7.08643, 8.88205, 4.15261], rtol=1e-4)
    assert q[3] == pytest.approx(qII - qI, rel=1e-9)
    assert pytest.approx(7.35963e-07, rel=1e-4) == 11.3e3 / properties(solved).GJ * MM
    # Wall stresses q/t; "12i" is printed 0.9 N/mm².
    np.testing.assert_allclose(
        [q[0] / 1.22, q[4] / 1.22, q[7] / 0.92], [5.80855, 7.28037, 4.51371], rtol=1e-4
    )


def test_three_nested_cells_under_torque():
    """Problem P.10.9 (read): T = 56.5 kN m.

    q12U 25.4, q21L 33.5, q14 = q32 8.1, q43U 13.4, q34L 5.3 N/mm.
    """
    a, w = 225.0, 400.0  # cell II is a square of 202 500 mm²
    top, bottom = (108400 + 450 * a) / (2 * w), -(528000 + 450 * a) / (2 * w)
    points = [[w, 0], [w, top], [-w, top], [-w, 0], [a, 0], [a, a], [-a, a], [-a, 0]]
    points += [[-a, -a], [a, -a], [-w, bottom], [w, bottom]]

    def share(chain, length, t):
        sides = [np.hypot(*np.subtract(points[i], points[j])) for i, j in chain]
        return [
            (i, j, length * side / sum(sides), t, 27000) for (i, j), side in zip(chain, sides, strict=True)
        ]

    walls = share([(0, 1), (1, 2), (2, 3)], 1084, 1.220)  # 0: 12U
    walls += share([(4, 0)], 127, 0.915) + share([(3, 7)], 127, 0.915)  # 3, 4: 23 and 14
    walls += share([(4, 5), (5, 6), (6, 7)], 797, 0.915)  # 5: 34U
    walls += share([(7, 8), (8, 9), (9, 4)], 797, 0.915)  # 8: 34L
    walls += share([(3, 10), (10, 11), (11, 0)], 2160, 1.625)  # 11: 12L
    q, solved = _torque(_graph(points, walls), 56500.0)
    np.testing.assert_allclose(np.sort(solved.cells.area) / MM**2, [108400, 202500, 528000], rtol=1e-9)
    np.testing.assert_allclose(q[[0, 11, 3, 4, 5, 8]], [25.4, 33.5, 8.1, 8.1, 13.4, 5.3], atol=0.08)
    np.testing.assert_allclose(q[[0, 11, 3, 5, 8]], [25.3525, 33.4602, 8.10764, 13.3379, 5.23027], rtol=1e-4)


def test_z_section_under_vertical_shear():
    """Example 16.1 (read): q12 = (Sy/h³)(5.16 s² − 1.74 h s), zero at 0.336 h, q2 = 0.42 Sy/h."""
    h, wall = 0.1, Wall.isotropic(70e9, 1e-5, nu=0.3)
    points = [[-h / 2, -h / 2], [0, -h / 2], [0, h / 2], [h / 2, h / 2]]
    flows = recover(analyse(outline(points, wall)), [0, 0, 1, 0, 0, 0], stations=51)
    s = flows.at * h / 2
    np.testing.assert_allclose(flows.q[0, 0] * h, (5.16 * s**2 - 1.74 * h * s) / h**2, atol=0.01)
    # The book rounds on the way: 5.16, 1.74, 3.42 are 36/7, 12/7, 24/7.
    np.testing.assert_allclose(flows.q[0, 0] * h, (36 * s**2 - 12 * h * s) / 7 / h**2, atol=1e-6)
    assert flows.q[0, 0, -1] * h == pytest.approx(0.42, abs=0.01)
    turns = s[np.flatnonzero(np.diff(np.sign(flows.q[0, 0, 1:])))[0] + 1] / h
    assert turns == pytest.approx(0.336, abs=0.01)
    # Web (iv): 3.42 s − 3.42 s²/h over h² from q2, greatest half way up.
    web = flows.at * h
    np.testing.assert_allclose(flows.q[0, 1] * h, (3.42 * h * web - 3.42 * web**2) / h**2 + 0.42, atol=0.012)
    np.testing.assert_allclose(flows.q[0, 1] * h, (24 * h * web - 24 * web**2) / 7 / h**2 + 3 / 7, atol=1e-6)


def test_arrow_section_closes_its_shear_flow():
    """Example 16.3 (9.6): Ixx = 1152 a³t, q at point 4 58.7/1152 Sy/a (read), e = 3.35 a (from memory)."""
    a = 0.1
    wall = Wall.isotropic(70e9, 1e-6, nu=0.3)
    points = np.array([[9, 0], [15, 8], [0, 0], [15, -8]]) * a  # 4, 1, 2, 3 of the figure
    solved = analyse(outline(points, wall, closed=True))
    beam = properties(solved)
    assert beam.EIy / (70e9 * 1e-6) == pytest.approx(1152 * a**3, rel=1e-6)
    flows = recover(solved, [0, 0, 1, 0, 0, 0])
    assert abs(flows.q[0, 0, 0]) * 1152 * a == pytest.approx(58.7, abs=0.05)
    # 3.35 is the book's, from rounded flows; the exact value is 10/3.
    assert (beam.shear_centre[0] - points[0, 0]) / a == pytest.approx(-3.35, abs=0.02)


def test_open_and_closed_walls_in_one_section():
    """Example 18.1 (read): ȳ = 75 mm, Ixx = 14.5e6 mm⁴ and the shear flows of its figure."""
    points = np.array(
        [
            [-200, -100],
            [-200, 0],
            [-100, 0],
            [0, 0],
            [100, 0],
            [200, 0],
            [200, -100],
            [-100, -200],
            [0, -200],
            [100, -200],
        ]
    )
    segments = np.array([[0, 1], [1, 2], [2, 3], [3, 4], [4, 5], [5, 6], [2, 7], [7, 8], [8, 9], [9, 4]])
    wall = Wall.isotropic(70e9, 2 * MM, nu=0.3)
    parts = tuple(str(i) for i in range(10))
    section = Section(points * MM, segments, (wall,), np.zeros(10, int), parts, np.full(10, np.inf))
    solved = analyse(section)
    beam = properties(solved)
    assert beam.centre[1] / MM == pytest.approx(-75, rel=1e-9)
    assert beam.EIy / 70e9 / MM**4 == pytest.approx(14.5e6, rel=1e-3)
    q = np.abs(recover(solved, [0, 0, 100e3, 0, 0, 0], stations=201).q[0]) / N_MM
    np.testing.assert_allclose(
        [q[0, -1], q[1, -1]], [34.5, 138.5], atol=0.7
    )  # the book rounds 1.0345 to 1.04
    np.testing.assert_allclose([q[6, 0], q[6].max(), q[6, -1]], [242.5, 281.7, 172.5], rtol=0.006)
    np.testing.assert_allclose([q[2, 0], q[2, -1], q[8, 0]], [104, 0, 0], atol=0.7)
    assert q[6].argmax() == pytest.approx(75, abs=1)
