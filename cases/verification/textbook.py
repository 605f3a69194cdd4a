"""The textbook cases: frame files with published values, run and held against them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from pathlib import Path
from typing import Any

from femcore.base.units import as_written
from femcore.files.frame_file import Expectation, FrameFile, read_frame_file
from femcore.files.frame_run import ExpectationResult, FrameRun, outcome_data, run_frame

TEXTBOOK = Path(__file__).parent.parent / "textbook"
SOURCE_STATUS: dict[str, str] = {
    "text": "read",
    "quoted": "read (quoted)",
    "memory": "from memory",
    "derived": "derived",
}
TOPICS = (
    "beams", "continuous beams", "shear-flexible beams", "curved and twisted beams", "grids and space frames",
    "plane frames", "trusses", "rigid offsets", "hinges and releases", "spring supports", "semi-rigid joints",
    "settlement and imposed movements", "temperature", "cables and trussed beams", "second order", "buckling",
    "vibration", "racking of two bows",
)  # fmt: skip
"""Topics in the order in which they are taught; any other comes after these."""
OF_THEIR_ELEMENTS = frozenset(("one_beam_cantilever_masses", "vibrating_rod_consistent_and_lumped"))
"""Cases that publish the values of their own number of elements; of all others theory is that of the continuous beam."""


@dataclass(frozen=True)
class TextbookCase:
    """One textbook case as its file describes it."""

    path: Path
    file: FrameFile

    @property
    def topic(self) -> str:
        """What it is about; cases are grouped by it."""
        return self.file.topic or "other"


@dataclass(frozen=True)
class VerifiedCase:
    """One textbook case after its run."""

    path: Path
    run: FrameRun

    @property
    def topic(self) -> str:
        """What it is about; cases are grouped by it."""
        return self.run.file.topic or "other"

    @cached_property
    def rows(self) -> list[tuple[str, str, str, str, bool]]:
        """Where and what, published, ours, difference, met: a row for each expectation, in the file's own units."""
        return [_row(outcome, name_case=len(self.run.file.cases) > 1) for outcome in self.run.outcomes]


def in_given_unit(value: float, expect: Expectation, digits: int = 6) -> str:
    """A value in SI, written as the file writes what it expects."""
    return (
        f"{value:.{digits}g}"
        if expect.unit == "1"
        else as_written(value, str(expect.value), expect.unit, digits)
    )


def _row(outcome: ExpectationResult, *, name_case: bool) -> tuple[str, str, str, str, bool]:
    expect = outcome.expected
    where = " ".join(part for part in (expect.at, expect.quantity) if part)
    ours = in_given_unit(outcome.computed, expect)
    if expect.expected:
        difference = f"{100 * outcome.difference / abs(expect.expected):+.2g} %"
    else:
        difference = in_given_unit(outcome.difference, expect, 2)
    return (
        (f"{expect.case}: {where}" if name_case else where),
        str(expect.value),
        ours,
        difference,
        outcome.ok,
    )


def values_by_status(cases: Iterable[VerifiedCase]) -> dict[str, int]:
    """How many values there are of each status of `SOURCE_STATUS`, in its order."""
    counted = Counter(str(case.run.file.seen) for case in cases for _ in case.run.outcomes)
    return {status: counted[seen] for seen, status in SOURCE_STATUS.items()}


def textbook_files(folder: Path | None = None) -> list[Path]:
    """All textbook cases, by name."""
    return sorted((folder or TEXTBOOK).rglob("*.toml"), key=lambda path: path.name)


def textbook_file(name: str) -> Path:
    """The file of one textbook case, by its name without ending, in whichever topic's folder it is."""
    return next(TEXTBOOK.rglob(f"{name}.toml"))


def textbook_cases(folder: Path | None = None) -> list[TextbookCase]:
    """Every textbook case, or those in another folder, grouped by topic in teaching order, simple ones first."""
    found = [TextbookCase(path, read_frame_file(path)) for path in textbook_files(folder)]
    simple_first = sorted(
        found, key=lambda case: (*_topic_order(case.topic), len(case.file.beams), case.path.name)
    )
    return [
        case
        for _, group in groupby(simple_first, lambda case: case.topic)
        for case in _in_teaching_order(list(group))
    ]


def verify(
    folder: Path | None = None, done: Callable[[float], None] = lambda _part: None
) -> list[VerifiedCase]:
    """Run every textbook case, or those in another folder, in the order of `textbook_cases`.

    done : called with the part of them that has been run
    """
    cases, verified = textbook_cases(folder), []
    for case in cases:
        verified.append(VerifiedCase(case.path, run_frame(case.file)))
        done(len(verified) / len(cases))
    return verified


def _in_teaching_order(cases: list[TextbookCase]) -> list[TextbookCase]:
    """The cases of a topic, each after those that its note or source names."""
    by_name = {case.path.stem: case for case in cases}
    placed: dict[str, TextbookCase] = {}
    begun: set[str] = set()

    def place(case: TextbookCase) -> None:
        begun.add(case.path.stem)
        for name in re.findall(r"\w+", f"{case.file.note} {case.file.source}"):
            if name in by_name and name not in begun:
                place(by_name[name])
        placed[case.path.stem] = case

    for case in cases:
        if case.path.stem not in begun:
            place(case)
    return list(placed.values())


def _topic_order(topic: str) -> tuple[int, str]:
    """Place of a topic among the others."""
    return TOPICS.index(topic) if topic in TOPICS else len(TOPICS), topic


def verification_data(cases: list[VerifiedCase]) -> dict[str, Any]:
    """Everything as JSON-ready data in SI."""
    return {
        "ok": all(case.run.ok for case in cases),
        "values": values_by_status(cases),
        "cases": [
            {
                "file": case.path.name,
                "topic": case.topic,
                "title": case.run.file.title,
                "source": case.run.file.source,
                "seen": case.run.file.seen,
                "expect": [outcome_data(outcome) for outcome in case.run.outcomes],
            }
            for case in cases
        ],
    }
