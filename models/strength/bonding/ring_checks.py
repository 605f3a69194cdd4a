"""Resistance of a bonded ring: its bond lines, its tape ply by ply, and the skin around it.

From the greatest shear flow q and pull n per width (`ring.shear_flow`, `ring.axial_flow`), taken at one place
although they peak at several, which is on the safe side:

- glue along the beam: its lap in shear and along the beam, √ of squares, ultimate and elastic (`bond.shear_checks`), a metal
  beam's unequal expansion on top; the peel of the tape's ends beside it (`bond.peel_ratio`);
- glue on the skin in shear: the peak of the annulus that the leg is, likewise (`ring.skin_flow`);
- glue on the skin in peel: the leg is a strip on an elastic bed lifted at its end by n: σ = 2 β n, β⁴ =
  E_a/(4 η D_y), and for a leg too short to bend 4 n/leg (M. Hetényi, Beams on Elastic Foundation (1946);
  from memory): an estimate, ultimate and elastic (`bond.peel_checks`);
- tape: first ply under N_y = n, N_xy = q, M_y = n c/2, all signs: the pull turns a corner of free width c,
  held at both sides from turning (derived);
- skin beside the tape: N_rθ, N_r of the force in its plane, M_r of push and tilt, for every direction of its
  fibres around the hole: M_r = F/4π [2R² ln(R/r)/(R² − r²) − 1] + M/2πr (R² − r²)/(R² + r²), of the same
  solutions as in `disc`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.laminates import Laminate, free_expansion
from models.strength.bonding.bond import (
    END_PEEL_SOURCE,
    NO_EXPANSION,
    NO_OVERLAP,
    NO_PEEL_STRENGTH,
    peel_checks,
    peel_ratio,
    shear_checks,
    thermal_shear,
)
from models.strength.bonding.ring import Ring, axial_flow, shear_flow, skin_flow
from models.strength.first_ply import first_ply_check, with_all_signs
from models.strength.margins import Check, SafetyFactors, not_checked

FIBRE_DIRECTIONS = 24
"""How many directions of the skin's fibres around the hole are tried, over half a turn."""


