"""The boat to turn and the joint to try, in a real browser, against the solutions that they show."""

from __future__ import annotations

import hashlib
import json
import re

import numpy as np
import pytest

from cases.analyses.solved_cases import solve_cases
from cases.analyses.study import racking_stiffness
from cases.report.pages import report_page, scripted
from cases.report.pages.live_joint import live_joint
from cases.report.pages.scene import scene
from femcore.base.errors import StructureFault
from femcore.plotting.drawing import Picture
from femcore.results.member_forces import member_forces
from models.joints import JointStiffness
from models.response.joint_loads import joint_loads, racking_shares
from tests.browser import watched_page
from tests.cases.report import numbers_boat

REL_TOL_LIVE = 1e-9
"""Of the largest force or moment of a case: the page's joint loads against a full solution."""
STILL = Picture("still", "Still", "A still picture of the boat", svg="", png=b"still")


@pytest.fixture(scope="module")
def analysis():
    """A boat with martingale, pretension and loads on one side."""
    return numbers_boat.analysis()


@pytest.fixture(scope="module")
def report(analysis, tmp_path_factory):
    """The page of the analysis, with a still picture."""
    file = tmp_path_factory.mktemp("page") / "report.html"
    file.write_text(report_page.render(analysis, [], [STILL], []), "utf-8")
    return file.as_uri()


def test_live_joint_loads_are_those_of_full_solutions(analysis, browser):
    """Joint loads, shares and racking stiffness, from free to rigid, equal those of full first-order solutions."""
    study, model = analysis.study, live_joint(analysis.study)
    cases = [case.model_copy(update={"second_order": False}) for case in study.cases]
    random = np.random.default_rng(7)
    with watched_page(browser) as page:
        page.add_script_tag(content=scripted.bundle("report"))
        rigid = [[None if i == j and i not in (3, 4) else 0.0 for j in range(6)] for i in range(6)]
        for start in (*model["joints"], {"name": "rigid", "base": rigid}):
            for pitch, roll in [*10 ** random.uniform(3, 9, (3, 2)), (np.inf, 0.0), (np.inf, np.inf)]:
                found = page.evaluate(
                    """([model, start, k]) => forebeam.solveJoint(
                        model, forebeam.stiffnessOf(start, ...k.map((one) => one ?? Infinity)))""",
                    [model, start, [None if np.isinf(k) else float(k) for k in (pitch, roll)]],
                )
                own = {one.joint.name: one.stiffness for one in study.joints}
                base = own.get(start["name"], JointStiffness.in_boat_axes(np.full(6, np.inf)))
                joint = base.with_springs({"pitch": pitch, "roll": roll})
                exact = solve_cases(study.file, "tried", joint, cases)
                wanted, taut = joint_loads(exact.solution), ~np.array(found["slack"])
                size = np.abs(wanted[..., :3]).max(axis=(1, 2)), np.abs(wanted[..., 3:]).max(axis=(1, 2))
                scale = np.repeat(np.stack(size, axis=1), 3, axis=1)[:, None]
                difference = np.abs(np.array(found["loads"]) - wanted) / scale
                assert difference[taut].max() < REL_TOL_LIVE
                assert taut.any()
                assert found["rackingStiffness"] == pytest.approx(
                    racking_stiffness(exact.front), rel=REL_TOL_LIVE
                )
                racked = racking_shares(exact.front, exact.solution)
                for case in np.flatnonzero(taut):
                    if found["shares"][case] is not None:
                        parts = [racked.hull[case], racked.torque[case], racked.shear[case]]
                        shares = np.array(parts) / racked.applied[case]
                        assert found["shares"][case] == pytest.approx(
                            shares, rel=REL_TOL_LIVE, abs=REL_TOL_LIVE
                        )
                assert found["shares"][model["mainCase"]] is not None


def test_the_live_model_says_which_cases_it_has_in_first_order_alone(analysis):
    """The third case is of second order. Starboard is port in a mirror: forces athwart and moments about x and z reverse."""
    model = live_joint(analysis.study)
    assert model["cases"] == ["racking", "rig", "starboard bow"]
    assert model["secondOrder"] == [2]
    assert model["mirror"] == [1, -1, 1, -1, 1, -1]


