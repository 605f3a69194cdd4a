"""The decision: who the candidates are, verdicts that follow from margins, and numbers that another run of the boat confirms."""

import copy
from dataclasses import replace

import numpy as np
import pytest

from cases.analyses import verdict_flips
from cases.analyses.analysis import analyse
from cases.analyses.candidates import candidates
from cases.analyses.decision import question_of
from cases.analyses.next_actions import MoveStay, RaiseSizes
from cases.analyses.scaled_sizes import ScaledSize, sizes_of_kind
from cases.analyses.verdict_flips import ABS_TOL_RACKING, load_flip, racking_flip
from cases.report.data.decision_words import action_sentences, answer_sentence, card_rows
from cases.report.data.uncertainty_words import percent_words
from models.response.joint_loads import component_index
from tests.models.boats import boat_file_of, example_boat
from tests.models.joints.test_joint_lug import FITTING

RIGID = {"name": "rigid", "kind": "rigid"}
CASES = [
    {"name": "racking", "kind": "racking", "force": "60 kN"},
    {"name": "rig", "kind": "rig", "tension": "8 kN", "rake": "12 deg"},
]
TORQUE = component_index("torque")


def boat(*joints, cases=CASES, **more):
    """The plain boat on the lug fitting, and other joints."""
    fitting = copy.deepcopy(FITTING)
    del fitting["hull"]["held_at"]
    return boat_file_of([fitting, *joints], cases, station=3.6, inboard=0.4, **more)


def scaled(file, factors):
    """The same boat with some of its cases scaled."""
    cases = [
        case.model_copy(update={"scale": case.scale * factors.get(case.name, 1.0)}) for case in file.cases
    ]
    return file.model_copy(update={"cases": cases})


def lowest(analysis, rows=None):
    """The lowest margin of all checks of the first joint, in rows whose name holds a word."""
    margins = analysis.part_margins[0]
    known = [check for check in (*margins.own, *margins.other_checks) if check.kind == "checked"]
    kept = [rows is None or rows in name for name in margins.rows.names]
    return min(float(check.margin[kept].min()) for check in known)


@pytest.fixture(scope="module")
def analysis():
    """Lugs under racking and the rig, beside a rigid joint."""
    return analyse(boat(RIGID))


def test_candidates_are_those_marked_else_those_described_else_all():
    """A mark decides; without one, a joint that describes its parts; where none does, every joint."""
    assert [one.name for one in candidates(boat(RIGID))] == [FITTING["name"]]
    assert [one.name for one in candidates(boat(RIGID | {"candidate": True}))] == ["rigid"]
    plain = boat_file_of([RIGID, RIGID | {"name": "other"}], CASES)
    assert [one.name for one in candidates(plain)] == ["rigid", "other"]


def test_the_verdict_is_that_of_the_lowest_margin(analysis):
    """Below zero anywhere, in the joint or beside it, a candidate is inadequate; the weakest is the least of all checks."""
    [one] = analysis.decision.candidates
    found = [check.margin for check in (one.weakest, one.beside) if check is not None]
    assert min(found) == pytest.approx(lowest(analysis), rel=1e-12)
    assert one.verdict == ("inadequate" if min(found) < 0 else "adequate for what was checked")
    assert one.verdict == "inadequate"
    easy = analyse(scaled(analysis.file, {"racking": 0.05, "rig": 0.05})).decision.candidates[0]
    assert easy.verdict == "adequate for what was checked"
    assert min(easy.weakest.margin, easy.beside.margin if easy.beside else np.inf) > 0


def test_design_loads_and_stiffness_are_those_of_the_solution(analysis):
    """Torque and vertical bending are each the largest of their own component over rows and hulls; stiffness over bare bows'."""
    [one] = analysis.decision.candidates
    load = np.abs(analysis.case_rows[0].values.joint_load).max(axis=(0, 1))
    bending = component_index("vertical bending")
    assert (one.torque.size, one.bending.size) == pytest.approx((load[TORQUE], load[bending]), rel=1e-9)
    assert load[TORQUE] != load[bending]
    assert one.racking_stiffness == analysis.study.joints[0].racking_stiffness
    assert one.mass == pytest.approx(2 * sum(analysis.study.joints[0].joint.masses().values()))
    sure = analysis.uncertainty.joint(one.joint).own
    assert (one.failure, one.below_zero) == (sure.failure, sure.counted)
    assert one.stiffer == pytest.approx(one.racking_stiffness / analysis.decision.bare_racking_stiffness)


