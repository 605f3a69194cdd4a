"""Theory of a changed case: scaled where dimensional analysis gives it exactly, and otherwise said not to apply."""

from collections import Counter

import pytest

from cases.input.variants import key_step
from cases.verification.changed_case import ALL_LENGTHS, ALL_LOADS, changed
from cases.verification.similarity import theories
from cases.verification.textbook import OF_THEIR_ELEMENTS, TextbookCase, textbook_file
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import read_toml
from femcore.base.units import number_and_unit
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame

STIFFER = {"materials.steel.E": "294 GPa"}
"""1.4 times the steel of the textbook cases; G follows, by Poisson's ratio."""
ALIKE = [
    "cantilever_point_load", "propped_cantilever", "shear_flexible_cantilever", "portal_side_load", "l_bracket",
    "beam_on_middle_spring", "king_post_slipping_strap", "imposed_support_movements", "three_bar_truss_warmed",
    "gravity_cantilever", "semi_rigid_beam", "beam_column_middle_load", "euler_columns", "portal_buckling",
    "lateral_buckling_cantilever", "vibrating_cantilever", "vibrating_rod_consistent_and_lumped", "warmed_column_buckles",
    "pretension_shared_by_two_guys", "racking_half_torque_stiffness", "rigid_end_offsets", "bow_girder_semicircle",
]  # fmt: skip
REL_TOL_CONVERGED = 1e-3
"""Of a value of the continuous beam: twice the elements move none of these cases by more."""


def case(name):
    """A textbook case by its name."""
    path = textbook_file(name)
    return TextbookCase(path, read_frame_file(path))


def after(name, changes):
    """(theory, its own expectation, computed) of every value after a change."""
    one = case(name)
    before, now = run_frame(one.file), run_frame(changed(one, changes))
    found = theories(before, now, discrete=name in OF_THEIR_ELEMENTS)
    return [(theory, o.expected, o.computed) for theory, o in zip(found, now.outcomes, strict=True)]


def by_place(name, changes):
    """The same by case, place and quantity."""
    return {(e.case, e.at, e.quantity): (theory, computed) for theory, e, computed in after(name, changes)}


def test_a_cantilever_s_factors_are_those_of_the_handbook():
    """P L³/3EI, P L²/2EI, P L, and N L/EA: each by its own power, with lengths × 1.5, loads × 2 and E × 1.4."""
    found = by_place("cantilever_point_load", {ALL_LENGTHS: 1.5, ALL_LOADS: 2, **STIFFER})
    factors = {key: theory.factor for key, (theory, _) in found.items()}
    assert factors["vertical", "B", "uz"] == pytest.approx(2 * 1.5**3 / 1.4)
    assert factors["lateral", "B", "rz"] == pytest.approx(2 * 1.5**2 / 1.4)
    assert factors["vertical", "A", "My"] == pytest.approx(2 * 1.5)
    assert factors["vertical", "A", "Fz"] == pytest.approx(2)
    assert factors["pull", "B", "ux"] == pytest.approx(2 * 1.5 / 1.4)


def test_a_stiffness_without_action_takes_no_part():
    """Half the area: nothing where the cantilever only bends, twice the stretch where it is pulled."""
    found = by_place("cantilever_point_load", {"sections.bar.A": "10 cm**2"})
    assert found["vertical", "B", "uz"][0].status == "published"
    assert found["pull", "B", "ux"][0].factor == pytest.approx(2)


def test_forces_of_a_determinate_frame_follow_from_statics():
    """Another second moment of the suspended part: forces stay as published, movements have no theory."""
    found = by_place("gerber_beam", {"sections.bar.Iy": "500 cm**4"})
    assert found["load", "A", "Fz"][0].status == "published"
    stepped = {
        "sections.other": {"A": "20 cm**2", "Iy": "600 cm**4", "Iz": "500 cm**4", "J": "1 cm**4"},
        "beams.HC.section": "other",
    }
    found = by_place("gerber_beam", stepped)
    forces = {theory.status for (_, _, what), (theory, _) in found.items() if what[0] not in "ur"}
    movements = {theory.status for (_, _, what), (theory, _) in found.items() if what[0] in "ur"}
    assert forces == {"published"}
    assert movements == {"none"}


def test_theory_that_leaves_stretch_out_follows_lengths():
    """A portal of a very large A: its sway by the cube of the lengths, its forces as they are, moments by the lengths."""
    found = by_place("portal_side_load", {ALL_LENGTHS: 1.2})
    assert found["side", "B1", "ux"][0].factor == pytest.approx(1.2**3)
    assert found["side", "A1", "My"][0].factor == pytest.approx(1.2)
    assert found["side", "D2", "Fx"][0].status == "published"