def test_live_joint_begins_as_the_joint_itself(analysis):
    """The stiffness a slider begins with, put back into the base, is the joint's own."""
    model = live_joint(analysis.study)
    assert model["joints"]
    for start in model["joints"]:
        joint = next(one.stiffness for one in analysis.study.joints if one.joint.name == start["name"])
        again = joint.with_springs(
            {name: np.inf if own is None else own for name, own in start["own"].items()}
        )
        assert np.allclose(
            again.springs[np.isfinite(joint.springs)], joint.springs[np.isfinite(joint.springs)], rtol=1e-9
        )


def test_scene_holds_what_was_solved(analysis):
    """Movements and actions at the ends of elements equal those read from the solution, to the five digits that are kept."""
    data = scene(analysis)
    result = next(one for one in analysis.study.joints if one.joint.name == data["joints"][0]["name"])
    for number, member in enumerate(data["members"]):
        along = member_forces(result.solution, member["name"], per_element=1)
        ends = [0, *range(1, len(along.station), 2)]
        for case in range(len(result.cases)):
            shown = data["joints"][0]["cases"][case]
            moved, actions = along.displacement[case, ends, :3], along.actions[case, ends]
            assert np.allclose(
                shown["movements"][number], moved, rtol=0, atol=1e-4 * max(np.abs(moved).max(), 1e-12)
            )
            acting = np.array(shown["actions"][number])
            assert np.allclose(
                acting[:, :2], actions[:, [0, 3]], rtol=0, atol=1e-3 * max(np.abs(actions).max(), 1.0)
            )
            assert np.allclose(
                np.abs(acting[:, 2]),
                np.hypot(actions[:, 4], actions[:, 5]),
                rtol=1e-3,
                atol=1e-3 * max(np.abs(actions).max(), 1.0),
            )


def test_scene_shows_ropes_and_what_the_beam_puts_on_the_hulls(analysis):
    """Cables with their tensions, the stay along its pull in its own cases alone; the joints' forces are those on the hulls."""
    data = scene(analysis)
    result = next(one for one in analysis.study.joints if one.joint.name == data["joints"][0]["name"])
    cables, lines = result.front.frame.cables, analysis.study.stay_lines()
    assert [one["name"] for one in data["ropes"]] == [*cables.names, "forestay"]
    foot, top = np.array(data["ropes"][-1]["points"])
    assert foot == pytest.approx(result.front.position("stay"), abs=1e-3)
    assert (top - foot)[2] > 0 > (top - foot)[0]
    seen = []
    for number, case in enumerate(result.cases):
        shown = data["joints"][0]["cases"][number]
        tensions = [one["tension"] for one in shown["ropes"]]
        assert tensions[:-1] == pytest.approx(result.solution.tension[number].tolist(), rel=1e-3, abs=1e-6)
        pull = lines.get(case.case.name)
        assert (tensions[-1] is None) == (pull is None)
        if pull is not None:
            assert tensions[-1] == pytest.approx(np.hypot(np.hypot(pull.aft, pull.side), pull.up), rel=1e-3)
        for side in (0, 1):
            force = shown["onHulls"][side]["force"]
            assert force == pytest.approx(case.joint_load[side, :3].tolist(), rel=1e-3, abs=1.0)
        arrows = dict(
            zip([one["name"] for one in data["cases"][number]["loads"]], shown["loadsMoved"], strict=True)
        )
        if pull is not None and "stay" in arrows:
            tang = result.front.places["stay"].node
            at_tang = result.solution.displacement[number, result.front.frame.node_index[tang], :3]
            assert arrows["stay"] == pytest.approx(at_tang.tolist(), rel=1e-3, abs=1e-5)
            seen.append(number)
        on_cable = np.flatnonzero(cables.cable_of_point == 0)
        u = result.solution.displacement[number, cables.nodes[on_cable]]
        moved = u[:, :3] + np.cross(u[:, 3:], cables.arms[on_cable])
        assert np.allclose(shown["ropes"][0]["movements"], moved, atol=1e-4 * np.abs(moved).max())
        assert not np.any(shown["ropes"][-1]["movements"][1])
    assert seen


