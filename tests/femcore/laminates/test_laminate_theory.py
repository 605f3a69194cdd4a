"""Classical lamination theory against printed examples, closed forms and its own invariants."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad_vec

from femcore.base.errors import InputFault
from femcore.laminates import (
    Laminate,
    couplings,
    flexural_constants,
    laminate_axes,
    laminate_strain,
    membrane_constants,
    ply_state,
    ply_state_under,
    reduced_stiffness,
    resultants_of_strain,
    resultants_with_curvature,
    stack,
    strain_rotation,
)
from tests.femcore.laminates.laminate_cases import (
    GRAPHITE,
    HYER,
    MALLICK,
    WWFE,
    isotropic,
    laminas,
    laminates,
    load_vectors,
    plies,
)

TINY = 1e-9


def kaw():
    """A.K. Kaw (2006), Example 4.2: [0/30/−45] graphite/epoxy, 5 mm plies, z downward from the 0° ply (from
    memory).
    """
    return plies(GRAPHITE, (0, 30, -45), 5e-3)


# Printed examples -------------------------------------------------------------------------------------------


def test_kaw_example_4_2_stiffness():
    """A, B and D of Kaw's Example 4.2 agree with all eighteen printed entries (read as quoted, four digits)."""
    laminate = kaw()
    A = [[1.739e9, 3.884e8, 5.663e7], [3.884e8, 4.533e8, -1.141e8], [5.663e7, -1.141e8, 4.525e8]]
    B = [[-3.129e6, 9.855e5, -1.072e6], [9.855e5, 1.158e6, -1.072e6], [-1.072e6, -1.072e6, 9.855e5]]
    D = [[3.343e4, 6.461e3, -5.240e3], [6.461e3, 9.320e3, -5.596e3], [-5.240e3, -5.596e3, 7.663e3]]
    for ours, printed in ((laminate.A, A), (laminate.B, B), (laminate.D, D)):
        assert ours == pytest.approx(np.array(printed), rel=5e-4)


def test_kaw_example_4_3_strains_and_stresses():
    """Mid-plane strains, curvatures and the stresses of every ply under N_x = N_y = 1000 N/m (Kaw 4.3, from
    memory).

    The printed stresses are the global ones at top and bottom of each ply and the local ones of the 30° and
    −45° plies.
    """
    laminate = kaw()
    strain = laminate_strain(laminate, [1000, 1000, 0, 0, 0, 0])
    printed = [3.123e-7, 3.492e-6, -7.598e-7, 2.971e-5, -3.285e-4, 4.101e-4]
    assert strain == pytest.approx(np.array(printed), rel=5e-4)
    state = ply_state(laminate, strain)
    overall = [
        [[3.351e4, 6.188e4, -2.750e4], [5.577e4, 4.531e4, -1.280e4]],
        [[6.930e4, 7.391e4, 3.381e4], [1.434e5, 8.102e4, 8.426e4]],
        [[1.235e5, 1.563e5, -1.187e5], [-2.547e4, -1.840e4, 4.091e4]],
    ]
    assert laminate_axes(laminate, state) == pytest.approx(np.array(overall), rel=5e-4)
    own = [
        [[9.973e4, 4.348e4, 1.890e4], [2.007e5, 2.364e4, 1.513e4]],
        [[2.586e5, 2.123e4, -1.638e4], [-6.285e4, 1.898e4, -3.533e3]],
    ]
    assert state.stress[1:] == pytest.approx(np.array(own), rel=5e-4)


def test_mallick_examples_3_7_and_3_13():
    """[+45/−45] of 6 mm plies: A, B, D, and under N_x = 100 kN/m strain, twist and ply shear (Mallick, from
    memory).
    """
    laminate = plies(MALLICK, (45, -45), 6e-3)
    A = np.array([[481.32, 403.32, 0], [403.32, 481.32, 0], [0, 0, 414.84]]) * 1e6
    B = np.array([[0, 0, -1126.8], [0, 0, -1126.8], [-1126.8, -1126.8, 0]]) * 1e3
    D = np.array([[5775.8, 4839.8, 0], [4839.8, 5775.8, 0], [0, 0, 4978.1]])
    for ours, printed in ((laminate.A, A), (laminate.B, B), (laminate.D, D)):
        assert ours == pytest.approx(printed, rel=3e-4, abs=1e-6 * printed.max())
    strain = laminate_strain(laminate, [1e5, 0, 0, 0, 0, 0])
    assert strain[0] == pytest.approx(77.385e-5, rel=2e-4)
    middle = laminate_axes(laminate, ply_state(laminate, strain)).mean(axis=1) / 1e6
    assert middle == pytest.approx(np.array([[8.33, 0, 2.09], [8.33, 0, -2.09]]), abs=0.005)


