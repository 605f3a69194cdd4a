"""The recipe that makes members of a platform as built: closed forms, limits, laws, and the tests' own shells beside it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from femcore.base.errors import InputFault
from femcore.laminates import LaminateMaterials, lay_up
from femcore.sections import Wall
from models.boat.platform_recipe import (
    CENTRE_SCATTER,
    DOORS_SOFTEN,
    LEVEL_DECK_STIFFENS,
    RACKING,
    SYMMETRIC,
    SYMMETRIC_SCATTER,
    TWIST_SCATTER,
    Bulkhead,
    PlatformAsBuilt,
    Sheet,
    Skin,
    web_and_flanges,
)
from tests.models.boat.recipe_platforms import (
    E,
    G,
    as_built,
    box_properties,
    drawn_platform,
    frame_symmetric_roll,
    frame_twist,
    sheet,
)
from tests.models.boat.shell_platform import ISOTROPIC, BoxPlatform, antisymmetric_twist, symmetric_roll

OPEN_DECK = BoxPlatform(
    spacing=6.4, breadth=1.2, depth=1.8, hull=0.012, forward=4.5, aft=-7.0,
    bulkheads=((0.0, 0.5, 1.4, 0.012, 0.012), (-4.6, 0.5, 1.4, 0.010, 0.012)), skins=((1.4, 0.006),), deck=(-4.6, 0.0),
    aft_beam=(-6.2, 1.2, 0.2, 0.2, 0.006), size=0.2,
)  # fmt: skip
TWO_SKINS = replace(
    OPEN_DECK, bulkheads=((0.0, 0.3, 1.5, 0.014, 0.012), (-2.4, 0.3, 1.5, 0.010, 0.010), (-5.2, 0.3, 1.5, 0.010, 0.012)),
    skins=((1.5, 0.006), (0.3, 0.004)), deck=(-5.2, 0.0),
)  # fmt: skip
ONE_DEEP_SKIN = replace(
    OPEN_DECK, bulkheads=tuple((x, 0.2, 1.6, 0.012, 0.012) for x in (0.0, -4.6)), skins=((1.6, 0.005),)
)
RIGID_HULL = dict.fromkeys(("EA", "EI_vertical", "EI_lateral", "GJ", "GA_vertical", "GA_lateral"), 1e16)
REL_TOL_RECIPE = 0.12
"""Of φ of these three platforms, the narrower of the two scatters that `TWIST_SCATTER` states."""
REL_TOL_RIGID = 1e-4
"""Of the frame on such hulls against the closed form on rigid ones."""


# ---- against shells ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "platform", [OPEN_DECK, ONE_DEEP_SKIN, TWO_SKINS], ids=["open deck", "deep bulkheads", "two skins"]
)
def test_the_recipes_frame_turns_as_shells_do(platform):
    """φ per moment and twist centre of the frame of members are those of a shell model of what was built, within the scatter."""
    shells, frame = antisymmetric_twist(platform), frame_twist(platform)
    assert frame.phi == pytest.approx(shells.phi, rel=REL_TOL_RECIPE)
    assert frame.x_c == pytest.approx(shells.x_c, abs=CENTRE_SCATTER)
    assert -4.0 < shells.x_c < -1.0  # well aft of the main bulkhead


@pytest.mark.parametrize("seed", range(6))
def test_platforms_drawn_within_the_range_are_within_the_scatter(seed):
    """Whatever a platform's measures within the range that the recipe names: φ within its stated factors, x_c in its scatter."""
    platform = drawn_platform(seed)
    built, shells, frame = as_built(platform), antisymmetric_twist(platform), frame_twist(platform)
    assert list(built.outside()) == []
    low, high = built.twist_range
    assert low < shells.phi / frame.phi < high
    assert frame.x_c == pytest.approx(shells.x_c, abs=CENTRE_SCATTER)


def test_one_beam_for_an_open_deck_is_several_times_too_soft():
    """Without its bulkheads' shear, an open deck by its torsion alone turns several times as much as shells do."""
    members = as_built(OPEN_DECK).members()
    torsion = sum(one.GJ for one in members) / OPEN_DECK.clear
    assert 1 / (2 * torsion) > 1.3 * antisymmetric_twist(OPEN_DECK).phi


