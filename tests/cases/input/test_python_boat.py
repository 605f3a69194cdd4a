"""A boat that Python constructs in SI is the boat of its file; what a variant leaves alone is not read again."""

import pytest
from pydantic import ValidationError

from cases.analyses.analysis import analyse
from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from cases.input.variants import Variant
from cases.loads.racking import Racking
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.laminates import LaminateMaterials, lay_up
from models.boat.boat import Boat, Bows, Crossbeam, CrossbeamBySection, Station, Striker
from models.joints.rigid import RigidJoint
from models.joints.sprung import SprungJoint
from models.tables.context import BoatContext
from models.tables.shared import LayupTable
from tests.models.boats import example_boat

BEAM = {"EI_vertical": 1e6, "EI_lateral": 2e6, "GJ": 5e5, "EA": 1e8}
BEAM_TEXT = {"EI_vertical": "1 MN*m**2", "EI_lateral": "2 MN*m**2", "GJ": "500 kN*m**2", "EA": "100 MN"}
TEXT = {
    "title": "small",
    "bows": {
        "spacing": "5 m",
        "inboard": "40 cm",
        "stations": [{"at": "0 m"} | BEAM_TEXT, {"at": "4 m"} | BEAM_TEXT],
    },
    "crossbeam": {"station": "3.5 m", "height": "30 cm"} | BEAM_TEXT,
    "striker": {"height": "500 mm", "EA": "50 MN", "EI": "20 kN*m**2"},
    "joints": [
        {"name": "rubber", "kind": "sprung", "pitch": "200 kN*m/rad"},
        {"name": "stiff", "kind": "rigid"},
    ],
    "cases": [{"name": "racking", "kind": "racking", "force": "4 kN"}],
}


def small(**more):
    """The same in SI."""
    return BoatFile(
        title="small",
        bows=Bows(spacing=5.0, inboard=0.4, stations=[Station(at=0.0, **BEAM), Station(at=4.0, **BEAM)]),
        crossbeam=Crossbeam(station=3.5, height=0.3, **BEAM),
        striker=Striker(height=0.5, EA=5e7, EI=2e4),
        joints=[SprungJoint(name="rubber", pitch=2e5), RigidJoint(name="stiff")],
        cases=[Racking(name="racking", force=4e3)],
        **more,
    )


def test_python_and_file_make_the_same_boat():
    """Every number of the dump, the boat itself, and what is computed of it."""
    read = checked(TEXT, BoatFile, "small.toml")
    assert small().model_dump(mode="json") == read.model_dump(mode="json")
    bare = {key: value for key, value in TEXT.items() if key != "cases"}
    assert Boat(**{key: getattr(small(), key) for key in bare}) == checked(bare, Boat, "small.toml")
    one, other = run_study(small()), run_study(read)
    for mine, its in zip(one.joints, other.joints, strict=True):
        assert (mine.cases[0].joint_load == its.cases[0].joint_load).all()
    assert not list(small().faults())


def test_a_boat_is_frozen():
    """Neither it nor a table of it changes."""
    for table, key in ((small(), "title"), (small().bows, "spacing"), (small().crossbeam, "GJ")):
        with pytest.raises(ValidationError, match="frozen"):
            setattr(table, key, getattr(table, key))


def test_a_section_that_cannot_be_built_leaves_the_other_faults():
    """In a file it is one fault of several; from Python it is raised."""
    section = {"shape": "thin tube", "diameter": "200 mm", "laminate": "none such"}
    by_section = {"station": "9 m", "height": "30 cm", "section": section}
    with pytest.raises(InputFaults) as trouble:
        checked(TEXT | {"crossbeam": by_section, "joints": TEXT["joints"][:1] * 2}, BoatFile, "small.toml")
    said = str(trouble.value)
    for part in ("laminate 'none such' does not exist", "joints 'rubber'", "9 m is ahead of the stems"):
        assert part in said
    assert len(trouble.value.faults) == 3
    with pytest.raises(InputFaults, match="laminate 'none such' does not exist"):
        Boat(
            title="small",
            bows=small().bows,
            crossbeam=CrossbeamBySection(station=3.5, height=0.3, section=section),
            joints=small().joints,
        )


def test_a_beam_that_could_not_be_built_is_never_analysed():
    """Its place is taken by an outline while a file's faults are gathered, which is refused before anything is solved."""
    section = {"shape": "thin tube", "diameter": "300 mm", "laminate": "none such"}
    raw = TEXT | {"crossbeam": {"station": "3.5 m", "height": "30 cm", "section": section}}
    made = BoatFile.model_validate(raw, context=BoatContext(raw))
    with pytest.raises(InputFaults, match="laminate 'none such' does not exist"):
        analyse(made)
    with pytest.raises(InputFaults, match="laminate 'none such' does not exist"):
        run_study(made)


def test_a_laminate_of_python_is_a_layup():
    """Where a file names a laminate, Python gives one."""
    laminate = lay_up(["2x db 600 @45"], LaminateMaterials(), "skin")
    assert LayupTable.model_validate(laminate).built is laminate


def test_a_variant_reads_again_only_what_it_changes():
    """Laminates, sections and tables that it leaves alone are the same objects; what it changes is new."""
    file = example_boat("demo")
    changed = next(one for one in file.variants if not {"laminates", "layers", "materials"} & set(one.set))
    made = file.variant(changed)
    kept = [key for key in file.raw if made.raw.get(key) == file.raw[key] and key not in ("title", "note")]
    assert kept
    assert len(kept) < len(file.raw)
    for key in kept:
        mine, its = getattr(made, key), getattr(file, key)
        pairs = zip(mine, its, strict=True) if isinstance(its, list) else [(mine, its)]
        assert all(one is other for one, other in pairs if not isinstance(other, dict)), key
    assert {"bows", "joints"} & set(kept)
    assert made.raw != file.raw


def test_a_computed_load_beyond_its_bound_is_a_fault():
    """A mass and an acceleration within their bounds may make a force that no boat bears: a fault of the case."""
    weight = {
        "name": "anchor",
        "kind": "weight",
        "acceleration": "0 0 -900 m/s**2",
        "masses": [{"place": "beam centre", "mass": "500 t"}],
    }
    with pytest.raises(InputFaults, match=r"cases 'anchor': its force: .* is too large; give at most 100 MN"):
        checked(TEXT | {"cases": [weight]}, BoatFile, "small.toml")


def test_a_boat_of_python_has_no_variants():
    """A variant changes the words of a file: of a boat without one that is said, with the cure."""
    (trouble,) = small(
        variants=[Variant(name="soft", set={"joints.rubber.pitch": "1 kN*m/rad"})]
    ).own_faults()
    assert str(trouble).startswith("variants: change the tables of a file")
    assert "a boat of its own" in trouble.cure


def test_a_boat_is_shown_in_one_line():
    """Its repr names it and its joints."""
    assert repr(small()) == "BoatFile('small', joints: rubber, stiff)"
