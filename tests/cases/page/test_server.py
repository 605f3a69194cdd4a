"""The page's server: what it refuses, and what it answers to its own page."""

import asyncio
import os
import signal
import socket
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlsplit

import httpx
import numpy as np
import psutil
import pytest

from cases.page.guard import HEADERS, MAX_BODY
from cases.page.report_job import ReportJob
from cases.page.server import application
from cases.page.state import OpenedFile
from femcore.base.errors import StructureFault
from tests.cases.page.conftest import DEMO, served

ASKED = {"page": "0123456789abcdef", "number": 0, "joint": "taped socket", "changes": {}, "depth": "quick"}


def test_a_foreign_host_is_refused(address, client):
    """A name of its own that another page has made to lead to this machine is another Host, though the token be right."""
    port = urlsplit(address).port
    for host in ("forebeam.example", f"evil.example:{port}", "127.0.0.1", f"127.0.0.1:{port + 1}"):
        answer = client.get("", headers={"Host": host})
        assert answer.status_code == 403
        assert "foreign Host" in answer.text
    assert client.get("", headers={"Host": f"localhost:{port}"}).status_code == 200


def test_a_foreign_origin_is_refused(client):
    """Another page may know neither, but even with Host and token its Origin gives it away."""
    for origin in ("http://evil.example", "null", "http://127.0.0.1:1", "https://127.0.0.1"):
        answer = client.post("builder/answer", json=ASKED, headers={"Origin": origin})
        assert answer.status_code == 403
    assert client.get("tabs", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403


def test_without_the_token_nothing_is_served(address):
    """The token is the first part of every path; one that is nearly right is wrong."""
    parts = urlsplit(address)
    whole = parts.path.strip("/")
    assert len(whole) >= 32
    for path in ("/", "/tabs", f"/{whole[:-1]}/", f"/{whole}x/tabs", "//", f"/x/{whole}/"):
        answer = httpx.get(f"http://{parts.netloc}{path}", trust_env=False)
        assert answer.status_code == 403
        assert whole not in answer.text


def test_it_listens_on_the_loopback_alone(address):
    """Every other address of this machine refuses the port."""
    port = urlsplit(address).port
    with socket.create_connection(("127.0.0.1", port), timeout=5):
        pass
    with pytest.raises(OSError, match="refused"), socket.create_connection(("127.0.0.2", port), timeout=5):
        pass


def test_every_answer_forbids_what_comes_from_elsewhere(client):
    """Headers are on pages, on JSON and on refusals."""
    refused = client.get("", headers={"Host": "evil.example"})
    for answer in (client.get(""), client.get("tabs"), client.get("page.js"), refused):
        for name, value in HEADERS.items():
            assert answer.headers[name] == value
    assert "default-src 'none'" in HEADERS["Content-Security-Policy"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b'{"page": NaN}',
        b"[" * 100_000,
        b'{"page": "x", "number": 0, "joint": "rigid"}',
        b'{"page": "0123456789abcdef", "number": -1, "joint": "rigid"}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "more": 1}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "no such joint"}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "changes": {"stay": {"up": "1 kg"}}}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "changes": {"a.b.c": 1e400}}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "changes": {"stay.up": "\\u0000"}}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "changes": {"": 1}}',
        b'{"page": "0123456789abcdef", "number": 0, "joint": "rigid", "changes": {"cases": []}}',
    ],
)
def test_a_malformed_message_is_refused_in_a_sentence(client, body):
    """Whatever comes, the answer is a sentence, and the next question is answered."""
    answer = client.post("builder/answer", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert all(fault["words"] for fault in answer.json()["faults"])
    assert client.get("tabs").status_code == 200


def test_a_message_that_is_too_large_is_refused_announced_or_not(client):
    """By its length where it is given, else while it comes."""
    as_json = {"Content-Type": "application/json"}
    announced = client.post("builder/answer", content=b"0" * (MAX_BODY + 1), headers=as_json)
    assert announced.status_code == 413

    def pieces():
        for _ in range(MAX_BODY // 65536 + 2):
            yield b"0" * 65536

    assert client.post("builder/answer", content=pieces(), headers=as_json).status_code == 413
    assert (
        client.post("builder/answer", content=b"{}", headers={"Content-Type": "text/plain"}).status_code
        == 415
    )


def test_assets_are_those_of_the_page_alone(client):
    """No path leads out of the folder."""
    for path in ("nothing.js", "..%2fserver.py", "%2e%2e/server.py", "__init__.py", "..%5cserver.py"):
        assert client.get(path).status_code in (403, 404)
    assert "text/javascript" in client.get("page.js").headers["content-type"]


def test_an_interrupt_ends_it_cleanly():
    """Ctrl-C: a word, status 0, nothing on standard error, and the port is free."""
    with served() as (running, address):
        assert httpx.get(f"{address}tabs", trust_env=False).status_code == 200
        running.send_signal(signal.SIGINT)
        said, complained = running.communicate(timeout=20)
        assert running.returncode == 0
        assert "page ended" in said
        assert complained == ""
        with pytest.raises(httpx.ConnectError):
            httpx.get(address, trust_env=False)


def test_the_file_is_never_written_to(client):
    """The changed text is handed out; the file stays."""
    before = DEMO.read_bytes()
    asked = {**ASKED, "changes": {"stay.up": "170 mm"}}
    del asked["joint"], asked["depth"]
    assert 'up = "170 mm"' in client.post("builder/text", json=asked).text
    assert before == DEMO.read_bytes()


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_a_page_that_is_killed_while_it_writes_a_report_leaves_nothing_for_long(tmp_path):
    """The process that writes the report ends with the server, and those that draw for it; its folder goes with the next page."""
    with served(TMPDIR=str(tmp_path)) as (running, address):
        asked = {name: ASKED[name] for name in ("page", "number", "changes")}
        assert httpx.post(f"{address}builder/report", json=asked, trust_env=False).status_code == 200
        children = psutil.Process(running.pid).children(recursive=True)
        assert children
        running.send_signal(signal.SIGKILL)
    _, alive = psutil.wait_procs(children, timeout=30)
    assert not alive
    [left] = tmp_path.iterdir()
    with served(TMPDIR=str(tmp_path)) as (running, _):
        assert left not in list(tmp_path.iterdir())
        running.send_signal(signal.SIGINT)
        running.communicate(timeout=20)
    assert list(tmp_path.iterdir()) == []


def test_fifty_tabs_are_answered_and_each_gets_its_own(client):
    """Asked at once by fifty pages with a change each, the server answers each with what its change makes, and then the next."""

    def of_tab(number):
        changes = {"cases.racking.force": f"{1 + number % 5} kN"}
        asked = ASKED | {"page": f"{number:016x}", "joint": "bolted lugs", "changes": changes}
        answer = client.post("builder/answer", json=asked)
        assert answer.status_code == 200
        return {row["name"]: row["load"]["port"][4] for row in answer.json()["cases"]}

    with ThreadPoolExecutor(50) as tabs:
        found = list(tabs.map(of_tab, range(50)))
    assert found == [found[number % 5] for number in range(50)]
    torque = [one["racking"] for one in found[:5]]
    assert np.ptp(np.diff(torque)) < 1e-6 * abs(
        torque[0]
    )  # linear in the force: each has the answer of its own change
    assert len(set(torque)) == 5
    assert client.get("tabs").status_code == 200


def test_of_many_questions_of_one_page_the_newest_is_answered(client):
    """A slider that is dragged asks faster than is computed: what has become stale is given up, the last one never."""

    def asked(number):
        changes = {"cases.racking.force": f"{1 + number / 7:.6g} kN"}
        return client.post(
            "builder/answer", json=ASKED | {"page": "f" * 16, "number": number, "changes": changes}
        ).status_code

    with ThreadPoolExecutor(30) as tabs:
        found = list(tabs.map(asked, range(1000, 1030)))
    assert set(found) <= {200, 409}
    assert found[-1] == 200
    assert 409 in found


@pytest.mark.parametrize("trouble", [ZeroDivisionError, MemoryError, StructureFault("it does not settle")])
def test_a_solve_that_fails_in_the_middle_is_one_answer_lost(monkeypatch, trouble):
    """Whatever the computation ends in, the question has a status and a sentence, and the next question its answer."""

    def fails(*_):
        raise trouble

    report = ReportJob()
    server = application(OpenedFile(DEMO), 1, "token", report)
    transport = httpx.ASGITransport(server, raise_app_exceptions=False)

    async def statuses():
        async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:1/token/") as own:
            with monkeypatch.context() as broken:
                broken.setattr("cases.page.builder.answer", fails)
                first = await own.post("builder/answer", json=ASKED)
            return first, await own.post("builder/answer", json=ASKED | {"number": 1})

    with ThreadPoolExecutor(1) as beside:  # the browser of other tests has this thread's loop
        first, second = beside.submit(asyncio.run, statuses()).result()
    report.close()
    assert first.status_code == (422 if isinstance(trouble, StructureFault) else 500)
    assert "settle" in first.text or first.text == "Internal Server Error"
    assert second.status_code == 200
    assert second.json()["joint"] == ASKED["joint"]
