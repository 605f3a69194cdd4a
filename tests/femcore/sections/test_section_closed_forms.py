"""Section constants against tables and closed forms, walls thin enough for the formulas' own assumption."""

import numpy as np
import pytest
from scipy.special import ellipe

from femcore.sections import Wall, box, channel, d_section, i_section, outline, oval, properties, round_tube

THIN = Wall.isotropic(70e9, 1e-5, G=26e9, density=2700.0)
E, G, T = 70e9, 26e9, 1e-5


def test_round_tube_has_the_constants_of_a_thin_ring():
    """EA = 2πRtE, EI = πR³tE, GJ = 2πR³tG, shear area A/2.

    Roark, Table 10.1, from memory; the shear area is the energy of q = V sin φ/πR.
    """
    beam = properties(round_tube(0.1, THIN))
    R = 0.05
    assert pytest.approx(E * 2 * np.pi * R * T, rel=1e-12) == beam.EA
    assert beam.mass == pytest.approx(2700 * 2 * np.pi * R * T, rel=1e-12)
    for value, formula in (
        (beam.EIy, E * np.pi * R**3 * T),
        (beam.EIz, E * np.pi * R**3 * T),
        (beam.GJ, G * 2 * np.pi * R**3 * T),
        (beam.GAy, G * np.pi * R * T),
        (beam.GAz, G * np.pi * R * T),
    ):
        assert value == pytest.approx(formula, rel=1e-4)


def test_chords_approach_the_circle_with_the_square_of_their_number():
    """A polygon's inertia and area miss the circle's by O(1/n²)."""
    error = [
        abs(properties(round_tube(0.1, THIN, facets=n)).GJ / (G * 2 * np.pi * 0.05**3 * T) - 1)
        for n in (24, 48, 96)
    ]
    rates = np.log2(np.array(error[:-1]) / np.array(error[1:]))
    np.testing.assert_allclose(rates, 2.0, atol=0.1)


def test_a_thick_tube_nears_the_exact_ring_with_the_square_of_its_wall():
    """The thin-walled error is O((t/R)²), at most (t/R)²/12 in J, of the exact ring.

    J = π/2 (Ro⁴ − Ri⁴), I = π/4 (Ro⁴ − Ri⁴).
    """
    R = 0.05
    errors = []
    for t in (0.02, 0.01, 0.005):
        wall = Wall.isotropic(E, t, G=G)
        beam = properties(round_tube(2 * R + t, wall, measured="outside", facets=1440))
        ring = (R + t / 2) ** 4 - (R - t / 2) ** 4
        errors.append([abs(beam.GJ / (G * np.pi / 2 * ring) - 1), abs(beam.EIy / (E * np.pi / 4 * ring) - 1)])
        assert errors[-1][0] < (t / R) ** 2 / 12 + 2e-5
    rates = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    np.testing.assert_allclose(rates, 2.0, atol=0.1)


@pytest.mark.parametrize(("w", "h", "t"), [(0.2, 0.1, 5e-3), (0.1, 0.1, 1e-3), (0.05, 0.3, 2e-3)])
def test_rectangular_tube_follows_bredt(w, h, t):
    """J = 2 t w² h²/(w + h), plus each wall's own s t³/3.

    R. Bredt (1896); Roark, Table 10.1 case 16, from memory.
    """
    beam = properties(box(w, h, Wall.isotropic(E, t, G=G)))
    assert pytest.approx(2 * t * (w * h) ** 2 / (w + h) + 2 * (w + h) * t**3 / 3, rel=1e-12) == beam.GJ / G
    inertia = 2 * (t * h**3 / 12 + w * t * (h / 2) ** 2 + w * t**3 / 12)
    assert beam.EIy / E == pytest.approx(inertia, rel=1e-12)
    np.testing.assert_allclose([beam.centre, beam.shear_centre], 0.0, atol=1e-15)


def test_box_of_different_walls_follows_bredt():
    """J = 4 A²/∮ ds/t with a thickness for each side."""
    t = np.array([3e-3, 2e-3, 4e-3, 1e-3])
    walls = [Wall.isotropic(E, each, G=G) for each in t]
    beam = properties(box(0.2, 0.1, walls))
    length = np.array([0.1, 0.2, 0.1, 0.2])
    bredt = 4 * 0.02**2 / np.sum(length / t)
    assert pytest.approx(bredt + np.sum(length * t**3) / 3, rel=1e-12) == beam.GJ / G


