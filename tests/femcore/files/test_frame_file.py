"""A frame file is read into SI, or every fault of it is reported: file, key, what is wrong and what would cure
it.
"""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from femcore.base.errors import InputFault, InputFaults
from femcore.files.frame_file import frame_of, loads_of, read_frame_file
from femcore.solvers.solution import resultants
from tests.femcore.files.frame_texts import VALID_FRAME_TEXT, edited_text

E_LINE, NODE_A, NODE_B, UP = 'E = "210 GPa"', 'A = "0 0 0 m"\n', 'B = "4 0 0 m"\n', "up = [0, 0, 1]"
EXPECT = "[[expect]]"
MODULUS = 'write it with its unit, such as "70 GPa"'
POINT = 'write it with its unit, such as "0 0 4.2 m"'

FAULTS = [
    # units and numbers
    (E_LINE, 'E = "210 mm"', "materials: steel: E: '210 mm' is not a stress or modulus", MODULUS),
    (
        E_LINE,
        "E = 210e9",
        "materials: steel: E: 210000000000.0 is a bare number where a stress or modulus is needed",
        MODULUS,
    ),
    (
        E_LINE,
        'E = "210"',
        "materials: steel: E: '210' has no unit where a stress or modulus is needed",
        MODULUS,
    ),
    (E_LINE, 'E = "210 GPu"', "materials: steel: E: '210 GPu' has a unit 'GPu' that is not known", MODULUS),
    (E_LINE, 'E = "nan GPa"', "materials: steel: E: 'nan GPa' does not read as a stress or modulus", MODULUS),
    (E_LINE, 'E = "inf GPa"', "materials: steel: E: 'inf GPa' does not read as a stress or modulus", MODULUS),
    (E_LINE, 'E = "1e400 GPa"', "materials: steel: E: '1e400 GPa' is not finite", MODULUS),
    (E_LINE, "E = true", "materials: steel: E: True is no text where a stress or modulus is needed", MODULUS),
    (E_LINE, 'E = "-210 GPa"', "materials: steel: E: '-210 GPa' is too small", "give more than 0 Pa"),
    (E_LINE, 'E = "0 GPa"', "materials: steel: E: '0 GPa' is too small", "give more than 0 Pa"),
    ("nu = 0.3", "nu = nan", "materials: steel: nu: nan", "correct the value"),
    (
        "nu = 0.3",
        "nu = 0.7",
        "materials: steel: nu: 0.7: input should be less than or equal to 0.5",
        "correct the value",
    ),
    ("nu = 0.3", "", "materials: steel: has neither G nor nu", "give one of them"),
    (
        "nu = 0.3",
        'nu = 0.3\nG = "80 GPa"',
        "materials: steel: needs either G or nu, not both",
        "give one of them",
    ),
    ('A = "20 cm**2"', 'A = "20 cm"', "sections: bar: A: '20 cm' is not an area", "write it with its unit"),
    (
        'Iy = "1000 cm**4"',
        'Iy = "-1 cm**4"',
        "sections: bar: Iy: '-1 cm**4' is too small",
        "give at least 0 m**4",
    ),
    (NODE_A, 'A = "0 0 m"\n', "nodes: A: '0 0 m' has 2 numbers where 3 are needed", POINT),
    (NODE_A, 'A = "0 0 0"\n', "nodes: A: '0 0 0' has no unit where a length is needed", POINT),
    (NODE_A, "A = [0, 0, 0]\n", "nodes: A: [0, 0, 0] is no text where a length is needed", POINT),
    (NODE_A, 'A = "0 0 nan m"\n', "nodes: A: '0 0 nan m'", POINT),
    (
        'rz = "200 kN*m/rad"',
        'rz = "-1 kN*m/rad"',
        "to_spring: rz: '-1 kN*m/rad' is too small",
        "give at least 0 N*m/rad",
    ),
    (
        'rz = "200 kN*m/rad"',
        'rz = "200 kN/m"',
        "to_spring: rz: '200 kN/m' is not a moment per rotation",
        "such as",
    ),
    ('uz = "2 MN/m"', 'uz = "-2 MN/m"', "springs[1]: uz: '-2 MN/m' is too small", "give at least 0 N/m"),
    (
        'uz = "-2 mm"',
        'uz = "-2 deg"',
        "supports[1]: moved: uz: '-2 deg' is not a length",
        "write it with its unit",
    ),
    ('mass = "50 kg"', 'mass = "-50 kg"', "masses[1]: mass: '-50 kg' is too small", "give at least 0 kg"),
    (
        'mass = "50 kg"',
        'mass = "50 N"',
        "masses[1]: mass: '50 N' gives a force where a mass is needed",
        'write the mass of that weight: "5.09858 kg"',
    ),
    (
        "-9.80665 m/s**2",
        "-9.80665 N",
        "cases[1] 'tip load': gravity: '0 0 -9.80665 N' is not an acceleration",
        "such as",
    ),
    ("-5 kN", "-5 kN*m", "cases[1] 'tip load': point[1]: force: '0 0 -5 kN*m' is not a force", "such as"),
    # keys
    ('title  = "Propped cantilever"\n', "", "title: 'title' is missing", "add title = …"),
    (
        E_LINE,
        'Young = "1 GPa"\n' + E_LINE,
        "materials: steel: Young: key 'Young' is not known here",
        "use one of E, G, nu",
    ),
    (UP, UP + "\nupp = 1", "beams[1] 'AB': upp: key 'upp' is not known here", "did you mean 'up'?"),
    (
        "gravity =",
        "gravty =",
        "cases[1] 'tip load': gravty: key 'gravty' is not known here",
        "did you mean 'gravity'?",
    ),
    ('from = "A"\n', "", "beams[1] 'AB': from: 'from' is missing", "add from = …"),
    ("tolerance = 0.005\n", "", "expect[1]: tolerance: 'tolerance' is missing", "add tolerance = …"),
    (
        "rz = ",
        "rw = ",
        "beams[1] 'AB': to_spring: rw: key 'rw' is not known here",
        "use one of ux, uy, uz, rx, ry, rz",
    ),
    # names
    ('from = "A"', 'from = "a"', "beams 'AB': from: node 'a' does not exist", "did you mean 'A'?"),
    (
        'section = "bar"',
        'section = "baar"',
        "beams 'AB': section: section 'baar' does not exist",
        "did you mean 'bar'?",
    ),
    (
        'material = "steel"',
        'material = "brass"',
        "beams 'AB': material: material 'brass' does not exist",
        "name one of 'steel'",
    ),
    ('from = "B"\n', 'from = "C"\n', "springs[1]: from: node 'C' does not exist", "name one of"),
    ('node = "A"\n', 'node = "Z"\n', "supports[1]: node: node 'Z' does not exist", "name one of"),
    ('node = "B"\nmass', 'node = "Z"\nmass', "masses[1]: node: node 'Z' does not exist", "name one of"),
    (
        'node = "B"\nforce',
        'node = "BB"\nforce',
        "cases 'tip load': point[1]: node: node 'BB' does not exist",
        "did you mean 'B'?",
    ),
    (
        'beam = "AB"',
        'beam = "BA"',
        "cases 'tip load': line[1]: beam: beam 'BA' does not exist",
        "name one of 'AB'",
    ),
    (
        'case = "tip load"',
        'case = "tip lod"',
        "expect[1]: case: case 'tip lod' does not exist",
        "did you mean 'tip load'?",
    ),
    (
        'at = "A"',
        'at = "AB.middle"',
        "expect[1]: at: node, beam end or cable 'AB.middle' does not exist",
        "name one of",
    ),
    ('at = "A"', 'at = "AB.end"', "expect[1]: quantity: 'uz' is none of a beam end", "ask for one that is"),
    (
        "[[cases.point]]",
        '[[cases]]\nname = "tip load"\n[[cases.point]]',
        "cases 'tip load': is duplicated",
        "a name of its own",
    ),
    (
        "[[springs]]",
        '[[beams]]\nname = "AB"\nfrom = "A"\nto = "B"\nsection = "bar"\nmaterial = "steel"\n[[springs]]',
        "beams 'AB': is duplicated",
        "a name of its own",
    ),
    (
        "[[masses]]",
        '[[supports]]\nnode = "A"\nfixed = ["ux"]\n[[masses]]',
        "supports 'A': is duplicated",
        "a name of its own",
    ),
    (NODE_A, NODE_A + NODE_A, "is not sound TOML: Cannot overwrite a value", "correct the line it names"),
    # geometry and statics
    (NODE_B, 'B = "0 0 50 mm"\n', "beams 'AB': has no length", "set its ends (offsets included) apart"),
    (
        UP,
        "up = [4, 0, -0.05]",
        "beams 'AB': up: is parallel to the beam",
        "give a direction perpendicular to it",
    ),
    (UP, "up = [0, 0, 0]", "beams 'AB': up: is parallel to the beam", "give a direction perpendicular to it"),
    (
        UP,
        "up = [0, nan, 1]",
        "beams[1] 'AB': up[2]: nan: input should be a finite number",
        "correct the value",
    ),
    (UP, "up = [0, 1]", "beams[1] 'AB': up[3]: has too few entries", "give as many as are needed"),
    (
        "divide = 4",
        "divide = 0",
        "beams[1] 'AB': divide: 0: input should be greater than or equal to 1",
        "correct the value",
    ),
    (
        "divide = 4",
        "divide = 2.5",
        "beams[1] 'AB': divide: 2.5: input should be a valid integer",
        "correct the value",
    ),
    (
        "divide = 4",
        "divide = 1000000000",
        "divide: 1000000000: input should be less than or equal to 10000",
        "correct the value",
    ),
    (
        'to_release = ["ry"]',
        'to_release = ["rz"]',
        "beams 'AB': to_release: 'rz' has a spring too",
        "give one of the two",
    ),
    (
        'to_release = ["ry"]',
        'to_release = ["rw"]',
        "beams[1] 'AB': to_release[1]: 'rw': input should be 'ux'",
        "correct the value",
    ),
    (
        'from = "B"\nuz',
        'from = "B"\nto = "B"\nuz',
        "springs[1]: to: is the node it starts from",
        "leave it out for ground",
    ),
    ('"uy", "uz", "rx"', '"uy", "rx"', "supports 'A': moved: 'uz' is not fixed there", "add 'uz' to fixed"),
    (
        'fixed = ["ry"]',
        "fixed = []",
        "supports[2]: fixed: has too few entries",
        "give at least 1",
    ),
    (
        'axes = "global"',
        'begin = "3 m"\nend = "2 m"',
        "cases 'tip load': line[1]: from 3 m to 2 m is no stretch of 'AB', 4",
        "let begin be less than end, both from 0 to 4",
    ),
    (
        'axes = "global"',
        'axes = "local"',
        "line[1]: axes: 'local': input should be 'global' or 'beam'",
        "correct the value",
    ),
    (
        'A = "20 cm**2"\n',
        'shape = "blob"\n',
        "sections: bar: has an unknown shape",
        "use one of round, tube, rectangle, box",
    ),
    # expectations
    (
        '"-2 mm"\ntol',
        '"0 mm"\ntol',
        "expect[1]: tolerance, being relative, means nothing",
        "give one with a unit",
    ),
    ('"-2 mm"\ntol', '"3 deg"\ntol', "expect[1]: value '3 deg' is not a length", "write it with its unit"),
    (
        "tolerance = 0.005",
        "tolerance = 2",
        "expect[1]: tolerance, being relative, means nothing",
        "give one with a unit",
    ),
    (
        "tolerance = 0.005",
        "tolerance = nan",
        "expect[1]: tolerance, being relative, means nothing",
        "give one with a unit",
    ),
    (
        "tolerance = 0.005",
        'tolerance = "0.1 deg"',
        "expect[1]: tolerance '0.1 deg' is not a length",
        "write it with its unit",
    ),
    (
        "tolerance = 0.005",
        'tolerance = "-1 mm"',
        "expect[1]: tolerance is negative",
        "give the largest difference allowed",
    ),
    (
        'quantity = "uz"',
        'quantity = "uw"',
        "expect[1]: quantity 'uw' is not one that can be expected",
        "use one of ux, uy",
    ),
    (
        'source = "worked here"\n',
        "",
        "expectations need 'source' and 'seen'",
        "say where the values are from",
    ),
    (
        'seen   = "derived"',
        'seen = "dreamt"',
        "seen: 'dreamt': input should be 'text', 'quoted', 'memory' or 'derived'",
        "correct the value",
    ),
    ("title  =", "title  = [", "is not sound TOML", "correct the line it names"),
]


