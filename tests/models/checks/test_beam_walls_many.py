"""What governs in the walls, found from unit actions, against every place of every wall judged one by one."""

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.files.section_file import MaterialTables, build_wall_materials, thin_walled_beam
from femcore.files.section_file.shapes import Channel, DSection, ISection, Outline, ThinBox, ThinTube
from femcore.laminates import (
    CRITERIA,
    core_shear,
    core_shear_stiffness,
    evaluate_plies,
    utilisation,
    wrinkling,
)
from models.checks.beam_walls import wall_checks, wall_states

STOCK = build_wall_materials(
    MaterialTables.model_validate(
        {
            "materials": {
                "alloy": {"E": "70 GPa", "nu": 0.3, "proof": "250 MPa"},
                "soft": {"E": "69 GPa", "nu": 0.33, "proof": "90 MPa"},
            },
            "laminates": {
                "laid": {
                    "layup": ["db 450 @45", "3x uni 300 @0", "db 450", "uni 300 @20", "mirror"],
                    "fibre": "carbon_sm",
                    "process": "infused",
                },
                "sandwich": {
                    "layup": ["db 800", "2x uni 600 @0", "core foam80 15 mm", "uni 600 @0", "db 450"],
                    "fibre": "e_glass",
                    "process": "infused",
                },
            },
        }
    )
)[0]
CELLS = {
    "shape": "outline",
    "laminate": "laid",
    "parts": [
        {
            "name": "skin",
            "points": ["0 0 mm", "90 0 mm", "150 0 mm", "150 80 mm", "90 80 mm", "0 80 mm", "0 0 mm"],
        },
        {"name": "web", "points": ["90 0 mm", "90 80 mm"], "material": "alloy", "thickness": "2 mm"},
    ],
}
BEAMS = {
    "metal tube": (ThinTube, {"diameter": "120 mm", "material": "alloy", "thickness": "3 mm"}),
    "laid tube": (ThinTube, {"diameter": "120 mm", "laminate": "laid"}),
    "sandwich box": (
        ThinBox,
        {"width": "250 mm", "height": "180 mm", "corner_radius": "30 mm", "laminate": "sandwich"},
    ),
    "D of two walls": (
        DSection,
        {
            "width": "150 mm",
            "height": "160 mm",
            "laminate": "laid",
            "walls": {"web": {"material": "alloy", "thickness": "4 mm"}},
        },
    ),
    "I of two metals": (
        ISection,
        {
            "width": "80 mm",
            "height": "120 mm",
            "material": "alloy",
            "thickness": "5 mm",
            "walls": {"web": {"material": "soft", "thickness": "3 mm"}},
        },
    ),
    "open, laid": (Channel, {"width": "60 mm", "height": "120 mm", "laminate": "laid"}),
    "two cells": (Outline, CELLS),
}
NAMES = {
    ThinTube: "thin tube",
    ThinBox: "thin box",
    DSection: "D",
    ISection: "I",
    Channel: "channel",
    Outline: "outline",
}


def beam(name):
    """The beam of that name."""
    shape, table = BEAMS[name]
    return thin_walled_beam(shape.model_validate({"shape": NAMES[shape], **table}), STOCK, name)


WALLED = {name: beam(name) for name in BEAMS}
LOADS = np.random.default_rng(11).normal(size=(40, 6)) * [3e4, 3e3, 3e3, 1e3, 2e3, 2e3]
LOADS *= 10 ** np.linspace(-2, 2, 40)[:, None]
UNITS = 1e3 * np.concatenate([np.eye(6), -np.eye(6)])


def ply_by_ply(walled, actions, criterion):
    """Of one action, every face of every ply at every place: its load factor, part, ply and mode."""
    found = []
    parts = walled.solved.section.parts
    for wall in wall_states(walled, actions).plies:
        laminate = wall.wall.laminate
        criterion_result = evaluate_plies(laminate, wall.state, criterion)
        for at, factor in np.ndenumerate(criterion_result.load_factor[0]):
            segment, _, ply, _ = at
            label = f"{ply + 1}: {laminate.plies[ply].label}"
            found.append(
                (
                    factor,
                    parts[wall.segments[segment]],
                    label,
                    criterion_result.modes[criterion_result.mode[0][at]],
                )
            )
    return found