def test_rounded_corners_take_away_their_area():
    """A box with corner radius r encloses w h − (4 − π) r² within 2(w + h) − (8 − 2π) r of wall."""
    beam = properties(box(0.2, 0.1, THIN, corner_radius=0.02))
    length = 2 * 0.3 - (8 - 2 * np.pi) * 0.02
    area = 0.02 - (4 - np.pi) * 0.02**2
    assert beam.cell_area[0] == pytest.approx(area, rel=1e-5)
    assert pytest.approx(E * T * length, rel=1e-5) == beam.EA
    assert pytest.approx(4 * area**2 / length * T, rel=3e-5) == beam.GJ / G


def test_ellipse_follows_bredt_and_the_complete_elliptic_integral():
    """The perimeter of an ellipse is 4 a E(e²); J = 4 (π a b)² t over it."""
    a, b = 0.12, 0.05
    beam = properties(oval(2 * a, 2 * b, THIN))
    perimeter = 4 * a * ellipe(1 - (b / a) ** 2)
    assert pytest.approx(E * T * perimeter, rel=1e-4) == beam.EA
    assert pytest.approx(4 * (np.pi * a * b) ** 2 / perimeter * T, rel=2e-4) == beam.GJ / G
    angle = np.linspace(0, 2 * np.pi, 20001)[:-1]
    ds = np.hypot(a * np.sin(angle), b * np.cos(angle)) * (angle[1] - angle[0])
    assert beam.EIy == pytest.approx(E * T * np.sum((b * np.sin(angle)) ** 2 * ds), rel=2e-4)


def test_d_section_of_half_a_circle_has_its_closed_form():
    """Half tube and web: J = 4 (πR²/2)² t/(πR + 2R); the shear centre by ∮ q ds = 0 on a fine grid here."""
    R = 0.05
    beam = properties(d_section(R, 2 * R, THIN, THIN))
    assert pytest.approx(np.pi**2 * R**4 / (np.pi * R + 2 * R) * T, rel=1e-4) == beam.GJ / G
    inertia = np.pi * R**3 / 2 + 2 * R**3 / 3
    assert beam.EIy == pytest.approx(E * T * inertia, rel=1e-4)
    # Cut at the nose's tip (φ = 0): q = R²(cos φ − 1)/I + q0 on the arc, and in the web so that points
    # balance.
    phi = np.linspace(-np.pi / 2, np.pi / 2, 100001)
    z = np.linspace(-R, R, 100001)
    arc = R**2 * (np.cos(phi))  # antisymmetric loading: zero at the tip's mirror ends of an open arc
    web = (R**2 - z**2) / 2
    # closure: arc flow q = arc + q0 (up), web flow = web − q0 (up)
    q0 = (np.trapezoid(web, z) - np.trapezoid(arc, phi) * R) / (np.pi * R + 2 * R)
    torque = np.trapezoid(arc + q0, phi) * R * R / inertia
    assert beam.shear_centre[0] == pytest.approx(torque, rel=1e-3)


@pytest.mark.parametrize(("b", "h"), [(0.05, 0.1), (0.1, 0.1), (0.08, 0.03)])
def test_channel_shear_centre_is_the_handbook_one(b, h):
    """e = 3 b²/(h + 6 b) from the web, away from the flanges (Megson; Timoshenko)."""
    beam = properties(channel(b, h, THIN))
    np.testing.assert_allclose(beam.shear_centre, [-3 * b**2 / (h + 6 * b), 0.0], atol=1e-7)
    assert beam.centre[0] == pytest.approx(b**2 / (h + 2 * b), rel=1e-12)


def test_slit_rectangular_tube_shear_centre():
    """e = b1 (3 b1 + 2 b2)/(2 (3 b1 + b2)) behind the web, slit half way up the other side.

    A worked text example, read.
    """
    b1, b2 = 0.08, 0.12
    points = [[b1, -1e-9], [b1, -b2 / 2], [0, -b2 / 2], [0, b2 / 2], [b1, b2 / 2], [b1, 1e-9]]
    beam = properties(outline(points, THIN))
    np.testing.assert_allclose(
        beam.shear_centre, [-b1 * (3 * b1 + 2 * b2) / (2 * (3 * b1 + b2)), 0], atol=1e-7
    )


def test_slit_tube_shear_centre_lies_a_diameter_from_the_centre():
    """A round tube slit along its length: e = 2R behind the centre.

    S. P. Timoshenko, Strength of Materials, from memory.
    """
    angle = np.linspace(1e-7, 2 * np.pi - 1e-7, 721)
    beam = properties(outline(0.05 * np.column_stack([np.cos(angle), np.sin(angle)]), THIN))
    np.testing.assert_allclose(beam.shear_centre, [-0.1, 0.0], atol=2e-5)
    assert pytest.approx(2 * np.pi * 0.05 * T**3 / 3, rel=1e-4) == beam.GJ / G