def read(folder, text):
    """Read a text as a frame file."""
    path = folder / "frame.toml"
    path.write_text(text, encoding="utf-8")
    return read_frame_file(path)


def faults_of(folder, text):
    """The lines of what reading raises, without the folder."""
    with pytest.raises((InputFault, InputFaults)) as caught:
        read(folder, text)
    assert caught.value.exit_status == 2
    return str(caught.value).replace(f"{folder}/", "").split("\n")


def test_a_sound_file_is_read_into_si(tmp_path):
    """Units are turned into SI, and every table ends up where the frame has it."""
    file = read(tmp_path, VALID_FRAME_TEXT)
    frame = frame_of(file)
    loads = loads_of(file, frame)
    assert frame.EA[0] == pytest.approx(210e9 * 20e-4)
    assert frame.EIy[0] == pytest.approx(210e9 * 1000e-8)
    assert frame.EIz[0] == pytest.approx(210e9 * 500e-8)
    assert frame.GJ[0] == pytest.approx(210e9 / 2.6 * 1500e-8)
    assert frame.GAz[0] == pytest.approx(210e9 / 2.6 * 16e-4)
    assert frame.line_mass[0] == pytest.approx(7850 * 20e-4)
    assert len(frame.ends) == 4
    np.testing.assert_allclose(frame.offsets[0, 0], [0, 0, 0.05])
    assert frame.end_springs[-1, 6:].tolist() == [np.inf, np.inf, np.inf, np.inf, 0.0, 200e3]
    assert frame.springs.tolist() == [[0, 0, 2e6, 0, 0, 0]]
    assert loads.support_displacement[0, 0, 2] == pytest.approx(-2e-3)
    np.testing.assert_allclose(loads.nodal[0, 1], [0, 0, -5e3 - 50 * 9.80665, 0, 1e3, 0])
    np.testing.assert_allclose(
        frame.axes[0].T @ loads.line[0, 0], [0, 0, -2e3 - 7850 * 20e-4 * 9.80665], atol=1e-9
    )


