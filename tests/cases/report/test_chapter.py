"""The textbook cases as one page: every case with its picture and all its values, complete in itself, in teaching order."""

import html.parser
import json
import re
import shutil

import numpy as np
import pytest

from cases.cli import commands
from cases.report.figures import textbook_figures
from cases.report.pages import chapter, chapter_words
from cases.report.pages.chapter_topics import INTRODUCTIONS
from cases.verification import textbook
from femcore.base.errors import InputFault
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame

STRANGE = """
title = "<script>alert('x')</script> & co"
source = "A \\"book\\" <b>of</b> & frames"
seen = "derived"
topic = "odd <i>topic</i>"
note = \"\"\"
w L^2 / 12 & a_b * c^2 < 3 > 2, <img src=x onerror=y>; compare named_other
for once.
\"\"\"

[materials.steel]
E = "200 GPa"
nu = 0.3

[sections.bar]
A = "10 cm**2"
Iy = "100 cm**4"
Iz = "100 cm**4"
J = "100 cm**4"

[nodes]
"<A>" = "0 0 0 m"
"B&B" = "1 0 0 m"

[[beams]]
name = "<A>B"
from = "<A>"
to = "B&B"
section = "bar"
material = "steel"

[[supports]]
node = "<A>"
fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]

[[cases]]
name = "tip </td> load"
[[cases.point]]
node = "B&B"
force = "0 0 -1 kN"

[[expect]]
case = "tip </td> load"
at = "B&B"
quantity = "uz"
value = "-1.6666666667 mm"
tolerance = 1e-6
"""


class Read(html.parser.HTMLParser):
    """A page taken apart: tags with attributes, words, the rows of tables of each case; every tag is closed in turn."""

    VOID = {"meta", "img", "br", "hr", "link", "input"}
    EMPTY_IN_SVG = {"path", "use", "rect", "circle"}

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.open, self.rows, self.case = [], [], [], {}, None
        self.drawn = set()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note a tag, the case that it begins, and its picture and rows."""
        given = dict(attrs)
        self.tags.append((tag, given))
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "article":
            self.case = given["id"]
            self.rows[self.case] = []
        elif tag == "svg" and self.case:
            self.drawn.add(self.case)
        elif tag == "tr" and "tbody" in self.open and self.case:
            self.rows[self.case].append([])
        elif tag == "td" and self.case and "tbody" in self.open:
            self.rows[self.case][-1].append("")

    def handle_startendtag(self, tag, attrs):
        """Note a tag closed at once."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        """A tag closes the one that was opened last."""
        assert self.open.pop() == tag
        if tag == "article":
            self.case = None

    def handle_data(self, data):
        """Note words, and those of a cell."""
        self.words.append(data)
        if self.case and "td" in self.open and "tbody" in self.open:
            self.rows[self.case][-1][-1] += data


def with_wrong_value(folder, value='value = "-3.9669 mm"', instead='value = "-4.9669 mm"'):
    """A folder with one textbook case, one of its published values changed."""
    folder.mkdir(exist_ok=True)
    text = textbook.textbook_file("beam_on_middle_spring").read_text("utf-8")
    assert value in text
    (folder / "beam_on_middle_spring.toml").write_text(text.replace(value, instead, 1), "utf-8")
    return folder


def run(arguments):
    """Run the command; its exit status."""
    with pytest.raises(SystemExit) as ended:
        commands.main(arguments)
    return ended.value.code


@pytest.fixture(scope="module")
def cases():
    """All textbook cases, run once."""
    return textbook.verify()


@pytest.fixture(scope="module")
def text(cases):
    """The whole page, drawn once."""
    return chapter.render(cases)


@pytest.fixture(scope="module")
def page(text):
    """The whole page taken apart."""
    return Read(text)


def test_every_case_has_a_picture_and_a_row_for_each_expectation(cases, page):
    """Each case has one section with a drawing, and as many rows as it has expectations."""
    assert len(page.rows) == len(cases)
    assert page.drawn == set(page.rows)
    assert [len(rows) for rows in page.rows.values()] == [len(case.run.outcomes) for case in cases]


def test_rows_say_published_ours_and_tolerance(cases, page):
    """A row holds place, quantity, published value, ours, difference, tolerance and a mark."""
    for case, rows in zip(cases, page.rows.values(), strict=True):
        outcomes = sorted(
            case.run.outcomes, key=lambda o: [c.name for c in case.run.file.cases].index(o.expected.case)
        )
        for outcome, row in zip(outcomes, rows, strict=True):
            at, quantity, published, _, _, tolerance, mark = row[-7:]
            expect = outcome.expected
            assert (at, quantity) == (expect.at or "frame", expect.quantity)
            assert published == chapter_words.printed(str(expect.value))
            assert tolerance.startswith("± ")
            assert mark == ("✓ met" if outcome.ok else "✗ missed")


def test_notes_and_sources_stand_as_they_were_written(cases, page):
    """Every word of every note and source stands on the page, formulas and all."""
    shown = " ".join("".join(page.words).split())
    for case in cases:
        for part in chapter_words.paragraphs(case.run.file.note, {}):
            for line in part:
                assert " ".join("".join(piece for piece, _ in line).split()) in shown
        assert " ".join(case.run.file.source.split()) in shown


def test_the_page_is_complete_in_itself(text, page):
    """Nothing is fetched and nothing runs: no addresses, no scripts, every link leads to a place on the page."""
    assert "http:" not in text
    assert "https:" not in text
    assert not {"script", "link", "iframe", "object"} & {tag for tag, _ in page.tags}
    named = [given["id"] for _, given in page.tags if given.get("id")]
    assert len(named) == len(set(named))
    led = [value for _, given in page.tags for key, value in given.items() if key in {"href", "src"}]
    assert led
    assert {value.removeprefix("#") for value in led} <= set(named)
    assert "default-src 'none'" in text


def test_the_page_is_small(text):
    """The page can be sent by mail: under 12 MB."""
    assert len(text.encode()) < 12e6


def test_topics_stand_in_teaching_order(cases, page):
    """The topics are those of the list, in its order, each with an introduction; so in the page's headings."""
    met = list(dict.fromkeys(case.topic for case in cases))
    assert met == list(textbook.TOPICS)
    assert set(INTRODUCTIONS) == set(textbook.TOPICS)
    shown = " ".join("".join(page.words).split())
    at = [shown.index(" ".join(INTRODUCTIONS[topic].split())) for topic in met]
    assert at == sorted(at)


