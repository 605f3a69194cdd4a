"""A report's folder appears whole or not at all, and takes nothing away that is not its own."""

import errno
import hashlib
import json
import os
import signal
import subprocess
import sys
from contextlib import suppress

import pytest

from cases.report import folder
from cases.report.folder import scratch, write_complete_folder
from cases.report.record import remove_as_written
from femcore.base.errors import InputFault
from femcore.base.process import module_environment


def filled(*names):
    """A writer of a report of those files."""

    def fill(folder):
        for name in names:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(name)

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
    assert tree(tmp_path) == {"out/a.txt", "out/sub/b.txt", "out/files.json"}


def test_folders_on_the_way_are_made(tmp_path):
    """Folders above the report's are made where they are missing."""
    write_complete_folder(tmp_path / "x" / "y" / "out", filled("a.txt"))
    assert (tmp_path / "x" / "y" / "out" / "a.txt").is_file()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere names are always letters")
def test_a_folder_whose_name_is_no_text_can_be_replaced(tmp_path):
    """Bytes that are no UTF-8, as an older disk or a bare locale gives."""
    out = tmp_path / os.fsdecode(b"b\xf6ot")
    for name in ("a.txt", "b.txt"):
        write_complete_folder(out, filled(name))
    assert tree(tmp_path) == {f"{out.name}/b.txt", f"{out.name}/files.json"}


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
    assert tree(tmp_path) == {"out/a.txt", "out/files.json"}


def test_a_report_gives_way_to_a_new_one(tmp_path):
    """A whole new report takes the place of the earlier one; none of the old files is left."""
    write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt"))
    write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/c.txt", "out/files.json"}


def test_a_failed_exchange_is_undone(tmp_path, monkeypatch):
    """Where the new folder cannot be put in place, the earlier report comes back."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    rename = type(tmp_path).rename

    def once(path, target):
        if (path / "c.txt").exists():
            raise OSError(28, "No space left on device")
        return rename(path, target)

    monkeypatch.setattr(folder, "exchanged", lambda *_: False)
    monkeypatch.setattr(type(tmp_path), "rename", once)
    with pytest.raises(InputFault, match=r"cannot be written \(No space left on device\); make room"):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/a.txt", "out/files.json"}


def test_an_empty_folder_may_be_used(tmp_path):
    """An empty folder holds nothing that could be lost."""
    (tmp_path / "out").mkdir()
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out" / "a.txt").is_file()


def digest(text):
    """SHA-256 of a text, as a record has it."""
    return hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.parametrize(
    "record",
    [
        None,
        "{",
        "[]",
        "[" * 100_000,
        json.dumps({"format": "another", "sha256": {"mine.txt": digest("mine")}}),
        json.dumps({"format": "forebeam files", "sha256": ["mine.txt"]}),
        json.dumps({"format": "forebeam files", "sha256": {"mine.txt": None}}),
        json.dumps({"format": "forebeam files", "sha256": {"./mine.txt": digest("mine")}}),
    ],
)
def test_a_folder_that_is_not_ours_is_refused(tmp_path, record):
    """A folder with files and no record of ours is left alone, and the sentence names a file in it."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    if record is not None:
        (tmp_path / "out" / "files.json").write_text(record)
    before = tree(tmp_path)
    with pytest.raises(
        InputFault, match=r"out: contains 'mine.txt', which is not part of an earlier report; give"
    ):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert tree(tmp_path) == before


