"""Walls of crossbeam and longeron at their highest utilisation: the section, its flows, and the governing ply."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import crossbeam_stations, longeron_stations
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.drawing_process import Job
from cases.report.figures.load_path_figure import shown_joint
from cases.report.figures.section_figures import stressed_section_figure
from femcore.base.arrays import FloatArray
from femcore.files.section_file import ThinWalledBeam
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.checks.beam_walls import wall_checks

STRENGTH = ("first ply", "first yield")
"""Checks of a wall that are of its stress."""


def stressed_jobs(study: Study, found: Analysis) -> Iterator[Job]:
    """A job for each beam that is given by its section, with the joint whose load path is drawn."""
    shown = shown_joint(study).joint.name
    part_margins = next(one for one in found.part_margins if one.joint == shown)
    for beam in ("crossbeam", "longeron"):
        if (job := _stressed(study, part_margins, beam)) is not None:
            yield job


def _stressed(study: Study, part_margins: PartMargins, beam: str) -> Job | None:
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
    used = 1 / min(float(checks.ply_factor[place]), float(checks.proof_factor[place]))
    how = f"Viewed {viewed}. Utilisation {words.number(used, 2)}; it is 1 at failure, without safety factor."
    caption = f"{title}: {where}, with {words.name_of(part_margins.joint)}. {how}"
    above = f"{beam.capitalize()}, {where}"
    return partial(
        stressed_drawing, walled, actions[place], above, criterion, f"stressed-{beam}", title, caption
    )


def stressed_drawing(
    walled: ThinWalledBeam,
    action: FloatArray,
    above: str,
    criterion: str,
    name: str,
    title: str,
    caption: str,
) -> Drawing:
    """A beam's walls under one action, with the place that governs."""
    with style.drawing_style():
        return Drawing(stressed_section_figure(walled, action, above, criterion), name, title, caption)
