"""Boats by outline, laminate and section: the same frame as by stiffness, what is told of it, and what is refused."""

import re
import subprocess
import sys
import tomllib

import numpy as np
import pytest

from cases.input.boat_file import BoatFile, read_boat_file
from cases.report.figures.section_figures import section_jobs
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.sections import Wall, properties, round_tube
from models.boat.boat import Boat
from models.boat.bows import _outlined
from models.boat.hull_section import Hatch, HullStation, HullWalls, hull_section
from models.boat.outline import middle_of_walls
from models.response.front_end import build
from tests.models.boats import FILES, example_boat, load, racking, solved, springs, tables, validated

ALLOY = {"E": "70 GPa", "nu": 0.3, "density": "2700 kg/m**3"}
SIDE = {"material": "alloy", "thickness": "5 mm"}
WALL = Wall.isotropic(70e9, 5e-3, nu=0.3, density=2700.0)
STATIONS = [
    {"at": "0 m", "keel": "0 -0.1 m", "chines": ["0.5 0.2 m"], "gunwale": "0.7 1.5 m", "mass": "10 kg/m"},
    {"at": "4 m", "keel": "0 0.1 m", "chines": ["0.3 0.3 m"], "gunwale": "0.4 1.4 m", "mass": "6 kg/m"},
]
BY_STIFFNESS = (
    {"at": "4 m"} | dict.fromkeys(("EI_vertical", "EI_lateral", "GJ"), "9 MN*m**2") | {"EA": "9 MN"}
)
HATCH = {"at": "1 m", "length": "0.6 m", "width": "0.5 m"}
TUBE = {"shape": "thin tube", "diameter": "200 mm", "material": "alloy", "thickness": "6 mm"}


def outlined(stations=STATIONS, hatches=(), section=TUBE, **bows):
    """Tables of the plain boat with its bows by outline and its crossbeam by section."""
    plain = tables(length=4.0, station=3.5, inboard=0.4)
    walls = {"bottom": SIDE, "topside": SIDE, "deck": SIDE}
    hull = {"spacing": "6 m", "inboard": "0.4 m", "walls": walls, "stations": stations, "hatches": [*hatches]}
    beam = {"station": "3.5 m", "height": "1.2 m", "section": section}
    return plain | {"materials": {"alloy": ALLOY}, "bows": hull | bows, "crossbeam": beam}


def boat(**keys):
    """The boat of `outlined`, without a fault."""
    made = validated(Boat, outlined(**keys))
    assert [*made.faults()] == []
    return made


def test_an_outline_by_the_outside_is_that_of_the_middle_moved_out():
    """Given by its outside, each station has the section of the walls' middle; entered as the middle it is stiffer in twist."""
    outside, middle = boat(outline="outside"), boat()
    walls = HullWalls((WALL, WALL), WALL)
    hulls = [
        HullStation(0.0, (0, 0.5, 0.7), (-0.1, 0.2, 1.5)),
        HullStation(4.0, (0, 0.3, 0.4), (0.1, 0.3, 1.4)),
    ]
    for station, hull in zip(outside.bows.stations, hulls, strict=True):
        assert (
            pytest.approx(properties(hull_section(middle_of_walls(hull, walls), walls)).GJ, rel=1e-9)
            == station.GJ
        )
    assert all(o.GJ < m.GJ for o, m in zip(outside.bows.stations, middle.bows.stations, strict=True))


def section_at(x, width=0.0):
    """The hull of STATIONS at x, by hand."""
    share = x / 4.0

    def between(a, b):
        return a + share * (b - a)

    station = HullStation(
        x,
        (0, between(0.5, 0.3), between(0.7, 0.4)),
        (between(-0.1, 0.1), between(0.2, 0.3), between(1.5, 1.4)),
    )
    return properties(hull_section(station, HullWalls((WALL, WALL), WALL), hatch_width=width))


def test_a_station_by_outline_has_the_stiffness_of_its_section():
    """EI, GJ, EA, GA and mass of every station are those of the hull section, mass with what is built in."""
    for station, outfit_mass in zip(boat().bows.stations, (10, 6), strict=True):
        beam = section_at(station.at)
        assert (station.EI_vertical, station.EI_lateral) == pytest.approx((beam.EIy, beam.EIz), rel=1e-9)
        assert pytest.approx((beam.GJ, beam.EA), rel=1e-9) == (station.GJ, station.EA)
        assert (station.GA_vertical, station.GA_lateral) == pytest.approx((beam.GAz, beam.GAy), rel=1e-9)
        assert station.mass == pytest.approx(beam.mass + outfit_mass, rel=1e-9)