def test_a_report_without_a_record_is_refused_with_a_cure(tmp_path):
    """What an earlier version wrote, or a report whose record is lost, cannot be told from what was edited: it stays."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "results.json").write_text(
        '{"format": "forebeam results", "files": ["results.json"]}'
    )
    words = "has no readable files.json, .*; give another folder with --out, or remove this one by hand"
    with pytest.raises(InputFault, match=words):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert tree(tmp_path) == {"out/results.json"}


def test_what_was_edited_is_kept(tmp_path):
    """A table that somebody corrected by hand is not replaced, nor is anything beside it; removed by hand, it is not missed."""
    write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt"))
    (tmp_path / "out/sub/b.txt").write_text("corrected")
    words = "out: contains 'sub/b.txt', which was changed since the last run wrote it; give another folder"
    with pytest.raises(InputFault, match=words):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert (tmp_path / "out/sub/b.txt").read_text() == "corrected"
    assert tree(tmp_path) == {"out/a.txt", "out/sub/b.txt", "out/files.json"}
    (tmp_path / "out/sub/b.txt").unlink()
    write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/c.txt", "out/files.json"}


def test_what_is_edited_while_a_run_writes_is_kept(tmp_path):
    """The folder is looked at once more when the new one is whole."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))

    def fill(folder):
        (folder / "c.txt").write_text("c")
        (tmp_path / "out/a.txt").write_text("corrected")

    with pytest.raises(InputFault, match=r"'a\.txt', which was changed"):
        write_complete_folder(tmp_path / "out", fill)
    assert (tmp_path / "out/a.txt").read_text() == "corrected"
    assert tree(tmp_path) == {"out/a.txt", "out/files.json"}


@pytest.mark.parametrize(
    "name",
    ["/{}/mine.txt", "../mine.txt", "sub/../../mine.txt", "..", ".", "", "link/mine.txt", "\0", "\ud800"],
)
def test_a_forged_record_leads_nowhere(tmp_path, name):
    """Whatever a record names beyond its folder, by dots, as an absolute path or through a link, is never touched, though its
    checksum be right; what only names the own folder again is refused or passed over.
    """
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    (tmp_path / "elsewhere").mkdir()
    for place in (tmp_path, tmp_path / "elsewhere"):
        (place / "mine.txt").write_text("mine")
    if name.startswith("link"):
        (tmp_path / "out" / "link").symlink_to(tmp_path / "elsewhere")
    record = json.loads((tmp_path / "out/files.json").read_text())
    record["sha256"][name.format(tmp_path)] = digest("mine")
    (tmp_path / "out/files.json").write_text(json.dumps(record))
    with suppress(InputFault):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    remove_as_written(tmp_path / "out")
    assert (tmp_path / "mine.txt").read_text() == (tmp_path / "elsewhere/mine.txt").read_text() == "mine"


def test_a_forged_results_file_is_a_changed_file(tmp_path):
    """The list of files in results.json, once what decided, decides nothing: a note named in it is kept, and the forgery too."""

    def fill(folder):
        (folder / "results.json").write_text('{"format": "forebeam results", "files": []}')

    write_complete_folder(tmp_path / "out", fill)
    (tmp_path / "out/my notes.txt").write_text("mine")
    forged = '{"format": "forebeam results", "files": ["my notes.txt"]}'
    (tmp_path / "out/results.json").write_text(forged)
    for gone in ("", "my notes.txt"):
        if gone:
            (tmp_path / "out" / gone).rename(tmp_path / gone)
        with pytest.raises(
            InputFault, match=r"'my notes\.txt', which is not|'results\.json', which was changed"
        ):
            write_complete_folder(tmp_path / "out", fill)
    assert (tmp_path / "out/results.json").read_text() == forged


def test_an_empty_folder_within_a_report_is_kept(tmp_path):
    """Somebody made it; one that the run itself left empty does not come to the report."""

    def fill(folder):
        (folder / "a.txt").write_text("a")
        (folder / "empty" / "er").mkdir(parents=True)

    write_complete_folder(tmp_path / "out", fill)
    write_complete_folder(tmp_path / "out", fill)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a.txt", "files.json"]
    (tmp_path / "out" / "mine").mkdir()
    with pytest.raises(InputFault, match="contains the folder 'mine', which is not part"):
        write_complete_folder(tmp_path / "out", fill)
    assert (tmp_path / "out" / "mine").is_dir()


