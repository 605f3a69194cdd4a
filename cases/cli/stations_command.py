"""`forebeam stations`: hull stations of a boat file from an offsets table or a drawn body plan."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from cases.cli.finite_range import FiniteRange
from femcore.base.errors import InputFault, InputFaults, duplicates

DRAWINGS = (".dxf", ".svg")
Axis = click.Choice(["+x", "-x", "+y", "-y", "+z", "-z"])


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--unit", help="Unit of the numbers of a table, or of a drawing on paper: mm, m, ft.")
@click.option(
    "--bulkhead",
    required=True,
    help="Place of the main bulkhead along the boat, as FILE counts, such as '6200 mm'.",
)
@click.option(
    "--forward",
    required=True,
    type=click.Choice(["+x", "-x"]),
    help="Whether the numbers of stations grow forward (+x) or aft (-x).",
)
@click.option(
    "--corners",
    type=click.IntRange(2, 30),
    default=6,
    help="Points of each station, keel and gunwale included; stations that all have fewer keep theirs [default: 6].",
)
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    help="Draw the stations over the points that were read, a PNG.",
)
@click.option(
    "--scale", help="Scale of a drawing: '1:10' with --unit [default: 1:1], or '1 unit = 10 mm' without."
)
@click.option("--breadth", type=Axis, help="Axis of a drawing along which half-breadths grow [default: +x].")
@click.option(
    "--height", type=Axis, help="Axis of a drawing along which heights grow [default: +y; of SVG -y]."
)
@click.option(
    "--centreline",
    type=FiniteRange(-1e9, 1e9),
    help="Coordinate of the hull's centreline, along the axis of breadth [default: 0].",
)
@click.option(
    "--waterline",
    type=FiniteRange(-1e9, 1e9),
    help="Coordinate of the waterline, along the axis of height [default: 0].",
)
@click.option("--whole", is_flag=True, help="The drawing has both sides of each section, not one.")
@click.option(
    "--station",
    "named",
    multiple=True,
    help="Layer, id or label of a drawing and its station, 'L3 = 3.7 m'; repeat for more. One named 'station 3.7 m' needs none.",
)
def stations(
    *,
    file: Path,
    unit: str | None,
    bulkhead: str,
    forward: Literal["+x", "-x"],
    corners: int,
    picture: Path | None,
    scale: str | None,
    breadth: str | None,
    height: str | None,
    centreline: float | None,
    waterline: float | None,
    whole: bool,
    named: tuple[str, ...],
) -> None:
    """Print the [[bows.stations]] of a boat file from an offsets table or a body plan.

    FILE is a CSV with columns station, half_breadth, height; or a DXF or SVG with an outline of each station, keel to gunwale, on
    a layer, or with an id or label, named 'station 3.7 m'. Its curves become chords within 0.1 mm on the boat.
    """
    from cases.input.stations.body_plan import Layout, metres_per_unit, read_body_plan
    from cases.input.stations.hull_stations import station_tables
    from cases.input.stations.offsets import read_offsets
    from femcore.base.units import si

    kind, at = file.suffix.lower(), si(bulkhead, "m", "--bulkhead")
    if kind in DRAWINGS:
        layout = Layout(
            metres_per_unit(scale or "1:1", unit),
            breadth or "+x",
            height or ("-y" if kind == ".svg" else "+y"),
            centreline or 0.0,
            waterline or 0.0,
            whole,
            _stated(named),
        )
        read = read_body_plan(file, layout, at, forward, corners)
    elif any(each is not None for each in (scale, breadth, height, centreline, waterline)) or whole or named:
        wrong = "is not a drawing, so that it has no layout to state"
        raise InputFault(
            str(file), wrong, "give a .dxf or .svg, or state no more than --unit, --bulkhead, --forward"
        )
    elif unit is None:
        raise InputFault("--unit", "is missing", "state what the table's numbers are in, such as mm")
    else:
        read = read_offsets(file, unit, at, forward, corners)
    if picture:
        from cases.report.figures.body_plan_figure import body_plan_figure
        from femcore.base.disk import disk_faults, whole_file

        cure = "give a name in a folder that can be written to"
        with disk_faults(picture, cure), whole_file(picture) as target:
            body_plan_figure(read).savefig(target, format="png", dpi=150)
    click.echo(
        f"# {len(read.stations)} stations, the last {read.stations[-1].at:.3g} m from the main bulkhead. Points of {file.name} "
        f"are within {1000 * read.distance:.1f} mm of these outlines; areas change by at most {100 * read.area:+.1f} %."
    )
    click.echo(station_tables(read), nl=False)


def _stated(named: tuple[str, ...]) -> dict[str, float]:
    """m, the station of each name, from texts such as "L3 = 3.7 m"."""
    from femcore.base.units import si

    parts = [text.rpartition("=") for text in named]
    names = [name.strip() for name, _, _ in parts]
    if "" in names:
        wrong = f"'{named[names.index('')]}' has no name and station"
        raise InputFault("--station", wrong, "write it as 'L3 = 3.7 m'")
    if again := duplicates("--station", names):
        raise InputFaults(again)
    return {name: si(at, "m", f"--station '{name}'") for name, (_, _, at) in zip(names, parts, strict=True)}
