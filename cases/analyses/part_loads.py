"""What acts on the parts beside the joints in every case and combination: striker, martingale, tang, longeron's ends, beams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cases.analyses.case_rows import CaseRows, Responses, crossbeam_stations, longeron_stations
from cases.loads import LoadCase
from femcore.base.arrays import BoolArray, FloatArray
from femcore.results.member_forces import Stations
from models.checks.beam_parts import PartLoads
from models.response.front_end import LONGERON, PROD, FrontEnd

ABS_TOL_NODE_DISTANCE = 1e-6
"""m: a place nearer to a node than this is at it."""


@dataclass(frozen=True, eq=False)
class CheckedPlaces:
    """Where along the members of a front end their walls are checked, of the stations of `Responses`.

    crossbeam : (s,);   longeron : (s,), None without one;   shapes : responses of any number of rows
    """

    front: FrontEnd
    shapes: Responses
    crossbeam: BoolArray
    longeron: BoolArray | None

    @classmethod
    def of(cls, rows: CaseRows) -> CheckedPlaces:
        """Those that can govern in the rows."""
        ahead = longeron_stations(rows.front)
        return cls(
            rows.front,
            rows.values,
            _governing_stations(rows, crossbeam_stations(rows.front)),
            None if ahead is None else _governing_stations(rows, ahead),
        )

    def loads(self, values: Responses, stay: FloatArray, buckled: FloatArray) -> PartLoads:
        """What acts on the parts under responses (r,), the stay's pull (r, 3) and buckling utilisations of the frame (r,)."""
        ahead = longeron_stations(self.front)
        return PartLoads(
            striker_compression=np.maximum(-values.striker, 0.0).max(axis=1, initial=0.0),
            tension=values.tension.max(axis=1, initial=0.0),
            stay=stay,
            crossbeam=values.crossbeam[:, self.crossbeam],
            longeron=None if ahead is None else values.longeron[:, self.longeron],
            longeron_ends=None if ahead is None else longeron_ends(values.longeron, self.front, ahead),
            buckling_utilisation=buckled,
            bows=values.bows if values.bows.size else None,
        )


def part_loads(cases: Sequence[LoadCase], rows: CaseRows, buckled: FloatArray) -> PartLoads:
    """What acts on striker, martingale, tang and beams in every row; `buckled` (r,), buckling utilisations of the frame."""
    stay = rows.linear(np.array([stay_force(case) for case in cases]))
    return CheckedPlaces.of(rows).loads(rows.values, stay, buckled)


def longeron_ends(actions: FloatArray, front: FrontEnd, at: Stations) -> FloatArray:
    """(r, 2, 6), N and N·m, the longeron's beam axes: what it puts on the bulkhead, and with its prod on the crossbeam.

    actions : (r, s, 6), along longeron and prod at the stations `at`
    """
    members = front.frame.members
    own, prod = members[LONGERON], members.get(PROD)

    def face(element: int, xi: float) -> FloatArray:
        return np.asarray(actions[:, np.flatnonzero((at.elements == element) & (at.xi == xi))[0]])

    # an action is what the part ahead of a cut puts on the part behind it
    ahead = 0.0 if prod is None else face(prod.first, 0.0)
    return np.stack([face(own.first, 0.0), ahead - face(own.last - 1, 1.0)], axis=1)


def _governing_stations(rows: CaseRows, at: Stations) -> BoolArray:
    """(s,), stations along a member where its walls can be worst.

    The utilisation is convex in the actions, and these are linear between named nodes where no load acts along the member and
    the shape is not deformed: then both sides of those nodes suffice; else every element's ends.
    """
    frame, cases = rows.front.frame, rows.cases
    named = frame.nodes[list(frame.node_index.values())]
    near = np.linalg.norm(at.point[:, None] - named, axis=2).min(axis=1) < ABS_TOL_NODE_DISTANCE
    wanted = near & ((at.xi == 0) | (at.xi == 1))
    wanted[[0, -1]] = True
    if cases.second_order.any() or cases.loads.loaded_elements[at.elements].any():
        # the start of each element and of the next one cover both its ends
        wanted |= at.xi == 0
    return np.asarray(wanted)


def stay_force(case: LoadCase) -> FloatArray:
    """(3,), N, boat axes: all that pulls at the stay's place in a case."""
    pulls = [load.force for load in case.all_place_loads() if load.place == "stay"]
    return np.sum(pulls, axis=0) if pulls else np.zeros(3)