def test_hyer_cross_ply():
    """[0/90]s graphite–polymer, 0.150 mm plies: A, D, and stresses under ε_x = 0.001 (Hyer 1998, from
    memory).
    """
    laminate = plies(HYER, (0, 90, 90, 0), 0.15e-3)
    assert laminate.A[[0, 0, 1, 2], [0, 1, 1, 2]] / 1e6 == pytest.approx([50.4, 1.809, 50.4, 2.64], rel=1e-3)
    assert laminate.D[[0, 0, 1, 2], [0, 1, 1, 2]] == pytest.approx([2.48, 0.0543, 0.542, 0.0792], rel=1e-3)
    state = ply_state(laminate, [1e-3, 0, 0, 0, 0, 0])
    stress = laminate_axes(laminate, state)[:2, 0, :2] / 1e6
    assert stress == pytest.approx(np.array([[155.7, 3.02], [12.16, 3.02]]), rel=2e-3)


def test_hyer_angle_ply():
    """[±30/0]s graphite–polymer: all entries of A and D (Hyer 1998, from memory)."""
    laminate = plies(HYER, (30, -30, 0, 0, -30, 30), 0.15e-3)
    A = np.array([[102.4, 18.94, 0], [18.94, 16.25, 0], [0, 0, 20.2]]) * 1e6
    D = np.array([[5.78, 1.766, 1.261], [1.766, 1.256, 0.418], [1.261, 0.418, 1.850]])
    assert pytest.approx(A, rel=1e-3, abs=1) == laminate.A
    assert pytest.approx(D, rel=1e-3) == laminate.D


def test_double_bias_closed_forms():
    """[±45]s of T300/5208: Ex = 4SQ66/(S + Q66), Gxy = (Q11 + Q22 − 2Q12)/4, and the printed 25.05, 46.59,
    0.747.

    S.W. Tsai & H.T. Hahn (1980), from memory.
    """
    laminate = plies(GRAPHITE, (45, -45, -45, 45))
    Q = reduced_stiffness([GRAPHITE])[0]
    S = (Q[0, 0] + Q[1, 1] + 2 * Q[0, 1]) / 4
    constants = membrane_constants(laminate)
    assert constants.Ex == pytest.approx(4 * S * Q[2, 2] / (S + Q[2, 2]), rel=TINY)
    assert constants.Gxy == pytest.approx((Q[0, 0] + Q[1, 1] - 2 * Q[0, 1]) / 4, rel=TINY)
    assert constants.nu_xy == pytest.approx((S - Q[2, 2]) / (S + Q[2, 2]), rel=TINY)
    assert (constants.Ex / 1e9, constants.Gxy / 1e9) == pytest.approx((25.05, 46.59), rel=5e-4)
    assert constants.nu_xy == pytest.approx(0.747, abs=5e-4)


# Ex, Gxy of [±45]s and of [0/90/45/−45]s, GPa: worked by an independent routine from the same table
DERIVED = {
    "wwfe_glass_1": (18.2122, 15.7372, 28.401, 10.7836),
    "wwfe_glass_2": (17.6626, 13.5708, 25.3118, 9.7004),
    "wwfe_carbon_1": (22.3134, 32.9354, 51.0614, 19.7677),
    "wwfe_carbon_2": (19.283, 35.9346, 54.1363, 20.7173),
}


@pytest.mark.parametrize("lamina", WWFE, ids=lambda lamina: lamina.name)
def test_world_wide_failure_exercise_laminates(lamina):
    """Moduli of [±45]s and [0/90/45/−45]s of the four published layers agree with an independent routine."""
    constants = [
        membrane_constants(plies(lamina, angles))
        for angles in ((45, -45, -45, 45), (0, 90, 45, -45, -45, 45, 90, 0))
    ]
    ours = [value / 1e9 for each in constants for value in (each.Ex, each.Gxy)]
    assert ours == pytest.approx(DERIVED[lamina.name], rel=1e-5)


# Invariants -------------------------------------------------------------------------------------------------