def test_a_pipe_in_place_of_a_file_is_not_waited_for(tmp_path):
    """What is no file is not as a run wrote it; nothing is read from it."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    (tmp_path / "out/a.txt").unlink()
    os.mkfifo(tmp_path / "out/a.txt")
    with pytest.raises(InputFault, match=r"'a\.txt', which was changed"):
        write_complete_folder(tmp_path / "out", filled("c.txt"))


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
from cases.report import folder
from cases.report.folder import scratch, write_complete_folder
from cases.report.record import remove_as_written
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
        assert tree(tmp_path / "out") == {"a.txt", "files.json"}
    finally:
        other.send_signal(signal.SIGKILL)
        other.wait()
        other.stdout.close()
    assert any(path.endswith("half.txt") for path in tree(tmp_path))
    write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert tree(tmp_path) == {"out/c.txt", "out/files.json"}


def test_a_report_that_stepped_aside_when_the_run_was_killed_comes_back(tmp_path):
    """Killed between two renames, where the system cannot exchange, the earlier report is beside its place: it comes back."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    place = tmp_path / ".out-0123abcd"
    place.mkdir()
    (place / "unfinished").write_text(place.name)
    (tmp_path / "out").rename(place / "earlier")
    with pytest.raises(KeyboardInterrupt):
        write_complete_folder(tmp_path / "out", interrupted)
    assert tree(tmp_path) == {"out/a.txt", "out/files.json"}


KILLED = """
import os, signal, sys
from pathlib import Path
from cases.report import folder

def fill(new):
    (new / "sub").mkdir()
    for name in ("a.txt", "sub/b.txt"):
        (new / name).write_text(sys.argv[2])
    (folder.scratch(new) / "scene.npz").write_text("scratch")

if sys.argv[3] == "stepwise":
    folder.exchanged = lambda one, other: False
top, steps = Path(sys.argv[1]), ("open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.listdir", "os.scandir")
for end in range(1, 400):
    if (child := os.fork()) == 0:
        done = 0
        def count(event, arguments):
            global done
            if event in steps and str(top) in str(arguments) or event.startswith("ctypes.dlsym"):
                done += 1
                if done == end:
                    os.kill(os.getpid(), signal.SIGKILL)
        sys.addaudithook(count)
        folder.write_complete_folder(top / str(end) / "out", fill)
        os._exit(0)
    if os.waitpid(child, 0)[1] == 0:
        break
print(end - 1)
"""


@pytest.mark.parametrize("how", ["exchanged", "stepwise"])
def test_killed_at_any_step_there_is_the_old_report_or_the_new_one_and_the_next_run_works(tmp_path, how):
    """SIGKILL before each step on the disk in turn: at its place is a whole report, or, where the system cannot exchange folders,
    the old one for a moment beside it; the next run leaves its own and nothing else.
    """

    def report(text):
        def fill(folder):
            (folder / "sub").mkdir()
            for name in ("a.txt", "sub/b.txt"):
                (folder / name).write_text(text)

        return fill

    for number in range(1, 400):
        write_complete_folder(tmp_path / str(number) / "out", report("old"))
    command = [sys.executable, "-c", KILLED, str(tmp_path), "new", how]
    done = subprocess.run(command, env=module_environment(), capture_output=True, text=True, check=True)
    steps = int(done.stdout)
    assert steps > 30
    seen = []
    for number in range(1, steps + 1):
        place = tmp_path / str(number)
        if (place / "out").exists():
            assert tree(place / "out") == {"a.txt", "sub/b.txt", "files.json"}
            texts = {(place / "out" / name).read_text() for name in ("a.txt", "sub/b.txt")}
        else:
            [beside] = place.glob(".out-*/earlier")
            texts = {(beside / name).read_text() for name in ("a.txt", "sub/b.txt")} | {"aside"}
        assert texts in ({"old"}, {"new"}, {"old", "aside"})
        seen.append(texts)
        with pytest.raises(KeyboardInterrupt):
            write_complete_folder(place / "out", interrupted)
        assert tree(place) == {"out/a.txt", "out/sub/b.txt", "out/files.json"}
        write_complete_folder(place / "out", report("next"))
        assert tree(place) == {"out/a.txt", "out/sub/b.txt", "out/files.json"}
        assert [path.name for path in place.iterdir()] == ["out"]
    assert {"old"} in seen
    assert {"new"} in seen
    assert ({"old", "aside"} in seen) == (how == "stepwise")