def test_a_case_stands_after_those_that_it_leans_on(cases):
    """What a note builds on is read before it, within a topic."""
    order = {case.path.stem: number for number, case in enumerate(cases)}
    topic = {case.path.stem: case.topic for case in cases}
    assert order["racking_torsion_coupled"] < order["racking_sprung_root"]
    assert order["king_post_slipping_strap"] < order["king_post_gripped_strap"]
    for case in cases:
        for name in set(re.findall(r"\w+", case.run.file.note)) & set(order) - {case.path.stem}:
            mutual = case.path.stem in cases[order[name]].run.file.note
            assert topic[name] != case.topic or mutual or order[name] < order[case.path.stem]


def test_an_unknown_topic_stands_last(tmp_path):
    """A topic that is not in the list comes after those that are, and is told without an introduction."""
    folder = with_wrong_value(tmp_path / "cases")
    (folder / "a.toml").write_text(STRANGE, "utf-8")
    assert [case.topic for case in textbook.verify(folder)] == ["spring supports", "odd <i>topic</i>"]


def test_names_and_texts_are_harmless(tmp_path):
    """Whatever stands in a file is shown as text: no tag of its own making, no formula changed."""
    (tmp_path / "odd.toml").write_text(STRANGE, "utf-8")
    text = chapter.render(textbook.verify(tmp_path))
    read = Read(text)
    assert not {"script", "img", "b>of"} & {tag for tag, _ in read.tags}
    shown = "".join(read.words)
    for words in (
        "<script>alert('x')</script> & co",
        'A "book" <b>of</b> & frames',
        "w L^2 / 12 & a_b * c^2 < 3 > 2, <img src=x",
    ):
        assert words in shown
    assert read.rows["odd"][0][0] == "B&B"


