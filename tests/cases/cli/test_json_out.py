"""Whatever a command prints as JSON is JSON, whatever the numbers: neither NaN nor an infinity, which JSON lacks.

The commands are those that have `--json`, found in the command line itself; one that is not in `ASKED` turns a test red. On boats
that carry nothing no margin, no life and no load factor has an end.
"""

import ast
import json
import math

import pytest
import tomlkit

from cases.cli.commands import forebeam, main
from tests.cases.analyses.synthetic_test import blank, read
from tests.cases.analyses.synthetic_test import boat as boat_on_test
from tests.cases.analyses.test_fatigue_life import glued
from tests.cases.report import wide_boat
from tests.models.boats import ROOT, tables

STILL = {"name": "still", "kind": "racking", "force": "0 N"}
SLACK = {"name": "slack", "kind": "rig", "tension": "0 N", "rake": "0 deg"}
STIFFER = {"name": "stiffer", "set": {"crossbeam": {"GJ": "1 MN*m**2"}}}
BOATS = {
    "nothing acts, life without end": {
        "joints": [glued(), {"name": "rigid", "kind": "rigid"}, {"name": "pin", "kind": "pinned", "axis": [1, 0, 0]}],
        "cases": [STILL, SLACK], "variants": [STIFFER],
        "service": {"distance": "1000 nmi", "count": 1e4, "case": "still"},
    },
    "a slack stay alone": {"joints": [{"name": "rigid", "kind": "rigid"}], "cases": [SLACK], "variants": [STIFFER]},
}  # fmt: skip
BAR = """
title = "bar"
source = "by hand"
seen = "derived"
note = "none"
[materials.steel]
E = "210 GPa"
nu = 0.3
[sections.tube]
shape = "tube"
diameter = "90 mm"
wall = "4 mm"
[nodes]
a = "0 0 0 m"
b = "1 0 0 m"
[[beams]]
name = "ab"
from = "a"
to = "b"
section = "tube"
material = "steel"
[[supports]]
node = "a"
fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]
"""
FRAMES = {
    "no load": '[[cases]]\nname = "none"\nbuckling = 2\n',
    "pulled, which never buckles": '[[cases]]\nname = "pull"\nbuckling = 2\n[[cases.point]]\nnode = "b"\nforce = "1 0 0 kN"\n',
    "second order without load": '[[cases]]\nname = "none"\nsecond_order = true\n',
    "nothing expected of it": '[[cases]]\nname = "none"\n[[expect]]\ncase = "none"\nat = "b"\nquantity = "uz"\nvalue = "0 mm"\n'
    'tolerance = "1 mm"\n',
}  # fmt: skip
ASKED = {"frame", "verify", "size", "compare", "uncertainty", "plan-test", "calibrate"}


def printed(capsys, *arguments):
    """What a command prints, as JSON without NaN and infinities, and its status."""
    with pytest.raises(SystemExit) as ended:
        main([str(one) for one in arguments])
    shown = capsys.readouterr()
    assert "Traceback" not in shown.err
    return json.loads(shown.out, parse_constant=pytest.fail), ended.value.code


def numbers(value):
    """All of them, at any depth."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [one for each in value for one in numbers(each)]
    return [value] if isinstance(value, int | float) else []


def test_every_command_with_json_is_asked():
    """By the options of the command line."""
    having = {
        name
        for name, command in forebeam.commands.items()
        if any("--json" in one.opts for one in command.params)
    }
    assert having == ASKED


@pytest.fixture(params=BOATS)
def boat(request, tmp_path):
    """A boat's file."""
    path = tmp_path / "boat.toml"
    path.write_text(
        tomlkit.dumps(tables(inboard=0.4, station=3.5, height=0.3) | BOATS[request.param]), encoding="utf-8"
    )
    return path


@pytest.mark.parametrize(
    "asked", [("size",), ("compare",), ("uncertainty", "--samples", "64")], ids=lambda asked: asked[0]
)
def test_json_of_a_boat_that_carries_nothing(capsys, boat, asked):
    """Margins, lives and chances of nothing."""
    command, *options = asked
    found, status = printed(capsys, command, boat, "--json", *options)
    assert status == 0
    assert found


