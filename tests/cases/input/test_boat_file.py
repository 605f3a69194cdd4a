"""A boat file at fault is told in sentences that name file, key and cure, all at once; a sound one read."""

import os
import shutil
import subprocess
import sys

import pytest

from cases.analyses.study import run_study
from cases.input.boat_file import read_boat_file
from femcore.base.errors import InputFault, InputFaults
from tests.models.boats import FILES, ROOT

VALID_FRAME_TEXT = FILES["new_boat"].read_text(encoding="utf-8")
PLATFORM_TEXT = VALID_FRAME_TEXT[
    VALID_FRAME_TEXT.index("[platform]\n") : VALID_FRAME_TEXT.index("# ---- The crossbeam")
]
STRIKER = VALID_FRAME_TEXT[
    VALID_FRAME_TEXT.index("\n[striker]") : VALID_FRAME_TEXT.index("# The rod or wire")
]


PLACES = ("stem", "hull at beam", "hull at bulkhead", "joint")


def read(folder, *changes):
    """The sound file with changes (old text, new text), written and read."""
    text = VALID_FRAME_TEXT
    for old, new in changes:
        assert text.count(old) >= 1, f"the template no longer says {old}"
        text = text.replace(old, new, 1)
    path = folder / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return read_boat_file(path)


def sentences(folder, *changes):
    """What is wrong with the changed file, a sentence each, without the folder's name."""
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read(folder, *changes)
    assert trouble.value.exit_status == 2
    told = str(trouble.value).split("\n")
    assert all(line.startswith(str(folder / "mine.toml")) for line in told)
    return [line.removeprefix(f"{folder}{os.sep}") for line in told]


