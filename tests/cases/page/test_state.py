"""Changes by key: the text keeps its comments and order, the boat is that of the text, and faults name the file's own keys."""

import tomllib
from pathlib import Path

import pytest

from cases.analyses.analysis import Analysis, analyse
from cases.analyses.study import run_study
from cases.input.boat_file import read_boat_file
from cases.page.answer import answer
from cases.page.state import BoatText
from femcore.base.errors import InputFault, InputFaults
from tests.cases.page.conftest import DEMO

REL_TOL_SAME_NUMBER = 1e-9
"""Of one number worked out on two ways through the same solver, in another order of sums."""
JOINT = "taped socket"


@pytest.fixture(scope="module")
def demo():
    """The demo boat, as the page reads it."""
    return BoatText.read(DEMO)


def test_only_the_changed_lines_differ(demo):
    """All other lines, comments and their order among them, are those of the file."""
    changes = {
        "martingale.pretension": "14 kN",
        "cases.upwind.rake": "12 deg",
        "joints.'bonded socket'.roll": "7 MN*m/rad",
    }
    before, after = demo.text.splitlines(), demo.changed_text(changes).splitlines()
    differing = [(one, other) for one, other in zip(before, after, strict=True) if one != other]
    assert len(differing) == len(changes)
    [pretension] = [other for _, other in differing if "pretension" in other]
    assert pretension.startswith('pretension = "14 kN"')
    assert pretension.endswith("# in each under pretension alone")
    assert tomllib.loads("\n".join(after))["cases"][0]["rake"] == "12 deg"
    assert demo.changed_text({}) == demo.text


def test_what_is_left_out_is_left_out(demo):
    """None takes a key away, from the text too."""
    assert "longeron" not in tomllib.loads(
        demo.changed_text(
            {"longeron": None, 'cases."headsail off the prod"': None, 'joints."athwart pin"': None}
        )
    )


def test_the_changed_text_is_the_changed_boat(demo, tmp_path):
    """The quick answer is that of the saved file, read and solved by the ordinary way."""
    changes = {"stay.forward": "60 mm", "crossbeam.section.diameter": "210 mm"}
    quick = answer(demo, changes, JOINT, "quick")
    saved = tmp_path / "saved.toml"
    saved.write_text(demo.changed_text(changes), encoding="utf-8")
    boat = read_boat_file(saved).with_joints([JOINT])
    cases = [case for case in boat.cases if case.name in ("upwind", "racking")]
    direct = analyse(boat.model_copy(update={"cases": cases, "combinations": [], "service": None})).joint(
        JOINT
    )
    by_name = {row["name"]: row["load"] for row in quick["cases"]}
    for case in ("upwind", "racking"):
        for side, load in by_name[case].items():
            assert load[4] == pytest.approx(direct.load(case, "torque", side=side), rel=REL_TOL_SAME_NUMBER)
    assert quick["racking_stiffness"] == pytest.approx(direct.racking_stiffness, rel=REL_TOL_SAME_NUMBER)
    assert {"gust", "waves", "combinations", "fatigue"} == set(quick["left_out"])


def test_a_life_shorter_than_the_service_makes_a_joint_inadequate(demo):
    """As on the decision card: a thousand times the service wears the socket's glue out, and no margin changes for it. A quick
    answer says that fatigue is left out.
    """
    longer = {"service.distance": "15000000 nmi"}
    once, often = answer(demo, {}, JOINT, "whole"), answer(demo, longer, JOINT, "whole")
    assert (once["verdict"], often["verdict"]) == ("adequate for what was checked", "inadequate")
    assert once["weakest"]["margin"] == pytest.approx(often["weakest"]["margin"], rel=REL_TOL_SAME_NUMBER)
    assert once["life"][0] == "longer than the service"
    assert "of 15,000,000 nautical miles" in often["life"][0]
    assert "fatigue" in answer(demo, longer, JOINT, "quick")["left_out"]


def test_the_stay_whose_line_meets_the_axis_has_no_torque(demo):
    """At the forward place that the answer names, the stay's torque is none: statics."""
    free = answer(demo, {}, JOINT, "quick")["stay"]["upwind"]["free"]
    moved = answer(demo, {"stay.forward": f"{1000 * free:.9f} mm"}, JOINT, "quick")
    assert moved["stay"]["upwind"]["torque"] == pytest.approx(0, abs=1e-3)


def test_faults_name_the_key_of_the_file(demo):
    """As of the file itself, not of the variant that the page makes of it."""
    with pytest.raises((InputFault, InputFaults)) as caught:
        demo.quick({"stay.up": "171 mph"}, JOINT)
    assert str(caught.value).startswith("stay: up: '171 mph'")
    with pytest.raises(InputFault, match="did you mean 'taped socket'"):
        demo.quick({}, "taped sockett")


def test_a_file_keeps_its_line_ends(tmp_path):
    """A file of Windows stays one, its mark at the beginning left out."""
    file = tmp_path / "windows.toml"
    file.write_bytes(b"\xef\xbb\xbf" + DEMO.read_bytes().replace(b"\n", b"\r\n"))
    text = BoatText.read(Path(file)).changed_text({"stay.up": "170 mm"})
    assert text.count("\r\n") == text.count("\n")


def test_the_curve_is_that_of_the_joint(demo):
    """Its points are the exact curve's: half the torque at k_half, where nothing else is free, and the joint's own attraction."""
    curve = answer(demo, {}, JOINT, "quick")["curves"]["pitch"]
    direct = Analysis(run_study(demo.quick({}, JOINT))).study.joints[0].curves["pitch"]
    assert curve["share"] == pytest.approx(direct.own_attraction, rel=REL_TOL_SAME_NUMBER)
    for k, share in curve["points"]:
        assert share == pytest.approx(direct.moment(k) / direct.whole_moment, rel=REL_TOL_SAME_NUMBER)
    assert [k for k, _ in curve["points"]] == sorted(k for k, _ in curve["points"])
    assert curve["points"][0][0] < curve["half"] < curve["points"][-1][0]


def test_the_beam_is_drawn_by_its_own_radius(demo):
    """A tube of 200 mm."""
    assert answer(demo, {}, JOINT, "quick")["shape"]["radius"] == pytest.approx(0.1, rel=1e-4)