STIFFER = {"material": "alloy", "thickness": "6 mm"}
FURTHER = [STATIONS[0], STATIONS[1] | {"mass": "7 kg/m"}]


@pytest.mark.parametrize(
    "changed",
    [
        {"walls": {"bottom": STIFFER, "topside": SIDE, "deck": SIDE}},
        {"stations": FURTHER},
        {"hatches": [HATCH]},
        {"outline": "outside"},
        {"inboard": "0.45 m"},
    ],
)
def test_bows_are_kept_until_something_of_theirs_changes(changed):
    """The same hull in another boat is worked out once; with a wall, station, hatch or place changed it is another hull."""
    first = boat()
    assert boat(section=TUBE | {"thickness": "7 mm"}).bows is first.bows
    other = boat(**changed)
    assert other.bows is not first.bows
    assert other.bows != first.bows or other.bows.sections.hatches
    fresh = other.bows.sections
    _outlined.cache_clear()
    again = boat(**changed).bows
    assert again.stations == other.bows.stations
    assert again.sections is not fresh
    np.testing.assert_array_equal(again.sections.stiffness.GJ, fresh.stiffness.GJ)


def test_a_metal_of_the_same_name_is_another():
    """Materials count by what they are: a softer alloy under the same name bends its bows more."""
    soft = tables_with_alloy(ALLOY | {"E": "60 GPa"})
    stiff = tables_with_alloy(ALLOY)
    ratio = [
        a.EI_vertical / b.EI_vertical for a, b in zip(soft.bows.stations, stiff.bows.stations, strict=True)
    ]
    assert ratio == pytest.approx([60 / 70] * len(ratio))


def tables_with_alloy(alloy):
    """The boat with that metal."""
    return validated(Boat, outlined() | {"materials": {"alloy": alloy}})


def test_the_axis_stands_at_the_mean_of_the_elastic_centres():
    """Straight and level at ∫z dx/L of the centres, trapezoid between stations; and that is said."""
    made = boat()
    centres = [section_at(x).centre[1] for x in (0.0, 4.0)]
    assert made.bows.height == pytest.approx(np.mean(centres), rel=1e-12)
    root = build(made, None).frame
    assert root.nodes[root.node_index["port root"]] == pytest.approx([0, 3, np.mean(centres)])
    assert f"axis is straight, at {np.mean(centres):.3g} m" in made.derived.remarks[0]


def test_entered_and_computed_stiffness_make_the_same_boat():
    """A boat whose stations and crossbeam are entered as computed answers every load alike."""
    made = boat(hatches=[HATCH])
    station_keys = ("EI_vertical", "EI_lateral", "GJ", "EA", "GA_vertical", "GA_lateral")
    units = {"at": "m", "mass": "kg/m", "gyration": "m"}
    units |= {key: "N*m**2" if key[0] != "E" or key[1] == "I" else "N" for key in station_keys}
    units |= {"GA_vertical": "N", "GA_lateral": "N", "GJ": "N*m**2"}

    def written(beam, *keys):
        return {key: f"{getattr(beam, key)!r} {units[key]}" for key in (*station_keys, "mass", *keys)}

    direct = outlined()
    direct["bows"] = {
        "spacing": "6 m",
        "inboard": "0.4 m",
        "height": f"{made.bows.height!r} m",
        "stations": [written(station, "at", "gyration") for station in made.bows.stations],
    }
    direct["crossbeam"] = {"station": "3.5 m", "height": "1.2 m"} | written(made.crossbeam)
    entered = validated(Boat, direct)
    assert [*entered.faults()] == []
    cases = racking(1e4), [load("beam centre", (-1e3, 0, 5e3), (0, 2e3, 0))]
    one, other = (solved(each, springs(pitch=5e6, roll=4e6), *cases)[1] for each in (made, entered))
    np.testing.assert_allclose(one.displacement, other.displacement, rtol=1e-9, atol=1e-15)


