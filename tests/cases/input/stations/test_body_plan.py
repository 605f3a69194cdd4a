"""Stations from drawings: known outlines drawn as DXF and as SVG come back, whatever the scale, axes and pieces.

Outlines are drawn by ezdxf, or as the text of an SVG by these tests. Expected values are the outlines themselves, circles,
and areas by the shoelace formula.
"""

import math
import subprocess
import sys
import tomllib
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from cases.cli.commands import main
from cases.input.boat_file import read_boat_file
from cases.input.stations.body_plan import Layout, metres_per_unit, read_body_plan
from cases.input.stations.drawn_lines import ABS_TOL_CHORD
from cases.input.stations.hull_stations import station_tables
from femcore.base.errors import InputFault, InputFaults

HULL = {
    0.0: [(0, -0.05), (0.45, 0.15), (0.60, 0.75), (0.62, 1.55)],
    3.7: [(0, 0.05), (0.26, 0.20), (0.36, 0.75), (0.40, 1.50)],
    4.4: [(0, 0.15), (0.13, 0.28), (0.21, 0.75), (0.28, 1.45)],
}
"""m, half-breadths and heights of the demo boat's stations, keel to gunwale."""
DEMO = Path(__file__).parents[4] / "cases/boats/demo.toml"


def name(at):
    """The name of a layer."""
    return f"station {at:g} m"


def on_paper(points, scale=1.0):
    """The same in mm of a drawing."""
    return [(1000 * y * scale, 1000 * z * scale) for y, z in points]


def whole(half, crown=0.0):
    """Both sides of a section as one open line, or closed over a deck that rises by `crown`."""
    both = [(-y, z) for y, z in half[:0:-1]] + list(half)
    return [*both, (0, half[-1][1] + crown)] if crown else both


def dxf(folder, lines, kind="lwpolyline", close=False, **keys):
    """A drawing of named lines, points in mm, each drawn as that kind of entity."""
    document = ezdxf.new()
    space = document.modelspace()
    for layer, points in lines:
        attributes = {"layer": layer}
        if kind == "lines":
            ends = [*points, points[0]] if close else points
            # out of order and every other the wrong way round
            pieces = [pair if i % 2 else pair[::-1] for i, pair in enumerate(pairwise(ends))]
            for begin, end in pieces[::2] + pieces[1::2]:
                space.add_line(begin, end, attributes)
        elif kind == "polyline":
            space.add_polyline2d(points, close=close, dxfattribs=attributes)
        else:
            space.add_lwpolyline(points, close=close, dxfattribs=attributes)
    path = folder / "plan.dxf"
    document.saveas(path, **keys)
    return path


def svg(folder, body, root=""):
    """A drawing of that text."""
    path = folder / "plan.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {root}>{body}</svg>', encoding="utf-8")
    return path


def svg_lines(lines, tag="polyline"):
    """Elements of named lines, heights downward as they are in an SVG."""
    return "".join(
        f'<{tag} id="{layer}" points="{" ".join(f"{y!r},{-z!r}" for y, z in points)}"/>'
        for layer, points in lines
    )


def read(path, corners=4, bulkhead=0.0, forward="+x", **layout):
    """Stations of a drawing in mm."""
    keys = {"unit": 1e-3, "height": "-y" if path.suffix == ".svg" else "+y"} | layout
    return read_body_plan(path, Layout(**keys), bulkhead, forward, corners)


def require_hull(got, hull=HULL):
    """Stations and points to 1e-9 m."""
    assert [one.at for one in got.table] == pytest.approx(list(hull), abs=1e-9)
    for one, points in zip(got.table, hull.values(), strict=True):
        np.testing.assert_allclose(one.points, points, rtol=0, atol=1e-9)


LINES = [(name(at), on_paper(points)) for at, points in HULL.items()]


@pytest.mark.parametrize("keys", [{"fmt": "asc"}, {"fmt": "bin"}])
@pytest.mark.parametrize("kind", ["lwpolyline", "polyline", "lines"])
def test_half_outlines_of_a_dxf_come_back(tmp_path, kind, keys):
    """Polylines of both kinds, and lines that meet in any order and sense, in a text or binary file."""
    require_hull(read(dxf(tmp_path, LINES, kind, **keys)))


