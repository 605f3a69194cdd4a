"""A file appears whole or not at all, and two folders change places in one step."""

import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from femcore.base.disk import exchanged, held, temporary_folder, whole_file
from femcore.base.process import module_environment


def test_a_whole_file_appears_at_the_end(tmp_path):
    """While it is written the earlier one stands; then the new one, and nothing beside it."""
    target = tmp_path / "a.txt"
    target.write_text("old")
    with whole_file(target) as file:
        file.write(b"new")
        file.flush()
        assert target.read_text() == "old"
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a.txt": "new"}


def test_a_file_that_is_not_finished_does_not_appear(tmp_path):
    """An error or Ctrl-C in the middle leaves the earlier file, and nothing beside it."""
    (tmp_path / "a.txt").write_text("old")

    def write():
        with whole_file(tmp_path / "a.txt") as file:
            file.write(b"new")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write()
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a.txt": "old"}


WRITER = """
import sys, time
from pathlib import Path
from femcore.base.disk import whole_file
with whole_file(Path(sys.argv[1])) as file:
    file.write(b"half")
    print("writing", flush=True)
    time.sleep(120)
"""


def test_what_a_killed_process_left_goes_and_what_another_writes_stays(tmp_path):
    """Two write one file at once: each its own, the last to end is what is there. Killed, its rest goes with the next writing;
    a file of a similar name is somebody's.
    """
    target, alike = tmp_path / "a.txt", tmp_path / ".a.txt-notes.unfinished"
    alike.write_text("mine")
    command = [sys.executable, "-c", WRITER, str(target)]
    other = subprocess.Popen(command, env=module_environment(), stdout=subprocess.PIPE, text=True)
    try:
        assert other.stdout.readline() == "writing\n"
        with whole_file(target) as file:
            file.write(b"one")
        assert len(list(tmp_path.iterdir())) == 3
    finally:
        other.send_signal(signal.SIGKILL)
        other.wait()
        other.stdout.close()
    with whole_file(target) as file:
        file.write(b"two")
    assert {path: path.read_text() for path in tmp_path.iterdir()} == {target: "two", alike: "mine"}


def test_a_lock_is_held_by_one(tmp_path):
    """Of a folder as of a file; let go, another has it."""
    with held(tmp_path) as first, held(tmp_path) as second:
        assert first
        assert not second
    with held(tmp_path) as again:
        assert again


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux exchanges two folders in one step")
def test_two_folders_change_places(tmp_path):
    """Each has the other's content; where one is missing, nothing is done."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "file").write_text(name)
    if not exchanged(tmp_path / "one", tmp_path / "other"):
        pytest.skip("this disk has no such step")
    assert (tmp_path / "one/file").read_text() == "other"
    assert (tmp_path / "other/file").read_text() == "one"
    assert not exchanged(tmp_path / "one", tmp_path / "none")
    assert sorted(os.listdir(tmp_path)) == ["one", "other"]  # noqa: PTH208  (names alone)


TEMPORARY = """
import sys, time
from femcore.base.disk import temporary_folder
with temporary_folder("use-") as folder:
    (folder / "half.txt").write_text("half")
    print(folder, flush=True)
    time.sleep(120)
"""


def test_a_temporary_folder_of_a_killed_process_goes_with_the_next(tmp_path, monkeypatch):
    """While its process lives it stays; without the mark it is somebody's, whatever its name; a link is never followed."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    kept = {tmp_path / "use-mine", tmp_path / "use-link", tmp_path / "mine"}
    for name in ("use-mine", "mine"):
        (tmp_path / name).mkdir()
    (tmp_path / "mine" / ".unfinished").write_text("mine")
    (tmp_path / "use-link").symlink_to(tmp_path / "mine")
    environment = module_environment() | {"TMPDIR": str(tmp_path)}
    other = subprocess.Popen(
        [sys.executable, "-c", TEMPORARY], env=environment, stdout=subprocess.PIPE, text=True
    )
    try:
        left = Path(other.stdout.readline().strip())
        with temporary_folder("use-") as folder:
            assert set(tmp_path.iterdir()) == {*kept, left, folder}
    finally:
        other.send_signal(signal.SIGKILL)
        other.wait()
        other.stdout.close()
    assert set(tmp_path.iterdir()) == {*kept, left}
    with temporary_folder("use-") as folder:
        assert set(tmp_path.iterdir()) == {*kept, folder}
    assert (tmp_path / "mine" / ".unfinished").read_text() == "mine"
