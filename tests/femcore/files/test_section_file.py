"""Laminates and thin-walled sections of a file: what the frame gets of them, its remarks, what is refused."""

import subprocess
import sys

import numpy as np
import pytest

from femcore.base.errors import InputFaults
from femcore.files.frame_file import FrameFile, read_frame_file
from femcore.files.frame_file.shapes import Box, Tube
from femcore.files.frame_run import results, run_frame
from femcore.laminates import LaminateMaterials, lay_up, wall_stiffness
from femcore.materials import fibres, layers, resins
from femcore.sections import box, properties, rotary_inertia

E, G, RHO = 70e9, 26e9, 2700.0
HEAD = """
title = "Arm of a thin-walled section"

[materials.alloy]
E = "70 GPa"
G = "26 GPa"
density = "2700 kg/m**3"
expansion = "23e-6 1/K"
"""
TAIL = """
[nodes]
root = "0 0 0 m"
tip = "2 0 0 m"

[[beams]]
name = "arm"
from = "root"
to = "tip"
section = "arm"

[[supports]]
node = "root"
fixed = ["ux", "uy", "uz", "rx", "ry", "rz"]

[[cases]]
name = "down"
[[cases.point]]
node = "tip"
force = "0 0 -1 kN"

[[cases]]
name = "twist"
[[cases.point]]
node = "tip"
moment = "1 0 0 kN*m"

[[cases]]
name = "pull"
[[cases.point]]
node = "tip"
force = "1 0 0 kN"
"""
SKIN = """
[laminates.skin]
layup = ["2x uni 300 @0", "db 450 @45", "mirror"]
fibre = "carbon_sm"
resin = "epoxy"
process = "infused"
"""
TUBE = """
[sections.arm]
shape = "thin tube"
diameter = "200 mm"
material = "alloy"
thickness = "2 mm"
"""
LAID_TUBE = TUBE.replace('material = "alloy"\nthickness = "2 mm"', 'laminate = "skin"')
BOX = """
[sections.arm]
shape = "thin box"
width = "100 mm"
height = "200 mm"
material = "alloy"
thickness = "3 mm"
"""
CHANNEL = """
[sections.arm]
shape = "channel"
width = "48 mm"
height = "96 mm"
measured = "midline"
material = "alloy"
thickness = "2 mm"
"""
HAT = """
[sections.arm]
shape = "outline"
material = "alloy"
thickness = "2 mm"
[[sections.arm.parts]]
name = "hat"
points = ["60 0 mm", "40 60 mm", "-40 60 mm", "-60 0 mm"]
[[sections.arm.parts]]
name = "base"
points = ["-60 0 mm", "60 0 mm"]
material = "al5083_o"
thickness = "5 mm"
"""


def read(folder, *parts):
    """The frame file of these parts between head and tail."""
    path = folder / "arm.toml"
    path.write_text("\n".join((HEAD, *parts, TAIL)), encoding="utf-8")
    return read_frame_file(path)


def arm(folder, *parts):
    """The arm's section, solved."""
    return read(folder, *parts).walled["arm"]


def tips(file):
    """Displacement of the tip by case."""
    cases = results(run_frame(file))["cases"]
    return {name: case["nodes"]["tip"]["displacement"] for name, case in cases.items()}


def test_an_arm_of_thin_tube_bends_twists_and_stretches_as_a_ring_does(tmp_path):
    """FL³/3EI + FL/GA, TL/GJ, FL/EA with EI = Eπr³t, GJ = 2Gπr³t, GA = Gπrt, EA = 2Eπrt (S.P. Timoshenko &
    J.M. Gere, Mechanics of Materials, thin tubes; shear coefficient of a thin ring ½; from memory).
    """
    r, t, F, L = 0.099, 0.002, 1e3, 2.0
    ring = np.pi * r * t
    moved = tips(read(tmp_path, TUBE))
    sag = F * L**3 / (3 * E * ring * r**2) + F * L / (G * ring)
    assert moved["down"][2] == pytest.approx(-sag, rel=1e-4)
    assert moved["twist"][3] == pytest.approx(1e3 * L / (2 * G * ring * r**2), rel=2e-4)
    assert moved["pull"][0] == pytest.approx(F * L / (2 * E * ring), rel=1e-6)