def test_half_outlines_of_an_svg_come_back(tmp_path):
    """Heights are upward, although y is downward in the file; viewBox and size are ignored."""
    path = svg(tmp_path, svg_lines(LINES), 'viewBox="0 0 10 10" width="100mm" height="20mm"')
    require_hull(read(path))


def test_whole_sections_are_halved_at_the_centreline(tmp_path):
    """Open ones at the keel, closed ones at keel and deck, whose edge becomes the gunwale; half ones lose the deck too."""
    hull = list(HULL.items())
    require_hull(read(dxf(tmp_path, [(name(at), on_paper(whole(half))) for at, half in hull]), whole=True))
    lines = [(name(at), on_paper(whole(half, 0.04))) for at, half in hull]
    for kind in ("lwpolyline", "lines"):
        require_hull(read(dxf(tmp_path, lines, kind, close=True), whole=True))
    require_hull(read(svg(tmp_path, svg_lines(lines, "polygon")), whole=True))
    lines = [(name(at), on_paper([*half, (0, half[-1][1] + 0.04)])) for at, half in hull]
    require_hull(read(dxf(tmp_path, lines, close=True)))
    require_hull(read(dxf(tmp_path, lines)))


def test_sections_are_cut_where_they_cross_the_centreline(tmp_path):
    """A keel 4 mm off: the edge from (-0.4, 0.2) to (0.004, 0) m crosses at 0.2 × 4/404 m; sides differ by less than 10 mm."""
    lines = [
        (name(at), on_paper([(-0.4, 1.2), (-0.4, 0.2), (0.004, 0), (0.4, 0.2), (0.4, 1.2)])) for at in (0, 3)
    ]
    points = read(dxf(tmp_path, lines), whole=True).table[0].points
    assert points[0] == pytest.approx((0, 0.2 * 4 / 404), abs=1e-9)


def test_a_flat_keel_begins_at_its_edge(tmp_path):
    """A boat file takes half the breadth of a flat keel, in half sections and whole ones."""
    flat = {0.0: [(0.05, 0), (0.5, 0.3), (0.6, 1.2)], 3.0: [(0.04, 0.1), (0.3, 0.3), (0.4, 1.2)]}
    halves = [(name(at), on_paper([(0, points[0][1]), *points])) for at, points in flat.items()]
    require_hull(read(dxf(tmp_path, halves), 3), flat)
    both = [(name(at), on_paper([(-y, z) for y, z in points[::-1]] + points)) for at, points in flat.items()]
    require_hull(read(dxf(tmp_path, both), 3, whole=True), flat)


@pytest.mark.parametrize(
    ("breadth", "height", "turned"),
    [
        ("+x", "+y", lambda y, z: (y, z)),
        ("-x", "+y", lambda y, z: (-y, z)),
        ("+y", "-x", lambda y, z: (-z, y)),
        ("-y", "+z", lambda y, z: (7.0, -y, z)),
        ("+z", "-x", lambda y, z: (-z, -3.0, y)),
    ],
)
def test_axes_scale_and_origin_are_those_stated(tmp_path, breadth, height, turned):
    """Drawn 1:10 in mm, turned as stated in plane or space, its origin 40 mm along breadths and -25 mm along heights."""
    document = ezdxf.new()
    origin = {"breadth": 40.0, "height": -25.0}
    shift = {axis[1]: value for axis, value in ((breadth, origin["breadth"]), (height, origin["height"]))}
    for at, points in HULL.items():
        places = [
            [value + shift.get("xyz"[i], 0.0) for i, value in enumerate(turned(y, z))]
            for y, z in on_paper(points, 0.1)
        ]
        for begin, end in pairwise(places):
            document.modelspace().add_line(begin, end, {"layer": name(at)})
    path = tmp_path / "plan.dxf"
    document.saveas(path)
    layout = {"breadth": breadth, "height": height, "centreline": 40.0, "waterline": -25.0}
    require_hull(read(path, unit=metres_per_unit("1:10", "mm"), **layout))


