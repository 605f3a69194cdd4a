"""`forebeam page`: the local page of a boat, in the browser, until Ctrl-C."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

DEMO = Path(__file__).parents[1] / "boats" / "demo.toml"


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--no-browser", is_flag=True, help="Print the page's address, and open no browser.")
def page(*, file: Path | None, no_browser: bool) -> int:
    """Change a boat FILE in the browser and see the answer follow; without FILE, the demo boat. Ctrl-C ends it.

    The page is served to this machine alone, at a new address each time. FILE is never written to; the page saves copies.
    Faults of FILE are listed on the page, which reads it again when they are corrected.
    """
    from cases.page.server import serve
    from cases.page.state import OpenedFile
    from femcore.base.errors import MAX_FAULTS, InputFaults

    opened = OpenedFile(_boat_file(file or DEMO))

    def ready(address: str) -> None:
        click.echo(f"Page of {opened.name}: {address}\nCtrl-C ends it.")
        if opened.faults:
            click.echo(
                f"The file has faults; the page lists them all:\n{InputFaults(opened.faults[:MAX_FAULTS])}"
            )
        if not no_browser:
            webbrowser.open(address)

    try:
        serve(opened, ready)
    except KeyboardInterrupt:
        click.echo("page ended")
    return 0


def _boat_file(path: Path) -> Path:
    """The file, however faulty; InputFault where there is none, or where it is of another kind."""
    from cases.cli.file_kind import kind_of, require_kind
    from femcore.base.errors import InputFault

    if path.is_file():
        try:
            kind_of(path)
        except InputFault:
            return path
    require_kind("boat", path)
    return path
