"""From the crossbeam's actions to its walls: textbook stresses, first-ply failure, buckling, and what is missing."""

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.files.section_file import MaterialTables, build_wall_materials, thin_walled_beam
from femcore.files.section_file.shapes import Channel, ThinTube
from femcore.laminates import first_ply_failure
from femcore.sections import resultants
from models.checks.beam_walls import wall_checks, wall_states

R, T = 0.1, 0.004
TABLES = MaterialTables.model_validate(
    {
        "materials": {
            "alloy": {"E": "70 GPa", "nu": 0.3, "density": "2700 kg/m**3", "proof": "250 MPa"},
            "nameless": {"E": "70 GPa", "nu": 0.3},
        },
        "layers": {
            "bare": {"E1": "120 GPa", "E2": "8 GPa", "nu12": 0.3, "G12": "4 GPa", "density": "1550 kg/m**3"}
        },
        "laminates": {
            "laid": {"layup": ["uni 300 @0", "db 450", "mirror"], "fibre": "carbon_sm", "process": "infused"},
            "bare": {"layup": ["ply bare 1 mm @0", "ply bare 1 mm @90", "mirror"]},
        },
    }
)
STOCK = build_wall_materials(TABLES)[0]


def tube(**wall):
    """A round tube of that wall, its middle on the radius R."""
    table = {"shape": "thin tube", "diameter": f"{2 * R} m", "measured": "midline", **wall}
    return thin_walled_beam(ThinTube.model_validate(table), STOCK, "tube")


METAL = tube(material="alloy", thickness=f"{T} m")
LAID = tube(laminate="laid")
AXIAL, BEND, TWIST = [1e5, 0, 0, 0, 0, 0], [0, 0, 0, 0, 4e3, 0], [0, 0, 0, 4e3, 0, 0]


def test_stresses_of_a_metal_tube_are_the_textbooks():
    """N/2πrt, M/πr²t and √3·T/2πr²t (R. Bredt; S.P. Timoshenko & J.M. Gere, Mechanics of Materials; from memory)."""
    checks = wall_checks(METAL, [AXIAL, BEND, TWIST])
    expected = np.array(
        [1e5 / (2 * np.pi * R * T), 4e3 / (np.pi * R**2 * T), np.sqrt(3) * 4e3 / (2 * np.pi * R**2 * T)]
    )
    assert checks.von_mises[0] == pytest.approx(expected[0], rel=1e-4)
    # at the outer face: bending grows with the distance, torsion by the wall's own twist, at most t/r
    assert checks.von_mises[1] == pytest.approx(expected[1] * (1 + T / (2 * R)), rel=2e-3)
    assert expected[2] < checks.von_mises[2] < expected[2] * (1 + T / R)
    np.testing.assert_allclose(checks.proof_factor * checks.von_mises, 250e6, rtol=1e-12)
    assert set(checks.proof_part) == {"tube"}
    assert np.isinf(checks.ply_factor).all()


def test_a_shipped_metal_yields_at_its_own_proof_strength():
    """EN AW-6082-T6 above 5 mm: 260 MPa (EN 755-2), over N/2πrt."""
    checks = wall_checks(tube(material="al6082_t6", thickness="6 mm"), [AXIAL])
    assert checks.proof_factor[0] == pytest.approx(260e6 * 2 * np.pi * R * 0.006 / 1e5, rel=1e-4)


def test_first_ply_failure_is_that_of_the_laminate_alone():
    """A tube in tension strains its wall as N/2πr alone would, but for the hoop force, which is none."""
    checks = wall_checks(LAID, [AXIAL])
    laminate = LAID.solved.section.walls[0].laminate
    alone = first_ply_failure(laminate, [1e5 / (2 * np.pi * R), 0, 0, 0, 0, 0])
    assert checks.ply_factor[0] == pytest.approx(float(alone.load_factor), rel=1e-6)
    assert checks.ply_mode[0] == str(alone.mode)
    assert checks.von_mises[0] == 0.0


