"""What the student's pictures are drawn from: a solved frame as it is looked at, its loads, its actions along every beam.

Everything is projected here, m on the paper, right and up, so that the page only scales and draws.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields, replace
from typing import Any

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.frame.frame import ACTIONS, FREEDOMS, Frame
from femcore.plotting.projection import View, choose_view
from femcore.results.deflected_shape import (
    cable_segments,
    deflected_shape,
    deflection_scale,
    max_displacement,
    mode_shape_solution,
)
from femcore.results.member_forces import member_forces
from femcore.solvers.buckling import Modes
from femcore.solvers.solution import Solution

SMOOTH = 96
"""Points along all beams of a small frame; a large one has `LEAST_STEPS` in each element."""
LEAST_STEPS, MOST_STEPS = 2, 16
SEEN = 0.3
"""Of a direction's own length on the paper: one that is seen shorter is drawn square to its beam instead."""
TOO_LARGE = 1.5
"""Of the frame's size: movements up to it are drawn to scale where enlarging would make them smaller."""


def one_case(solution: Solution, number: int) -> Solution:
    """The solution of one case alone."""
    kept = [one.name for one in fields(solution) if one.name not in ("prepared", "loads")]
    arrays = {name: getattr(solution, name)[[number]] for name in kept}
    return replace(solution, loads=solution.loads.only(number), **arrays)


def picture(solution: Solution, seen: View) -> dict[str, Any]:
    """Of a solution of one case, SI."""
    frame = solution.frame
    nodes = [
        {"name": name, "at": seen.project(frame.nodes[index]).tolist(),
         "moved": seen.project(solution.displacement[0, index, :3]).tolist()}
        for name, index in frame.node_index.items()
    ]  # fmt: skip
    return {
        "axes": [[name, *seen.project(unit)] for name, unit in zip("xyz", np.eye(3).tolist(), strict=True)],
        "view": _view_words(seen),
        "enlarged": _enlarged(solution),
        "beams": list(_beams(solution, seen)),
        "cables": _cables(solution, seen),
        "nodes": nodes,
        "supports": list(_supports(frame, seen)),
        "loads": [*_point_loads(solution, seen), *_line_loads(solution, seen)],
    }


def mode_pictures(solution: Solution, modes: Modes, chosen: Iterable[int]) -> Iterator[dict[str, Any]]:
    """Modes of a solution of one case, by number from 1: each a picture of its own, seen so that its movement shows."""
    moves = mode_shape_solution(solution, 0, modes)
    for number in chosen:
        if number <= len(modes.values):
            one = one_case(moves, number - 1)
            shown = picture(one, choose_view(one)) | {"enlarged": deflection_scale([one], 0)}
            yield {"number": number, "value": float(modes.values[number - 1]), "picture": shown}


def _enlarged(solution: Solution) -> float:
    """By what movements are drawn larger; to scale where they are large enough to be seen so, and fit."""
    factor, fits = (
        deflection_scale([solution], 0),
        max_displacement(solution, 0) <= TOO_LARGE * solution.frame.size,
    )
    return max(factor, 1.0) if fits else factor


def _view_words(view: View) -> str:
    if view.normal_axis is None:
        return "from a corner"
    across, up = (axis for number, axis in enumerate("xyz") if number != view.normal_axis)
    return f"square to the {across}–{up} plane"


