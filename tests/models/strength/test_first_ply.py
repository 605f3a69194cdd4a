"""First-ply checks by the criterion of the boat's factors, against numbers worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.files.section_file import MaterialTables, build_wall_materials, thin_walled_beam
from femcore.files.section_file.shapes import ThinTube
from femcore.laminates import stack
from models.checks.beam_parts import beam_wall_checks
from models.strength.first_ply import first_ply_check
from models.strength.margins import CRITERION_SOURCES, SafetyFactors
from tests.femcore.laminates.laminate_cases import GRAPHITE

LAYERS = {
    "layers": {
        "ply": {
            "E1": "120 GPa", "E2": "8 GPa", "nu12": 0.3, "G12": "4 GPa", "density": "1550 kg/m**3",
            "Xt": "1500 MPa", "Xc": "900 MPa", "Yt": "40 MPa", "Yc": "150 MPa", "S12": "70 MPa",
        }
    },
    "laminates": {"along": {"layup": ["ply ply 2 mm @0"]}},
}  # fmt: skip


def utilisation_by_hand(criterion, s1, s2):
    """Of graphite without shear; strengths 1500, 1500, 40 and 246 MPa (Kaw, Table 2.1), E 181 and 10.3 GPa, ν12 0.28."""
    if criterion == "max_stress":
        return max(s1 / 1500, s2 / 40)
    if criterion == "max_strain":
        e1, e2 = s1 / 181e3 - 0.28 * s2 / 181e3, s2 / 10.3e3 - 0.28 * s1 / 181e3
        return max(e1 / (1500 / 181e3), e2 / (40 / 10.3e3))
    half = (1 / 40 - 1 / 246) * s2 / 2
    square = s1**2 / 1500**2 + s2**2 / (40 * 246) - s1 * s2 / (1500 * np.sqrt(40 * 246))
    return half + np.sqrt(half**2 + square)


@pytest.mark.parametrize("criterion", CRITERION_SOURCES)
def test_another_criterion_changes_the_margin_as_worked_by_hand(criterion):
    """400 and 30 MPa along and across the fibres of one ply 1 mm thick, with a factor of 2."""
    assert (GRAPHITE.E1, GRAPHITE.E2, GRAPHITE.nu12) == (181e9, 10.3e9, 0.28)
    loads = np.array([[[400e3, 30e3, 0, 0, 0, 0]]], float)
    factors = SafetyFactors(criterion=criterion, laminate=2.0)
    check = first_ply_check("wall", "first ply", stack([(GRAPHITE, 1e-3, 0)]), loads, factors, "statics")
    assert check.load[0] == pytest.approx(utilisation_by_hand(criterion, 400, 30), rel=1e-9)
    assert check.source == f"statics; {CRITERION_SOURCES[criterion]}, first ply"


def test_a_missing_strength_leaves_it_unchecked():
    """Without a strength there is a reason, and no margin."""
    laminate = stack([(replace(GRAPHITE, Yt=None), 1e-3, 0)])
    check = first_ply_check("wall", "first ply", laminate, np.ones((1, 1, 6)), SafetyFactors())
    assert check.kind == "not checked"
    assert "strength Yt is missing" in check.reason


@pytest.mark.parametrize("criterion", CRITERION_SOURCES)
def test_a_beams_walls_follow_the_criterion(criterion):
    """A tube of fibres along it, pulled by 100 kN: of one stress alone every criterion uses N/(2πRt Xt), and names itself."""
    materials = build_wall_materials(MaterialTables.model_validate(LAYERS))[0]
    shape = {"shape": "thin tube", "diameter": "200 mm", "measured": "midline", "laminate": "along"}
    tube = type(
        "Beam", (), {"thin_walled": thin_walled_beam(ThinTube.model_validate(shape), materials, "tube")}
    )
    actions, factors = np.zeros((1, 1, 6)), SafetyFactors(criterion=criterion)
    actions[..., 0], actions[..., 3] = 100e3, 5e3
    (ply,) = (
        one for one in beam_wall_checks("crossbeam", tube, actions, factors, 4.0) if one.check == "first ply"
    )
    s1, tau = 100e3 / (2 * np.pi * 0.1 * 2e-3), 5e3 / (2 * np.pi * 0.1**2 * 2e-3)
    by_hand = {
        "max_stress": max(s1 / 1500e6, tau / 70e6),
        "max_strain": max(s1 / 1500e6, tau / 70e6),
        "tsai_wu": (1 / 1500e6 - 1 / 900e6) * s1 / 2
        + np.sqrt(((1 / 1500e6 - 1 / 900e6) * s1 / 2) ** 2 + s1**2 / (1500e6 * 900e6) + (tau / 70e6) ** 2),
    }[criterion]
    assert ply.load[0] == pytest.approx(by_hand, rel=0.03)  # the wall's own twist adds t/2R at its outer face
    assert ply.source == f"thin-walled section; {CRITERION_SOURCES[criterion]}"
