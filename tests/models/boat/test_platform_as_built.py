"""The file's table of a platform as built: its members, its choice beside typed members, and its faults."""

import copy
from typing import Annotated

import pytest

from femcore.base.errors import InputFaults
from femcore.base.toml import Document, checked
from femcore.files.section_file import MaterialTables
from models.boat.bows import Bows, BowsTable
from models.boat.platform import Platform
from models.boat.platform_as_built import AnyPlatform, BuiltPlatform, PlatformAsBuiltTable
from models.tables.context import BoatContext, BuiltFrom

BEAM = {"EI_vertical": "10 MN*m**2", "EI_lateral": "40 MN*m**2", "GJ": "1.5 MN*m**2", "EA": "250 MN"}
WALL = {"material": "solid", "thickness": "12 mm"}


class OnBows(MaterialTables, Document):
    """As much of a boat as the platform needs."""

    bows: Annotated[Bows, BuiltFrom(BowsTable)]
    platform: AnyPlatform | None = None
    _context: BoatContext | None = None

    @classmethod
    def context(cls, raw):
        """The file's materials."""
        return BoatContext(raw)

    def model_post_init(self, context, /):
        """What could not be built."""
        self._context = context

    def faults(self):
        """Of the platform."""
        return iter(self._context.faults if self._context else ())


def bulkhead(name, station, **keys):
    """A bulkhead between 0.6 and 1.4 m."""
    return {"name": name, "station": station, "bottom": "0.6 m", "top": "1.4 m", "wall": WALL} | keys


FILE = {
    "materials": {"solid": {"E": "10 GPa", "nu": 0.3}},
    "bows": {
        "spacing": "6.4 m",
        "inboard": "0.4 m",
        "stations": [
            {"at": at, **BEAM, "EI_vertical": "120 MN*m**2", "GJ": "40 MN*m**2"} for at in ("0 m", "4 m")
        ],
    },
    "platform": {
        "inboard": "0.8 m",
        "hull_bottom": "0 m",
        "hull_deck": "1.6 m",
        "bulkheads": [
            bulkhead("main bulkhead", "0 m"),
            bulkhead("aft bulkhead", "-4.6 m", doors=["0.7 0.6 m"]),
        ],
        "skins": [{"height": "1.4 m", "aft": "-4.6 m", "wall": WALL | {"thickness": "6 mm"}}],
        "members": [{"name": "aft crossbeam", "station": "-6 m", "height": "1.2 m", **BEAM}],
    },
}


def read(**changes):
    """The file with its platform's keys changed, None to take one out, as a reader takes it."""
    raw = copy.deepcopy(FILE)
    raw["platform"] = {key: value for key, value in (raw["platform"] | changes).items() if value is not None}
    return checked(raw, OnBows, "boat.toml")


def test_a_file_gives_bulkheads_and_skins_and_the_boat_holds_members():
    """A member for each bulkhead, the typed crossbeam as it is, all ending at the table's inboard side."""
    platform = read().platform
    assert isinstance(platform, BuiltPlatform)
    assert [(one.name, one.station) for one in platform.members] == [
        ("main bulkhead", 0.0), ("aft bulkhead", -4.6), ("aft crossbeam", -6.0),
    ]  # fmt: skip
    assert [one.inboard for one in platform.members] == [0.8] * 3
    assert platform.members[2].EI_vertical == 10e6
    assert platform.as_built.width == pytest.approx(4.8)
    web = 10e9 * 0.012 * 0.8
    assert platform.members[0].EA == pytest.approx(web + 10e9 * 0.006 * 0.05 * 4.8)
    assert any("aft bulkhead" in remark and "+25 %" in remark for remark in platform.remarks)
    assert all(one.end_roll is None for one in platform.for_symmetric.members)


def test_python_gives_the_same_in_si():
    """The table's object, in numbers, becomes the same platform."""
    from_file = read().platform
    wall = {"material": "solid", "thickness": 0.012}
    table = PlatformAsBuiltTable(
        inboard=0.8, hull_bottom=0.0, hull_deck=1.6, members=[from_file.members[2]],
        bulkheads=[
            {"name": one.name, "station": one.station, "bottom": 0.6, "top": 1.4, "wall": wall}
            for one in from_file.members[:2]
        ],
        skins=[{"height": 1.4, "aft": -4.6, "wall": wall | {"thickness": 0.006}}],
    )  # fmt: skip
    made = table.build(BoatContext(FILE).materials.walls, read().bows)
    assert made.members == from_file.members


