"""A solid-looking picture of a deflected frame: tubes coloured by their bending, drawn without a window.

The renderer runs in a process of its own, since where a machine cannot draw, the graphics library may end it.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.process import module_command, module_environment
from femcore.frame.frame import ACTIONS
from femcore.plotting import style
from femcore.plotting.frame_plot import (
    View,
    cable_segments,
    deflected_shape,
    has_bending_stiffness,
    rigid_arms,
)
from femcore.results.member_forces import actions_at
from femcore.solvers.solution import Solution

IMAGE_SIZE = (1500, 1000)
STEPS_PER_ELEMENT = 6
"""Pieces that an element is drawn in."""
RENDER_TIMEOUT = 120
"""Seconds after which the renderer is given up."""
COLOURS = ("#e9e4d4", "#d2972e", "#9a3b3f", "#5a1d2a")
"""From nothing to the largest value."""
COLOUR_BAR: dict[str, Any] = {
    "color": style.TEXT_COLOUR, "vertical": False, "width": 0.36, "height": 0.09,
    "position_x": 0.6, "position_y": 0.03,
    "title_font_size": 26, "label_font_size": 22, "fmt": "%.3g", "n_labels": 4,
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Tubes to draw: rest and deflected points (k, 3) of every line, value at each point, and where each line
    begins.

    lines : (l, 2), first and last (exclusive) point of each line;   thin : (l,), lines to be drawn as thin
    tubes
    most  : value of the strongest colour
    label : what the colour means, with its unit;   view : the viewpoint
    """

    rest: FloatArray
    moved: FloatArray
    value: FloatArray
    lines: IntArray
    thin: BoolArray
    radius: float
    most: float
    label: str
    view: View


