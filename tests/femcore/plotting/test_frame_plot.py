"""Pictures, mesh files and scenes say what the solution says, for any frame and any names."""

import itertools
import re
import shlex
import sys
import xml.etree.ElementTree as ET
from threading import Event

import meshio
import numpy as np
import psutil
import pytest

from femcore.base import numbers
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import ACTIONS, Loads
from femcore.plotting import frame_plot, render3d, style
from femcore.plotting.labels import place_labels
from femcore.results import deflected_shape
from femcore.results.member_forces import actions_at, displacement_at, member_forces
from femcore.results.vtu import case_names, write_vtu
from femcore.solvers.solution import solve

PNG = b"\x89PNG\r\n\x1a\n"
STRANGE = ["<script>", "a $x^2$ & b", "../../etc", "日本\u202e\n語", "", "CON", "x" * 300, "Über", "uber"]


def solved():
    """A column with a hinged beam on an arm, a sprung foot and a bar: every layer of a picture; two cases."""
    builder = FrameBuilder()
    for name, at in (("foot", (0, 0, 0)), ("top", (0, 0, 3)), ("tip", (2, 1, 3)), ("wall", (2, 1, 0))):
        builder.node(name, at)
    stiff = Stiffness(EA=2e8, EIy=1e6, EIz=2e6, GJ=8e5)
    builder.beam("column", ["foot", "top"], stiff, (1, 0, 0), 3)
    arm, hinge = End((0.1, 0.0, 0.2)), End(springs=(np.inf,) * 4 + (0.0, 5e4))
    builder.beam("beam", ["top", "tip"], stiff, (0, 0, 1), 2, start=arm, end=hinge)
    builder.beam("bar", ["wall", "tip"], Stiffness(EA=1e7), (1, 0, 0))
    builder.cable("stay", ["wall", "top"], 4e6, arms=[[0.0, 0.0, 0.0], [0.1, 0.0, 0.0]])
    builder.support("foot", [0, 1, 2, 4, 5])
    builder.spring("foot", None, [0, 0, 0, 1e6, 0, 0])
    builder.support("wall", range(6))
    builder.support("tip", [1, 3, 4, 5])
    frame = builder.build()
    loads = Loads.zeros(frame, "down < & $1$", "pull")
    loads.nodal[0, frame.node_index["top"], :3] = (1e3, 0, -5e3)
    loads.nodal[1, frame.node_index["tip"], :3] = (0, 0, 8e3)
    loads.line[0, frame.members["beam"].elements] = (0, 0, -400.0)
    return solve(frame, loads)


@pytest.fixture(scope="module")
def solution():
    """The frame of `solved`, once."""
    return solved()


def test_a_view_is_a_projection():
    """What is seen is an orthographic projection: right and up are two unit vectors square to one another."""
    seen = frame_plot.View(37.0, 21.0).project(np.eye(3))
    assert np.allclose(seen.T @ seen, np.eye(2))


def test_up_is_up():
    """What lies higher is drawn higher, and straight above what it stands over."""
    right, up = frame_plot.View().project([0.0, 0.0, 1.0])
    assert right == pytest.approx(0)
    assert up > 0


def test_a_shape_is_the_solution_s(solution):
    """Along beams, the drawn movement is that of the solution at the same station."""
    shape = frame_plot.deflected_shape(solution, 4)
    beam = solution.frame.members["beam"].first
    own = np.flatnonzero(shape.element == beam)
    wanted = displacement_at(solution, np.full(5, beam), np.linspace(0, 1, 5))[..., :3]
    assert np.allclose(shape.movement[:, own], wanted, rtol=1e-12, atol=0)


def test_a_bar_stays_straight(solution):
    """A member without bending stiffness is drawn straight, however its nodes turn."""
    shape = frame_plot.deflected_shape(solution, 4)
    own = np.flatnonzero(shape.element == solution.frame.members["bar"].first)
    moved = shape.movement[1, own]
    assert np.allclose(moved, moved[0] + np.linspace(0, 1, 5)[:, None] * (moved[-1] - moved[0]))


