"""Walls of crossbeam and longeron at their highest utilisation: the section, its flows, and the governing ply."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import crossbeam_stations, longeron_stations
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.load_path_figure import shown_joint
from cases.report.figures.section_figures import stressed_section_figure
from femcore.plotting import style
from models.checks.beam_walls import wall_checks

STRENGTH = ("first ply", "first yield")
"""Checks of a wall that are of its stress."""


def stressed_pictures(study: Study, found: Analysis) -> Iterator[style.Picture]:
    """Of each beam that is given by its section, with the joint whose load path is drawn."""
    shown = shown_joint(study).joint.name
    part_margins = next(one for one in found.part_margins if one.joint == shown)
    for beam in ("crossbeam", "longeron"):
        if (picture := _stressed(study, part_margins, beam)) is not None:
            yield picture


def _stressed(study: Study, part_margins: PartMargins, beam: str) -> style.Picture | None:
    walled = getattr(getattr(study.file, beam), "thin_walled", None)
    row = next(
        (one.case for one, _ in part_margins.worst if one.part == beam and one.check in STRENGTH), None
    )
    front = part_margins.rows.front
    along = crossbeam_stations(front) if beam == "crossbeam" else longeron_stations(front)
    if walled is None or row is None or along is None:
        return None
    actions = getattr(part_margins.rows.values, beam)[row]
    criterion = study.file.factors.criterion
    checks = wall_checks(walled, actions, criterion=criterion)
    place = int(np.minimum(checks.ply_factor, checks.proof_factor).argmin())
    start = "its starboard end" if beam == "crossbeam" else "its root"
    where = f"{along.station[place]:.2f} m from {start}, in {words.name_of(part_margins.rows.names[row])}"
    title = f"Wall of the {beam} at its highest utilisation"
    viewed = "from port, y aft" if beam == "crossbeam" else "from ahead, y to port"
    how = f"Viewed {viewed}. Utilisation is 1 at failure, without safety factor."
    caption = f"{title}: {where}, with {words.name_of(part_margins.joint)}. {how}"
    with style.drawing_style():
        figure = stressed_section_figure(walled, actions[place], f"{beam.capitalize()}, {where}", criterion)
        return style.finish(figure, f"stressed-{beam}", title, caption)