def test_doors_in_the_main_bulkhead_soften_by_no_more_than_is_allowed():
    """A pair of 0.8 × 0.8 m openings in shells raises φ, by less than the one-sided allowance."""
    whole = replace(ONE_DEEP_SKIN, bulkheads=((0.0, 0.2, 1.6, 0.012, 0.012), (-4.6, 0.2, 1.6, 0.012, 0.012)))
    cut = replace(whole, doors={0: (0.8, 1.6, 0.4, 1.2)})
    ratio = antisymmetric_twist(cut).phi / antisymmetric_twist(whole).phi
    assert 1.0 < ratio < 1 + DOORS_SOFTEN


@pytest.mark.parametrize("platform", [OPEN_DECK, TWO_SKINS], ids=["open deck", "two skins"])
@pytest.mark.parametrize(
    ("bulkheads", "skins"),
    [
        ((9e9, 9e9, 0.1, 1.2e9), ISOTROPIC),
        ((9e9, 9e9, 0.55, 6.3e9), ISOTROPIC),
        ((7e9, 14e9, 0.1, 3e9), (14e9, 7e9, 0.2, 3e9)),
    ],
    ids=["plywood", "double-bias", "one-way"],
)
def test_orthotropic_walls_are_within_the_scatter(platform, bulkheads, skins):
    """E t and G t along a member suffice: shells of plywood, ±45° or one-way laminate turn as the frame, within the scatter."""
    walls = replace(platform, bulkhead_moduli=bulkheads, skin_moduli=skins, size=0.15)
    shells, frame = antisymmetric_twist(walls), frame_twist(walls)
    assert frame.phi == pytest.approx(shells.phi, rel=TWIST_SCATTER)
    assert frame.x_c == pytest.approx(shells.x_c, abs=CENTRE_SCATTER)


def test_thinner_walls_all_alike_turn_in_proportion():
    """Racking is membrane stress: shells with every wall half as thick turn twice as much (plate bending adds under 2 %)."""
    thin = replace(
        OPEN_DECK, hull=0.006, bulkheads=tuple((*one[:3], one[3] / 2, one[4] / 2) for one in OPEN_DECK.bulkheads),
        skins=((1.4, 0.003),), aft_beam=(-6.2, 1.2, 0.2, 0.2, 0.003),
    )  # fmt: skip
    whole, half = antisymmetric_twist(OPEN_DECK), antisymmetric_twist(thin)
    assert half.phi == pytest.approx(2 * whole.phi, rel=0.02)
    assert half.x_c == pytest.approx(whole.x_c, abs=0.02)


def test_a_skin_level_with_the_hulls_deck_is_stiffer_than_the_recipe_and_remarked():
    """The hull's own deck goes on as flange: shells turn less than the recipe, within what the remark says."""
    level = replace(
        OPEN_DECK, bulkheads=tuple((x, 0.6, 1.8, 0.012, 0.012) for x in (0.0, -4.6)), skins=((1.8, 0.006),)
    )
    over = frame_twist(level).phi / antisymmetric_twist(level).phi - 1
    assert 0.0 < over < LEVEL_DECK_STIFFENS
    built = as_built(level)
    assert any("level with the hulls' deck" in remark for remark in built.remarks())
    assert built.twist_range[0] == 1 / (1 + LEVEL_DECK_STIFFENS)
    assert not any("level with" in remark for remark in as_built(OPEN_DECK).remarks())


@pytest.mark.parametrize("platform", [OPEN_DECK, TWO_SKINS], ids=["open deck", "two skins"])
def test_symmetric_bending_wants_its_own_members(platform):
    """Hulls rolled opposite ways: the symmetric members are within their scatter, those for racking further off."""
    built, shells = as_built(platform), symmetric_roll(platform)
    own, racking = (
        frame_symmetric_roll(platform, built.members(how)) / shells - 1 for how in (SYMMETRIC, RACKING)
    )
    assert SYMMETRIC_SCATTER[0] < own < SYMMETRIC_SCATTER[1]
    assert abs(own) < abs(racking)


