"""What a sweep leaves on the disk is whole, is resumed, and is the same to the last bit however it came about."""

import contextlib
import csv
import errno
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pandas as pd
import psutil
import pyarrow.parquet as pq
import pytest

from cases.analyses.sweeps.dataset import SweepFolder
from cases.analyses.sweeps.plan import program
from cases.analyses.sweeps.run import run_sweep
from cases.analyses.sweeps.runners import in_this_process, on_cores
from cases.cli.commands import main
from cases.cli.sweep_output import summary_lines
from femcore.base.errors import InputFault
from tests.cases.analyses.sweeps.sweep_boat import BOAT, GRID, assert_serial, expected, grid_of, plan_of

ROOT = Path(__file__).resolve().parents[4]


def known(plan, numbers):
    """A runner that has the chunks already."""
    assert plan == plan_of()
    yield from ((number, expected(number)) for number in numbers)


def files(tmp_path):
    """Boat and grid as files."""
    boat, grid = tmp_path / "boat.toml", tmp_path / "grid.toml"
    boat.write_text(BOAT)
    grid.write_text(GRID)
    return boat, grid


def test_a_finished_sweep_is_read_by_others(tmp_path):
    """pandas reads all rows of the folder; the manifest names every file, row, column and unit; the CSV has the same numbers."""
    done = run_sweep(plan_of(), tmp_path / "out", known, csv=True)
    assert (done.designs, done.rows, done.worked_out, done.without_answer.total()) == (8, 16, 8, 0)
    read = pd.read_parquet(tmp_path / "out" / "designs").sort_values(["design", "joint"], ignore_index=True)
    assert list(read["design"]) == [n for n in range(8) for _ in range(2)]
    pd.testing.assert_frame_equal(read, done.to_pandas().sort_values(["design", "joint"], ignore_index=True))
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text())
    assert [part["rows"] for part in manifest["parts"]] == [4] * 4
    assert sum(part["bytes"] for part in manifest["parts"]) == sum(
        f.stat().st_size for f in done.dataset.iterdir()
    )
    units = {column["name"]: column.get("unit") for column in manifest["columns"]}
    assert list(units) == done.table().column_names
    assert (units["joints.'=socket'.pitch"], units["torque"], units["crossbeam.height"]) == (
        "N*m/rad",
        "N·m",
        "m",
    )
    with (tmp_path / "out" / "designs.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["torque, N·m"]) for row in rows] == done.table()["torque"].to_pylist()
    assert {row["joint"] for row in rows} == {"'=socket", "pin"}  # a spreadsheet would work out =socket


def test_the_summary_is_that_of_the_table(tmp_path):
    """Each joint's range of margins over all chunks and where the highest is; how many rows lack an answer, and why."""
    done = run_sweep(plan_of(), tmp_path / "out", known)
    rows = done.to_pandas()
    best = done.best()
    assert set(best) == {"=socket", "pin"}
    for name, of_joint in rows.groupby("joint"):
        margin = of_joint["governing_margin"]
        assert (best[name].margin, best[name].lowest) == (margin.max(), margin.min())
        assert rows.loc[margin.idxmax(), "design"] == best[name].design
    lines = list(summary_lines(done))
    assert lines[0] == "8 designs × 2 joints: 16 rows with an answer."
    assert f"highest in design {best['pin'].design}." in lines[2]
    lacking = replace(done, without_answer=Counter({"slack": 3, "loose": 1}), worked_out=6)
    lines = list(summary_lines(lacking))
    assert lines[0] == "8 designs × 2 joints: 12 rows with an answer, 4 without."
    assert lines[1:4] == [
        "2 designs had been worked out before.",
        "  3 without: slack",
        "  1 without: loose",
    ]


def test_only_what_is_missing_is_done(tmp_path):
    """Stopped after one chunk, the next run does the other three; of a file that is cut short, that one again; then none."""
    asked = []

    def counted(plan, numbers):
        asked.append(list(numbers))
        yield from known(plan, numbers)

    def stopped(plan, numbers):
        yield from known(plan, numbers[:1])
        raise KeyboardInterrupt

    out = tmp_path / "out"
    with pytest.raises(KeyboardInterrupt):
        run_sweep(plan_of(), out, stopped)
    assert not (out / "manifest.json").exists()
    seen = []
    assert run_sweep(plan_of(), out, counted, progress=lambda *of: seen.append(of)).worked_out == 6
    assert seen == [(2, 8), (4, 8), (6, 8), (8, 8)]
    third = sorted((out / "designs").iterdir())[2]
    third.write_bytes(third.read_bytes()[:-200])
    assert run_sweep(plan_of(), out, counted).worked_out == 2
    fourth = sorted((out / "designs").iterdir())[3]
    pq.write_table(expected(2), fourth)  # another chunk's rows
    assert run_sweep(plan_of(), out, counted).worked_out == 2
    assert run_sweep(plan_of(), out, counted).worked_out == 0
    assert asked == [[1, 2, 3], [2], [3], []]
    assert_serial(out / "designs")


@pytest.mark.parametrize(
    ("grid", "boat", "words"),
    [
        (GRID.replace("1.3 m", "1.2 m"), BOAT, "another grid"),
        (GRID, BOAT.replace("40 kN", "41 kN"), "another boat file"),
    ],
)
def test_a_changed_boat_or_grid_does_not_go_on(tmp_path, grid, boat, words):
    """Rows of two boats would stand in one table."""
    run_sweep(plan_of(), tmp_path / "out", known)
    before = {one.name: one.stat().st_mtime_ns for one in (tmp_path / "out").rglob("*")}
    with pytest.raises(InputFault, match=f"was started with {words}; give another folder"):
        run_sweep(plan_of(grid, boat), tmp_path / "out", in_this_process)
    assert {one.name: one.stat().st_mtime_ns for one in (tmp_path / "out").rglob("*")} == before


@pytest.mark.parametrize("name", ["notes.txt", "sweep.json", "results.json"])
def test_a_folder_that_is_no_sweep_is_left_alone(tmp_path, name):
    """Whatever it holds."""
    (tmp_path / name).write_text("{}")
    with pytest.raises(InputFault, match="is not empty and holds no sweep"):
        run_sweep(plan_of(), tmp_path, known)
    assert [one.name for one in tmp_path.iterdir()] == [name]
    with pytest.raises(InputFault, match="is a file"):
        run_sweep(plan_of(), tmp_path / name, known)


def test_what_others_put_into_the_folder_stays(tmp_path):
    """A table that was edited is refused, and nothing else is in the way; a file named like those being written stays;
    what a killed process left goes.
    """
    out = tmp_path / "out"
    run_sweep(plan_of(), out, known, csv=True)
    left, mine = out / "designs" / ".part-000000.parquet-0123456789ab.unfinished", out / "notes.unfinished"
    for path in (left, mine):
        path.write_text("mine")
    run_sweep(plan_of(), out, known, csv=True)
    assert not left.exists()
    assert mine.read_text() == "mine"
    table = out / "designs.csv"
    written = table.read_bytes()
    table.write_bytes(written.replace(b"pin", b"pen"))
    with pytest.raises(InputFault, match=r"designs\.csv: was changed since it was written; move it away"):
        run_sweep(plan_of(), out, known, csv=True)
    assert b"pen" in table.read_bytes()
    table.rename(tmp_path / "edited.csv")
    run_sweep(plan_of(), out, known, csv=True)
    assert table.read_bytes() == written


def test_a_full_disk_loses_nothing(tmp_path, monkeypatch):
    """The third chunk finds no room: one sentence, two whole files and no rest of the third; with room again it goes on."""
    real, calls = os.fsync, []

    def full(descriptor):
        calls.append(descriptor)
        if len(calls) == 4:  # after sweep.json and two chunks
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(descriptor)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        InputFault,
        match=r"cannot be written \(No space left on device\); make room on that disk.*: the chunks .* are kept",
    ):
        run_sweep(plan_of(), tmp_path / "out", known)
    assert sorted(one.name for one in (tmp_path / "out").iterdir()) == ["designs", "sweep.json"]
    assert len(list((tmp_path / "out" / "designs").iterdir())) == 2
    assert run_sweep(plan_of(), tmp_path / "out", known).worked_out == 4
    assert_serial(tmp_path / "out" / "designs")


