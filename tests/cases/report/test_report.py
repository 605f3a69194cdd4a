"""A report says what the study says, in every form, complete in itself, harmless whatever the names are."""

import csv
import html.parser
import io
import json
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import partial

import jsonschema
import meshio
import numpy as np
import pytest
from rich.console import Console

from cases.analyses.analysis import Analysis
from cases.analyses.joint_results import ATTRACTED
from cases.analyses.study import run_study
from cases.cli.run_summary import decision_lines, further_lines, verdict_lines
from cases.report import output
from cases.report.data import words
from cases.report.data.decision_words import action_sentences
from cases.report.data.results import results, schema
from cases.report.data.statements import unchecked_words
from cases.report.figures import attraction_figure, boat_figures
from cases.report.output import write
from cases.report.pages import report_page
from cases.report.pages.scripted import bundle
from cases.report.tables import joint_tables
from femcore.base import numbers
from femcore.results.vtu import case_names
from models.response.front_end import SIDES
from models.response.joint_loads import component_index
from tests.cases.report.figures_read import figure
from tests.cases.report.report_boat import CASES, JOINTS, NOTE, TITLE, boat_file

TABLES = {
    "fitting_remarks",
    *(
        "comparison",
        "joint_loads",
        "racking_shares",
        "load_path",
        "front_end_path",
        "movements",
        "crossbeam_actions",
    ),
    *("truss", "deformed", "motions", "stay_over_rake", "stay_over_sag", "load_origins"),
    *("racking_ways", "racking_ways_at_joints"),
    *(f"envelope_{what}" for what in ("forces", "moments", "movements", "turns", "along")),
    *("uncertainty", "reliability", "scatter"),
    *("combinations", "design_actions", "margins", "not_checked", "design_loads", "margins_by_case"),
}


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """The small boat, run once."""
    return run_study(boat_file(tmp_path_factory.mktemp("boat")), "strange.toml")


@pytest.fixture(scope="module")
def written(study, tmp_path_factory):
    """Its report, written once with everything."""
    return write(Analysis(study), tmp_path_factory.mktemp("out") / "report")


@pytest.fixture(scope="module")
def text(written):
    """The page."""
    return written.report.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def told(written):
    """The numbers."""
    return json.loads((written.folder / "results.json").read_text(encoding="utf-8"))


