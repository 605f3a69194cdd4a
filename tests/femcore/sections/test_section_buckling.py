"""Local buckling formulas against plate and shell equations solved numerically; walls grouped into panels."""

import numpy as np
import pytest
from scipy.linalg import eigh

from femcore.sections import (
    Wall,
    analyse,
    box,
    channel,
    local_buckling,
    outline,
    panels,
    recover,
    round_tube,
    with_web,
)
from femcore.sections.buckling import (
    compression_cylinder,
    compression_flange,
    compression_flat,
    compression_knockdown,
    shear_cylinder,
    shear_flat,
)

E, NU, T = 70e9, 0.3, 3e-3
METAL = Wall.isotropic(E, T, nu=NU)
D = E * T**3 / 12 / (1 - NU**2)


def plate(D11, D12, D22, D66):
    """A specially orthotropic bending stiffness."""
    return np.array([[D11, D12, 0.0], [D12, D22, 0.0], [0.0, 0.0, D66]])


PLATES = [
    plate(1.0, 0.3, 1.0, 0.35),
    plate(10.0, 0.5, 1.0, 0.6),
    plate(1.0, 0.5, 10.0, 0.6),
    plate(1.0, 0.9, 1.0, 1.5),
]


def long_plate_shear(D, b, terms=24):
    """Least N_xy of the endless plate, w = Re e^{ikx} Σ c_n sin(nπy/b), by Galerkin over k."""
    n = np.arange(1, terms + 1)
    beta = n * np.pi / b
    odd = (n[:, None] + n[None]) % 2 == 1
    with np.errstate(divide="ignore"):
        half = np.where(odd, 2 * n[:, None] * n[None] / (n[:, None] ** 2 - n[None] ** 2 + 0.0), 0.0)
    half[~odd] = 0.0
    best = np.inf
    for k in np.linspace(0.3, 6.0, 400) * np.pi / b:
        stiff = (D[0, 0] * k**4 + 2 * (D[0, 1] + 2 * D[2, 2]) * k**2 * beta**2 + D[1, 1] * beta**4) * b / 2
        geometric = 2j * k * half
        values = eigh(geometric, np.diag(stiff), eigvals_only=True)
        best = min(best, 1 / np.abs(values).max())
    return best


@pytest.mark.parametrize("D", PLATES)
def test_seydels_shear_formula_is_the_plate_equation(D):
    """The fit for a long simply supported plate in shear agrees with Galerkin's solution within 2 %."""
    assert shear_flat(D, 0.3) == pytest.approx(long_plate_shear(D, 0.3), rel=0.02)


def test_isotropic_limits_are_the_classical_coefficients():
    """k = 4 in compression, 5.35 in shear, 0.425 for a flange at ν = 0.3.

    Timoshenko & Gere, Theory of Elastic Stability, from memory.
    """
    b, unit = 0.2, np.pi**2 * D / 0.2**2
    assert compression_flat(METAL.bending, b) == pytest.approx(4 * unit, rel=1e-9)
    assert shear_flat(METAL.bending, b) == pytest.approx(5.34 * unit, rel=0.002)
    assert compression_flange(METAL.bending, b) == pytest.approx(0.425 * unit, rel=0.005)


@pytest.mark.parametrize("D", PLATES)
def test_compression_formula_is_the_least_over_wave_lengths(D):
    """2π²/b² (√(D11 D22) + D12 + 2 D66) is the minimum over half-waves a of the Navier solution."""
    b = 0.4
    a = np.linspace(0.1, 5.0, 200001) * b
    navier = np.pi**2 * (D[0, 0] / a**2 + 2 * (D[0, 1] + 2 * D[2, 2]) / b**2 + D[1, 1] * a**2 / b**4)
    assert compression_flat(D, b) == pytest.approx(navier.min(), rel=1e-8)


def test_isotropic_cylinder_has_the_classical_stress():
    """σ = E t/(R √(3 (1 − ν²))), 0.605 E t/R at ν = 0.3."""
    R = 0.5
    classical = E * T**2 / (R * np.sqrt(3 * (1 - NU**2)))
    assert compression_cylinder(METAL.membrane, METAL.bending, R) == pytest.approx(classical, rel=1e-9)


@pytest.mark.parametrize("D", PLATES)
def test_orthotropic_cylinder_is_the_least_of_donnells_equations(D):
    """The closed minimum agrees with a search over both wave numbers."""
    A, R = np.array([[3e3, 4e2, 0], [4e2, 1e3, 0], [0, 0, 5e2]]), 2.0
    s = np.linalg.inv(A)
    alpha, beta = np.meshgrid(np.geomspace(0.02, 400, 1500), np.r_[0, np.geomspace(0.02, 400, 1500)])
    bend = D[0, 0] * alpha**4 + 2 * (D[0, 1] + 2 * D[2, 2]) * alpha**2 * beta**2 + D[1, 1] * beta**4
    stretch = s[1, 1] * alpha**4 + (2 * s[0, 1] + s[2, 2]) * alpha**2 * beta**2 + s[0, 0] * beta**4
    search = ((bend + alpha**4 / (R**2 * stretch)) / alpha**2).min()
    assert compression_cylinder(A, D, R) == pytest.approx(search, rel=1e-3)