def test_a_process_of_the_pool_that_is_killed_changes_nothing(tmp_path):
    """Its chunk is done again by another, and the result is that of this process alone, to the last bit."""
    killed = []

    def kill_one(done, _):
        if done and not killed:
            children = []
            for one in psutil.Process().children():
                with contextlib.suppress(psutil.Error):  # what another test ended may still be listed
                    children += [one] if "spawn_main" in " ".join(one.cmdline()) else []
            killed.append(children[0].pid)
            children[0].kill()

    run_sweep(plan_of(), tmp_path / "out", on_cores(2), progress=kill_one)
    assert killed
    assert_serial(tmp_path / "out" / "designs")


def test_a_sweep_that_is_killed_goes_on_where_it_was(tmp_path):
    """SIGKILL once there is a chunk: what is there is whole, no process is left, and what comes after ends as if nothing was."""
    boat, grid = files(tmp_path)
    out = tmp_path / "out"
    command = [
        sys.executable,
        "-m",
        "cases.cli.commands",
        "sweep",
        boat,
        "--grid",
        grid,
        "--out",
        out,
        "--cores",
        "1",
    ]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    first = subprocess.Popen(
        command, cwd=ROOT, env=environment, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
    )
    try:
        while first.poll() is None and not list(out.glob("designs/*.parquet")):
            time.sleep(0.01)
        processes = psutil.Process(first.pid).children(recursive=True)
    finally:
        with contextlib.suppress(ProcessLookupError):
            first.send_signal(signal.SIGKILL)
        first.wait()
    _, alive = psutil.wait_procs(processes, timeout=20)
    assert not alive
    assert not (out / "manifest.json").exists()
    there = list(out.glob("designs/*.parquet"))
    assert 1 <= len(there) < grid_of().chunks
    assert all(pq.read_metadata(one).num_rows == 4 for one in there)
    assert run_sweep(plan_of(), out, known).worked_out == 2 * (grid_of().chunks - len(there))
    assert_serial(out / "designs")