GJ = 'GJ = "0.7 MN*m**2"'
UNIT = 'write it with its unit, such as "800 kN*m**2"'
ONE = {
    "wrong unit": (
        ('spacing = "6.0 m"', 'spacing = "6.0 kN"'),
        "bows: spacing: '6.0 kN' is not a length; write it with its unit, such as \"4.2 m\"",
    ),
    "no unit": (
        ('rake = "14 deg"', "rake = 14"),
        (
            "cases[1] 'upwind': rake: 14 is a bare number where an angle is needed; "
            'write it with its unit, such as "12 deg"'
        ),
    ),
    "missing key": ((GJ, ""), "crossbeam: GJ: 'GJ' is missing; add GJ = …"),
    "missing at a station": (('GJ = "8 MN*m**2"', ""), "bows: stations[2]: GJ: 'GJ' is missing; add GJ = …"),
    "unknown key": (
        (GJ, f'{GJ}\nEI_vertcal = "1 N*m**2"'),
        "crossbeam: EI_vertcal: key 'EI_vertcal' is not known here; did you mean 'EI_vertical'?",
    ),
    "unknown table": (
        ("\n[striker]", "\n[strikr]"),
        "strikr: key 'strikr' is not known here; did you mean 'striker'?",
    ),
    "stations out of order": (
        ('at = "4.2 m"', 'at = "0 m"'),
        "bows: stations do not run from 0 m forward; begin at '0 m' (the root), each further forward than the last",
    ),
    "no station at the root": (
        ('at = "0 m"', 'at = "1 m"'),
        "bows: stations do not run from 0 m forward; begin at '0 m' (the root), each further forward than the last",
    ),
    "shear at one station only": (
        ('# GA_vertical = "75 MN"', 'GA_vertical = "75 MN"'),
        "bows: GA_vertical is given at some stations only; give it at every station, or at none",
    ),
    "inboard beyond the centreline": (
        ('inboard = "0.45 m"', 'inboard = "3 m"'),
        "bows: the inboard side is beyond the centreline; give inboard less than half the spacing",
    ),
    "crossbeam ahead of the stems": (
        ('station = "3.6 m"', 'station = "4.3 m"'),
        "crossbeam: station: 4.3 m is ahead of the stems; put it at or behind the last station, 4.2 m",
    ),
    "martingale without striker": (
        (STRIKER, ""),
        "martingale: has no striker to go over; add [striker], or take the martingale out",
    ),
    "tang off the beam": (
        ('half_span = "2.4 m"', 'half_span = "2.55 m"'),
        "martingale: half_span: 2.55 m is off the crossbeam; give less than 2.55 m, half the beam's",
    ),
    "martingale that does neither": (
        ('at_striker = "fixed"', 'at_striker = "glued"'),
        "martingale: at_striker: 'glued': input should be 'fixed' or 'slips'; ",
    ),
    "martingale that pushes at rest": (
        ('pretension = "15 kN"', 'pretension = "-15 kN"'),
        "martingale: pretension: '-15 kN' is too small; give at least 0 N",
    ),
    "mass with a negative gyration": (
        ('gyration = "0.72 m"', 'gyration = "-0.72 m"'),
        "bows: stations[1]: gyration: '-0.72 m' is too small; give at least 0 m",
    ),
    "a word for a switch": (
        ("second_order = true", 'second_order = "perhaps"'),
        "cases[1] 'upwind': second_order: ",
    ),
    "stays level with the strut": (
        ('height = "0.08 m"', 'height = "0.65 m"'),
        "martingale: is level with the striker's top; give its ends another height",
    ),
    "strut within its base": (
        ('base = "0.1 m"', 'base = "0.7 m"'),
        "striker: the striker's height is within its base; give a height beyond the base",
    ),
    "prod ahead of a hinge": (
        ('at_crossbeam = "rigid"', 'at_crossbeam = "pinned"'),
        (
            "longeron: a prod needs a longeron that is fixed to the crossbeam; "
            'write at_crossbeam = "rigid", or prod = "0 m"'
        ),
    ),
    "unknown place": (
        ('place = "prod tip"', 'place = "prod top"'),
        "cases 'headsail off the prod': place 'prod top' does not exist; did you mean 'prod tip'?",
    ),
    "unknown joint kind": (
        ('kind = "sprung"', 'kind = "springy"'),
        "joints[2] 'bolted plates': has no 'kind' that is known",
    ),
    "no joint kind": (('kind = "sprung"', ""), "joints[2] 'bolted plates': has no 'kind' that is known"),
    "unknown case kind": (
        ('kind = "rig"', 'kind = "sail"'),
        "cases[1] 'upwind': has no 'kind' that is known",
    ),
    "both force and movement": (
        ('force = "8 kN"', 'force = "8 kN"\nmovement = "1 mm"'),
        'has both force and movement; give one, such as force = "4 kN", movement = "60 mm" or twist = "9 mrad"',
    ),
    "neither": (
        ('force = "8 kN"', ""),
        'has no force, movement or twist; give one, such as force = "4 kN", movement = "60 mm" or twist = "9 mrad"',
    ),
    "zero stiffness": (
        (GJ, 'GJ = "0 N*m**2"'),
        "crossbeam: GJ: '0 N*m**2' is too small; give more than 0 N*m**2",
    ),
    "negative stiffness": (
        (GJ, 'GJ = "-1 MN*m**2"'),
        "crossbeam: GJ: '-1 MN*m**2' is too small; give more than 0 N*m**2",
    ),
    "negative spring": (
        ('pitch = "400 kN*m/rad"', 'pitch = "-4 kN*m/rad"'),
        "joints[2] 'bolted plates': pitch: '-4 kN*m/rad' is too small; give at least 0 N*m/rad",
    ),
    "zero root spring": (
        (PLATFORM_TEXT, '[root]\npitch = "0 N*m/rad"\n'),
        "root: pitch: '0 N*m/rad' is too small; give more than 0 N*m/rad",
    ),
    "root beside a platform": (
        ("# [root]\n# pitch", "[root]\npitch"),
        "platform: is given beside [root], which it replaces; take one of the two out",
    ),
    "negative end spring": (
        ('end_roll = "60 MN*m/rad"', 'end_roll = "-1 N*m/rad"'),
        "platform: members[1] 'main bulkhead': end_roll: '-1 N*m/rad' is too small; give at least 0 N*m/rad",
    ),
    "not a number": (
        (GJ, 'GJ = "nan MN*m**2"'),
        f"'nan MN*m**2' does not read as a bending or torsional stiffness; {UNIT}",
    ),
    "bare nan": (
        (GJ, "GJ = nan"),
        f"crossbeam: GJ: nan is a bare number where a bending or torsional stiffness is needed; {UNIT}",
    ),
    "infinite": ((GJ, 'GJ = "1e999 MN*m**2"'), f"crossbeam: GJ: '1e999 MN*m**2' is not finite; {UNIT}"),
    "pin without direction": (
        ("axis = [1, 0, 0]", "axis = [0, 0, 0]"),
        "joints[1] 'pinned lugs': axis: [0.0, 0.0, 0.0] is no direction; give the pin's direction",
    ),
    "pin in a plane": (
        ("axis = [1, 0, 0]", "axis = [1, 0]"),
        "joints[1] 'pinned lugs': axis: [1, 0] is not three numbers; give the pin's direction in boat axes",
    ),
    "stay that lies down": (
        ('rake = "14 deg"', 'rake = "95 deg"'),
        "cases[1] 'upwind': rake: a rake of 95° is not that of a stay; give the angle",
    ),
    "two components": (
        ('force = "-4 1 10 kN"', 'force = "-4 10 kN"'),
        "cases[3] 'headsail off the prod': also[1]: force: '-4 10 kN' has 2 numbers where 3 are needed",
    ),
    "free and sprung": (
        ('# free = ["roll"]', 'free = ["roll"]'),
        "'roll' is both free and sprung; give one of the two",
    ),
    "joint named twice": (
        ('name = "bonded"', 'name = "bolted plates"'),
        "joints 'bolted plates': is duplicated; give each a name of its own",
    ),
    "case named twice": (
        ('name = "racking"', 'name = "upwind"'),
        "cases 'upwind': is duplicated; give each a name of its own",
    ),
    "joint without a name": (('name = "bonded"', 'name = ""'), "joints[3]: name: '': "),
    "no title": (('title = "A boat of mine"', ""), "title: 'title' is missing; add title = …"),
    "not TOML": (('title = "A boat of mine"', "title = A boat"), "is not sound TOML: "),
}