def test_thin_shapes_agree_with_the_thick_closed_forms_where_walls_are_thin(tmp_path):
    """EA, EI and GJ of tube and box come to those of `femcore.files.frame_file.shapes` within the square of wall over size."""
    thick = {
        TUBE: Tube(shape="tube", diameter="200 mm", wall="2 mm"),
        BOX: Box(shape="box", width="100 mm", height="200 mm", wall="3 mm"),
    }
    for text, shape in thick.items():
        solid, beam = shape.properties(None), arm(tmp_path, text).properties
        assert pytest.approx(E * solid.A, rel=1e-3) == beam.EA
        assert pytest.approx(E * solid.Iy, rel=1e-3) == beam.EIy
        assert pytest.approx(E * solid.Iz, rel=2e-3) == beam.EIz
        assert pytest.approx(G * solid.J, rel=2e-3) == beam.GJ


def test_a_laid_tube_has_the_walls_own_stiffness(tmp_path):
    """EA = 2πr·(A11 − A12²/A22) and GJ = 2πr³·A66 of a balanced wall, mass its fibre and the resin between."""
    beam = arm(tmp_path, SKIN, LAID_TUBE).properties
    recipe = LaminateMaterials(fibre="carbon_sm", resin="epoxy", process="infused")
    laminate = lay_up(["2x uni 300 @0", "db 450 @45", "mirror"], recipe)
    wall, r = wall_stiffness(laminate), 0.1 - laminate.thickness / 2
    assert pytest.approx(2 * np.pi * r * wall.axial, rel=1e-6) == beam.EA
    assert pytest.approx(2 * np.pi * r**3 * wall.shear, rel=1e-3) == beam.GJ
    fibre, resin = fibres()["carbon_sm"].density, resins()["epoxy"].density
    resin_mass = sum(w / fibre * (1 - Vf) / Vf * resin for w, Vf in ((1.2, 0.55), (0.9, 0.52)))
    assert beam.mass == pytest.approx(2 * np.pi * r * (2.1 + resin_mass), rel=1e-6)


def test_a_laminate_may_be_given_ply_by_ply(tmp_path):
    """Plies with thickness and angle, and the same in the words of a lay-up, are one laminate."""
    words = '[laminates.skin]\nlayup = ["ply wwfe_carbon_1 1 mm @0", "ply wwfe_carbon_1 0.5 mm @60", "core foam80 9 mm"]'
    plies = """
[[laminates.skin.plies]]
material = "wwfe_carbon_1"
thickness = "1 mm"
[[laminates.skin.plies]]
material = "wwfe_carbon_1"
thickness = "0.5 mm"
angle = "60 deg"
[[laminates.skin.plies]]
material = "foam80"
thickness = "9 mm"
"""
    one, other = (arm(tmp_path, text, LAID_TUBE).properties for text in (words, plies))
    np.testing.assert_allclose(one.flexibility, other.flexibility, rtol=1e-12, atol=1e-25)
    assert one.mass == pytest.approx(other.mass, rel=1e-12)


def test_a_file_may_bring_its_own_layers_and_cores(tmp_path):
    """A layer and a core of the file, with a shipped one's numbers, do as the shipped ones."""
    known = layers()["wwfe_carbon_1"]
    own = f"""
[layers.mine]
E1 = "{known.E1!r} Pa"
E2 = "{known.E2!r} Pa"
nu12 = {known.nu12}
G12 = "{known.G12!r} Pa"
density = "{known.density!r} kg/m**3"
[cores.soft]
E = "70 MPa"
E_through = "90 MPa"
nu = 0.3
G = "27 MPa"
shear_strength = "1.1 MPa"
compressive_strength = "1.4 MPa"
density = "80 kg/m**3"
"""
    laid = '[laminates.skin]\nlayup = ["ply {} 1 mm @30", "core {} 9 mm", "ply {} 1 mm @-30"]'
    mine = arm(tmp_path, own, laid.format("mine", "soft", "mine"), LAID_TUBE)
    shipped = arm(tmp_path, laid.format("wwfe_carbon_1", "foam80", "wwfe_carbon_1"), LAID_TUBE)
    assert pytest.approx(shipped.properties.EA, rel=5e-3) == mine.properties.EA
    assert pytest.approx(shipped.properties.GJ, rel=5e-3) == mine.properties.GJ


def test_rotary_inertia_is_that_of_rings_and_boxes(tmp_path):
    """m r² about the axis of a ring, half across it (any handbook of dynamics); a box by its four walls."""
    tube = arm(tmp_path, TUBE)
    assert tube.inertia == pytest.approx(tube.properties.mass * 0.099**2 * np.array([1, 0.5, 0.5]), rel=1e-3)
    wall = tube.solved.section.walls[0]
    b, h, m = 0.1, 0.2, wall.areal_mass
    about_y = m * (2 * h**3 / 12 + 2 * b * h**2 / 4)
    about_z = m * (2 * b**3 / 12 + 2 * h * b**2 / 4)
    found = rotary_inertia(box(b, h, wall), (0.0, 0.0))
    assert found == pytest.approx((about_y + about_z, about_y, about_z), rel=1e-12)
    shifted = rotary_inertia(box(b, h, wall), (0.03, 0.0))
    assert shifted[2] - found[2] == pytest.approx(m * 2 * (b + h) * 0.03**2, rel=1e-12)


