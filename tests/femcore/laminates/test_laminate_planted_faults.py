"""Each law can fail: a fault planted in the code turns the law that guards it red."""

import dataclasses
from functools import partial

import numpy as np
import pytest

from femcore.laminates import CONVEX_CRITERIA, failure, laminate, layup, response, sandwich, wall
from femcore.materials import cloth, constituents, micromechanics
from tests.femcore.laminates import test_laminate_failure as failing
from tests.femcore.laminates import test_laminate_layup as laying
from tests.femcore.laminates import test_laminate_sandwich as sandwiches
from tests.femcore.laminates import test_laminate_theory as theory
from tests.femcore.laminates import test_laminate_wall as walls
from tests.femcore.laminates import test_utilisation as using
from tests.femcore.materials import test_materials as mixing


def _transposed(function):
    return lambda *args: np.swapaxes(function(*args), -1, -2)


def _no_own_bending(Qbar, t, edges):
    A, B, D = TRUE_INTEGRALS(Qbar, t, edges)
    return A, B, D - np.einsum("k,kij->ij", t**3 / 12, Qbar)


def _bowing_the_wrong_way(Qbar, t, edges):
    A, B, D = TRUE_INTEGRALS(Qbar, t, edges)
    return A, -B, D


def _no_contraction(laminas):
    Q = TRUE_REDUCED(laminas)
    Q[:, 0, 1] = Q[:, 1, 0] = 0
    return Q


def _faces_exchanged(laminate_, strain):
    state = TRUE_PLY_STATE(laminate_, strain)
    return response.PlyState(state.strain[..., ::-1, :], state.stress[..., ::-1, :])


def _without_hoop(laminate_, keep, held=()):
    return TRUE_CONDENSE(laminate_, keep, ("N_y", "M_y", *held))


def _other_root(square, linear):
    root = np.sqrt(linear**2 + 4 * square)
    return np.abs((-linear - root) / (2 * square))


def _compression_strengths_lost(laminate_):
    limits = TRUE_LIMITS(laminate_)
    return dataclasses.replace(limits, Xc=limits.Xt, Yc=limits.Yt)


def _same_sense(name, angle):
    return (angle, angle) if name == "db" else TRUE_DIRECTIONS(name, angle)


def _whole_thickness(laminate_):
    true = TRUE_AS_SANDWICH(laminate_)
    return dataclasses.replace(true, distance=laminate_.thickness)


def _linear_part_forgotten(limits):
    true = CONVEX_CRITERIA["tsai_wu"].utilisation(limits)
    return dataclasses.replace(
        true, square=true.square - true.linear[..., :, None] * true.linear[..., None, :]
    )


def _lowest_faces(laminate_):
    faces, sides = TRUE_FACES(laminate_)
    return faces[sides == 0], sides[sides == 0]


TRUE_FACES = using.candidate_faces
TRUE_INTEGRALS = laminate._integrals
TRUE_REDUCED = laminate.reduced_stiffness
TRUE_ROTATION = laminate.strain_rotation
TRUE_PLY_STATE = response.ply_state
TRUE_CONDENSE = wall.condense
TRUE_LIMITS = failure.layer_limits
TRUE_DIRECTIONS = cloth.directions
TRUE_AS_SANDWICH = sandwich.as_sandwich
TRUE_HALPIN = micromechanics._halpin_tsai