# ---- closed forms ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("platform", [OPEN_DECK, TWO_SKINS], ids=["open deck", "two skins"])
def test_on_rigid_hulls_the_frame_is_the_closed_form(platform):
    """1/k_i = b³/12EI + b/GA + b²/2k_end, x_c = Σk x/Σk, φ/M = 1/(2[Σ GJ/b + Σ k d²]): exact where hulls are rigid.

    All members at the hulls' own height: at different ones pitch pushes their ends fore and aft against one another.
    """
    level = {"height": platform.depth / 2}
    members, b = [one.model_copy(update=level) for one in as_built(platform).members()], platform.clear
    x = np.array([one.station for one in members])
    k = np.array(
        [
            1 / (b**3 / 12 / one.EI_vertical + b / one.GA_vertical + b**2 / 2 / one.end_spring)
            for one in members
        ]
    )
    centre = k @ x / k.sum()
    phi = 1 / (2 * (sum(one.GJ for one in members) / b + k @ (x - centre) ** 2))
    frame = frame_twist(platform, members, hull=RIGID_HULL)
    assert frame.phi == pytest.approx(phi, rel=REL_TOL_RIGID)
    assert frame.x_c == pytest.approx(centre, rel=REL_TOL_RIGID)


def test_a_bare_web_is_a_rectangle():
    """EA = E h t, EI = E t h³/12, GA = 5/6 G h t."""
    EA, centre, EI, GA = web_and_flanges(0.4, 1.3, sheet(0.012), [])
    assert (EA, centre) == (pytest.approx(E * 0.9 * 0.012), pytest.approx(0.85))
    assert pytest.approx(E * 0.012 * 0.9**3 / 12) == EI
    assert pytest.approx(5 / 6 * G * 0.9 * 0.012) == GA


def test_equal_flanges_make_an_i_section():
    """I = t h³/12 + A h²/2; GA by ∫ of the flow of an I, in closed form; the centre is at half height."""
    t, h, A = 0.01, 1.2, 0.003
    EA, centre, EI, GA = web_and_flanges(-h / 2, h / 2, sheet(t), [(h / 2, E * A), (-h / 2, E * A)])
    I = t * h**3 / 12 + A * h**2 / 2
    # S(z) = A h/2 + t (h²/4 − z²)/2, squared and integrated over the web
    a, c = A * h / 2, t / 2
    integral = a**2 * h + 2 * a * c * h**3 / 6 + c**2 * h**5 / 30
    assert (EA, centre, EI) == (
        pytest.approx(E * (h * t + 2 * A)),
        pytest.approx(0, abs=1e-12),
        pytest.approx(E * I),
    )
    assert pytest.approx(G * I**2 / (integral / t)) == GA


def test_large_flanges_leave_the_webs_area_to_shear():
    """With flanges far larger than the web the flow is constant: GA → G h t."""
    GA = web_and_flanges(0.0, 1.0, sheet(0.01), [(0.0, 1e4 * E * 0.01), (1.0, 1e4 * E * 0.01)])[3]
    assert pytest.approx(G * 0.01, rel=1e-3) == GA


def test_end_spring_of_a_bulkhead_as_deep_as_the_hull():
    """c = 0.15 + 0.28 (h/H)³: 0.43 E t_d h² for h = H, 0.185 E t_d h² for half the depth."""
    for depth, c in ((1.8, 0.43), (0.9, 0.185)):
        one = Bulkhead("b", 0.0, 0.0, depth, sheet(0.01), sheet(0.02))
        built = PlatformAsBuilt(6.4, 0.6, 0.0, 1.8, (one,))
        assert built.end_spring(one) == pytest.approx(c * E * 0.02 * depth**2)


