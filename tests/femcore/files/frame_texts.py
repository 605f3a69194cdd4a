"""A sound frame file, to be spoilt one line at a time."""

VALID_FRAME_TEXT = """
title  = "Propped cantilever"
source = "worked here"
seen   = "derived"

[materials.steel]
E = "210 GPa"
nu = 0.3
density = "7850 kg/m**3"

[sections.bar]
A = "20 cm**2"
Iy = "1000 cm**4"
Iz = "500 cm**4"
J = "1500 cm**4"
Ay = "16 cm**2"
Az = "16 cm**2"

[nodes]
A = "0 0 0 m"
B = "4 0 0 m"

[[beams]]
name = "AB"
from = "A"
to = "B"
section = "bar"
material = "steel"
up = [0, 0, 1]
divide = 4
from_offset = "0 0 50 mm"
to_release = ["ry"]
to_spring = { rz = "200 kN*m/rad" }

[[springs]]
from = "B"
uz = "2 MN/m"

[[supports]]
node = "A"
fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]
moved = { uz = "-2 mm" }

[[supports]]
node = "B"
fixed = ["ry"]

[[masses]]
node = "B"
mass = "50 kg"

[[cases]]
name = "tip load"
gravity = "0 0 -9.80665 m/s**2"
[[cases.point]]
node = "B"
force = "0 0 -5 kN"
moment = "0 1 0 kN*m"
[[cases.line]]
beam = "AB"
force = "0 0 -2 kN/m"
axes = "global"

[[expect]]
case = "tip load"
at = "A"
quantity = "uz"
value = "-2 mm"
tolerance = 0.005
"""


def edited_text(old, new):
    """The sound file with its first `old` replaced by `new`."""
    assert old in VALID_FRAME_TEXT, old
    return VALID_FRAME_TEXT.replace(old, new, 1)
