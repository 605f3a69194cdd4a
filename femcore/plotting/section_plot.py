"""Drawings of a section: walls with dimensions and centres beside a table; under load its flows as ordinates off the walls."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from femcore.base.numbers import engineering
from femcore.plotting import style
from femcore.plotting.dimensions import dimension
from femcore.plotting.labels import place_labels
from femcore.sections.properties import properties
from femcore.sections.recovery import metal_stress

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from numpy.typing import NDArray

    from femcore.sections.analysis import Analysis
    from femcore.sections.properties import SectionProperties
    from femcore.sections.recovery import WallFlows

    Array = NDArray[np.float64]

WALL_COLOURS = tuple(style.SERIES_COLOURS[i] for i in (0, 1, 2, 4, 5, 3))
MIN_DRAWN_RATIO = 0.008
"""Walls thinner than this share of the section's size are drawn at it, to be visible."""
TALLEST_ORDINATE = 0.2
"""Of the section's size: the ordinate of the largest flow."""
SHEAR, TENSION, COMPRESSION = style.SERIES_COLOURS[2], style.SERIES_COLOURS[1], style.SERIES_COLOURS[0]
ARROWS = 32
"""Along all walls together."""
REL_TOL_NO_ARROW = 0.03
"""Of the largest shear flow: where there is less, no arrow is drawn."""
REL_TOL_SAME_CENTRE = 5e-3
"""Of the section's size: centres that are closer share one label."""
SIDE_BY_SIDE, TABLE_WIDTH, MARGIN = 4.6, 2.55, 0.25
"""Inches: width of the drawing, and of the table beside it; around the walls, as a share of the section's size."""


def section_picture(solved: Analysis) -> Figure:
    """Walls to scale with overall dimensions and thickness, both centres, principal axes; the section's numbers as a table."""
    beam = properties(solved)
    rows = list(property_rows(beam))
    low, high = _extent(solved, beam)
    shape = (high - low)[1] / (high - low)[0]
    tall = float(np.clip(SIDE_BY_SIDE * shape, 0.21 * len(rows) + 0.75, 4.6))
    figure = style.new_figure(style.WIDTH, tall, fixed_layout=True)
    share = SIDE_BY_SIDE / style.WIDTH
    axes = figure.add_axes((0, 0, share, 1.0))
    _frame(axes, low, high)
    _draw_walls(axes, solved)
    through = _draw_axes(axes, solved, beam)
    outside = _wall_outlines(solved, solved.section.thickness).reshape(-1, 2)
    (left, bottom), (right, top) = outside.min(axis=0), outside.max(axis=0)
    off = 0.5 * MARGIN * solved.section.size * 1e3
    dimension(axes, (left, bottom), (right, bottom), (0, -off), f"{right - left:.4g}")
    dimension(axes, (left, bottom), (left, top), (-off, 0), f"{top - bottom:.4g}")
    at, names = _centres(axes, solved, beam)
    walls = list(_wall_labels(solved))
    place_labels(
        axes,
        np.array([*at, *(place for place, _ in walls)]),
        [*names, *(name for _, name in walls)],
        size=7.5,
        may_cover=through,
    )
    side = figure.add_axes((share, 0, TABLE_WIDTH / style.WIDTH, 1.0))
    _table(side, rows, tall)
    return figure


