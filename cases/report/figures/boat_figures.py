"""The front end drawn as modelled, deflected, and with the member forces along its crossbeam."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.joint_results import JointResult
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.boat_shapes import draw_shapes
from cases.report.figures.joint_looks import candidates_first, colour_key, joint_looks, key_of_looks
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.frame.frame import ACTIONS
from femcore.plotting import frame_plot, style
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, STRIKER_TOP, FrontEnd
from models.response.platform_frame import platform_member

if TYPE_CHECKING:
    pass

VIEW = frame_plot.View(axes=("forward", "port", "up"))
COLOURS = {
    CROSSBEAM: style.SERIES_COLOURS[3],
    STRIKER: style.SERIES_COLOURS[5],
    LONGERON: style.SERIES_COLOURS[2],
    PROD: style.SERIES_COLOURS[2],
    "martingale": style.SERIES_COLOURS[5],
    "port martingale": style.SERIES_COLOURS[5],
    "starboard martingale": style.SERIES_COLOURS[5],
}
"""Members by colour; the bows have the first of all colours."""
FROM_STARBOARD = "distance from the starboard end, m"
DIAGRAMS = (
    ("Vz", "vertical shear", "N"), ("My", "vertical bending", "N·m"), ("Vy", "fore-and-aft shear", "N"),
    ("Mz", "fore-and-aft bending", "N·m"), ("T", "torque", "N·m"), ("N", "axial force", "N"),
)  # fmt: skip


def _colours(front: FrontEnd) -> dict[str, str]:
    """Of the members, those of a platform muted."""
    platform = front.boat.platform
    members = [] if platform is None else [platform_member(one.name) for one in platform.members]
    return COLOURS | dict.fromkeys(members, style.MUTED_COLOUR)


def _marks(front: FrontEnd, *, all_places: bool) -> dict[str, FloatArray]:
    """What to write where: the joints, and if asked for the other named places."""
    marks = {f"{side} joint": front.joint_position(at) for at, side in enumerate(SIDES)}
    if all_places:
        marks |= {name: front.position(name) for name in (*(f"{side} stem" for side in SIDES), "stay")}
        known = front.frame.node_index
        marks |= {name: front.root_position(name) for name in front.root_members}
        marks |= {name: front.frame.nodes[known[name]] for name in (STRIKER_TOP, "prod tip") if name in known}
        if (platform := front.boat.platform) is not None:
            quarter = front.boat.bows.spacing / 4
            marks |= {
                one.name: np.array([one.station, -quarter, one.height])
                for one in platform.members
                if one.name not in marks
            }
        marks["crossbeam"] = (front.joint_position(1) + front.position(CENTRE)) / 2
    return marks


def boat_picture(study: Study) -> Drawing:
    """The front end as modelled, with the names of its parts."""
    front = study.joints[0].front
    solution = study.joints[0].solution
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, frame_plot.figure_height(solution, 0, 0.0, VIEW, style.WIDTH))
        axes = figure.subplots()
        draw_shapes(axes, front, VIEW)
        marks = _marks(front, all_places=True)
        platform = study.platform
        if platform is not None:
            centre = np.array([platform.twist_centre, 0.0, front.boat.bows.height])
            marks["twist centre"] = centre
            axes.plot(*VIEW.project(centre[None]).T, "P", color=style.MUTED_COLOUR, ms=7, ls="none")
        frame_plot.draw_frame(
            axes, solution, None, 1.0, VIEW, marks, colours=_colours(front), supports=platform is None
        )
        caption = (
            "The front end as modelled, from behind and above: bows, crossbeam, longeron, striker, stays and supports."
            if platform is None
            else "The front end as modelled, from behind and above: bows, crossbeam, longeron, striker and stays; the platform's "
            "members, the hulls aft, and the twist centre. Its statically determinate support is not drawn."
        )
        spacing, length = (
            words.quantity(size, "m") for size in (front.boat.bows.spacing, front.boat.bows.length)
        )
        caption += f" Hulls {spacing} apart, bows {length} long."
        return Drawing(figure, "boat", "The boat as modelled", caption)


def deflected_picture(study: Study, case: int, name: str) -> Drawing:
    """The deflected shapes with all joints in one drawing, movements enlarged alike; the candidates in colour over the others."""
    factor = frame_plot.deflection_scale([joint.solution for joint in study.joints], case)
    called, looks = numbers.plain(study.cases[case].name), joint_looks(study)
    order = candidates_first(looks)[::-1]
    high = max(frame_plot.figure_height(j.solution, case, factor, VIEW, style.WIDTH) for j in study.joints)
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, high)
        axes = figure.subplots()
        draw_shapes(axes, study.joints[0].front, VIEW)
        shapes = [(study.joints[number].solution, looks[number].line) for number in order]
        frame_plot.draw_overlay(axes, shapes, case, factor, VIEW, supports=study.platform is None)
        key_of_looks(figure, looks)
        marks = _marks(study.joints[0].front, all_places=False)
        place_labels(axes, VIEW.project(np.array(list(marks.values()))), list(marks))
        said = " ".join(
            f"‘{look.name}’: stems move up to {words.quantity(stem_movement(joint, case), 'm')}."
            for joint, look in zip(study.joints, looks, strict=True)
            if look.candidate
        )
        caption = (
            f"Deflected shape of ‘{called}’, movements × {factor:g}. {said} Undeformed shape in light grey. {colour_key(looks)}"
        ).strip()
        return Drawing(figure, name, f"Deflected shape: {called}", caption)


def stem_movement(joint: JointResult, case: int) -> float:
    """m: the larger movement of both stems."""
    return float(np.linalg.norm(joint.cases[case].stems[:, :3], axis=1).max())


def diagram_picture(study: Study, case: int, name: str) -> Drawing:
    """Member forces along the crossbeam, a line for each joint, the candidates in colour over the others."""
    called, looks = numbers.plain(study.cases[case].name), joint_looks(study)
    order = candidates_first(looks)[::-1]
    lines = [(looks[number].name, study.joints[number].crossbeam) for number in order]
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 6.6, fixed_layout=True)
        frame_plot.draw_diagrams(
            figure, lines, case, DIAGRAMS, FROM_STARBOARD, [looks[number].line for number in order]
        )
        key_of_looks(figure, looks)
        caption = " ".join(
            [
                f"Member forces along the crossbeam in ‘{called}’, by joint.",
                *(_largest_bending(study, case, number) for number in order if looks[number].candidate),
                colour_key(looks),
            ]
        ).strip()
        return Drawing(figure, name, f"Along the crossbeam: {called}", caption)


def _largest_bending(study: Study, case: int, number: int) -> str:
    joint = study.joints[number]
    bending = joint.crossbeam.actions[case][:, [ACTIONS.index("My")]]
    return f"{words.name_of(joint.joint.name)}: vertical bending up to {words.quantity(numbers.largest(bending), 'N·m')}."