def test_scene_colours_by_the_lowest_margin_of_each_member(analysis):
    """Utilisation is one over 1 + the lowest margin of a member's checks, safety factors in: the worst part is never paler."""
    data = scene(analysis)
    for joint in data["joints"]:
        margins = next(one for one in analysis.part_margins if one.joint == joint["name"])
        for member, used in zip(data["members"], joint["utilisation"], strict=True):
            own = [
                one.margin
                for one, row in margins.worst
                if row is not None and one.part.startswith(member["name"])
            ]
            assert (used is None) == (not own)
            if own:
                assert used == pytest.approx(1 / (1 + min(own)), abs=1e-4)
    assert any(used is not None for joint in data["joints"] for used in joint["utilisation"])


def test_a_front_end_without_a_reduced_model_leaves_the_joint_to_try_out(analysis, monkeypatch):
    """The report is written all the same: its own joints have their answers."""

    def fails(_):
        raise StructureFault("no answer")

    monkeypatch.setattr(scripted, "live_joint", fails)
    assert scripted.scripted(analysis).model == "null"


def test_policy_allows_the_script_on_the_page_and_no_other(analysis):
    """The hash in the policy is that of the script; names that look like tags stay within the data."""
    text = report_page.render(analysis, [], [STILL], [])
    script = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert len(script) == 1
    assert f"script-src {scripted.source_hash(script[0])}" in text
    assert "unsafe-eval" not in text
    assert "<" not in scripted.in_page({"name": "</script><script>alert(1)"})
    assert json.loads(scripted.in_page({"name": "</script>"})) == {"name": "</script>"}


def test_bundles_are_those_that_were_summed():
    """Each bundle has the SHA-256 beside it, and the licence of what it holds."""
    sums = dict(
        line.split()[::-1] for line in (scripted.ASSETS / "SHA256SUMS").read_text("utf-8").splitlines()
    )
    bundles = sorted(path.name for path in scripted.ASSETS.glob("*.js"))
    assert bundles == sorted(sums)
    for name, digest in sums.items():
        assert hashlib.sha256((scripted.ASSETS / name).read_bytes()).hexdigest() == digest
    assert "three" in (scripted.ASSETS / "LICENCES.txt").read_text("utf-8")


def test_keys_turn_the_boat_and_a_click_tells_numbers(analysis, browser, report):
    """No error under the policy, no request leaves the page; arrow keys move the camera; a part's numbers are the solution's."""
    with watched_page(browser, viewport={"width": 1300, "height": 900}) as page:
        page.goto(report)
        page.wait_for_selector(".turning[data-ready=yes]")
        assert not page.locator(".still").is_visible()
        canvas = page.locator(".turning canvas")
        canvas.scroll_into_view_if_needed()
        canvas.focus()
        page.keyboard.press("ArrowLeft")
        before = page.locator(".turning").get_attribute("data-camera")
        page.keyboard.press("ArrowUp")
        assert page.locator(".turning").get_attribute("data-camera") != before
        box = canvas.bounding_box()
        for across in np.linspace(0.2, 0.8, 25):
            page.mouse.click(box["x"] + across * box["width"], box["y"] + 0.5 * box["height"])
            picked = json.loads(page.locator(".turning").get_attribute("data-picked") or "{}")
            if "member" in picked:
                break
    data = scene(analysis)
    joint = next(one for one in analysis.study.joints if one.joint.name == data["joints"][0]["name"])
    along = member_forces(joint.solution, picked["member"], per_element=1)
    ends = [0, *range(1, len(along.station), 2)]
    acting = along.actions[data["mainCase"], ends][picked["ring"]]
    assert [picked["N"], picked["T"]] == pytest.approx(acting[[0, 3]], rel=1e-3, abs=1.0)


