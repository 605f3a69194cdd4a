"""Laws that any section must obey: balance, reciprocity, energy, and indifference to how it is described."""

import importlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.sections import (
    Section,
    Wall,
    analyse,
    box,
    channel,
    i_section,
    metal_stress,
    outline,
    properties,
    recover,
    resultants,
    subdivided,
    transformed,
    with_web,
)
from tests.planting import faulty_names

# Two of these modules share their name with a function at the package's door, so they are fetched by path.
analysis_module, outline_module, properties_module, recovery_module = (
    importlib.import_module(f"femcore.sections.{name}")
    for name in ("analysis", "outline", "properties", "recovery")
)


class Slanted:
    """An invented unbalanced laminate: one layer of carbon at 20° over one at −50°, off the middle."""

    thickness = 4e-3
    areal_mass = 6.0

    def __init__(self):
        self.A, self.B, self.D = (np.zeros((3, 3)) for _ in range(3))
        for angle, low, high in ((20, -2e-3, 0.5e-3), (-50, 0.5e-3, 2e-3)):
            c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
            turn = np.array(
                [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
            )
            Q = turn.T @ np.array([[120e9, 2.5e9, 0], [2.5e9, 9e9, 0], [0, 0, 5e9]]) @ turn
            self.A += Q * (high - low)
            self.B += Q * (high**2 - low**2) / 2
            self.D += Q * (high**3 - low**3) / 3


THIN = Wall.isotropic(70e9, 3e-3, nu=0.3, density=2700.0, name="thin")
THICK = Wall.isotropic(200e9, 6e-3, nu=0.28, density=7800.0, name="thick")
SLANTED = Wall.from_laminate(Slanted(), name="slanted")


def irregular():
    """Three cells, a loose end, metal and unbalanced laminate: nothing in it is symmetric."""
    shell = box(0.31, 0.17, [THIN, SLANTED, THICK, SLANTED], corner_radius=0.03, facets=24)
    shell = with_web(shell, (0.05, -0.085), (0.02, 0.085), THICK)
    shell = with_web(shell, (-0.155, 0.01), (0.035, 0.0), SLANTED, part="shelf")
    return transformed(with_flange(shell), angle=0.3, by=(0.4, -0.2))


def with_flange(section):
    """The section with a wall that ends loose."""
    return Section(
        np.vstack([section.points, [0.22, 0.05]]),
        np.vstack([section.segments, [0, len(section.points)]]),
        section.walls,
        np.append(section.wall_of, 0),
        (*section.parts, "flange"),
        np.append(section.radius, np.inf),
        section.name,
    )


SECTIONS = {
    "irregular": irregular,
    "box": lambda: box(0.2, 0.1, [THIN, THICK, THIN, THICK]),
    "channel": lambda: channel(0.06, 0.12, THIN, THICK),
    "I": lambda: i_section(0.1, 0.2, THICK, THIN),
    "open laminate": lambda: outline([[0.1, 0], [0, 0.02], [0, 0.1], [0.07, 0.15]], SLANTED),
    "flat strip": lambda: outline([[0, 0], [0.1, 0]], THIN),
}
EACH = pytest.mark.parametrize("name", SECTIONS)
# Thin-walled theory has no shear flexibility across a single flat strip: what divides by it leaves the strip
# out.
SHEARED = pytest.mark.parametrize("name", [name for name in SECTIONS if name != "flat strip"])
SIX = np.array([3e3, -2e3, 5e3, 700.0, 900.0, -400.0])


def check_balance(section):
    """The flows recovered in the walls add up to the actions, about the centres or any point."""
    solved = analyse(section)
    loads = np.vstack([np.diag(SIX), SIX])
    scale = np.abs(SIX)
    for about in (None, (0.3, -0.7)):
        got = resultants(solved, recover(solved, loads, about=about), about=about)
        np.testing.assert_allclose(got / scale, loads / scale, atol=1e-10 if about is None else 1e-9)


def check_continuity(section):
    """At every point as much shear flow leaves as arrives; at a loose end none does."""
    solved = analyse(section)
    flows = recover(solved, SIX)
    net = np.zeros(len(section.points))
    np.add.at(net, section.segments[:, 0], flows.q[0, :, 0])
    np.add.at(net, section.segments[:, 1], -flows.q[0, :, -1])
    np.testing.assert_allclose(net / np.abs(flows.q).max(), 0.0, atol=1e-11)


def check_axial_gradient(section):
    """∂q/∂s = −∂N_x/∂x: the flow along a wall falls by what the axial flow gains over a length dx of beam."""
    solved = analyse(section)
    Vy, Vz = 2e3, -3e3
    here = recover(solved, [0, Vy, Vz, 0, 0, 0])
    gained = recover(solved, [0, 0, 0, 0, Vz, -Vy]).n_x  # My′ = Vz, Mz′ = −Vy, per metre
    ds = section.length[:, None] * np.diff(here.at)
    slope = np.diff(here.q[0], axis=-1) / ds
    middle = (gained[0, :, 1:] + gained[0, :, :-1]) / 2
    np.testing.assert_allclose(slope / np.abs(middle).max(), -middle / np.abs(middle).max(), atol=1e-8)


def check_energy(section):
    """½ F·f F is the strain energy of the recovered flows: ∫ of force times strain over the walls."""
    solved = analyse(section)
    beam = properties(solved)
    flows = recover(solved, SIX, stations=101)
    weight = section.length[:, None] * np.r_[1, np.tile([4, 2], 49), 4, 1] / 300
    e = flows.strains[0][..., [0, 2, 3, 5]]
    forces = np.stack([flows.n_x[0], flows.q[0], flows.m_x[0], flows.m_xs[0]], axis=-1)
    energy = np.sum(weight[..., None] * e * forces)
    assert SIX @ beam.flexibility @ SIX == pytest.approx(energy, rel=1e-8)


def check_reciprocity(section):
    """The twist that a shear force gives is what the same torque gives in shear: the flexibility is
    symmetric.

    Its torsion and bending columns are independent of that: they are the inverse of the stiffness.
    """
    solved = analyse(section)
    order = [0, 4, 5, 3]
    f = solved.flexibility
    scale = np.sqrt(np.outer(np.diag(f), np.diag(f)))
    np.testing.assert_allclose((f - f.T) / scale, 0.0, atol=1e-12)
    np.testing.assert_allclose(f[np.ix_(order, order)] @ solved.stiffness, np.eye(4), atol=1e-6)
    # strains by equilibrium (columns for Vy, Vz) against strains by energy (rows)
    np.testing.assert_allclose(
        solved.strain[:, 1:3] / scale[np.ix_(order, [1, 2])],
        f[np.ix_(order, [1, 2])] / scale[np.ix_(order, [1, 2])],
        atol=1e-9,
    )


def check_closure(section):
    """Around every cell the shear strain adds up to 2 A θ′ (Bredt), for every action at once."""
    solved = analyse(section)
    flows = recover(solved, np.vstack([np.diag(SIX), SIX]))
    weight = section.length[:, None] * np.array([7, 32, 12, 32, 7]) / 90
    around = np.einsum("am,mg,lmg->la", solved.cells.loops, weight, flows.strains[..., 2])
    twist = -flows.strains[:, 0, 0, 5] / 2
    np.testing.assert_allclose(around, 2 * twist[:, None] * solved.cells.area, atol=1e-12)


def check_wall_law(section):
    """Forces and strains recovered in a wall are related by that wall's own stiffness."""
    solved = analyse(section)
    flows = recover(solved, SIX)
    forces = np.stack([flows.n_x, flows.q, flows.m_x, flows.m_xs], axis=-1)
    stiffness = np.stack([wall.stiffness for wall in section.walls])[section.wall_of]
    law = np.einsum("mij,lmgj->lmgi", stiffness, flows.strains[..., [0, 2, 3, 5]])
    size = np.abs(forces).max(axis=(0, 1, 2)) + 1e-12
    np.testing.assert_allclose(law / size, forces / size, atol=1e-9)


def check_centres(section):
    """N at the elastic centre does not bend; V at the shear centre does not twist."""
    f = properties(section).flexibility
    own = np.sqrt(np.maximum(np.diag(f), 1e-300))
    np.testing.assert_allclose((f / np.outer(own, own))[[0, 0, 1, 2], [4, 5, 3, 3]], 0.0, atol=1e-9)


LAWS = {
    "balance": check_balance,
    "continuity": check_continuity,
    "axial gradient": check_axial_gradient,
    "energy": check_energy,
    "reciprocity": check_reciprocity,
    "closure": check_closure,
    "wall law": check_wall_law,
    "centres": check_centres,
}


@EACH
@pytest.mark.parametrize("law", LAWS)
def test_law_holds(name, law):
    """Each law of LAWS holds for each section of SECTIONS; the law's own sentence stands in its function."""
    LAWS[law](SECTIONS[name]())


# The planted faults: (module, what it computes, what the fault computes, the law that must turn red).
FAULTS = [
    (analysis_module, "closure[:, 3] = 2.0 * loops.area", "closure[:, 3] = loops.area", "closure"),
    (
        analysis_module,
        "lost = length * axial_gradient.mean(axis=1)",
        "lost = -length * axial_gradient.mean(axis=1)",
        "continuity",
    ),
    (analysis_module, "[-inverse[:, 2], inverse[:, 1]]", "[inverse[:, 2], inverse[:, 1]]", "balance"),
    (analysis_module, "shape[..., 2, 3] = -2.0", "shape[..., 2, 3] = -1.0", "balance"),
    (
        analysis_module,
        "axial_gradient[:, 0] / 2 + (axial_gradient[:, 1] - axial_gradient[:, 0]) / 6",
        "axial_gradient[:, 0] / 2 - (axial_gradient[:, 1] - axial_gradient[:, 0]) / 6",
        "closure",
    ),
    (analysis_module, "c = K[:, 1, rest] / k[:, None]", "c = -K[:, 1, rest] / k[:, None]", "wall law"),
    (analysis_module, "-inverse @ left[:, SHEARS]", "inverse @ left[:, SHEARS]", "balance"),
    (
        analysis_module,
        "np.add.at(arrives, self._section.segments[:, 1], -lost)",
        "np.add.at(arrives, self._section.segments[:, 0], -lost)",
        "continuity",
    ),
    (
        recovery_module,
        "q / law.k[:, None, None] - np.einsum('mi,mgil->mgl', law.c, e)",
        "q / law.k[:, None, None] + np.einsum('mi,mgil->mgl', law.c, e)",
        "energy",
    ),
    (recovery_module, "-flows.v_n * tz", "flows.v_n * tz", "balance"),
    (properties_module, "carry[3, 1], carry[3, 2] = -zs, ys", "carry[3, 1], carry[3, 2] = zs, ys", "centres"),
    (
        outline_module,
        "np.add.at(loops, (face[count:], np.arange(count)), -1.0)",
        "np.add.at(loops, (face[count:], np.arange(count)), 1.0)",
        "balance",
    ),
]


@pytest.mark.parametrize(("module", "right", "wrong", "law"), FAULTS, ids=[f"{f[3]}: {f[2]}" for f in FAULTS])
def test_planted_fault_turns_its_law_red(module, right, wrong, law, monkeypatch):
    """A sign or factor planted in the source makes the named law fail on the irregular section."""
    edited = faulty_names(module, right, wrong)
    for name in ("analyse", "recover", "resultants", "properties"):
        if name in edited:
            monkeypatch.setitem(globals(), name, edited[name])
    for user in (analysis_module, recovery_module, properties_module):
        for name in ("Analysis", "cells", "carry_over", "centres", "analyse", "strain_shape", "flow_along"):
            if user is not module and hasattr(user, name) and name in edited:
                monkeypatch.setattr(user, name, edited[name])
    with pytest.raises(AssertionError):
        LAWS[law](irregular())


@pytest.mark.parametrize("right", ["K[:, 2, rest] / k[:, None]", "inverse"])
def test_a_fault_needs_exactly_one_place(right):
    """What a module does not compute, or computes in several places, cannot be replaced by a fault."""
    with pytest.raises(AssertionError, match="places with"):
        faulty_names(analysis_module, right, "0")


def numbers(section):
    """What of a section does not depend on axes or description."""
    beam = properties(section)
    return np.array([beam.EA, beam.EI1, beam.EI2, beam.GJ, beam.mass, beam.cell_area.sum()])


@SHEARED
@given(angle=st.floats(-3.0, 3.0), y=st.floats(-2.0, 2.0), z=st.floats(-2.0, 2.0))
def test_turning_and_shifting_changes_nothing_but_places(name, angle, y, z):
    """Principal stiffnesses, GJ, mass and areas stay; centres and the flexibility turn with the section."""
    section = SECTIONS[name]()
    there = transformed(section, angle=angle, by=(y, z))
    np.testing.assert_allclose(numbers(there), numbers(section), rtol=1e-8)
    one, other = properties(section), properties(there)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    for key in ("centre", "shear_centre", "mass_centre"):
        np.testing.assert_allclose(getattr(other, key), turn @ getattr(one, key) + (y, z), atol=1e-8)
    whole = np.eye(6)
    whole[1:3, 1:3] = whole[4:6, 4:6] = turn
    scale = np.sqrt(np.diag(whole @ one.flexibility @ whole.T))
    error = (other.flexibility - whole @ one.flexibility @ whole.T) / np.outer(scale, scale)
    np.testing.assert_allclose(error, 0.0, atol=1e-7)


@SHEARED
def test_numbering_and_direction_change_nothing(name):
    """Points and segments in another order, metal walls the other way round: same numbers."""
    section = SECTIONS[name]()
    rng = np.random.default_rng(7)
    points, rows = rng.permutation(len(section.points)), rng.permutation(len(section.segments))
    where = np.argsort(points)
    metal = np.array([wall.laminate is None for wall in section.walls])[section.wall_of]
    segments = np.where(metal[:, None], section.segments[:, ::-1], section.segments)
    shuffled = Section(
        section.points[points],
        where[segments][rows],
        section.walls,
        section.wall_of[rows],
        tuple(section.parts[i] for i in rows),
        section.radius[rows],
    )
    one, other = properties(section), properties(shuffled)
    np.testing.assert_allclose(numbers(shuffled), numbers(section), rtol=1e-9)
    scale = np.sqrt(np.diag(one.flexibility))
    np.testing.assert_allclose((one.flexibility - other.flexibility) / np.outer(scale, scale), 0.0, atol=1e-9)


@SHEARED
def test_splitting_segments_changes_nothing(name):
    """Three segments for each: flows are linear and quadratic along a wall, so nothing is lost."""
    section = SECTIONS[name]()
    one, other = properties(section), properties(subdivided(section, 3))
    np.testing.assert_allclose(numbers(subdivided(section, 3)), numbers(section), rtol=1e-9)
    scale = np.sqrt(np.diag(one.flexibility))
    np.testing.assert_allclose((one.flexibility - other.flexibility) / np.outer(scale, scale), 0.0, atol=1e-9)


def test_metal_has_no_couplings_and_unbalanced_laminate_names_them():
    """Metal walls couple nothing; an unbalanced laminate says which actions and how strongly."""
    assert properties(SECTIONS["box"]()).couplings == ()
    found = properties(SECTIONS["irregular"]()).couplings
    assert found
    assert all(0.01 <= abs(each.strength) < 1 for each in found)
    assert "also" in found[0].sentence()


def test_several_cases_at_once_are_the_cases_alone():
    """Cases are rows: recovering them together is recovering each."""
    solved = analyse(irregular())
    loads = np.random.default_rng(3).normal(size=(4, 6))
    together = recover(solved, loads)
    for i, load in enumerate(loads):
        np.testing.assert_allclose(together.q[i], recover(solved, load).q[0], rtol=1e-9, atol=1e-12)


def test_metal_stress_of_a_strip_is_the_elementary_one():
    """A strip b × t: σ = N/bt, 6M/bt² about its weak axis, τ = 3T/bt² at both faces."""
    b, t = 0.1, 3e-3
    solved = analyse(outline([[0, 0], [b, 0]], THIN))
    stress = metal_stress(
        solved, recover(solved, [[900.0, 0, 0, 0, 0, 0], [0, 0, 0, 0, 30.0, 0], [0, 0, 0, 30.0, 0, 0]])
    )
    np.testing.assert_allclose(stress.sigma[0], 900 / (b * t), rtol=1e-9)
    np.testing.assert_allclose(stress.sigma[1, 0], np.tile([-1, 1], (5, 1)) * 6 * 30 / (b * t**2), rtol=1e-9)
    np.testing.assert_allclose(np.abs(stress.tau[2]), 3 * 30 / (b * t**2), rtol=1e-9)
    np.testing.assert_allclose(stress.von_mises[2], np.sqrt(3) * 3 * 30 / (b * t**2), rtol=1e-9)
