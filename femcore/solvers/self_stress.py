"""States of self-stress of a frame: all that dislocations of some of its components can put into it.

Random dislocations show them. Measured by energy, the response to dislocations is a projection onto the states of self-stress, so
that rank and rounding are far apart; and by Betti's law it is symmetric, so that what it misses of that is its error. (Random
samples of a range: N. Halko, P.G. Martinsson & J.A. Tropp, SIAM Review 53 (2011) 217–288, from memory.)

    p : components;   r : states;   c : probes
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from femcore.base.arrays import ArrayRecord, FloatArray
from femcore.elements.cable import cable_geometry
from femcore.frame.frame import Loads
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import Solution, solve
from femcore.solvers.stiffness_groups import Components

EXTRA_PROBES = 6
"""Random dislocations beyond the number of states, so that together they show every one."""
REL_TOL_SELF_STRESS = 1e-13
"""Of the energy of the probes with all else held: a smaller one is rounding, and no state."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SelfStress(ArrayRecord):
    """States of unit energy, square to one another.

    probes : solutions of the probes (c,), without loads;   weights : (r, c), of the probes in each state
    C      : (r, p), forces of the components;   error : relative, by how much Betti's law is missed
    """

    probes: Solution
    weights: FloatArray
    C: FloatArray
    error: float


def self_stress(prepared: PreparedFrame, components: Components) -> SelfStress:
    """All that dislocations of these components cause, every cable taut. StructureFaults as of `solve`."""
    parts = prepared.parts
    stiff = np.diagonal(parts.k, axis1=1, axis2=2)
    redundants = int(np.count_nonzero(stiff)) + len(parts.frame.cables) - parts.equations
    count = min(len(components), max(redundants, 0)) + EXTRA_PROBES
    drawn = np.random.default_rng(1).standard_normal((count, len(components)))
    amounts = unit_energy(prepared, components) * drawn
    probes = dislocated(prepared, components, amounts)
    forces = components.forces(probes.natural, probes.tension)
    energy = -forces @ amounts.T
    values, vectors = np.linalg.eigh((energy + energy.T) / 2)
    kept = values > REL_TOL_SELF_STRESS * np.square(drawn).sum(axis=1).max(initial=0.0)
    if not kept.any():
        return SelfStress(probes, np.zeros((0, count)), np.zeros((0, len(components))), 0.0)
    weights = (vectors[:, kept] / np.sqrt(values[kept])).T
    missed = np.abs(energy - energy.T).max() / np.abs(energy).max()
    return SelfStress(probes, weights, weights @ forces, float(missed))


def unit_energy(prepared: PreparedFrame, components: Components) -> FloatArray:
    """(p,), m or rad, dislocations of each component that alone, all else held, cost about one joule."""
    cables = prepared.frame.cables
    k = np.einsum("pi,pij,pj->p", components.row, prepared.parts.k[components.part], components.row)
    of_cables = components.cable >= 0
    k[of_cables] = (cables.EA / cable_geometry(cables, prepared.frame.nodes).total)[
        components.cable[of_cables]
    ]
    return np.where(k > 0, 1 / np.sqrt(np.where(k > 0, k, 1.0)), 0.0)


def dislocated(prepared: PreparedFrame, components: Components, amounts: FloatArray) -> Solution:
    """The frame under dislocations (c, p), m and rad, of its components and no load, every cable taut."""
    taut = prepared.all_cables_taut()
    parts, frame = taut.parts, taut.frame
    # a cable of expansion 1/length is longer by its temperature change
    length = np.asarray(cable_geometry(frame.cables, frame.nodes).total, dtype=float)
    longer = replace(frame.cables, expansion=1.0 / length)
    frame = replace(frame, cables=longer)
    loads = Loads.zeros(frame, *(f"dislocation {number + 1}" for number in range(len(amounts))))
    of_cables = np.flatnonzero(components.cable >= 0)
    np.add.at(loads.cable_temperature_change.T, components.cable[of_cables], amounts[:, of_cables].T)
    of_parts = np.flatnonzero(components.part >= 0)
    own = np.zeros((len(parts.nodes), len(amounts), 6))
    np.add.at(
        own, components.part[of_parts], amounts[:, of_parts].T[:, :, None] * components.row[of_parts, None]
    )
    resisted = np.einsum("pij,pcj->cpi", parts.k, own)
    modes = np.concatenate([G for _, G in parts.chunks()])
    pushed = np.einsum("pij,cpi->cpj", modes, resisted).reshape(len(amounts), -1, 6)
    np.add.at(loads.nodal.swapaxes(0, 1), parts.nodes.reshape(-1), pushed.swapaxes(0, 1))
    done = solve(PreparedFrame(replace(parts, frame=frame), taut.factors), loads)
    return replace(done, natural=done.natural - resisted, loads=Loads.zeros(frame, *loads.names))


__all__ = ["SelfStress", "dislocated", "self_stress", "unit_energy"]