@pytest.mark.parametrize(
    ("scale", "unit", "metres"),
    [("1:10", "mm", 0.01), ("1 : 1", "ft", 0.3048), ("2:1", "m", 0.5), ("1 unit = 25.4 mm", None, 0.0254)],
)
def test_scales(scale, unit, metres):
    """1:10 in mm is 10 mm on the boat for each mm on paper."""
    assert metres_per_unit(scale, unit) == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    ("scale", "unit", "wrong"),
    [
        ("ten", "mm", "'ten' is no scale"),
        ("0:1", "mm", "'0:1' is no scale"),
        ("1:0", "mm", "is not above zero"),
        ("1:10", None, "--unit: is missing"),
        ("1 unit = 1 mm", "mm", "is stated beside a unit"),
        ("1 unit = 1 kg", None, "is not a length"),
    ],
)
def test_no_scales(scale, unit, wrong):
    """Each is one sentence."""
    with pytest.raises(InputFault, match=wrong):
        metres_per_unit(scale, unit)


def test_transforms_of_groups_and_elements_are_carried_out(tmp_path):
    """T R S of nested groups, worked here with rotation by hand: p = t + R (s (q − c)), its inverse drawn."""
    turn, stretch, shift, inner = math.radians(30), 2.5, np.array([100.0, -40.0]), np.array([3.0, 8.0])
    back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    body = ""
    for at, points in HULL.items():
        file = np.array(on_paper(points)) * (1, -1)
        drawn = (back @ (file - shift).T).T / stretch + inner
        text = "M " + " L ".join(f"{x!r} {y!r}" for x, y in drawn.tolist())
        body += f'<path id="station_{at:g}_m" d="{text}" transform="translate(-3 -8)"/>'
    groups = f'<g transform="translate(100 -40) rotate(30)"><g transform="scale(2.5)">{body}</g></g>'
    require_hull(read(svg(tmp_path, groups)))


def test_names_of_groups_labels_and_stated_names(tmp_path):
    """The innermost name that is a station's counts; labels of drawing programs too; other lines are left out."""
    ids = [
        ("a", LINES[0][1]),
        ("path7", LINES[1][1]),
        ("b", LINES[2][1]),
        ("frame", [(0.0, 0.0), (9.0, 9.0)]),
    ]
    first, second, third, frame = (svg_lines([each]) for each in ids)
    label = 'xmlns:ink="http://www.inkscape.org/namespaces/inkscape" ink:label="station 3.7 m"'
    path = svg(
        tmp_path, f'<g id="layer1">{first}<g id="x" {label}>{second}</g></g><g id="L3">{third}</g>{frame}'
    )
    require_hull(read(path, stations={"a": 0.0, "L3": 4.4}))


def test_blocks_are_taken_apart_on_the_layer_of_their_insertion(tmp_path):
    """Drawn on layer 0 of a block at its own origin, inserted with a shift, a scale and a mirror image."""
    document = ezdxf.new()
    for i, (layer, points) in enumerate(LINES):
        block = document.blocks.new(f"b{i}")
        block.add_lwpolyline([(-(y - 50) / 2, z / 2) for y, z in points])
        document.modelspace().add_blockref(
            f"b{i}", (50, 0), {"layer": layer, "xscale": -2, "yscale": 2, "zscale": 2}
        )
    path = tmp_path / "plan.dxf"
    document.saveas(path)
    require_hull(read(path))


def circle_of(radius):
    """The control polygon of a quarter circle as a rational quadratic B-spline, keel to gunwale."""
    return [(0, -radius), (radius, -radius), (radius, 0)], [1, math.sqrt(0.5), 1]


