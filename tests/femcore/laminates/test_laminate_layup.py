"""Lay-ups in a builder's words: what they become, and what is said of those that cannot be."""

import doctest

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import femcore.laminates
from femcore.base.errors import InputFault
from femcore.laminates import LaminateMaterials, couplings, lay_up, membrane_constants, wall_stiffness
from femcore.materials import fibres, knockdowns, layers, processes, resins, weight_fraction
from tests.femcore.laminates.laminate_cases import isotropic

CARBON = LaminateMaterials(fibre="carbon_sm", resin="epoxy", process="infused")
GLASS = LaminateMaterials(fibre="e_glass", resin="polyester", process="hand")


def degrees(laminate):
    """Fibre angles of a laminate's plies, degrees."""
    return [round(np.degrees(ply.angle), 9) for ply in laminate.plies]


@pytest.mark.parametrize(
    ("items", "angles"),
    [
        (["uni 300"], [0]),
        (["uni 300 @-30"], [-30]),
        (["2x uni 300 @ 90"], [90, 90]),
        (["db 450"], [45, -45]),
        (["db 450 @30"], [30, -30]),
        (["biax 600"], [0, 90]),
        (["biax 600 @45"], [45, 135]),
        (["woven 200 @0"], [0, 90, 90, 0]),
        (["csm 300"], [0]),
        (["uni 300", "db 450", "mirror"], [0, 45, -45, -45, 45, 0]),
        (["db 450", "uni 300", "mirror on last"], [45, -45, 0, -45, 45]),
        (["2x uni 300 @10", "mirror on last"], [10, 10, 10]),
    ],
)
def test_notation_gives_the_plies_that_a_builder_means(items, angles):
    """Counts, kinds of cloth, angles and mirrors become fibre directions in the order in which they lie."""
    assert degrees(lay_up(items, CARBON)) == angles


def test_cores_and_boards_go_in():
    """A core keeps its name for the core checks, a board its own layer data, both the thickness that is
    given.
    """
    laminate = lay_up(["uni 300", "core foam80 20 mm", "ply okoume_ply 9 mm @90"], GLASS)
    core, board = laminate.plies[1:]
    assert core.core is not None
    assert (core.core.name, core.thickness) == ("foam80", pytest.approx(0.020))
    assert (board.lamina, board.thickness) == (layers()["okoume_ply"], pytest.approx(0.009))
    assert board.angle == pytest.approx(np.pi / 2)


def test_another_fibre_within_one_laminate():
    """A cloth may name another fibre than the recipe's, and has that fibre's modulus."""
    own, other = lay_up(["uni 300", "uni carbon_im 300"], CARBON).plies
    assert other.lamina.E1 > 1.2 * own.lamina.E1


def test_materials_of_ones_own():
    """A recipe may bring layers and cores of its own, by name."""
    recipe = LaminateMaterials(own_layers={"plate": isotropic()})
    assert pytest.approx(70e9) == lay_up(["ply plate 2 mm"], recipe).plies[0].lamina.E1


@given(
    st.sampled_from(sorted(fibres())),
    st.sampled_from(sorted(resins())),
    st.sampled_from(sorted(processes())),
    st.sampled_from(["uni", "db", "biax", "woven", "csm"]),
    st.integers(50, 2000),
)
def test_a_cloth_keeps_its_weight(fibre, resin, process, cloth, weight):
    """The fibre in a cured cloth weighs what the roll said, and fibre and resin weigh the laminate."""
    laminate = lay_up([f"{cloth} {weight}"], LaminateMaterials(fibre=fibre, resin=resin, process=process))
    Vf = getattr(processes()[process], cloth)
    f, r = fibres()[fibre], resins()[resin]
    assert laminate.thickness * Vf * f.density == pytest.approx(weight / 1000, rel=1e-9)
    assert laminate.areal_mass == pytest.approx(weight / 1000 / weight_fraction(Vf, f, r), rel=1e-9)


def test_fractions_by_volume_and_by_weight_agree():
    """The same laminate comes from a volume fraction and from the weight fraction that belongs to it."""
    by_weight = weight_fraction(0.5, fibres()["e_glass"], resins()["epoxy"])
    one = lay_up(["uni 300"], LaminateMaterials(fibre_volume=0.5))
    other = lay_up(["uni 300"], LaminateMaterials(fibre_weight=by_weight))
    assert other.thickness == pytest.approx(one.thickness, rel=1e-12)
    assert pytest.approx(one.A, rel=1e-12) == other.A


def test_double_bias_is_where_shear_stiffness_comes_from():
    """Double-bias carbon has about six times the in-plane shear stiffness of the same cloth laid 0/90."""
    double_bias = wall_stiffness(lay_up(["db 450", "mirror"], CARBON)).shear_modulus
    crossed = wall_stiffness(lay_up(["biax 450", "mirror"], CARBON)).shear_modulus
    assert 5 < double_bias / crossed < 11


