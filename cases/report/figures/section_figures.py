"""Pictures of sections: those that a boat's stiffness comes from, and a beam's walls at their highest utilisation."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.files.section_file import ThinWalledBeam
from femcore.laminates import evaluate_plies
from models.boat.boat import Boat
from models.checks.beam_walls import PLY_CRITERION, WallStates, wall_states

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from femcore.base.arrays import FloatArray


def section_figures(boat: Boat) -> Iterator[tuple[str, str, Figure]]:
    """(file name without ending, title, figure) of every section that was given; none where stiffness was entered."""
    from femcore.plotting.section_plot import section_picture  # noqa: PLC0415  (start-up time: matplotlib)

    derived = boat.derived
    beams = (
        ("crossbeam", derived.crossbeam, "port: y aft"),
        ("longeron", derived.longeron, "ahead: y to port"),
    )
    for name, walled, viewed_from in beams:
        if walled is not None:
            yield (
                f"section_{name}",
                f"Section of the {name}, viewed from {viewed_from}",
                section_picture(walled.solved),
            )
    if derived.bows is None:
        return
    bow = derived.bows.stiffness
    for number, solved in enumerate(bow.solved):
        title = f"Hull at {bow.x[number]:g} m, viewed from ahead"
        if bow.GJ[number] > bow.GJ_free[number]:
            counted = engineering(bow.GJ[number], "N·m²")
            title += f"; cut by a hatch, warping restrained, GJ = {counted}"
        elif bow.deck_open[number]:
            title += "; cut by a hatch"
        yield f"section_bow_{number + 1}", title, section_picture(solved)


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
