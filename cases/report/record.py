"""What a run wrote into a folder, file by file with its SHA-256; only what is still as recorded may be replaced or removed.

The record is `files.json` in the folder itself, written last. A name in it that leads out of the folder, by dots, as an absolute
path or through a link, counts for nothing.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import NoReturn

RECORD = "files.json"
FORMAT = "forebeam files"
DIGEST = re.compile(r"[0-9a-f]{64}")


def write_record(folder: Path) -> None:
    """Record all that is in a folder that was just filled; empty folders go."""
    for place in sorted((path for path in folder.rglob("*") if path.is_dir()), reverse=True):
        if not any(place.iterdir()):
            place.rmdir()
    files = {name: _digest(folder / name) for name, is_folder in _entries(folder) if not is_folder}
    record = {"format": FORMAT, "version": 1, "sha256": files}
    (folder / RECORD).write_text(json.dumps(record, indent=1, allow_nan=False) + "\n", encoding="utf-8")


def has_record(folder: Path) -> bool:
    """Whether the folder has a record that can be read."""
    return _recorded(folder) is not None


def what_is_not_as_written(folder: Path) -> str | None:
    """What in the folder is not as a run wrote it, after the word "contains"; None where all is, or the folder is empty.

    OSError where something in it cannot be read.
    """
    record = _recorded(folder) or {}
    ours = {RECORD, *record}
    parents = {str(parent) for name in record for parent in PurePosixPath(name).parents}
    for name, is_folder in _entries(folder):
        if name not in (parents if is_folder else ours):
            return f"{'the folder ' if is_folder else ''}'{name}', which is not part of an earlier report"
        if not is_folder and name != RECORD and _digest(folder / name) != record[name]:
            return f"'{name}', which was changed since the last run wrote it"
    return None


def remove_as_written(folder: Path) -> None:
    """Remove what is as recorded, then the folder where nothing else is in it. The record goes last: this can be resumed."""
    record = _recorded(folder) or {}
    for name, digest in record.items():
        with suppress(OSError):
            if _leads_inside(folder, name) and _digest(folder / name) == digest:
                (folder / name).unlink()
    for place in sorted({parent for name in record for parent in PurePosixPath(name).parents}, reverse=True):
        with suppress(OSError):
            if place.parts and _leads_inside(folder, str(place)):
                (folder / place).rmdir()
    if {name for name, _ in _entries(folder)} == {RECORD}:
        (folder / RECORD).unlink()
        folder.rmdir()


def _recorded(folder: Path) -> dict[str, str] | None:
    """SHA-256 by name; None where there is no record, or it is none of ours, or the folder is only a link to one."""
    try:
        if folder.is_symlink() or not stat.S_ISREG((folder / RECORD).lstat().st_mode):
            return None
        record = json.loads((folder / RECORD).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    files = record.get("sha256") if isinstance(record, dict) and record.get("format") == FORMAT else None
    if not isinstance(files, dict):
        return None
    return {
        name: digest
        for name, digest in files.items()
        if _is_plain(name) and isinstance(digest, str) and DIGEST.fullmatch(digest)
    }


def _is_plain(name: str) -> bool:
    """Whether a name is that of a file below the folder, written in one way only."""
    path = PurePosixPath(name)
    plain = str(path) == name and name not in (".", RECORD) and name.isprintable() and "\\" not in name
    return plain and not path.is_absolute() and ".." not in path.parts


def _leads_inside(folder: Path, name: str) -> bool:
    """Whether the way to it goes through folders alone, no link."""
    parents = [folder / parent for parent in PurePosixPath(name).parents]
    return not any(path.is_symlink() for path in (folder / name, *parents))


def _entries(folder: Path) -> Iterator[tuple[str, bool]]:
    """Name of everything below the folder, and whether it is a folder; a link is none, wherever it leads. One after another, so
    that of a large foreign folder only the first is looked at.
    """
    for place, folders, files in os.walk(folder, onerror=_unreadable):
        folders.sort()
        for name in sorted((*folders, *files)):
            path = Path(place) / name
            yield path.relative_to(folder).as_posix(), name in folders and not path.is_symlink()


def _unreadable(trouble: OSError) -> NoReturn:
    """A folder that cannot be listed may hold anything."""
    raise trouble


def _digest(path: Path) -> str:
    """SHA-256 of a file; empty for a link, a pipe or a device, which no run writes."""
    if not stat.S_ISREG(path.lstat().st_mode):
        return ""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


__all__ = ["RECORD", "has_record", "remove_as_written", "what_is_not_as_written", "write_record"]