class Tags(html.parser.HTMLParser):
    """All tags and attributes of a page, its words, and whether every tag is closed in turn."""

    VOID = {"meta", "img", "br", "hr", "link", "input"}

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.open = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note a tag."""
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        """Note a tag closed at once."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        """A tag closes the one that was opened last."""
        assert self.open.pop() == tag

    def handle_data(self, data):
        """Note words."""
        self.words.append(data)


def read_csv(written, name):
    """A table's rows by heading."""
    text = (written.folder / "tables" / f"{name}.csv").read_text("utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def test_everything_is_there_and_nothing_else(study, written, told):
    """The folder holds page, numbers, schema, the tables, a mesh per joint, and pictures; its list names them
    all.
    """
    found = {p.relative_to(written.folder).as_posix() for p in written.folder.rglob("*") if p.is_file()}
    assert found == set(written.files) == set(told["files"])
    assert {"report.html", "results.json", "results.schema.json"} <= found
    assert {f"tables/{name}.csv" for name in TABLES} == {name for name in found if name.startswith("tables/")}
    assert sum(name.startswith("frames/") for name in found) == len(study.joints)
    drawn = {name.removeprefix("pictures/") for name in found if name.startswith("pictures/")}
    assert {"boat.svg", "attraction.svg", "worst.svg"} <= drawn
    assert sum(name.startswith("deflected-") for name in drawn) == len(CASES)
    assert sum(name.startswith("crossbeam-") for name in drawn) == len(CASES)
    assert sum(name.startswith("path-") for name in drawn) == len(CASES)
    assert all(re.fullmatch(r"[a-z0-9._/-]+", name) for name in found)
    assert all(name.endswith(".svg") or name.startswith("space-") for name in drawn), "PNG only if asked for"


def test_picture_files_stand_on_their_own(written):
    """Every SVG file is well-formed, of a size of its own, on white, and takes neither colour nor font from a page."""
    for name in written.files:
        if name.endswith(".svg"):
            root = ET.fromstring((written.folder / name).read_text("utf-8"))  # noqa: S314  (our own)
            assert root.tag == "{http://www.w3.org/2000/svg}svg"
            assert root.attrib["width"].endswith("pt")
            assert root.attrib["height"].endswith("pt")
            assert "var(" not in ET.tostring(root, encoding="unicode")
            page = root.find("{http://www.w3.org/2000/svg}rect")
            assert page.attrib["fill"] == "#ffffff"
            left, top, *size = root.attrib["viewBox"].split()
            assert [page.attrib[key] for key in ("x", "y", "width", "height")] == [left, top, *size]


def test_either_pictures_in_space_or_a_remark(written, told):
    """Where there is no renderer, a remark says so in the result and in the numbers; else there are
    pictures.
    """
    drawn = [name for name in written.files if name.startswith("pictures/space-")]
    assert bool(drawn) != bool(written.remarks)
    assert told["remarks"] == list(written.remarks)


def test_the_numbers_keep_to_their_schema(told, written):
    """`results.json` is valid against the schema beside it, which is the one that the program gives."""
    beside = json.loads((written.folder / "results.schema.json").read_text("utf-8"))
    assert beside == schema()
    jsonschema.Draft202012Validator.check_schema(beside)
    jsonschema.validate(told, beside)


def test_the_numbers_read_back_as_written(study, told, written):
    """Read back, the numbers are those of the study to the last digit."""
    assert told == json.loads(results(Analysis(study), written.remarks, written.files).json())
    assert (told["format"], told["version"], told["source"]) == ("forebeam results", 1, "strange.toml")
    assert told["title"] == TITLE
    for joint, one in zip(study.joints, told["joints"], strict=True):
        assert one["racking_stiffness"] == joint.racking_stiffness
        for found, case in zip(joint.cases, one["cases"], strict=True):
            assert np.array_equal([case["joint_load"][side] for side in SIDES], found.joint_load)
            assert np.array_equal([case["stems"][side] for side in SIDES], found.stems)


def test_an_infinity_is_refused(study):
    """A number that JSON cannot hold never reaches the file, in a result's own dataclass or in an array."""
    joint = study.joints[0]
    case = joint.cases[0]
    truss, load = replace(case.truss, strut=math.inf), np.full_like(case.joint_load, np.nan)
    for wrong, word in ((replace(case, truss=truss), "Infinity"), (replace(case, joint_load=load), "NaN")):
        broken = replace(results(Analysis(study)), joints=[replace(joint, cases=(wrong,))])
        with pytest.raises(ValueError, match=f"{word}, where every number is finite"):
            broken.json()


def test_paths_sum_to_zero_as_written(told):
    """What is written of a load path sums to nothing beside its largest entry."""
    for joint in told["joints"]:
        for case in joint["cases"]:
            for ledger in ("path", "front_end"):
                entries = np.array([entry["action"] for entry in case[ledger]])
                assert np.abs(entries.sum(axis=0)).max() <= 1e-9 * np.abs(entries).max()
            assert [entry["role"] for entry in case["front_end"]][-2:] == ["held", "held"]
            applied = np.array([entry["action"] for entry in case["applied"]]).sum(axis=0)
            assert applied == pytest.approx(case["path"][0]["action"], abs=1e-9 * np.abs(entries).max())
            assert case["at_rest"] is None


def test_shares_sum_to_one_as_written(told):
    """Hull, torque and shear share sum to 1 in every case that racks."""
    shares = [case["shares"] for joint in told["joints"] for case in joint["cases"] if case["shares"]]
    assert shares
    assert all(math.isclose(one["hull"] + one["torque"] + one["shear"], 1, abs_tol=1e-9) for one in shares)


def test_a_rigid_spring_is_a_word(told):
    """JSON knows no infinity: a rigid spring is the word, a free one is 0."""
    assert told["joints"][0]["springs"] == ["rigid", "rigid", "rigid", 0.0, "rigid", "rigid"]
    assert told["joints"][1]["springs"][4] == 300e3


HEADINGS = {
    "joint_loads": """
        case | joint | hull | Fx, fore-and-aft shear (N) | Fy, axial force (N) | Fz, vertical shear (N)
        | Mx, vertical bending (N·m) | My, torque (N·m) | Mz, fore-and-aft bending (N·m)""",
    "racking_shares": """
        case | joint | racking moment (N·m) | hull share (share) | torque share (share) | shear share (share)
        | sum (share) | torque, of a rigid joint’s (share) | bending, of a rigid joint’s (share)""",
    "load_path": """
        case | joint | acts on the crossbeam | Fx (N) | Fy (N) | Fz (N) | Mx (N·m) | My (N·m) | Mz (N·m)""",
    "front_end_path": """
        case | joint | acts on the front end | Fx (N) | Fy (N) | Fz (N) | Mx (N·m) | My (N·m) | Mz (N·m)""",
    "movements": """
        case | joint | stem | ux, surge (m) | uy, sway (m) | uz, heave (m)
        | rx, roll (rad) | ry, pitch (rad) | rz, yaw (rad)""",
    "crossbeam_actions": """
        case | joint | distance from starboard end (m) | N (N) | Vy (N) | Vz (N)
        | T (N·m) | My (N·m) | Mz (N·m)""",
}


@pytest.mark.parametrize("name", HEADINGS)
def test_tables_name_their_units(written, name):
    """Each table's columns are these, each with its unit, and every row fills them."""
    rows = read_csv(written, name)
    assert list(rows[0]) == [heading.strip() for heading in HEADINGS[name].split("|")]
    assert all(None not in row and None not in row.values() for row in rows)


def test_tables_hold_the_study(study, written):
    """Joint loads and stem movements come back from the tables to the last digit, row by row; a name that a spreadsheet would
    work out has an apostrophe before it.
    """
    loads, moves = read_csv(written, "joint_loads"), read_csv(written, "movements")
    assert len(loads) == len(moves) == len(study.joints) * len(CASES) * 2
    assert {row["case"] for row in loads} == {"up & down", "up / down", "'=1+1"}
    for rows, key in ((loads, "joint_load"), (moves, "stems")):
        for row in rows:
            joint = next(j for j in study.joints if j.joint.name == row["joint"])
            found = next(c for c in joint.cases if c.case.name == row["case"].removeprefix("'"))
            side = SIDES.index(row.get("hull") or row["stem"])
            assert [float(cell) for cell in list(row.values())[3:]] == getattr(found, key)[side].tolist()


def test_the_page_is_whole(text, written):
    """Every tag of the page is closed in its turn, and every part is there."""
    tags = Tags(text)
    assert not tags.open
    parts = {attributes.get("id") for tag, attributes in tags.tags if tag == "section"}
    assert {"answer", "compared", "racking", "rig", "cases", "boat", "trust", "words"} <= parts
    assert sum(tag == "svg" for tag, _ in tags.tags) == sum(
        "pictures/" in n and "space-" not in n for n in written.files
    )


OWN_SCRIPTS = [
    {"type": "application/json", "id": "scene-data"},
    {"type": "application/json", "id": "live-joint-data"},
    {},
]
"""Numbers and the one script that the policy allows by its hash (tests of the boat to turn)."""


def test_names_are_harmless(text):
    """Names and notes come out as text: no tag of theirs is a tag of the page."""
    tags = Tags(text)
    assert [attributes for tag, attributes in tags.tags if tag == "script"] == OWN_SCRIPTS
    assert all(attributes.get("alt") for tag, attributes in tags.tags if tag == "img")
    words = " ".join(tags.words)
    assert "<script>alert('title')</script>" in words
    assert NOTE in words
    assert "<script>alert('note')</script>" in words
    assert "<b>pin</b>" in words


def test_the_page_needs_nothing_else(text):
    """The page loads nothing: no address, no file, no script but its own, and a policy that forbids them."""
    tags = Tags(text)
    text = text.replace(bundle("report"), "")
    for tag, attributes in tags.tags:
        assert tag not in {"link", "iframe", "object", "embed", "base"}
        for name, value in attributes.items():
            assert tag != "script" or attributes in OWN_SCRIPTS
            if name in {"src", "srcset", "data", "poster"}:
                assert value.startswith("data:image/png;base64,")
            if name in {"href", "xlink:href"}:
                assert value.startswith("#")
            assert not name.startswith("on")
            assert "url(" not in (value or "").replace("url(#", "")
    assert re.findall(r"https?://[^\"<]*", text.replace(html_escaped(NOTE), "")) == []
    assert "default-src 'none'" in text


def html_escaped(words):
    """As the page writes it."""
    return words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&#34;")


def test_every_reference_within_the_page_has_its_mark(text):
    """Each link, marker and clip that the page refers to is there, once."""
    tags = Tags(text)
    marks = [attributes["id"] for _, attributes in tags.tags if "id" in attributes]
    assert len(marks) == len(set(marks))
    wanted = set(re.findall(r'(?:href="#|url\(#)([^")]+)', text))
    assert wanted <= set(marks)


def test_the_caution_stands_first_and_last(text):
    """The caution comes before the answer and again at the end."""
    at = [found.start() for found in re.finditer("A qualified naval architect or engineer", text)]
    assert len(at) == 2
    assert at[0] < text.index('id="answer"')
    assert at[1] > text.index('id="words"')


def test_the_page_prints_in_light_and_shows_in_dark(text):
    """Dark colours are for screens only."""
    assert "@media screen and (prefers-color-scheme: dark)" in text
    assert "@media print" in text


def test_the_answer_is_the_study_s(study):
    """Torque, bending, stiffness, half stiffness and stay are told with the study's own figures."""
    answer = " ".join(words.answer(study))
    racking, rig = CASES[0], CASES[1]
    loads = {j.joint.name: np.abs(j.cases[0].joint_load).max(axis=0) for j in study.joints}
    for component in map(component_index, ATTRACTED):
        ranked = sorted(loads, key=lambda name: loads[name][component])
        least, most = loads[ranked[0]][component], loads[ranked[-1]][component]
        told = f"{words.name_of(ranked[-1])} attracts {words.quantity(most, 'N·m')}"
        assert told in answer
        least_told = "none" if least <= 1e-9 * most else words.quantity(least, "N·m")
        assert f"at each hull, {words.name_of(ranked[0])} {least_told}" in answer[answer.index(told) :]
    stiffest = max(joint.racking_stiffness for joint in study.joints)
    assert words.quantity(stiffest, "N/m") in answer
    assert f"by {100 * (stiffest / study.bare_racking_stiffness - 1):.1f}\N{NO-BREAK SPACE}%" in answer
    assert words.quantity(study.joints[0].curves["pitch"].k_half, "N·m/rad") in answer
    line = study.stay_lines()[rig]
    # 50 mm ahead, 120 mm up, 10° of rake: 50 cos 10° + 120 sin 10° = 70 mm; free of torque 120 tan 10° behind
    assert "70 mm ahead of" in answer
    assert "21 mm behind the shear centre" in answer
    assert words.quantity(abs(line.torque), "N·m") in answer
    assert racking in answer


@pytest.mark.parametrize("width", [80, 100])
def test_the_summary_says_the_answer_in_few_lines(study, width):
    """In the terminal: the decision, what is in no check, then the answer and one row for each joint: a screenful."""
    console = Console(width=width, file=io.StringIO(), color_system=None)
    found = Analysis(study)
    console.print(verdict_lines(found))
    console.print(decision_lines(found))
    console.print(further_lines(found))
    shown = console.file.getvalue()
    lines = shown.splitlines()
    assert len(lines) <= 60 if width == 80 else len(lines) <= 50
    assert max(map(len, lines)) <= width
    flat = " ".join(shown.split())
    places = [
        flat.index(" ".join(numbers.plain(sentence).split()))
        for sentence in (
            found.decision.question,
            *action_sentences(found.decision),
            unchecked_words(found),
            words.stiffness_sentence(study),
        )
    ]
    assert places == sorted(places), "the decision comes first"
    assert all(one.verdict in flat for one in found.decision.candidates)
    table = lines[next(at for at, line in enumerate(lines) if line.startswith(" joint")) :]
    rows = sum(line.lstrip().startswith(numbers.shorten(joint, 24)) for line in table for joint in JOINTS)
    assert rows == len(JOINTS)


def test_meshes_read_back_as_the_solutions(study, written):
    """Each joint's mesh holds as many elements as its frame, and every case by its name."""
    for joint, slug in zip(study.joints, numbers.slugs(list(JOINTS)), strict=True):
        mesh = meshio.read(written.folder / "frames" / f"{slug}.vtu")
        assert len(mesh.cells_dict["line"]) == len(joint.front.frame.ends)
        assert {f"{name}: movement m" for name in case_names(joint.solution)} <= set(mesh.point_data)


def test_the_curve_picture_goes_through_the_joints(study):
    """The curve is k/(k + k_half) of the rigid moment, and each joint's own mark lies on it."""
    axes = attraction_figure.curve_picture(study).figure.axes[0]
    force = attraction_figure.reference_force(study)
    unit = {"kN·m": 1e-3, "N·m": 1.0}[axes.get_ylabel()]
    sprung = study.joints[1].curves["pitch"]
    smooth = [line for line in axes.lines if len(line.get_xdata()) > 100]
    k, moment = (np.asarray(values) for values in smooth[1].get_data())
    assert np.allclose(moment, unit * force * abs(sprung.rigid_moment) * k / (k + sprung.k_half), rtol=1e-12)
    marks = [
        line.get_data() for line in axes.lines if len(line.get_xdata()) == 1 and line.get_marker() == "s"
    ]
    assert marks[0][0][0] == 300e3
    assert marks[0][1][0] == pytest.approx(
        unit * force * abs(sprung.rigid_moment) * 300e3 / (300e3 + sprung.k_half)
    )


def test_names_in_pictures_overlap_nothing(study):
    """In the pictures of the boat and of the curves no two written names overlap."""
    for drawing in (boat_figures.boat_picture(study), attraction_figure.curve_picture(study)):
        for axes in drawing.figure.axes:
            names = [text for text in axes.texts if text.get_bbox_patch() is not None]
            boxes = [text.get_window_extent() for text in names]
            assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if a.overlaps(b)]