def test_a_line_load_may_end_within_the_beam_and_act_at_an_arm(tmp_path):
    """2 kN/m from 0.5 m to 3 m, 0.1 m beside the beam: 5 kN down at 1.75 m along it and 0.1 m beside it, force and moment."""
    text = edited_text('axes = "global"', 'begin = "0.5 m"\nend = "3 m"\narm = "0 0.1 0 m"')
    frame = frame_of(read(tmp_path, text))
    with_load, without = (
        loads_of(read(tmp_path, one), frame) for one in (text, text.replace("0 0 -2 kN/m", "0 0 0 kN/m"))
    )
    points, acting = resultants(frame, with_load.concatenated(without))
    added = (acting[0] - acting[1])[:, :3].sum(axis=0)
    moment = ((acting[0] - acting[1])[:, 3:] + np.cross(points, (acting[0] - acting[1])[:, :3])).sum(axis=0)
    at = frame.end_points[0, 0] + 1.75 * frame.axes[0, 0] + [0, 0.1, 0]
    np.testing.assert_allclose(added, [0, 0, -5e3], rtol=1e-9, atol=1e-6)
    np.testing.assert_allclose(moment, np.cross(at, added), rtol=1e-9, atol=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "wrong", "cure"), FAULTS, ids=[f[1][:40].strip() or f"no {f[0][:12]}" for f in FAULTS]
)
def test_a_fault_is_one_sentence(tmp_path, old, new, wrong, cure):
    """A fault is one line that names the file, the key, what is wrong, and what would cure it."""
    (line,) = faults_of(tmp_path, edited_text(old, new))
    place, _, remedy = line.partition("; ")
    assert place.startswith("frame.toml: ")
    assert wrong in place
    assert cure in remedy