def stiffer(name, factor):
    """Changes that multiply E and G of every material."""
    given = {
        f"materials.{key_step(material)}.{key}": value
        for material, table in read_toml(textbook_file(name)).get("materials", {}).items()
        for key, value in table.items()
        if key in ("E", "G")
    }
    return {
        key: f"{number_and_unit(value)[0][0] * factor!r} {number_and_unit(value)[1]}"
        for key, value in given.items()
    }


@pytest.mark.parametrize("name", ALIKE)
@pytest.mark.parametrize(
    ("lengths", "loads", "stiffness"),
    [(1, 1, 1), (1.3, 1, 1), (1, 0.8, 1), (1, 1, 1.4), (0.9, 0.5, 1.4), (1, 1.4, 1.4)],
)
def test_theory_that_is_scaled_is_met(name, lengths, loads, stiffness):
    """Whatever is scaled is computed within the file's own tolerance: published values and the solver are two ways to it."""
    found = after(name, {ALL_LENGTHS: lengths, ALL_LOADS: loads, **stiffer(name, stiffness)})
    for theory, expect, computed in found:
        if theory.status != "none":
            factor = abs(theory.factor)
            allowed = expect.allowed * (max(1.0, factor) if isinstance(expect.tolerance, str) else factor)
            assert computed == pytest.approx(theory.factor * expect.expected, rel=1e-12, abs=allowed)
    if loads == 1 and (lengths, stiffness) == (1, 1):
        assert {theory.status for theory, _, _ in found} == {"published"}


@pytest.mark.parametrize(
    ("name", "changes", "words"),
    [
        ("propped_cantilever", {"beams.AC.from_release": ["ry"]}, "the start of AC was given a release"),
        ("propped_cantilever", {"beams.CB.to_spring.ry": "1 MN*m/rad"}, "the end of CB was given a release or a spring"),
        ("gerber_beam", {"beams.HC.from_release": []}, "is held where the source's has a release"),
        ("propped_cantilever", {"supports.2.fixed": ["uy", "uz", "rx", "ry"]}, "supports fix other directions"),
        ("propped_cantilever", {"nodes.C": "2 0 0 m"}, "lengths are no longer in the source's proportion"),
        ("plane_frame_weaver_gere", {ALL_LENGTHS: 1.2}, "the stretch of members takes part"),
        ("king_post_slipping_strap", {ALL_LENGTHS: 1.2}, "stiffnesses are no longer in the source's proportion"),
        ("propped_cantilever", {"sections.other": {"A": "9 cm**2", "Iy": "9 cm**4"}, "beams.CB.section": "other"}, "stiffnesses"),
        ("beam_column_middle_load", {ALL_LOADS: 0.9}, "in the deformed shape"),
        ("propped_cantilever", {"cases.middle.second_order": True}, "is now solved in the deformed shape"),
        ("king_post_slipping_strap", {ALL_LOADS: -1}, "cables that are pulled"),
        ("unsymmetrical_bending", {"cases.1.point.1.force": "0 1 -3 kN"}, "loads are no longer in the source's proportion"),
        ("one_beam_cantilever_masses", {"beams.1.divide": 2}, "its values are those of 1 elements"),
    ],
)  # fmt: skip
def test_what_leaves_the_source_s_assumptions_is_said(name, changes, words):
    """Plainly, with what it was; never a number of another structure."""
    said = {theory.words for theory, _, _ in after(name, changes) if theory.status == "none"}
    assert any(words in one for one in said), said


def test_only_the_listed_cases_are_of_their_elements():
    """Twice the elements move their values, and no other case's here."""
    for name in (*ALIKE, "one_beam_cantilever_masses"):
        one = case(name)
        finer = {f"beams.{number}.divide": 2 * beam.divide for number, beam in enumerate(one.file.beams, 1)}
        before, now = run_frame(one.file), run_frame(changed(one, finer))
        sizes = [
            abs(b.computed - a.computed) / abs(a.computed)
            for a, b in zip(before.outcomes, now.outcomes, strict=True)
            if a.expected.expected
        ]
        assert (max(sizes) > REL_TOL_CONVERGED) == (name in OF_THEIR_ELEMENTS), (
            name,
            Counter(sizes).most_common(1),
        )


def test_faults_name_the_key():
    """Of a change that leads nowhere, and of a value that is none; the file itself is not at fault."""
    one = case("propped_cantilever")
    with pytest.raises(InputFault, match=r"^'beams\.AD\.divide': .*name one of 'AC', 'CB'"):
        changed(one, {"beams.AD.divide": 2})
    with pytest.raises(InputFaults, match=r"materials: steel: E: .*is not a stress"):
        changed(one, {"materials.steel.E": "5 mph"})
    with pytest.raises(InputFault, match=r"expect\.1\.value: is what the source says"):
        changed(one, {"expect.1.value": "1 kN*m"})
    with pytest.raises(InputFault, match="all lengths: '-1' is no factor"):
        changed(one, {ALL_LENGTHS: -1})