def test_a_note_links_to_the_cases_that_it_names():
    """The name of another case's file leads to it; wrapped lines run on, lines that end early are kept."""
    note = "A long line of theory wrapped by hand so that\nit runs on as in other_case.\nNew.\n\nNext, M_A = w L^2/8 * 2.\n"
    first, second = chapter_words.paragraphs(note, {"other_case": "#there"})
    assert first[0] == [
        ("A long line of theory wrapped by hand so that it runs on as in ", ""),
        ("other_case", "#there"),
        (".", ""),
    ]
    assert first[1] == [("New.", "")]
    assert second == [[("Next, M_A = w L^2/8 * 2.", "")]]


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("-3.1e-05 kN*m", "−3.1·10⁻⁵ kN·m"),
        ("+1.2e+06 N", "+1.2·10⁶ N"),
        ("12 mm**2", "12 mm²"),
        ("-0 kN", "0 kN"),
        ("± 1e-9 rad", "± 1·10⁻⁹ rad"),
        ("1.8213", "1.8213"),
    ],
)
def test_numbers_look_as_in_print(written, shown):
    """Powers of ten, products and minus signs are those of print."""
    assert chapter_words.printed(written) == shown


def test_loads_are_told_in_words():
    """What acts in a case is told with its place, its direction and its unit; alike loads once."""
    told = {}
    for name in (
        "two_span_sinking_support",
        "gravity_cantilever",
        "restrained_bar_warmed",
        "king_post_gripped_strap",
    ):
        file = read_frame_file(textbook.textbook_file(name))
        told[name] = chapter_words.loads_in_words(file, file.cases[0])
    assert (
        told["two_span_sinking_support"]
        == "Fz = −20 kN at M; −2 kN/m along z on BC; support C moved by uz = −2.5 mm"
    )
    assert told["gravity_cantilever"] == "gravity −9.80665 m/s² along z"
    assert told["restrained_bar_warmed"].startswith("+40 K on ")
    assert "pretensioned to 60 kN" in told["king_post_gripped_strap"]


def test_a_line_load_over_part_of_a_beam_says_where():
    """Where it begins and ends, to the beam's end where that is left out, and the arm at which it acts."""
    file = read_frame_file(textbook.textbook_file("two_span_sinking_support"))
    (line,) = file.cases[0].line
    for update, words in (
        ({"begin": 0.5, "end": 1.25}, "−2 kN/m along z from 500 mm to 1.25 m on BC"),
        (
            {"begin": 0.5, "arm": (0.1, 0.0, 0.0)},
            "−2 kN/m along z from 500 mm to its end at an arm of 100 mm along x on BC",
        ),
    ):
        case = file.cases[0].model_copy(update={"line": [line.model_copy(update=update)]})
        assert words in chapter_words.loads_in_words(file, case)


def test_a_miss_is_shown(tmp_path):
    """A value that is not met is marked in its row, in the contents and in the result."""
    read = Read(chapter.render(textbook.verify(with_wrong_value(tmp_path / "cases"))))
    marks = [row[-1] for row in read.rows["beam-on-middle-spring"]]
    assert marks.count("✗ missed") == 1
    assert "Missed in 1 of 1 cases:" in "".join(read.words)


def test_all_met_is_said(page, cases):
    """Where all is met, the result says so."""
    values = sum(len(case.run.outcomes) for case in cases)
    assert f"All {values} values of all {len(cases)} cases are met" in "".join(page.words)


def test_modes_are_drawn_as_they_came_out():
    """A case of which only modes are expected has a panel for each, with the mode's movements and its value."""
    done = run_frame(read_frame_file(textbook.textbook_file("euler_columns")))
    panels = list(textbook_figures.panels_of(done))
    found = [value for modes in done.buckling.values() for value in modes.values]
    assert [panel.title.split(" at ")[1] for panel in panels] == [
        f"{value:.4g} × its load" for value in found
    ]
    first = panels[0]
    assert np.array_equal(first.moves.displacement, done.buckling["pinned"].shapes)


def test_movements_without_strain_are_not_drawn():
    """A free beam's rigid movements, at 0 Hz, are no modes to look at."""
    done = run_frame(read_frame_file(textbook.textbook_file("vibrating_free_beam")))
    panels = list(textbook_figures.panels_of(done))
    assert panels[0].title.startswith("mode 7, ")


def test_large_movements_are_drawn_as_they_are():
    """What moves by its own length is not enlarged, nor made smaller."""
    done = run_frame(read_frame_file(textbook.textbook_file("cantilever_rolled_into_a_circle")))
    assert {panel.factor for panel in textbook_figures.panels_of(done)} == {1.0}