def test_arms_move_as_rigid_bodies(solution):
    """The tip of an arm moves with its node and by the node's turn times the arm."""
    rest, moved = frame_plot.rigid_arms(solution)
    assert np.allclose(rest[0, 1] - rest[0, 0], (0.1, 0.0, 0.2))
    top = solution.displacement[:, solution.frame.node_index["top"]]
    assert np.abs(top[:, 3:]).max() > 1e-5
    assert np.allclose(moved[:, 0, 1], top[:, :3] + np.cross(top[:, 3:], (0.1, 0.0, 0.2)), rtol=1e-9, atol=0)


@pytest.mark.parametrize("case", [0, 1])
def test_exaggeration_is_round_and_fits(solution, case):
    """Movements are enlarged by a 1, 2 or 5 with noughts, to at most a tenth of the frame."""
    factor = frame_plot.deflection_scale([solution], case)
    moved = np.linalg.norm(frame_plot.deflected_shape(solution).movement[case], axis=-1).max()
    moved = max(moved, np.linalg.norm(solution.displacement[case, :, :3], axis=1).max())
    assert re.fullmatch(r"[125]\.?0*e[+-]\d+", f"{factor:e}")
    assert (
        deflected_shape.DRAWN_DEFLECTION_RATIO / 2.5 - 1e-9
        <= factor * moved / solution.frame.size
        <= deflected_shape.DRAWN_DEFLECTION_RATIO
    )


def test_nothing_moved_is_not_exaggerated(solution):
    """Where nothing moves, the factor is 1."""
    still = solve(solution.frame, Loads.zeros(solution.frame, "rest"))
    assert frame_plot.deflection_scale([still], 0) == 1.0


def test_pictures_of_any_frame(solution):
    """Each case gets a PNG and a well-formed SVG that holds the names of the nodes as text."""
    drawings = frame_plot.frame_pictures(solution, "frame", "A <b>frame</b>")
    made = [drawing.picture(png=True) for drawing in drawings]
    assert len({picture.name for picture in made}) == 2
    for picture in made:
        assert picture.png.startswith(PNG)
        text = "".join(ET.fromstring(picture.svg).itertext())  # noqa: S314  (our own)
        assert {"foot", "top", "tip", "wall"} <= set(text.split())
        assert f"A <b>frame</b>: {picture.title}, movements" in text


def test_the_same_input_gives_the_same_bytes(solution):
    """Two runs draw the same files to the byte."""
    first, second = (
        frame_plot.frame_pictures(solution, "frame", "frame")[0].picture(png=True) for _ in range(2)
    )
    assert first.png == second.png
    assert first.svg == second.svg


def test_an_svg_stands_on_its_own(solution):
    """An SVG for a page names no address, keeps its ids to itself, and takes its colours from the page."""
    svg = frame_plot.frame_pictures(solution, "frame", "frame")[0].picture().svg
    assert "http" not in svg
    assert "<style" not in svg
    assert all(name.startswith("frame-") for name in re.findall(r'\bid="([^"]+)"', svg))
    assert f"var(--series-1, {style.SERIES_COLOURS[0]})" in svg


def test_diagrams_plot_the_actions(solution):
    """Each panel plots its own action over the station, in the unit that its axis names."""
    line = member_forces(solution, solution.frame.members["beam"])
    with style.drawing_style():
        figure = style.new_figure(7, 6)
        frame_plot.draw_diagrams(figure, [("one", line), ("two", line)], 0)
        for axes, (action, _, unit) in zip(figure.axes, frame_plot.DIAGRAMS, strict=True):
            by = 1000.0 if axes.get_ylabel() == f"{action}, k{unit}" else 1.0
            assert axes.get_ylabel() in {f"{action}, {unit}", f"{action}, k{unit}"}
            x, y = axes.lines[1].get_data()
            assert np.array_equal(x, line.station)
            assert np.allclose(np.asarray(y) * by, line.actions[0, :, ACTIONS.index(action)])
        assert [text.get_text() for text in figure.legends[0].get_texts()] == ["one", "two"]