def test_a_hatch_is_a_step_and_lies_between_its_two_bounds():
    """Two stations at each end; GJ inside above that free to warp, below the closed cell's; "free" is that bound."""
    held, free = (boat(hatches=[HATCH | {"warping": way}]) for way in ("held", "free"))
    assert [station.at for station in held.bows.stations] == [0, 1, 1, 1.6, 1.6, 4]
    for i in (2, 3):
        cut, whole = section_at(held.bows.stations[i].at, 0.5), section_at(held.bows.stations[i].at)
        assert cut.GJ < held.bows.stations[i].GJ < whole.GJ
        assert pytest.approx(cut.GJ, rel=1e-9) == free.bows.stations[i].GJ
        assert held.bows.stations[i].EI_vertical == pytest.approx(cut.EIy, rel=1e-9)
    assert any("warping restrained" in remark for remark in held.derived.remarks)
    assert any("counted free to warp" in remark for remark in free.derived.remarks)


def test_a_bow_twists_by_the_sum_of_its_lengths():
    """Torque at the stem twists a cantilever bow by ∫T dx/GJ, over whole, cut and whole, GJ linear in each."""
    made = boat(hatches=[HATCH | {"warping": "free"}])
    front, answer = solved(made, None, [load("port stem", (0, 0, 0), (1e3, 0, 0))], refine=20)
    at, GJ = (np.array([getattr(station, key) for station in made.bows.stations]) for key in ("at", "GJ"))
    twist = sum(
        1e3 * (b - a) * (np.log(q / p) / (q - p) if p != q else 1 / p)
        for a, b, p, q in zip(at, at[1:], GJ, GJ[1:], strict=False)
        if b > a
    )
    stem = front.frame.node_index["port stem"]
    assert answer.displacement[0, stem, 3] == pytest.approx(twist, rel=1e-4)


def test_two_stations_at_one_place_are_a_step_for_entered_stiffness_too():
    """GJ falls to a tenth at 2 m: the bow twists by T (2/GJ + 20/GJ)."""
    given = tables(length=4.0)
    first, last = given["bows"]["stations"]
    soft = last | {"GJ": "0.6e6 N*m**2"}
    given["bows"]["stations"] = [first, first | {"at": "2 m"}, soft | {"at": "2 m"}, soft]
    front, answer = solved(validated(Boat, given), None, [load("port hull at beam", (0, 0, 0), (1e3, 0, 0))])
    stem = front.frame.node_index["port hull at beam"]
    assert answer.displacement[0, stem, 3] == pytest.approx(1e3 * (2 / 6e6 + 2 / 0.6e6), rel=1e-9)


def test_a_crossbeam_by_section_is_its_tube():
    """EI, GJ, EA, GA, mass and rotary inertia of the tube; z up, so that a tall box is stiff upright."""
    beam, tube = (
        boat().crossbeam,
        properties(round_tube(0.2, Wall.isotropic(70e9, 6e-3, nu=0.3, density=2700.0), measured="outside")),
    )
    assert (beam.EI_vertical, beam.GJ, beam.EA, beam.mass) == pytest.approx(
        (tube.EIy, tube.GJ, tube.EA, tube.mass)
    )
    frame = build(boat(), springs()).frame
    inertia = frame.line_inertia[frame.members["crossbeam"].elements]
    assert inertia == pytest.approx(np.tile(beam.thin_walled.inertia, (len(inertia), 1)))
    tall = {
        "shape": "thin box",
        "width": "100 mm",
        "height": "200 mm",
        "material": "alloy",
        "thickness": "4 mm",
    }
    made = boat(section=tall).crossbeam
    assert made.EI_vertical > 2 * made.EI_lateral


def test_what_is_fixed_along_a_beam_adds_to_its_walls_mass():
    """`mass` beside a section is what its walls are not."""
    given = outlined()
    given["crossbeam"]["mass"] = "3 kg/m"
    bare = boat().crossbeam
    assert validated(Boat, given).crossbeam.mass == pytest.approx(bare.mass + 3.0)


def test_a_longeron_may_be_given_by_its_section():
    """The longeron takes the same tables; its tube's stiffness stands in the boat."""
    given = outlined() | {"longeron": {"height_at_root": "1.2 m", "section": TUBE | {"diameter": "120 mm"}}}
    made = validated(Boat, given)
    assert made.longeron.EI_vertical == pytest.approx(made.derived.longeron.properties.EIy)
    assert made.derived.longeron.name == "longeron"