def test_the_hulls_spacing_reaches_the_flanges():
    """Flanges are 0.05 of the clear width, which follows from the bows' spacing."""
    wide = copy.deepcopy(FILE)
    wide["bows"]["spacing"] = "7.4 m"
    found = checked(wide, OnBows, "boat.toml").platform.members[0].EA - read().platform.members[0].EA
    assert found == pytest.approx(10e9 * 0.006 * 0.05 * 1.0)


def test_a_deck_laid_fore_and_aft_is_a_weak_flange_and_a_bulkhead_laid_athwart_a_strong_web():
    """A laminate's 0° is fore and aft in a deck, athwart in a bulkhead: fibre turned changes them opposite ways."""
    raw = copy.deepcopy(FILE)
    raw["laminates"] = {
        name: {"layup": [f"4x uni 600 {angle}"]} for name, angle in (("along", "@0"), ("across", "@90"))
    }

    def stiffness(web, deck):
        raw["platform"]["bulkheads"] = [bulkhead("main", "0 m", wall={"laminate": web})]
        raw["platform"]["skins"] = [FILE["platform"]["skins"][0] | {"wall": {"laminate": deck}}]
        return checked(raw, OnBows, "boat.toml").platform.members[0].EA

    assert stiffness("along", "along") > 2 * stiffness("across", "along")
    assert stiffness("along", "across") > stiffness("along", "along")


def test_typed_members_alone_stay_as_they_are():
    """Without bulkheads and skins the table is that of typed members."""
    raw = copy.deepcopy(FILE)
    raw["platform"] = {"members": FILE["platform"]["members"]}
    platform = checked(raw, OnBows, "boat.toml").platform
    assert type(platform) is Platform
    assert (platform.remarks, platform.twist_range, platform.for_symmetric) == ((), None, None)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bulkheads": None, "skins": FILE["platform"]["skins"] * 2}, "two skins and no bulkhead.*give the bulkheads"),
        ({"bulkheads": None, "members": None}, "each hull rolls freely"),
        ({"bulkheads": [bulkhead("b", "1 m")]}, "ahead of the main one; give 0 m"),
        ({"bulkheads": [bulkhead("b", "0 m", top="0.5 m")]}, "top is not above its bottom"),
        ({"bulkheads": [bulkhead("b", "0 m", wall={"laminate": "none"})]}, "bulkheads 'b': wall: laminate: .*'none'"),
        ({"bulkheads": [bulkhead("b", "0 m", wall={})]}, "has no wall"),
        ({"bulkheads": [bulkhead("b", "0 m", doors=["0.7 0.9 m"])]}, "is no opening in a bulkhead 0.8 m high"),
        ({"bulkheads": [bulkhead("b", "0 m"), bulkhead("b", "-4 m")]}, "of one name"),
        ({"hull_deck": "-1 m"}, "hull_deck is not above hull_bottom"),
        ({"inboard": None}, "inboard"),
        ({"skins": [FILE["platform"]["skins"][0] | {"aft": "1 m"}]}, "ends ahead of where it begins"),
        ({"skins": [FILE["platform"]["skins"][0] | {"height": "1.5 m"}]}, "is off bulkhead 'main bulkhead'"),
        ({"skins": [FILE["platform"]["skins"][0] | {"hight": "1.5 m"}]}, "hight.*height"),
        ({"inboard": "3.3 m"}, "reaches the centreline"),
    ],
)  # fmt: skip
def test_a_fault_is_a_sentence_with_its_place_and_cure(change, words):
    """What cannot be built is said in the file's words."""
    with pytest.raises(InputFaults, match=words) as caught:
        read(**change)
    assert len(caught.value.faults) == 1
    assert "boat.toml: platform" in str(caught.value)


def test_bows_at_fault_leave_their_own_fault_alone():
    """A platform whose bows cannot be read is not blamed for them."""
    raw = copy.deepcopy(FILE)
    del raw["bows"]["spacing"]
    with pytest.raises(InputFaults) as caught:
        checked(raw, OnBows, "boat.toml")
    assert ["bows" in str(fault) for fault in caught.value.faults] == [True]
