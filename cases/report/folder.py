"""A folder that is written completely or not at all, and that replaces only an earlier report.

Everything is written into a fresh folder beside the wanted one, which is then renamed into place. A folder is ours where its
`results.json` says so and names every file in it; any other is left alone, and the run refused. A run holds a lock on its fresh
folder: of two into one place the second is refused, and what a killed run left, which nobody holds, goes at the next.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import NoReturn

from cases.report.data.results import FORMAT
from femcore.base.errors import InputFault

HAS_LOCKS = os.name == "posix"
if HAS_LOCKS:
    import fcntl

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
            fresh = _fresh_name(wanted)
            try:
                fresh.mkdir()
                with _held(fresh):
                    if HAS_LOCKS:
                        _clear_remains(out, wanted, fresh)
                    fill(fresh)
                    _replace_folder(fresh, wanted)
            finally:
                shutil.rmtree(fresh, ignore_errors=True)
    return wanted


def _fresh_name(wanted: Path) -> Path:
    return wanted.parent / f".{wanted.name}-{secrets.token_hex(4)}"


@contextmanager
def _held(folder: Path) -> Iterator[bool]:
    """A lock on a folder, which ends with its process however that ends; False where another has it, or there are no locks."""
    if not HAS_LOCKS:
        yield False
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield True
    except BlockingIOError:
        yield False
    finally:
        os.close(opened)


def _clear_remains(out: Path, wanted: Path, fresh: Path) -> None:
    """Take away what killed runs left beside the wanted folder; a report that stepped aside comes back where there is none.

    InputFault where a run that still writes holds its folder.
    """
    mine = re.compile(rf"\.{re.escape(wanted.name)}-[0-9a-f]{{8}}")
    with ExitStack() as held:
        remains = []
        for left in wanted.parent.iterdir():
            if left != fresh and mine.fullmatch(left.name) and left.is_dir() and not left.is_symlink():
                if not held.enter_context(_held(left)):
                    cure = "wait for it, or give another folder with --out"
                    raise InputFault(str(out), "is being written by another run", cure)
                remains.append(left)
        for left in remains:
            if not wanted.exists() and (left / MANIFEST).is_file() and _foreign_entry(left) is None:
                left.rename(wanted)
            else:
                shutil.rmtree(left, ignore_errors=True)


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
    found: list[Path] = []
    for place, folders, files in os.walk(folder, onerror=_unreadable):
        links = [name for name in folders if (Path(place) / name).is_symlink()]
        found += [Path(place) / name for name in (*files, *links)]
    names = sorted(path.relative_to(folder).as_posix() for path in found)
    return next((name for name in names if name not in ours), None)


def _unreadable(trouble: OSError) -> NoReturn:
    """A folder that cannot be listed may hold anything."""
    raise trouble


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
    old = _fresh_name(wanted)
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
    except (OSError, RuntimeError) as trouble:  # a loop of links is a RuntimeError of `Path.resolve`
        words = getattr(trouble, "strerror", None) or str(trouble)
        raise InputFault(str(out), f"cannot be written ({words})", cure) from None
