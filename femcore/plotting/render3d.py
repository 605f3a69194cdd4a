"""A solid-looking picture of a deflected frame: tubes coloured by their bending, bodies around them, drawn without a window.

The renderer runs in a process of its own, since where a machine cannot draw, the graphics library may end it.
"""

from __future__ import annotations

import subprocess
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from typing import Any

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.process import module_command, module_environment
from femcore.frame.frame import ACTIONS
from femcore.plotting.frame_plot import (
    View,
    cable_segments,
    deflected_shape,
    has_bending_stiffness,
    rigid_arms,
)
from femcore.results.member_forces import actions_at
from femcore.solvers.solution import Solution

USUAL_SIZE_RATIO, THIN = 0.016, 0.4
"""Diameter of a tube whose size is not known, as a part of the frame's size; of a thin one as a part of that."""
STEPS_PER_ELEMENT = 6
"""Pieces that an element is drawn in."""
RENDER_TIMEOUT, POLL = 120, 0.05
"""Seconds after which the renderer is given up, and between looks whether it has ended."""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Tubes to draw: rest and deflected points (k, 3) of every line, value at each point, and where each line
    begins.

    lines : (l, 2), first and last (exclusive) point of each line;   thin : (l,), lines to be drawn as thin tubes
    sizes : (l,), m, diameter of each line's tube
    bodies: (b, rings, k, 3), m: closed rings of bodies that are drawn pale, undeformed
    most  : value of the strongest colour
    label : what the colour means, with its unit;   view : the viewpoint
    """

    rest: FloatArray
    moved: FloatArray
    value: FloatArray
    lines: IntArray
    thin: BoolArray
    sizes: FloatArray
    bodies: FloatArray
    most: float
    label: str
    view: View


def bending_scene(
    solution: Solution,
    case: int,
    factor: float,
    most: float,
    view: View | None = None,
    *,
    sizes: Mapping[str, float] | None = None,
    bodies: FloatArray | None = None,
) -> Scene:
    """The deflected frame, movements times `factor`, coloured by the resultant bending moment √(My² + Mz²) up to `most`, N·m.

    sizes  : m, diameters of members whose tubes are known; others are drawn alike
    bodies : (b, rings, k, 3), m, to be drawn pale around it
    """
    shape = deflected_shape(solution, STEPS_PER_ELEMENT)
    straight = [
        np.concatenate(both, axis=-3)
        for both in zip(rigid_arms(solution), cable_segments(solution), strict=True)
    ]
    arms, arms_moved = straight
    by, unit = numbers.unit_prefix(most, "N·m")
    joined = len(arms)
    counts = [*np.bincount(shape.element), *[2] * joined]
    stops = np.cumsum(counts)
    thin = np.concatenate([~has_bending_stiffness(solution.frame), np.ones(joined, dtype=bool)])
    usual = solution.frame.size * USUAL_SIZE_RATIO
    tubes = np.where(thin, THIN * usual, usual)
    for member, size in (sizes or {}).items():
        run = solution.frame.members[member]
        tubes[run.first : run.last] = size
    return Scene(
        rest=np.concatenate([shape.point, arms.reshape(-1, 3)]),
        moved=np.concatenate(
            [shape.point + factor * shape.movement[case], (arms + factor * arms_moved[case]).reshape(-1, 3)]
        ),
        value=np.concatenate([bending_along(solution)[case] / by, np.zeros(2 * joined)]),
        lines=np.stack([stops - counts, stops], axis=1),
        thin=thin,
        sizes=tubes,
        bodies=np.zeros((0, 0, 0, 3)) if bodies is None else bodies,
        most=most / by,
        label=f"bending moment, {unit}",
        view=view or View(),
    )


def bending_along(solution: Solution) -> FloatArray:
    """(c, k), N·m: resultant bending moment √(My² + Mz²) of all cases along all elements."""
    element = deflected_shape(solution, STEPS_PER_ELEMENT).element
    xi = np.concatenate([np.linspace(0.0, 1.0, points) for points in np.bincount(element)])
    actions = actions_at(solution, element, xi)
    return np.asarray(np.hypot(actions[..., ACTIONS.index("My")], actions[..., ACTIONS.index("Mz")]))


def render(
    scenes: Sequence[Scene], scratch: Path | None = None, given_up: Event | None = None
) -> tuple[list[bytes], str | None]:
    """A PNG of each scene and None, or no picture and the reason in words.

    scratch : a folder for temporary files; left out, the system's;   given_up : once set, it returns at once
    """
    with tempfile.TemporaryDirectory(prefix="scene-", dir=scratch) as folder:
        for number, scene in enumerate(scenes):
            np.savez(Path(folder) / f"{number}.npz", **_arrays(scene))
        why = _run(folder, len(scenes), given_up or Event())
        files = [Path(folder) / f"{number}.png" for number in range(len(scenes))]
        if why is None and all(file.is_file() and file.stat().st_size for file in files):
            return [file.read_bytes() for file in files], None
        return [], why or "the renderer left no picture"


def _arrays(scene: Scene) -> dict[str, Any]:
    arrays = {
        key: getattr(scene, key) for key in ("rest", "moved", "value", "lines", "thin", "sizes", "bodies")
    }
    seen = [scene.most, scene.view.azimuth, scene.view.elevation]
    return {**arrays, "numbers": np.array(seen), "label": np.array(scene.label)}


def _run(folder: str, count: int, given_up: Event) -> str | None:
    """Let another process draw; why it did not, in words."""
    command = module_command("femcore.plotting.scene_drawing", folder, str(count))
    try:
        with subprocess.Popen(  # noqa: S603  (our own module, by a list)
            command,
            env=module_environment(),
            stdin=subprocess.PIPE,  # it ends with this process
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        ) as process:
            until = time.monotonic() + RENDER_TIMEOUT
            while process.poll() is None and time.monotonic() < until and not given_up.wait(POLL):
                pass
            status = process.poll()
            process.kill()
    except OSError as trouble:
        return f"no renderer could be started ({trouble.strerror})"
    if status is None:
        return f"the renderer gave no picture within {RENDER_TIMEOUT} s"
    if status:
        return "no renderer on this machine can draw without a window"
    return None