def test_a_compressed_tube_buckles_as_a_cylinder_knocked_down():
    """N = γ·2πt·Et/√(3(1 − ν²)), γ = 1 − 0.901(1 − exp(−√(r/t')/16)), t' = t (NASA SP-8007, read as quoted)."""
    checks = wall_checks(METAL, [[-1e5, 0, 0, 0, 0, 0]])
    knocked = 1 - 0.901 * (1 - np.exp(-np.sqrt(R / T) / 16))
    critical = knocked * 2 * np.pi * T * 70e9 * T / np.sqrt(3 * (1 - 0.3**2))
    assert checks.buckling_factor[0] == pytest.approx(critical / 1e5, rel=5e-3)
    assert checks.buckling_part == ("tube",)
    assert np.isinf(wall_checks(METAL, [AXIAL]).buckling_factor[0])


@pytest.mark.parametrize("beam", [METAL, LAID], ids=["metal", "laid"])
def test_factors_are_inverse_to_the_load_and_none_is_infinite(beam):
    """Twice the actions halve every factor but buckling's, whose shear counts squared; no load, no limit."""
    some = np.array([3e4, 2e3, -4e3, 5e3, 6e3, -2e3])
    once, twice, none = (wall_checks(beam, [some * factor]) for factor in (1, 2, 0))
    for name in ("proof_factor", "ply_factor", "buckling_factor"):
        assert getattr(once, name)[0] == pytest.approx(2 * getattr(twice, name)[0], rel=1e-9)
        assert np.isinf(getattr(none, name)[0])
    assert none.buckling_part == none.proof_part == none.ply_part == ("",)


@pytest.mark.parametrize("beam", [METAL, LAID], ids=["metal", "laid"])
def test_many_actions_are_taken_as_each_alone(beam):
    """A table longer than a block gives row by row what each action gives by itself."""
    table = np.random.default_rng(7).normal(size=(35, 6)) * [3e4, 3e3, 3e3, 4e3, 4e3, 4e3]
    whole = wall_checks(beam, table)
    for i in (0, 15, 16, 34):
        alone = wall_checks(beam, table[i])
        for name in ("von_mises", "proof_factor", "ply_factor", "buckling_factor"):
            assert getattr(whole, name)[i] == pytest.approx(getattr(alone, name)[0], rel=1e-12)
        assert whole.ply[i] == alone.ply[0]


def test_wall_flows_sum_to_the_actions_about_the_line():
    """Also where the elastic centre lies off it: a channel's flows give back all six about its shear centre."""
    table = {
        "shape": "channel",
        "width": "50 mm",
        "height": "90 mm",
        "material": "alloy",
        "thickness": "3 mm",
    }
    beam = thin_walled_beam(Channel.model_validate(table), STOCK, "channel")
    actions = np.array([[1e4, 200.0, -300.0, 40.0, 500.0, -100.0]])
    states = wall_states(beam, actions)
    found = resultants(beam.solved, states.flows, about=beam.properties.shear_centre)
    np.testing.assert_allclose(found, actions, rtol=1e-6)


def test_a_criterion_may_be_chosen():
    """The linear criteria of stress and strain bracket nothing but differ from the quadratic one here."""
    factors = {
        name: wall_checks(LAID, [TWIST], criterion=name).ply_factor[0] for name in ("tsai_wu", "max_stress")
    }
    assert factors["tsai_wu"] != factors["max_stress"]
    assert all(0 < factor < np.inf for factor in factors.values())


@pytest.mark.parametrize(
    ("wall", "words"),
    [
        (
            {"material": "nameless", "thickness": "4 mm"},
            "materials: nameless: proof: is missing; give its proof strength: whether the wall yields cannot",
        ),
        (
            {"laminate": "bare"},
            "laminates: bare: ply 1 (ply bare 1 mm @0): strength Xt is missing; give Xt for bare",
        ),
    ],
)
def test_a_missing_strength_is_one_sentence(wall, words):
    """It names material or laminate, the key, and the cure; with the file's name before it, as the command does."""
    with pytest.raises(InputFault) as trouble:
        wall_checks(tube(**wall), [AXIAL])
    assert str(trouble.value.inside("boat.toml")).startswith(f"boat.toml: {words}")
    assert trouble.value.exit_status == 2