@pytest.mark.parametrize(("change", "sentence"), ONE.values(), ids=ONE)
def test_a_fault_is_one_sentence_with_file_key_and_cure(tmp_path, change, sentence):
    """Each fault gives one sentence that begins with the file, names the key, and ends in its cure."""
    (told,) = sentences(tmp_path, change)
    assert told.startswith("mine.toml: ")
    assert sentence in told
    assert len(told.split("; ")) >= 2


def test_all_faults_of_the_text_are_told_at_once(tmp_path):
    """Values that cannot be read are all told, in the order of the file's tables."""
    changes = [
        ONE[what][0] for what in ("wrong unit", "zero stiffness", "unknown joint kind", "stay that lies down")
    ]
    told = sentences(tmp_path, *changes)
    assert [line.split(": ")[1] for line in told] == [
        "bows",
        "crossbeam",
        "joints[2] 'bolted plates'",
        "cases[1] 'upwind'",
    ]


def test_all_contradictions_between_tables_are_told_at_once(tmp_path):
    """Values that can be read and do not fit one another are all told, of joints, boat and cases."""
    what = ("crossbeam ahead of the stems", "tang off the beam", "unknown place")
    what += ("joint named twice", "case named twice")
    told = sentences(tmp_path, *(ONE[one][0] for one in what))
    assert len(told) == len(what)
    assert all(any(ONE[one][1] in line for line in told) for one in what)


def test_a_file_that_is_not_there_is_told(tmp_path):
    """A file that does not exist is a fault with its name, not a traceback."""
    with pytest.raises(InputFault, match=r"none\.toml: does not exist; check the name of the file"):
        read_boat_file(tmp_path / "none.toml")


@pytest.mark.parametrize(
    "title", ["<script>alert(1)</script>", "../../etc", "% \\\\input{x} $", "Ünïcødé 船", "a" * 200]
)
def test_a_title_is_text_and_nothing_else(tmp_path, title):
    """A title that looks like markup, a path or a command is read as it stands, and changes no number."""
    file = read(tmp_path, ('title = "A boat of mine"', f'title = "{title}"'))
    assert file.title == title.replace("\\\\", "\\")
    strange, plain = run_study(file), run_study(read(tmp_path))
    assert (strange.joints[0].cases[0].joint_load == plain.joints[0].cases[0].joint_load).all()