def place_by_place(walled, actions):
    """Of one action, every metal segment: proof over its largest von Mises stress, that stress, its part."""
    metal = wall_states(walled, actions).metal
    section, found = walled.solved.section, []
    for number, segment in enumerate(metal.segments if metal else ()):
        stress = metal.von_mises[0, number].max()
        found.append(
            (walled.materials[section.wall_of[segment]].proof / stress, stress, section.parts[segment])
        )
    return found


def among_the_worst(found, given):
    """Whether `given` is one of those that `found` ties for the lowest, first column, to rounding."""
    least = min(row[0] for row in found)
    return given in {row[1:] for row in found if row[0] <= least * (1 + 1e-9)}


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize("name", [name for name in BEAMS if name not in {"metal tube", "I of two metals"}])
def test_plies_govern_as_each_judged_alone(name, criterion):
    """Lowest factor, part, ply and mode are those found by judging every ply and face of every place."""
    some = np.concatenate([LOADS[::8], UNITS[:8:3]])
    checks = wall_checks(WALLED[name], some, criterion=criterion)
    for i, action in enumerate(some):
        found = ply_by_ply(WALLED[name], action, criterion)
        assert checks.ply_factor[i] == pytest.approx(min(row[0] for row in found), rel=1e-10)
        assert among_the_worst(found, (checks.ply_part[i], checks.ply[i], checks.ply_mode[i]))


@pytest.mark.parametrize("name", ["metal tube", "D of two walls", "I of two metals", "two cells"])
def test_metal_yields_first_where_each_place_alone_says(name):
    """The lowest of proof over von Mises stress and its part, and the largest stress, which may be in another metal."""
    some = np.concatenate([LOADS, UNITS])
    checks = wall_checks(WALLED[name], some)
    for i, action in enumerate(some):
        found = place_by_place(WALLED[name], action)
        assert checks.von_mises[i] == pytest.approx(max(row[1] for row in found), rel=1e-10)
        assert checks.proof_factor[i] == pytest.approx(min(row[0] for row in found), rel=1e-10)
        assert among_the_worst([(row[0], row[2]) for row in found], (checks.proof_part[i],))


@pytest.mark.parametrize("length", [np.inf, 0.8])
@pytest.mark.parametrize("name", BEAMS)
def test_panels_buckle_as_each_alone(name, length):
    """The lowest factor of all panels and its part are those of the flows of that action."""
    checks = wall_checks(WALLED[name], LOADS, length)
    for i, action in enumerate(LOADS):
        alone = wall_states(WALLED[name], action, length).buckling
        assert checks.buckling_factor[i] == pytest.approx(alone.factor.min(), rel=1e-10)
        found = list(zip(alone.factor[0], alone.panels.names, strict=True))
        assert among_the_worst(found, (checks.buckling_part[i],))


def test_faces_wrinkle_where_each_place_alone_says():
    """The lowest wrinkling factor over all places, each judged from its six resultants by the sandwich's own check."""
    beam, some = WALLED["sandwich box"], np.concatenate([LOADS, UNITS])
    checks = wall_checks(beam, some)
    laminate = beam.solved.section.walls[0].laminate
    flows = wall_states(beam, some).flows
    alone = wrinkling(laminate, flows.strains @ laminate.stiffness).load_factor.min(axis=(1, 2, 3))
    np.testing.assert_allclose(checks.wrinkling_factor, alone, rtol=8e-3)
    assert (checks.wrinkling_factor >= alone * (1 - 1e-9)).all()
    assert all((part == "") == np.isinf(k) for part, k in zip(checks.wrinkling_part, alone, strict=True))


def test_cores_shear_where_each_place_alone_says():
    """The lowest factor of V/d over all places, where V balances the change of the wall's own bending along the beam."""
    beam, some = WALLED["sandwich box"], np.concatenate([LOADS, UNITS])
    checks = wall_checks(beam, some)
    force = wall_states(beam, some).flows.v_n
    laminate = beam.solved.section.walls[0].laminate
    alone = core_shear(laminate, np.stack([force, 0 * force], axis=-1)).load_factor.min(axis=(1, 2))
    np.testing.assert_allclose(checks.core_factor, alone, rtol=1e-9)
    # bending without shear force brings none to the core
    assert np.isinf(wall_checks(beam, [0, 0, 0, 0, 1e3, 0]).core_factor[0])


