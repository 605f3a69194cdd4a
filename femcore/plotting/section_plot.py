"""Pictures of a section: walls, centres and axes; under load, shear flow, axial flow, the governing point."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from femcore.base.numbers import engineering
from femcore.plotting.style import TEXT_COLOUR
from femcore.sections.properties import properties
from femcore.sections.recovery import metal_stress

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from femcore.sections.analysis import Analysis
    from femcore.sections.properties import SectionProperties
    from femcore.sections.recovery import WallFlows

    Array = NDArray[np.float64]

WALL_COLOURS = ("#5b7083", "#b08d57", "#7d9471", "#9c6b7a", "#6f6aa0", "#a3a3a3")
MIN_DRAWN_RATIO = 0.008
"""Walls thinner than this share of the section's size are drawn at it, to be visible."""


def section_picture(solved: Analysis) -> Figure:
    """Outline with wall thickness, elastic and shear centre, principal axes, and the section's numbers."""
    beam = properties(solved)
    figure = Figure(figsize=(10.0, 6.0), layout="constrained")
    axes, side = figure.subplots(1, 2, width_ratios=[2.4, 1.0])
    _draw_walls(axes, solved)
    _draw_axes(axes, solved, beam)
    _draw_centres(axes, beam)
    _frame(axes, solved, f"{solved.section.name}, seen from the +x end")
    figure.legend(handles=_legend(solved), loc="outside lower center", ncols=4, frameon=False, fontsize=9)
    side.axis("off")
    side.text(0.0, 1.0, _numbers(beam), va="top", family="monospace", fontsize=9, transform=side.transAxes)
    return figure


def flow_picture(
    solved: Analysis,
    flows: WallFlows,
    case: int = 0,
    *,
    title: str = "",
    governing: tuple[int, int, str] | None = None,
) -> Figure:
    """Shear flow (arrows, colours) and axial flow (colours) of one case, and the point that governs.

    governing : (segment, place along it, words) to mark; left out, the largest von Mises stress of the metal
                walls, if any
    """
    figure = Figure(figsize=(11.0, 5.6), layout="constrained")
    figure.suptitle(title or f"{solved.section.name}, case {case + 1}")
    left, right = figure.subplots(1, 2)
    q, n = flows.q[case] / 1e3, flows.n_x[case] / 1e3
    _colour_walls(figure, left, flows, np.abs(q), "shear flow |q| (kN/m)", "viridis", symmetric=False)
    _arrows(left, solved, flows, q)
    _colour_walls(figure, right, flows, n, "axial flow n_x (kN/m), tension +", "coolwarm", symmetric=True)
    mark = governing if governing is not None else _worst_metal(solved, flows, case)
    for axes in (left, right):
        _draw_centres(axes, properties(solved))
        _frame(axes, solved, "")
    left.set_title("shear flow, arrows along it", fontsize=10)
    right.set_title("axial flow" if mark is None else f"axial flow; ★ {mark[2]}", fontsize=10)
    if mark is not None:
        right.plot(
            *(flows.place[mark[0], mark[1]] * 1e3), marker="*", ms=16, color=TEXT_COLOUR, mfc="gold", zorder=6
        )
    handles = [_centre_handle(), _shear_handle()]
    figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return figure


def _draw_walls(axes: Axes, solved: Analysis) -> None:
    section = solved.section
    start, end = (section.points[section.segments[:, i]] for i in (0, 1))
    half = np.maximum(section.thickness, MIN_DRAWN_RATIO * section.size)[:, None] / 2
    normal = np.column_stack([-section.tangent[:, 1], section.tangent[:, 0]]) * half
    quads = np.stack([start - normal, end - normal, end + normal, start + normal], axis=1) * 1e3
    colours = [WALL_COLOURS[i % len(WALL_COLOURS)] for i in section.wall_of]
    axes.add_collection(PolyCollection(list(quads), facecolors=colours, edgecolors=colours, linewidths=0.6))


def _draw_axes(axes: Axes, solved: Analysis, beam: SectionProperties) -> None:
    for angle, style, label in ((beam.angle, "-", "1"), (beam.angle + np.pi / 2, "--", "2")):
        way = np.array([np.cos(angle), np.sin(angle)])
        along = (solved.section.points - beam.centre) @ way
        over = 0.05 * solved.section.size
        line = (beam.centre + np.outer([along.min() - over, along.max() + over], way)) * 1e3
        axes.plot(*line.T, style, color="#b03a2e", lw=0.9, zorder=3)
        offset = (7 * way[0], 7 * way[1])
        axes.annotate(
            label, line[1], offset, textcoords="offset points", color="#b03a2e", ha="center", va="center"
        )


def _draw_centres(axes: Axes, beam: SectionProperties) -> None:
    axes.plot(*(beam.centre * 1e3), marker="+", ms=13, mew=2, color=TEXT_COLOUR, zorder=5)
    axes.plot(*(beam.shear_centre * 1e3), marker="x", ms=10, mew=2, color="#0b5fa5", zorder=5)


def _frame(axes: Axes, solved: Analysis, title: str) -> None:
    beam = properties(solved)
    places = np.vstack([solved.section.points, beam.centre, beam.shear_centre]) * 1e3
    margin = 0.16 * solved.section.size * 1e3
    axes.set_xlim(places[:, 0].min() - margin, places[:, 0].max() + margin)
    axes.set_ylim(places[:, 1].min() - margin, places[:, 1].max() + margin)
    axes.set_aspect("equal")
    axes.set_xlabel("y (mm)")
    axes.set_ylabel("z (mm)")
    axes.set_title(title, fontsize=11)
    axes.grid(visible=True, lw=0.3)
    axes.set_axisbelow(True)


