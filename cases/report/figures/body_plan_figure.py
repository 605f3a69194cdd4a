"""The body plan of stations that were read, drawn back over the points of the table or drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from femcore.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.input.stations.hull_stations import ReadStations


def body_plan_figure(read: ReadStations) -> Figure:
    """Each station from ahead: points that were read, and the outline that a boat file takes."""
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, style.WIDTH)
        axes = figure.add_subplot()
        for number, (full, few) in enumerate(zip(read.table, read.stations, strict=True)):
            colour = style.SERIES_COLOURS[number % len(style.SERIES_COLOURS)]
            axes.plot(*full.points.T, ".", color=colour, markersize=3)
            axes.plot(*few.points.T, "-", color=colour, label=f"{few.at:.2f} m")
        axes.set_aspect("equal")
        axes.set_xlabel("half-breadth, m")
        axes.set_ylabel("height, m")
        axes.set_title("Stations ahead of the main bulkhead:\npoints that were read, outlines of a boat file")
        axes.legend(loc="upper left", bbox_to_anchor=(1, 1))
    return figure
