"""Numbers that are none: refused where an option gives one, null where JSON would hold one; a text is no formula."""

import csv
import io
import json
import math
import os
import signal
import subprocess

import pytest

from cases.analyses.sizing import size_boat
from cases.cli import commands
from cases.input.boat_file import read_boat_file
from cases.report.tables.table import Column, Table
from femcore.base.errors import InputFault
from femcore.base.process import module_command, module_environment
from femcore.base.written import plain_json
from tests.models.boats import FILES


def ended(*arguments):
    """The exit status of a command."""
    with pytest.raises(SystemExit) as end:
        commands.main([*arguments])
    return end.value.code


@pytest.mark.parametrize("number", ["nan", "inf", "-inf", "NaN"])
def test_a_margin_that_is_no_number_is_refused(capsys, number):
    """No margin is below NaN, so that every joint would pass."""
    assert ended("size", str(FILES["demo"]), "--margin", number) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_margin_that_is_no_number_is_refused_from_python():
    """As on the command line."""
    with pytest.raises(InputFault, match="target: nan is not finite"):
        size_boat(read_boat_file(FILES["demo"]), math.nan)


def test_json_holds_no_infinity():
    """JSON has neither infinity nor NaN: they are null wherever they are, and all else is as it was."""
    given = {"a": [1.0, math.inf, (math.nan, "x")], "b": {"c": -math.inf, "d": None, "e": 3, "f": True}}
    found = json.loads(plain_json(given), parse_constant=pytest.fail)
    assert found == {"a": [1.0, None, [None, "x"]], "b": {"c": None, "d": None, "e": 3, "f": True}}


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-lug", "@SUM(A1)", " =1"])
def test_a_name_is_no_formula_in_a_spreadsheet(name):
    """A cell of text that would be worked out is text, and a negative number stays a number."""
    table = Table("t", "T", (Column("joint"), Column("load", "N")), ((name, -2.5), ("lug", 1.0)))
    rows = [*csv.reader(io.StringIO(table.csv()))]
    assert rows[1] == [f"'{name.strip()}", "-2.5"]
    assert rows[2] == ["lug", "1.0"]


def test_a_request_to_end_is_taken_as_an_interrupt(capsys, monkeypatch):
    """SIGTERM ends with 130 and a sentence, by way of what Ctrl-C does, and the process has its own answer to it afterwards."""
    before = signal.getsignal(signal.SIGTERM)
    monkeypatch.setattr(commands.forebeam, "main", lambda **_: signal.raise_signal(signal.SIGTERM))
    assert ended("check", "x.toml") == 130
    assert "stopped" in capsys.readouterr().err
    assert signal.getsignal(signal.SIGTERM) is before


def test_a_boat_whose_name_no_encoding_holds_is_reported(tmp_path):
    """A file's name in another encoding than the terminal's, and a terminal of ASCII: results are written, and it ends with 0."""
    path = os.fsdecode(bytes(tmp_path) + b"/d\xe9 mo.toml")
    with open(path, "w", encoding="utf-8") as target:  # noqa: PTH123  (as any program makes a file)
        target.write(FILES["short_bowed"].read_text(encoding="utf-8"))
    joint = read_boat_file(FILES["short_bowed"]).joints[0].name
    command = [*module_command("cases.cli.commands"), "run", path, "--no-pictures", "--joint", joint]
    done = subprocess.run(
        [*command, "--out", str(tmp_path / "out")],
        env=module_environment() | {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        capture_output=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (
        "d\ufffd mo.toml" in json.loads((tmp_path / "out/results.json").read_text(encoding="utf-8"))["source"]
    )
