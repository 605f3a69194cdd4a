"""A sweep in the terminal: how far it is and how long it will take, then what came out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)

from cases.analyses.sweeps.run import FinishedSweep
from cases.report.data.statements import margin_words
from femcore.base.numbers import plain

REASONS = 5
"""The most frequent ones are printed; all are in the table."""
RATE_WINDOW = 600.0
"""Seconds over which the speed is averaged, since chunks end in groups."""


@contextmanager
def progress_bar() -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error, called with the designs done and how many there are."""
    columns = (
        TextColumn("designs"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
    )
    bar = Progress(*columns, console=Console(stderr=True), speed_estimate_period=RATE_WINDOW)
    task = bar.add_task("designs", total=None, start=False)

    def advance(done: int, designs: int) -> None:
        if not bar.live.is_started:
            # what an earlier run did says nothing of the speed of this one
            bar.reset(task, total=designs, completed=done)
            bar.start()
        bar.update(task, completed=done)

    try:
        yield advance
    finally:
        bar.stop()


def summary_lines(done: FinishedSweep) -> Iterator[str]:
    """How many designs and rows, why some have no answer, the range of margins of each joint, and where the table is."""
    joints = done.rows // done.designs
    lacking = done.without_answer.total()
    yield (
        f"{_count(done.designs, 'design')} × {_count(joints, 'joint')}: {_count(done.rows - lacking, 'row')} with an answer"
        + (f", {lacking:,} without." if lacking else ".")
    )
    if done.worked_out < done.designs:
        yield f"{_count(done.designs - done.worked_out, 'design')} had been worked out before."
    for reason, count in done.without_answer.most_common(REASONS):
        yield f"  {count:,} without: {plain(reason)}"
    for joint, best in done.best().items():
        yield (
            f"{plain(joint)}: governing margin {margin_words(best.lowest)} to {margin_words(best.margin)}, "
            f"highest in design {best.design:,}."
        )
    yield f"Table: {done.dataset} (Parquet; columns and units in {done.folder.path / 'manifest.json'})"


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"