def test_results_of_a_boat_that_carries_nothing(boat, tmp_path):
    """`results.json` likewise, with its schema and the list of files."""
    with pytest.raises(SystemExit) as ended:
        main(["run", str(boat), "--no-pictures", "--out", str(tmp_path / "out")])
    assert ended.value.code == 0
    files = sorted((tmp_path / "out").rglob("*.json"))
    assert len(files) >= 2
    for path in files:
        json.loads(path.read_text(encoding="utf-8"), parse_constant=pytest.fail)


@pytest.mark.parametrize("name", FRAMES)
def test_json_of_a_frame_without_an_end(capsys, tmp_path, name):
    """Load factors that do not exist are left out or null; everything else is a number."""
    path = tmp_path / "bar.toml"
    path.write_text(BAR + FRAMES[name], encoding="utf-8")
    found, status = printed(capsys, "frame", path, "--json")
    assert status == 0
    (case,) = found["cases"].values()
    assert all(math.isfinite(one) for one in numbers(case))
    assert len(numbers(case)) >= 36


@pytest.mark.parametrize("size", [1.0, 0.0], ids=["a test", "gauges that all read 0"])
def test_json_of_a_test_on_the_boat(capsys, tmp_path, size):
    """Planned and fitted, on a boat whose case is nothing."""
    boat, test = tmp_path / "boat.toml", tmp_path / "test.toml"
    raw = boat_on_test().raw | {"cases": [STILL]}
    boat.write_text(tomlkit.dumps(raw), encoding="utf-8")
    made = read(blank(), boat_on_test(), {"joint_pitch": 0.6}, seed=8) if size else blank()
    test.write_text(tomlkit.dumps(as_file(made)), encoding="utf-8")
    plan, status = printed(capsys, "plan-test", boat, "--json")
    assert (status, bool(plan)) == (0, True)
    found, status = printed(capsys, "calibrate", boat, test, "--json")
    assert status == 0
    assert found["joint_loads"] == [{"case": "still", "torque": [0, 0], "bending": [0, 0]}]


def as_file(made):
    """Tables of a test with their units as text, as a file has them."""
    units = {"height": "m", "inclination": "rad", "turn": "rad"}
    tests = []
    for one in made["tests"]:
        of = {gauge["name"]: units[gauge["kind"]] for gauge in one["gauges"]}
        gauges = [
            gauge | {"scatter": f"{gauge['scatter']!r} {units[gauge['kind']]}"} for gauge in one["gauges"]
        ]
        steps = [
            {
                "up": {place: f"{force!r} N" for place, force in step["up"].items()},
                "readings": {
                    name: f"{float(value)!r} {of[name]}" for name, value in step["readings"].items()
                },
            }
            for step in one["steps"]
        ]
        tests.append(one | {"gauges": gauges, "steps": steps})
    return made | {"tests": tests}


def test_json_of_a_boat_with_everything(capsys, tmp_path):
    """Platform, waves, variants, glue, scatter: every kind of result there is."""
    path = tmp_path / "wide.toml"
    path.write_text(tomlkit.dumps(wide_boat.boat().raw), encoding="utf-8")
    for command in ("size", "compare"):
        found, _ = printed(capsys, command, path, "--json")
        assert len(numbers(found)) > 50


def test_json_of_the_textbook_cases(capsys):
    """Every value of every case."""
    found, status = printed(capsys, "verify", "--json")
    assert status == 0
    assert len(numbers(found)) > 1000


NOT_WRITTEN = {
    "cases/page/answer.py": "the key of what is remembered",
    "cases/page/student.py": "the key of what is remembered",
    "cases/input/variants.py": "a key in quotation marks",
    "cases/analyses/sweeps/plan.py": "the boat's own text, which was read, and what is hashed",
}
"""Modules whose JSON is no output, and what it is."""


def test_json_that_is_written_never_holds_what_json_lacks():
    """By their text: `json.dumps` of the program refuses NaN and infinities wherever it makes output."""
    refusing = 0
    for path in (one for house in ("cases", "models", "femcore") for one in (ROOT / house).rglob("*.py")):
        name = path.relative_to(ROOT).as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and ast.unparse(node.func) in {"json.dumps", "json.dump"}
                and name not in NOT_WRITTEN
            ):
                given = {one.arg: ast.unparse(one.value) for one in node.keywords}
                assert given.get("allow_nan") == "False", f"{name}:{node.lineno}"
                refusing += 1
    assert refusing >= 7
