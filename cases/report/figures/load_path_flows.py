"""What a picture of a load path draws: each component of the load, what passes the joints, and what leaves at the roots.

The numbers are the ledgers', brought to the places where the parts stand as drawn: in a deformed shape a moment then has in it
what forces make by having moved. So all that comes onto the crossbeam equals what it gives away, and all that is applied what
leaves at the roots, force and moment, in every case.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from cases.analyses.joint_results import CaseResult, JointResult
from femcore.base.arrays import FloatArray
from models.response.front_end import CENTRE, LONGERON, PROD, SIDES, FrontEnd
from models.response.load_path import LoadComponent

Role = Literal["applied", "prod", "hull", "longeron", "root"]
Body = Literal["crossbeam", "port", "starboard", "centre"]
ARROWS = 5
"""So many stand for a load spread along a part."""
REL_TOL_ON_CROSSBEAM = 1e-9
"""Of a component: it acts on the crossbeam if no more than that acts elsewhere."""


@dataclass(frozen=True, slots=True, eq=False)
class Flow:
    """One thing that comes on, passes, or leaves.

    role   : applied; what the prod puts on the crossbeam; what that puts on a hull or on the longeron; or what a root puts on
             the bulkhead
    body   : the part that it acts on, for a root the one that ends there
    at     : (k, 3), m, as drawn;   force : (k, 3), N
    spot   : (3,), m, as drawn;   moment : (3,), N·m, about there, over and above what `force` makes where it is drawn
    """

    name: str
    role: Role
    body: Body
    at: FloatArray
    force: FloatArray
    moment_point: FloatArray
    moment: FloatArray

    @property
    def whole(self) -> FloatArray:
        """(3,), N."""
        return np.asarray(self.force.sum(axis=0))

    def about(self, point: FloatArray) -> FloatArray:
        """(6,), N and N·m: force and moment about a point."""
        turned = np.cross(self.at - point, self.force).sum(axis=0)
        return np.concatenate([self.whole, self.moment + turned])


def flows(joint: JointResult, case: int) -> list[Flow]:
    """Everything that a joint's load path has in a case, in the ledgers' order."""
    front, found = joint.front, joint.cases[case]
    return [*_applied(front, found), *_passing(front, found), *_leaving(front, found)]


def _flow(
    name: str,
    role: Role,
    body: Body,
    at: FloatArray,
    force: FloatArray,
    action: FloatArray,
    centre: FloatArray,
) -> Flow:
    """A flow whose force and moment about the drawn centre are `action`; where there is no force it turns about `at`."""
    size = np.abs(force).sum(axis=1)
    moment_point = size @ at / size.sum() if size.any() else at.mean(axis=0)
    moment = action[3:] - np.cross(at - centre, force).sum(axis=0)
    return Flow(name, role, body, at, force, moment_point, moment)


def _applied(front: FrontEnd, found: CaseResult) -> Iterator[Flow]:
    whole, centre = found.whole, front.position(CENTRE)
    for component, action, on_beam in zip(whole.components, whole.applied, whole.on_crossbeam, strict=True):
        if np.abs(action - on_beam).max() <= REL_TOL_ON_CROSSBEAM * np.abs(action).max():
            at, force = _on_axis(front, component)
            body: Body = "crossbeam"
        else:
            at, force = _ahead_of_roots(front, component, action)
            body = _body(front, component)
        at, force = lumped_forces(at, force)
        yield _flow(component.name, "applied", body, at, force, action, centre)


def _ahead_of_roots(
    front: FrontEnd, component: LoadComponent, action: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """A load where it acts as drawn; of one that goes on aft of the roots the part ahead, the rest at the root."""
    at, force = component.at, component.force
    if front.boat.platform is None or (at[:, 0] >= 0).all():
        return at, force
    ahead = at[:, 0] > 0
    rest = action[:3] - force[ahead].sum(axis=0)
    root = at.mean(axis=0) * np.array([0.0, 1.0, 1.0])
    return np.vstack([at[ahead], root]), np.vstack([force[ahead], rest])


def _on_axis(front: FrontEnd, component: LoadComponent) -> tuple[FloatArray, FloatArray]:
    """A load on the crossbeam as it acts on the beam's axis: the moment that its arm makes shows as a moment."""
    if component.acts_along_beams:
        centre = front.position(CENTRE)
        return np.column_stack(
            [np.full(len(component.at), centre[0]), component.at[:, 1], np.full(len(component.at), centre[2])]
        ), component.force
    nodes = np.flatnonzero(component.nodal.any(axis=1))
    return front.frame.nodes[nodes], component.nodal[nodes, :3]


def _body(front: FrontEnd, component: LoadComponent) -> Body:
    """By where most of it acts."""
    across = float(np.median(component.at[:, 1])) / front.boat.bows.spacing
    return "port" if across > 0.25 else "starboard" if across < -0.25 else "centre"


def lumped_forces(at: FloatArray, force: FloatArray) -> tuple[FloatArray, FloatArray]:
    """At most `ARROWS` points (k, 3) and forces (k, 3) in place of many, neighbours together at their middle."""
    if len(at) <= ARROWS:
        return at, force
    order = np.lexsort(np.round(at, 9).T[np.argsort(np.ptp(at, axis=0))])
    shares = np.array_split(order, ARROWS)
    size = np.linalg.norm(force, axis=1) + 1e-300
    middles = [size[some] @ at[some] / size[some].sum() for some in shares]
    return np.array(middles), np.array([force[some].sum(axis=0) for some in shares])


def _passing(front: FrontEnd, found: CaseResult) -> Iterator[Flow]:
    """What the crossbeam puts on hulls and longeron, and the prod on it."""
    centre = front.position(CENTRE)
    rows = dict(found.path)
    for side, name in enumerate(SIDES):
        action, body = -rows[f"{name} joint"], ("port", "starboard")[side]
        at = front.joint_position(side)[None]
        yield _flow(f"{name} joint", "hull", body, at, action[None, :3], action, centre)  # type: ignore[arg-type]
    if LONGERON in rows:
        action = -rows[LONGERON]
        yield _flow(LONGERON, "longeron", "centre", centre[None], action[None, :3], action, centre)
    if PROD in rows:
        action = rows[PROD]
        yield _flow(PROD, "prod", "crossbeam", centre[None], action[None, :3], action, centre)


def _leaving(front: FrontEnd, found: CaseResult) -> Iterator[Flow]:
    centre, whole = front.position(CENTRE), found.whole
    for name, held in zip(whole.roots, whole.reactions, strict=True):
        body = name.split()[0] if name.split()[0] in SIDES else "centre"
        at = front.root_position(name)[None]
        yield _flow(name, "root", body, at, -held[None, :3], -held, centre)  # type: ignore[arg-type]
