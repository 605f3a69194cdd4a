"""`forebeam calibrate`: what a test on the boat teaches of her stiffness."""

from __future__ import annotations

from pathlib import Path

import click

from cases.caution import CAUTION
from cases.cli.file_kind import require_kind
from cases.cli.new_file import write_new
from cases.cli.stages import Stages

PathName = click.Path(path_type=Path)


@click.command()
@click.argument("boat", type=PathName)
@click.argument("test", type=PathName)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--patch", type=PathName, help="Write a new boat file with the factors found; comments are kept."
)
def calibrate(*, boat: Path, test: Path, as_json: bool, patch: Path | None) -> None:
    """Fit the stiffness of a BOAT to the readings of a TEST on her: factors, scatter, joint loads before and after."""
    from cases.analyses.calibration import calibrate as fitted
    from cases.analyses.calibration import patched_text
    from cases.input.boat_file import read_boat_file
    from cases.input.boat_test import read_test_file
    from femcore.base import written
    from femcore.base.errors import printable

    require_kind("boat", boat)
    file, readings = read_boat_file(boat), read_test_file(test)
    with Stages({"fit": 2.0}):
        found = fitted(file, readings, printable(str(boat)), printable(str(test)))
    if patch:
        write_new(patch, patched_text(file, found, boat.read_text(encoding="utf-8")))
    if as_json:
        click.echo(written.as_json(found))
        return
    from rich.console import Console

    from cases.cli.calibrate_output import calibration_tables

    console = Console(soft_wrap=False, width=None if Console().is_terminal else 120)
    for part in calibration_tables(found):
        console.print(part)
    if patch:
        click.echo(f"Boat file with what was found: {patch}")
    click.echo(CAUTION)