def test_a_joint_by_its_stiffness_is_not_assessed():
    """A margin that nobody worked out is no verdict: neither adequate nor inadequate."""
    [one] = analyse(boat(RIGID | {"candidate": True})).decision.candidates
    assert (one.verdict, one.weakest, one.flips) == ("not assessed", None, ())
    assert "does not describe" in one.reason


def test_at_the_load_factor_the_boat_is_just_adequate(analysis):
    """All cases scaled by the factor and run again: the lowest margin is zero, in a linear boat without pretension."""
    flip = load_flip(analysis.part_margins[0])
    assert flip.factor < 1
    factors = dict.fromkeys(("racking", "rig"), flip.factor)
    assert lowest(analyse(scaled(analysis.file, factors))) == pytest.approx(0.0, abs=1e-9)


def test_at_the_racking_factor_the_boat_is_just_adequate(analysis):
    """The racking alone scaled by the factor and run again: the lowest margin with it is zero; the rig's own margin is kept."""
    flip = next(one for one in analysis.decision.candidates[0].flips if one.varied == "racking")
    assert 0 < flip.factor < 1
    assert flip.cases == ("racking",)
    again = analyse(scaled(analysis.file, {"racking": flip.factor}))
    assert lowest(again) == pytest.approx(0.0, abs=0.01)
    assert lowest(again, "rig") >= lowest(analysis, "rig") - 1e-12
    further = analyse(scaled(analysis.file, {"racking": flip.factor + 0.02}))
    assert lowest(further) < 0 < lowest(analyse(scaled(analysis.file, {"racking": flip.factor - 0.02})))


def test_where_a_verdict_flips_is_said_in_the_file_s_own_units(analysis):
    """So many times 60 kN of racking, in kN; run with that force as entered the boat is just adequate, as by the factor."""
    [one] = analysis.decision.candidates
    flip = next(flip for flip in one.flips if flip.varied == "racking")
    [size] = flip.sizes
    assert (size.of, size.entered) == ("racking", "60 kN")
    number, unit = size.scaled.split()
    assert unit == "kN"
    assert float(number) == pytest.approx(60 * flip.factor, rel=5e-3)
    cases = [CASES[0] | {"force": size.scaled}, CASES[1]]
    assert lowest(analyse(boat(RIGID, cases=cases))) == pytest.approx(0, abs=0.02)
    details = {row.label: row.details[0] for row in card_rows(analysis.decision)}
    assert f": ‘racking’ 60 → {size.scaled}" in details["verdict changes at"]


def test_a_kind_is_scaled_in_the_units_of_its_cases_and_keys():
    """Of a kind the cases whose loads are of that kind, or its keys; of one that no number gives, nothing."""
    mixed = CASES[1] | {"name": "rig and sea", "also": [
        {"place": "port stem", "force": "0 0 1 kN"}, {"place": "starboard stem", "force": "0 0 -1 kN"},
    ]}  # fmt: skip
    file = boat(RIGID, cases=[*CASES, mixed | {"on": False}])
    with_sea = boat(RIGID, cases=[CASES[0], mixed])
    assert [one.of for one in sizes_of_kind(with_sea, "racking", 1.5)] == ["racking"], (
        "the pull is not the sea's"
    )
    assert sizes_of_kind(file, "racking", 1.5) == (ScaledSize("racking", "60 kN", "90 kN"),)
    assert sizes_of_kind(file, "stay_tension", 0.5) == (ScaledSize("rig", "8 kN", "4 kN"),)
    assert sizes_of_kind(file, "crossbeam_GJ", 2.0)[0].of == "crossbeam.GJ"
    assert sizes_of_kind(file, "joint_model", 2.0) == ()
    demo = example_boat("demo")
    assert sizes_of_kind(demo, "pretension", 1.1) == (
        ScaledSize("martingale.pretension", "12 kN", "13.2 kN"),
    )
    assert sizes_of_kind(demo, "breaking_load", 0.9) == (
        ScaledSize("stay.line.breaking", "119 kN", "107 kN"),
    )
    assert sizes_of_kind(demo, "crossbeam_GJ", 2.0) == (), "the demo's follows from its section"


