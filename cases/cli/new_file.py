"""A text written to a file that does not exist yet."""

from __future__ import annotations

from pathlib import Path

from femcore.base.errors import InputFault


def write_new(file: Path, text: str) -> None:
    """InputFault where it exists already, or cannot be written."""
    try:
        with file.open("x", encoding="utf-8") as target:
            target.write(text)
    except FileExistsError:
        raise InputFault(str(file), "exists already", "give another name, or move it away") from None
    except OSError as trouble:
        cure = "give a name in a folder that can be written to"
        raise InputFault(str(file), f"cannot be written ({trouble.strerror})", cure) from None