def test_a_weave_couples_nothing_by_itself():
    """One woven cloth is symmetric and square: no coupling, and alike both ways; one stitched biaxial cloth
    bows.
    """
    woven = lay_up(["woven 300"], CARBON)
    assert not any(each.is_noticeable for each in couplings(woven))
    constants = membrane_constants(woven)
    assert constants.Ex == pytest.approx(constants.Ey, rel=1e-9)
    assert couplings(lay_up(["biax 300"], CARBON))[0].is_noticeable


def test_knockdowns_show_on_every_ply_but_the_core():
    """Named knock-downs lower the strengths, leave the stiffness, and stand listed on each ply."""
    named = (knockdowns()["wet"], knockdowns()["fatigue_carbon"])
    items = ["uni 300", "core foam80 20 mm", "uni 300"]
    plain = lay_up(items, CARBON)
    lowered = lay_up(items, LaminateMaterials(fibre="carbon_sm", process="infused", knockdowns=named))
    assert pytest.approx(plain.A) == lowered.A
    assert lowered.plies[0].lamina.Xt == pytest.approx(plain.plies[0].lamina.Xt * 0.95 * 0.60)
    assert lowered.plies[0].lamina.knockdowns == named
    assert lowered.plies[1].lamina.knockdowns == ()


@pytest.mark.parametrize(
    ("items", "said"),
    [
        ([], "no layers"),
        ("uni 300", "no layers"),
        (["un 300"], "did you mean 'uni'? use one of biax, csm, db, uni, woven"),
        (["uni"], "does not read"),
        (["uni 300 @x"], "does not read"),
        (["uni 300 @0 @3"], "does not read"),
        (["uni -300"], "-300 g/m² is impossible"),
        (["uni 0"], "0 g/m² is impossible"),
        (["uni kevler 300"], "no fibre is called 'kevler'; use one of carbon_im"),
        (["0x uni 300"], "lays nothing"),
        ([""], "does not read as a layer"),
        ([3], "3 is no text"),
        (["csm 300 @0"], "mat has none"),
        (["core foam80"], 'write the name and the thickness: "core foam80 20 mm"'),
        (["core foam80 20"], "has no unit"),
        (["core foam80 20 kg"], "is not a length"),
        (["core foam80 20 mm @3"], "a core has none"),
        (["core Foam-80 20 mm"], "did you mean 'foam80'?"),
        (["core foam8 20 mm"], "no core is called 'foam8'; use one of"),
        (["ply okoume_ply -3 mm"], "-3 mm is impossible"),
        (["ply okume_ply 3 mm"], "did you mean 'okoume_ply'?"),
        (["mirror"], "nothing to mirror"),
        (["uni 300", "mirror", "uni 300"], "put it last"),
        (["uni 300", "mirror twice"], 'write "mirror" or "mirror on last"'),
    ],
)
def test_bad_notation_is_one_sentence_with_its_cure(items, said):
    """What does not read is refused with the laminate's name, the item's number and what would be allowed."""
    with pytest.raises(InputFault) as fault:
        lay_up(items, CARBON, "side skin")
    message = str(fault.value)
    assert said in message
    assert message.startswith("side skin: ")
    assert "\n" not in message


@pytest.mark.parametrize(
    ("recipe", "said"),
    [
        (
            LaminateMaterials(fibre_volume=0.95),
            "lewis_nielsen allows more than 0 and at most 0.8200 (random packing)",
        ),
        (
            LaminateMaterials(fibre_volume=0.80, model="chamis"),
            "chamis allows more than 0 and at most 0.7854 (square packing)",
        ),
        (LaminateMaterials(fibre_volume=0.0), "a fibre volume fraction of 0 is impossible"),
        (LaminateMaterials(fibre_volume=-0.2), "a fibre volume fraction of -0.2 is impossible"),
        (LaminateMaterials(fibre_volume=float("nan")), "a fibre volume fraction of nan is impossible"),
        (LaminateMaterials(fibre_weight=1.2), "a fibre weight fraction of 1.2 is impossible"),
        (LaminateMaterials(fibre_volume=0.5, fibre_weight=0.6), "give one of them"),
        (LaminateMaterials(fibre="glas"), "no fibre is called 'glas'"),
        (LaminateMaterials(resin="epoxi"), "did you mean 'epoxy'?"),
        (LaminateMaterials(process="hands"), "did you mean 'hand'? use one of hand, infused, vacuum"),
        (LaminateMaterials(model="halpin"), "use one of chamis, halpin_tsai, lewis_nielsen, mixtures"),
    ],
)
def test_impossible_recipes_are_one_sentence_with_their_cure(recipe, said):
    """Fractions that cannot be packed and names that do not exist are refused with what would be allowed."""
    with pytest.raises(InputFault) as fault:
        lay_up(["uni 300"], recipe)
    assert said in str(fault.value)
    assert "\n" not in str(fault.value)


def test_the_example_in_the_door_runs():
    """The example in the package's docstring gives what it shows."""
    assert doctest.testmod(femcore.laminates).failed == 0
