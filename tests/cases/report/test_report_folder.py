"""A report's folder appears whole or not at all, and takes nothing away that is not its own."""

import json
import os
import signal
import subprocess
import sys

import pytest

from cases.report.folder import write_complete_folder
from femcore.base.errors import InputFault
from femcore.base.process import module_environment


def filled(*names):
    """A writer of a report of those files."""

    def fill(folder):
        for name in names:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(name)
        told = {"format": "forebeam results", "files": [*names, "results.json"]}
        (folder / "results.json").write_text(json.dumps(told))

    return fill


def tree(folder):
    """Every file below a folder, hidden ones too."""
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()}


def interrupted(folder):
    """A writer that is stopped half-way."""
    (folder / "half.txt").write_text("half")
    raise KeyboardInterrupt


def test_a_report_appears(tmp_path):
    """What was written stands in the folder, and nothing beside it."""
    assert (
        write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt")) == (tmp_path / "out").resolve()
    )
    assert tree(tmp_path) == {"out/a.txt", "out/sub/b.txt", "out/results.json"}


def test_folders_on_the_way_are_made(tmp_path):
    """Folders above the report's are made where they are missing."""
    write_complete_folder(tmp_path / "x" / "y" / "out", filled("a.txt"))
    assert (tmp_path / "x" / "y" / "out" / "a.txt").is_file()


@pytest.mark.parametrize("stop", [KeyboardInterrupt, ValueError, SystemExit])
def test_an_interrupted_report_leaves_nothing(tmp_path, stop):
    """Stopped half-way, nothing is left, not even a folder on the way."""

    def fill(folder):
        (folder / "half.txt").write_text("half")
        raise stop

    with pytest.raises(stop):
        write_complete_folder(tmp_path / "x" / "out", fill)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupted_report_leaves_the_earlier_one(tmp_path):
    """Stopped half-way, an earlier report is as it was."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    with pytest.raises(KeyboardInterrupt):
        write_complete_folder(tmp_path / "out", interrupted)
    assert tree(tmp_path) == {"out/a.txt", "out/results.json"}


def test_a_report_gives_way_to_a_new_one(tmp_path):
    """A whole new report takes the place of the earlier one; none of the old files is left."""
    write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt"))
    write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/c.txt", "out/results.json"}


def test_a_failed_exchange_is_undone(tmp_path, monkeypatch):
    """Where the new folder cannot be put in place, the earlier report comes back."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    rename = type(tmp_path).rename

    def once(path, target):
        if (path / "c.txt").exists():
            raise OSError(28, "No space left on device")
        return rename(path, target)

    monkeypatch.setattr(type(tmp_path), "rename", once)
    with pytest.raises(InputFault, match=r"cannot be written \(No space left on device\)"):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/a.txt", "out/results.json"}


def test_an_empty_folder_may_be_used(tmp_path):
    """An empty folder holds nothing that could be lost."""
    (tmp_path / "out").mkdir()
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out" / "a.txt").is_file()


@pytest.mark.parametrize(
    "told",
    [
        None,
        "{",
        "[]",
        '{"format": "another", "files": ["mine.txt", "results.json"]}',
        '{"format": "forebeam results"}',
    ],
)
def test_a_folder_that_is_not_ours_is_refused(tmp_path, told):
    """A folder with files and no list of ours is left alone, and the sentence names a file in it."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    if told is not None:
        (tmp_path / "out" / "results.json").write_text(told)
    before = tree(tmp_path)
    with pytest.raises(
        InputFault, match=r"out: contains 'mine.txt', which is not part of an earlier report; give"
    ):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert tree(tmp_path) == before


def test_a_note_within_an_earlier_report_is_kept(tmp_path):
    """A file that somebody put into an earlier report is not taken away with it."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    (tmp_path / "out" / "my notes.txt").write_text("mine")
    with pytest.raises(InputFault, match=r"my notes\.txt"):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out" / "my notes.txt").read_text() == "mine"


