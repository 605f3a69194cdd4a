"""Laminate walls in a beam, against published box-beam stiffness, closed forms and the plies' recovery."""

import numpy as np
import pytest

from femcore.laminates import Laminate, Ply, ply_state_under
from femcore.materials import Lamina
from femcore.sections import Wall, analyse, box, outline, ply_states, properties, recover, round_tube

PSI, INCH, POUND = 6894.757293168, 0.0254, 4.4482216152605


def lamina(E1, E2, nu12, G12):
    """A layer of invented density."""
    return Lamina(name="layer", E1=E1, E2=E2, nu12=nu12, G12=G12, density=1600.0)


CARBON = lamina(126e9, 11e9, 0.28, 6.6e9)
BOX_PLY = lamina(20.59e6 * PSI, 1.42e6 * PSI, 0.30, 0.87e6 * PSI)


def laminate(degrees, ply=CARBON, thickness=0.25e-3):
    """Plies of one layer at angles in degrees, first at −n."""
    return Laminate(tuple(Ply(ply, thickness, np.radians(angle)) for angle in degrees))


PUBLISHED_BOX = [
    # what, which entry of the 6 × 6 (N Vy Vz T My Mz), published (lb, in), tolerance: thin-walled theory
    # against plane finite elements
    ("extension", (0, 0), 1.437e6, 0.002),
    ("extension–twist", (0, 3), 1.074e5, 0.005),
    ("torsion", (3, 3), 1.679e4, 0.02),
    ("shear, wide", (1, 1), 9.027e4, 0.035),
    ("shear, deep", (2, 2), 3.943e4, 0.035),
    ("shear–bending, wide", (1, 4), -5.201e4, 0.05),
    ("shear–bending, deep", (2, 5), -5.635e4, 0.01),
    ("bending, flat", (4, 4), 6.621e4, 0.02),
    ("bending, edgewise", (5, 5), 1.725e5, 0.01),
]


@pytest.mark.parametrize(("what", "entry", "published", "tolerance"), PUBLISHED_BOX)
def test_box_beam_of_one_slanted_ply_has_its_published_stiffness(what, entry, published, tolerance):
    """AS4/3501-6 box 0.953 × 0.530 in outside, wall 0.030 in, [15]₆ all round: every stiffness of the 6 × 6.

    W. Yu, D. H. Hodges, J. C. Ho, Int. J. Eng. Science 59 (2012) 40–64, box beam, plane finite elements;
    input and the first
    six values read in a quotation, torsion and both bending stiffnesses from memory. Thin-walled theory is
    within the tolerance.
    """
    wall = Wall.from_laminate(laminate([15] * 6, BOX_PLY, 0.005 * INCH))
    section = box(0.953 * INCH, 0.530 * INCH, wall, measured="outside")
    stiffness = np.linalg.inv(properties(section).flexibility)
    moments = sum(i >= 3 for i in entry)
    assert stiffness[entry] / (POUND * INCH**moments) == pytest.approx(published, rel=tolerance), what


def test_slanted_plies_all_round_couple_extension_with_twist():
    """The published box's extension–twist strength, 0.69, is reported first, in words.

    1.074e5/√(1.437e6 · 1.679e4); holding the rest back stiffens torsion by 1/(1 − strength²).
    """
    wall = Wall.from_laminate(laminate([15] * 6, BOX_PLY, 0.005 * INCH))
    beam = properties(box(0.953 * INCH, 0.530 * INCH, wall, measured="outside"))
    first = beam.couplings[0]
    assert (first.cause, first.effect) == ("N", "T")
    assert abs(first.strength) == pytest.approx(1.074e5 / np.sqrt(1.437e6 * 1.679e4), rel=0.01)
    assert "an axial force also twists the beam" in first.sentence()
    held, free = beam.restrained["GJ"], beam.GJ
    assert free / held == pytest.approx(1 - first.strength**2, rel=1e-6)


def test_mirrored_flanges_couple_bending_with_twist():
    """Plies at +15° in beam axes on top and bottom make bending twist the beam, not extension.

    On the bottom wall, which runs the other way, that is −15°.
    """
    up, down = (Wall.from_laminate(laminate([angle] * 6)) for angle in (15, -15))
    side = Wall.from_laminate(laminate([45, -45, -45, 45]))
    beam = properties(box(0.06, 0.03, [side, up, side, down]))
    named = {(each.cause, each.effect) for each in beam.couplings}
    assert ("My", "T") in named
    assert ("N", "T") not in named


def test_balanced_symmetric_walls_couple_nothing():
    """[45/−45]s all round: no coupling worth a word."""
    wall = Wall.from_laminate(laminate([45, -45, -45, 45]))
    assert properties(box(0.06, 0.03, wall)).couplings == ()