@pytest.mark.parametrize("more", [[], ["--json"]])
def test_the_command_writes_the_page_and_says_a_miss(tmp_path, monkeypatch, capsys, more):
    """With a page and without, in words and as JSON, a miss is status 1; the table or the numbers are still printed."""
    monkeypatch.setattr(textbook, "TEXTBOOK", with_wrong_value(tmp_path / "cases"))
    assert run(["verify", *more]) == 1
    alone = capsys.readouterr().out
    target = tmp_path / "sub" / "page.html"
    assert run(["verify", "--html", str(target), *more]) == 1
    out, err = capsys.readouterr()
    assert f"Page: {target.resolve()}" in (err if more else out)
    assert out.startswith(alone[:200])
    if more:
        assert json.loads(out)["ok"] is False
    assert "✗ missed" in target.read_text("utf-8")
    assert [path.name for path in target.parent.iterdir()] == ["page.html"]


def test_the_command_ends_well_where_all_is_met(tmp_path, monkeypatch, capsys):
    """All met is status 0, and an earlier page gives way to the new one."""
    folder = with_wrong_value(tmp_path / "cases")
    sound = textbook.textbook_file("beam_on_middle_spring")
    monkeypatch.setattr(textbook, "TEXTBOOK", folder)
    target = tmp_path / "page.html"
    assert run(["verify", "--html", str(target)]) == 1
    shutil.copy(sound, folder)
    assert run(["verify", "--html", str(target)]) == 0
    assert "all within tolerance" in capsys.readouterr().out
    assert "✗ missed" not in target.read_text("utf-8")


@pytest.mark.parametrize("held", ["mine", "<!doctype html><title>mine</title>", ""])
def test_a_file_of_somebody_else_is_kept(tmp_path, monkeypatch, capsys, held):
    """What is no earlier page of this kind is left as it was, and the sentence says so before anything is run."""
    monkeypatch.setattr(textbook, "TEXTBOOK", tmp_path / "nowhere")
    target = tmp_path / "page.html"
    target.write_text(held, "utf-8")
    assert run(["verify", "--html", str(target)]) == 2
    out, err = capsys.readouterr()
    assert (out, err.strip().count("\n")) == ("", 0)
    assert (
        f"{target}: exists and is not an earlier page of this kind, as it was written; give another name with --html"
        in err
    )
    assert target.read_text("utf-8") == held


@pytest.mark.parametrize("changed", [b"</body>", b'name="generator"', b"sha256 "])
def test_a_page_that_was_changed_is_kept(tmp_path, changed):
    """A note added by hand anywhere in a page, also to what says its kind, is not lost; the page as written is replaced."""
    target = tmp_path / "page.html"
    chapter.write([], target)
    chapter.write([], target)
    page = target.read_bytes()
    assert page.count(changed) == 1
    noted = page.replace(changed, b"<!-- mine -->" + changed)
    target.write_bytes(noted)
    with pytest.raises(InputFault, match="is not an earlier page of this kind, as it was written"):
        chapter.write([], target)
    assert target.read_bytes() == noted


def test_a_folder_and_a_place_below_a_file_are_refused(tmp_path):
    """A page is a file, in a folder."""
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InputFault, match="is a folder"):
        chapter.refuse(tmp_path)
    with pytest.raises(InputFault, match="is below a file"):
        chapter.refuse(tmp_path / "file" / "page.html")
    with pytest.raises(InputFault, match=r"cannot be written \(File name too long\)"):
        chapter.write([], tmp_path / ("x" * 300))


def test_what_fails_leaves_nothing_half_written(tmp_path, monkeypatch):
    """Where the page cannot be put in place, neither it nor a folder on the way is left, and an earlier page stays."""
    earlier = tmp_path / "page.html"
    chapter.write([], earlier)
    before = earlier.read_text("utf-8")

    def full(_path, _target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(type(tmp_path), "replace", full)
    for target in (earlier, tmp_path / "new" / "page.html"):
        with pytest.raises(InputFault, match=r"cannot be written \(No space left on device\); make room"):
            chapter.write([], target)
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    assert earlier.read_text("utf-8") == before


def test_what_a_killed_writing_left_goes_with_the_next(tmp_path):
    """The temporary file of a page whose writing was killed is taken away; nobody else's is."""
    left, alike = tmp_path / ".page.html-0123456789ab.unfinished", tmp_path / ".page.html-0123"
    for path in (left, alike):
        path.write_text("<!doctype")
    chapter.write([], tmp_path / "page.html")
    assert {path.name for path in tmp_path.iterdir()} == {"page.html", alike.name}