def bending_scene(
    solution: Solution, case: int, factor: float, most: float, view: View | None = None
) -> Scene:
    """The deflected frame, movements times `factor`, coloured by the resultant bending moment √(My² + Mz²) up
    to `most`, N·m.
    """
    shape = deflected_shape(solution, STEPS_PER_ELEMENT)
    straight = [
        np.concatenate(both, axis=-3)
        for both in zip(rigid_arms(solution), cable_segments(solution), strict=True)
    ]
    arms, arms_moved = straight
    by, unit = numbers.unit_prefix(most, "N·m")
    joined = len(arms)
    sizes = [*np.bincount(shape.element), *[2] * joined]
    stops = np.cumsum(sizes)
    return Scene(
        rest=np.concatenate([shape.point, arms.reshape(-1, 3)]),
        moved=np.concatenate(
            [shape.point + factor * shape.movement[case], (arms + factor * arms_moved[case]).reshape(-1, 3)]
        ),
        value=np.concatenate([bending_along(solution)[case] / by, np.zeros(2 * joined)]),
        lines=np.stack([stops - sizes, stops], axis=1),
        thin=np.concatenate([~has_bending_stiffness(solution.frame), np.ones(joined, dtype=bool)]),
        radius=solution.frame.size * 0.008,
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


def render(scenes: Sequence[Scene]) -> tuple[list[bytes], str | None]:
    """A PNG of each scene and None, or no picture and the reason in words."""
    with tempfile.TemporaryDirectory(prefix="scene-") as folder:
        for number, scene in enumerate(scenes):
            np.savez(Path(folder) / f"{number}.npz", **_arrays(scene))
        why = _run(folder, len(scenes))
        files = [Path(folder) / f"{number}.png" for number in range(len(scenes))]
        if why is None and all(file.is_file() and file.stat().st_size for file in files):
            return [file.read_bytes() for file in files], None
        return [], why or "the renderer left no picture"


def _arrays(scene: Scene) -> dict[str, Any]:
    arrays = {key: getattr(scene, key) for key in ("rest", "moved", "value", "lines", "thin")}
    seen = [scene.radius, scene.most, scene.view.azimuth, scene.view.elevation]
    return {**arrays, "numbers": np.array(seen), "label": np.array(scene.label)}


def _run(folder: str, count: int) -> str | None:
    """Let another process draw; why it did not, in words."""
    command = module_command("femcore.plotting.render3d", folder, str(count))
    try:
        done = subprocess.run(  # noqa: S603  (our own module, by a list)
            command,
            env=module_environment(),
            capture_output=True,
            timeout=RENDER_TIMEOUT,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return f"the renderer gave no picture within {RENDER_TIMEOUT} s"
    except OSError as trouble:
        return f"no renderer could be started ({trouble.strerror})"
    if done.returncode:
        return "no renderer on this machine can draw without a window"
    return None


def _draw(source: Path, target: Path) -> None:
    """Draw one scene (in the renderer's process)."""
    import pyvista as library  # noqa: PLC0415  (start-up time, and it may end the process)
    from matplotlib.colors import LinearSegmentedColormap  # noqa: PLC0415  (start-up time)

    pyvista: Any = library  # its types are loose
    with np.load(source) as data:
        radius, most, azimuth, elevation = data["numbers"]
        thin, lines = data["thin"], data["lines"]
        plotter = pyvista.Plotter(off_screen=True, window_size=list(IMAGE_SIZE))
        plotter.set_background("white")
        ghost = _tubes(pyvista, data["rest"], data["value"], lines, radius * 0.3)
        plotter.add_mesh(ghost, color=style.GRID_COLOUR)
        shades = LinearSegmentedColormap.from_list("bending", COLOURS)
        for kind, thickness, bar in (
            (~thin, radius, COLOUR_BAR | {"title": f"{data['label']}\n"}),
            (thin, radius * 0.4, None),
        ):
            if kind.any():
                look = (
                    {"scalars": "value", "cmap": shades, "clim": (0.0, most or 1.0)}
                    if bar
                    else {"color": style.MUTED_COLOUR}
                )
                tubes = _tubes(pyvista, data["moved"], data["value"], lines[kind], thickness)
                plotter.add_mesh(tubes, smooth_shading=True, scalar_bar_args=bar, **look)
        _set_camera(plotter, np.vstack([data["rest"], data["moved"]]), View(float(azimuth), float(elevation)))
    plotter.enable_anti_aliasing("ssaa")
    plotter.screenshot(str(target))
    plotter.close()


def _tubes(
    pyvista: Any,  # noqa: ANN401  (its types are loose)
    points: FloatArray,
    value: FloatArray,
    lines: IntArray,
    radius: float,
) -> Any:  # noqa: ANN401
    cells = np.concatenate([np.concatenate([[b - a], np.arange(a, b)]) for a, b in lines])
    runs = pyvista.PolyData(points, lines=cells)
    runs["value"] = value
    return runs.tube(radius=radius, n_sides=24)


def _set_camera(plotter: Any, points: FloatArray, view: View) -> None:  # noqa: ANN401
    a, h = np.radians([view.azimuth, view.elevation])
    toward = np.array([np.cos(a) * np.cos(h), np.sin(a) * np.cos(h), np.sin(h)])
    flat = view.project(points)
    wide, high = np.ptp(flat, axis=0)
    across = view.project(np.eye(3)).T
    # the middle of the scene, a little low to leave room for the scale
    middle = ((flat.max(axis=0) + flat.min(axis=0)) / 2 - [0.0, 0.06 * high]) @ across
    plotter.enable_parallel_projection()
    plotter.camera_position = [tuple(middle + toward * 10 * max(wide, high)), tuple(middle), (0.0, 0.0, 1.0)]
    plotter.camera.parallel_scale = 0.6 * max(high, wide * IMAGE_SIZE[1] / IMAGE_SIZE[0])
    plotter.reset_camera_clipping_range()


if __name__ == "__main__":
    for number in range(int(sys.argv[2])):
        _draw(Path(sys.argv[1]) / f"{number}.npz", Path(sys.argv[1]) / f"{number}.png")