def test_values_are_read_in_si(tmp_path):
    """Units are left at the file's edge: inside, every value is in SI."""
    file = read(tmp_path, ('spacing = "6.0 m"', 'spacing = "600 cm"'), (GJ, 'GJ = "700 kN*m**2"'))
    assert file.bows.spacing == pytest.approx(6.0, rel=1e-15)
    assert pytest.approx(0.7e6, rel=1e-15) == file.crossbeam.GJ
    assert file.cases[0].rake == pytest.approx(0.2443460952792061, rel=1e-15)


def test_what_is_left_out_is_not_there(tmp_path):
    """Without striker, martingale, longeron and platform the file runs, and nothing stands for them."""
    begin, end = (
        VALID_FRAME_TEXT.index("# The strut on the beam"),
        VALID_FRAME_TEXT.index("# Where the forestay"),
    )
    longeron = VALID_FRAME_TEXT[
        VALID_FRAME_TEXT.index("# The fore-and-aft beam") : VALID_FRAME_TEXT.index("# ---- Ways to join")
    ]
    file = read(
        tmp_path,
        (VALID_FRAME_TEXT[begin:end], ""),
        (longeron, ""),
        (PLATFORM_TEXT, ""),
        ('"prod tip"', '"beam centre"'),
    )
    run = run_study(file)
    assert set(run.joints[0].front.frame.members) == {"port bow", "starboard bow", "crossbeam"}
    assert set(run.joints[0].front.places) == {
        *(f"{side} {place}" for side in ("port", "starboard") for place in PLACES),
        *("beam centre", "stay"),
    }


KIND = '''"""A clamp of one stiffness."""

from typing import Literal

from models.joints.base import Joint, JointStiffness


class Clamp(Joint):
    """Grips the beam alike in every rotation."""

    kind: Literal["clamp"]

    def stiffness(self) -> JointStiffness:
        """Six springs."""
        return JointStiffness.in_boat_axes([float("inf")] * 3 + [2e5] * 3)

    def words(self) -> str:
        """In one line."""
        return "gripped"
'''
CASE = '''"""A crew on the net."""

from typing import Literal

from cases.loads.base import LoadCase, PlaceLoad


class Crew(LoadCase):
    """Two people at the beam's middle."""

    kind: Literal["crew"]

    def loads(self) -> list[PlaceLoad]:
        """Their weight."""
        weight = (0.0, 0.0, -1600.0)
        return [PlaceLoad(place="beam centre", force=weight, moment=(0.0, 0.0, 0.0))]

    def what(self) -> str:
        """In one line."""
        return "two aboard"
'''
RUN = """
from cases.input.boat_file import read_boat_file
from cases.analyses.study import run_study
run = run_study(read_boat_file("mine.toml"))
joint, case = run.joints[1], run.joints[1].cases[0]
print(joint.joint.words(), case.case.words(), case.joint_load[:, 2].sum(), joint.curves["pitch"].joint_stiffness)
"""


def test_adding_a_kind_touches_no_other_file(tmp_path):
    """A new kind of joint or case is a new file: laid into a copy of the house, a boat file may name it."""
    for package in ("femcore", "models", "cases"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "models/joints/clamp.py").write_text(KIND)
    (tmp_path / "cases/loads/crew.py").write_text(CASE)
    longeron = VALID_FRAME_TEXT[
        VALID_FRAME_TEXT.index("# The fore-and-aft beam") : VALID_FRAME_TEXT.index("# ---- Ways to join")
    ]
    begin = VALID_FRAME_TEXT.index('kind = "rig"')
    rig = VALID_FRAME_TEXT[begin : VALID_FRAME_TEXT.index("second_order = true", begin)]
    text = (
        VALID_FRAME_TEXT.replace(longeron, "").replace('"prod tip"', '"stay"').replace(rig, 'kind = "crew"\n')
    )
    text = text.replace("second_order = true", "", 1)
    begin, end = text.index('kind = "sprung"'), text.index('[[joints]]\nname = "bonded"')
    (tmp_path / "mine.toml").write_text(text[:begin] + 'kind = "clamp"\n\n' + text[end:], encoding="utf-8")
    environment = {**os.environ, "PYTHONPATH": str(tmp_path), "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        [sys.executable, "-c", RUN],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    *words, lift, own = done.stdout.split()
    assert " ".join(words) == "gripped two aboard"
    assert (float(lift), float(own)) == pytest.approx((-1600.0, 2e5), rel=1e-9)