def _legend(solved: Analysis) -> list[Patch | Line2D]:
    walls = [
        Patch(color=WALL_COLOURS[i % len(WALL_COLOURS)], label=f"{wall.name}, {wall.thickness * 1e3:.3g} mm")
        for i, wall in enumerate(solved.section.walls)
    ]
    axis = Line2D([], [], color="#b03a2e", lw=0.9, label="principal axes")
    return [*walls, _centre_handle(), _shear_handle(), axis]


def _centre_handle() -> Line2D:
    return Line2D([], [], marker="+", ms=11, mew=2, color=TEXT_COLOUR, ls="", label="elastic centre")


def _shear_handle() -> Line2D:
    return Line2D([], [], marker="x", ms=9, mew=2, color="#0b5fa5", ls="", label="shear centre")


def _numbers(beam: SectionProperties) -> str:
    degrees = np.degrees(beam.angle)
    cells = ", ".join(f"{area * 1e4:.4g}" for area in beam.cell_area) or "open"
    rows = [
        ("EA", engineering(beam.EA, "N", 4)),
        ("EIy", engineering(beam.EIy, "N·m²", 4)),
        ("EIz", engineering(beam.EIz, "N·m²", 4)),
        ("EIyz", engineering(beam.EIyz if abs(beam.EIyz) > 1e-9 * beam.EI1 else 0.0, "N·m²", 4)),
        ("EI 1", engineering(beam.EI1, "N·m²", 4)),
        ("EI 2", engineering(beam.EI2, "N·m²", 4)),
        ("angle", f"{degrees if abs(degrees) > 1e-6 else 0.0:.2f}°"),
        ("GJ", engineering(beam.GJ, "N·m²", 4)),
        ("GAy", engineering(beam.GAy, "N", 4)),
        ("GAz", engineering(beam.GAz, "N", 4)),
        ("mass", f"{beam.mass:.4g} kg/m"),
        ("cells", f"{cells} cm²" if len(beam.cell_area) else cells),
    ]
    text = "\n".join(f"{name:<6}{value}" for name, value in rows)
    if not beam.couplings:
        return text
    strongest = beam.couplings[0]
    return f"{text}\n\ncouples {strongest.cause} with {strongest.effect},\nstrength {strongest.strength:.2f}"


def _colour_walls(
    figure: Figure, axes: Axes, flows: WallFlows, values: Array, label: str, colours: str, *, symmetric: bool
) -> None:
    steps = 16
    fine = np.linspace(0.0, 1.0, steps + 1)
    smooth = np.array([np.interp(fine, flows.at, row) for row in values])
    start, end = flows.place[:, :1], flows.place[:, -1:]
    place = (start + fine[:, None] * (end - start)) * 1e3
    pieces = np.stack([place[:, :-1], place[:, 1:]], axis=2).reshape(-1, 2, 2)
    middle = ((smooth[:, :-1] + smooth[:, 1:]) / 2).ravel()
    lines = LineCollection(list(pieces), array=middle, cmap=colours, linewidths=5.0, capstyle="round")
    top = max(float(np.abs(values).max()), 1e-12)
    lines.set_clim(-top if symmetric else 0.0, top)
    axes.add_collection(lines)
    figure.colorbar(lines, ax=axes, label=label, shrink=0.85)


def _arrows(axes: Axes, solved: Analysis, flows: WallFlows, q: Array) -> None:
    """About forty arrows, evenly along the walls, drawn beside them."""
    section = solved.section
    count = np.maximum(1, np.round(40 * section.length / section.length.sum())).astype(int)
    shown = np.cumsum(section.length) // max(section.length.sum() / 40, 1e-12)
    keep = np.flatnonzero((np.diff(shown, prepend=-1.0) > 0) | (count > 1))
    top = float(np.abs(q).max())
    for segment in keep:
        for share in (np.arange(count[segment]) + 0.5) / count[segment]:
            value = float(np.interp(share, flows.at, q[segment]))
            if top == 0.0 or abs(value) < 0.02 * top:
                continue
            way = section.tangent[segment] * np.sign(value) * section.size * 1e3
            normal = (
                np.array([-section.tangent[segment, 1], section.tangent[segment, 0]]) * section.size * 1e3
            )
            middle = section.points[section.segments[segment, 0]] * 1e3
            middle = middle + share * section.length[segment] * 1e3 * section.tangent[segment] + 0.03 * normal
            half = 0.03 * (0.35 + 0.65 * abs(value) / top) * way
            arrow = {"arrowstyle": "-|>", "color": "#333333", "lw": 0.9, "shrinkA": 0, "shrinkB": 0}
            axes.annotate("", middle + half, middle - half, arrowprops=arrow)


def _worst_metal(solved: Analysis, flows: WallFlows, case: int) -> tuple[int, int, str] | None:
    stress = metal_stress(solved, flows)
    if not len(stress.segments):
        return None
    worst = stress.von_mises[case].max(axis=-1)
    at = np.unravel_index(int(worst.argmax()), worst.shape)
    segment = int(stress.segments[at[0]])
    return segment, int(at[1]), f"von Mises {worst[at] / 1e6:.3g} MPa in {solved.section.parts[segment]}"
