"""A hundred thousand joints, each by six springs in boat axes, under all loads of one front end.

The front end with rigid joints is reduced to what its joints see (`femcore.solvers.end_spring_designs`). Designs that slacken a
cable, or whose systems lose too many digits, are those of `FrontEndVariants`.

    p : designs;   c : cases, one for each load
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.solvers.end_spring_designs import DESIGNS_AT_ONCE, DesignStates, EndSpringDesigns, eliminated
from femcore.solvers.frame_changes import Changes
from models.joints.base import LOAD_MIRROR
from models.response.front_end_variants import FrontEndVariants, shares_of
from models.response.stiffness_names import springs_in_boat_axes

MOST_DIGITS_LOST = 1e5
"""Diagonal over pivot of a joint's system: above it fewer than ten digits are left."""
REL_TOL_SLACK_DESIGN = 1e-9
"""Of the largest tension: a cable nearer to slack than this is judged by `FrontEndVariants`."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class JointDesignLoads(ArrayRecord):
    """What p joints do in c cases.

    joint_load        : (p, c, 2, 6), N and N·m, on the hulls, port then starboard, boat axes
    under_pretension  : (p, 2, 6), of that, what pretension alone does
    racking_moment    : (p, c), N·m, about the root
    shares            : (p, c, 3), of that: hull, torque, shear; nan where nothing racks the bows
    tension           : (p, c, k), N, 0 slack;   racking_stiffness : (p,), N/m, every cable taut
    exact             : (p, c), False where a joint is nearly free to move, or a load does not reach its movement
    more              : (p, c, …), by the name of each reading that the variants were asked for
    """

    joint_load: FloatArray
    under_pretension: FloatArray
    racking_moment: FloatArray
    shares: FloatArray
    tension: FloatArray
    racking_stiffness: FloatArray
    exact: BoolArray
    more: Mapping[str, FloatArray]


@dataclass(frozen=True, eq=False)
class JointDesigns:
    """A front end ready for designs of its joints; `of` it costs no solution beyond those of `FrontEndVariants`."""

    variants: FrontEndVariants
    model: EndSpringDesigns

    @classmethod
    def of(cls, variants: FrontEndVariants) -> JointDesigns:
        """Of a front end's variants, its stiffnesses as they are."""
        rows = np.concatenate([variants.readers, variants.heave[None]])
        # with the stiffnesses as they are the support stays, and nothing rolls there
        rows = np.pad(rows, ((0, 0), (0, len(variants.reduced.virtual_loads) - rows.shape[1])))
        return cls(
            variants, EndSpringDesigns.of(variants.reduced, rows, LOAD_MIRROR, len(variants.targets) + 1)
        )

    def solve(self, springs: FloatArray) -> JointDesignLoads:
        """Of the port joint's springs (p, 6), N/m and N·m/rad, surge sway heave, roll pitch yaw, 0 free, inf rigid."""
        count, cases, cables = len(springs), len(self.variants.targets), len(self.model.tension)
        found = JointDesignLoads(
            joint_load=np.empty((count, cases, 2, 6)),
            under_pretension=np.empty((count, 2, 6)),
            racking_moment=np.empty((count, cases)),
            shares=np.empty((count, cases, 3)),
            tension=np.empty((count, cases, cables)),
            racking_stiffness=np.empty(count),
            exact=np.ones((count, cases), dtype=bool),
            more={name: np.empty((count, cases, *shape)) for name, shape in self._more.items()},
        )
        others = []
        for first in range(0, count, DESIGNS_AT_ONCE):
            some = slice(first, first + DESIGNS_AT_ONCE)
            others.append(self._fill(found, some, self.model.states(springs[some])))
        left = np.flatnonzero(np.concatenate(others)) if others else np.zeros(0, dtype=int)
        if len(left):
            self._fill_others(found, left, springs[left])
        return found

    def _fill_others(self, found: JointDesignLoads, left: IntArray, springs: FloatArray) -> None:
        """Designs `left` (i,), of these springs (i, 6), into `found`."""
        done = self.variants.solve(None, Changes(springs=springs_in_boat_axes(springs)), alone=False)
        found.joint_load[left], found.under_pretension[left] = done.joint_load, done.under_pretension
        found.racking_moment[left], found.shares[left] = done.racking[..., 0], done.shares
        found.tension[left] = np.where(done.slack, 0.0, done.tension)
        found.racking_stiffness[left] = done.racking_stiffness
        found.exact[left] = done.exact
        for name, values in found.more.items():
            values[left] = done.more[name]

    def _fill(self, found: JointDesignLoads, some: slice, states: DesignStates) -> BoolArray:
        """Designs as if all cables were taut, into `found`; (b,) which of them are to be solved otherwise."""
        cases, cables = len(self.variants.targets), len(self.model.tension)
        kept, lost = self._kept(states.tension)
        scale = self._scale(states.movements, kept)

        def under_pretension(of: FloatArray) -> FloatArray:
            return np.asarray(of[:, cases + 1 : of.shape[1] - cables].sum(axis=1) + _with_gaps(of, kept))

        rest = under_pretension(states.forces)
        forces = states.forces[:, :cases] * scale + rest[:, None]
        tension = states.tension[:, :cases] * scale + under_pretension(states.tension)[:, None]
        readings = states.readings[:, :cases] * scale + under_pretension(states.readings)[:, None]
        racking, *others = np.split(readings, np.cumsum(self.variants.sizes)[:-1])
        found.joint_load[some] = forces.T.reshape(-1, cases, 2, 6)
        found.under_pretension[some] = rest.T.reshape(-1, 2, 6)
        found.racking_moment[some], found.shares[some] = racking[0].T, shares_of(racking).T
        found.tension[some], found.racking_stiffness[some] = tension.T, 1.0 / states.movements[-1, cases]
        for values, of in zip(found.more.values(), others, strict=True):
            values[some] = of.T.reshape(-1, *values.shape[1:])
        least = REL_TOL_SLACK_DESIGN * np.abs(tension).max(axis=(0, 1), initial=0.0)
        lost = np.maximum(lost, states.lost)
        return np.asarray((tension < least).any(axis=(0, 1)) | ~(lost <= MOST_DIGITS_LOST))

    @property
    def _more(self) -> dict[str, tuple[int, ...]]:
        """Names and shapes of what is read beside racking, which is the first."""
        return dict(list(self.variants.shapes.items())[1:])

    def _kept(self, tension: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(k, b), gaps of the cables so that pretension alone leaves them as they were tightened; (b,), as of `eliminated`."""
        pretension, cables = self.variants.front.frame.cables.pretension, tension.shape[0]
        loads = len(self.variants.targets) + 1
        if tension.shape[1] == loads + cables:
            return np.zeros((cables, tension.shape[2])), np.ones(tension.shape[2])
        lacking = pretension[:, None] - tension[:, loads]
        # a gap takes tension away: its matrix is negative definite
        gaps, lost = eliminated(-tension[:, loads + 1 :], -lacking[:, None])
        return gaps[:, 0], lost

    def _scale(self, movements: FloatArray, kept: FloatArray) -> FloatArray:
        """(c, b), of the loads, so that those that are to reach a movement do."""
        targets, cables = self.variants.targets, len(kept)
        scale = np.ones((len(targets), movements.shape[2]))
        for case in np.flatnonzero(~np.isnan(targets)):
            read = movements[case]
            rest = read[len(targets) + 1 : len(read) - cables].sum(axis=0) + _with_gaps(read[None], kept)[0]
            scale[case] = (targets[case] - rest) / read[case] if targets[case] else 0.0
        return scale


def _with_gaps(of: FloatArray, kept: FloatArray) -> FloatArray:
    """(i, b), of states (i, n, b) what the cables' gaps, the last of them, add."""
    return np.asarray(np.einsum("ikb,kb->ib", of[:, of.shape[1] - len(kept) :], kept))


__all__ = ["JointDesignLoads", "JointDesigns"]