def test_round_tube_of_double_bias_has_the_closed_form():
    """GJ = 2πR³ A66 and EA = 2πR (A11 − A12²/A22), never A11."""
    lam = laminate([45, -45, -45, 45, 45, -45, -45, 45])
    R = 0.2
    beam = properties(round_tube(2 * R, Wall.from_laminate(lam)))
    own = 4 * lam.D[2, 2] * 2 * np.pi * R
    assert pytest.approx(2 * np.pi * R**3 * lam.A[2, 2] + own, rel=3e-4) == beam.GJ
    assert pytest.approx(2 * np.pi * R * (lam.A[0, 0] - lam.A[0, 1] ** 2 / lam.A[1, 1]), rel=1e-9) == beam.EA
    assert 0.7 * 2 * np.pi * R * lam.A[0, 0] > beam.EA


def test_unbalanced_tube_in_tension_is_as_soft_as_its_free_laminate():
    """Free to twist, a tube of slanted plies meets N with the laminate's own Ex, 1/a11."""
    lam = laminate([20, 20, 20, 20])
    R = 0.5
    beam = properties(round_tube(2 * R, Wall.from_laminate(lam)))
    assert pytest.approx(2 * np.pi * R / np.linalg.inv(lam.A)[0, 0], rel=1e-5) == beam.EA


def test_metal_given_as_a_laminate_is_the_same_wall():
    """An isotropic layer through the laminate's door gives the numbers of Wall.isotropic."""
    metal = lamina(70e9, 70e9, 0.3, 70e9 / 2.6)
    one = properties(box(0.2, 0.1, Wall.from_laminate(Laminate((Ply(metal, 4e-3, 0.0),)))))
    other = properties(box(0.2, 0.1, Wall.isotropic(70e9, 4e-3, nu=0.3, density=1600.0)))
    np.testing.assert_allclose(one.flexibility, other.flexibility, rtol=1e-9, atol=1e-22)
    assert one.mass == pytest.approx(other.mass, rel=1e-12)


def test_sandwich_wall_twists_by_its_skins_about_its_middle():
    """An open strip of sandwich twists by 4 D66 per width, far above ⅓ G t³ of the skins alone."""
    foam = lamina(50e6, 50e6, 0.3, 20e6)
    skin, core = 1e-3, 20e-3
    below, above = (
        [Ply(CARBON, skin / 2, side * np.pi / 4) for side in order] for order in ((1, -1), (-1, 1))
    )
    plies = (*below, Ply(foam, core, 0.0), *above)
    lam = Laminate(plies)
    beam = properties(outline([[0.0, 0.0], [0.4, 0.0]], Wall.from_laminate(lam)))
    # D16, D26 of the double-bias skins are small; with M_x = M_s = 0 the twist stiffness is 1/d66 of D's
    # compliance.
    assert pytest.approx(4 * 0.4 / np.linalg.inv(lam.D)[2, 2], rel=1e-6) == beam.GJ
    assert 50 * 0.4 * lam.A[2, 2] * (2 * skin) ** 2 / 3 < beam.GJ


def test_plies_of_a_tube_under_torque_and_axial_force():
    """Ply stresses in the tube are those of its laminate under N_x = N/2πR and N_xs = T/2πR²."""
    lam = laminate([0, 45, -45, -45, 45, 0], thickness=1e-5)
    R, N, T = 0.1, 5e3, 300.0
    solved = analyse(round_tube(2 * R, Wall.from_laminate(lam)))
    (found,) = ply_states(solved, recover(solved, [N, 0, 0, T, 0, 0]))
    alone = ply_state_under(lam, [N / (2 * np.pi * R), 0, T / (2 * np.pi * R**2), 0, 0, 0])
    middle = found.state.stress.mean(axis=-2)[0]  # over both faces: the walls' own twist cancels
    want = alone.stress.mean(axis=-2)
    np.testing.assert_allclose(middle, np.broadcast_to(want, middle.shape), atol=2e-3 * np.abs(want).max())


def test_first_ply_listed_lies_outside_on_an_anticlockwise_outline():
    """n points inward there, so under My the first ply of the top wall is strained most."""
    lam = laminate([0, 0, 0, 0], thickness=2e-3)
    solved = analyse(box(0.2, 0.1, Wall.from_laminate(lam)))
    (found,) = ply_states(solved, recover(solved, [0, 0, 0, 0, 1e3, 0]))
    top = solved.section.parts.index("top")
    strain = found.state.strain[0, top, 0, :, 0, 0]
    assert np.all(np.diff(strain) < 0)