def test_switches_and_slider_move_the_boat(analysis, browser, report):
    """Another case has its own arrows and numbers; the slider says how much movements are enlarged; the stay tells its pull."""
    data = scene(analysis)
    joint = data["joints"][0]
    rig = next(n for n, one in enumerate(joint["cases"]) if one["ropes"][-1]["tension"] is not None)
    other = next(n for n, one in enumerate(joint["cases"]) if one["ropes"][-1]["tension"] is None)
    with watched_page(browser, viewport={"width": 1300, "height": 900}) as page:
        page.goto(report)
        page.wait_for_selector(".turning[data-ready=yes]")
        canvas, turning = page.locator(".turning canvas"), page.locator(".turning")
        pictures, enlarged, arrows = [], [], []
        for case in (rig, other):
            page.locator(".turning select").nth(1).select_option(str(case))
            pictures.append(canvas.screenshot())
            shown = turning.get_attribute("data-arrows").split()
            words = page.locator(".colour-key").inner_text()
            named = {"load": "loads", "reaction": "reactions", "on-hull": "beam on hulls"}
            assert shown == [kind for kind, word in named.items() if f"· {word}" in " ".join(words.split())]
            arrows.append(shown)
        assert "on-hull" in arrows[0]
        assert pictures[0] != pictures[1]
        slider = page.locator(".turning input[type=range]")
        for value in ("0", "50", "100"):
            slider.fill(value)
            enlarged.append(page.locator(".turning output").inner_text())
            pictures.append(canvas.screenshot())
        assert enlarged[0] == "× 0"
        assert len(set(enlarged)) == len(set(pictures[2:])) == 3
        page.locator(".turning select").nth(2).select_option("N")
        assert "axial force" in page.locator(".colour-key").inner_text()


def test_a_finger_tells_numbers_and_print_has_the_still_picture(browser, report):
    """On a touch screen a tap near a part says its numbers; on paper the still picture stands in for the boat to turn."""
    with watched_page(browser, viewport={"width": 390, "height": 844}, has_touch=True) as page:
        page.goto(report)
        page.wait_for_selector(".turning[data-ready=yes]")
        canvas = page.locator(".turning canvas")
        canvas.scroll_into_view_if_needed()
        box = canvas.bounding_box()
        for across in np.linspace(0.15, 0.85, 25):
            page.touchscreen.tap(box["x"] + across * box["width"], box["y"] + 0.5 * box["height"])
            if page.locator(".turning").get_attribute("data-picked"):
                break
        assert re.search(r"kN", page.locator(".picked").inner_text())
        page.emulate_media(media="print")
        assert page.locator(".still").is_visible()
        assert not canvas.is_visible()


def test_sliders_move_numbers_and_marks(browser, report):
    """A stiffer twist spring attracts more torque; the number, its curve's mark and the words of the slider follow the keys."""
    with watched_page(browser, viewport={"width": 1300, "height": 900}) as page:
        page.goto(report)
        slider = page.locator("#live-joint input[data-direction=pitch]")
        slider.scroll_into_view_if_needed()
        torques, marks = [], []
        for value in (60, 100, 140):
            slider.fill(str(value))
            cells = page.locator("#live-joint tbody tr").first.locator("td")
            torques.append(max(abs(float(cells.nth(side).get_attribute("data-value"))) for side in (0, 1)))
            marks.append(float(page.locator("#live-joint svg circle").first.get_attribute("cy")))
        assert torques == sorted(torques)
        assert torques[0] < torques[-1]
        assert marks == sorted(marks, reverse=True)
        slider.focus()
        page.keyboard.press("End")
        assert page.locator("#live-joint output").first.inner_text() == "rigid"


def test_without_scripts_and_on_a_phone_the_page_can_be_read(browser, report):
    """Scripts off: the still picture is shown and the joint to try is hidden. At 390 px nothing is wider than the screen."""
    with watched_page(browser, java_script_enabled=False) as page:
        page.goto(report)
        assert page.locator(".still img").is_visible()
        assert not page.locator("#try-joint").is_visible()
    with watched_page(browser, viewport={"width": 390, "height": 844}) as page:
        page.goto(report)
        page.wait_for_selector(".turning[data-ready=yes]")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
