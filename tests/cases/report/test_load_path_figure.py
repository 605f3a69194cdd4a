"""The picture of a load path shows the ledgers: each component, as wide as its force, and as much given away as comes on."""

import re
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import FancyArrow, FancyArrowPatch

from cases.analyses.study import run_study
from cases.report.data import words
from cases.report.figures import load_path_figure, load_path_views, report_figures
from cases.report.figures.load_path_flows import ARROWS, flows, lumped_forces
from femcore.plotting import force_flow
from models.response.front_end import CENTRE, SIDES
from tests.cases.boats.test_boats import boats, run
from tests.cases.loads.every_load import every_load
from tests.cases.report.report_boat import boat_file

EVERY = [case.name for case in every_load().cases]
BODIES = ("starboard", "centre", "port")


def drawn(study, case):
    """The finished figure of a case's load path, and its caption."""
    made = load_path_figure.path_picture(study, case, "path")
    return made.figure, made.words


@cache
def figure_of(case):
    """That of the boat under every load, by the case's name."""
    return drawn(every_load(), EVERY.index(case))


def shown():
    """The joint that is drawn, of the boat under every load."""
    return load_path_figure.shown_joint(every_load())


def flows_of(case):
    """By role and name."""
    return {(flow.role, flow.name): flow for flow in flows(shown(), EVERY.index(case))}


def arrows_of(axes):
    """(width in points, colour) of each straight arrow."""
    per_metre = 72 * axes.get_window_extent().width / axes.figure.dpi / np.ptp(axes.get_xlim())
    return [
        (float(patch._width) * per_metre, to_hex(patch.get_facecolor()))
        for patch in axes.patches
        if isinstance(patch, FancyArrow)
    ]


def said_in(axes):
    """All that is written in a view."""
    return {" ".join(text.get_text().split()) for text in axes.texts}


def sums(joint, case):
    """(2, 6), N and N·m, of what comes onto the crossbeam less what it gives away, and of the front end the same; the sizes."""
    centre, total, size = joint.front.position(CENTRE), np.zeros((2, 6)), 0.0
    for flow in flows(joint, case):
        action = flow.about(centre)
        size = max(size, np.abs(action).max())
        if flow.role in {"hull", "longeron"}:
            total[0] -= action
        elif flow.role == "prod" or (flow.role == "applied" and flow.body == "crossbeam"):
            total[0] += action
        if flow.role in {"applied", "root"}:
            total[1] += action if flow.role == "applied" else -action
    return total, size


@pytest.mark.parametrize("case", EVERY)
def test_what_comes_on_is_what_is_given_away(case):
    """Drawn where they are drawn, arrows and rings balance about the beam's centre: of the crossbeam, and of the whole; in
    the deformed shape too.
    """
    total, size = sums(shown(), EVERY.index(case))
    # a net on the longeron has a couple at its end that the crossbeam's row has too
    beam = 1e-2 if case in {"net", "sea"} else 1e-7
    assert np.abs(total[0]).max() <= beam * size
    assert np.abs(total[1]).max() <= 1e-7 * size


@boats
def test_what_comes_on_is_what_is_given_away_on_every_boat(name):
    """The same on the boats of the house."""
    joint = load_path_figure.shown_joint(run(name))
    for case in range(len(joint.cases)):
        total, size = sums(joint, case)
        assert np.abs(total).max() <= 1e-7 * size


@pytest.mark.parametrize("case", EVERY)
def test_every_component_of_the_load_is_in_the_picture(case):
    """Each component comes on with an arrow or a ring and its name, whether it acts on crossbeam, bows, longeron or prod."""
    figure, _ = figure_of(case)
    applied = {name for role, name in flows_of(case) if role == "applied"}
    written = " ".join(text for axes in figure.axes for text in said_in(axes))
    assert all(name in written for name in applied)
    colours = {colour for axes in figure.axes for _, colour in arrows_of(axes)}
    rings = {
        to_hex(patch.get_edgecolor())
        for axes in figure.axes
        for patch in axes.patches
        if isinstance(patch, FancyArrowPatch)
    }
    assert (load_path_views.IN in colours | rings) == bool(applied)


