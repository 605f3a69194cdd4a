"""Pictures of sections: those that a boat's stiffness comes from, and a beam's walls at their highest utilisation."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cases.input.boat_file import BoatFile
from cases.report.figures.drawing_process import Job
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.files.section_file import ThinWalledBeam
from femcore.laminates import evaluate_plies
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.sections.properties import properties
from models.checks.beam_walls import PLY_CRITERION, WallStates, wall_states

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from femcore.base.arrays import FloatArray
    from femcore.sections.analysis import Analysis


def section_jobs(boat: BoatFile) -> Iterator[Job]:
    """A job for every section that was given; none where stiffness was entered."""
    derived = boat.derived
    beams = (
        ("crossbeam", derived.crossbeam, "port: y aft"),
        ("longeron", derived.longeron, "ahead: y to port"),
    )
    for name, walled, viewed_from in beams:
        if walled is not None:
            title = (
                f"Section of the {name}{boat.estimates.mark(f'{name}.section')}, viewed from {viewed_from}"
            )
            yield partial(section_drawing, walled.solved, f"section-{name}", title)
    if derived.bows is None:
        return
    bow = derived.bows.stiffness
    for number, solved in enumerate(bow.solved):
        title = f"Hull at {bow.x[number]:g} m{boat.estimates.mark('bows.stations')}, viewed from ahead"
        if bow.GJ[number] > bow.GJ_free[number]:
            counted = engineering(bow.GJ[number], "N·m²")
            title += f"; cut by a hatch, warping restrained, GJ = {counted}"
        elif bow.deck_open[number]:
            title += "; cut by a hatch"
        yield partial(section_drawing, solved, f"section-bow-{number + 1}", title)


def section_drawing(solved: Analysis, name: str, title: str) -> Drawing:
    """One section."""
    from femcore.plotting.section_plot import section_picture  # noqa: PLC0415  (start-up time: matplotlib)

    beam = properties(solved)
    numbers = ", ".join(
        f"{symbol} = {engineering(value, 'N·m²')}"
        for symbol, value in (("EIy", beam.EIy), ("EIz", beam.EIz), ("GJ", beam.GJ))
    )
    with style.drawing_style():
        return Drawing(section_picture(solved), name, title, f"{title}. Dimensions in mm; {numbers}.")


def stressed_section_figure(
    beam: ThinWalledBeam, action: FloatArray, title: str, criterion: str = PLY_CRITERION
) -> Figure:
    """The walls' flows under one action (6,) N, Vy, Vz, T, My, Mz, and the ply or the metal that governs there."""
    from femcore.plotting.section_plot import flow_picture  # noqa: PLC0415  (start-up time: matplotlib)

    states = wall_states(beam, np.asarray(action)[None])
    return flow_picture(
        beam.solved, states.flows, title=title, governing=_governing_ply(beam, states, criterion)
    )


def _governing_ply(
    beam: ThinWalledBeam, states: WallStates, criterion: str = PLY_CRITERION
) -> tuple[int, int, str] | None:
    """(segment, place along it, words) of the ply that fails first; None without plies, or without strengths to judge by."""
    found: list[tuple[float, int, int, str]] = []
    for wall in states.plies:
        laminate = wall.wall.laminate
        if laminate is None:
            continue
        try:
            factor = evaluate_plies(laminate, wall.state, criterion).load_factor[0]
        except InputFault:
            return None
        segment, place, ply, _ = np.unravel_index(int(factor.argmin()), factor.shape)
        part = beam.solved.section.parts[wall.segments[segment]]
        words = f"ply {ply + 1}, {laminate.plies[ply].label}, in {part}: utilisation {1 / factor.min():.2f}"
        found.append((float(factor.min()), int(wall.segments[segment]), int(place), words))
    return min(found)[1:] if found else None
