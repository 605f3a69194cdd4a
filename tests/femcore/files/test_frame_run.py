"""A frame file run: its results as plain data, and its expectations compared with them."""

import json

import numpy as np
import pytest

from femcore.base.errors import Mechanism
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import results, run_frame
from tests.femcore.files.frame_texts import VALID_FRAME_TEXT

CANTILEVER = """
title = "Cantilever under a tip force and a line load"
source = "F L³/3EI, w L⁴/8EI"
seen = "derived"
[materials.steel]
E = "200 GPa"
G = "80 GPa"
[sections.bar]
shape = "rectangle"
width = "50 mm"
height = "100 mm"
[nodes]
A = "1 1 1 m"
B = "1 3 1 m"
[[beams]]
name = "AB"
from = "A"
to = "B"
section = "bar"
material = "steel"
divide = 3
[[supports]]
node = "A"
fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]
[[cases]]
name = "tip"
[[cases.point]]
node = "B"
force = "0 0 -3 kN"
[[cases]]
name = "spread"
[[cases.line]]
beam = "AB"
force = "0 0 -2 kN/m"
[[cases]]
name = "idle"
"""
EI = 200e9 * 0.05 * 0.1**3 / 12
TIP, SPREAD = -3e3 * 8 / (3 * EI), -2e3 * 16 / (8 * EI)


def run(folder, text):
    """Run a text as a frame file."""
    path = folder / "frame.toml"
    path.write_text(text, encoding="utf-8")
    return run_frame(read_frame_file(path))


def expecting(case, at, quantity, value, tolerance):
    """The cantilever with one expectation."""
    keys = (
        f'case = "{case}"\nat = "{at}"\nquantity = "{quantity}"\nvalue = "{value}"\ntolerance = {tolerance}'
    )
    return f"{CANTILEVER}[[expect]]\n{keys}\n"


@pytest.mark.parametrize(
    ("case", "at", "quantity", "value"),
    [
        ("tip", "B", "uz", f"{TIP * 1e3} mm"),
        ("tip", "B", "rx", f"{-3e3 * 4 / (2 * EI)} rad"),
        ("tip", "A", "Fz", "3 kN"),
        ("tip", "A", "Mx", "6 kN*m"),
        ("tip", "AB.start", "Vz", "-3 kN"),
        ("tip", "AB.start", "My", "6 kN*m"),
        ("spread", "B", "uz", f"{SPREAD} m"),
        ("spread", "AB.start", "Vz", "-4 kN"),
        ("spread", "AB.start", "My", "4 kN*m"),
        ("spread", "A", "Fz", "4 kN"),
    ],
)
def test_expectations_of_closed_forms_are_met(tmp_path, case, at, quantity, value):
    """Movements, reactions and beam ends of a cantilever meet FL³/3EI, wL⁴/8EI and statics, in global and in
    beam axes.
    """
    done = run(tmp_path, expecting(case, at, quantity, value, "1e-9"))
    assert done.ok
    assert done.outcomes[0].difference == pytest.approx(0, abs=1e-6 * abs(done.outcomes[0].computed))


@pytest.mark.parametrize(
    ("value", "tolerance", "ok"),
    [
        (f"{TIP * 1.009} m", "0.01", True),
        (f"{TIP * 1.011} m", "0.01", False),
        (f"{-TIP} m", "0.01", False),
        (f"{TIP + 0.9e-3} m", '"1 mm"', True),
        (f"{TIP + 1.1e-3} m", '"1 mm"', False),
        ("0 m", '"100 m"', True),
    ],
)
def test_an_expectation_is_held_to_its_tolerance(tmp_path, value, tolerance, ok):
    """A difference within the tolerance, relative to the expected value or absolute with a unit, is met; one
    beyond is not.
    """
    done = run(tmp_path, expecting("tip", "B", "uz", value, tolerance))
    assert done.ok is ok
    assert results(done)["expect"][0]["ok"] is ok


def test_results_are_plain_data_in_si(tmp_path):
    """Results go through JSON unchanged; they hold every named node and beam of every case, six numbers each,
    and how far to trust them.
    """
    done = run(tmp_path, CANTILEVER)
    data = results(done)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert list(data["cases"]) == ["tip", "spread", "idle"]
    tip = data["cases"]["tip"]
    assert list(tip["nodes"]) == ["A", "B"]
    np.testing.assert_allclose(tip["nodes"]["B"]["displacement"][2], TIP, rtol=1e-9)
    np.testing.assert_allclose(tip["nodes"]["A"]["reaction"], [0, 0, 3e3, 6e3, 0, 0], atol=1e-8)
    np.testing.assert_allclose(tip["beams"]["AB"]["end"], [0, 0, -3e3, 0, 0, 0], atol=1e-8)
    assert 0 <= tip["balance"] < 1e-12
    assert 0 <= tip["error"] < 1e-9
    assert not np.any(data["cases"]["idle"]["nodes"]["B"]["displacement"])


def test_imposed_movements_act_in_every_case(tmp_path):
    """A support that is moved is moved in each case."""
    data = results(run(tmp_path, VALID_FRAME_TEXT))
    assert data["cases"]["tip load"]["nodes"]["A"]["displacement"][2] == pytest.approx(-2e-3)


def test_names_are_kept_as_they_are(tmp_path):
    """Markup in a name comes out as it went in."""
    name = "<script>alert(1)</script>"
    data = results(
        run(tmp_path, CANTILEVER.replace('A = "1 1', f'"{name}" = "1 1').replace('"A"', f'"{name}"'))
    )
    assert name in data["cases"]["tip"]["nodes"]


def test_a_node_may_be_named_like_a_beams_end(tmp_path):
    """The quantity of an expectation distinguishes a node from a beam's end of the same name."""
    text = expecting("tip", "AB.end", "Vz", "-3 kN", "1e-9").replace(
        'B = "1 3 1 m"', 'B = "1 3 1 m"\n"AB.end" = "0 0 0 m"'
    )
    text = text.replace(
        "[[cases]]",
        '[[supports]]\nnode = "AB.end"\nfixed = ["ux", "uy", "uz", "rx", "ry", "rz"]\n[[cases]]',
        1,
    )
    assert run(tmp_path, text).ok


def test_a_mechanism_in_a_file_is_told(tmp_path):
    """A sound file of an unsound structure is a fault of the structure."""
    text = CANTILEVER.replace('"rx", "ry", "rz"', '"rx", "rz"')
    with pytest.raises(Mechanism, match="'AB' turns freely about its own axis"):
        run(tmp_path, text)
