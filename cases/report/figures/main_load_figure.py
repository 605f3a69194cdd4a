"""The boat with its main load: small, for the decision card."""

from __future__ import annotations

import numpy as np

from cases.analyses.candidates import candidates
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.boat_figures import COLOURS, VIEW
from cases.report.figures.boat_shapes import draw_shapes
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.plotting import frame_plot, style
from femcore.plotting.drawing import Drawing
from femcore.solvers.solution import Solution
from models.response.platform_frame import platform_member

MOST_FORCES = 4
"""With their size written beside them."""
WIDTH = 4.6
"""Inches: it is shown at half a page's width or on a phone, and read there."""


def main_load_picture(study: Study) -> Drawing:
    """Undeformed and deflected with the first candidate that has an answer, the loads of the main case as arrows."""
    chosen = [joint.name for joint in candidates(study.file)]
    joint = next((one for one in study.joints if one.joint.name in chosen), study.joints[0])
    case = [one.name for one in study.cases].index(study.main_case.name)
    factor = frame_plot.deflection_scale([joint.solution], case)
    platform = study.file.platform
    members = [] if platform is None else [platform_member(one.name) for one in platform.members]
    called, what, name = map(numbers.plain, (study.main_case.name, study.main_case.words(), joint.joint.name))
    caption = f"Case ‘{called}’: {what}. With ‘{name}’, movements × {factor:g}; undeformed in grey."
    with style.drawing_style():
        figure = style.new_figure(WIDTH, frame_plot.figure_height(joint.solution, case, factor, VIEW, WIDTH))
        axes = figure.subplots()
        draw_shapes(axes, joint.front, VIEW)
        frame_plot.draw_frame(
            axes, joint.solution, case, factor, VIEW, forces_by_words(joint.solution, case, factor),
            COLOURS | dict.fromkeys(members, style.MUTED_COLOUR), triad=False, supports=platform is None,
        )  # fmt: skip
        return Drawing(figure, "main-load", "The boat with its main load", caption)


def forces_by_words(solution: Solution, case: int, factor: float) -> dict[str, FloatArray]:
    """What to write at which point of the deflected frame: the place and size of each of the largest nodal forces."""
    frame = solution.frame
    forces = solution.loads.nodal[case, :, :3]
    size = np.linalg.norm(forces, axis=1)
    named = {number: name for name, number in frame.node_index.items()}
    largest = [int(node) for node in np.argsort(-size, kind="stable")[:MOST_FORCES] if size[node] > 0]
    moved = frame.nodes + factor * solution.displacement[case, :, :3]
    return {
        f"{named.get(node, 'load')} {words.quantity(float(size[node]), 'N')}": moved[node] for node in largest
    }