@given(laminas(), st.floats(-np.pi, np.pi))
def test_reduced_stiffness_turns_as_a_tensor(lamina, angle):
    """Q̄ is the fourth-order tensor C_ijkl turned by the angle: an independent path to the same nine
    numbers.
    """
    Q = reduced_stiffness([lamina])[0]
    voigt = ((0, 0), (1, 1), (0, 1))
    C = np.zeros((2, 2, 2, 2))
    for (row, (i, j)), (column, (k, m)) in itertools.product(enumerate(voigt), repeat=2):
        for a, b in {(i, j), (j, i)}:
            for c, d in {(k, m), (m, k)}:
                C[a, b, c, d] = Q[row, column]
    R = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    turned = np.einsum("ia,jb,kc,ld,abcd->ijkl", R, R, R, R, C)
    expected = np.array([[turned[i, j, k, m] for k, m in voigt] for i, j in voigt])
    ours = stack([(lamina, 1e-3, np.degrees(angle))]).Qbar[0]
    assert ours == pytest.approx(expected, rel=1e-9, abs=1e-9 * Q.max())


@given(laminates(), st.floats(-np.pi, np.pi))
def test_tsai_pagano_invariants(laminate, angle):
    """A11 + A22 + 2A12 and A66 − A12 do not change when the laminate is turned (Tsai & Pagano 1968); nor for
    D.
    """
    turned = laminate.rotated(angle)
    for before, after in ((laminate.A, turned.A), (laminate.D, turned.D)):
        first = [M[0, 0] + M[1, 1] + 2 * M[0, 1] for M in (before, after)]
        second = [M[2, 2] - M[0, 1] for M in (before, after)]
        size = np.abs(before).max()
        assert first[0] == pytest.approx(first[1], rel=1e-9, abs=1e-9 * size)
        assert second[0] == pytest.approx(second[1], rel=1e-9, abs=1e-9 * size)


@given(laminates(), st.floats(-np.pi, np.pi), load_vectors())
def test_turning_laminate_and_load_turns_nothing_inside(laminate, angle, loads):
    """A turned laminate under the turned load has the same ply strains and stresses (frame indifference)."""
    # what was x now lies at +angle: components on the axes that stayed come by turning back
    back = strain_rotation(np.array(angle)).T
    turned_load = np.concatenate([loads[:, :3] @ back.T, loads[:, 3:] @ back.T], axis=1)
    ours = ply_state_under(laminate.rotated(angle), turned_load).stress
    expected = ply_state_under(laminate, loads).stress
    assert ours == pytest.approx(expected, rel=1e-6, abs=1e-6 * np.abs(expected).max())


@pytest.mark.parametrize("angles", [(0, 60, -60), (0, 45, -45, 90), (0, 36, 72, 108, 144)])
@given(lamina=laminas(), turn=st.floats(-180, 180))
def test_quasi_isotropic_membrane(lamina, angles, turn):
    """Three or more equal directions make A isotropic: A11 = A22, A66 = (A11 − A12)/2, A16 = A26 = 0, however
    laid.
    """
    A = plies(lamina, [angle + turn for angle in angles]).A
    size = np.abs(A).max()
    assert A[0, 0] == pytest.approx(A[1, 1], rel=1e-9)
    assert A[2, 2] == pytest.approx((A[0, 0] - A[0, 1]) / 2, rel=1e-8, abs=1e-9 * size)
    assert A[:2, 2] == pytest.approx(np.zeros(2), abs=1e-9 * size)


@given(laminates())
def test_symmetric_laminate_does_not_bow(half):
    """A lay-up followed by its mirror image has B = 0 and twice the membrane stiffness."""
    whole = Laminate((*half.plies, *reversed(half.plies)))
    size = np.abs(whole.A).max() * whole.thickness
    assert pytest.approx(np.zeros((3, 3)), abs=1e-12 * size) == whole.B
    assert pytest.approx(2 * half.A, rel=1e-12) == whole.A
    assert couplings(whole)[0].size < 1e-9


@given(laminates())
def test_turned_over_laminate_bows_the_other_way(laminate):
    """Turning a laminate over about x keeps A and D but for the sign of their shear terms, and reverses B
    likewise.
    """
    over, signs = laminate.flipped(), np.array([1, 1, -1])
    flip = np.outer(signs, signs)
    assert pytest.approx(laminate.A * flip, rel=1e-9, abs=1e-9 * np.abs(laminate.A).max()) == over.A
    assert pytest.approx(laminate.D * flip, rel=1e-9, abs=1e-9 * np.abs(laminate.D).max()) == over.D
    size = np.abs(laminate.A).max() * laminate.thickness
    assert pytest.approx(-laminate.B * flip, rel=1e-9, abs=1e-12 * size) == over.B


