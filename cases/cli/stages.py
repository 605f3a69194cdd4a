"""How far a command is and how long it will take: one line on standard error, at a terminal alone, from one second on.

A command names its stages with the seconds that each took when it was measured; their shares of the whole are what the bar
shows. A stage that counts its parts reports them. In between the clock moves the bar, at the pace of the part or the stages
before, and never to the end: the bar waits where something takes longer than its share.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.live import Live

SHOWN_AFTER = 1.0
"""s: a command that is done before shows nothing."""
LEAST_FOR_REST = 0.03
"""Of the whole: before that much is done nothing is said of the time left."""
MOST_BY_CLOCK = 0.9
"""Of a stage that counts nothing, or of one part: further the clock alone does not bring it."""
LONGEST_IN_SECONDS = 90.0
"""s: more is said in minutes."""
BAR_WIDTH = 30


class Stages:
    """A context around a command's work: `begin` says which stage it is in, and how much of that is done where it counts.

    seconds : of each stage, in their order, as measured; but for the first, their shares alone matter
    clock   : s
    """

    def __init__(self, seconds: Mapping[str, float], clock: Callable[[], float] = time.monotonic) -> None:
        self._seconds, self._clock = dict(seconds), clock
        self._started = self._began = clock()
        self._stage = next(iter(self._seconds))
        self._part: float | None = None
        self._last_step, self._last_seconds = 0.0, 0.0
        self._fraction = 0.0
        self._live: Live | None = None
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None

    def __enter__(self) -> Self:
        if sys.stderr.isatty():
            self._timer = threading.Timer(SHOWN_AFTER, self._show)
            self._timer.daemon = True
            self._timer.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._timer is not None:
            self._timer.cancel()
        with self._lock:
            self._timer = None
            self._stop()

    def begin(self, stage: str, part: float | None = None) -> None:
        """A stage, or so much of it done."""
        now = self._clock()
        if stage != self._stage:
            self._stage, self._last_step = stage, 0.0
        elif part is not None and part > (self._part or 0.0):
            self._last_step, self._last_seconds = part - (self._part or 0.0), now - self._began
        self._part, self._began = part, now

    def counted(self, stage: str, count: int) -> Callable[[], None]:
        """Begin a stage of so many parts; what is returned is called after each."""
        done = iter(range(1, count + 1))
        self.begin(stage, 0.0)
        return lambda: self.begin(stage, next(done) / count)

    @contextmanager
    def hidden(self) -> Iterator[None]:
        """Within it the line is away, so that something else can be printed."""
        with self._lock:
            shown = self._live is not None
            self._stop()
            yield
            if shown:
                self._start()

    @property
    def fraction(self) -> float:
        """Of the whole that is done, by the measured shares; it never falls."""
        names, whole = list(self._seconds), sum(self._seconds.values())
        before = sum(self._seconds[name] for name in names[: names.index(self._stage)])
        share = self._seconds[self._stage]
        since = self._clock() - self._began
        if self._part is None:
            pace = (self._began - self._started) / before if before else 1.0
            within = _by_clock(since, share * pace)
        else:
            within = self._part + self._last_step * _by_clock(since, self._last_seconds)
        self._fraction = max(self._fraction, min(1.0, (before + share * within) / whole))
        return self._fraction

    def line(self) -> str:
        """The stage, per cent done, and the time left."""
        done = self.fraction
        said = f"{self._stage}: {100 * done:.0f} %"
        if done < LEAST_FOR_REST:
            return said
        return f"{said}, {_duration((self._clock() - self._started) * (1 - done) / done)} left"

    def _show(self) -> None:
        with self._lock:
            if self._timer is not None:
                self._start()

    def _start(self) -> None:
        from rich.console import Console  # noqa: PLC0415  (start-up time)
        from rich.live import Live  # noqa: PLC0415  (start-up time)

        live = Live(
            get_renderable=self._renderable, console=Console(stderr=True), transient=True,
            redirect_stdout=False, redirect_stderr=False,
        )  # fmt: skip
        live.start(refresh=True)
        self._live = live

    def _stop(self) -> None:
        if self._live is not None:
            self._live.stop()
            self._live = None

    def _renderable(self) -> RenderableType:
        from rich.progress_bar import ProgressBar  # noqa: PLC0415  (start-up time)
        from rich.table import Table  # noqa: PLC0415  (start-up time)
        from rich.text import Text  # noqa: PLC0415  (start-up time)

        grid = Table.grid(padding=(0, 1))
        said = self.line()
        grid.add_row(ProgressBar(total=1.0, completed=self.fraction, width=BAR_WIDTH), Text(said))
        return grid


def _by_clock(seconds: float, expected: float) -> float:
    """The part of something that is done after so many seconds of those expected."""
    return min(MOST_BY_CLOCK, seconds / expected) if expected > 0 else 0.0


def _duration(seconds: float) -> str:
    """For reading."""
    if seconds < LONGEST_IN_SECONDS:
        return f"about {max(1, round(seconds))} s"
    return f"about {round(seconds / 60)} min"
