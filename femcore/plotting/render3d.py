"""A solid-looking picture of a deflected frame: tubes coloured by their bending, bodies around them, drawn without a window.

The renderer runs in a process of its own, since where a machine cannot draw, the graphics library may end it.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from threading import Event
from typing import Any

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.process import end_with_starter, module_command, module_environment
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

IMAGE_SIZE, DPI = (1500, 1000), 200
"""Pixels, and how many of them an inch has."""
USUAL_SIZE_RATIO, THIN = 0.016, 0.4
"""Diameter of a tube whose size is not known, as a part of the frame's size; of a thin one as a part of that."""
STEPS_PER_ELEMENT = 6
"""Pieces that an element is drawn in."""
RENDER_TIMEOUT, POLL = 120, 0.05
"""Seconds after which the renderer is given up, and between looks whether it has ended."""
COLOURS = ("#e9e4d4", "#d2972e", "#9a3b3f", "#5a1d2a")
"""From nothing to the largest value."""
SCALE_STEPS, SCALE_TICKS = 60, 4
"""Of the colour scale below a picture: fields, and numbers."""


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
    command = module_command("femcore.plotting.render3d", folder, str(count))
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


def _draw_all(folder: Path, count: int) -> None:
    """Draw the scenes of a folder in one window, which compiles what it draws with once (in the renderer's process)."""
    import pyvista as library  # noqa: PLC0415  (start-up time, and it may end the process)

    pyvista: Any = library  # its types are loose
    plotter = pyvista.Plotter(off_screen=True, window_size=list(IMAGE_SIZE))
    plotter.set_background("white")
    plotter.enable_anti_aliasing("ssaa")
    for number in range(count):
        _draw(pyvista, plotter, folder / f"{number}.npz", folder / f"{number}.png")
        plotter.clear_actors()
    plotter.close()


def _draw(pyvista: Any, plotter: Any, source: Path, target: Path) -> None:  # noqa: ANN401  (its types are loose)
    """Draw one scene in an empty window."""
    from matplotlib.colors import LinearSegmentedColormap  # noqa: PLC0415  (start-up time)

    shades = LinearSegmentedColormap.from_list("bending", COLOURS)
    plotter.suppress_rendering = True  # until all is in its place
    with np.load(source) as data:
        most, azimuth, elevation = data["numbers"]
        thin, lines, sizes = data["thin"], data["lines"], data["sizes"]
        for body in data["bodies"]:
            plotter.add_mesh(_body(pyvista, body), color=style.GRID_COLOUR, opacity=0.35, smooth_shading=True)
        ghost = _tubes(pyvista, data["rest"], data["value"], lines, 0.3 * sizes)
        plotter.add_mesh(ghost, color=style.GRID_COLOUR)
        for kind, coloured in ((~thin, True), (thin, False)):
            if kind.any():
                look = (
                    {"scalars": "value", "cmap": shades, "clim": (0.0, most or 1.0), "show_scalar_bar": False}
                    if coloured
                    else {"color": style.MUTED_COLOUR}
                )
                tubes = _tubes(pyvista, data["moved"], data["value"], lines[kind], sizes[kind])
                plotter.add_mesh(tubes, smooth_shading=True, **look)
        points = [data["rest"], data["moved"], data["bodies"].reshape(-1, 3)]
        _set_camera(plotter, np.vstack(points), View(float(azimuth), float(elevation)))
        label = str(data["label"])
    plotter.suppress_rendering = False
    plotter.render()
    _with_scale(plotter.screenshot(return_img=True), float(most), label, shades, target)


def _with_scale(image: Any, most: float, label: str, shades: Any, target: Path) -> None:  # noqa: ANN401  (of libraries)
    """The rendered image with our own scale of colours below it."""
    from matplotlib.image import imsave  # noqa: PLC0415  (start-up time)

    about: Any = {"Software": None}
    high = 0.55
    with style.drawing_style():
        figure = style.new_figure(IMAGE_SIZE[0] / DPI, high, fixed_layout=True)
        figure.set_dpi(DPI)
        scale = figure.add_axes((0.03, 0.27 / high, 0.35, 0.11 / high))
        edges = np.linspace(0, most or 1.0, SCALE_STEPS + 1)
        for first, last in pairwise(edges):
            scale.axvspan(first, last, color=shades((first + last) / 2 / edges[-1]), lw=0)
        scale.set(xlim=(0, edges[-1]), yticks=[])
        ticks = np.linspace(0, edges[-1], SCALE_TICKS)
        scale.set_xticks(ticks, [f"{tick:.3g}" for tick in ticks], fontsize=7.5)
        scale.set_title(f"{label}; grey: undeformed", fontsize=8, fontweight="normal", pad=3)
        canvas: Any = figure.canvas
        canvas.draw()
        below = np.asarray(canvas.buffer_rgba())
    imsave(target, np.concatenate([image[..., :3], below[..., :3]]), dpi=DPI, metadata=about)


def _body(pyvista: Any, rings: FloatArray) -> Any:  # noqa: ANN401  (its types are loose)
    """A closed body through rings (r, k, 3)."""
    count, around = rings.shape[:2]
    at = np.arange(count * around).reshape(count, around)
    after = np.roll(at, -1, axis=1)
    quads = np.stack([at[:-1], after[:-1], after[1:], at[1:]], axis=-1).reshape(-1, 4)
    faces = [np.column_stack([np.full(len(quads), 4), quads]).ravel()]
    faces += [np.concatenate([[around], end]) for end in (at[0], at[-1])]
    return pyvista.PolyData(rings.reshape(-1, 3), np.concatenate(faces))


def _tubes(
    pyvista: Any,  # noqa: ANN401  (its types are loose)
    points: FloatArray,
    value: FloatArray,
    lines: IntArray,
    sizes: FloatArray,
) -> Any:  # noqa: ANN401
    """Tubes along lines (l, 2), each as wide as its size (l,)."""
    made = None
    for size in np.unique(sizes):
        cells = np.concatenate([np.concatenate([[b - a], np.arange(a, b)]) for a, b in lines[sizes == size]])
        runs = pyvista.PolyData(points, lines=cells)
        runs["value"] = value
        tubes = runs.tube(radius=size / 2, n_sides=24)
        made = tubes if made is None else made.append_polydata(tubes)
    return made


def _set_camera(plotter: Any, points: FloatArray, view: View) -> None:  # noqa: ANN401
    a, h = np.radians([view.azimuth, view.elevation])
    toward = np.array([np.cos(a) * np.cos(h), np.sin(a) * np.cos(h), np.sin(h)])
    flat = view.project(points)
    wide, high = np.ptp(flat, axis=0)
    across = view.project(np.eye(3)).T
    middle = ((flat.max(axis=0) + flat.min(axis=0)) / 2) @ across
    plotter.enable_parallel_projection()
    plotter.camera_position = [tuple(middle + toward * 10 * max(wide, high)), tuple(middle), (0.0, 0.0, 1.0)]
    plotter.camera.parallel_scale = 0.54 * max(high, wide * IMAGE_SIZE[1] / IMAGE_SIZE[0])
    plotter.reset_camera_clipping_range()


if __name__ == "__main__":
    end_with_starter()
    _draw_all(Path(sys.argv[1]), int(sys.argv[2]))