@pytest.mark.parametrize(("fixed_layout", "aspect"), [(False, "auto"), (False, "equal"), (True, "equal")])
def test_names_cover_nothing(fixed_layout, aspect):
    """Names beside a crowd of points on a line are written where none covers another or the line, within the panel as drawn."""
    with style.drawing_style():
        figure = style.new_figure(12, 3, fixed_layout=fixed_layout)
        axes = figure.subplots()
        axes.set_xlim(0, 10)
        axes.set_ylim(0, 10)
        axes.set_aspect(aspect)
        axes.plot([0, 10], [4, 6])
        points = np.array([[5, 5], [5.2, 5.1], [5.4, 4.9], [9.9, 9.9], [0.05, 0.05]])
        place_labels(axes, points, ["the first", "the second", "the third", "corner", "other corner"])
        figure.draw_without_rendering()
        boxes = [text.get_window_extent() for text in axes.texts]
        assert len(boxes) == 5
        assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
        line = axes.transData.transform(np.column_stack([np.linspace(0, 10, 1000), np.linspace(4, 6, 1000)]))
        assert not any(box.count_contains(line) for box in boxes)
        assert all(
            axes.bbox.padded(3).containsx(box.x0) and axes.bbox.padded(3).containsx(box.x1) for box in boxes
        )


def test_slugs_are_safe_and_differ():
    """Whatever a name is, its part of a file's name is short, harmless on any disk, and no other's."""
    slugs = numbers.slugs(STRANGE)
    assert len(set(slugs)) == len(STRANGE)
    assert all(re.fullmatch(r"[a-z0-9-]{1,44}", slug) for slug in slugs)


def test_short_names_fit_and_differ():
    """Shortened names are on one line, within the limit, and still told apart."""
    names = numbers.unique_short_names([*STRANGE, "x" * 301, "x" * 302], 20)
    assert len(set(names)) == len(names)
    assert all(0 < len(name) <= 24 and name.isprintable() for name in names)


@pytest.mark.parametrize(
    ("largest", "unit", "divisor", "named"),
    [
        (12345, "N", 1e3, "kN"),
        (999.9, "N", 1, "N"),
        (0.06, "m", 1e-3, "mm"),
        (0, "N", 1, "N"),
        (2e13, "N", 1e9, "GN"),
    ],
)
def test_prefixes(largest, unit, divisor, named):
    """The prefix makes the largest value read between 1 and 1000 where there is one."""
    assert numbers.unit_prefix(largest, unit) == (divisor, named)


