"""A small boat with two joints and three cases, its names as strange as a file allows."""

from cases.input.boat_file import BoatFile
from femcore.base.toml import read_toml
from tests.models.boats import validated

TITLE = "<script>alert('title')</script> & Ångström"
NOTE = '<img src="http://somewhere/x.png">'
JOINTS = (
    "../../etc/<b>pin</b>",
    "$\\frac{1}{2}$ a joint whose name goes on and on, and then goes on for longer still",
)
CASES = ("up & down", "up / down", "=1+1")
TEXT = f"""
title = "{TITLE}"
note = '{NOTE}'
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
[[bows.stations]]
at = "4 m"
EI_vertical = "6 MN*m**2"
EI_lateral = "5 MN*m**2"
GJ = "1.5 MN*m**2"
EA = "100 MN"
[crossbeam]
station = "3.4 m"
height = "1.1 m"
EI_vertical = "0.9 MN*m**2"
EI_lateral = "0.9 MN*m**2"
GJ = "0.5 MN*m**2"
EA = "120 MN"
[stay]
forward = "50 mm"
up = "120 mm"
[[joints]]
name = '{JOINTS[0]}'
note = "<i>note</i>"
kind = "pinned"
axis = [1, 0, 0]
[[joints]]
name = '{JOINTS[1]}'
kind = "sprung"
pitch = "300 kN*m/rad"
[[cases]]
name = "{CASES[0]}"
kind = "racking"
force = "5 kN"
[[cases]]
name = "{CASES[1]}"
kind = "rig"
tension = "40 kN"
rake = "10 deg"
note = "</p><script>alert('note')</script>"
[[cases]]
name = "{CASES[2]}"
kind = "points"
[[cases.also]]
place = "port stem"
force = "0 1 2 kN"
"""


def boat_file(folder):
    """The boat, read from a file in `folder`."""
    path = folder / "strange.toml"
    path.write_text(TEXT, encoding="utf-8")
    return validated(BoatFile, read_toml(path))