def test_racking_flips_no_verdict_that_the_rig_decides(analysis):
    """Where the rig alone fails a part, no size of the racking makes it adequate."""
    heavy = analyse(scaled(analysis.file, {"rig": 40.0}))
    flip = next(one for one in heavy.decision.candidates[0].flips if one.varied == "racking")
    assert flip.factor is None


def test_where_the_frame_buckles_first_that_turns_the_verdict(analysis, monkeypatch):
    """The frame's utilisation is in proportion to the racking and larger than all others: it is 1 at the factor found."""
    light = analyse(scaled(analysis.file, {"racking": 0.02, "rig": 0.02}))
    margins, factor = light.part_margins[0], light.file.factors.safety_factor("elastic_buckling").value
    at = margins.rows.cases.names.index("racking")
    monkeypatch.setattr(
        verdict_flips, "buckling_utilisations", lambda done, _: 0.2 * np.abs(done.factors[:, at])
    )
    weights = np.abs(margins.rows.linear(np.eye(len(margins.rows.cases.names)))[:, at])
    *others, frame = margins.other_checks
    buckled = replace(
        margins, buckled=0.2 * weights, other_checks=(*others, replace(frame, load=0.2 * weights))
    )
    flip = racking_flip(light.file, light.study.joints[0], buckled)
    assert flip.factor == pytest.approx(1 / (0.2 * weights.max() * factor), abs=ABS_TOL_RACKING)
    assert racking_flip(light.file, light.study.joints[0], margins).factor != flip.factor


def test_moved_as_said_the_stay_puts_no_torque_on_the_beam():
    """The tang moved by that much: the stay's line passes through the shear centre, and the joint's torque is as foretold."""
    cases = [CASES[1] | {"tension": "60 kN"}]
    off = boat(cases=cases, stay={"forward": "60 mm", "up": "150 mm"})
    [moved] = [one for one in analyse(off).decision.actions if isinstance(one, MoveStay)]
    # 60 mm ahead and 150 mm up, 12° of rake: the line meets the centre from 150 tan 12° = 31.9 mm behind
    assert moved.forward == pytest.approx(-(0.060 + 0.150 * np.tan(np.radians(12))))
    stay = off.stay.model_copy(update={"forward": off.stay.forward + moved.forward})
    again = analyse(off.model_copy(update={"stay": stay}))
    assert abs(again.study.stay_lines()["rig"].torque) < 1e-9 * moved.stay_torque
    torque = np.abs(again.study.joints[0].cases[0].joint_load[:, TORQUE]).max()
    assert moved.joints[0].torque_after == pytest.approx(torque, abs=1e-6 * moved.joints[0].torque_before)
    assert moved.joints[0].torque_after < 0.05 * moved.joints[0].torque_before
    assert moved.joints[0].margin_after == pytest.approx(lowest(again))


def test_sizes_are_raised_for_what_fails(analysis):
    """Every size that is called adequate brings its check from below zero to zero or above; what stays below is named."""
    [raised] = [one for one in analysis.decision.actions if isinstance(one, RaiseSizes)]
    assert raised.sizes
    assert all(one.before < 0 for one in raised.sizes)
    assert all((one.after >= 0) == one.adequate for one in raised.sizes)
    assert raised.still is None or raised.still.margin < 0