@given(laminates())
def test_stiffness_is_symmetric_and_positive(laminate):
    """The 6 × 6 stiffness is symmetric, every load does positive work, and every coupling is below one."""
    K = laminate.stiffness
    scale = 1 / np.sqrt(np.diag(K))
    assert pytest.approx(K.T, rel=1e-12) == K
    assert np.linalg.eigvalsh(scale[:, None] * K * scale).min() > 0
    assert all(0 <= each.size < 1 for each in couplings(laminate))


@given(laminates(), load_vectors(3))
def test_ply_stresses_add_up_to_the_load(laminate, loads):
    """The stresses in the plies, integrated through the thickness with and without z, are the resultants
    again.
    """
    stress = laminate_axes(laminate, ply_state_under(laminate, loads))
    t, low = np.diff(laminate.edges), laminate.edges[:-1]
    first, last = stress[..., 0, :], stress[..., 1, :]
    N = np.einsum("k,...ki->...i", t, (first + last) / 2)
    # linear times linear over a ply: ∫ σ z dz = t [z₀(σ₀+σ₁)/2 + t(σ₀+2σ₁)/6]
    M = np.einsum("k,...ki->...i", t, low[:, None] * (first + last) / 2 + t[:, None] * (first + 2 * last) / 6)
    ours = np.concatenate([N, M], axis=-1)
    size = np.abs(loads).max(axis=0) + np.abs(loads).max() * np.repeat([1.0, laminate.thickness], 3)
    assert np.abs(ours - loads) / size == pytest.approx(np.zeros_like(loads), abs=1e-6)


@given(laminates(), load_vectors())
def test_work_is_twice_the_strain_energy(laminate, loads):
    """N·ε⁰ + M·κ equals ∫ σ·ε dz over the plies (Simpson's rule, exact for a square of linear functions)."""
    strain = laminate_strain(laminate, loads)
    faces = ply_state(laminate, strain)
    middle = (faces.strain.mean(axis=-2) * faces.stress.mean(axis=-2)).sum(axis=-1)
    ends = (faces.strain * faces.stress).sum(axis=-1).sum(axis=-1)
    inside = (np.diff(laminate.edges) * (ends + 4 * middle) / 6).sum(axis=-1)
    assert inside == pytest.approx((loads * strain).sum(axis=-1), rel=1e-6)


def test_integrals_through_the_thickness():
    """A, B and D are ∫ Q̄(1, z, z²) dz, checked by adaptive quadrature over an unsymmetric hybrid."""
    laminate = stack(
        [(GRAPHITE, 1e-3, 20), (isotropic(3e9, 0.35), 4e-3, 0), (HYER, 2e-3, -70), (GRAPHITE, 0.5e-3, 90)]
    )

    def at(z):
        place = np.clip(np.searchsorted(laminate.edges, z, side="right") - 1, 0, len(laminate.plies) - 1)
        return laminate.Qbar[place] * np.array([1, z, z * z])[:, None, None]

    edges = laminate.edges
    whole = sum(quad_vec(at, low, high)[0] for low, high in itertools.pairwise(edges))
    for ours, expected in zip((laminate.A, laminate.B, laminate.D), whole, strict=True):
        assert ours == pytest.approx(expected, rel=1e-9, abs=1e-9 * np.abs(expected).max())


@given(laminates(), load_vectors(2))
def test_given_curvature_and_given_load_are_one_state(laminate, loads):
    """The resultants found from membrane forces and the curvatures they cause are those that were applied."""
    strain = laminate_strain(laminate, loads)
    ours = resultants_with_curvature(laminate, loads[:, :3], strain[:, 3:])
    expected = resultants_of_strain(laminate, strain)
    size = np.abs(loads).max() * np.repeat([1.0, laminate.thickness], 3) + np.abs(loads).max(axis=0)
    assert np.abs(ours - expected) / size == pytest.approx(np.zeros_like(ours), abs=1e-6)


