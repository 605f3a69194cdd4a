"""`forebeam sweep`: every design of a grid, and pictures of what came out."""

from __future__ import annotations

from pathlib import Path

import click

from cases.caution import CAUTION
from cases.cli.file_kind import require_kind
from cases.cli.picture_file import refuse_other_names, save_picture
from femcore.base.errors import StructureFault

PathName = click.Path(path_type=Path)


@click.command()
@click.argument("file", type=PathName)
@click.option(
    "--grid", required=True, type=PathName, help="Grid file: which keys are varied, over which values."
)
@click.option("--out", type=PathName, help="Folder of the result [default: FILE-GRID-sweep].")
@click.option(
    "--cores", type=click.IntRange(min=1), help="Processes of this machine [default: all its cores]."
)
@click.option("--cluster", metavar="ADDRESS", help="A Dask cluster, such as tcp://10.0.0.5:8786, or: local.")
@click.option("--csv", is_flag=True, help="Write the table as designs.csv too.")
@click.option("--contour", type=PathName, help="Draw the governing margin over two keys, a PNG or SVG.")
@click.option(
    "--over", nargs=2, metavar="KEY KEY", help="The two keys of --contour [default: the two that are varied]."
)
@click.option("--pareto", type=PathName, help="Draw mass added against margin against torque, a PNG or SVG.")
def sweep(
    *,
    file: Path,
    grid: Path,
    out: Path | None,
    cores: int | None,
    cluster: str | None,
    csv: bool,
    contour: Path | None,
    over: tuple[str, str] | None,
    pareto: Path | None,
) -> int:
    """Work out every design of a grid: a boat FILE with any of its keys varied over lists, ranges or samples.

    The result is a folder of Parquet files with a manifest. Stopped or killed, the same command goes on where it was. A design
    without an answer is a row with the reason. Exit status 3: no design has an answer.
    """
    from cases.analyses.sweeps.run import sweep_grid
    from cases.cli.sweep_output import progress_bar, summary_lines

    refuse_other_names(contour, pareto)
    require_kind("boat", file)
    folder = out or Path(f"{file.stem}-{grid.stem}-sweep")
    with progress_bar() as progress:
        done = sweep_grid(file, grid, folder, cores=cores, cluster=cluster, csv=csv, progress=progress)
    for line in summary_lines(done):
        click.echo(line)
    if contour is not None:
        from cases.analyses.sweeps.margin_field import margin_fields
        from cases.report.figures.sweep_figures import contour_drawing

        save_picture(contour_drawing(margin_fields(done, over)), contour)
    if pareto is not None:
        from cases.analyses.sweeps.pareto import candidates_of
        from cases.report.figures.sweep_figures import pareto_drawing

        save_picture(pareto_drawing(candidates_of(done)), pareto)
    click.echo(CAUTION)
    return StructureFault.exit_status if done.rows == done.without_answer.total() else 0
