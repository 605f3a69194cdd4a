"""Pictures that compare joints draw the results' own numbers, and their words have them too."""

import itertools

import numpy as np
import pytest
from matplotlib.text import Text

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import candidates
from cases.analyses.study import run_study
from cases.report.data import words
from cases.report.data.statements import design_load_words
from cases.report.figures import boat_figures
from cases.report.figures.attraction_figure import curve_picture, reference_force
from cases.report.figures.joint_looks import MOST_COLOURED, candidates_first, joint_looks
from cases.report.figures.shares_figure import shares_picture
from cases.report.figures.worst_figure import MOMENTS, worst_moments, worst_picture
from cases.report.sections.combinations_section import envelope_picture
from cases.report.sections.rig_section import rake_picture
from cases.report.sections.sheets_section import sheets_section
from femcore.frame.frame import ACTIONS
from femcore.plotting import frame_plot, style
from models.checks.formulas import formula_of
from models.response.joint_loads import component_index
from models.strength.margins import SafetyFactors, failure_load_factor
from tests.models.boats import example_boat

MOST_TINT = 0.12
"""Between the largest and the least of a grey's three components."""


@pytest.fixture(scope="module")
def study():
    """The demo with four of its joints: two described, two entered; racking, a rig case and a wave."""
    file = example_boat("demo")
    kept = [one for one in file.joints if one.name in {"bolted lugs", "taped socket", "athwart pin", "rigid"}]
    cases = [case for case in file.cases if case.name in {"gust", "racking", "wave on the port bow"}]
    alone = {"joints": kept, "cases": cases, "variants": [], "combinations": [], "service": None}
    return run_study(file.model_copy(update=alone), "demo.toml")


@pytest.fixture(scope="module")
def loads(study):
    """Design loads of each joint."""
    return Analysis(study).design_loads


def test_positions_on_the_axis_are_moves(study):
    """The torque-free attachment over rake: ahead or behind, never a negative position."""
    drawing = rake_picture(study, study.rig_cases[0])
    drawing.figure.draw_without_rendering()
    shown = [label.get_text() for label in drawing.figure.axes[1].get_yticklabels()]
    assert any(text.endswith(" behind") for text in shown)
    assert not [text for text in shown if "−" in text or "-" in text]


def test_the_answer_compares_the_candidates(study):
    """Between two candidates, no other joint is named; the largest of each kind is that of the candidate with more of it."""
    said = [*words.answer(study), design_load_words(Analysis(study))]
    assert not [one for one in said if "athwart pin" in one or "‘rigid’" in one]
    stiff = max(one.stiffer for one in study.joints if one.joint.candidate)
    assert words.stiffness_sentence(study).startswith(
        f"‘taped socket’ raises racking stiffness by {words.percent(stiff - 1)}"
    )
    assert ", ‘bolted lugs’ by " in words.stiffness_sentence(study)


def test_every_check_of_the_sheets_has_its_formula(study):
    """Of both candidates, in the third column; checks beside the joints have theirs too."""
    found = Analysis(study)
    sheets = [table for table in sheets_section(study, found).readable if table.name == "margins"]
    assert [len(table.rows) > 20 for table in sheets] == [True, True]
    assert not [row for table in sheets for row in table.rows if "≤" not in row[2]]
    every = {check.check for one in found.part_margins for check, _ in one.worst if check.kind == "checked"}
    assert sorted(name for name in every if not formula_of(name)) == []


def test_miles_never_reach_what_they_fall_short_of():
    """Two digits where two tell; more where two would round up to the service."""
    assert words.miles(2599.4) == words.miles(2599.4, short_of=15000) == "2,600"
    assert words.miles(14960.0, short_of=15000) == "14,960"
    assert words.miles(14999.99999999, short_of=15000) == "15,000"


def index(study, name):
    """Number of a case."""
    return [case.name for case in study.cases].index(name)


def overlapping(figure):
    """Pairs of written labels that cover one another, in any panel of a finished figure."""
    figure.draw_without_rendering()
    texts = [text for axes in figure.axes for text in axes.texts if text.get_text() and text.get_visible()]
    boxes = [(text.get_text(), Text.get_window_extent(text)) for text in texts]
    return [
        (a, b)
        for (a, one), (b, other) in itertools.combinations(boxes, 2)
        if one.padded(-0.5).overlaps(other)
    ]


def test_candidates_have_the_colours(study):
    """Candidates have the palette in the file's order, all others are grey; they come first, then the others as in the file."""
    looks, named = joint_looks(study), {one.name for one in candidates(study.file)}
    assert named == {"bolted lugs", "taped socket"}
    assert {look.name for look in looks if look.candidate} == named
    assert [look.colour for look in looks if look.candidate] == list(style.SERIES_COLOURS[:2])
    assert {look.colour for look in looks if not look.candidate} == {style.MUTED_COLOUR}
    order = candidates_first(looks)
    assert sorted(order) == list(range(len(looks)))
    assert [looks[i].candidate for i in order] == [True, True, False, False]


