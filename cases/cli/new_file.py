"""A text written to a file that does not exist yet, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from femcore.base.disk import disk_faults
from femcore.base.errors import InputFault


def write_new(file: Path, text: str) -> None:
    """InputFault where it exists already, or cannot be written."""
    with disk_faults(file, "give a name in a folder that can be written to"):
        try:
            target = file.open("x", encoding="utf-8")
        except FileExistsError:
            raise InputFault(str(file), "exists already", "give another name, or move it away") from None
        try:
            with target:
                target.write(text)
        except BaseException:
            file.unlink()  # no half of it
            raise