def test_without_a_renderer_the_report_is_whole(study, tmp_path, monkeypatch):
    """Where nothing can draw in space, a remark says so, on the page too, and all else is written."""
    monkeypatch.setattr(output.render3d, "render", lambda *_: ([], "no renderer on this machine"))
    monkeypatch.setattr(
        output.report_figures, "picture_jobs", lambda _: [partial(boat_figures.boat_picture, study)]
    )
    with output.OtherProcess("matplotlib.backends.backend_svg") as other:
        done = output._fill(Analysis(study), tmp_path, output.Form(), lambda *_: None, other)
    assert done == ["No three-dimensional view: no renderer on this machine."]
    assert done[0] in (tmp_path / "report.html").read_text("utf-8")
    assert json.loads((tmp_path / "results.json").read_text("utf-8"))["remarks"] == done


def test_the_same_study_gives_the_same_page(study):
    """Page, tables and numbers of one study are the same to the byte in two runs: nothing of the hour is in
    them.
    """
    first, second = (
        [
            draw(study).picture(png=True)
            for draw in (boat_figures.boat_picture, attraction_figure.curve_picture)
        ]
        for _ in range(2)
    )
    assert [picture.png for picture in first] == [picture.png for picture in second]
    assert report_page.render(Analysis(study), first, [], []) == report_page.render(
        Analysis(study), second, [], []
    )
    assert [t.csv() for t in joint_tables.all_tables(study)] == [
        t.csv() for t in joint_tables.all_tables(study)
    ]


