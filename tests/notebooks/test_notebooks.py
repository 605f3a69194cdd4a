"""The notebooks run, say what they compute, and hold to published values."""

import re
from functools import cache
from pathlib import Path

import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient

from cases.caution import CAUTION

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
FRAME, JOINT = "from_one_beam_to_a_frame", "what_a_bonded_joint_attracts"
NAMES = (FRAME, JOINT)
LARGEST = 400_000
"""Bytes of a notebook with its pictures."""

PUBLISHED = {
    FRAME: {
        # R.H. MacNeal and R.L. Harder, Finite Elem. Anal. Des. 1 (1985) 3-20, Table 3 (read)
        "extension, in": 3e-5,
        "in-plane shear, in": 0.1081,
        "out-of-plane shear, in": 0.4321,
        # G.R. Cowper, J. Appl. Mech. 33 (1966) 335-340 (read)
        "shear coefficient of a rectangle, nu = 0.3": 0.850,
        # J.M. Gere and B.J. Goodno, Mechanics of Materials, beam tables (from memory)
        "prop over wL": 3 / 8,
        "root moment over wL²": 1 / 8,
        "span moment over wL²": 9 / 128,
        "bracket by hand, m": 0.0137729,
        "bracket by femcore, m": 0.0137729,
        # D.L. Logan, A First Course in the Finite Element Method, 4th ed. (2007), Sec. 5.4 (exact) and 5.5 (from memory)
        "grid, sinking of the corner, mm": 2.6274,
        "grid, rotation, rad": 1.27828e-3,
        "space frame, d1x, in": 7.098e-5,
        "space frame, d1y, in": -0.014,
        "space frame, d1z, in": -2.352e-3,
        "space frame, phi1x, rad": -3.996e-3,
        "space frame, phi1y, rad": 1.78e-5,
        "space frame, phi1z, rad": -1.033e-4,
        # G.R. Monforton and T.S. Wu, J. Struct. Div. ASCE 89(ST6) (1963) 13-42 (read): alpha/(alpha + 2)
        "end moment over qL²/12, alpha = 3": 0.6,
        "middle deflection over 5qL⁴/384EI, alpha = 3": 0.52,
        # ANSI/AISC 360-10, Commentary, benchmark case 1 (read as quoted)
        "moment at the middle, P = 450 kip, kip·in": 375,
        "deflection, P = 450 kip, in": 0.311,
        # S.P. Timoshenko and J.M. Gere, Theory of Elastic Stability, 2nd ed. (1961), ch. 2 (from memory)
        "Pcr L²/EI, pinned, pinned": 9.8696,
        "Pcr L²/EI, fixed, fixed": 39.4784,
        "Pcr L²/EI, fixed, pinned": 20.1907,
        "Pcr L²/EI, fixed, free": 2.4674,
        # R.D. Blevins, Formulas for Natural Frequency and Mode Shape (1979), Table 8-1 (from memory)
        "lambda 1 of a cantilever": 1.8751,
        "lambda 2 of a cantilever": 4.69409,
        "lambda 3 of a cantilever": 7.85476,
    },
    JOINT: {
        # force method, one redundant torque: the numbers of the textbook case racking_torsion_coupled
        "k_half, kN·m/rad": 100,
        "torque, k = 1 k_half, N·m": 400,
        "torque, k = inf k_half, N·m": 800,
        "tip with rigid joints, mm": 18.133333,
        "torque share, rigid": 0.1,
        # 1/k_half = b/2GJ + a/EI and T/Fa = k_half a/2EI for b = 6, a = 4 m, GJ = 0.6, EI = 40 MN·m²
        "k_half of the plain boat, kN·m/rad": 196.0784,
        "torque share, rigid in torque": 196078.4 * 4 / (2 * 40e6),
        # statics: a pull of 20 kN at the middle of 6 m
        "bending without it, kN·m": 30,
    },
}
"""What must stand in the first column of a line that a notebook prints, to 0.35 % (three printed digits)."""
CLOSE = 3.5e-3
WORDS = 46
"""Width of the words before that column."""
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")


def read(name):
    """A notebook as it is committed."""
    return nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)