def test_the_line_is_that_of_shear_centres_and_the_rest_is_told(tmp_path):
    """A channel's shear centre lies 3b²/(h + 6b) behind its web, its centroid b²/(2b + h) before it (S.P.
    Timoshenko & J.M. Gere, Mechanics of Materials, from memory): 18 + 12 mm, and the remark says 30 mm.
    """
    file = read(tmp_path, CHANNEL)
    beam = file.walled["arm"].properties
    assert beam.shear_centre == pytest.approx([-0.018, 0.0], abs=1e-5)
    assert beam.centre == pytest.approx([0.012, 0.0], abs=1e-5)
    eccentric, heavy, warps = file.remarks
    assert "the elastic centre is 30 mm along y from the shear centre" in eccentric
    assert "its mass is 30 mm along y" in heavy
    assert "open, and counted free to warp" in warps
    assert results(run_frame(file))["remarks"] == file.remarks


def test_couplings_are_told_and_a_balanced_tube_has_none(tmp_path):
    """A tube wound one way twists as it is pulled, and a remark says so; a balanced one leaves nothing to say."""
    wound = '[laminates.skin]\nlayup = ["ply wwfe_carbon_1 2 mm @20"]'
    remarks = read(tmp_path, wound, LAID_TUBE).remarks
    assert any("an axial force also twists the beam" in remark for remark in remarks)
    assert read(tmp_path, SKIN, LAID_TUBE).remarks == []


def test_an_outline_closes_where_its_parts_meet(tmp_path):
    """A hat closed by a base of another metal: one cell of its own area, EA the sum over its walls."""
    beam = arm(tmp_path, HAT)
    slope = 2 * np.hypot(0.02, 0.06) + 0.08
    assert beam.properties.cell_area == pytest.approx([(0.12 + 0.08) / 2 * 0.06], rel=1e-12)
    assert pytest.approx(E * slope * 0.002 + 71e9 * 0.12 * 0.005, rel=2e-2) == beam.properties.EA
    assert {material.name for material in beam.materials} == {"alloy", "al5083_o"}


def test_a_chain_closes_where_it_comes_back_to_its_first_point(tmp_path):
    """A box of four points, the first again at the end, has the cell and stiffness of `box`."""
    chain = """
[sections.arm]
shape = "outline"
material = "alloy"
thickness = "3 mm"
[[sections.arm.parts]]
name = "ring"
points = ["48.5 -98.5 mm", "48.5 98.5 mm", "-48.5 98.5 mm", "-48.5 -98.5 mm", "48.5 -98.5 mm"]
"""
    ring, plain = arm(tmp_path, chain).properties, arm(tmp_path, BOX).properties
    assert ring.cell_area == pytest.approx(plain.cell_area, rel=1e-12)
    np.testing.assert_allclose(np.diag(ring.flexibility), np.diag(plain.flexibility), rtol=1e-9)


def test_parts_may_have_walls_of_their_own(tmp_path):
    """A box whose top and bottom are laid and whose sides are metal is `box` of those walls."""
    caps = '[sections.arm.walls]\ntop = { laminate = "skin" }\nbottom = { laminate = "skin" }\n'
    beam = arm(tmp_path, SKIN, BOX, caps)
    skin, side = (
        next(w for w in beam.solved.section.walls if (w.laminate is None) == metal) for metal in (0, 1)
    )
    walls = [side, skin, side, skin]
    direct = properties(box(0.1, 0.2, walls, measured="outside"))
    np.testing.assert_allclose(beam.properties.flexibility, direct.flexibility, rtol=1e-12, atol=1e-22)


def test_a_shape_turned_by_a_quarter_exchanges_its_axes(tmp_path):
    """EIy and EIz change places under angle = 90 deg."""
    beam, turned = arm(tmp_path, BOX).properties, arm(tmp_path, BOX, 'angle = "90 deg"').properties
    assert (turned.EIy, turned.EIz) == pytest.approx((beam.EIz, beam.EIy), rel=1e-9)