def test_walls_that_couple_and_centres_that_part_are_told():
    """A wound tube twists as it bends or is pulled; a D's elastic centre is not its shear centre: both are remarks."""
    given = outlined(section={"shape": "thin tube", "diameter": "200 mm", "laminate": "wound"})
    given["laminates"] = {"wound": {"layup": ["ply wwfe_carbon_1 4 mm @25"]}}
    assert any("also twists the beam" in remark for remark in validated(Boat, given).derived.remarks)
    nose = {"shape": "D", "width": "180 mm", "height": "150 mm", "material": "alloy", "thickness": "5 mm"}
    assert any("from the shear centre" in remark for remark in boat(section=nose).derived.remarks)


FAULTS = {
    "outline beside stiffness": (
        {"stations": [BY_STIFFNESS | {"at": "0 m"}, BY_STIFFNESS], "outline": "outside"},
        "bows: has outline beside stations of stiffness; take outline out, or give keel and gunwale",
    ),
    "unknown material": (
        {"section": TUBE | {"material": "aloy"}},
        "crossbeam: material: material 'aloy' does not exist; did you mean 'alloy'?",
    ),
    "unknown wall of a strip": (
        {"walls": {"bottom": {"laminate": "hul"}, "topside": SIDE, "deck": SIDE}},
        "bows: walls: bottom: laminate: laminate 'hul' does not exist; did you mean 'hull'?",
    ),
    "no bottom": (
        {"walls": {"topside": SIDE, "deck": SIDE}},
        "bows: walls: bottom: has no wall; write bottom = { laminate",
    ),
    "no deck": ({"walls": {"bottom": SIDE, "topside": SIDE}}, "bows: walls: deck: 'deck' is missing; add deck = …"),
    "height beside outlines": (
        {"height": "0.8 m"},
        "bows: has a height beside outlines, from which it follows; take height out",
    ),
    "hull that crosses itself": (
        {"stations": [STATIONS[0] | {"chines": ["0.5 1.7 m"]}, STATIONS[1]]},
        "bows: station at x = 0 m: has heights that do not rise; list them from the keel up",
    ),
    "negative half-breadth": (
        {"stations": [STATIONS[0], STATIONS[1] | {"gunwale": "-0.4 1.4 m"}]},
        "bows: station at x = 4 m: has a half-breadth below zero, or of zero above the keel; give positive",
    ),
    "uneven chines": (
        {"stations": [STATIONS[0], STATIONS[1] | {"chines": []}]},
        "bows: stations: differ in their number of chines; give the same places at each",
    ),
    "hatch beyond the stem": (
        {"hatches": [HATCH | {"at": "3.8 m"}]},
        "bows: hatch at x = 3.8 m: reaches from 3.8 to 4.4 m, beyond the stations; keep it between",
    ),
    "hatch wider than the deck": (
        {"hatches": [HATCH | {"width": "2 m"}]},
        "bows: hull at x = 1 m, cut: has a hatch of 2 m in a deck of 1.25 m; give a hatch narrower",
    ),
    "negative thickness": (
        {"section": TUBE | {"thickness": "-6 mm"}},
        "crossbeam: section: thickness: '-6 mm' is too small; give more than 0 m",
    ),
    "beam askew": (
        {
            "section": {
                "shape": "thin box", "width": "90 mm", "height": "200 mm", "angle": "15 deg",
                "material": "alloy", "thickness": "5 mm",
            }
        },
        "crossbeam: has its principal axes turned by 15° from y and z, so that it bends askew; turn it by",
    ),
    "unknown shape": (
        {"section": TUBE | {"shape": "tub"}},
        "crossbeam: section: has an unknown shape; use one of thin tube, thin box, oval, D, channel",
    ),
    "stations of two kinds": (
        {"stations": [STATIONS[0], BY_STIFFNESS]},
        "bows: some stations have an outline and some a stiffness; give all of them one way",
    ),
}  # fmt: skip