def test_a_report_that_is_stopped_leaves_nothing(study, tmp_path, monkeypatch):
    """Stopped while the page is put together, neither the folder nor anything beside it is left."""

    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(output.render3d, "render", lambda *_: ([], "none"))
    monkeypatch.setattr(
        output.report_figures, "picture_jobs", lambda _: [partial(boat_figures.boat_picture, study)]
    )
    monkeypatch.setattr(output.report_page, "render", stop)
    with pytest.raises(KeyboardInterrupt):
        write(Analysis(study), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [(1912.2, "N·m", "1.91 kN·m"), (999.7, "N", "1.00 kN"), (5e5, "N/m", "500 kN/m"),
     (-0.0604, "m", "−60.4 mm"), (0, "N", "0 N"), (math.inf, "N", "inf N"), (1e-12, "m", "0.00100 nm")],
)  # fmt: skip
def test_quantities_have_three_digits(value, unit, said):
    """A quantity is said with three digits, a prefix that fits, and a true minus."""
    assert words.quantity(value, unit) == said


@pytest.mark.parametrize("value", [0.1234, 5.0, 12345.0, 9.999e5, 0.05])
def test_a_quantity_said_is_the_quantity(value):
    """Read again as a quantity, what was said is the value to half a unit of its third digit; no file may say mN·m."""
    assert figure(words.quantity(value, "N·m")).shows(value, "N·m")


def test_no_minus_nought():
    """Rounded to nothing, a number has no sign."""
    assert words.number(-0.0004, 2) == "0.00"
    assert words.number(-0.4, 1) == "−0.4"
