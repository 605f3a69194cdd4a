"""Figures drawn by two processes: another one while this one computes, and both for what is then left.

A job is a function without arguments that returns a drawing, and that can be pickled: `functools.partial` of a function and data.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from femcore.base.process import Begun, OtherProcess, results
from femcore.plotting.drawing import Drawing, Picture

Job = Callable[[], Drawing]


class Drawings:
    """`add` hands jobs on, which are begun at once; `pictures` draws the rest here and has them all.

    png : whether each picture has a PNG beside its SVG
    """

    def __init__(self, other: OtherProcess, *, png: bool = False) -> None:
        self._other, self._png = other, png
        self._begun: list[Begun[Picture]] = []

    def add(self, jobs: Iterable[Job]) -> int:
        """Hand on jobs; returns how many."""
        before = len(self._begun)
        self._begun += [self._other.begin(partial(_drawn, job, png=self._png), short=True) for job in jobs]
        return len(self._begun) - before

    def pictures(self, drawn: Callable[[float], None] = lambda _part: None) -> list[Picture]:
        """All pictures, in the order of their jobs.

        drawn : called with the part of them that is drawn, whenever one was drawn here
        """
        return results(self._begun, drawn)


def _drawn(job: Job, *, png: bool) -> Picture:
    return job().picture(png=png)
