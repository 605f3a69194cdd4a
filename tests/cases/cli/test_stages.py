"""How far a command is: shares, clock and parts as theory has them; at a terminal alone, and gone when the answer is printed."""

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cases.cli.stages import MOST_BY_CLOCK, Stages
from tests.models.boats import FILES

ROOT = Path(__file__).parents[3]
SLOW = """
import sys, time
from cases.cli import stages
stages.SHOWN_AFTER = 0.0
with stages.Stages({"loads": 1.0, "pictures": 3.0}) as shown:
    while sys.stderr.isatty() and shown._live is None:
        time.sleep(0.01)
    shown.begin("pictures", 0.5)
    if shown._live:
        shown._live.refresh()
    with shown.hidden():
        print("the answer")
"""


class Clock:
    """Seconds that pass when told."""

    now = 100.0

    def __call__(self):
        """The time."""
        return self.now


@pytest.fixture
def clock():
    """One that stands."""
    return Clock()


def test_a_stage_begins_at_the_share_of_those_before_it(clock):
    """Stages of 1, 3 and 4 s: the second begins at an eighth, the third at a half, however long they took here."""
    stages = Stages({"a": 1.0, "b": 3.0, "c": 4.0}, clock)
    for stage, fraction in (("a", 0.0), ("b", 1 / 8), ("c", 1 / 2)):
        stages.begin(stage)
        assert stages.fraction == pytest.approx(fraction)
        clock.now += 10


def test_between_stages_the_clock_moves_the_bar_at_the_pace_so_far(clock):
    """The first stage took twice its seconds: half of the second is done after 3 s, not 1.5 s; it never ends alone."""
    stages = Stages({"a": 1.0, "b": 3.0, "c": 4.0}, clock)
    clock.now += 2
    stages.begin("b")
    clock.now += 3
    assert stages.fraction == pytest.approx((1 + 1.5) / 8)
    clock.now += 1000
    assert stages.fraction == pytest.approx((1 + 3 * MOST_BY_CLOCK) / 8)


def test_parts_that_are_counted_move_the_bar(clock):
    """Two of four parts done: half of the stage; a third at the pace of the second, never to its end."""
    stages = Stages({"sizes": 1.0}, clock)
    done = stages.counted("sizes", 4)
    assert stages.fraction == 0
    for _ in range(2):
        clock.now += 8
        done()
    assert stages.fraction == pytest.approx(0.5)
    clock.now += 4
    assert stages.fraction == pytest.approx(0.5 + 0.25 / 2)
    clock.now += 100
    assert stages.fraction == pytest.approx(0.5 + 0.25 * MOST_BY_CLOCK)


def test_the_bar_never_goes_back(clock):
    """A stage that the clock had nearly ended begins its last part no earlier than was shown."""
    stages = Stages({"a": 1.0, "b": 1.0}, clock)
    clock.now += 0.9
    before = stages.fraction
    stages.begin("a", 0.1)
    assert stages.fraction == before > 0


def test_the_time_left_is_that_of_the_rest_at_the_speed_so_far(clock):
    """A quarter done in 30 s leaves 90 s, said in minutes; three quarters done in 30 s leave 10 s; at first nothing is said."""
    stages = Stages({"a": 1.0, "b": 1.0, "c": 2.0}, clock)
    assert stages.line() == "a: 0 %"
    clock.now += 30
    stages.begin("b")
    assert stages.line() == "b: 25 %, about 2 min left"
    stages.begin("c", 0.5)
    assert stages.line() == "c: 75 %, about 10 s left"


def at_a_terminal(*command, seconds=120.0):
    """What a command writes on standard error, a terminal, and on standard output, a pipe."""
    ours, theirs = pty.openpty()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, env=environment) as process:
        os.close(theirs)
        shown, ends = b"", time.monotonic() + seconds
        while time.monotonic() < ends:
            if not select.select([ours], [], [], 0.2)[0]:
                if process.poll() is not None:
                    break
                continue
            try:
                read = os.read(ours, 65536)
            except OSError:  # Linux: the other end is closed
                break
            if not read:
                break
            shown += read
        printed = process.stdout.read()
    os.close(ours)
    return shown.decode(), printed.decode()


def test_at_a_terminal_the_line_is_shown_and_taken_away():
    """Stage, per cent and time left are written to the terminal; the answer goes to standard output alone."""
    shown, printed = at_a_terminal(sys.executable, "-c", SLOW)
    assert "loads:" in shown
    assert "pictures: 6" in shown  # 1 of 4 and half of 3 of 4: 62 %, or a little more by the clock
    assert " s left" in shown
    assert printed == "the answer\n"
    assert shown.rstrip().endswith(("\x1b[2K", "\x1b[?25h"))  # the line is erased, the cursor is back


def test_into_a_pipe_nothing_is_written():
    """Standard error that is no terminal stays empty, and standard output has the answer alone."""
    done = subprocess.run(
        [sys.executable, "-c", SLOW], capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "FORCE_COLOR": "1"},
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("the answer\n", "")


@pytest.mark.parametrize(
    ("arguments", "stages"),
    [
        (["run", str(FILES["slender"]), "--no-pictures"], ("margins", "decision")),
        (["size", str(FILES["slender"])], ("sizes of each joint",)),
    ],
)
def test_commands_show_their_stages(arguments, stages):
    """`run` and `size` name what they are at; what they print on standard output has none of it."""
    begin = "from cases.cli import stages; stages.SHOWN_AFTER = 0.0; from cases.cli.commands import main; main({!r})"
    shown, printed = at_a_terminal(sys.executable, "-c", begin.format(arguments))
    assert all(f"{stage}: " in shown for stage in stages)
    assert "\x1b" not in printed