def flow_picture(
    solved: Analysis,
    flows: WallFlows,
    case: int = 0,
    *,
    title: str = "",
    governing: tuple[int, int, str] | None = None,
) -> Figure:
    """Shear flow and axial flow of one case as ordinates off the walls, with their largest values, and the point that governs.

    governing : (segment, place along it, words) to mark; left out, the largest von Mises stress of the metal
                walls, if any
    """
    beam = properties(solved)
    low, high = _extent(solved, beam)
    shape = (high - low)[1] / (high - low)[0]
    wide = style.WIDTH / 2
    tall = float(np.clip(wide * shape, 2.0, 4.6)) + 0.55
    figure = style.new_figure(style.WIDTH, tall, fixed_layout=True)
    figure.suptitle(title or f"{solved.section.name}, case {case + 1}", fontsize=9, x=0.01, ha="left")
    q, n = flows.q[case], flows.n_x[case]
    mark = governing if governing is not None else _worst_metal(solved, flows, case)
    for number, (values, said) in enumerate(((q, "Shear flow"), (n, "Axial flow"))):
        axes = figure.add_axes((number / 2, 0, 0.5, 1 - 0.5 / tall))
        _frame(axes, low, high)
        axes.set_title(said, y=1.0)
        _draw_walls(axes, solved, colour=style.MUTED_COLOUR)
        at, names = (
            _shear_ordinates(axes, solved, flows, values, beam)
            if number == 0
            else _axial_ordinates(axes, flows, values, solved, beam)
        )
        if number == 1 and mark is not None:
            place = flows.place[mark[0], mark[1]] * 1e3
            axes.plot(
                *place, marker="*", ms=13, color=style.TEXT_COLOUR, mfc=style.BACKGROUND_COLOUR, zorder=6
            )
            at, names = [*at, place], [*names, mark[2].replace(": ", ":\n").replace(", in ", ",\nin ")]
        centres, called = _centres(axes, solved, beam)
        if number == 0:
            at, names = [*at, *centres], [*names, *called]
        place_labels(axes, np.array(at).reshape(-1, 2), names, size=7.5)
    return figure


def property_rows(beam: SectionProperties) -> Iterator[tuple[str, str, str]]:
    """Words, symbol and value of each property of a section."""
    degrees = np.degrees(beam.angle)
    yield "axial stiffness", "EA", engineering(beam.EA, "N", 4)
    yield "bending, about y", "EIy", engineering(beam.EIy, "N·m²", 4)
    yield "bending, about z", "EIz", engineering(beam.EIz, "N·m²", 4)
    if abs(beam.EIyz) > 1e-9 * beam.EI1:
        yield "product", "EIyz", engineering(beam.EIyz, "N·m²", 4)
        yield "principal bending", "EI1", engineering(beam.EI1, "N·m²", 4)
        yield "", "EI2", engineering(beam.EI2, "N·m²", 4)
        yield "axis 1, from y", "", f"{degrees if abs(degrees) > 1e-6 else 0.0:.2f}°"
    yield "torsion, warping free", "GJ", engineering(beam.GJ, "N·m²", 4)
    yield "shear along y", "GAy", engineering(beam.GAy, "N", 4)
    yield "shear along z", "GAz", engineering(beam.GAz, "N", 4)
    yield "mass", "m", f"{beam.mass:.4g} kg/m"
    cells = ", ".join(f"{area:.4g}" for area in beam.cell_area)
    yield "enclosed area", "", f"{cells} m²" if cells else "open section"
    if beam.couplings:
        strongest = beam.couplings[0]
        yield f"couples {strongest.cause} with {strongest.effect}", "", f"strength {strongest.strength:.2f}"


def _table(axes: Axes, rows: list[tuple[str, str, str]], tall: float) -> None:
    """A captioned table, from the top down."""
    axes.set(xlim=(0, 1), ylim=(-tall, 0))
    axes.axis("off")
    axes.text(0, -0.2, "Properties of the section", fontsize=8.5, fontweight="bold", va="center")
    axes.plot([0, 1], [-0.36, -0.36], color=style.TEXT_COLOUR, lw=1.0, clip_on=False)
    for number, (said, symbol, value) in enumerate(rows):
        y = -0.49 - 0.21 * number
        axes.text(0, y, said, fontsize=7.5, va="center")
        axes.text(0.6, y, symbol, fontsize=7.5, va="center", ha="right", color=style.MUTED_COLOUR)
        axes.text(1, y, value, fontsize=7.5, va="center", ha="right")
        axes.plot([0, 1], [y - 0.105, y - 0.105], color=style.GRID_COLOUR, lw=0.5, clip_on=False)


def _extent(solved: Analysis, beam: SectionProperties) -> tuple[Array, Array]:
    """(2,) each, mm: of walls and centres, with room for dimensions and ordinates around."""
    places = np.vstack([solved.section.points, beam.centre, beam.shear_centre]) * 1e3
    margin = MARGIN * solved.section.size * 1e3
    return places.min(axis=0) - margin, places.max(axis=0) + margin


