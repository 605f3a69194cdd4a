"""Help by who needs it, margins as percentages, and textbook cases by topic or by name."""

import click
import pytest

from cases.cli.commands import forebeam, main
from cases.cli.help_groups import GROUPS
from cases.cli.margin_type import MarginType
from cases.verification import textbook


def ended(*arguments):
    """The status with which the command ends."""
    with pytest.raises(SystemExit) as caught:
        main([str(a) for a in arguments])
    return caught.value.code


def test_every_command_is_in_one_group(capsys):
    """Each command is under exactly one heading, and no line of the list is cut short."""
    grouped = [name for commands in GROUPS.values() for name in commands]
    assert sorted(grouped) == sorted(forebeam.commands)
    assert ended("--help") == 0
    shown = capsys.readouterr().out
    places = [shown.index(f"{heading}:") for heading in GROUPS]
    assert places == sorted(places)
    assert "..." not in shown.split("Options:")[1]
    assert "Other" not in shown


@pytest.mark.parametrize(
    ("text", "margin"), [("10%", 0.1), ("10 %", 0.1), ("0.1", 0.1), ("-50%", -0.5), ("20", 20.0)]
)
def test_a_margin_is_a_number_or_a_percentage(text, margin):
    """Ten per cent are a tenth."""
    assert MarginType().convert(text, None, None) == pytest.approx(margin)


@pytest.mark.parametrize("text", ["nan", "inf", "ten", "21", "-60%", "", "%"])
def test_what_is_no_margin_is_refused(text):
    """Not a number, infinite, in words or out of bounds: a usage error with the cure."""
    with pytest.raises(click.UsageError, match=r"give 0\.1 or 10%"):
        MarginType().convert(text, None, None)


@pytest.fixture
def few_cases(tmp_path, monkeypatch):
    """A folder of two textbook cases of two topics."""
    for name in ("cantilever_point_load", "plane_truss_logan"):
        file = textbook.textbook_file(name)
        (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setattr(textbook, "TEXTBOOK", tmp_path)
    return tmp_path


def test_verify_shows_topics_and_all_shows_values(capsys, few_cases):
    """By default a line for each topic with its cases by name; with --all every value; a miss is counted, and status 1."""
    assert ended("verify") == 0
    shown = capsys.readouterr().out
    assert "plane_truss_logan" in shown
    assert "published" not in shown
    assert ended("verify", "--all") == 0
    assert "published" in capsys.readouterr().out
    file = few_cases / "cantilever_point_load.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("-50.793650794 mm", "-51.793650794 mm"))
    assert ended("verify") == 1
    assert "missed in cantilever_point_load.toml" in capsys.readouterr().out


def test_verify_shows_a_case_by_name_with_its_picture(capsys, tmp_path):
    """One case: its values and source, and its picture as SVG, never over a file; a name that is none gets the nearest."""
    picture = tmp_path / "case.svg"
    assert ended("verify", "cantilever_point_load", "--picture", picture) == 0
    shown = capsys.readouterr().out
    assert "-50.793650794 mm" in shown
    assert "1 case, " in shown
    assert picture.read_text(encoding="utf-8").lstrip().startswith(("<svg", "<?xml"))
    assert ended("verify", "cantilever_point_load", "--picture", picture) == 2
    assert ended("verify", "cantilever-point-load") == 2
    assert "did you mean 'cantilever_point_load'?" in capsys.readouterr().err
    assert ended("verify", "--picture", picture) == 2