def test_half_round_gutter_shear_centre():
    """A semicircular arc: e = 4R/π from the centre (Timoshenko, Strength of Materials, from memory)."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 361)
    beam = properties(outline(0.05 * np.column_stack([np.cos(angle), np.sin(angle)]), THIN))
    np.testing.assert_allclose(beam.shear_centre, [0.05 * 4 / np.pi, 0.0], atol=2e-6)


def test_angle_shear_centre_is_its_corner():
    """Two walls: both flows pass through the corner, and so does their resultant."""
    beam = properties(outline([[0.1, 0.0], [0.0, 0.0], [0.0, 0.05]], THIN))
    np.testing.assert_allclose(beam.shear_centre, 0.0, atol=1e-8)


def test_i_section_constants():
    """I = t h³/12 + 2 b t (h/2)² + 2 b t³/12, J = Σ s t³/3, both centres in the middle of the web."""
    t, b, h = 2e-3, 0.1, 0.2
    wall = Wall.isotropic(E, t, G=G)
    beam = properties(i_section(b, h, wall))
    assert beam.EIy / E == pytest.approx(
        t * h**3 / 12 + 2 * b * t * (h / 2) ** 2 + 2 * b * t**3 / 12, rel=1e-12
    )
    assert beam.EIz / E == pytest.approx(2 * t * b**3 / 12 + h * t**3 / 12, rel=1e-12)
    assert pytest.approx((2 * b + h) * t**3 / 3, rel=1e-9) == beam.GJ / G
    np.testing.assert_allclose([beam.centre, beam.shear_centre], 0.0, atol=1e-15)
    assert beam.angle == pytest.approx(0.0, abs=1e-12)


def test_z_section_second_moments_and_principal_axes():
    """Ixx = h³t/3, Iyy = h³t/12, |Ixy| = h³t/8 with flanges h/2.

    Megson, Example 15.14 as quoted in 16.1, read.
    """
    h = 0.1
    beam = properties(outline([[-h / 2, -h / 2], [0, -h / 2], [0, h / 2], [h / 2, h / 2]], THIN))
    unit = h**3 * T * E
    np.testing.assert_allclose([beam.EIy, beam.EIz, beam.EIyz], [unit / 3, unit / 12, unit / 8], rtol=1e-6)
    mean, half = unit * 5 / 24, np.hypot(unit / 8, unit / 8)
    np.testing.assert_allclose([beam.EI1, beam.EI2], [mean + half, mean - half], rtol=1e-6)
    # The long way of this Z leans from z towards +y; it resists most about the axis square to that.
    assert beam.angle == pytest.approx(-np.pi / 8, rel=1e-6)
    np.testing.assert_allclose(beam.shear_centre, 0.0, atol=1e-9)


COWPER_I = [(0.1, 0.1, 1.0), (0.05, 0.2, 1.0), (0.2, 0.1, 2.0)]


@pytest.mark.parametrize(("b", "h", "flange"), COWPER_I)
def test_thin_i_section_has_cowpers_shear_coefficient(b, h, flange):
    """K at ν = 0, 10 (1 + 3m)²/(12 + 72m + 150m² + 90m³ + 30n²(m + m²)), m = 2 b t_f/(h t_w), n = b/h.

    G. R. Cowper, J. Appl. Mech. 33 (1966) 335, Table 1, from memory; the shear area is K times the whole
    area.
    """
    beam = properties(i_section(b, h, Wall.isotropic(E, flange * T, G=G), THIN))
    m, n = 2 * b * flange / h, b / h
    K = 10 * (1 + 3 * m) ** 2 / (12 + 72 * m + 150 * m**2 + 90 * m**3 + 30 * n**2 * (m + m**2))
    assert beam.GAz == pytest.approx(K * G * T * (2 * b * flange + h), rel=1e-6)


@pytest.mark.parametrize(("b", "h", "flange"), COWPER_I)
def test_thin_box_has_cowpers_shear_coefficient(b, h, flange):
    """K at ν = 0 of a thin box, the same formula with m = b t₁/(h t), n = b/h; a square tube's is 20/48.

    G. R. Cowper (1966): 20(1+ν)/(48+39ν) for the square read in a quotation, the box's general form from
    memory.
    """
    walls = [Wall.isotropic(E, k * T, G=G) for k in (1.0, flange, 1.0, flange)]
    beam = properties(box(b, h, walls))
    m, n = b * flange / h, b / h
    K = 10 * (1 + 3 * m) ** 2 / (12 + 72 * m + 150 * m**2 + 90 * m**3 + 30 * n**2 * (m + m**2))
    assert beam.GAz == pytest.approx(K * G * T * 2 * (b * flange + h), rel=1e-6)
    if b == h and flange == 1.0:
        assert pytest.approx(20 / 48, rel=1e-12) == K
