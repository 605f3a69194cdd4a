"""`forebeam plan-test`: which readings on the boat would teach most, and how to take them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cases.caution import CAUTION
from cases.cli.file_kind import require_kind
from cases.cli.new_file import write_new
from cases.cli.stages import Stages

if TYPE_CHECKING:
    from cases.analyses.test_plan_result import TestPlan

PathName = click.Path(path_type=Path)
MOST_LIFT = 1e6


@click.command("plan-test")
@click.argument("boat", type=PathName)
@click.option(
    "--joint",
    help="Joint that the boat has [default: the first of the file with springs in pitch and roll].",
)
@click.option("--lift", default="5 kN", show_default=True, help="Force under one bow.")
@click.option("--page", type=PathName, help="Write the instructions as a page to print, HTML.")
@click.option(
    "--test", type=PathName, help="Write the file of such a test, its readings to be filled in, TOML."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
def plan_test(
    *, boat: Path, joint: str | None, lift: str, page: Path | None, test: Path | None, as_json: bool
) -> None:
    """Plan a test on a BOAT: which readings teach most of the joint's load, what they would show, how to take them."""
    from femcore.base import written

    plan = _planned(boat, joint, lift)
    if page:
        from cases.report.pages.plan_page import render

        write_new(page, render(plan))
    if test:
        from cases.analyses.test_plan import blank_file

        write_new(test, blank_file(plan))
    if as_json:
        click.echo(written.as_json(plan))
        return
    from rich.console import Console

    from cases.cli.plan_output import plan_tables

    console = Console(soft_wrap=False, width=None if Console().is_terminal else 120)
    for part in plan_tables(plan):
        console.print(part)
    if page:
        click.echo(f"Page: {page}")
    if test:
        click.echo(f"Fill in the readings, then: forebeam calibrate {boat} {test}")
    click.echo(CAUTION)


def _planned(boat: Path, joint: str | None, lift: str) -> TestPlan:
    """InputFault with the file's name, or the option's."""
    from cases.analyses.test_plan import plan_test as planned
    from cases.input.boat_file import read_boat_file
    from femcore.base.errors import InputFault
    from femcore.base.units import si

    require_kind("boat", boat)
    force = si(lift, "N", "--lift")
    if not 0 < force <= MOST_LIFT:
        cure = "give a few per cent of the boat's weight, such as '5 kN'"
        raise InputFault("--lift", f"'{lift}' is no lift of a bow", cure)
    try:
        with Stages({"readings": 1.5}):
            return planned(read_boat_file(boat), joint, force)
    except InputFault as fault:
        raise fault if fault.place.startswith("--") else fault.inside(str(boat)) from None