def test_no_more_than_a_few_have_colours(study):
    """Where every joint is a candidate, the first few alone are in colour."""
    twice = [(one, turn) for turn in range(2) for one in study.file.joints]
    marked = [{"candidate": True, "name": f"{one.name} {turn}"} for one, turn in twice]
    joints = [one.model_copy(update=new) for (one, _), new in zip(twice, marked, strict=True)]
    many = run_study(study.file.model_copy(update={"joints": joints}))
    assert sum(look.candidate for look in joint_looks(many)) == MOST_COLOURED < len(joints)


def test_the_curve_has_moment_and_capacity_in_one_unit(study):
    """A joint's mark is the moment that the racking case itself adds, and its bar the moment that fails it alone."""
    force, drawing = reference_force(study), curve_picture(study)
    axes = drawing.figure.axes[0]
    assert force == pytest.approx(10e3, rel=1e-6)
    lugs = study.joints[[look.name for look in joint_looks(study)].index("bolted lugs")]
    added = np.abs(lugs.case("racking").added_joint_load[:, component_index("torque")]).max()
    marks = {line.get_marker(): line.get_ydata()[0] for line in axes.lines if len(line.get_xdata()) == 1}
    assert marks["o"] * 1e3 == pytest.approx(
        added, rel=2e-2
    )  # the case is of second order, the curve is linear
    capacity = lugs.joint.moment_at_failure("pitch").moment
    assert marks["_"] * 1e3 == pytest.approx(capacity)
    assert f"capacity {words.quantity(capacity, 'N·m')}" in drawing.words
    assert not overlapping(drawing.figure)


def test_bars_are_the_design_loads(study, loads):
    """Each bar is a joint's design load, each black bar or number its capacity, in the unit below; the words have both."""
    drawing = worst_picture(study, loads)
    for axes, component in zip(drawing.figure.axes, MOMENTS, strict=True):
        unit = {"kN·m": 1e3, "N·m": 1.0}[axes.get_xlabel()]
        bars = worst_moments(study, loads, component)
        assert [patch.get_width() * unit for patch in axes.patches] == pytest.approx(
            [bar.load.size for bar in bars]
        )
        order = candidates_first(joint_looks(study))
        column = component_index(component)
        assert [bar.load.size for bar in bars] == [loads[number][column].size for number in order]
        written = {text.get_text() for text in axes.texts}
        for bar in bars:
            assert words.number(bar.load.size / unit, 2) in written
            if bar.capacity is not None:
                assert f"capacity {bar.capacity.moment / unit:.3g}" in written
                said = f"{words.quantity(bar.load.size, 'N·m')} of a capacity of {words.quantity(bar.capacity.moment, 'N·m')}"
                assert said in drawing.words
        marked = [line.get_xdata()[0] * unit for line in axes.lines if len(line.get_xdata()) == 2]
        assert set(np.round(marked, 3)) <= {round(bar.capacity.moment, 3) for bar in bars if bar.capacity}
    assert not overlapping(drawing.figure)


def test_capacity_alone_fails_the_joint(study, loads):
    """Under the moment that is drawn as capacity, and nothing else, the part that is named reaches its limit."""
    bar = worst_moments(study, loads, "torque")[0]
    joint = next(one.joint for one in study.joints if one.joint.name == bar.look.name)
    alone = np.zeros((1, 6))
    alone[0, 4] = bar.capacity.moment
    factor, names = failure_load_factor(joint.port_checks(alone, SafetyFactors()))
    assert factor[0] == pytest.approx(1.0, rel=1e-6)
    assert names[0] == bar.capacity.part


def test_shares_are_drawn_as_they_are(study):
    """Bars of a joint are its shares and end at 100 %; the words name those of the candidates."""
    case = index(study, "racking")
    drawing = shares_picture(study, case)
    axes, order = drawing.figure.axes[0], candidates_first(joint_looks(study))
    widths = np.array([patch.get_width() for patch in axes.patches]).reshape(3, -1)
    for column, number in enumerate(order):
        shares = study.joints[number].cases[case].shares
        assert widths[:, column] == pytest.approx([shares.hull, shares.shear, shares.torque], abs=1e-12)
    assert widths.sum(axis=0) == pytest.approx(1.0)
    colours = np.array([patch.get_facecolor()[:3] for patch in axes.patches]).reshape(3, -1, 3)
    grey = np.ptp(colours, axis=2) < MOST_TINT
    assert [bool(column.all()) for column in grey.T] == [
        not joint_looks(study)[number].candidate for number in order
    ]
    assert not grey[:, 0].any(), "the candidates are in colour"
    lugs = study.joints[order[0]].cases[case].shares
    assert (
        f"hull {100 * lugs.hull:.1f} %, vertical force {100 * lugs.shear:.1f} %, torque {100 * lugs.torque:.1f} %"
        in drawing.words
    )
    assert not overlapping(drawing.figure)