@pytest.mark.parametrize("case", ["upwind", "tack, to port", "dive", "jack", "anchor, from ahead", "bent"])
def test_all_forces_of_a_picture_have_one_scale(case):
    """Arrows, rods and bands are as wide, in points, as their force times one number, in every view; hairlines alone are not."""
    figure, said = figure_of(case)
    found = shown().cases[EVERY.index(case)]
    sizes = [abs(float(force)) for flow in flows_of(case).values() for force in flow.whole]
    rods = [*found.truss.tension.values(), found.truss.strut]
    most = max([*sizes, *rods, found.truss.compression])
    rate = force_flow.MAX_ARROW_WIDTH / most
    rows = [abs(float(f)) for flow in flows_of(case).values() for f in flow.force.flat]
    wanted = np.array([rate * force for force in (*sizes, *rows)])
    widths = [width for axes in figure.axes for width, _ in arrows_of(axes)]
    assert len(widths) > 8
    for width in widths:
        assert width == pytest.approx(force_flow.MIN_LINE_WIDTH) or np.isclose(wanted, width, rtol=1e-6).any()
    lines = [
        line.get_linewidth()
        for line in figure.axes[0].lines
        if line.get_color() == load_path_views.MARTINGALE_STAYS
    ]
    assert len(lines) == 3
    assert sorted(lines) == pytest.approx(sorted(max(rate * rod, force_flow.MIN_LINE_WIDTH) for rod in rods))
    number, unit = re.search(r"([\d.e+-]+) points are ([\d.]+ k?N)\b(?!·)", said).groups()
    assert float(number) == pytest.approx(
        rate * float(unit.split()[0]) * (1e3 if "k" in unit else 1), rel=0.05
    )


def test_the_widest_is_what_is_largest():
    """A martingale that pulls harder than the stay is drawn wider than the stay's arrow, by as much."""
    figure, _ = figure_of("upwind")
    pull = max(shown().cases[EVERY.index("upwind")].truss.tension.values())
    stay = flows_of("upwind")["applied", "stay"].whole[2]
    assert pull > stay
    rod = max(
        line.get_linewidth()
        for line in figure.axes[0].lines
        if line.get_color() == load_path_views.MARTINGALE_STAYS
    )
    arrow = max(width for width, colour in arrows_of(figure.axes[0]) if colour == load_path_views.IN)
    assert rod / arrow == pytest.approx(pull / stay, rel=1e-6)


def test_a_row_is_together_as_wide_as_its_load():
    """The arrows of a net on the crossbeam are in sum as wide as one of the whole pull would be, and the words tell the whole."""
    figure, _ = figure_of("sea")
    flow = flows_of("sea")["applied", "net on the crossbeam"]
    assert len(flow.force) == ARROWS
    aft = abs(float(flow.whole[0]))
    rate = force_flow.MAX_ARROW_WIDTH / aft
    widths = sorted(width for width, colour in arrows_of(figure.axes[1]) if colour == load_path_views.IN)
    aft_ones = sorted(rate * np.abs(flow.force[:, 0]))
    assert widths[-1] == pytest.approx(aft_ones[-1], rel=1e-6)
    assert sum(aft_ones) == pytest.approx(rate * aft)
    assert f"net on the crossbeam {words.quantity(aft, 'N')} in all" in said_in(figure.axes[1])