FAULTS = {
    "strains turn the wrong way": (
        laminate, "strain_rotation", lambda angle: TRUE_ROTATION(-angle),
        theory.test_kaw_example_4_2_stiffness,
    ),
    "strains turn as stresses": (
        laminate, "strain_rotation", _transposed(TRUE_ROTATION), theory.test_double_bias_closed_forms,
    ),
    "no Poisson's ratio": (
        laminate, "reduced_stiffness", _no_contraction, theory.test_isotropic_plies_make_an_isotropic_plate,
    ),
    "plies without bending stiffness of their own": (
        laminate, "_integrals", _no_own_bending, theory.test_isotropic_plies_make_an_isotropic_plate,
    ),
    "B of the wrong sign": (
        laminate, "_integrals", _bowing_the_wrong_way, theory.test_kaw_example_4_3_strains_and_stresses,
    ),
    "B of the wrong sign, by quadrature": (
        laminate, "_integrals", _bowing_the_wrong_way, theory.test_integrals_through_the_thickness,
    ),
    "faces of a ply exchanged": (
        theory, "ply_state", _faces_exchanged, theory.test_kaw_example_4_3_strains_and_stresses,
    ),
    "hoop strain held in a beam's wall": (
        wall, "condense", _without_hoop, walls.test_wall_of_a_beam_may_contract,
    ),
    "hoop strain held, by energy": (
        walls, "condense", _without_hoop, walls.test_condensing_agrees_with_a_numerical_minimum,
    ),
    "the other root of the polynomial": (
        failure, "quadratic_load_factor", _other_root, failing.test_kaw_tsai_wu,
    ),
    "compression as tension": (
        failing, "evaluate_plies", lambda laminate_, state, criterion: failure.CRITERIA[criterion](
            state, _compression_strengths_lost(laminate_)
        ), failing.test_compression_across_the_fibre_by_hand,
    ),
    "double-bias with both fibres one way": (
        cloth, "directions", _same_sense, laying.test_double_bias_is_where_shear_stiffness_comes_from,
    ),
    "weight fraction taken for volume fraction": (
        layup, "volume_fraction", lambda weight, _fibre, _resin: weight,
        laying.test_fractions_by_volume_and_by_weight_agree,
    ),
    "core shear over the whole thickness": (
        sandwich, "as_sandwich", _whole_thickness, sandwiches.test_core_shear_agrees_with_the_exact_flow,
    ),
    "wrinkling of an ideal face": (
        sandwich, "WRINKLING_FACTOR", 0.91, sandwiches.test_wrinkling_stress_by_hand,
    ),
    "usage without its linear part squared": (
        using, "CONVEX_CRITERIA",
        {"tsai_wu": dataclasses.replace(CONVEX_CRITERIA["tsai_wu"], utilisation=_linear_part_forgotten)},
        lambda: using.test_usage_is_one_over_the_load_factor(criterion="tsai_wu"),
    ),
    "each layer told by its lowest face": (
        using, "candidate_faces", _lowest_faces, lambda: using.test_the_telling_faces_tell_all(criterion="tsai_wu"),
    ),
    "packing limits forgotten": (
        micromechanics, "_check_fraction", lambda *_: None,
        lambda: mixing.test_what_cannot_be_is_refused_with_its_cure(
            lambda: micromechanics.unidirectional(mixing.make_fibre(), mixing.make_resin(), 0.91),
            "at most 0.8200",
        ),
    ),
    "Halpin–Tsai with ξ of the other modulus": (
        micromechanics, "MODELS", {
            "halpin_tsai": micromechanics.Model(
                partial(TRUE_HALPIN, xi=1.0), partial(TRUE_HALPIN, xi=2.0), "hexagonal", 0.9
            )
        }, mixing.test_kaw_glass_epoxy_by_halpin_tsai,
    ),
    "cloth thickness not shared by its directions": (
        mixing, "cured", lambda *args, **kwargs: tuple(
            dataclasses.replace(part, thickness=2 * part.thickness) for part in cloth.cured(*args, **kwargs)
        ), mixing.test_thickness_of_a_cured_cloth,
    ),
    "shear modulus without Poisson's ratio": (
        constituents.Resin, "shear_modulus", property(lambda resin: resin.E / 2),
        lambda: mixing.test_next_to_no_fibre_is_resin("halpin_tsai"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_turns_its_law_red(fault, monkeypatch):
    """With the fault in place the law fails, without it the law holds."""
    where, name, wrong, law = FAULTS[fault]
    law()
    monkeypatch.setattr(where, name, wrong)
    with pytest.raises((AssertionError, pytest.fail.Exception)):
        law()
