"""Pictures of the sections that a boat's stiffness comes from: one for the crossbeam, the longeron, and each bow station."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from femcore.units import engineering
from models.boat_file import Boat

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def section_pictures(boat: Boat) -> Iterator[tuple[str, str, Figure]]:
    """(file name without ending, title, figure) of every section that was given; none where stiffness was entered."""
    from femcore.sections.picture import section_picture  # noqa: PLC0415  (start-up time: matplotlib)

    derived = boat.derived
    beams = (
        ("crossbeam", derived.crossbeam, "port: y aft"),
        ("longeron", derived.longeron, "ahead: y to port"),
    )
    for name, walled, seen in beams:
        if walled is not None:
            yield (
                f"section_{name}",
                f"Section of the {name}, seen from {seen}",
                section_picture(walled.solved),
            )
    if derived.bows is None:
        return
    bow = derived.bows.stiffness
    for number, solved in enumerate(bow.solved):
        title = f"Hull at {bow.x[number]:g} m, seen from ahead"
        if bow.GJ[number] > bow.GJ_free[number]:
            counted = engineering(bow.GJ[number], "N·m²")
            title += f"; cut by a hatch, and held against warping with GJ = {counted}"
        elif bow.cut[number]:
            title += "; cut by a hatch"
        yield f"section_bow_{number + 1}", title, section_picture(solved)