def test_all_faults_of_the_tables_are_reported_at_once(tmp_path):
    """Wrong units, unknown keys and missing ones in one file are all reported in one reading."""
    text = (
        edited_text(E_LINE, 'E = "210 mm"')
        .replace("gravity =", "gravty =")
        .replace(NODE_B, 'B = "4 0 m"\n')
        .replace('to = "B"\n', "")
    )
    told = faults_of(tmp_path, text)
    assert len(told) == 4
    for words in ("'210 mm' is not", "did you mean 'gravity'?", "2 numbers where 3", "'to' is missing"):
        assert any(words in line for line in told)


def test_all_faults_between_tables_are_told_at_once(tmp_path):
    """Unknown names, a second support, and a release that clashes with a spring are all reported in one
    reading.
    """
    text = edited_text('section = "bar"', 'section = "baar"').replace(
        'to_release = ["ry"]', 'to_release = ["rz"]'
    )
    text = text.replace('node = "B"\nfixed', 'node = "A"\nfixed').replace('beam = "AB"', 'beam = "BA"')
    assert len(faults_of(tmp_path, text)) == 4


def test_more_elements_together_than_can_be_held(tmp_path):
    """Beams that each are within the limit may not be beyond it together."""
    beam = (
        '[[beams]]\nname = "{}"\nfrom = "A"\nto = "B"\nsection = "bar"\nmaterial = "steel"\ndivide = 10000\n'
    )
    text = edited_text("[[springs]]", "".join(beam.format(number) for number in range(21)) + "[[springs]]")
    (line,) = faults_of(tmp_path, text)
    assert line == "frame.toml: beams: have more than 200,000 elements together; divide them less"