def test_what_is_named_alike_is_kept(tmp_path, monkeypatch):
    """Neither a file, nor a folder of another name, without its mark or unreadable, is taken for what a killed run left."""
    (tmp_path / ".out-0123abcd").write_text("mine")
    kept = {".out-0123abcd"}
    for name, mark in ((".out-mine", None), (".out-89abcdef", None), (".out-89abcde0", ".out-89abcdef")):
        (tmp_path / name / "report").mkdir(parents=True)
        (tmp_path / name / "report" / "mine.txt").write_text("mine")
        kept.add(f"{name}/report/mine.txt")
        if mark is not None:
            (tmp_path / name / "unfinished").write_text(mark)
            kept.add(f"{name}/unfinished")
    listed = os.listdir

    def refusing(path):
        if str(path).endswith(".out-89abcdef"):
            raise PermissionError(13, "Permission denied")
        return listed(path)

    monkeypatch.setattr(os, "listdir", refusing)
    write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert tree(tmp_path) == kept | {"out/a.txt", "out/files.json"}


@pytest.mark.parametrize("name", ["report", "earlier", "scratch"])
def test_a_link_in_what_a_killed_run_left_is_not_followed(tmp_path, name):
    """Whoever puts a link to another report there, even to one of nothing but its record, does not have it removed or moved."""
    place = tmp_path / ".out-0123abcd"
    place.mkdir()
    (place / "unfinished").write_text(place.name)
    for number, other in enumerate((filled("mine.txt"), filled())):
        mine = write_complete_folder(tmp_path / f"mine {number}", other)
        before = tree(mine)
        (place / name).symlink_to(mine)
        write_complete_folder(tmp_path / "out", filled("a.txt"))
        assert tree(mine) == before
        (place / name).unlink()


@pytest.mark.parametrize(
    ("number", "cure"),
    [
        (errno.ENOSPC, "make room on that disk, then run this again"),
        (errno.EDQUOT, "make room on that disk, then run this again"),
        (errno.EFBIG, "raise the limit on the size of files"),
        (errno.EACCES, "give a folder that can be written to with --out"),
    ],
)
def test_what_the_disk_refuses_has_its_own_cure_and_loses_nothing(tmp_path, number, cure):
    """A full disk is not cured by permissions. The earlier report stays, and nothing else."""
    write_complete_folder(tmp_path / "out", filled("a.txt"))

    def fill(folder):
        (folder / "half.txt").write_text("half")
        (scratch(folder) / "scene.npz").write_text("scratch")
        raise OSError(number, os.strerror(number))

    with pytest.raises(InputFault, match=rf"out: cannot be written \({os.strerror(number)}\); {cure}"):
        write_complete_folder(tmp_path / "out", fill)
    assert tree(tmp_path) == {"out/a.txt", "out/files.json"}


def test_a_folder_that_cannot_be_listed_is_kept(tmp_path, monkeypatch):
    """What cannot be seen may be anything: the run is refused."""
    write_complete_folder(tmp_path / "out", filled("a.txt", "sub/b.txt"))
    listed = os.scandir

    def scandir(path):
        if str(path).endswith("sub"):
            raise PermissionError(13, "Permission denied")
        return listed(path)

    monkeypatch.setattr(os, "scandir", scandir)
    with pytest.raises(
        InputFault, match=r"out: contains what cannot be read \(Permission denied\); give another"
    ):
        write_complete_folder(tmp_path / "out", filled("c.txt"))
    assert (tmp_path / "out/sub/b.txt").is_file()


def test_a_loop_of_links_is_refused(tmp_path):
    """A place that leads to itself is a sentence."""
    (tmp_path / "out").symlink_to(tmp_path / "out")
    with pytest.raises(InputFault, match="out: is a symbolic link that leads to itself; give another"):
        write_complete_folder(tmp_path / "out", filled("a.txt"))
    assert (tmp_path / "out").is_symlink()