def told(folder, given):
    """What is wrong with the boat of these tables written as a file, without the folder's name."""
    path = folder / "mine.toml"
    cases = [{"name": "racking", "kind": "racking", "force": "10 kN"}]
    hull = {"hull": {"layup": ["db 800", "core foam80 20 mm", "db 800"]}}
    path.write_text("\n".join(toml({"laminates": hull} | given | {"cases": cases})), encoding="utf-8")
    with pytest.raises(InputFaults) as trouble:
        read_boat_file(path)
    assert trouble.value.exit_status == 2
    return [line.removeprefix(f"{path}: ") for line in str(trouble.value).split("\n")]


def toml(table):
    """Lines of a TOML file: every value of the top table inline."""

    def inline(value):
        if isinstance(value, dict):
            return "{" + ", ".join(f"{key} = {inline(each)}" for key, each in value.items()) + "}"
        return (
            f"[{', '.join(map(inline, value))}]" if isinstance(value, list) else repr(value).replace("'", '"')
        )

    return [f"{key} = {inline(value)}" for key, value in table.items()]


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_one_sentence_with_file_key_and_cure(tmp_path, name):
    """An outline, wall or section that cannot be is refused in one line, with exit status 2."""
    keys, words = FAULTS[name]
    (line,) = told(tmp_path, outlined(**keys))
    assert line.startswith(words)


def test_faults_of_sections_do_not_hide_the_others(tmp_path):
    """A laminate, a crossbeam and a root at fault: a line each, and none for what only follows."""
    given = outlined(
        section={"shape": "thin tube", "diameter": "200 mm", "laminate": "tube"},
        hatches=[HATCH | {"at": "3.8 m"}],
    )
    laid = {"tube": {"layup": ["unni 300"]}}
    given |= {"laminates": laid, "martingale": {"EA": "30 MN", "half_span": "2 m"}}
    lines = told(tmp_path, given)
    assert [line.split(":")[0] for line in lines] == ["laminates", "bows", "martingale"]


def commented_out(start, end, *without):
    """The tables that the boat to start from comments out between two of its lines, but for some keys."""
    text = FILES["new_boat"].read_text(encoding="utf-8")
    block = text[text.index(start) : text.index(end, text.index(start) + 1)]
    lines = [re.sub("^# ?", "", line) for line in block.splitlines()]
    return tomllib.loads("\n".join(line for line in lines if line.split(" = ")[0] not in without))


def built_platform():
    """The template's tables with the platform as built that it comments out, beside its typed aft crossbeam."""
    raw = tomllib.loads(FILES["new_boat"].read_text(encoding="utf-8"))
    built = commented_out("# [platform]\n", "\n\n# Or, where no more")["platform"]
    laid = commented_out(
        "# [laminates.hull]", "\n\n# Materials of your own", "fibre_volume", "fibre_weight", "plies"
    )
    return raw | laid | {"platform": built | {"members": raw["platform"]["members"][1:]}}


def test_the_platform_as_built_that_the_template_comments_out_can_be_used():
    """A bulkhead and a skin beside the typed crossbeam: its members, and the recipe's remarks among those of the boat."""
    boat = validated(BoatFile, built_platform())
    assert [*boat.faults()] == []
    assert [one.name for one in boat.platform.members] == ["main bulkhead", "aft crossbeam"]
    assert boat.platform.remarks
    assert set(boat.platform.remarks) <= set(boat.derived.remarks)


def test_a_variant_that_moves_the_hulls_apart_builds_the_platform_anew():
    """The flanges of bulkheads are 0.05 of the clear width to each side: a wider boat has a wider platform."""
    boat = validated(
        BoatFile, built_platform() | {"variants": [{"name": "wide", "set": {"bows.spacing": "7.4 m"}}]}
    )
    wide = boat.variant(boat.variants[0]).platform
    assert wide.as_built.width == pytest.approx(boat.platform.as_built.width + 1.4)
    assert wide.members[0].EA > boat.platform.members[0].EA