def test_rings_are_as_thick_as_the_moment():
    """In one view the torques of the joints are to the stay's as their thickness."""
    axes = figure_of("upwind")[0].axes[1]
    found = flows_of("upwind")
    most = max(np.abs(flow.moment).max() for flow in found.values())
    thick = [patch.get_linewidth() for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    for key in (("applied", "stay"), ("hull", "port joint")):
        wanted = max(
            force_flow.MAX_RING_THICKNESS * abs(found[key].moment[1]) / most, force_flow.MIN_RING_THICKNESS
        )
        assert any(one == pytest.approx(wanted, rel=1e-6) for one in thick)


@pytest.mark.parametrize("case", EVERY)
def test_numbers_are_the_ledger_s(case):
    """What joints, roots and components say is what the ledgers have: force up from ahead or the side, level from above."""
    figure, _ = figure_of(case)
    found = shown().cases[EVERY.index(case)]
    whole, rows = found.whole, dict(found.path)
    forces = [abs(float(force)) for flow in flows_of(case).values() for force in flow.whole]
    least = 0.021 * (np.abs(whole.applied[:, :3]).max(initial=0.0) or max(forces))
    above, profiles = figure.axes[1], dict(zip(BODIES, figure.axes[2:], strict=True))
    wanted = []
    for body, held in zip((*SIDES, "centre"), whole.reactions, strict=True):
        wanted += [(held[0], above), (held[1], above), (held[2], profiles[body])]
    for side in SIDES:
        row = rows[f"{side} joint"]
        wanted += [(row[0], above), (row[1], figure.axes[0]), (row[2], figure.axes[0])]
    for force, axes in wanted:
        assert abs(force) <= least or words.quantity(abs(force), "N") in said_in(axes)
    for part, action in zip(whole.components, whole.applied, strict=True):
        force = np.abs(action[:3])
        told = f"{part.name} {words.quantity(force[0], 'N')}"
        assert force[0] <= 0.021 * force.max() or any(one.startswith(told) for one in said_in(above))


def test_torque_is_drawn_as_torque():
    """The joints' torque goes round the beam in the view from above as the beam's upper side turns, with its number, and
    round the beam's end from the side.
    """
    figure, _ = figure_of("upwind")
    joint = shown()
    for side, name in enumerate(SIDES):
        torque = joint.cases[EVERY.index("upwind")].joint_load[side, 4]
        told = f"torque {words.quantity(abs(torque), 'N·m')}"
        assert told in said_in(figure.axes[1])
        assert told in said_in(figure.axes[2 + BODIES.index(name)])
        # the pull is ahead of the axis: the upper side turns aft, which is up the page
        assert torque < 0
    at = joint.front.joint_position(0)
    slim = [
        points
        for patch in figure.axes[1].patches
        if isinstance(patch, FancyArrowPatch)
        and np.ptp((points := patch._path_original.vertices)[:, 0]) < 0.5 * np.ptp(points[:, 1])
    ]
    ring = min(slim, key=lambda points: abs(points[:, 0].mean() - at[1]))
    assert ring[-1, 1] > ring[0, 1]


def test_second_order_torques_balance():
    """In the deformed shape the torques that are drawn sum to nothing, which those of the joints as they have moved do not."""
    found, case = flows_of("bent"), EVERY.index("bent")
    on = sum(found[key].moment[1] for key in (("applied", "stay"), ("prod", "prod")))
    off = [
        found[key].moment[1]
        for key in (("hull", "port joint"), ("hull", "starboard joint"), ("longeron", "longeron"))
    ]
    centre, joint = shown().front.position(CENTRE), shown()
    arms = sum(
        np.cross(joint.front.joint_position(side) - centre, found["hull", f"{name} joint"].whole)[1]
        for side, name in enumerate(SIDES)
    )
    assert on == pytest.approx(sum(off) + arms, rel=1e-6)
    own = joint.cases[case].joint_load[:, 4].sum() + off[2]
    assert own != pytest.approx(on, rel=1e-4)
    assert "Solved in the deformed shape" in figure_of("bent")[1]
    assert "Solved in the deformed shape" not in figure_of("racking")[1]


def test_what_pretension_does_is_said():
    """With pretension the caption reports what it does alone, and each rod its part; without, neither does."""
    figure, said = figure_of("jack")
    assert "Under pretension alone the martingale carries 5.00 kN" in said
    assert any(text.endswith("(5.00 kN pretension)") for text in said_in(figure.axes[0]))


def test_without_pretension_nothing_is_at_rest(tmp_path):
    """A boat that has none says nothing of it."""
    study = run_study(boat_file(tmp_path))
    figure, said = drawn(study, 1)
    assert "pretension" not in said + " ".join(text for axes in figure.axes for text in said_in(axes))


def overlaps(figure):
    """Pairs of texts that overlap, and texts over a ring or beyond the figure."""
    figure.draw_without_rendering()
    texts = [
        text
        for axes in figure.axes
        for text in (*axes.texts, axes.title, axes._left_title)
        if text.get_text()
    ]
    boxes = [text.get_window_extent() for text in texts]
    found = [
        (a.get_text(), b.get_text())
        for i, a in enumerate(texts)
        for j, b in enumerate(texts[:i])
        if boxes[i].overlaps(boxes[j])
    ]
    for axes in figure.axes:
        rings = [
            patch._path_original.vertices for patch in axes.patches if isinstance(patch, FancyArrowPatch)
        ]
        if rings:
            points = axes.transData.transform(np.concatenate(rings))
            found += [
                (text.get_text(), "a ring")
                for text in axes.texts
                if text.get_window_extent().count_contains(points)
            ]
    page = figure.bbox.padded(1)
    beyond = [(text.get_text(), "the edge") for text, box in zip(texts, boxes, strict=True) if not page.contains(box.x0, box.y0)
              or not page.contains(box.x1, box.y1)]  # fmt: skip
    return found + beyond


@pytest.mark.parametrize("case", EVERY)
def test_texts_lie_over_nothing(case):
    """Under every kind of load no two texts overlap, none lies over a ring, none leaves the page."""
    assert not overlaps(figure_of(case)[0])


@boats
def test_texts_lie_over_nothing_on_every_boat(name):
    """The same in every case of every boat of the house."""
    for case in range(len(run(name).cases)):
        assert not overlaps(drawn(run(name), case)[0])


@boats
def test_every_view_says_port_and_starboard(name):
    """From ahead and from above each hull is named, port on the right; the profiles' titles name theirs."""
    figure, _ = drawn(run(name), 0)
    for axes in figure.axes[:2]:
        places = {
            text.get_text(): text.get_window_extent().x0 for text in axes.texts if text.get_text() in SIDES
        }
        assert places["port"] > places["starboard"]
    titles = [axes.get_title(loc="left") for axes in figure.axes[2:]]
    assert [any(title.startswith(side.capitalize()) for title in titles) for side in SIDES] == [True, True]


def test_a_spread_load_is_gathered_without_loss():
    """However many points a load has, a few stand for it with the same force and the same moment."""
    at = np.column_stack([np.linspace(0, 4, 37), np.full(37, 3.0), np.full(37, 0.5)])
    force = np.linspace(10, 30, 37)[:, None] * [0.2, 0.0, -1.0]
    few, less = lumped_forces(at, force)
    assert len(few) == ARROWS
    assert less.sum(axis=0) == pytest.approx(force.sum(axis=0))
    assert np.cross(few, less).sum(axis=0) == pytest.approx(np.cross(at, force).sum(axis=0))


@pytest.mark.parametrize(("most", "kept"), [(40, 23), (4, 4), (1, 1)])
def test_each_kind_of_case_is_drawn_before_a_second_of_any(most, kept):
    """Where there are more cases than pictures, the first of each kind has one, in the order of the file."""
    names = [*(f"sweep, {n}" for n in range(20)), "jack", "rig", "rig, pretension alone"]
    study = SimpleNamespace(cases=[SimpleNamespace(name=name) for name in names])
    numbers = report_figures.chosen(study, most)
    assert len(numbers) == kept
    assert numbers == sorted(numbers)
    if most == 4:
        assert [names[number] for number in numbers] == ["sweep, 0", "sweep, 1", "jack", "rig"]


def test_what_has_no_picture_is_said():
    """Cases beyond those that are drawn are named, for the load paths and for the other pictures by themselves."""
    names = [f"case {number}" for number in range(report_figures.MOST_PATHS + 1)]
    study = SimpleNamespace(cases=[SimpleNamespace(name=name) for name in names])
    paths, others = report_figures.omitted_pictures(study)
    for told, begins, first in ((paths, "Load paths", 40), (others, "Deflected", 12)):
        assert told.startswith(begins)
        assert f"‘case {first}’" in told
        assert f"‘case {first - 1}’" not in told
    assert not report_figures.omitted_pictures(SimpleNamespace(cases=study.cases[:3]))
    assert len(report_figures.omitted_pictures(every_load())) == 1


def test_pretension_has_a_picture_of_its_own():
    """Pretension alone is drawn with the joint loads and the tension that the results have of it; nothing is applied."""
    joint, study = shown(), every_load()
    rest = next(case for case in joint.cases if case.under_pretension is not None).under_pretension
    made = load_path_figure.pretension_picture(study)
    written = {text for axes in made.figure.axes for text in said_in(axes)}
    bending = np.abs(rest.joint_load[:, 3]).max()
    assert f"bending {words.quantity(bending, 'N·m')}" in written
    assert f"martingale {words.quantity(max(rest.tension.values()), 'N')}" in written
    assert f"vertical bending of the joints up to {words.quantity(bending, 'N·m')}" in made.words
    assert not any(colour == load_path_views.IN for axes in made.figure.axes for _, colour in arrows_of(axes))
    assert not overlaps(made.figure)


@pytest.mark.parametrize("case", EVERY)
def test_words_have_the_largest_torque_and_bending(case):
    """What the words say of the joints is the case's own largest, with pretension."""
    load = shown().cases[EVERY.index(case)].joint_load
    torque, bending = (words.quantity(np.abs(load[:, column]).max(), "N·m") for column in (4, 3))
    assert f"Largest at a joint: torque {torque}, vertical bending {bending}." in figure_of(case)[1]