def _beams(solution: Solution, view: View) -> Iterator[dict[str, Any]]:
    frame = solution.frame
    steps = int(np.clip(SMOOTH // max(len(frame.ends), 1), LEAST_STEPS, MOST_STEPS))
    shape = deflected_shape(solution, steps)
    for name, member in frame.members.items():
        along = member_forces(solution, member, steps)
        points = slice(member.first * (steps + 1), member.last * (steps + 1))
        sides = _sides(view, frame.axes[member.first])
        yield {
            "name": name,
            "elements": member.last - member.first,
            "station": along.station.tolist(),
            "point": view.project(along.point).tolist(),
            "moved": view.project(shape.movement[0, points]).tolist(),
            "actions": dict(zip(ACTIONS, along.actions[0].T.tolist(), strict=True)),
            "sides": dict(zip(ACTIONS, sides.tolist(), strict=True)),
        }


def _sides(view: View, axes: FloatArray) -> FloatArray:
    """(6, 2): where a positive value of each action is drawn from the beam: bending moments on the side in tension."""
    x, y, z = view.project(axes)
    across = np.array([-x[1], x[0]]) / (np.linalg.norm(x) or 1.0)
    y, z = (one if np.linalg.norm(one) >= SEEN else across for one in (y, z))
    return np.array([z, y, z, z, z, -y])


def _cables(solution: Solution, view: View) -> list[dict[str, Any]]:
    cables = solution.frame.cables
    rest, moved = cable_segments(solution)
    return [
        {
            "name": cables.names[cable],
            "tension": float(solution.tension[0, cable]),
            "point": view.project(rest[number]).tolist(),
            "moved": view.project(moved[0, number]).tolist(),
        }
        for number, cable in enumerate(cables.cable_of_segment.tolist())
    ]


def _supports(frame: Frame, view: View) -> Iterator[dict[str, Any]]:
    """Every support: what it fixes, how it is drawn, and for a roller the direction in which it holds."""
    normal = view.normal_axis
    shown = frame.ground_nodes < 0
    for node in np.flatnonzero(shown & frame.fixed.any(axis=1)).tolist():
        fixed = frame.fixed[node]
        moves = [axis for axis in range(3) if axis != normal]
        turns = range(3, 6) if normal is None else [3 + normal]
        held = [axis for axis in moves if fixed[axis]]
        if len(held) == len(moves):
            kind = "clamp" if all(fixed[turn] for turn in turns) else "pin"
        else:
            kind = "roller" if len(held) == 1 else "guide"
        if not held and not any(fixed[turn] for turn in turns):
            continue
        yield {
            "at": view.project(frame.nodes[node]).tolist(),
            "kind": kind,
            "along": view.project(np.eye(3)[held[0]]).tolist() if held else [0.0, 0.0],
            "fixed": [freedom for freedom, one in zip(FREEDOMS, fixed.tolist(), strict=True) if one],
        }
    for node in np.unique(frame.ground_nodes[~shown]).tolist():
        yield {
            "at": view.project(frame.nodes[node]).tolist(),
            "kind": "spring",
            "along": [0.0, 0.0],
            "fixed": [],
        }


def _point_loads(solution: Solution, view: View) -> Iterator[dict[str, Any]]:
    """Forces and moments at nodes, those of a support's own node too."""
    frame, nodal = solution.frame, solution.loads.nodal[0]
    for node in np.flatnonzero(nodal.any(axis=1)).tolist():
        at = view.project(frame.nodes[node]).tolist()
        yield from acting(at, nodal[node], view)


def acting(at: list[float], load: FloatArray, view: View) -> Iterator[dict[str, Any]]:
    """A force and a moment (6,) at a place of the paper, as they are drawn; `turn` is a moment's part about the line of sight."""
    for kind, vector, unit in (("force", load[:3], "N"), ("moment", load[3:], "N·m")):
        if vector.any():
            yield {
                "kind": kind,
                "at": at,
                "vector": view.project(vector).tolist(),
                "turn": float(vector @ view.view_direction),
                "size": float(np.linalg.norm(vector)),
                "unit": unit,
            }


def _line_loads(solution: Solution, view: View) -> Iterator[dict[str, Any]]:
    """Forces along beams: where each begins and ends, and its vector there, N/m; couples along beams are in the words alone."""
    frame, loads = solution.frame, solution.loads
    whole = [(element, 0.0, 1.0, loads.line[0, [element, element]]) for element in range(len(frame.ends))]
    part = loads.stretches
    rest = [
        (int(element), float(begin), float(end), load[:, :3])
        for element, begin, end, load in zip(part.element, part.begin, part.end, part.load[0], strict=True)
    ]
    for element, begin, end, forces in (*whole, *rest):
        if forces.any():
            start, to = frame.end_points[element]
            places = start + (to - start) * np.array([[begin], [end]])
            vectors = forces @ frame.axes[element]
            yield {
                "kind": "line",
                "at": view.project(places).tolist(),
                "vector": view.project(vectors).tolist(),
                "size": float(np.linalg.norm(vectors, axis=1).max()),
                "unit": "N/m",
            }


__all__ = ["acting", "mode_pictures", "one_case", "picture"]