def test_a_link_within_an_earlier_report_is_kept(tmp_path):
    """A link in the folder is somebody's, wherever it leads, and what it leads to is never touched."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "mine.txt").write_text("mine")
    (tmp_path / "out" / "link").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputFault, match="'link'"):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "elsewhere" / "mine.txt").is_file()


def test_a_file_of_that_name_is_refused(tmp_path):
    """Where the wanted folder is a file, it stays."""
    (tmp_path / "out").write_text("mine")
    with pytest.raises(InputFault, match="is a file"):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out").read_text() == "mine"


def test_the_folder_one_stands_in_is_refused(tmp_path, monkeypatch):
    """Neither the working folder nor one that holds it is replaced, even if empty."""
    (tmp_path / "in").mkdir()
    monkeypatch.chdir(tmp_path / "in")
    for out in (tmp_path, tmp_path / "in"):
        with pytest.raises(InputFault, match="the working folder"):
            write_complete_folder(out, filled("a.txt"))


def test_a_place_below_a_file_is_refused(tmp_path):
    """A folder cannot stand below a file, which stays."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InputFault, match="file/out: is below a file"):
        write_complete_folder(tmp_path / "file" / "out", filled("a.txt"))
    assert (tmp_path / "file").read_text() == "mine"


def test_a_disk_that_refuses_is_told(tmp_path):
    """What the disk refuses is a sentence: a name longer than any disk takes."""
    with pytest.raises(InputFault, match=r"cannot be written \(File name too long\); give"):
        write_complete_folder(tmp_path / ("x" * 300), filled("a.txt"))


def test_the_folder_is_readable_as_any_other(tmp_path):
    """The report's folder has the permissions that a folder made there would have."""
    (tmp_path / "plain").mkdir()
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out").stat().st_mode == (tmp_path / "plain").stat().st_mode


WRITER = """
import sys, time
from pathlib import Path
from cases.report.folder import write_complete_folder
def fill(folder):
    (folder / "half.txt").write_text("half")
    print("writing", flush=True)
    time.sleep(120)
write_complete_folder(Path(sys.argv[1]), fill)
"""


def writing(out):
    """Another process that is in the middle of writing a report to a folder."""
    command = [sys.executable, "-c", WRITER, str(out)]
    other = subprocess.Popen(command, env=module_environment(), stdout=subprocess.PIPE, text=True)
    assert other.stdout.readline() == "writing\n"
    return other


def test_of_two_runs_into_one_folder_the_second_is_refused_and_a_killed_one_leaves_nothing_for_long(tmp_path):
    """While one writes, another is refused in a sentence and disturbs nothing; killed, it leaves a folder that the next run takes
    away.
    """
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    other = writing(tmp_path / "out")
    try:
        with pytest.raises(InputFault, match="out: is being written by another run; wait"):
            write_complete_folder(tmp_path / "out", filled("b.txt"))
        assert tree(tmp_path / "out") == {"a.txt", "results.json"}
    finally:
        other.send_signal(signal.SIGKILL)
        other.wait()
        other.stdout.close()
    assert any(path.endswith("half.txt") for path in tree(tmp_path))
    write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/c.txt", "out/results.json"}


def test_a_report_that_stepped_aside_when_the_run_was_killed_comes_back(tmp_path):
    """Killed between the two renames, the earlier report is beside its place: the next run that fails leaves it in its place."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    (tmp_path / "out").rename(tmp_path / ".out-0123abcd")
    with pytest.raises(KeyboardInterrupt):
        write_complete_folder(tmp_path / "out", interrupted)
    assert tree(tmp_path) == {"out/a.txt", "out/results.json"}


def test_what_is_named_alike_is_kept(tmp_path):
    """Neither a file, nor a folder of another name, is taken for what a killed run left."""
    (tmp_path / ".out-0123abcd").write_text("mine")
    (tmp_path / ".out-mine").mkdir()
    (tmp_path / ".out-mine" / "mine.txt").write_text("mine")
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert {".out-0123abcd", ".out-mine/mine.txt"} < tree(tmp_path)


def test_a_folder_that_cannot_be_listed_is_kept(tmp_path, monkeypatch):
    """What cannot be seen may be anything: the run is refused."""
    write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt"))
    listed = os.scandir

    def scandir(path):
        if str(path).endswith("sub"):
            raise PermissionError(13, "Permission denied")
        return listed(path)

    monkeypatch.setattr(os, "scandir", scandir)
    with pytest.raises(InputFault, match="Permission denied"):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert (tmp_path / "out/sub/b.txt").is_file()


def test_a_loop_of_links_is_refused(tmp_path):
    """A place that leads to itself is a sentence."""
    (tmp_path / "out").symlink_to(tmp_path / "out")
    with pytest.raises(InputFault, match="cannot be written"):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