def test_knock_down_is_the_isotropic_curve_for_metal():
    """The orthotropic argument reduces to γ = 1 − 0.901 (1 − e^(−√(R/t)/16)) in metal.

    NASA SP-8007 (1968), read as quoted.
    """
    R = 0.6
    want = 1 - 0.901 * (1 - np.exp(-np.sqrt(R / T) / 16))
    assert compression_knockdown(METAL.membrane, METAL.bending, R) == pytest.approx(want, rel=0.006)


def test_cylinder_in_torsion_is_the_known_isotropic_coefficient():
    """τ = 0.747 E (t/R)^1¼ (R/L)^½ for moderate lengths (NASA SP-8007, from memory), within 6 %."""
    R, L = 0.3, 1.0
    want = 0.747 * E * T * (T / R) ** 1.25 * (R / L) ** 0.5
    assert shear_cylinder(METAL.membrane, METAL.bending, R, L) == pytest.approx(want, rel=0.06)


def test_panels_are_the_walls_between_corners_and_joints():
    """A web parts top and bottom, corners are panels of their own, a tube is one, flanges end free."""
    two = panels(with_web(box(0.3, 0.16, METAL, corner_radius=0.03), (0.05, -0.08), (0.05, 0.08), METAL))
    widths = dict(zip(zip(two.names, np.round(two.width, 6), strict=True), two.radius, strict=True))
    assert sorted(w for (n, w), _ in widths.items() if n == "top") == pytest.approx([0.07, 0.17])
    assert sum(np.isfinite(two.radius)) == 4
    assert not two.free.any()
    tube = panels(round_tube(0.1, METAL))
    assert len(tube.width) == 1
    assert tube.radius[0] == pytest.approx(0.05)
    flanges = panels(channel(0.05, 0.1, METAL))
    assert list(flanges.free) == [name != "web" for name in flanges.names]


def test_box_in_compression_buckles_in_its_widest_wall():
    """The factor is the widest flat wall's 4π²D/b² over the flow, and half of it under twice the load."""
    solved = analyse(box(0.3, 0.1, METAL))
    found = local_buckling(
        solved, recover(solved, [[-1e4, 0, 0, 0, 0, 0], [-2e4, 0, 0, 0, 0, 0], [1e4, 0, 0, 0, 0, 0]])
    )
    flow = 1e4 / 0.8
    assert found.factor[0].min() == pytest.approx(4 * np.pi**2 * D / 0.3**2 / flow, rel=1e-9)
    assert set(np.array(found.panels.names)[found.factor[0] == found.factor[0].min()]) == {"top", "bottom"}
    np.testing.assert_allclose(found.factor[1], found.factor[0] / 2, rtol=1e-9)
    assert np.isinf(found.factor[2]).all()


def test_compression_and_shear_together_meet_the_interaction_curve():
    """At the factor, R_c + R_s² = 1 (common practice for long plates and for cylinders)."""
    solved = analyse(box(0.3, 0.1, METAL))
    found = local_buckling(solved, recover(solved, [-3e4, 0, 0, 8e3, 0, 0]))
    k = found.factor
    np.testing.assert_allclose(k * found.ratio_c + (k * found.ratio_s) ** 2, 1.0, rtol=1e-9)


def test_a_panel_bears_its_largest_compression_and_its_largest_shear_of_either_sign():
    """Ratios are over all its segments and places, also where these do not follow each other in the outline."""
    points = [[0.1, 0.0], [0.3, 0.0], [0.3, 0.16], [0.0, 0.16], [0.0, 0.0]]
    around = outline(points, METAL, closed=True, parts=["bottom", "right", "top", "left", "bottom"])
    solved = analyse(around)
    actions = np.random.default_rng(4).normal(size=(6, 6)) * [1e4, 1e3, 1e3, 1e3, 1e3, 1e3]
    flows = recover(solved, np.concatenate([actions, -actions]))
    found = local_buckling(solved, flows)
    of = found.panels.of
    assert any(
        np.ptp(np.flatnonzero(of == p)) >= np.sum(of == p) for p in range(len(found.strength.compression))
    )
    for p in range(len(found.strength.compression)):
        pressed, slid = (
            np.abs(x).max(axis=(1, 2)) for x in (np.minimum(flows.n_x, 0)[:, of == p], flows.q[:, of == p])
        )
        np.testing.assert_allclose(found.ratio_c[:, p], pressed / found.strength.compression[p], rtol=1e-12)
        np.testing.assert_allclose(found.ratio_s[:, p], slid / found.strength.shear[p], rtol=1e-12)