def test_two_skins_between_bulkheads_are_a_bredt_box():
    """Σ GJ less the skins' own and the webs' own is that of the closed cell; skins alone G t³W/3."""
    built = as_built(TWO_SKINS)
    length, b = 5.2, built.width
    skins = G * (0.006**3 + 0.004**3) / 3 * length
    webs = sum(G * one[3] ** 3 / 3 * 1.2 for one in TWO_SKINS.bulkheads)
    box = 4 * G * (length * 1.2) ** 2 / (length / 0.006 + length / 0.004 + 1.2 / 0.014 + 1.2 / 0.010)
    beam = box_properties(0.2, 0.2, 0.006)["GJ"]
    assert b == pytest.approx(5.2)
    assert sum(one.GJ for one in built.members()) == pytest.approx(skins + webs + box + beam, rel=1e-12)


def test_flanges_end_at_half_the_bay_and_at_the_decks_edge():
    """0.05 b to each side where there is deck; a bulkhead at the deck's edge has a flange on one side only."""
    b = 5.2
    for second, expected in ((-3.0, 0.05 * b), (-0.3, 0.15)):
        stations = (0.0, second, -5.0)
        built = PlatformAsBuilt(
            6.4, 0.6, 0.0, 1.8, tuple(Bulkhead(str(x), x, 0.5, 1.4, sheet(0.012), sheet(0.012)) for x in stations),
            (Skin(1.4, -5.0, 0.0, sheet(0.006)),),
        )  # fmt: skip
        web = E * 0.9 * 0.012
        assert built.members()[0].EA == pytest.approx(web + E * 0.006 * expected)
        after = min(0.05 * b, (second + 5.0) / 2)
        assert built.members()[1].EA == pytest.approx(web + E * 0.006 * (expected + after))


def test_one_skin_without_bulkheads_is_torsion_only():
    """Rule 7: a single member, free in vertical bending at the hulls' sides, with GJ = G t³W/3."""
    (beam,) = as_built(OPEN_DECK).beams
    built = PlatformAsBuilt(6.4, 0.6, 0.0, 1.8, (), (Skin(1.4, -4.8, 0.0, sheet(0.006)),), (beam,))
    deck, same = built.members()
    assert same == beam
    assert (deck.end_spring, deck.station) == (0.0, -2.4)
    assert pytest.approx(G * 0.006**3 / 3 * 4.8) == deck.GJ


def test_a_sandwich_counts_by_its_skins_and_turns_with_the_lay_up():
    """E t of a sandwich is its skins' (core under 2 %), its thickness theirs; a deck's laminate lies fore and aft."""
    one_way = lay_up(["uni 300 @0", "core foam80 20 mm", "mirror on last"], LaminateMaterials())
    along, across = (Sheet.of_wall(Wall.from_laminate(one_way), along=each) for each in (True, False))
    assert along.stretch > 2 * across.stretch
    assert (along.stretch, along.shear) == (pytest.approx(across.stretch_across), pytest.approx(across.shear))
    assert along.thickness == pytest.approx(one_way.thickness - 0.020)


# ---- laws --------------------------------------------------------------------------------------------------------

THICKNESS = st.floats(0.003, 0.02)


def small(web=0.012, diaphragm=0.012, skins=(0.006,), depth=0.9):
    """A platform of two equal bulkheads."""
    heights = (1.4, 1.4 - depth)
    bulkheads = tuple(
        Bulkhead(str(x), x, 1.4 - depth, 1.4, sheet(web), sheet(diaphragm)) for x in (0.0, -4.6)
    )
    return PlatformAsBuilt(
        6.4,
        0.6,
        0.0,
        1.8,
        bulkheads,
        tuple(Skin(z, -4.6, 0.0, sheet(t)) for z, t in zip(heights, skins, strict=False)),
    )


def stiffnesses(built):
    """Of every member, all that resists racking."""
    return np.array(
        [
            [o.EA, o.EI_vertical, o.EI_lateral, o.GJ, o.GA_vertical, o.GA_lateral, o.end_spring]
            for o in built.members()
        ]
    )