def arcs(folder, kind):
    """Quarter circles of 600 and 300 mm, exactly drawn: rational spline, arc, bulge; in an SVG arcs, flat and stretched."""
    radii = ((0, 600.0), (3, 300.0))
    if kind.startswith("svg"):
        a, b = {"svg arc": ("1", "1"), "svg stretched arc": ("2", "0.5"), "svg small arc": ("0.01", "0.01")}[
            kind
        ]
        paths = [
            f'<path id="{name(at)}" transform="scale({1 / float(a)} {1 / float(b)})" '
            f'd="M 0 {r * float(b)} A {r * float(a)} {r * float(b)} 0 0 0 {r * float(a)} 0"/>'
            for at, r in radii
        ]
        return svg(folder, "".join(paths))
    document = ezdxf.new()
    space = document.modelspace()
    for at, r in radii:
        attributes = {"layer": name(at)}
        if kind == "spline":
            points, weights = circle_of(r)
            space.add_rational_spline(points, weights, degree=2, dxfattribs=attributes)
        elif kind == "arc":
            space.add_arc((0, 0), r, 270, 360, dxfattribs=attributes)
        elif kind == "ellipse":
            space.add_ellipse((0, 0), (0, -r), 1.0, 0, math.pi / 2, dxfattribs=attributes)
        else:
            bulge = math.tan(math.pi / 8)
            space.add_lwpolyline([(0, -r, 0, 0, bulge), (r, 0, 0, 0, 0)], dxfattribs=attributes)
    path = folder / "plan.dxf"
    document.saveas(path)
    return path


@pytest.mark.parametrize(
    "kind", ["spline", "arc", "ellipse", "bulge", "svg arc", "svg stretched arc", "svg small arc"]
)
def test_curves_are_chords_within_the_tolerance(tmp_path, kind):
    """Points of a circle's chords are on it, and chords of length c are r − √(r² − c²/4) from it: at most 0.1 mm."""
    got = read(arcs(tmp_path, kind), 30)
    for one, radius in zip(got.table, (0.6, 0.3), strict=True):
        assert np.linalg.norm(one.points, axis=1) == pytest.approx(radius, abs=1e-7)
        assert one.points[[0, -1]] == pytest.approx(np.array([(0, -radius), (radius, 0)]), abs=1e-9)
        chords = np.linalg.norm(np.diff(one.points, axis=0), axis=1)
        off = radius - np.sqrt(radius**2 - chords**2 / 4)
        assert off.max() <= ABS_TOL_CHORD
        y, z = one.points.T
        # area within the chords, worked by the shoelace formula about the centre
        shoelace = 0.5 * (y[:-1] * z[1:] - y[1:] * z[:-1]).sum()
        assert shoelace == pytest.approx(math.pi * radius**2 / 4, rel=1e-3)
        assert np.trapezoid(y, z) == pytest.approx(shoelace, rel=1e-9)


@pytest.mark.parametrize("command", ["C 300 600 600 300 600 0", "Q 600 600 600 0"])
def test_beziers_are_chords_within_the_tolerance(tmp_path, command):
    """Bernstein's polynomials at many parameters are within 0.1 mm of the chords; fewer than a thousand chords do."""
    text = "".join(f'<path id="{name(at)}" d="M 0 600 {command}"/>' for at in (0, 3))
    (one, _) = read(svg(tmp_path, text), 30).table
    control = np.array([(0.0, 600.0), *np.reshape([float(n) for n in command.split()[1:]], (-1, 2))]) * (
        1e-3,
        -1e-3,
    )
    t, degree = np.linspace(0, 1, 2001)[:, None], len(control) - 1
    curve = sum(math.comb(degree, i) * t**i * (1 - t) ** (degree - i) * p for i, p in enumerate(control))
    begin, along = one.points[:-1], np.diff(one.points, axis=0)
    part = np.clip(((curve[:, None] - begin) * along).sum(2) / (along**2).sum(1), 0, 1)
    off = np.linalg.norm(curve[:, None] - begin - part[..., None] * along, axis=2).min(axis=1)
    assert 0 < off.max() <= ABS_TOL_CHORD
    assert len(one.points) < 100