def test_a_core_crimps_at_its_shear_stiffness():
    """In pure compression of a panel, S = G d²/c over the flow (H. G. Allen 1969, from memory); a wall without a core never."""
    beam = WALLED["sandwich box"]
    checks = wall_checks(beam, [-1e5, 0, 0, 0, 0, 0])
    laminate = beam.solved.section.walls[0].laminate
    S = core_shear_stiffness(laminate)
    flow = -wall_states(beam, [-1e5, 0, 0, 0, 0, 0]).flows.n_x.min()
    assert checks.crimping_factor[0] == pytest.approx(S / flow, rel=1e-2)
    assert checks.buckling_factor[0] < checks.crimping_factor[0]
    assert checks.has_core
    plain = wall_checks(WALLED["laid tube"], LOADS)
    assert not plain.has_core
    for factor in (plain.wrinkling_factor, plain.core_factor, plain.crimping_factor):
        assert np.isinf(factor).all()


def test_a_core_with_one_face_is_named_and_not_judged():
    """It is no sandwich: why is given, for the list of what was not checked; its panels still buckle and crimp."""
    stock = build_wall_materials(
        MaterialTables.model_validate(
            {"laminates": {"bald": {"layup": ["core foam80 15 mm", "2x db 800"], "fibre": "e_glass"}}}
        )
    )[0]
    table = {"shape": "thin box", "width": "250 mm", "height": "180 mm", "laminate": "bald"}
    checks = wall_checks(thin_walled_beam(ThinBox.model_validate(table), stock, "bald"), LOADS)
    assert [str(fault) for fault in checks.unjudged] == [
        "laminates: bald: a core without a face; lay plies on both sides of it"
    ]
    assert np.isinf(checks.wrinkling_factor).all()
    assert np.isfinite(checks.crimping_factor).any()


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize("name", BEAMS)
def test_actions_taken_by_a_factor_bring_that_wall_to_its_limit(name, criterion):
    """What a factor says comes true: the actions times it leave a factor of one, at the same place."""
    for kind, what in (
        ("proof", "proof_part"),
        ("ply", "ply"),
        ("buckling", "buckling_part"),
        ("wrinkling", "wrinkling_part"),
        ("crimping", None),  # like corners tie
        ("core", None),
    ):
        once = wall_checks(WALLED[name], LOADS, criterion=criterion)
        factor = getattr(once, f"{kind}_factor")
        some = np.isfinite(factor)
        again = wall_checks(WALLED[name], LOADS[some] * factor[some, None], criterion=criterion)
        np.testing.assert_allclose(getattr(again, f"{kind}_factor"), 1.0, rtol=1e-9)
        assert what is None or getattr(again, what) == tuple(np.array(getattr(once, what))[some])


@pytest.mark.parametrize("criterion", ["tsai_wu", "max_strain"])
@pytest.mark.parametrize("name", ["laid tube", "two cells"])
def test_rows_at_a_time_change_nothing(name, criterion, monkeypatch):
    """However few actions are worked on at once, to keep memory small, every row comes out the same."""
    whole = wall_checks(WALLED[name], LOADS, criterion=criterion)
    monkeypatch.setattr(utilisation, "BLOCK_ENTRIES", 1)
    few = wall_checks(WALLED[name], LOADS, criterion=criterion)
    for key in (
        "von_mises",
        "proof_factor",
        "ply_factor",
        "buckling_factor",
        "wrinkling_factor",
        "core_factor",
    ):
        np.testing.assert_allclose(getattr(few, key), getattr(whole, key), rtol=1e-12)
    for key in ("proof_part", "ply_part", "ply", "ply_mode", "buckling_part"):
        assert getattr(few, key) == getattr(whole, key)


def test_no_actions_and_none_that_are_numbers():
    """An empty table gives empty columns; what is no number is refused in a sentence."""
    none = wall_checks(WALLED["two cells"], np.zeros((0, 6)))
    assert none.ply_factor.shape == none.buckling_factor.shape == (0,)
    assert none.ply == none.buckling_part == ()
    for wrong in ([1, 2, 3], [[0, 0, 0, 0, 0, np.nan]]):
        with pytest.raises(InputFault, match="give N, Vy, Vz, T, My, Mz"):
            wall_checks(WALLED["two cells"], wrong)
