"""What `check` found in a file: that it reads correctly, what is implausible, and what has no answer."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cases.analyses.claims import checked_loads
from cases.analyses.structure import unsolvable_joints
from cases.input.boat_file import read_boat_file
from cases.input.plausibility import plausibility_warnings
from femcore.base.errors import StructureFault
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame


@dataclass(frozen=True, slots=True)
class CheckedFile:
    """What to print, and what of the structure has no answer; a fault of the file is raised instead."""

    lines: tuple[str, ...]
    without_answer: tuple[str, ...]


def checked_boat(path: Path) -> CheckedFile:
    """A boat file: read, tried for plausibility, every joint solved under every case and combination; variants are only read."""
    file = read_boat_file(path)
    loads = checked_loads(file)
    counts = ", ".join((
        _count(len(file.joints), "joint"), _count(loads.cases, "load case"), _count(loads.combinations, "combination"),
        _count(len(file.variants), "variant"),
    ))  # fmt: skip
    warnings = [f"Warning: {sentence}" for sentence in plausibility_warnings(file)] or [
        "Nothing implausible was found."
    ]
    without_answer = tuple(one.words() for one in unsolvable_joints(file))
    solved = "Every joint can be solved under every load case and combination."
    only_read = " Variants were read, not solved." if file.variants else ""
    faults = [f"{sentence} A run reports the other joints." for sentence in without_answer]
    return CheckedFile(
        (f"{path}: reads correctly as a boat file ({counts}).", *warnings, *(faults or [solved + only_read])),
        without_answer,
    )


def checked_frame(path: Path) -> CheckedFile:
    """A frame file: read, and solved."""
    file = read_frame_file(path)
    lines = [f"{path}: reads correctly as a frame file ({_count(len(file.cases), 'case')})."]
    try:
        run_frame(file)
    except StructureFault as fault:
        return CheckedFile((*lines, f"No answer: {fault}."), (str(fault),))
    return CheckedFile((*lines, "Every case can be solved."), ())


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