# Full red- and green-blindness in linear RGB: G.M. Machado, M.M. Oliveira, L.A.F. Fernandes, A
# physiologically-based model for simulation of color vision deficiency, IEEE TVCG 15 (2009), severity 1.0; from memory.
SOURCE_STATUS = {
    "all colours": np.eye(3),
    "no red": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no green": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}


def lab(colour, seen):
    """CIE L*a*b* (D65) of an sRGB colour as somebody sees it."""
    rgb = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    white = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    xyz = np.array(white) @ np.clip(np.array(seen) @ linear, 0, 1) / [0.9505, 1.0, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("seen", SOURCE_STATUS)
def test_colours_are_told_apart(seen):
    """Any two colours of a series differ by 25 or more in CIE76; 2.3 is just noticed (common practice)."""
    colours = [lab(colour, SOURCE_STATUS[seen]) for colour in style.SERIES_COLOURS]
    assert min(np.linalg.norm(a - b) for a, b in itertools.combinations(colours, 2)) >= 25


def test_series_differ_in_more_than_colour():
    """Within two rounds of the palette no two series share both colour and dashes."""
    looked = [(look["color"], str(look["linestyle"])) for look in map(style.series, range(12))]
    assert len(set(looked)) == 12


def test_a_mesh_file_reads_back_as_the_solution(solution, tmp_path):
    """Movements at the elements' ends and forces at their middles come back from the file, case by case."""
    write_vtu(tmp_path / "frame.vtu", solution)
    mesh, frame = meshio.read(tmp_path / "frame.vtu"), solution.frame
    count = len(frame.ends)
    assert np.allclose(mesh.points[: 2 * count], frame.end_points.reshape(-1, 3), rtol=1e-12, atol=1e-12)
    pairs = mesh.cells_dict["line"]
    assert pairs.shape == (count + 1, 2)
    assert np.allclose(mesh.points[2 * count :], [[2, 1, 0], [0.1, 0, 3]])
    moved = displacement_at(solution, np.repeat(np.arange(count), 2), np.tile([0.0, 1.0], count))
    inside = actions_at(solution, np.arange(count), np.full(count, 0.5))
    for case, name in enumerate(case_names(solution)):
        assert np.allclose(
            mesh.point_data[f"{name}: movement m"][: 2 * count], moved[case, :, :3], rtol=1e-12, atol=0
        )
        assert np.allclose(
            mesh.point_data[f"{name}: rotation rad"][: 2 * count], moved[case, :, 3:], rtol=1e-12, atol=0
        )
        for number, quantity in enumerate(("N N", "Vy N", "Vz N", "T N·m", "My N·m", "Mz N·m")):
            assert np.array_equal(mesh.cell_data[f"{name}: {quantity}"][0][:count], inside[case, :, number])
        assert mesh.cell_data[f"{name}: N N"][0][count] == solution.tension[case, 0]
        end = mesh.point_data[f"{name}: movement m"][-1]
        top = solution.displacement[case, frame.node_index["top"]]
        assert np.allclose(end, top[:3] + np.cross(top[3:], [0.1, 0, 0]), rtol=1e-12, atol=0)
    assert solution.tension.max() > 0
    assert mesh.cell_data["member"][0].tolist() == [0, 0, 0, 1, 1, 2, 3]


def test_a_scene_is_drawn_or_said_not_to_be(solution):
    """The renderer gives a PNG for each scene, or none and a reason in words; it never raises."""
    most = render3d.bending_along(solution)[0].max()
    wanted = [render3d.bending_scene(solution, 0, frame_plot.deflection_scale([solution], 0), most)]
    drawn, why = render3d.render(wanted)
    assert (
        (len(drawn) == 1 and drawn[0].startswith(PNG)) if why is None else (drawn == [] and "render" in why)
    )


def test_a_scene_is_coloured_by_the_resultant_bending(solution):
    """The value along a tube is the resultant of both bending moments there, in the unit of its label."""
    made = render3d.bending_scene(solution, 0, 1.0, 4000.0)
    ends = actions_at(solution, [0], [0.0])[0, 0]
    assert made.label == "bending moment, kN·m"
    assert made.value[0] == pytest.approx(np.hypot(ends[4], ends[5]) / 1000)
    assert made.thin.tolist() == [False] * 5 + [True] * 4


@pytest.mark.parametrize(
    ("body", "patience", "words"),
    [
        ("import os; os.abort()", 60, "no renderer on this machine"),
        ("import time; time.sleep(60)", 0.3, "no picture within"),
        ("", 60, "left no picture"),
    ],
)
def test_a_renderer_that_fails_is_told_in_words(solution, tmp_path, monkeypatch, body, patience, words):
    """A renderer that dies, hangs or draws nothing ends no run: the reason comes back."""
    fake = tmp_path / "python"
    fake.write_text(f"#!/bin/sh\nexec {shlex.quote(sys.executable)} -c {shlex.quote(body)}\n")
    fake.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(fake))
    monkeypatch.setattr(render3d, "RENDER_TIMEOUT", patience)
    drawn, why = render3d.render([render3d.bending_scene(solution, 0, 1.0, 1.0)])
    assert drawn == []
    assert words in why


def test_a_renderer_that_is_given_up_is_ended_at_once(solution, tmp_path, monkeypatch):
    """Who stops the run does not wait for pictures: the renderer, which would take a minute, is gone."""
    fake, started = tmp_path / "python", tmp_path / "started"
    fake.write_text(f"#!/bin/sh\necho $$ > {shlex.quote(str(started))}\nexec sleep 60\n")
    fake.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(fake))

    class GivenUp(Event):
        """Once the renderer has started."""

        def wait(self, timeout=None):
            return super().wait(timeout) or bool(started.exists() and started.read_text())

    drawn, why = render3d.render([render3d.bending_scene(solution, 0, 1.0, 1.0)], given_up=GivenUp())
    assert drawn == []
    assert "no picture" in why
    assert not psutil.pid_exists(int(started.read_text()))


def test_no_program_to_start_is_told_in_words(solution, monkeypatch):
    """Where the renderer cannot even be started, that is the reason."""
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert "could be started" in render3d.render([render3d.bending_scene(solution, 0, 1.0, 1.0)])[1]