def test_the_card_has_the_results_own_figures(analysis):
    """Design torque, stiffness and margins on the card read back as the numbers of the decision, sign and unit."""
    decision = analysis.decision
    [one] = decision.candidates
    figures = {row.label: row.figures[0] for row in card_rows(decision)}
    assert figures["weakest in the joint"].startswith("margin −") == (one.weakest.margin < 0)
    assert float(figures["weakest in the joint"].split()[1].replace("−", "-")) == pytest.approx(
        one.weakest.margin, abs=0.005
    )
    number, unit = figures["design torque"].split(" ")
    assert float(number) * {"N·m": 1.0, "kN·m": 1e3}[unit] == pytest.approx(one.torque.size, rel=5e-3)
    gained = float(figures["racking stiffness gained"].split("\N{NO-BREAK SPACE}")[0])
    assert gained == pytest.approx(
        100 * (one.racking_stiffness / decision.bare_racking_stiffness - 1), abs=0.5
    )
    assert figures["chance that it fails"] == percent_words(one.failure.value)
    assert one.failure.value <= one.below_zero.value
    turned = figures.get("one input that changes it", "–")
    assert (turned != "–") == bool(one.turned_by)
    assert not one.turned_by or turned.endswith(one.turned_by[0].value)
    factor = one.flips[0].factor
    assert figures["verdict changes at"] == f"{factor:.2f} × all loads"
    assert "inadequate, lowest margin −" in answer_sentence(decision)
    assert 1 <= len(action_sentences(decision)) <= 3


def test_the_question_is_the_file_s():
    """Its own key; without it which of the candidates, by name as far as they fit a line: never the title again, or a note."""
    file = boat(RIGID)
    lugs = file.joints[0]
    named = {letter: lugs.model_copy(update={"name": letter}) for letter in "abcd"}
    for letters, update, said in (
        ("ab", {"question": "Bolt or bond?", "note": "a note"}, "Bolt or bond?"),
        ("a", {"note": "a note"}, "Is ‘a’ adequate?"),
        ("ab", {}, "‘a’ or ‘b’?"),
        ("abc", {}, "‘a’, ‘b’ or ‘c’?"),
        ("abcd", {}, "Which of 4 joints?"),
    ):
        joints = [named[letter] for letter in letters]
        assert question_of(file.model_copy(update={**update, "joints": joints})) == said


def test_what_is_the_same_for_every_candidate_is_one_action(analysis):
    """Two candidates that fail by one part beside them alone: one sentence for both, not one for each."""
    still = analysis.decision.candidates[0].weakest
    raised = [RaiseSizes("raise sizes", name, (), still) for name in ("first", "second")]
    one, other = (replace(analysis.decision.candidates[0], joint=name) for name in ("first", "second"))
    decision = replace(analysis.decision, candidates=(one, other), actions=tuple(raised))
    [said] = action_sentences(decision)
    assert said.startswith("With every candidate: no stock size is enough for ")
    assert action_sentences(replace(decision, candidates=(one, other, one)))[0].startswith(
        "‘first’, ‘second’: no stock"
    )


SERVICE = {"distance": "20000 nmi", "speed": "7 kn", "period": "6 s", "case": "racking"}


def test_a_life_shorter_than_the_service_is_inadequate():
    """The card has the shortest of all lives; with the same margins, the verdict turns where the service outlasts it."""
    easy = [CASES[0] | {"force": "1 kN"}, CASES[1] | {"tension": "1 kN"}]
    whole = analyse(boat(cases=easy, service=SERVICE))
    [one], [lives] = whole.decision.candidates, whole.fatigue_lives.joints
    shortest = min(life.miles for life in (*lives.lives, *lives.welds, *lives.glue))
    assert one.life.miles == shortest
    assert one.life.service == pytest.approx(20000)
    assert one.verdict == ("adequate for what was checked" if shortest >= 20000 else "inadequate")
    file = boat(cases=easy, service=SERVICE)
    factors = file.factors.model_copy(update={"fatigue": 40.0})
    other = analyse(file.model_copy(update={"factors": factors}))
    [worn] = other.decision.candidates
    assert worn.verdict == "inadequate"
    assert worn.weakest.margin == pytest.approx(one.weakest.margin)
    assert worn.flips == ()
    row = next(row for row in card_rows(other.decision) if row.label == "shortest fatigue life")
    assert (
        row.figures[0] == f"{float(f'{worn.life.miles:.2g}'):,.0f} of {worn.life.service:,.0f} nautical miles"
    )
    assert row.figures[0] in answer_sentence(other.decision)
