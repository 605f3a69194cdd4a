"""A leg of tape around a hole: closed forms, the radial differential equations, and its limits."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.special import iv, ivp, kv, kvp

from femcore.base.errors import InputFault
from models.strength.plates import disc
from models.strength.plates.bonded_annulus import BondedAnnulus, PolarSheet, in_plane, tilt, transverse, twist
from models.strength.plates.disc import IsotropicPlate

SKIN = IsotropicPlate(Et=8e7, nu=0.3, D=200.0)
TAPE = PolarSheet(radial=5e7, hoop=7e7, coupling=4e7, shear=4.5e7, D=30.0)
LEG = BondedAnnulus(TAPE, SKIN, glue=0.6e9 / 1e-3, inner=0.1, outer=0.19, support=0.4)
NO_TAPE = PolarSheet(1e-3, 1e-3, 3e-4, 1e-3, 1e-9)
RIGID_TAPE = PolarSheet(8e13, 8e13, 2e13, 3e13, 1e9)


@pytest.mark.parametrize("glue", [3e10, 6e11, 1.2e13])
def test_twist_is_the_closed_form(glue):
    """v_sheet − v_skin = a I1(ωr) + b K1(ωr), both turned by ∫ T/2πr³(G₁t₁ + G₂t₂); beyond, 4πGt/(1/r² − 1/R²).

    Derived from (r³Gt θ′)′ = ±κ r³ (θ₁ − θ₂); stiffness and the peak shear of the glue to 1e-9.
    """
    leg = replace(LEG, glue=glue)
    Kt, Ks, r0, r1 = TAPE.shear, SKIN.Gt, leg.inner, leg.outer
    w = math.sqrt(glue * (1 / Kt + 1 / Ks))

    def strain(r):
        return [w * ivp(1, w * r) - iv(1, w * r) / r, w * kvp(1, w * r) - kv(1, w * r) / r]

    unit = [-1 / (2 * math.pi * r0**2 * Kt), 1 / (2 * math.pi * r1**2 * Ks)]
    a, b = np.linalg.solve([strain(r0), strain(r1)], unit)
    slip = [a * iv(1, w * r) + b * kv(1, w * r) for r in (r0, r1)]
    turn = (1 / r0**2 - 1 / r1**2) / (4 * math.pi * (Kt + Ks))
    turn += (Ks * slip[0] / r0 + Kt * slip[1] / r1) / (Kt + Ks) + 1 / disc.torsional_stiffness(
        SKIN, r1, leg.support
    )
    found = twist(leg)
    assert found.stiffness == pytest.approx(1 / turn, rel=1e-9)
    assert found.peak == pytest.approx(glue * max(np.abs(slip)), rel=1e-9)


def solved_in_plane(leg):
    """Stiffness and peak of a movement in the plane from the radial differential equations, by collocation.

    (r N_r)′ = N_θ + S + κ r ΔU, (r S)′ = −N_θ − S + κ r ΔV for sheet and skin; leg and skin beyond side by side on s from 0 to 1.
    """
    r0, r1, R = leg.inner, leg.outer, leg.support
    skin = PolarSheet.of_plate(leg.skin)

    def rates(r, y, of, pull):
        U, V, P, Q = y
        hoop = (U - V) / r
        Ur = (P / r - of.coupling * hoop) / of.radial
        around = of.coupling * Ur + of.hoop * hoop
        S = Q / r
        return [Ur, S / of.shear - hoop, around + S + r * pull[0], -around - S + r * pull[1]]

    def whole(s, y):
        inner, outer = r0 + s * (r1 - r0), r1 + s * (R - r1)
        slip = leg.glue * (y[0:2] - y[4:6])
        return np.vstack(
            [
                (r1 - r0) * np.array(rates(inner, y[0:4], leg.sheet, slip)),
                (r1 - r0) * np.array(rates(inner, y[4:8], skin, -slip)),
                (R - r1) * np.array(rates(outer, y[8:12], skin, np.zeros_like(slip))),
            ]
        )

    def ends(a, b):
        # unit force into the sheet by shear alone: its energy is half of π times the integral over r
        return np.array([a[2], a[3] + 1 / math.pi, a[6], a[7], b[2], b[3], *(b[4:8] - a[8:12]), b[8], b[9]])

    s = np.linspace(0, 1, 60)
    found = solve_bvp(whole, ends, s, np.zeros((12, len(s))), tol=1e-7, max_nodes=50_000)
    assert found.success
    y = found.sol(np.linspace(0, 1, 4001))
    return 1 / y[1, 0], leg.glue * np.abs(y[0:2] - y[4:6]).max()


@pytest.mark.parametrize("leg", [LEG, replace(LEG, glue=3e10, outer=0.13), replace(LEG, support=1.0)])
def test_a_movement_in_the_plane_satisfies_the_radial_equations(leg):
    """Stiffness and peak shear of the glue are those of the differential equations of sheet, glue and skin: 1e-5."""
    stiffness, peak = solved_in_plane(leg)
    assert in_plane(leg).stiffness == pytest.approx(stiffness, rel=1e-5)
    assert in_plane(leg).peak == pytest.approx(peak, rel=1e-4)


def test_a_rigid_leg_is_a_disc_in_the_skin():
    """Sheet and glue far stiffer than the skin leave the skin around a rigid disc as large as the leg, in every motion."""
    leg = replace(LEG, sheet=RIGID_TAPE, glue=1e17)
    r, R = leg.outer, leg.support
    assert twist(leg).stiffness == pytest.approx(disc.torsional_stiffness(SKIN, r, R), rel=2e-3)
    assert in_plane(leg).stiffness == pytest.approx(disc.in_plane_stiffness(SKIN, r, R), rel=2e-3)
    assert transverse(leg) == pytest.approx(disc.transverse_stiffness(SKIN, r, R), rel=1e-5)
    assert tilt(leg) == pytest.approx(disc.tilt_stiffness(SKIN, r, R), rel=1e-5)


def test_without_its_bending_a_leg_leaves_the_skin_around_the_tube():
    """A sheet without bending stiffness leaves the skin clamped to a disc as large as the hole of the sheet (closed forms)."""
    leg = replace(LEG, sheet=NO_TAPE)
    assert transverse(leg) == pytest.approx(disc.transverse_stiffness(SKIN, leg.inner, leg.support), rel=1e-9)
    assert tilt(leg) == pytest.approx(disc.tilt_stiffness(SKIN, leg.inner, leg.support), rel=1e-9)


def test_two_plates_alike_are_one_plate():
    """A leg as stiff in bending as the skin is one plate with it: once to, where it reaches R, twice the skin's stiffness."""
    leg = replace(LEG, sheet=replace(TAPE, D=SKIN.D))
    for of, solid in ((transverse, disc.transverse_stiffness), (tilt, disc.tilt_stiffness)):
        bare = solid(SKIN, leg.inner, leg.support)
        assert bare < of(leg) < 2 * bare
        assert of(replace(leg, outer=leg.support * (1 - 1e-9))) == pytest.approx(2 * bare, rel=1e-6)


def test_glue_that_gives_nothing_joins_leg_and_skin_to_one_plate():
    """Twist of sheet and skin as one annulus up to r1, one after the other with the skin beyond: 4πΣGt/(1/r² − 1/R²)."""
    leg = replace(LEG, glue=1e17)
    both = replace(SKIN, Et=2 * (1 + SKIN.nu) * (SKIN.Gt + TAPE.shear))
    series = 1 / disc.torsional_stiffness(both, leg.inner, leg.outer)
    series += 1 / disc.torsional_stiffness(SKIN, leg.outer, leg.support)
    assert twist(leg).stiffness == pytest.approx(1 / series, rel=5e-3)


@pytest.mark.parametrize("radii", [{"outer": 0.1}, {"support": 0.19}])
def test_radii_must_grow(radii):
    """The leg ends beyond where it begins, and before the skin is held."""
    with pytest.raises(InputFault, match="radius"):
        replace(LEG, **radii)