def ring_checks(part: str, ring: Ring, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of a ring under loads (cases, 6) at its centre, in its own axes."""
    q, n = shear_flow(ring, loads), axial_flow(ring, loads)
    return (
        *_glue_on_beam(part, ring, q, n, factors),
        *shear_checks(part, "glue on the skin in shear", [(ring.skin_lap, skin_flow(ring, loads))], factors),
        *_peel(part, ring, n, factors),
        _tape(part, ring, q, n, factors),
        skin_check(
            part,
            "skin beside the tape, first ply",
            ring.skin_laminate,
            (ring.skin_radius, ring.support_radius),
            loads,
            factors,
        ),
    )


def peel_stress(ring: Ring, n: FloatArray) -> FloatArray:
    """(cases,), Pa, in the glue at the root of the leg on the skin; ValueError where the glue's E is not
    known.
    """
    if ring.glue.E is None:
        raise ValueError("the glue's Young's modulus is not known")
    beta = (ring.glue.E / ring.glue.thickness / (4 * float(ring.tape.D[1, 1]))) ** 0.25
    return np.asarray(n * max(2 * beta, 4 / ring.on_skin))


def disc_edge_flows(loads: FloatArray, r: float, R: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where a disc of radius r ends in a skin held at R, m: shear flow of torque, greatest flow of a force in the plane, N/m,
    bending M_r, N; each (cases,), of loads (cases, 6) in a ring's axes.
    """
    F1, F2, F3, M1, M2, M3 = loads.T
    torque = np.abs(M2) / (2 * math.pi * r**2)
    force = np.hypot(F1, F3) / (math.pi * r)
    push_moment = np.abs(F2) / (4 * math.pi) * (2 * R**2 * math.log(R / r) / (R**2 - r**2) - 1)
    tilt_moment = np.hypot(M1, M3) / (2 * math.pi * r) * (R**2 - r**2) / (R**2 + r**2)
    return torque, force, push_moment + tilt_moment


def skin_check(
    part: str,
    name: str,
    skin: Laminate | None,
    radii: tuple[float, float],
    loads: FloatArray,
    factors: SafetyFactors,
) -> Check:
    """First ply of a skin around a disc, its radius and the far one in `radii`, m, under loads (cases, 6) in a ring's axes."""
    if skin is None:
        return not_checked(part, name, len(loads), "the skin's laminate is not given")
    torque, force, bent = disc_edge_flows(loads, *radii)
    # where the force presses on the edge it shears nothing, a quarter turn on the reverse
    places = [
        (radial, shear, bending)
        for radial, flow in ((force, torque), (-force, torque), (0 * force, torque + force))
        for shear in (flow, -flow)
        for bending in (bent, -bent)
    ]
    return first_ply_in_all_directions(part, name, skin, places, factors)


def first_ply_in_all_directions(
    part: str,
    name: str,
    laminate: Laminate,
    places: Sequence[tuple[FloatArray, FloatArray, FloatArray]],
    factors: SafetyFactors,
) -> Check:
    """First ply of a laminate, its fibres in any direction, under N_r, N_rθ and M_r of places, each (cases,), N/m and N."""
    angle = np.arange(FIBRE_DIRECTIONS) * math.pi / FIBRE_DIRECTIONS
    all_loads = np.concatenate([_in_laminate_axes(*place, angle) for place in places])
    return first_ply_check(part, name, laminate, all_loads, factors)


def _glue_on_beam(
    part: str, ring: Ring, q: FloatArray, n: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Shear both ways, and the peel of the tape's ends beside the shear along; of a beam of metal with unequal expansion."""
    lap, cases, thermal, expands = ring.pull_lap, len(q), 0.0, free_expansion(ring.tape)
    glue = lap.adhesive
    warms = ring.wall.of_metal and glue.temperature_change > 0 and lap.length > 0
    if warms and expands is not None and ring.wall.expansion is not None:
        thermal = thermal_shear(lap, ring.wall.expansion[0] - float(expands[1]))
    known = glue.E is not None and lap.length > 0
    ratio = peel_ratio(float(ring.tape.D[1, 1]), ring.tape.thickness, lap) if known else 0.0
    why = NO_PEEL_STRENGTH if lap.length > 0 else NO_OVERLAP
    found = (
        *shear_checks(part, "glue on the beam in shear", [(ring.beam_lap, q), (lap, n)], factors, thermal),
        *peel_checks(
            part, "glue on the beam in peel at its ends", glue, ratio * n * lap.peak if known else None,
            cases, factors, END_PEEL_SOURCE, ratio * thermal, why,
        ),
    )  # fmt: skip
    if warms and expands is None:
        return *found, not_checked(part, "glue under a temperature change", cases, NO_EXPANSION)
    return found


def _peel(part: str, ring: Ring, n: FloatArray, factors: SafetyFactors) -> tuple[Check, Check]:
    name, glue = "glue on the skin in peel", ring.glue
    known = ring.on_skin > 0 and glue.E is not None
    stress = peel_stress(ring, n) if known else None
    why = NO_OVERLAP if ring.on_skin <= 0 else NO_PEEL_STRENGTH
    return peel_checks(
        part, name, glue, stress, len(n), factors, "Hetényi 1946, estimate (from memory)", why=why
    )


def _tape(part: str, ring: Ring, q: FloatArray, n: FloatArray, factors: SafetyFactors) -> Check:
    loads = with_all_signs(N_y=n, N_xy=q, M_y=n * ring.corner / 2)
    return first_ply_check(part, "tape, first ply", ring.tape, loads, factors)


def _in_laminate_axes(
    radial: FloatArray, shear: FloatArray, bending: FloatArray, angle: FloatArray
) -> FloatArray:
    """(angles, cases, 6): N_r, N_rθ and M_r in the laminate's axes, for a radius at `angle` from its x, towards y."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    found = np.zeros((len(angle), len(radial), 6))
    found[..., 0] = radial * c**2 - 2 * shear * s * c
    found[..., 1] = radial * s**2 + 2 * shear * s * c
    found[..., 2] = radial * s * c + shear * (c**2 - s**2)
    found[..., 3], found[..., 4], found[..., 5] = bending * c**2, bending * s**2, bending * s * c
    return found
