"""A folder that is written completely or not at all, and that replaces only an earlier report.

Everything is written into a fresh folder beside the wanted one, which is then renamed into place. A folder is
ours where its `results.json` says so and names every file in it; any other is left alone, and the run
refused.
"""

from __future__ import annotations

import json
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from cases.report.data.results import FORMAT
from femcore.base.errors import InputFault

MANIFEST = "results.json"
WRITABLE_CURE = "give a folder that can be written to with --out"
OVERWRITE_CURE = "give another folder with --out, or move it away"


def write_complete_folder(out: Path, fill: Callable[[Path], None]) -> Path:
    """Let `fill` write into a fresh folder, then put it at `out`; InputFault where that must not be or
    cannot.

    Returns the folder as an absolute path.
    """
    with disk_faults(out, WRITABLE_CURE):
        wanted = out.resolve()
        _refuse(out, wanted)
        with parents_made(wanted.parent):
            fresh = wanted.parent / f".{wanted.name}-{secrets.token_hex(4)}"
            try:
                fresh.mkdir()
                fill(fresh)
                _replace_folder(fresh, wanted)
            finally:
                shutil.rmtree(fresh, ignore_errors=True)
    return wanted


def _refuse(out: Path, wanted: Path) -> None:
    """Leave alone what is not an earlier report."""
    if not wanted.name or wanted in (Path.cwd(), *Path.cwd().parents):
        raise InputFault(str(out), "is the working folder or contains it", "give a new folder with --out")
    if any(path.exists() and not path.is_dir() for path in wanted.parents):
        raise InputFault(str(out), "is below a file", OVERWRITE_CURE)
    if not wanted.exists():
        return
    if not wanted.is_dir():
        raise InputFault(str(out), "is a file", OVERWRITE_CURE)
    if strange := _foreign_entry(wanted):
        raise InputFault(
            str(out), f"contains '{strange}', which is not part of an earlier report", OVERWRITE_CURE
        )


def _foreign_entry(folder: Path) -> str | None:
    """A file in the folder that no earlier report of ours names; None where there is none."""
    ours = _files_of(folder)
    found = [path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir()]
    names = sorted(path.relative_to(folder).as_posix() for path in found)
    return next((name for name in names if name not in ours), None)


def _files_of(folder: Path) -> set[str]:
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return set()
    if (
        not isinstance(manifest, dict)
        or manifest.get("format") != FORMAT
        or not isinstance(manifest.get("files"), list)
    ):
        return set()
    return {name for name in manifest["files"] if isinstance(name, str)}


def _replace_folder(fresh: Path, wanted: Path) -> None:
    """Rename the fresh folder into place; an earlier report steps aside, and comes back if that fails."""
    if not wanted.exists():
        fresh.rename(wanted)
        return
    old = wanted.parent / f".{wanted.name}-{secrets.token_hex(4)}"
    wanted.rename(old)
    try:
        fresh.rename(wanted)
    except BaseException:
        old.rename(wanted)
        raise
    shutil.rmtree(old, ignore_errors=True)


@contextmanager
def parents_made(folder: Path) -> Iterator[None]:
    """The folder exists within; what had to be made is taken away again where the writing fails."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        for path in missing:
            if path.is_dir() and not any(path.iterdir()):
                path.rmdir()
        raise


@contextmanager
def disk_faults(out: Path, cure: str) -> Iterator[None]:
    """An error of the disk becomes an InputFault with that cure."""
    try:
        yield
    except OSError as trouble:
        raise InputFault(str(out), f"cannot be written ({trouble.strerror or trouble})", cure) from None
