"""A sandwich: shear in its core, and faces that wrinkle on it.

Core shear: the core carries the whole through-thickness shear force over the distance d between the middles
of the faces, τ = V/d (thin faces on a soft core; D. Zenkert, An Introduction to Sandwich Construction (1995),
from memory).

Wrinkling: a face in compression buckles into short waves on the core at σ = ½ (E_f E_c G_c)^(1/3) (N.J. Hoff
& S.E. Mautner, "The buckling of sandwich-type panels", J. Aeronautical Sciences 12 (1945) 285, their
recommended value; from memory): E_f of the face along the compression, E_c and G_c of the core through the
thickness. Compression across or shear besides is taken at its worst direction, and not added up.

Shear flexibility: γ = V/S with S = G d²/c, c the core's thickness (Zenkert, as above); at a compression of S the core shears
into waves as short as it is thick (shear crimping).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.laminates.laminate import Array, Laminate
from femcore.materials import Core

WRINKLING_FACTOR: Final = 0.5
"""Hoff and Mautner's recommended factor; theirs for an ideal face is 0.91."""
SANDWICHES_KEPT: Final = 64
"""Whose faces are kept: the walls of a section are of few laminates."""

_DIRECTIONS: Final = np.deg2rad(np.arange(0.0, 180.0, 1.0))


@dataclass(frozen=True)
class Sandwich:
    """A laminate as two faces and a core.

    below, above : the plies of the face at smaller z and at larger z, each as a laminate of its own
    first, last : places of the core's first ply and of the ply after its last
    distance : m, between the middles of the faces
    """

    below: Laminate
    above: Laminate
    core: Core
    first: int
    last: int
    distance: float


@dataclass(frozen=True, eq=False, repr=False)
class SandwichCheck(ArrayRecord):
    """Stress and strength, Pa, and the load factor at failure; arrays of the loads' shape."""

    stress: Array
    allowable: Array
    load_factor: Array

    def margin(self, safety: float) -> Array:
        """load factor over the safety factor, less one."""
        return self.load_factor / safety - 1


@lru_cache(maxsize=SANDWICHES_KEPT)
def as_sandwich(laminate: Laminate) -> Sandwich:
    """Faces and core of a laminate; InputFault without a core, with two, or with a face missing."""
    places = [place for place, ply in enumerate(laminate.plies) if ply.core is not None]
    if not places:
        raise InputFault(laminate.name, "no core in it", 'put one in, such as "core foam80 20 mm"')
    first, last = places[0], places[-1] + 1
    materials = {ply.core.name for ply in laminate.plies[first:last] if ply.core is not None}
    if len(places) != last - first or len(materials) != 1:
        raise InputFault(
            laminate.name, "more than one core", "check its parts as sandwiches of one core each"
        )
    if first == 0 or last == len(laminate.plies):
        raise InputFault(laminate.name, "a core without a face", "lay plies on both sides of it")
    below = Laminate(laminate.plies[:first], f"{laminate.name}, first face")
    above = Laminate(laminate.plies[last:], f"{laminate.name}, last face")
    core = laminate.plies[first].core
    assert core is not None  # noqa: S101  (it is one of `places`)
    distance = laminate.thickness - (below.thickness + above.thickness) / 2
    return Sandwich(below, above, core, first, last, distance)


def core_shear(laminate: Laminate, V: npt.ArrayLike) -> SandwichCheck:
    """The core under through-thickness shear forces V (..., 2) = (V_xz, V_yz), N/m."""
    sandwich = as_sandwich(laminate)
    forces = np.asarray(V, float)
    if forces.shape[-1:] != (2,):
        raise InputFault("V", f"is of shape {forces.shape}", "give two shear forces along the last axis")
    stress = np.linalg.norm(forces, axis=-1) / sandwich.distance
    return _check(stress, np.full_like(stress, sandwich.core.shear_strength))


def core_shear_stiffness(laminate: Laminate) -> float:
    """S = G d²/c, N/m; inf where the laminate has no core.

    Cores on one another or apart act in series, with d between the middles of the outermost faces; a core without a face on one
    side counts by itself, d = c.
    """
    places = [place for place, ply in enumerate(laminate.plies) if ply.core is not None]
    if not places:
        return float("inf")
    cores = [(ply.thickness, ply.core.G) for ply in laminate.plies if ply.core is not None]
    thickness = sum(t for t, _ in cores)
    faces = [
        sum(ply.thickness for ply in plies)
        for plies in (laminate.plies[: places[0]], laminate.plies[places[-1] + 1 :])
    ]
    distance = laminate.thickness - sum(faces) / 2 if min(faces) > 0 else thickness
    return float(distance**2 / sum(t / G for t, G in cores))


def wrinkling(laminate: Laminate, resultants: npt.ArrayLike) -> SandwichCheck:
    """Both faces under resultants (..., 6), worst direction of each: arrays (..., 2), faces at smaller and
    larger z.
    """
    loads = np.asarray(resultants, float)
    if loads.shape[-1:] != (6,):
        raise InputFault("resultants", f"are of shape {loads.shape}", "give the six along the last axis")
    compression, allowable = face_compression(laminate)
    acting = np.maximum(np.einsum("fdi,...i->...fd", compression @ laminate.compliance, loads), 0.0)
    worst = (acting / allowable).argmax(axis=-1)[..., None]
    chosen = np.take_along_axis(acting, worst, axis=-1)[..., 0]
    limit = np.take_along_axis(np.broadcast_to(allowable, acting.shape), worst, axis=-1)[..., 0]
    return _check(chosen, limit)


def face_compression(laminate: Laminate) -> tuple[Array, Array]:
    """Mean compression of both faces along every whole degree, and what each face wrinkles at.

    compression : (2, 180, 6), Pa, per strain of the laminate (ε_x, ε_y, γ_xy, κ_x, κ_y, κ_xy), faces at smaller and larger z
    allowable   : (2, 180), Pa

    Raises InputFault as `as_sandwich`.
    """
    sandwich = as_sandwich(laminate)
    sides = ((sandwich.below, slice(0, sandwich.first)), (sandwich.above, slice(sandwich.last, None)))
    middle = (laminate.edges[1:] + laminate.edges[:-1]) / 2
    c, s = np.cos(_DIRECTIONS), np.sin(_DIRECTIONS)
    along, pull = np.stack([c * c, s * s, 2 * c * s]), np.stack([c * c, s * s, c * s], axis=-1)
    compression, allowable = [], []
    for face, plies in sides:
        t = np.array([ply.thickness for ply in face.plies]) / face.thickness
        Q = laminate.Qbar[plies]
        mean = np.hstack([np.einsum("k,kij->ij", t, Q), np.einsum("k,k,kij->ij", t, middle[plies], Q)])
        compression.append(-along.T @ mean)
        compliance = np.linalg.inv(face.A) * face.thickness
        modulus = 1 / np.einsum("di,ij,dj->d", pull, compliance, pull)
        allowable.append(wrinkling_stress(modulus, sandwich.core))
    return np.stack(compression), np.stack(allowable)


def wrinkling_stress(face_modulus: npt.ArrayLike, core: Core) -> Array:
    """Stress (Pa) at which a face of modulus `face_modulus` (Pa) wrinkles on `core`."""
    return np.asarray(WRINKLING_FACTOR * np.cbrt(np.asarray(face_modulus, float) * core.E_through * core.G))


def _check(stress: Array, allowable: Array) -> SandwichCheck:
    with np.errstate(divide="ignore"):
        return SandwichCheck(stress, allowable, np.asarray(allowable / stress))
