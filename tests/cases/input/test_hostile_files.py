"""Files that nobody writes on purpose end in a sentence, soon, and in little memory."""

import json
import os
import re
import subprocess
import sys

import pytest

from cases.cli.commands import main
from cases.input.boat_file import read_boat_file
from cases.verification.textbook import textbook_file
from femcore.base.errors import ForebeamError
from femcore.base.process import module_environment
from femcore.files.frame_file import read_frame_file
from tests.cases.input.hostile_files import DEMO, HOSTILE
from tests.models.boats import FILES

MAX_SENTENCE, MAX_MEMORY, MAX_WORK = 300, 500, 2.0
"""Characters; MB; times the processor's work on the demo boat: of one file."""
CHILD = """
import contextlib, io, json, os, resource, sys, time
from cases.cli.commands import main
with contextlib.suppress(SystemExit), contextlib.redirect_stdout(io.StringIO()):
    main(["check", sys.argv[1]])
for path in sys.argv[2:]:
    said, began = io.StringIO(), time.process_time()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        try:
            main(["check", path]); status = None
        except SystemExit as end:
            status = end.code
        except BaseException as trouble:
            status = repr(trouble)[:200]
    # the peak that the kernel keeps for a process may be that of its parent before it became another program
    own = [line for line in open("/proc/self/status") if line.startswith("VmHWM")] if os.path.exists("/proc/self/status") else []
    memory = int(own[0].split()[1]) / 1024 if own else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps([status, said.getvalue(), time.process_time() - began, memory]), flush=True)
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """By the row's name: exit status, words, work over a sound file's, and MB of a check, in a process that has read one."""
    folder = tmp_path_factory.mktemp("hostile")
    paths = [folder / f"{number}.toml" for number in range(len(HOSTILE))]
    for path, (content, _) in zip(paths, HOSTILE.values(), strict=True):
        path.write_bytes(content())
    (folder / "demo.toml").write_text(DEMO, encoding="utf-8")
    sound = str(folder / "demo.toml")
    command = [sys.executable, "-c", CHILD, sound, sound, *map(str, paths)]
    done = subprocess.run(
        command, env=module_environment(), capture_output=True, text=True, timeout=300, check=False
    )
    [(_, _, usual, _), *found] = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(found) == len(HOSTILE), done.stderr[-2000:]
    each = [(status, words, seconds / usual, memory) for status, words, seconds, memory in found]
    return dict(zip(HOSTILE, each, strict=True))


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_in_a_sentence(answers, name):
    """Exit status 2, in bounded work and memory; every line is short, names the file and holds no control character."""
    status, words, work, memory = answers[name]
    assert status == 2, words
    assert HOSTILE[name][1] in words
    for line in words.splitlines():
        assert len(line) <= MAX_SENTENCE
        assert line.isprintable()
    assert re.match(r"\S+\.toml", words)
    assert memory < MAX_MEMORY
    assert work < MAX_WORK  # work without bound, not speed


@pytest.mark.parametrize(
    "kind", ["zeros without end", "a pipe", "a loop of links", "a folder", "an undecodable name"]
)
def test_what_is_no_file_is_refused_in_a_sentence(tmp_path, kind, capsys):
    """What never ends, or leads nowhere, is not read; what a name holds is no control character on the screen."""
    path = tmp_path / "x.toml"
    if kind == "zeros without end":
        path = "/dev/zero"
    elif kind == "a pipe":
        os.mkfifo(path)
    elif kind == "a loop of links":
        path.symlink_to(path)
    elif kind == "a folder":
        path.mkdir()
    else:
        path = os.fsdecode(bytes(tmp_path) + b"/\xff\x1b[31m.toml")
    with pytest.raises(SystemExit) as ended:
        main(["check", str(path)])
    words = capsys.readouterr().err.rstrip("\n")
    assert ended.value.code == 2
    assert words.isprintable()
    assert len(words) <= MAX_SENTENCE


def test_the_mark_that_windows_puts_before_a_file_is_read(tmp_path):
    """The same boat with and without a byte-order mark, and with the line ends of Windows."""
    path = tmp_path / "demo.toml"
    path.write_bytes(b"\xef\xbb\xbf" + DEMO.replace("\n", "\r\n").encode())
    assert read_boat_file(path).title == read_boat_file(FILES["demo"]).title


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("second_order = true", 'second_order = "yes"', "'yes' is neither true nor false"),
        ("second_order = true", "second_order = 1", "1 is neither true nor false"),
        ("divide = ", "divide = true #", "true is no number"),
        ("divide = ", 'divide = "8" #', "'8' is no number"),
    ],
)
def test_a_flag_and_a_count_are_what_they_are(tmp_path, old, new, words):
    """A flag is no text and no number, and a count is no flag."""
    text = textbook_file("beam_column_middle_load").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "frame.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ForebeamError, match=words):
        read_frame_file(path)