def test_a_section_of_one_metal_expands_as_it(tmp_path):
    """The material's expansion, unless the section gives its own; laminates have none of their own."""
    assert arm(tmp_path, TUBE).expansion == 23e-6
    assert arm(tmp_path, TUBE, 'expansion = "1e-6 1/K"').expansion == 1e-6
    assert arm(tmp_path, SKIN, LAID_TUBE).expansion == 0.0


FAULTS = {
    "crosses itself": (
        (HAT.replace('"40 60 mm", "-40 60 mm"', '"-40 60 mm", "40 60 mm"'),),
        "sections: arm: crosses itself at (0, 0.036) m; reorder its points, or give the walls a common point",
    ),
    "walls that do not meet": (
        (HAT.replace('"-60 0 mm", "60 0 mm"', '"-60 -9 mm", "60 -9 mm"'),),
        "sections: arm: falls into 2 pieces, one of them at (-0.06, -0.009) m; let the walls meet",
    ),
    "wall that ends on another": (
        (HAT.replace('"-60 0 mm", "60 0 mm"', '"-60 0 mm", "0 60 mm"'),),
        "sections: arm: has a wall that touches another at (0, 0.06) m without a joint; make that a point",
    ),
    "negative thickness": (
        (TUBE.replace('"2 mm"', '"-2 mm"'),),
        "sections: arm: thickness: '-2 mm' is too small; give more than 0 m",
    ),
    "wall without end": (
        (TUBE.replace('"2 mm"', '"150 mm"'),),
        "sections: arm: has a diameter of 0.05 m over walls of 0.15 m; give a shape larger than its wall",
    ),
    "no wall": (
        (TUBE.replace('material = "alloy"\nthickness = "2 mm"\n', ""),),
        "sections: arm: has no wall for its wall; name a laminate, or a material with its thickness",
    ),
    "material without thickness": (
        (TUBE.replace('thickness = "2 mm"\n', ""),),
        "sections: arm: has no thickness; give a material with its thickness, or a laminate",
    ),
    "two walls": (
        (SKIN, TUBE + 'laminate = "skin"\n'),
        "sections: arm: has a laminate and a material or thickness; give a laminate, or a material",
    ),
    "unknown laminate": (
        (SKIN, LAID_TUBE.replace('"skin"', '"skim"')),
        "sections: arm: laminate: laminate 'skim' does not exist; did you mean 'skin'?",
    ),
    "unknown material": (
        (TUBE.replace('"alloy"', '"aloy"'),),
        "sections: arm: material: material 'aloy' does not exist; did you mean 'alloy'?",
    ),
    "unknown part": (
        (BOX, '[sections.arm.walls]\ntopp = { material = "alloy", thickness = "2 mm" }'),
        "sections: arm: walls: topp: key 'topp' is not known here; did you mean 'top'?",
    ),
    "unknown shape": (
        (TUBE.replace('"thin tube"', '"thin tub"'),),
        "sections: arm: has an unknown shape; use one of round, tube, rectangle, box, thin tube",
    ),
    "unknown cloth": (
        (SKIN.replace("2x uni", "2x unni"), LAID_TUBE),
        "laminates: skin: layup[1]: no cloth is called 'unni'; did you mean 'uni'?",
    ),
    "unknown fibre": (
        (SKIN.replace('"carbon_sm"', '"carbon_sn"'), LAID_TUBE),
        "laminates: skin: fibre: no fibre is called 'carbon_sn'; use one of carbon_im, carbon_sm",
    ),
    "unknown resin": (
        (SKIN.replace('"epoxy"', '"epoxi"'), LAID_TUBE),
        "laminates: skin: resin: no resin is called 'epoxi'; did you mean 'epoxy'?",
    ),
    "unknown process": (
        (SKIN.replace('"infused"', '"infusd"'), LAID_TUBE),
        "laminates: skin: process: no process is called 'infusd'; did you mean 'infused'?",
    ),
    "unknown ply": (
        ('[laminates.skin]\nplies = [{ material = "wwfe_carbon_9", thickness = "1 mm" }]', LAID_TUBE),
        "laminates: skin: plies[1]: material: no ply is called 'wwfe_carbon_9'; use one of ",
    ),
    "unknown knock-down": (
        (SKIN + 'knockdowns = ["wett"]\n', LAID_TUBE),
        "laminates: skin: knockdowns: no knock-down is called 'wett'; did you mean 'wet'? use one of",
    ),
    "impossible fraction": (
        (SKIN.replace('process = "infused"', "fibre_volume = 1.2"), LAID_TUBE),
        "laminates: skin: fibre_volume: a fraction of 1.2 is impossible; give one between 0 and 1",
    ),
    "fraction beyond packing": (
        (SKIN.replace('process = "infused"', "fibre_volume = 0.95"), LAID_TUBE),
        "laminates: skin: '2x uni 300 @0': fibre_volume: a fibre volume fraction of 0.95 is impossible",
    ),
    "both fractions": (
        (SKIN.replace('process = "infused"', "fibre_volume = 0.5\nfibre_weight = 0.6"), LAID_TUBE),
        "laminates: skin: has both fibre_volume and fibre_weight; give one of them",
    ),
    "no layers": (
        ('[laminates.skin]\nfibre = "e_glass"', LAID_TUBE),
        "laminates: skin: has neither layup nor plies; give one of them",
    ),
    "fibre beside plies": (
        (
            '[laminates.skin]\nfibre = "e_glass"\nplies = [{ material = "foam80", thickness = "1 mm" }]',
            LAID_TUBE,
        ),
        "laminates: skin: is given ply by ply and has fibre too; leave that out",
    ),
    "ply of no thickness": (
        ('[laminates.skin]\nplies = [{ material = "foam80", thickness = "0 mm" }]', LAID_TUBE),
        "laminates: skin: plies[1]: thickness: '0 mm' is too small; give more than 0 m",
    ),
    "impossible layer": (
        (
            '[layers.odd]\nE1 = "10 GPa"\nE2 = "10 GPa"\nnu12 = 1.5\nG12 = "4 GPa"\ndensity = "1500 kg/m**3"',
            TUBE,
        ),
        "layers: layer odd: nu12 is 1.5; energy stays positive only within ±1",
    ),
    "wall beyond its strengths": (
        (TUBE.replace('"alloy"', '"al6082_t6_thin"').replace('"2 mm"', '"8 mm"'),),
        "sections: arm: thickness: 8 mm of al6082_t6_thin, whose strengths are stated up to 5 mm; take a",
    ),
    "principal axes askew": (
        (BOX, 'angle = "20 deg"'),
        "sections: arm: has its principal axes turned by 20° from y and z, so that it bends askew; turn it",
    ),
    "there and back": (
        (HAT.replace('["-60 0 mm", "60 0 mm"]', '["-60 0 mm", "60 0 mm", "-60 0 mm"]'),),
        "sections: arm: has two walls between the same two points; keep one, as thick as both",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_one_sentence_with_file_key_and_cure(tmp_path, name):
    """What cannot be built is refused in one line that names file and key, what is wrong, and the cure."""
    parts, words = FAULTS[name]
    with pytest.raises(InputFaults) as trouble:
        read(tmp_path, *parts)
    assert trouble.value.exit_status == 2
    (line,) = str(trouble.value).split("\n")
    assert line.startswith(f"{tmp_path / 'arm.toml'}: {words}")


def test_a_beam_of_thin_walls_takes_its_material_from_them(tmp_path):
    """A material beside the walls' own is refused, and one that is left out where it is needed is missed."""
    cases = {
        (TUBE, 'section = "arm"\nmaterial = "alloy"'): "material: is given beside that of the walls of 'arm'",
        (
            '[sections.arm]\nshape = "round"\ndiameter = "9 mm"',
            'section = "arm"',
        ): "material: 'material' is missing",
    }
    for (section, beam), words in cases.items():
        path = tmp_path / "arm.toml"
        path.write_text(HEAD + section + TAIL.replace('section = "arm"', beam), encoding="utf-8")
        with pytest.raises(InputFaults, match=words):
            read_frame_file(path)


def test_check_says_every_fault_of_sections_at_once(tmp_path):
    """Two laminates and a section at fault, and a node that does not exist: four lines, exit status 2; a section
    that only follows from a laminate's fault adds none.
    """
    path = tmp_path / "arm.toml"
    other = SKIN.replace("laminates.skin", "laminates.deck").replace("2x uni", "2x unni")
    crossed = HAT.replace("sections.arm", "sections.hat").replace(
        '"40 60 mm", "-40 60', '"-40 60 mm", "40 60'
    )
    tail = TAIL.replace('node = "tip"', 'node = "tap"', 1)
    text = HEAD + SKIN.replace('"epoxy"', '"epoxi"') + other + LAID_TUBE + crossed + tail
    path.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "cases.cli.commands", "check", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert len(done.stderr.strip().split("\n")) == 4, done.stderr
    assert "Traceback" not in done.stderr


def test_the_schema_knows_laminates_and_every_thin_shape():
    """The JSON Schema of a frame file names the lay-up's key and each shape."""
    text = str(FrameFile.model_json_schema())
    for word in ("layup", "thin tube", "thin box", "oval", "'D'", "channel", "'I'", "outline"):
        assert word in text
