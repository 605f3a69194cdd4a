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
    """
    from cases.cli.file_kind import require_kind
    from cases.page.server import serve
    from cases.page.state import BoatText

    require_kind("boat", file or DEMO)
    boat = BoatText.read(file or DEMO)

    def ready(address: str) -> None:
        click.echo(f"Page of {boat.name}: {address}\nCtrl-C ends it.")
        if not no_browser:
            webbrowser.open(address)

    try:
        serve(boat, ready)
    except KeyboardInterrupt:
        click.echo("page ended")
    return 0