@settings(max_examples=25, deadline=None)
@drawn(web=THICKNESS, diaphragm=THICKNESS, skin=THICKNESS, second=THICKNESS, more=st.floats(1.0, 3.0))
def test_more_material_never_softens(web, diaphragm, skin, second, more):
    """A thicker bulkhead, diaphragm or skin, or a second skin, lowers no stiffness of any member that bends or twists.

    EI of a web with flanges rises with each of its parts (Steiner; a minimum over the axis). GA of a web with one flange need
    not: shear flow in a web whose flange grows is spread otherwise, so GA is compared with the flanges unchanged.
    """
    base = stiffnesses(small(web, diaphragm, (skin,)))
    for other in (
        small(web * more, diaphragm, (skin,)),
        small(web, diaphragm * more, (skin,)),
        small(web, diaphragm, (skin * more,)),
        small(web, diaphragm, (skin, second)),
    ):
        bending = [0, 1, 2, 3, 6]
        assert (stiffnesses(other)[:, bending] >= base[:, bending] * (1 - 1e-12)).all()
    thicker = small(web * more, diaphragm, (skin * more,))
    assert (stiffnesses(thicker)[:, 4] >= base[:, 4] * (1 - 1e-12)).all()


def test_a_vanishing_deck_leaves_the_bare_web():
    """Skin thickness → 0: every property tends to that of a platform without deck."""
    bare = small(skins=())
    thin = small(skins=(1e-13,))
    assert stiffnesses(thin)[:, :5] == pytest.approx(stiffnesses(bare)[:, :5], rel=1e-5)


def test_symmetric_members_are_stiffer_than_those_for_racking():
    """Rigid ends and wider flanges: EI rises, no end spring is left, GJ is the same."""
    built = as_built(OPEN_DECK)
    for one, racking in zip(built.members(SYMMETRIC), built.members(), strict=True):
        assert one.EI_vertical >= racking.EI_vertical
        assert np.isinf(one.end_spring)
        assert one.GJ == racking.GJ


# ---- range and faults --------------------------------------------------------------------------------------------


def test_what_is_outside_the_range_is_named():
    """A platform like those tried has the scatter alone; each measure beyond them is named with the range."""
    built = as_built(OPEN_DECK)
    assert list(built.outside()) == []
    assert not any("outside the range" in remark for remark in built.remarks())
    assert built.twist_range == (1 / (1 + TWIST_SCATTER), 1 / (1 - TWIST_SCATTER))
    one, skin = built.bulkheads[0], built.skins[0]
    one_way = replace(skin.sheet, shear=skin.sheet.stretch / 9, stretch_across=skin.sheet.stretch / 3)
    wide = replace(
        built, spacing=9.0, skins=(replace(skin, sheet=one_way),),
        bulkheads=(replace(one, web=sheet(0.03), doors=((0.7, 0.7),)),),
    )  # fmt: skip
    text = " ".join(wide.remarks())
    for words in (
        "spacing 9 m (tried: 5 to 8 m)",
        "1 bulkhead (tried",
        "diaphragm over its bulkhead's 0.4 (tried: 0.44 to 2.2)",
        "E/G of a wall 9 (tried: 1.4 to 7.5)",
        "along over across 3 (tried: 0.5 to 2)",
        "+25 %",
    ):
        assert words in text
    assert wide.twist_range[1] == pytest.approx((1 + DOORS_SOFTEN) / (1 - TWIST_SCATTER))


def test_what_has_no_members_is_refused_with_the_cure():
    """Two skins without bulkheads, a skin off its bulkhead, a bulkhead off the hulls, two at one station: a sentence each."""
    built = as_built(TWO_SKINS)
    for change, words in (
        ({"bulkheads": ()}, "two skins and no bulkhead"),
        ({"skins": (replace(built.skins[0], height=1.7),)}, "is off bulkhead"),
        ({"bulkheads": (replace(built.bulkheads[0], bottom=1.9, top=2.4),)}, "above or below the hulls"),
        ({"bulkheads": built.bulkheads[:1] * 2}, "two bulkheads at one station"),
        ({"bulkheads": (), "skins": built.skins[:1], "beams": ()}, "each hull rolls freely"),
        ({"inboard": 3.2}, "reaches the centreline"),
    ):
        with pytest.raises(InputFault, match=words):
            replace(built, **change)
