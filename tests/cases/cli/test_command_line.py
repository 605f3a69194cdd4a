"""The command line: what it prints, what it writes, and with which status it ends."""

import json
import os
import subprocess
import sys
import tomllib

import pytest

from cases.caution import CAUTION
from cases.cli import commands
from cases.cli.commands import QUESTIONS, main
from cases.input.known_boat import OwnersBoat
from cases.report.folder import write_complete_folder
from cases.verification.textbook import textbook_file
from femcore.base.process import module_environment
from tests.cases.report.report_boat import TEXT
from tests.models.boats import FILES

DEMO = FILES["demo"] if isinstance(FILES, dict) else next(f for f in FILES if "demo" in str(f))
FRAME = textbook_file("cantilever_point_load")


def ended(*arguments):
    """The status with which the command ends."""
    with pytest.raises(SystemExit) as caught:
        main([str(a) for a in arguments])
    return caught.value.code


@pytest.fixture
def with_wrong_value(tmp_path):
    """A frame file of which one expectation cannot be met."""
    text = FRAME.read_text().replace("-50.793650794 mm", "-51.793650794 mm")
    path = tmp_path / "spoiled.toml"
    path.write_text(text)
    return path


def test_a_frame_is_given_as_data(capsys):
    """`frame --json` prints the cases by name, each with nodes and beams of six numbers, and every expectation met."""
    assert ended("frame", FRAME, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    file = tomllib.loads(FRAME.read_text())
    assert list(data["cases"]) == [case["name"] for case in file["cases"]]
    case = data["cases"]["vertical"]
    assert set(case["nodes"]) == set(file["nodes"])
    assert [len(v) for v in case["nodes"]["B"].values()] == [6, 6]
    assert set(case["beams"]["AB"]) == {"start", "end"}
    assert case["nodes"]["A"]["reaction"][2] == pytest.approx(5000)
    assert len(data["expect"]) == len(file["expect"])
    assert all(one["ok"] for one in data["expect"])
    assert set(data["expect"][0]) >= {"case", "at", "quantity", "value", "got", "ok"}


def test_a_frame_is_shown_in_tables(capsys):
    """`frame` shows displacements, reactions, member end forces, and what was expected."""
    assert ended("frame", FRAME) == 0
    shown = capsys.readouterr().out
    assert all(
        word in shown for word in ("displacements", "reactions", "member end forces", "expected", "imbalance")
    )


def test_a_missed_expectation_is_status_1(capsys, with_wrong_value):
    """A value that does not come out ends with 1, and is said to be missed."""
    assert ended("frame", with_wrong_value) == 1
    assert "missed" in capsys.readouterr().out


def test_cables_and_modes_are_given(capsys, tmp_path):
    """A frame with cables gives their tension by name; load factors and frequencies stand beside."""
    text = (
        'title = "t"\n[nodes]\nA = "0 0 0 m"\nT = "0 0 2 m"\nL = "-1 0 0 m"\n'
        '[materials.s]\nE = "210 GPa"\nnu = 0.3\ndensity = "7850 kg/m**3"\n'
        '[sections.t]\nshape = "tube"\ndiameter = "60 mm"\nwall = "3 mm"\n'
        '[[beams]]\nname = "m"\nfrom = "A"\nto = "T"\nsection = "t"\nmaterial = "s"\nup = [1, 0, 0]\ndivide = 4\n'
        '[[cables]]\nname = "guy"\npath = ["L", "T"]\nEA = "2 MN"\n'
        '[[supports]]\nnode = "A"\nfixed = ["ux", "uy", "uz", "rx", "ry", "rz"]\n'
        '[[supports]]\nnode = "L"\nfixed = ["ux", "uy", "uz"]\n'
        '[[cases]]\nname = "c"\nbuckling = 1\nfrequencies = 2\n[[cases.point]]\nnode = "T"\nforce = "1 0 -1 kN"\n'
    )
    path = tmp_path / "guyed.toml"
    path.write_text(text)
    assert ended("frame", path, "--json") == 0
    case = json.loads(capsys.readouterr().out)["cases"]["c"]
    assert case["cables"]["guy"]["tension"] > 0
    assert len(case["buckling"]["factors"]) == 1
    assert len(case["vibration"]["frequencies"]) == 2


def test_a_file_of_the_other_kind_is_told_in_one_sentence(capsys):
    """A boat given as a frame, or a frame as a boat, is one fault that names the right command."""
    assert ended("frame", DEMO) == 2
    assert capsys.readouterr().err.strip().endswith(f"is a boat file; use: forebeam run {DEMO}")
    assert ended("run", FRAME) == 2
    assert capsys.readouterr().err.strip().endswith(f"is a frame file; use: forebeam frame {FRAME}")


@pytest.mark.parametrize("path", [DEMO, FRAME])
def test_check_says_what_it_found(capsys, path):
    """`check` reads either kind of file, says that it reads correctly, and that all of it can be solved."""
    assert ended("check", path) == 0
    first, *_, last = capsys.readouterr().out.strip().split("\n")
    assert first.startswith(f"{path}: reads correctly as a ")
    assert "can be solved" in last


def test_check_lists_what_is_implausible_and_what_has_no_answer(capsys, tmp_path):
    """A rake from the deck is a warning, status 0; a joint free in twist has no answer, and status 3 as `run` would end with."""
    path = tmp_path / "doubtful.toml"
    path.write_text(TEXT.replace('rake = "10 deg"', 'rake = "76 deg"'))
    text = path.read_text()
    assert ended("check", path) == 0
    assert "Warning: case ‘up / down’: the rake is 76° from upright" in capsys.readouterr().out
    path.write_text(text.replace('pitch = "300 kN*m/rad"', 'pitch = "0 N*m/rad"'))
    assert ended("check", path) == 3
    shown = capsys.readouterr().out
    assert "reads correctly" in shown
    assert "has no answer: the crossbeam turns freely about its own axis" in shown
    assert ended("run", path, "--no-pictures") == 3


def test_check_tells_every_fault(capsys, tmp_path):
    """Every fault is a line of its own on standard error, and the status is 2."""
    path = tmp_path / "bad.toml"
    path.write_text(FRAME.read_text().replace("210 GPa", "210 kg").replace('to = "B"', 'to = "Z"', 1))
    assert ended("check", path) == 2
    lines = capsys.readouterr().err.strip().split("\n")
    assert any("'210 kg' is not a stress" in line for line in lines)
    assert any("node 'Z' does not exist" in line for line in lines)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"x = 1", "has neither [bows] nor [nodes]"),
        (b"x = ", "is not sound TOML"),
        (b"\xff\xfe", "is not UTF-8"),
        (None, "does not exist"),
    ],
)
def test_what_is_no_file_of_ours_is_told(capsys, tmp_path, content, said):
    """A file of neither kind, no TOML, no text or none at all is one sentence and status 2."""
    path = tmp_path / "file.toml"
    if content is not None:
        path.write_bytes(content)
    assert ended("check", path) == 2
    assert said in capsys.readouterr().err