@cache
def executed(name):
    """The same, run anew from its first cell; CellExecutionError where a cell fails."""
    notebook = read(name)
    where = {"metadata": {"path": str(FOLDER)}}
    return NotebookClient(notebook, timeout=120, kernel_name="python3", resources=where).execute()


def cells(notebook, kind):
    """Its cells of a kind."""
    return [cell for cell in notebook.cells if cell.cell_type == kind]


def printed(notebook):
    """Everything that its cells print."""
    outputs = [output for cell in cells(notebook, "code") for output in cell.outputs]
    return "".join(output.text for output in outputs if output.output_type == "stream")


def quoted(notebook):
    """Numbers in bold in its prose, as written."""
    prose = "\n".join(cell.source for cell in cells(notebook, "markdown"))
    return [text for text in re.findall(r"\*\*([^*\n]+)\*\*", prose) if NUMBER.fullmatch(text)]


def unprinted(notebook):
    """Quoted numbers that no cell prints."""
    said = set(NUMBER.findall(printed(notebook)))
    return [number for number in quoted(notebook) if number not in said]


def pictures(notebook):
    """How many pictures its cells show."""
    return sum("image/png" in o.get("data", {}) for cell in cells(notebook, "code") for o in cell.outputs)


def test_every_notebook_is_tested():
    """No notebook lies in the folder that no test runs."""
    assert sorted(path.stem for path in FOLDER.glob("*.ipynb")) == sorted(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_is_small_valid_and_shown_executed(name):
    """Under 400 kB, valid, every code cell run in order, with its pictures and without a word on standard error."""
    notebook = read(name)
    nbformat.validate(notebook)
    assert (FOLDER / f"{name}.ipynb").stat().st_size < LARGEST
    counts = [cell.execution_count for cell in cells(notebook, "code")]
    assert counts == list(range(1, len(counts) + 1))
    assert pictures(notebook) >= 5
    for seen in (notebook, executed(name)):
        outputs = [output for cell in cells(seen, "code") for output in cell.outputs]
        assert not any(output.output_type == "error" or output.get("name") == "stderr" for output in outputs)


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_holds_to_published_values(name):
    """What a notebook prints as its own agrees with the published values, taken down here a second time."""
    lines = printed(executed(name)).splitlines()
    for what, published in PUBLISHED[name].items():
        (line,) = [line for line in lines if line[:WORDS].rstrip() == what]
        ours = float(line[WORDS:].split()[0])
        assert ours == pytest.approx(published, rel=CLOSE), what


@pytest.mark.parametrize("name", NAMES)
def test_numbers_in_prose_are_printed(name):
    """Every number in bold in the prose is one that a cell prints when run now."""
    notebook = executed(name)
    assert len(quoted(notebook)) >= 4
    assert unprinted(notebook) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_number_that_no_cell_prints_is_found(name):
    """Changing a quoted number in the prose is noticed."""
    notebook = executed(name).copy()
    notebook.cells = [*notebook.cells, nbformat.v4.new_markdown_cell("It carries **123.456** kN.")]
    assert unprinted(notebook) == ["123.456"]


@pytest.mark.parametrize("name", NAMES)
def test_the_committed_outputs_are_those_of_now(name):
    """Line by line what is committed is what the code prints now, numbers to 0.1 %; lines that tell of rounding may differ."""
    then, now = (printed(notebook).splitlines() for notebook in (read(name), executed(name)))
    assert len(then) == len(now)
    for old, new in zip(then, now, strict=True):
        if "rounding" not in old:
            assert NUMBER.sub("#", old) == NUMBER.sub("#", new)
            numbers = (np.array(NUMBER.findall(line), dtype=float) for line in (old, new))
            np.testing.assert_allclose(*numbers, rtol=1e-3, err_msg=old)
    assert pictures(read(name)) == pictures(executed(name))


def test_the_notebook_on_joints_ends_with_the_caution():
    """Whoever could act on a number reads the caution, word for word."""
    last = " ".join(read(JOINT).cells[-1].source.replace(">", " ").split())
    assert last == f"**Caution.** {CAUTION}"
