"""A folder that is written completely or not at all, and that replaces only what the last run wrote.

Everything is written into a fresh folder beside the wanted one, with a record of each file (`record`), and both change places in
one step. A folder whose files are not all as recorded is left alone, and the run refused. A run works in a marked place that it
holds a lock on: of two into one folder the second is refused, and what a killed run left, which nobody holds, goes at the next.

    .OUT-0123abcd/            the run's place, beside OUT
        unfinished            its mark: its own name, so that no other folder is taken for one
        report/               the fresh folder; after the exchange the earlier one, removed by its record
        earlier/              the earlier one where the system has no exchange
        scratch/              what else is written on the way
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from cases.report.record import (
    RECORD,
    has_record,
    remove_as_written,
    what_is_not_as_written,
    write_record,
)
from femcore.base.disk import HAS_LOCKS, disk_faults, exchanged, held, resolved
from femcore.base.errors import InputFault

MARK, REPORT, EARLIER, SCRATCH = "unfinished", "report", "earlier", "scratch"
WRITABLE_CURE = "give a folder that can be written to with --out"
OVERWRITE_CURE = "give another folder with --out, or move it away"


def write_complete_folder(out: Path, fill: Callable[[Path], None]) -> Path:
    """Let `fill` write into a fresh folder, then put it at `out`; InputFault where that must not be or
    cannot.

    Returns the folder as an absolute path.
    """
    refuse(out)
    wanted = resolved(out, OVERWRITE_CURE)
    with disk_faults(out, WRITABLE_CURE), parents_made(wanted.parent), _place(out, wanted) as place:
        _clear_remains(out, wanted, place)
        fresh = place / REPORT
        fresh.mkdir()
        fill(fresh)
        write_record(fresh)
        refuse(out)  # once more: the filling takes its time
        _replace_folder(fresh, wanted)
    return wanted


def scratch(folder: Path) -> Path:
    """While a folder is filled: one for what is no part of it, which goes with the run however that ends."""
    made = folder.with_name(SCRATCH)
    made.mkdir(exist_ok=True)
    return made


def refuse(out: Path) -> None:
    """InputFault where there is anything at `out` but what the last run wrote; nothing is changed."""
    with disk_faults(out, WRITABLE_CURE):
        wanted = resolved(out, OVERWRITE_CURE)
        if not wanted.name or wanted in (Path.cwd(), *Path.cwd().parents):
            raise InputFault(str(out), "is the working folder or contains it", "give a new folder with --out")
        if any(path.exists() and not path.is_dir() for path in wanted.parents):
            raise InputFault(str(out), "is below a file", OVERWRITE_CURE)
        if not wanted.exists():
            return
        if not wanted.is_dir():
            raise InputFault(str(out), "is a file", OVERWRITE_CURE)
    try:
        strange = what_is_not_as_written(wanted)
    except OSError as trouble:
        wrong = f"contains what cannot be read ({trouble.strerror or trouble})"
        raise InputFault(str(out), wrong, OVERWRITE_CURE) from None
    if strange is None:
        return
    if not has_record(wanted) and (wanted / "results.json").is_file():
        wrong = f"has no readable {RECORD}, which lists what the last run wrote"
        raise InputFault(str(out), wrong, "give another folder with --out, or remove this one by hand")
    raise InputFault(str(out), f"contains {strange}", OVERWRITE_CURE)


@contextmanager
def _place(out: Path, wanted: Path) -> Iterator[Path]:
    """The run's own place beside the wanted folder, marked and held, and cleared in the end."""
    place = wanted.parent / f".{wanted.name}-{secrets.token_hex(4)}"
    with ExitStack() as locks:
        place.mkdir()
        try:
            locked = locks.enter_context(held(place))
            (place / MARK).write_bytes(os.fsencode(place.name))
        except FileNotFoundError:  # another run took it for one that was killed
            locked = False
        try:
            if HAS_LOCKS and not locked:
                raise _busy(out)
            yield place
        finally:
            _clear(place)


def _busy(out: Path) -> InputFault:
    cure = "wait for it, or give another folder with --out"
    return InputFault(str(out), "is being written by another run", cure)


def _clear_remains(out: Path, wanted: Path, own: Path) -> None:
    """Take away what killed runs left beside the wanted folder; a report that stepped aside comes back where there is none.

    InputFault where a run that still writes holds its place.
    """
    if not HAS_LOCKS:
        return
    alike = re.compile(rf"\.{re.escape(wanted.name)}-[0-9a-f]{{8}}")
    with ExitStack() as locks:
        remains = []
        for left in wanted.parent.iterdir():
            if left != own and alike.fullmatch(left.name) and _is_place(left):
                if not locks.enter_context(held(left)):
                    raise _busy(out)
                remains.append(left)
        for left in remains:
            if not wanted.exists() and has_record(left / EARLIER):
                (left / EARLIER).rename(wanted)
            _clear(left)


def _is_place(folder: Path) -> bool:
    """Whether a run made this folder: it has its mark, or was just made and has nothing."""
    try:
        if folder.is_symlink() or not folder.is_dir():
            return False
        names = [path.name for path in folder.iterdir()]
        if not names:
            return True
        mark = (folder / MARK).read_bytes() if (folder / MARK).is_file() else None
    except OSError:
        return False
    return mark == os.fsencode(folder.name) or (mark == b"" and names == [MARK])


def _clear(place: Path) -> None:
    """Remove a run's place; of a report in it that is complete, what is as recorded. The mark goes last."""
    for folder in (place / REPORT, place / EARLIER):
        if has_record(folder):
            with suppress(OSError):
                remove_as_written(folder)
        else:
            shutil.rmtree(folder, ignore_errors=True)
    shutil.rmtree(place / SCRATCH, ignore_errors=True)
    with suppress(OSError):
        if [path.name for path in place.iterdir()] == [MARK]:
            (place / MARK).unlink()
        place.rmdir()


def _replace_folder(fresh: Path, wanted: Path) -> None:
    """Put the fresh folder in place, the earlier one into its own; where they cannot be exchanged, it steps aside, and comes
    back if the rest fails.
    """
    with suppress(OSError):
        wanted.rmdir()  # where it is empty
    if not wanted.exists():
        fresh.rename(wanted)
        return
    if exchanged(fresh, wanted):
        return
    old = fresh.with_name(EARLIER)
    wanted.rename(old)
    try:
        fresh.rename(wanted)
    except BaseException:
        old.rename(wanted)
        raise


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
