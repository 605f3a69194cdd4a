"""Files written whole or not at all, folders exchanged in one step, locks; what a disk refuses as a sentence with its cure."""

from __future__ import annotations

import ctypes
import errno
import os
import re
import secrets
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from femcore.base.errors import InputFault

HAS_LOCKS = os.name == "posix"
if HAS_LOCKS:
    import fcntl

UNFINISHED = ".unfinished"
"""Ends the name of a file that is being written, which also begins with a dot: readers of folders leave it out."""
FULL = (errno.ENOSPC, errno.EDQUOT)
AT_FDCWD, RENAME_EXCHANGE = -100, 2
"""Of Linux's renameat2: paths from the working folder; both names stay and change places."""


@contextmanager
def disk_faults(path: Path, cure: str, kept: str = "") -> Iterator[None]:
    """An error of the disk becomes an InputFault of that path, with that cure where it is neither room nor a limit.

    kept : what is not lost, said behind the cure
    """
    try:
        yield
    except OSError as trouble:
        cures = ": ".join(filter(None, (_cure(trouble, cure), kept)))
        raise InputFault(str(path), f"cannot be written ({trouble.strerror or trouble})", cures) from None


def _cure(trouble: OSError, cure: str) -> str:
    if trouble.errno in FULL:
        return "make room on that disk, then run this again"
    if trouble.errno == errno.EFBIG:
        return "raise the limit on the size of files (ulimit -f), then run this again"
    return cure


@contextmanager
def whole_file(target: Path) -> Iterator[IO[bytes]]:
    """A file to write to that appears at `target` whole, and safe on the disk, when the context ends well, and else not at all.

    OSError where the disk refuses. What killed processes left of such a file goes.
    """
    clear_unfinished(target.parent, target.name)
    fresh = target.with_name(f".{target.name}-{secrets.token_hex(6)}{UNFINISHED}")
    try:
        fresh.touch(exist_ok=False)
        with held(fresh):
            with fresh.open("wb") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            fresh.replace(target)
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)


def clear_unfinished(folder: Path, name: str | None = None) -> None:
    """Remove what killed processes left of files of that name, or any, that they were writing into a folder."""
    alike = re.compile(
        rf"\.{'.+' if name is None else re.escape(name)}-[0-9a-f]{{12}}{re.escape(UNFINISHED)}"
    )
    for left in [path for path in folder.iterdir() if alike.fullmatch(path.name)]:
        with suppress(OSError), held(left) as dead:
            if dead and left.is_file() and not left.is_symlink():
                left.unlink()


@contextmanager
def temporary_folder(prefix: str) -> Iterator[Path]:
    """A folder among the system's temporary ones that goes with the context, or, if its process is killed, with the next such.

    prefix : of its name, of this use alone
    """
    for left in Path(tempfile.gettempdir()).glob(f"{prefix}*") if HAS_LOCKS else ():
        with suppress(OSError):
            if (left / UNFINISHED).lstat().st_uid == os.getuid() and not left.is_symlink():
                with held(left) as dead:
                    if dead:
                        shutil.rmtree(left)
    folder = Path(tempfile.mkdtemp(prefix=prefix))
    try:
        with held(folder):
            (folder / UNFINISHED).touch()  # only now may another process take it for one that was left
            yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def held(path: Path) -> Iterator[bool]:
    """A lock on a file or folder, which ends with its process however that ends; False where another has it, or none exist."""
    if not HAS_LOCKS:
        yield False
        return
    opened = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield True
    except BlockingIOError:
        yield False
    finally:
        os.close(opened)


def resolved(path: Path, cure: str) -> Path:
    """The absolute path without links; InputFault where they lead in a circle."""
    with disk_faults(path, cure):
        try:
            found = path.resolve()
        except RuntimeError:  # before Python 3.13
            found = path
        if found.is_symlink():
            raise InputFault(str(path), "is a symbolic link that leads to itself", cure)
        return found


def exchanged(one: Path, other: Path) -> bool:
    """Let two folders change places in one step; False, and nothing done, where system or disk has no such step."""
    if sys.platform != "linux":
        return False
    try:
        exchange = ctypes.CDLL(None).renameat2
    except (AttributeError, OSError):  # an old or another C library
        return False
    return bool(exchange(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0)


__all__ = [
    "HAS_LOCKS",
    "UNFINISHED",
    "clear_unfinished",
    "disk_faults",
    "exchanged",
    "held",
    "resolved",
    "temporary_folder",
    "whole_file",
]
