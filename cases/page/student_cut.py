"""A cut for the student's page: both parts as they are drawn and tabulated."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from cases.page.student_picture import acting
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.frame.frame import ACTIONS
from femcore.plotting.projection import View
from femcore.results.free_body import Acting, Cut, FreeBody, cut
from femcore.results.nodal_forces import arms, positions
from femcore.solvers.solution import Solution

KINDS = {
    "cut": "other face of the piece",
    "load": "load",
    "line load": "load along the beam",
    "reaction": "reaction",
}
REL_TOL_DRAWN = 1e-9
"""Of all loads and reactions, moments over the frame's size: a smaller force or moment is rounding, and is not shown."""


def cut_numbers(solution: Solution, beam: str, fraction: float, view: View) -> dict[str, Any]:
    """Of a solution of one case: a beam cut at a fraction of its length; {"fault"} with the sentence where it cannot be."""
    run = solution.frame.member(beam)
    length = float(solution.frame.length[run.elements].sum())
    try:
        found = cut(solution, beam, fraction * length)
    except InputFault as fault:
        return {"beam": beam, "length": length, "fraction": fraction, "fault": str(fault)}
    places, as_drawn = _ends(solution), not solution.second_order[0]
    return {
        "beam": beam,
        "length": length,
        "fraction": fraction,
        "station": found.station,
        "at": view.project(found.point).tolist(),
        "actions": dict(zip(ACTIONS, found.actions.tolist(), strict=True)),
        "parts": [
            _part(found, part, sign, places, view, title, as_drawn=as_drawn)
            for part, sign, title in ((found.before, 1.0, "start"), (found.after, -1.0, "end"))
        ],
    }


def _ends(solution: Solution) -> FloatArray:
    """(m, 2, 2, 3), m: of every element its start and end, each from its node to the element's own end."""
    nodes = positions(solution)[0][solution.frame.ends]
    return np.stack([nodes, nodes + arms(solution)[0]], axis=2)


def _part(
    found: Cut, part: FreeBody, sign: float, places: FloatArray, view: View, title: str, *, as_drawn: bool
) -> dict[str, Any]:
    """One part; `sign`: 1 for that before the cut, −1 for that after it."""
    return {
        "side": title,
        "whole": part.whole,
        "lines": [view.project(line).tolist() for line in _lines(found, part, places, before=sign > 0)],
        "rows": [
            {
                "kind": "face of the cut" if number == 0 else KINDS[one.kind],
                "where": one.where,
                "about": _clean(one.about(part.about), part).tolist(),
                **_drawn(
                    found,
                    part,
                    one,
                    view,
                    outward=sign * (-1 if number else 1),
                    by_action=number == 0 or as_drawn,
                ),
            }
            for number, one in enumerate(part.acting)
        ],
        "sum": part.resultant.tolist(),
        "imbalance": part.imbalance,
    }


def _lines(found: Cut, part: FreeBody, places: FloatArray, *, before: bool) -> Iterator[FloatArray]:
    """The elements of a part with their rigid arms, that which is cut only up to the cut."""
    for element in part.elements.tolist():
        (start_node, start), (end_node, end) = places[element]
        if element != found.element:
            yield np.array([start_node, start, end, end_node])
        elif before:
            yield np.array([start_node, start, found.point])
        else:
            yield np.array([found.point, end, end_node])


def _drawn(
    found: Cut, part: FreeBody, one: Acting, view: View, *, outward: float, by_action: bool
) -> dict[str, Any]:
    """How one force and moment is drawn; on a face action by action, in the axes of the section, with the outward normal.

    outward : of a face, along the axis of the beam or against it
    """
    at, force = view.project(one.point).tolist(), _clean(one.force, part)
    if one.kind != "cut" or not by_action:
        return {"drawn": list(acting(at, force, view)), "outward": [0.0, 0.0]}
    drawn = []
    for number, name in enumerate(ACTIONS):
        axis, half = found.axes[number % 3], slice(0, 3) if number < 3 else slice(3, 6)
        single = np.zeros(6)
        single[half] = (axis @ force[half]) * axis
        drawn += [shown | {"name": name} for shown in acting(at, _clean(single, part), view)]
    return {"drawn": drawn, "outward": view.project(outward * found.axes[0]).tolist()}


def _clean(force: FloatArray, part: FreeBody) -> FloatArray:
    """Without what is rounding beside all that acts on the frame."""
    limits = REL_TOL_DRAWN * part.scale * np.array([1.0] * 3 + [part.size] * 3)
    return np.where(np.abs(force) > limits, force, 0.0)


__all__ = ["cut_numbers"]