def test_the_demo_boats_bows_are_as_stiff_from_a_drawing(tmp_path):
    """Its stations drawn, read and put in its file give the same section stiffness at every station."""
    text = station_tables(
        read(dxf(tmp_path, [(name(a), on_paper(whole(h))) for a, h in HULL.items()]), whole=True)
    )
    drawn = tomllib.loads(text)["bows"]["stations"]
    given = tomllib.loads(DEMO.read_text(encoding="utf-8"))["bows"]["stations"]
    lines = DEMO.read_text(encoding="utf-8")
    for old, new in zip(given, drawn, strict=True):
        for key in ("keel", "gunwale"):
            assert f'{key} = "{old[key]}"' in lines
            lines = lines.replace(f'{key} = "{old[key]}"', f'{key} = "{new[key]}"', 1)
        old_chines, new_chines = (
            ", ".join(f'"{corner}"' for corner in each["chines"]) for each in (old, new)
        )
        assert f"chines = [{old_chines}]" in lines
        lines = lines.replace(f"chines = [{old_chines}]", f"chines = [{new_chines}]", 1)
        assert old["at"] == f"{float(new['at'].split()[0]):g} m"
    redrawn = tmp_path / "redrawn.toml"
    redrawn.write_text(lines, encoding="utf-8")
    assert lines != DEMO.read_text(encoding="utf-8")
    before, after = (read_boat_file(path).bows.stations for path in (DEMO, redrawn))
    for one, other in zip(before, after, strict=True):
        for key in ("EI_vertical", "EI_lateral", "GJ", "EA", "mass"):
            assert getattr(other, key) == pytest.approx(getattr(one, key), rel=1e-9)


def half(at=0.0, **changes):
    """A good outline of that station, changed corner by corner."""
    points = dict(enumerate([(0, 0), (0.4, 0.2), (0.5, 1.2)])) | {int(k[1:]): v for k, v in changes.items()}
    return name(at), on_paper(points.values())


@pytest.mark.parametrize(
    ("lines", "layout", "wrong"),
    [
        ([], {}, "has no lines"),
        ([("hull", half()[1])], {}, "has no station among 'hull'; name them as 'station 3.7 m'"),
        ([half(), half(3.0)], {"stations": {"statoin": 3.0}}, "layer 'statoin' does not exist"),
        ([half(), half(3.0), ("station 7", half()[1])], {}, "'station 7': '7' has no unit"),
        (
            [half(), half(3.0), ("station 3.00 m", half()[1])],
            {},
            "'station 3 m' and 'station 3.00 m' are one station, 3 m",
        ),
        ([half(), half(3.0, _0=(0.2, 0))], {}, "'station 3 m': has no keel: its lowest end is 0.200 m off"),
        ([half(), half(3.0, _0=(-0.2, 0))], {}, "'station 3 m': is 0.200 m beyond the centreline"),
        (
            [half(), half(3.0, _3=(0.6, 0.2), _4=(0.3, 1.0))],
            {},
            "station 3 m: crosses itself at a height of 0.621 m",
        ),
        (
            [half(), half(3.0), half(3.0, _0=(0, 0.1), _2=(0.6, 1.2))],
            {},
            "is more than one line: another begins at",
        ),
        ([half(), half(3.0)], {"unit": 1.0}, "its widest station is 1,000 m wide"),
        ([half(), half(3.0)], {"unit": 1e-5}, "its widest station is 0.01 m wide"),
        ([half(), half(3.0)], {"breadth": "+y"}, "are no two axes of the drawing"),
        (
            [half(), half(3.0)],
            {"whole": True},
            "meets the centreline 0 times, where an open section does so once",
        ),
        (
            [half(), half(3.0, _3=(0, 1.2), _4=(-0.45, 1.2), _5=(-0.3, 0.2))],
            {},
            "is 0.450 m beyond the centreline",
        ),
        (
            [(name(0), on_paper([(-0.45, 1.2), (0, 0), (0.5, 1.2)]))],
            {"whole": True},
            "has sides that differ by 50 mm",
        ),
    ],
)
def test_drawings_of_no_hull_are_faults(tmp_path, lines, layout, wrong):
    """Each in a sentence that names the file and the station."""
    if layout.get("whole"):
        lines = [
            (layer, whole(points) if layer == name(0) and points[0][0] == 0 else points)
            for layer, points in lines
        ]
        lines = lines if "differ" in wrong else [half(), half(3.0)]
    path = dxf(tmp_path, lines)
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read(path, **layout)
    assert wrong in str(trouble.value)
    assert str(path) in str(trouble.value)