def test_a_name_is_only_a_name(tmp_path):
    """A node may bear any name, markup included: it is kept as it is and means nothing."""
    name = "<script>alert(1)</script>"
    file = read(
        tmp_path,
        VALID_FRAME_TEXT.replace('A = "0 0 0 m"', f'"{name}" = "0 0 0 m"').replace('"A"', f'"{name}"'),
    )
    assert name in frame_of(file).node_index


def test_a_file_that_is_not_there(tmp_path):
    """A file that does not exist, is a folder, or is no text is reported by its name."""
    for path, wrong in ((tmp_path / "no.toml", "does not exist"), (tmp_path, "cannot be read")):
        with pytest.raises(InputFault, match=wrong) as caught:
            read_frame_file(path)
        assert caught.value.place == str(path)
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputFault, match="is not UTF-8 text; save it as UTF-8"):
        read_frame_file(binary)


def test_a_value_where_tables_belong_is_one_sentence(tmp_path):
    """Of sections, whose kinds of tables have no hash; it was a traceback."""
    lines = faults_of(tmp_path, 'title = "one"\nsections = false\n')
    assert any(line.split(": ")[1] == "sections" for line in lines)


def test_an_empty_file_says_what_it_lacks(tmp_path):
    """An empty file lacks a title, nodes and cases, all reported at once."""
    assert [line.split(": ")[1] for line in faults_of(tmp_path, "")] == ["title", "nodes", "cases"]


LINES = [number for number, line in enumerate(VALID_FRAME_TEXT.split("\n")) if "=" in line]


@given(
    number=st.sampled_from(LINES),
    value=st.one_of(
        st.integers(),
        st.floats(),
        st.booleans(),
        st.text(st.characters(codec="ascii", exclude_characters='"\\\r\n\0'), max_size=8),
    ),
)
@settings(max_examples=60)
def test_whatever_a_value_is_the_file_is_read_or_refused(tmp_path_factory, number, value):
    """Any value at any key is taken or refused as a fault of the input: no other exception leaves the
    reader.
    """
    text = f'"{value}"' if isinstance(value, str) else str(value).lower()
    if any(ord(character) < 32 or ord(character) == 127 for character in text):
        return
    lines = VALID_FRAME_TEXT.split("\n")
    lines[number] = lines[number].partition("=")[0] + "= " + text
    folder = tmp_path_factory.mktemp("any")
    with suppress(InputFault, InputFaults):
        read(folder, "\n".join(lines))