def test_faults_of_a_command_are_sentences(tmp_path, capsys):
    """A boat, grid or folder at fault ends with 2 and a sentence; nothing is begun."""
    boat, grid = files(tmp_path)
    grid.write_text(GRID.replace("crossbeam.height", "crossbeam.hight"))
    for arguments, words in (
        ((boat, "--grid", grid), "did you mean 'height'?"),
        ((boat, "--grid", tmp_path / "none.toml"), "does not exist"),
        ((grid, "--grid", grid), "has neither [bows] nor [nodes]"),
    ):
        with pytest.raises(SystemExit) as ended:
            main(["sweep", *map(str, arguments), "--out", str(tmp_path / "out")])
        assert ended.value.code == 2
        assert words in capsys.readouterr().err
        assert not (tmp_path / "out").exists()


def test_another_version_does_not_go_on(tmp_path):
    """Nor does the same version with another source, as between two commits."""
    run_sweep(plan_of(), tmp_path / "out", known)
    other = replace(plan_of(), program=plan_of().program[:-1] + "x")
    with pytest.raises(InputFault, match="was started with another program"):
        run_sweep(other, tmp_path / "out", in_this_process)
    assert re.fullmatch(r"[\d.]+\S*\+[0-9a-f]{12}", program())


def test_a_folder_knows_its_files_by_content():
    """Another grid, boat or version gives other names."""
    other = plan_of(GRID.replace("1.3 m", "1.2 m"))
    names = {
        SweepFolder(Path("x"), plan).part(0).name
        for plan in (plan_of(), other, plan_of(GRID, BOAT + "# same\n"))
    }
    assert len(names) == 2