def test_many_loads_at_once_are_each_load_alone():
    """A table of loads of any leading shape gives what each of its rows gives alone."""
    loads = np.arange(24.0).reshape(2, 2, 6) * 1e3
    together = ply_state_under(kaw(), loads).stress
    assert together.shape == (2, 2, 3, 2, 3)
    assert together[1, 0] == pytest.approx(ply_state_under(kaw(), loads[1, 0]).stress)


# Limits -----------------------------------------------------------------------------------------------------


def test_isotropic_plies_make_an_isotropic_plate():
    """Isotropic plies at any angles: A = Et/(1 − ν²), D = Et³/12(1 − ν²), B = 0, and the metal's own
    constants.
    """
    E, nu, t = 70e9, 0.3, 3e-3
    laminate = stack([(isotropic(E, nu), t / 4, angle) for angle in (0, 17, -63, 90)])
    plate = E / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])
    assert pytest.approx(plate * t, rel=TINY, abs=1e-3) == laminate.A
    assert pytest.approx(plate * t**3 / 12, rel=TINY, abs=1e-9) == laminate.D
    assert pytest.approx(np.zeros((3, 3)), abs=1e-6) == laminate.B
    for constants in (membrane_constants(laminate), flexural_constants(laminate)):
        assert (constants.Ex, constants.Ey, constants.nu_xy) == pytest.approx((E, E, nu), rel=TINY)
        assert constants.Gxy == pytest.approx(E / (2 * (1 + nu)), rel=TINY)
    assert laminate.areal_mass == pytest.approx(2700 * t)


@given(laminas())
def test_one_ply_has_its_own_constants(lamina):
    """A single ply at 0° has its material's constants in its plane and in bending; at 90° they change
    places.
    """
    for constants in (membrane_constants(plies(lamina, (0,))), flexural_constants(plies(lamina, (0,)))):
        assert (constants.Ex, constants.Ey) == pytest.approx((lamina.E1, lamina.E2), rel=1e-9)
        assert (constants.Gxy, constants.nu_xy) == pytest.approx(
            (lamina.G12, lamina.nu12), rel=1e-9, abs=1e-12
        )
    across = membrane_constants(plies(lamina, (90,)))
    assert (across.Ex, across.Ey) == pytest.approx((lamina.E2, lamina.E1), rel=1e-9)


def test_off_axis_ply_modulus():
    """1/Ex = c⁴/E1 + (1/G12 − 2ν12/E1)c²s² + s⁴/E2 for a ply at 30° (R.M. Jones, eq. 2.97; from memory)."""
    c, s = np.cos(np.pi / 6), np.sin(np.pi / 6)
    g = GRAPHITE
    inverse = c**4 / g.E1 + (1 / g.G12 - 2 * g.nu12 / g.E1) * c**2 * s**2 + s**4 / g.E2
    assert membrane_constants(plies(g, (30,))).Ex == pytest.approx(1 / inverse, rel=TINY)


def test_free_and_held_constants_differ_only_by_coupling():
    """An unsymmetric [0/90] is softer where it may curve, by B's doing; a symmetric one is not."""
    crossed = plies(GRAPHITE, (0, 90))
    assert membrane_constants(crossed).Ex < 0.9 * membrane_constants(crossed, free_to_bend=False).Ex
    assert flexural_constants(crossed).Ex < 0.9 * flexural_constants(crossed, free_to_stretch=False).Ex
    even = plies(GRAPHITE, (0, 90, 90, 0))
    assert membrane_constants(even).Ex == pytest.approx(
        membrane_constants(even, free_to_bend=False).Ex, rel=TINY
    )


# Faults -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("act", "said"),
    [
        (lambda: stack([]), "without plies"),
        (lambda: stack([(GRAPHITE, -1e-3, 0)]), "-1 mm is impossible"),
        (lambda: stack([(GRAPHITE, float("nan"), 0)]), "impossible"),
        (lambda: ply_state_under(kaw(), [1, 2, 3]), "give six numbers"),
    ],
)
def test_faults_say_what_would_do(act, said):
    """Laminates and loads that cannot be are refused in one sentence with its cure."""
    with pytest.raises(InputFault) as fault:
        act()
    assert said in str(fault.value)
    assert fault.value.cure
    assert "\n" not in str(fault.value)


def test_arrays_cannot_be_changed():
    """A laminate's arrays are read-only, so no caller can change what another reads."""
    laminate = kaw()
    with pytest.raises(ValueError, match="read-only"):
        laminate.A[0, 0] = 0.0
