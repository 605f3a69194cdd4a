"""A sweep on a cluster of two workers, one of which is killed, is the serial result to the last bit."""

import json
import os
import signal
import sys

import pytest

from cases.analyses.sweeps import runners
from cases.analyses.sweeps.run import run_sweep
from cases.analyses.sweeps.runners import clustered, on_cluster
from femcore.base.errors import InputFault
from tests.cases.analyses.sweeps.sweep_boat import GRID, assert_serial, plan_of

distributed = pytest.importorskip("distributed")
FINE = GRID.replace("designs_per_chunk = 2", "designs_per_chunk = 1")


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_worker_that_is_killed_loses_nothing_and_changes_nothing(tmp_path, monkeypatch):
    """SIGKILL to one of two processes in the middle: its chunks go to the other, and the files are those of one process."""
    clients, killed = [], []
    check = runners._check_versions

    def watched(client, plan):
        check(client, plan)
        clients.append(client)

    monkeypatch.setattr(runners, "_check_versions", watched)

    def kill_one(done, designs):
        if 0 < done < designs and not killed:
            pids = clients[0].run(os.getpid)
            assert len(set(pids.values())) == 2
            killed.append(next(iter(pids.values())))
            os.kill(killed[0], signal.SIGKILL)

    done = run_sweep(plan_of(FINE), tmp_path / "out", on_cluster(workers=2), progress=kill_one)
    assert killed
    assert done.worked_out == 8
    assert_serial(tmp_path / "out" / "designs", FINE)
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text())
    assert [part["designs"] for part in manifest["parts"]] == [[n, n] for n in range(8)]


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_cluster_that_is_not_there_is_a_sentence(tmp_path, monkeypatch):
    """No scheduler at the address; Dask not installed."""
    monkeypatch.setattr(runners, "CONNECTING", 0.5)
    with pytest.raises(InputFault, match=r"there is no cluster at tcp://127.0.0.1:9; start its scheduler"):
        run_sweep(plan_of(), tmp_path / "out", on_cluster("tcp://127.0.0.1:9"))
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputFault, match=r"pip install 'forebeam\[cluster\]'"):
        on_cluster()


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ({"tcp://a": "0.0.9+0"}, "workers have forebeam 0.0.9"),
        (ModuleNotFoundError("cases"), "do not have forebeam"),
    ],
)
def test_workers_of_another_version_are_refused(answer, words):
    """Their results would stand in one table with others."""

    class Client:
        def run(self, _):
            if isinstance(answer, Exception):
                raise answer
            return answer

    with pytest.raises(InputFault, match=words):
        next(clustered(distributed, Client(), plan_of(), [0]))