def test_a_mechanism_is_status_3(capsys, tmp_path):
    """A structure that moves freely ends with 3 and a sentence."""
    path = tmp_path / "loose.toml"
    text = FRAME.read_text()
    fixed = 'fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]'
    assert fixed in text
    path.write_text(text.replace(fixed, 'fixed = ["ux", "uy", "uz", "rx", "rz"]'))
    assert ended("frame", path) == 3
    assert "moves freely" in capsys.readouterr().err


def test_a_joint_without_an_answer_is_status_3_and_the_others_are_reported(capsys, tmp_path):
    """One joint free in pitch: `run` and `size` report the other, give the reason for this one, and end with 3."""
    path = tmp_path / "loose.toml"
    path.write_text(TEXT.replace('pitch = "300 kN*m/rad"', 'pitch = "0 N*m/rad"'))
    assert ended("run", path, "--no-pictures") == 3
    shown = " ".join(capsys.readouterr().out.split())
    assert "no answer: the crossbeam turns freely about its own axis" in shown
    assert "raises racking stiffness by" in shown
    assert ended("size", path) == 3
    assert "No answer: the crossbeam turns freely" in capsys.readouterr().out


def test_new_writes_a_boat_that_runs_and_never_over_another(capsys, tmp_path):
    """`new` writes a sound boat file; where a file is already it is left alone."""
    path = tmp_path / "mine.toml"
    assert ended("new", path) == 0
    assert ended("check", path) == 0
    path.write_text("mine")
    assert ended("new", path) == 2
    assert path.read_text() == "mine"
    assert ended("new", tmp_path / "no" / "such.toml") == 2
    assert "cannot be written" in capsys.readouterr().err