def test_lines_drawn_twice_count_once_and_clones_are_faults(tmp_path):
    """A line over itself, either way, is no second outline; a clone has its line elsewhere, and is not left out in silence."""
    again = [(layer, points[::-1]) for layer, points in LINES]
    require_hull(read(dxf(tmp_path, [*LINES, *again])))
    require_hull(read(dxf(tmp_path, [*LINES, *again], "lines")))
    with pytest.raises(InputFault, match="is a clone of another element"):
        read(svg(tmp_path, svg_lines(LINES[:1]) + '<use id="station 3.7 m" href="#x"/>'))


def test_closed_halves_that_leave_the_centreline_and_round_decks_are_faults(tmp_path):
    """Half a section closed by its chord instead of along the centreline, and one whose deck runs round into the side."""
    _, points = half()
    with pytest.raises(InputFaults, match="is closed, but not along the centreline"):
        read(dxf(tmp_path, [(name(0), points), (name(3), points)], close=True))
    angle = np.linspace(-math.pi / 2, math.pi / 2, 60)
    round_ = [(500 * math.cos(a), 500 * math.sin(a)) for a in angle]
    with pytest.raises(InputFaults, match="has a deck without an edge"):
        read(dxf(tmp_path, [(name(0), round_), (name(3), round_)]))


