"""A small boat and grid to sweep, fast to solve, and what a sweep of it must be."""

import tomllib
from functools import cache
from pathlib import Path

import pyarrow.parquet as pq

from cases.analyses.sweeps.chunk import chunk_table
from cases.analyses.sweeps.plan import plan_sweep
from cases.input.boat_file import BoatFile
from cases.input.grid_file import GridFile
from femcore.base.toml import checked

BOAT = """
title = "plain"
[bows]
spacing = "6 m"
inboard = "0.5 m"
height = "0.8 m"
divide = 4
[[bows.stations]]
at = "0 m"
EI_vertical = "60 MN*m**2"
EI_lateral = "45 MN*m**2"
GJ = "12 MN*m**2"
EA = "300 MN"
mass = "40 kg/m"
[[bows.stations]]
at = "4 m"
EI_vertical = "6 MN*m**2"
EI_lateral = "5 MN*m**2"
GJ = "1.5 MN*m**2"
EA = "100 MN"
mass = "20 kg/m"
[crossbeam]
station = "3.4 m"
height = "1.1 m"
EI_vertical = "0.9 MN*m**2"
EI_lateral = "0.9 MN*m**2"
GJ = "0.5 MN*m**2"
EA = "120 MN"
mass = "8 kg/m"
[stay]
forward = "50 mm"
up = "120 mm"
[stay.line]
breaking = "100 kN"
[[joints]]
name = "=socket"
kind = "sprung"
pitch = "300 kN*m/rad"
[[joints]]
name = "pin"
kind = "pinned"
axis = [1, 0, 0]
[[cases]]
name = "racking"
kind = "racking"
force = "5 kN"
[[cases]]
name = "gust"
kind = "rig"
tension = "40 kN"
rake = "14 deg"
"""
GRID = """
designs_per_chunk = 2
[[vary]]
key = "joints.'=socket'.pitch"
from = "10 kN*m/rad"
to = "10 MN*m/rad"
count = 4
spacing = "geometric"
[[vary]]
key = "crossbeam.height"
list = ["1.1 m", "1.3 m"]
"""


def boat_of(text=BOAT) -> BoatFile:
    """The boat of a text."""
    return checked(tomllib.loads(text), BoatFile, "boat.toml")


def grid_of(text=GRID) -> GridFile:
    """The grid of a text."""
    return checked(tomllib.loads(text), GridFile, "grid.toml")


@cache
def plan_of(grid=GRID, boat=BOAT):
    """The plan of both."""
    return plan_sweep(boat_of(boat), grid_of(grid), "boat.toml", "grid.toml")


@cache
def expected(number, grid=GRID):
    """The table of a chunk, worked out in this process."""
    return chunk_table(plan_of(grid), number)


def assert_serial(dataset: Path, grid=GRID):
    """A dataset has every chunk once, whole, and to the last bit as worked out in this process."""
    files = sorted(dataset.iterdir())
    assert len(files) == grid_of(grid).chunks
    for number, file in enumerate(files):
        assert pq.read_table(file, partitioning=None).equals(expected(number, grid), check_metadata=True)
