"""Scenes drawn without a window, in the process of the renderer, which imports nothing that solves.

A machine that cannot draw may end this process; `render3d` says so then.
"""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from femcore.base.arrays import FloatArray, IntArray
from femcore.base.process import end_with_starter
from femcore.plotting import style
from femcore.plotting.projection import View

IMAGE_SIZE, DPI = (1500, 1000), 200
"""Pixels, and how many of them an inch has."""
COLOURS = ("#e9e4d4", "#d2972e", "#9a3b3f", "#5a1d2a")
"""From nothing to the largest value."""
SCALE_STEPS, SCALE_TICKS = 60, 4
"""Of the colour scale below a picture: fields, and numbers."""


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