@pytest.mark.parametrize(
    ("suffix", "content"),
    [
        ("dxf", b""),
        ("dxf", b"hello"),
        ("dxf", b"AC1015\0\0\0\0" * 20),
        ("dxf", b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n  8\nx\n 10\nabc\n"),
        ("dxf", b"AutoCAD Binary DXF\r\n\x1a\x00\x00\x00SECTION"),
        ("svg", b""),
        ("svg", b"<svg"),
        ("svg", b"<html/>"),
        ("svg", b'<svg><path id="station 3 m" d="M 0 0 L 1"/></svg>'),
        ("svg", b'<svg><path id="station 3 m" d="M 0 0 L 1 1" transform="tilt(3)"/></svg>'),
    ],
)
def test_broken_files_are_one_sentence(tmp_path, capsys, suffix, content):
    """Exit status 2 and one line that names the file, from the command itself."""
    path = tmp_path / f"broken.{suffix}"
    path.write_bytes(content)
    with pytest.raises(SystemExit) as ended:
        main(["stations", str(path), "--unit", "mm", "--bulkhead", "0 m", "--forward", "+x"])
    assert ended.value.code == 2
    shown = capsys.readouterr().err.strip()
    assert shown.startswith(f"{path}: cannot be read as {suffix.upper()} (")
    assert "\n" not in shown


def test_a_curve_with_chords_without_end_is_a_fault(tmp_path):
    """A spline far too large for the stated scale is refused after some thousand chords, not flattened for minutes."""
    document = ezdxf.new()
    points = [(0, -5e8), (3e8, -4e8), (5e8, 2e8), (6e8, 5e8)]
    document.modelspace().add_spline(points, dxfattribs={"layer": name(3)})
    document.saveas(tmp_path / "plan.dxf")
    with pytest.raises(InputFault, match="'station 3 m' has more than 20000 chords"):
        read(tmp_path / "plan.dxf", unit=1.0)


def test_huge_files_are_refused_unread(tmp_path, monkeypatch):
    """By their size, and by their points."""
    path = dxf(tmp_path, LINES)
    monkeypatch.setattr("cases.input.stations.drawn_lines.MAX_POINTS", 11)
    with pytest.raises(InputFault, match="has more than 11 points"):
        read(path)
    far = svg(tmp_path, '<path id="station 3 m" d="M 0 0 L 1e300 0" transform="scale(1e200)"/>')
    with pytest.raises(InputFault, match="has a coordinate of inf; draw it within"):
        read(far)
    with pytest.raises(InputFault, match="is no file"):
        read(Path("/dev/zero"))
    with path.open("r+b") as file:
        file.truncate(60_000_000)
    with pytest.raises(InputFault, match="has 60 MB"):
        read(path)
    with pytest.raises(InputFault, match="cannot be read"):
        read(tmp_path / "none.dxf")


def test_names_of_a_drawing_are_short_and_printable_in_messages(tmp_path):
    """A layer's name of 50,000 letters and a line feed in it leave one line of some hundred characters."""
    long = "hull&#10;" + "x" * 50_000
    for name_, wrong in (
        (long, "has no station among 'hull"),
        ("station 3&#10;" + "x" * 50_000, "has a unit"),
    ):
        with pytest.raises(InputFault, match=wrong) as trouble:
            read(svg(tmp_path, f'<path id="{name_}" d="M 0 0 L 9 9"/>'))
        assert len(str(trouble.value)) < 500
        assert "\n" not in str(trouble.value)


def test_a_drawing_that_is_repaired_while_it_is_read_prints_no_more(tmp_path):
    """An unknown entry of a table is left out without a word on standard error, in a process that has no logging of its own."""
    path = dxf(tmp_path, LINES)
    text = path.read_text(encoding="utf-8")
    assert "DIMSTYLE\n105" in text
    path.write_text(text.replace("DIMSTYLE\n105", "DIMSTILE\n105"), encoding="utf-8")
    run = [sys.executable, "-m", "cases.cli.commands", "stations", str(path)]
    stated = ["--unit", "mm", "--bulkhead", "0 m", "--forward", "+x"]
    done = subprocess.run([*run, *stated], cwd=DEMO.parents[2], capture_output=True, check=True)
    assert done.stdout.startswith(b"# 3 stations")
    assert done.stderr == b""


def test_the_command_reads_a_drawing_and_draws_it_back(tmp_path, capsys):
    """Names stated, 1:10, whole sections, stations counted aft from 4.4 m; printed to the millimetre, and a PNG is written."""
    names = {"bulkhead": 0.0, "beam": 3.7, "stem": 4.4}
    lines = [(key, on_paper(whole(HULL[at]), 0.1)) for key, at in names.items()]
    picture = tmp_path / "plan.png"
    stated = [part for key, at in names.items() for part in ("--station", f"{key} = {4.4 - at:g} m")]
    with pytest.raises(SystemExit) as ended:
        main(
            ["stations", str(svg(tmp_path, svg_lines(lines))), "--unit", "mm", "--scale", "1:10", "--whole", *stated,
             "--bulkhead", "4.4 m", "--forward", "-x", "--corners", "4", "--picture", str(picture)]
        )  # fmt: skip
    assert ended.value.code == 0
    stations = tomllib.loads(capsys.readouterr().out)["bows"]["stations"]
    assert [one["at"] for one in stations] == ["0.000 m", "3.700 m", "4.400 m"]
    assert stations[1]["chines"] == ["0.260 0.200 m", "0.360 0.750 m"]
    assert picture.read_bytes()[:4] == b"\x89PNG"


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (["hull.csv", "--unit", "mm", "--scale", "1:10"], "is not a drawing"),
        (["hull.csv"], "--unit: is missing"),
        (["hull.dxf", "--unit", "mm", "--station", "3.7 m"], "has no name and station"),
        (["hull.dxf", "--unit", "mm", "--station", "a=1 m", "--station", "a=2 m"], "'a': is duplicated"),
        (["hull.svg", "--unit", "mm", "--height", "+z"], "are no two axes of the drawing"),
    ],
)
def test_faults_of_the_command(capsys, arguments, wrong):
    """Each is one sentence and exit status 2."""
    with pytest.raises(SystemExit) as ended:
        main(["stations", *arguments, "--bulkhead", "0 m", "--forward", "+x"])
    assert ended.value.code == 2
    assert wrong in capsys.readouterr().err