def _frame(axes: Axes, low: Array, high: Array) -> None:
    axes.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]))
    axes.set_aspect("equal")
    axes.axis("off")


def _draw_walls(axes: Axes, solved: Analysis, colour: str = "") -> None:
    section = solved.section
    quads = _wall_outlines(solved, np.maximum(section.thickness, MIN_DRAWN_RATIO * section.size))
    shades = np.array([colour or WALL_COLOURS[i % len(WALL_COLOURS)] for i in section.wall_of])
    for shade in dict.fromkeys(shades.tolist()):
        _areas(axes, quads[shades == shade], shade, 2)


def _areas(axes: Axes, outlines: Array, colour: str, over: float) -> None:
    """Areas (k, corners, 2) of one colour as one path."""
    path = Path.make_compound_path_from_polys(outlines)
    area = PathPatch(path, facecolor=colour, edgecolor=colour, linewidth=0.5, zorder=over)
    axes.add_artist(area)  # as add_patch, without its search for the limits, which are given


def _wall_outlines(solved: Analysis, thickness: Array) -> Array:
    """(m, 4, 2), mm: of each segment with `thickness` (m,), m, half of it to either side of the line through its points."""
    section = solved.section
    start, end = (section.points[section.segments[:, i]] for i in (0, 1))
    normal = np.column_stack([-section.tangent[:, 1], section.tangent[:, 0]]) * thickness[:, None] / 2
    return np.stack([start - normal, end - normal, end + normal, start + normal], axis=1) * 1e3


def _wall_labels(solved: Analysis) -> Iterator[tuple[Array, str]]:
    """Name and thickness of each wall, at the middle of its longest segment."""
    section = solved.section
    for number, wall in enumerate(section.walls):
        own = np.flatnonzero(section.wall_of == number)
        if len(own):
            longest = own[section.length[own].argmax()]
            middle = section.points[section.segments[longest]].mean(axis=0) * 1e3
            yield middle, f"{wall.name}, {wall.thickness * 1e3:.3g} mm"


def _draw_axes(axes: Axes, solved: Analysis, beam: SectionProperties) -> list[Line2D]:
    """Draw both principal axes with their numbers; the lines."""
    drawn = []
    for angle, label in ((beam.angle, "1"), (beam.angle + np.pi / 2, "2")):
        way = np.array([np.cos(angle), np.sin(angle)])
        along = (solved.section.points - beam.centre) @ way
        over = 0.05 * solved.section.size
        line = (beam.centre + np.outer([along.min() - over, along.max() + over], way)) * 1e3
        drawn += axes.plot(*line.T, ls=(0, (8, 2, 1.5, 2)), color=style.MUTED_COLOUR, lw=0.7, zorder=3)
        axes.annotate(
            label, tuple(line[1]), tuple(7 * way), textcoords="offset points", ha="center", va="center",
            fontsize=7.5, color=style.MUTED_COLOUR,
        )  # fmt: skip
    return drawn


def _centres(axes: Axes, solved: Analysis, beam: SectionProperties) -> tuple[list[Array], list[str]]:
    """Draw both centres; where to write what."""
    elastic, shear = beam.centre * 1e3, beam.shear_centre * 1e3
    axes.plot(*elastic, marker="+", ms=11, mew=1.6, color=style.TEXT_COLOUR, ls="none", zorder=5)
    axes.plot(*shear, marker="x", ms=8, mew=1.6, color=style.SERIES_COLOURS[3], ls="none", zorder=5)
    if np.linalg.norm(elastic - shear) < REL_TOL_SAME_CENTRE * solved.section.size * 1e3:
        return [elastic], ["both centres (+, ×)"]
    return [elastic, shear], ["elastic centre (+)", "shear centre (×)"]


def _outward(solved: Analysis, beam: SectionProperties) -> Array:
    """(m, 2): square to each segment, away from the elastic centre."""
    section = solved.section
    normal = np.column_stack([section.tangent[:, 1], -section.tangent[:, 0]])
    middle = section.points[section.segments].mean(axis=1) - beam.centre
    side = np.sign(np.sum(normal * middle, axis=1))
    return np.asarray(normal * np.where(side == 0, 1.0, side)[:, None])