def test_the_overlay_has_every_joint_where_it_moves(study):
    """Each joint's line goes through its own deflected nodes; the words have how far the stems of the candidates move."""
    case = index(study, "racking")
    drawing = boat_figures.deflected_picture(study, case, "deflected-racking")
    axes, looks = drawing.figure.axes[0], joint_looks(study)
    factor = frame_plot.deflection_scale([joint.solution for joint in study.joints], case)
    for joint, look in zip(study.joints, looks, strict=True):
        wide = look.line["linewidth"]
        own = [one for one in axes.lines if one.get_color() == look.colour and one.get_linewidth() == wide]
        lines = [np.column_stack(one.get_data()) for one in own]
        stem = joint.front.frame.node_index[joint.front.places["port stem"].node]
        moved = joint.front.frame.nodes[stem] + factor * joint.solution.displacement[case, stem, :3]
        at = boat_figures.VIEW.project(moved)
        assert min(np.nanmin(np.linalg.norm(line - at, axis=1)) for line in lines) < 1e-9
        if look.candidate:
            most = max(np.linalg.norm(joint.cases[case].stems[side, :3]) for side in (0, 1))
            assert f"‘{look.name}’: stems move up to {words.quantity(most, 'm')}" in drawing.words
    assert not overlapping(drawing.figure)


def test_diagrams_have_the_candidates_over_the_others(study):
    """Each line is a joint's own action; the candidates are drawn last, in colour, and named above."""
    case = index(study, "gust")
    drawing = boat_figures.diagram_picture(study, case, "crossbeam-gust")
    looks, axes = joint_looks(study), drawing.figure.axes[1]
    action, by = axes.get_ylabel().split(", ")
    unit = {"kN·m": 1e3, "N·m": 1.0}[by]
    for number, line in zip(candidates_first(looks)[::-1], axes.lines, strict=False):
        of = study.joints[number].crossbeam.actions[case][:, ACTIONS.index(action)]
        assert np.allclose(line.get_ydata() * unit, of)
        assert line.get_color() == looks[number].colour
    shown = [text.get_text() for text in drawing.figure.legends[0].get_texts()]
    assert shown == ["bolted lugs", "taped socket", "other joints"]


@pytest.mark.parametrize("pair", list(itertools.combinations(range(2), 2)))
def test_two_candidates_differ_in_grey(pair):
    """The first two colours, and each against the grey of the others' lines, differ in lightness or in dashes and width."""
    one, other = (style.SERIES_COLOURS[i] for i in pair)
    assert abs(style.lightness(one) - style.lightness(other)) >= 25


def test_text_on_a_colour_can_be_read():
    """White or dark text on each colour has a contrast of 4.5 or more (WCAG 2.1, criterion 1.4.3)."""

    def luminance(colour):
        lightness = style.lightness(colour)
        return ((lightness + 16) / 116) ** 3 if lightness > 8 else lightness / 903.3

    for colour in style.SERIES_COLOURS:
        light, dark = sorted([luminance(colour), luminance(style.text_on(colour))], reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_titles_are_within_the_page(study):
    """Titles and axis labels of pictures with panels are on the page, over no other: the layout is settled after all of them."""
    made = Analysis(study)
    drawings = [
        envelope_picture(made.envelopes[0]),
        rake_picture(study, study.rig_cases[0]),
        curve_picture(study),
        boat_figures.diagram_picture(study, 0, "crossbeam"),
    ]
    for drawing in drawings:
        figure = drawing.figure
        figure.draw_without_rendering()
        heads = [axes.title for axes in figure.axes] + [axes._left_title for axes in figure.axes]
        heads += [label for axes in figure.axes for label in (axes.xaxis.label, axes.yaxis.label)]
        heads += [figure._suptitle] if figure._suptitle is not None else []
        boxes = [
            (text.get_text(), text.get_window_extent())
            for text in heads
            if text.get_text() and text.get_visible()
        ]
        page = figure.bbox.padded(1)
        assert not [
            said
            for said, box in boxes
            if not (page.contains(box.x0, box.y0) and page.contains(box.x1, box.y1))
        ]
        assert not [1 for (_, a), (_, b) in itertools.combinations(boxes, 2) if a.padded(-0.5).overlaps(b)]