def test_what_the_template_comments_out_can_be_used():
    """Its outline, walls, hatch, laminate, own materials and every shape of section make a sound boat."""
    raw = tomllib.loads(FILES["new_boat"].read_text(encoding="utf-8"))
    hull = commented_out("# [[bows.stations]]", "\n# ---- What the bows stand on")["bows"]
    stem = hull["stations"][0] | {"at": "4.2 m", "gunwale": "0.45 1.5 m", "chines": ["0.3 0.3 m"]}
    raw["bows"] = {key: raw["bows"][key] for key in ("spacing", "inboard")} | hull
    raw["bows"]["stations"].append(stem)
    raw |= commented_out(
        "# [laminates.hull]", "\n\n# Materials of your own", "fibre_volume", "fibre_weight", "plies"
    )
    raw |= commented_out("# [layers.mine]", "\n\n# Shapes for")
    shapes = commented_out("# [crossbeam.section]", "\n# [[crossbeam.section.parts]]", "laminate")[
        "crossbeam"
    ]["section"]
    parts = commented_out("# [[crossbeam.section.parts]]", "closes it")["crossbeam"]["section"]["parts"]
    walls, common = shapes.pop("walls"), {key: shapes.pop(key) for key in ("material", "thickness", "angle")}
    plain = {key: shapes[key] for key in ("width", "height", "measured")}

    def of(*names):
        return {name: walls[name] for name in names}

    sections = [
        {"shape": "thin tube", "diameter": "200 mm", "laminate": "hull"},
        {"shape": "thin box"} | common | plain | {"corner_radius": "15 mm"},
        {"shape": "thin box", "walls": of("top", "bottom", "left", "right")} | common | plain,
        {"shape": "oval"} | common | plain,
        {"shape": "D", "walls": of("nose", "web")} | common | plain,
        {"shape": "channel"} | common | plain,
        {"shape": "I", "walls": of("flange", "web")} | common | plain,
        {"shape": "outline", "parts": parts} | common,
    ]
    place = {key: raw["crossbeam"][key] for key in ("station", "height")}
    for section in sections:
        made = checked(raw | {"crossbeam": place | {"section": section}}, BoatFile, "template")
        assert made.derived.bows is not None, section
        assert made.derived.crossbeam is not None, section


@pytest.mark.parametrize("name", ["demo", "slender", "short_bowed"])
def test_the_boats_of_the_house_compute_their_stiffness(name):
    """Bows and crossbeam come of outline and laminate; a balanced lay-up couples nothing; the axis is near mid-depth."""
    derived = example_boat(name).derived
    assert derived.bows is not None
    assert derived.crossbeam is not None
    assert not any("coupling out" in remark for remark in derived.remarks)
    section = derived.bows.stiffness.solved[0].section
    low, high = section.points[:, 1].min(), section.points[:, 1].max()
    assert low + 0.35 * (high - low) < derived.bows.axis < low + 0.65 * (high - low)


def test_every_section_has_its_picture():
    """One for crossbeam and longeron and one for each station of the bows, names all different."""
    pictures = [job() for job in section_jobs(example_boat("demo"))]
    names = [one.name for one in pictures]
    assert len(names) == len(set(names)) == 2 + len(example_boat("demo").bows.stations)
    assert all(one.figure.get_axes() for one in pictures)
    assert list(section_jobs(example_boat("new_boat"))) == []


def test_check_and_schema_know_sections(tmp_path):
    """`forebeam check` passes a boat by outline and tells a fault with status 2; the schema names the keys."""
    command = [sys.executable, "-m", "cases.cli.commands"]
    path = tmp_path / "mine.toml"
    text = FILES["short_bowed"].read_text(encoding="utf-8")
    for wanted, words in ((text, 0), (text.replace('"woven 800"', '"wooven 800"', 1), 2)):
        path.write_text(wanted, encoding="utf-8")
        done = subprocess.run([*command, "check", str(path)], capture_output=True, text=True, check=False)
        assert done.returncode == words, done.stderr
    assert "no cloth is called 'wooven'; did you mean 'woven'?" in done.stderr
    schema = subprocess.run([*command, "schema", "boat"], capture_output=True, text=True, check=True).stdout
    for key in ('"gunwale"', '"hatches"', '"layup"', '"section"', '"thin tube"'):
        assert key in schema


def test_a_hatch_by_hand_is_the_tables_hatch():
    """The table's hatch is held unless it says otherwise; the mechanics' own default is the free one."""
    held = boat(hatches=[HATCH]).bows.hatches[0].hatch()
    assert held == Hatch(1.0, 0.6, 0.5, "held")
    assert Hatch(1.0, 0.6, 0.5).warping == "free"