def _ordinates(axes: Axes, flows: WallFlows, values: Array, outward: Array, colour: str, size: float) -> None:
    """Areas between the walls and ordinates `values` (m, k), mm per unit such that 1 is `TALLEST_ORDINATE` of the section."""
    kept = np.unique([0, values.shape[1] // 2, values.shape[1] - 1])
    place, values = flows.place[:, kept] * 1e3, values[:, kept]
    tips = place + (values * TALLEST_ORDINATE * size * 1e3)[..., None] * outward[:, None]
    areas = np.concatenate([place, tips[:, ::-1]], axis=1)
    shown = np.abs(values).max(axis=1) > 0
    _areas(axes, areas[shown], style.tint(colour), 1)


def _shear_ordinates(
    axes: Axes, solved: Analysis, flows: WallFlows, q: Array, beam: SectionProperties
) -> tuple[list[Array], list[str]]:
    """Sizes of the shear flow outwards, arrows along it; the largest, and where to write it."""
    top = float(np.abs(q).max())
    if top == 0:
        return [], []
    outward = _outward(solved, beam)
    _ordinates(axes, flows, np.abs(q) / top, outward, SHEAR, solved.section.size)
    _arrows(axes, solved, flows, q, outward)
    m, k = np.unravel_index(int(np.abs(q).argmax()), q.shape)
    return [flows.place[m, k] * 1e3], [f"largest {engineering(top, 'N/m')}"]


def _axial_ordinates(
    axes: Axes, flows: WallFlows, n: Array, solved: Analysis, beam: SectionProperties
) -> tuple[list[Array], list[str]]:
    """Tension outwards and compression inwards, each in its colour; the largest of both, and where to write them."""
    top = float(np.abs(n).max())
    outward, at, names = _outward(solved, beam), [], []
    for sign, colour, called in ((1, TENSION, "tension"), (-1, COMPRESSION, "compression")):
        part = np.clip(sign * n, 0.0, None)
        if top and part.any():
            _ordinates(axes, flows, sign * part / top, outward, colour, solved.section.size)
            m, k = np.unravel_index(int(part.argmax()), part.shape)
            at.append(flows.place[m, k] * 1e3)
            names.append(f"{called} {engineering(float(part.max()), 'N/m')}")
    return at, names


def _arrows(axes: Axes, solved: Analysis, flows: WallFlows, q: Array, outward: Array) -> None:
    """Arrows evenly along the walls, on their inner side, along the flow."""
    section = solved.section
    step = section.length.sum() / ARROWS
    stops = np.concatenate([[0.0], np.cumsum(section.length)])
    along = (np.arange(ARROWS) + 0.5) * step
    segment = np.clip(np.searchsorted(stops, along) - 1, 0, len(section.length) - 1)
    share = (along - stops[segment]) / section.length[segment]
    flow = np.array([np.interp(s, flows.at, q[m]) for s, m in zip(share, segment, strict=True)])
    shown = np.abs(flow) > REL_TOL_NO_ARROW * np.abs(q).max()
    segment, share, flow = segment[shown], share[shown], flow[shown]
    middle = (
        section.points[section.segments[segment, 0]]
        + (share * section.length[segment])[:, None] * section.tangent[segment]
    )
    middle = (middle - 0.035 * section.size * outward[segment]) * 1e3
    way = section.tangent[segment] * (np.sign(flow) * 0.55 * step * 1e3)[:, None]
    axes.quiver(
        *(middle - way / 2).T, *way.T, angles="xy", scale_units="xy", scale=1, color=style.TEXT_COLOUR, units="inches",
        width=0.012, headwidth=5, headlength=6, headaxislength=6, zorder=4,
    )  # fmt: skip


def _worst_metal(solved: Analysis, flows: WallFlows, case: int) -> tuple[int, int, str] | None:
    stress = metal_stress(solved, flows)
    if not len(stress.segments):
        return None
    worst = stress.von_mises[case].max(axis=-1)
    at = np.unravel_index(int(worst.argmax()), worst.shape)
    segment = int(stress.segments[at[0]])
    return segment, int(at[1]), f"von Mises {worst[at] / 1e6:.3g} MPa in {solved.section.parts[segment]}"
