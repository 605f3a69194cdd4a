"""Pictures of waves: attracted torque over heading, and the wave of most torque with the load along both hulls."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from cases.analyses.wave_scan import WaveScan
from cases.loads.wave_balance import SIDE_SIGNS
from cases.report.data import words
from cases.report.figures.joint_looks import JointLook, key_of_looks
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.response.front_end import SIDES
from models.response.joint_loads import component_index

MARGIN, BESIDE = 1.15, 0.75
"""How much of the sea is drawn: of the hulls' length, and of their spacing to either side."""
GRID = 121
SEA_SHADES = tuple(
    style.tint(style.SERIES_COLOURS[2], share) for share in (0.55, 0.47, 0.39, 0.31, 0.23, 0.15)
)
"""Of the surface from trough to crest: a trough is darker."""


def polar_picture(scan: WaveScan, slug: str, looks: Mapping[str, JointLook]) -> Drawing:
    """The largest torque of every joint over the heading, all round by symmetry; `looks` by the joint's name."""
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 4.2)
        axes = figure.add_subplot(projection="polar")
        column = component_index("torque")
        sizes = [one.over_heading[:, column] for one in scan.joints]
        by, unit = numbers.unit_prefix(max(float(size.max()) for size in sizes), "N·m")
        around = [
            sign * scan.heading + turn
            for turn, sign in ((0.0, 1.0), (math.pi, -1.0), (math.pi, 1.0), (2 * math.pi, -1.0))
        ]
        order = np.argsort(np.concatenate(around), kind="stable")
        said = []
        for one, size in zip(scan.joints, sizes, strict=True):
            angle, radius = np.concatenate(around)[order], np.tile(size, len(around))[order]
            look = looks[one.joint]
            axes.plot(angle, radius / by, **look.line)
            if look.candidate:
                most = int(size.argmax())
                at = f"{math.degrees(scan.heading[most]):.3g}°"
                said.append(f"‘{look.name}’: up to {words.quantity(float(size[most]), 'N·m')}, at {at}.")
        getattr(axes, "set_theta_zero_location")("N")  # noqa: B009  (of polar axes alone)
        axes.set_title(f"Torque at the joint, {unit}, over the waves' direction")
        key_of_looks(figure, list(looks.values()))
        caption = (
            f"‘{numbers.plain(scan.case)}’: the largest torque of the wave alone over lengths, phases and hulls; 0° is ahead. "
            "A wave and its mirror images have one size, so a quarter was computed. "
            f"{' '.join(said)}"
        )
        return Drawing(figure, f"waves-over-heading-{slug}", "Attracted torque over heading", caption)


def wave_picture(scan: WaveScan, slug: str) -> Drawing:
    """The surface seen from above with both hulls, and the load along them."""
    form, state = scan.form, scan.worst
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 6.2)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
        middle, half = (form.x[0] + form.x[-1]) / 2, form.length / 2 * MARGIN
        x, y = (
            np.linspace(middle - half, middle + half, GRID),
            np.linspace(-form.spacing * MARGIN, form.spacing * MARGIN, GRID),
        )
        k = 2 * math.pi / state.length
        across = k * (x * math.cos(state.heading) + y[:, None] * math.sin(state.heading)) - state.phase
        surface = state.height / 2 * np.cos(across)
        levels = state.height / 2 * np.linspace(-1, 1, len(SEA_SHADES) + 1)
        above.contourf(x, y, surface, levels=levels, colors=SEA_SHADES, extend="both")
        lines = above.contour(
            x, y, surface, levels=levels[1:-1:2], colors=style.BACKGROUND_COLOUR, linewidths=0.6
        )
        above.clabel(
            lines,
            fmt=lambda level: f"{level:+.2g} m".replace("-", "−") if level else "0 m",
            fontsize=7,
            colors=style.TEXT_COLOUR,
        )
        for number, (side, sign) in enumerate(zip(SIDES, SIDE_SIGNS, strict=True)):
            line = sign * form.spacing / 2
            above.fill_between(
                form.x, line - form.breadth / 2, line + form.breadth / 2, color=style.SERIES_COLOURS[number]
            )
            below.plot(form.x, scan.load[number] / 1e3, label=f"{side} hull", **style.series(number))
        above.set_title("The surface from above, m over still water")
        above.set_ylabel("to port, m")
        above.grid(visible=False)
        below.axhline(0.0, color=style.MUTED_COLOUR, lw=0.8)
        below.set_ylabel("load along the hull, kN/m")
        below.set_xlabel("ahead of the main bulkhead, m")
        below.legend()
        long, high = (numbers.engineering(one, "m") for one in (state.length, state.height))
        caption = (
            f"‘{numbers.plain(scan.case)}’: the wave of most torque, {long} long and {high} high at "
            f"{math.degrees(state.heading):.3g}°, and what it changes of the load in still water, upwards positive: from "
            f"{words.quantity(float(scan.load.min()), 'N/m')} to {words.quantity(float(scan.load.max()), 'N/m')}."
        )
        return Drawing(figure, f"wave-{slug}", "The worst wave and the load along both hulls", caption)