def test_new_from_answers_gives_a_boat_that_answers_the_question(capsys, tmp_path):
    """From four values, in a file or as options, `new` writes a boat whose described joints `run` judges; estimates are named."""
    answers, path, other = tmp_path / "answers.toml", tmp_path / "mine.toml", tmp_path / "other.toml"
    answers.write_text(
        'length = "13.4 m"\nbeam = "7.6 m"\ndisplacement = "9 t"\nrig_height = "unknown"\nskin_thickness = "unknown"\n'
    )
    assert ended("new", path, "--from", answers) == 2
    assert "rig_height is unknown; measure it" in capsys.readouterr().err
    assert not path.exists()
    assert ended("new", path, "--from", answers, "--rig-height", "16 m", "--joints", "taped socket") == 0
    assert (
        ended(
            "new", other, "--length", "9 m", "--beam", "5 m", "--displacement", "3 t", "--rig-height", "12 m"
        )
        == 0
    )
    assert ended("check", other) == 0
    assert ended("run", path, "--no-pictures") == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "inputs are estimated, not entered: bows.spacing ± 5 %" in shown
    assert "laminates.hull ± 35 %" in shown
    assert "verdict inadequate" in shown or "verdict adequate for what was checked" in shown
    assert ended("new", tmp_path / "full.toml", "--full", "--length", "9 m") == 2
    assert ended("new", tmp_path / "full.toml", "--full") == 0


def test_every_question_is_an_option():
    """The command line asks for what the questionnaire knows, key by key."""
    assert set(QUESTIONS) == set(OwnersBoat.model_fields)


@pytest.mark.parametrize(("kind", "key"), [("boat", "bows"), ("frame", "nodes"), ("test", "tests")])
def test_the_schema_is_of_the_files_own_models(capsys, kind, key):
    """`schema` prints a JSON Schema that knows the tables of its kind of file."""
    assert ended("schema", kind) == 0
    schema = json.loads(capsys.readouterr().out)
    assert key in schema["properties"]


def test_a_run_without_pictures_gives_the_answer_and_the_caution(capsys):
    """`run --no-pictures` prints question and verdict first, and the caution."""
    assert ended("run", DEMO, "--no-pictures", "--joint", "bolted lugs", "--joint", "rigid") == 0
    shown = capsys.readouterr().out
    assert (
        0
        < shown.index("or bond it into sockets?")
        < shown.index("inadequate")
        < shown.index("raises racking stiffness by")
    )
    assert CAUTION in shown.replace("\n", " ").replace("  ", " ") or CAUTION in shown


def test_help_says_the_caution(capsys):
    """Whoever asks for help is told who decides."""
    assert ended("--help") == 0
    assert "qualified naval architect" in " ".join(capsys.readouterr().out.split())


def test_ctrl_c_is_a_sentence(capsys, monkeypatch):
    """An interrupt ends with 130 and a sentence, not a traceback."""

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(commands.forebeam, "main", interrupted)
    assert ended("check", FRAME) == 130
    assert "stopped" in capsys.readouterr().err


def test_numbers_alone_go_where_out_says(capsys, tmp_path):
    """`run --no-pictures --out` writes tables and results and neither page nor picture; without --out nothing."""
    path = tmp_path / "mine.toml"
    path.write_text(FILES["short_bowed"].read_text(encoding="utf-8"), encoding="utf-8")
    out = tmp_path / "numbers"
    run = ("run", path, "--no-pictures", "--joint", "bolted plates", "--out", out)
    assert ended(*run) == 0
    assert f"Results: {out.resolve() / 'results.json'}" in capsys.readouterr().out.replace("\n", "")
    written = {file.relative_to(out).as_posix() for file in out.rglob("*") if file.is_file()}
    assert set(json.loads((out / "results.json").read_text(encoding="utf-8"))["files"]) == written
    assert {
        "results.json",
        "results.schema.json",
        "tables/load_origins.csv",
        "tables/joint_loads.csv",
    } <= written
    assert not [name for name in written if name.endswith((".png", ".html", ".vtu"))]
    assert ended(*run) == 0
    assert {file.name for file in tmp_path.iterdir()} == {"mine.toml", "numbers"}


