"""Stations from offsets tables: scale, axes and corners; what a coarser outline costs is measured."""

import tomllib

import numpy as np
import pytest

from cases.cli.commands import main
from cases.input.stations.hull_stations import station_tables
from cases.input.stations.offsets import read_offsets
from femcore.base.errors import InputFault, InputFaults
from models.boat.bows import BowsTable


def table(folder, rows, heading="station,half_breadth,height"):
    """A CSV file of rows."""
    path = folder / "hull.csv"
    path.write_text("\n".join([heading, *(",".join(map(str, row)) for row in rows)]) + "\n", encoding="utf-8")
    return path


def quarter_circles(folder, count=41):
    """Three stations, in mm from the stem aft, each a quarter circle: radius 1 m at the bulkhead (4 m), 0.5 m at the stem."""
    angle = np.linspace(0, np.pi / 2, count)
    return table(
        folder,
        [(x, r * np.sin(a), -r * np.cos(a)) for x, r in ((0, 500), (2000, 750), (4000, 1000)) for a in angle],
    )


def test_scale_and_axes_are_those_stated(tmp_path):
    """mm become m; stations counted aft from the stem come out forward from the bulkhead."""
    read = read_offsets(quarter_circles(tmp_path), "mm", 4.0, "-x", 41)
    assert [one.at for one in read.stations] == pytest.approx([0, 2, 4])
    radii = [np.linalg.norm(one.points, axis=1) for one in read.stations]
    assert np.allclose(radii, [[1.0], [0.75], [0.5]])
    assert (read.distance, read.area) == pytest.approx((0, 0), abs=1e-12)


@pytest.mark.parametrize("corners", [4, 7])
def test_what_corners_cost_is_that_of_a_polygon(tmp_path, corners):
    """A circle's chord over an angle a is r (1 − cos a/2) off its arc; n chords of a quarter have the area n r² sin(a)/2."""
    read = read_offsets(quarter_circles(tmp_path, 1441), "mm", 4.0, "-x", corners)
    angle = np.pi / 2 / (corners - 1)
    assert read.distance == pytest.approx(1 - np.cos(angle / 2), rel=1e-3)
    assert 1 + read.area == pytest.approx((corners - 1) * np.sin(angle) / 2 / (np.pi / 4), rel=1e-4)


CHINED = {
    0: [(0, -50), (450, 150), (600, 750), (620, 1550)],
    4000: [(0, 150), (130, 280), (220, 750), (280, 1450)],
}
"""mm, keel, two chines and gunwale at the bulkhead and at the stem."""


@pytest.mark.parametrize("bulkhead", [0.0, 1.0])
def test_a_chined_hull_keeps_its_chines(tmp_path, bulkhead):
    """Straight walls between chines: with no more points than corners nothing is lost, and a chine between stations is linear."""
    read = read_offsets(
        table(tmp_path, [(x, *point) for x, points in CHINED.items() for point in points]),
        "mm",
        bulkhead,
        "+x",
        6,
    )
    aft, stem = (np.array(points) / 1000 for points in CHINED.values())
    assert np.allclose(read.stations[0].points, aft + bulkhead / 4 * (stem - aft))
    assert np.allclose(read.stations[-1].points, stem)
    assert (read.distance, read.area) == pytest.approx((0, 0), abs=1e-12)


def test_a_bulkhead_between_stations_is_interpolated(tmp_path):
    """Half way between quarter circles of 1 m and 0.75 m is one of 0.875 m."""
    read = read_offsets(quarter_circles(tmp_path), "mm", 3.0, "-x", 41)
    assert [one.at for one in read.stations] == pytest.approx([0, 1, 3])
    assert np.linalg.norm(read.stations[0].points, axis=1) == pytest.approx(0.875, rel=1e-3)


def test_what_is_printed_is_read_by_a_boat_file(tmp_path, capsys):
    """The command's output is TOML of stations, and the picture is drawn; numbers come back to the millimetre."""
    picture = tmp_path / "plan.png"
    answers = [
        "--unit",
        "mm",
        "--bulkhead",
        "4 m",
        "--forward",
        "-x",
        "--corners",
        "5",
        "--picture",
        str(picture),
    ]
    with pytest.raises(SystemExit) as ended:
        main(["stations", str(quarter_circles(tmp_path)), *answers])
    assert ended.value.code == 0
    assert picture.read_bytes()[:4] == b"\x89PNG"
    bows = tomllib.loads(capsys.readouterr().out)["bows"] | {"spacing": "6 m", "inboard": "0.5 m"}
    wall = {"material": "al5083_o", "thickness": "5 mm"}
    made = BowsTable.model_validate(bows | {"walls": {"bottom": wall, "topside": wall, "deck": wall}})
    assert [one.at for one in made.stations] == [0, 2, 4]
    assert made.stations[0].gunwale == pytest.approx((1, 0), abs=1e-3)


BOX = [(0, 0, 0), (0, 1, 0), (0, 1, 1), (3, 0, 0), (3, 1, 1)]


@pytest.mark.parametrize(
    ("rows", "heading", "bulkhead", "wrong"),
    [
        (BOX, "station,breadth,height", 0, "has no column 'half_breadth'"),
        ([(0, "wide", 0)], None, 0, "line 2: half_breadth: 'wide' is not a number"),
        ([(0, "nan", 0)], None, 0, "'nan' is not a number"),
        ([], None, 0, "has 0 points"),
        (BOX, None, 5, "has no station ahead of the main bulkhead"),
        (BOX, None, -1, "has no station at or abaft the main bulkhead"),
        ([*BOX, (0, 0, 0), (0, 1, 1)], None, 0, "a station comes twice"),
        ([*BOX, (4, 0, 0)], None, 0, "station 4 m: has one point"),
        ([*BOX, (4, 0, 1), (4, 1, 0)], None, 0, "does not run from the keel up"),
        ([*BOX, (4, 0, 0), (4, -1, 1)], None, 0, "has a negative half-breadth"),
        ([*BOX, (4, 0, 0), (4, 0, 0), (4, 1, 1)], None, 0, "has a point twice"),
    ],
)
def test_tables_of_no_hull_are_faults(tmp_path, rows, heading, bulkhead, wrong):
    """Each in one sentence."""
    path = table(tmp_path, rows, *([heading] if heading else []))
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read_offsets(path, "m", bulkhead, "+x", 4)
    assert wrong in str(trouble.value)


def test_stations_of_so_many_points_are_taken_as_they_are(tmp_path):
    """Chines stay where the table has them when it has as many points as are asked for."""
    rows = [(x, y, z) for x in (0, 3) for y, z in ((0, 0), (0.4, 0.2), (0.5, 1.2))]
    read = read_offsets(table(tmp_path, rows), "m", 0.0, "+x", 3)
    assert 'chines = ["0.400 0.200 m"]' in station_tables(read)
