"""A picture that an option of a command asks for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from femcore.base.disk import disk_faults, whole_file
from femcore.base.errors import InputFault

if TYPE_CHECKING:
    from femcore.plotting.drawing import Drawing

PICTURES = (".png", ".svg")


def refuse_other_names(*paths: Path | None) -> None:
    """InputFault where one of the names is that of no picture, before anything is worked out."""
    for path in paths:
        if path is not None and path.suffix.lower() not in PICTURES:
            raise InputFault(str(path), "is not the name of a picture", "end it in .png or .svg")


def save_picture(drawing: Drawing, path: Path) -> None:
    """Write a picture, and what it shows on the terminal; InputFault where it cannot be written."""
    is_svg = path.suffix.lower() == ".svg"
    picture = drawing.picture(png=not is_svg)
    with disk_faults(path, "give a name in a folder that can be written to"), whole_file(path) as file:
        file.write(picture.svg_file.encode() if is_svg else picture.png)
    click.echo(f"{path}: {picture.words}", err=True)