def test_a_report_that_was_edited_is_refused_before_the_analysis(capsys, tmp_path, monkeypatch):
    """A corrected table in the report's folder is named, with a cure and status 2, and nothing is solved first."""

    def fill(folder):
        (folder / "tables").mkdir()
        (folder / "tables/margins.csv").write_text("as written")

    out = write_complete_folder(tmp_path / "out", fill)
    (out / "tables/margins.csv").write_text("corrected")
    monkeypatch.setattr("cases.analyses.analysis.analyse", None)
    for more in ((), ("--no-pictures",)):
        assert ended("run", DEMO, "--out", out, *more) == 2
        words = "contains 'tables/margins.csv', which was changed since the last run wrote it; give another folder with --out"
        assert words in capsys.readouterr().err
    assert (out / "tables/margins.csv").read_text() == "corrected"


@pytest.mark.skipif(os.name != "posix", reason="only POSIX limits the size of files")
def test_a_new_file_that_finds_no_room_leaves_no_half(tmp_path):
    """Where a file may have 2 kB only, the longer one is not there at all, and the sentence has the cure."""
    path = tmp_path / "mine.toml"
    limited = "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (2048, 2048)); "
    command = f"{limited}from cases.cli.commands import main; main(['new', sys.argv[1]])"
    done = subprocess.run(
        [sys.executable, "-c", command, path],
        env=module_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (
        2,
        f"{path}: cannot be written (File too large); raise the limit on the size of files (ulimit -f), then run this again\n",
    )
    assert not path.exists()


def test_calibrate_fits_the_demos_test_and_patches_her_file(capsys, tmp_path):
    """`calibrate` prints factors; --patch writes a boat that reads, whose factors are those of --json, and never over a file."""
    test, patched = DEMO.parent / "tests" / "demo_test.toml", tmp_path / "patched.toml"
    assert ended("calibrate", DEMO, test, "--patch", patched) == 0
    shown = capsys.readouterr().out
    assert "Model and readings agree." in shown
    assert "Play or friction: ‘port twist’" in shown
    assert CAUTION[:30] in shown
    assert ended("calibrate", DEMO, test, "--json") == 0
    data = json.loads(capsys.readouterr().out)
    quoted = {one["name"]: one["factor"] for one in data["factors"] if one["quoted"]}
    written = tomllib.loads(patched.read_text(encoding="utf-8"))["calibration"]
    assert {key: written[key] for key in written if key != "note"} == pytest.approx(
        {key: value for key, value in quoted.items() if not key.startswith("joint")}, rel=1e-3
    )
    assert ended("check", patched) == 0
    capsys.readouterr()
    assert ended("calibrate", DEMO, test, "--patch", patched) == 2
    assert "exists already; give another name" in capsys.readouterr().err
    assert ended("calibrate", DEMO, DEMO) == 2
    assert ended("calibrate", FRAME, test) == 2


def test_plan_test_ranks_readings_and_writes_a_page(capsys, tmp_path):
    """`plan-test` warns, shows what readings leave unknown, gives JSON, writes the page once, refuses a lift that is none."""
    page = tmp_path / "plan.html"
    assert ended("plan-test", DEMO, "--joint", "bolted plates", "--page", page) == 0
    shown = capsys.readouterr().out
    assert "Jacking a boat can kill" in shown
    assert "turn of the beam's ends against the hulls in pitch" in shown
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert ended("plan-test", DEMO, "--joint", "bolted plates", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["rows"][0]["readings"] == "none"
    assert data["joint"] == "bolted plates"
    blank = tmp_path / "blank.toml"
    assert ended("plan-test", DEMO, "--test", blank) == 0
    assert f"forebeam calibrate {DEMO} {blank}" in capsys.readouterr().out.replace("\n", "")
    assert ended("calibrate", DEMO, blank) == 2
    assert "does not read as a length" in capsys.readouterr().err
    assert ended("plan-test", DEMO, "--page", page) == 2
    assert ended("plan-test", DEMO, "--lift", "-5 kN") == 2
    assert "is no lift of a bow" in capsys.readouterr().err
    assert ended("plan-test", DEMO, "--joint", "none such") == 2


def test_a_run_with_a_test_that_is_none_is_refused_before_any_work(capsys, tmp_path):
    """`run --test` reads the test first: a missing file, or one that is no test, ends with 2 and its name."""
    assert ended("run", DEMO, "--no-pictures", "--test", tmp_path / "none.toml") == 2
    assert "none.toml: does not exist" in capsys.readouterr().err
    assert ended("run", DEMO, "--no-pictures", "--test", FRAME) == 2
