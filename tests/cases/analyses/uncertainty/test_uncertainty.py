"""Scatter of joints' margins: exact where one input scatters, the deterministic answer where none does, laws in between."""

import copy
from dataclasses import fields, replace
from functools import cache

import numpy as np
import pytest
from scipy.stats import norm

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import Responses
from cases.analyses.part_margins import buckling_utilisation
from cases.analyses.reliability.sampling import standard_normals
from cases.analyses.study import run_study
from cases.analyses.uncertainty.joint_limits import (
    SAMPLES_AT_ONCE,
    JointLimits,
    cause_numbers,
    causes,
    inputs_at,
)
from cases.analyses.uncertainty.part_reliability import Chances
from cases.analyses.uncertainty.response_samples import BoatSamples, JointSamples, parabola
from cases.analyses.uncertainty.uncertainty import SampledJoint, sampled, uncertainty
from cases.input.boat_file import BoatFile
from cases.input.input_kinds import INPUT_KINDS
from cases.input.scatter import scattered_inputs
from cases.input.variants import Variant
from cases.report.data.uncertainty_words import left_out_sentences
from femcore.base.errors import InputFault, PoorSolution
from femcore.base.toml import checked
from models.response.joint_loads import component_index
from models.strength.margins import IN_SERVICE
from tests.models.joints.test_joint_lug import FITTING

CASES = [
    {"name": "racking", "kind": "racking", "force": "6 kN"},
    {"name": "upwind", "kind": "rig", "tension": "20 kN", "rake": "12 deg"},
    {"name": "measured", "kind": "racking", "movement": "20 mm"},
    {
        "name": "both", "kind": "rig", "tension": "15 kN", "rake": "12 deg",
        "also": [{"place": "port stem", "force": "0 0 3 kN"}, {"place": "starboard stem", "force": "0 0 -3 kN"}],
    },
]  # fmt: skip
EXACT = {kind.name: "± 0 %" for kind in INPUT_KINDS}
"""No kind scatters."""
PLAIN = {"EI_vertical": "1 MN*m**2", "EI_lateral": "0.8 MN*m**2", "GJ": "0.6 MN*m**2", "EA": "200 MN"}
BOW = {"EI_vertical": "40 MN*m**2", "EI_lateral": "25 MN*m**2", "GJ": "6 MN*m**2", "EA": "300 MN"}


def boat(scatter=None, cases=CASES, **keys):
    """A boat on lugs, by a file's tables; what is not named in `scatter` is exact."""
    raw = {
        "title": "test", "bows": {
            "spacing": "6 m", "inboard": "0.4 m", "height": "0 m", "divide": 2,
            "stations": [{"at": "0 m"} | BOW, {"at": "4 m"} | BOW],
        },
        "root": {"pitch": "4 MN*m/rad", "roll": "5 MN*m/rad"},
        "crossbeam": {"station": "3.6 m", "height": "0.2 m", "divide": 2} | PLAIN,
        "stay": {"forward": "20 mm", "up": "120 mm"},
        "joints": [FITTING], "cases": cases, "combinations": [],
        "scatter": EXACT | {"stay.forward": "± 0 mm", "stay.up": "± 0 mm"} | (scatter or {}),
    } | keys  # fmt: skip
    return checked(raw, BoatFile, "boat.toml")


def on_two_joints(scatter, cases=CASES):
    """The boat on its lugs, and on such through a hull's side of half as much laminate again."""
    thicker = copy.deepcopy(FITTING) | {"name": "thicker"}
    thicker["hull"]["laminate"]["layup"] = ["9x biax 600 @0", "6x db 600 @45", "mirror"]
    return boat(scatter, cases, joints=[FITTING, thicker])


@cache
def analysed(name, spread, samples=128):
    """The boat with one kind that scatters."""
    return found(boat({name: spread}), samples)


def found(file, samples=128, seed=1):
    """Its uncertainty."""
    analysis = Analysis(run_study(file))
    solved = analysis.study.joints, analysis.case_rows, analysis.part_margins
    return uncertainty(sampled(file, *solved, samples, seed))


def limits_of(file, number=0):
    """Of one joint: its analysis and its limits."""
    analysis = Analysis(run_study(file))
    rows, result = analysis.case_rows[number], analysis.study.joints[number]
    samples = BoatSamples.of(file, [rows], scattered_inputs(file))
    joint = JointSamples.of(samples, rows, buckling_utilisation(result, rows))
    return analysis, JointLimits.of(joint, analysis.part_margins[number])


def assert_same(margins, exact):
    """To 1e-8, but for parts that carry nothing."""
    loaded = exact < 1e6
    assert loaded.any()
    assert margins[loaded] == pytest.approx(exact[loaded], rel=1e-8)
    assert (margins[~loaded] >= 1e6).all()


def test_without_scatter_every_margin_is_the_deterministic_one():
    """All inputs exact: the margins of the analysis, chances 0 or 1, no design point."""
    file = boat()
    analysis, limits = limits_of(file)
    margins = analysis.part_margins[0]
    made = [one for one in (*margins.own, *margins.other_checks) if one.kind == "checked"]
    assert_same(np.expm1(limits.nominal[:, : len(made)]), np.stack([one.margin for one in made], axis=1))
    joint = found(file, 64).joints[0]
    assert joint.margin.low == pytest.approx(joint.margin.nominal, rel=1e-9)
    assert joint.margin.log_deviation < 1e-9
    assert joint.own.counted.value == float(joint.margin.nominal < 0)
    assert joint.own.chance is None


def test_every_row_is_exact_with_all_inputs_at_their_nominal_values():
    """With the default scatter too: nothing is lost in planes and coordinates of loads."""
    analysis, limits = limits_of(boat({kind.name: kind.spread for kind in INPUT_KINDS}))
    margins = analysis.part_margins[0]
    made = [one for one in (*margins.own, *margins.other_checks) if one.kind == "checked"]
    assert_same(np.expm1(limits.nominal[:, : len(made)]), np.stack([one.margin for one in made], axis=1))


def test_loads_on_parts_have_the_same_coordinates_in_whatever_order_they_were_seen():
    """Rounding decides nothing: of rows from last to first the same directions, with the same signs."""
    file = boat({kind.name: kind.spread for kind in INPUT_KINDS})
    (rows,) = Analysis(run_study(file)).case_rows
    values = Responses(*(getattr(rows.values, one.name)[::-1].copy() for one in fields(Responses)))
    inputs = scattered_inputs(file)
    one, other = (
        BoatSamples.of(file, [each], inputs).from_coordinates for each in (rows, replace(rows, values=values))
    )
    assert other == pytest.approx(one, rel=1e-6, abs=1e-9 * np.abs(one).max())


def test_inputs_that_no_load_depends_on_change_no_load():
    """Each input in turn at one deviation: loads change with those of `changing_loads` alone, and with each of these."""
    _, limits = limits_of(boat({kind.name: kind.spread for kind in INPUT_KINDS}))
    nominal = np.array([one.nominal for one in limits.inputs])
    x = np.tile(nominal, (len(nominal), 1))
    x[np.diag_indices(len(nominal))] = [float(one.at_normal(np.array([1.0]))[0]) for one in limits.inputs]
    every = [np.concatenate([one.reshape(len(one), -1) for one in limits.samples.loads(at)], axis=1)
             for at in (nominal[None], x)]  # fmt: skip
    changed = np.flatnonzero((np.abs(every[1] - every[0]) > 1e-9 * np.abs(every[0]).max()).any(axis=1))
    assert set(changed) <= set(limits.samples.changing_loads)
    assert {limits.inputs[at].key for at in changed} >= {
        "racking",
        "stay_tension",
        "crossbeam_EI",
        "joint_stiffness",
    }


def test_the_lowest_margin_is_the_lowest_of_every_row():
    """With factors and without, and of samples that share their loads: as of all rows one by one."""
    _, limits = limits_of(boat({kind.name: kind.spread for kind in INPUT_KINDS}))
    rng, checks = np.random.default_rng(0), np.arange(len(limits.checks))
    x = limits.inputs_at(rng.standard_normal((6, len(causes(limits.inputs)))))
    other = np.setdiff1d(np.arange(x.shape[1]), limits.samples.changing_loads)
    assert len(other)
    x[1] = x[0]
    x[1, other] = x[2, other]
    rows = limits.log_margins(x)
    assert limits.lowest(x, checks) == pytest.approx(rows.min(axis=(1, 2)), rel=1e-10)
    made = limits.factor.shape[1]
    own, plain = limits.lowest_of_rows(x, *limits.samples.loads(x), checks)
    assert own == pytest.approx(rows.min(axis=1), rel=1e-10)
    without = (rows[..., :made] + np.log(limits.factor)).min(axis=1)
    assert plain[:, :made] == pytest.approx(without, rel=1e-10)


def test_samples_with_a_row_and_a_check_each():
    """As of all rows and checks; loads are shared by samples that no load tells apart, though not from row to row."""
    _, limits = limits_of(boat({kind.name: kind.spread for kind in INPUT_KINDS}))
    rng = np.random.default_rng(0)
    x = limits.inputs_at(rng.standard_normal((4, len(causes(limits.inputs))))).repeat(5, axis=0)
    other = np.setdiff1d(np.arange(x.shape[1]), limits.samples.changing_loads)
    x[::5, other] = x[5, other]
    rows = rng.integers(0, len(limits.factor), len(x))
    checks = np.append(rng.integers(0, len(limits.checks), len(x) - 1), len(limits.checks) - 1)
    whole = limits.log_margins(x)[np.arange(len(x)), rows, checks]
    assert limits.of_each(x, rows, checks) == pytest.approx(whole, rel=1e-10)


def test_parts_beside_are_sampled_when_they_are_asked_for():
    """The verdict's chances need none of their planes; later they are what they are where all is worked out at once."""
    _, limits = limits_of(boat({kind.name: kind.spread for kind in INPUT_KINDS}))
    u = standard_normals(SAMPLES_AT_ONCE + 20, len(causes(limits.inputs)), 1, "plain")
    joint = SampledJoint.of(limits, u)
    own = joint.own_chances
    assert "planes_of_parts" not in vars(limits)
    x, every = limits.inputs_at(u), np.arange(len(limits.checks))
    whole = limits.lowest_of_rows(x, *limits.samples.loads(x), every)
    for found, exact in zip(joint.of_checks, whole, strict=True):
        assert found == pytest.approx(exact, rel=1e-10)
    assert own == Chances.of(limits, np.flatnonzero(limits.own), *(one[:, limits.own] for one in whole))


def test_with_strength_alone_the_index_is_exact():
    """ln(1 + M) = ln(1 + M₀) + ln m: β = ln(1 + M₀)/σ for a part of which all checks are of metal; importance is all of it."""
    joint = analysed("metal", "± 20 %").joints[0]
    sigma = np.sqrt(np.log1p(0.2**2))
    for part in (one for one in joint.parts if one.part.endswith("pin") and one.index is not None):
        assert part.index == pytest.approx(np.log1p(part.margin) / sigma, rel=1e-5)
        assert part.chance == pytest.approx(norm.sf(part.index))
        assert part.importance == pytest.approx({"metal": 1.0})
        assert part.counted.low <= part.chance <= part.counted.high


def test_with_loads_alone_loads_and_margins_are_exact():
    """Racking times f: torque and bending of the racking case times f; elasticity 1 where it governs; the spread is σ."""
    file = boat({"racking": "± 50 %"}, CASES[:1])
    joint = found(file).joints[0]
    sigma = np.sqrt(np.log1p(0.25))
    assert joint.torque.log_deviation == pytest.approx(sigma, rel=0.01)
    [effect] = joint.effects
    assert (effect.torque.elasticity, effect.margin.elasticity) == pytest.approx((1.0, -1.0), abs=1e-5)
    either = joint.torque.nominal * np.exp(-sigma), joint.torque.nominal * np.exp(sigma)
    assert (effect.torque.low, effect.torque.high) == pytest.approx(either, rel=1e-6)
    assert (effect.below, effect.above) == ("× 0.624", "× 1.6")
    margins = [(1 + joint.margin.nominal) * np.exp(step) - 1 for step in (sigma, -sigma)]
    assert (effect.margin.low, effect.margin.high) == pytest.approx(margins, rel=1e-4)
    assert effect.torque.share == pytest.approx(1.0, abs=0.01)
    assert effect.remaining == pytest.approx(0.0, abs=0.1)
    assert joint.own.index == pytest.approx(np.log1p(joint.margin.nominal) / sigma, rel=1e-4)


def test_the_value_that_turns_the_verdict_is_one_plus_the_margin():
    """Of a load alone: times (1 + M) the margin is zero; the chance that it is beyond follows from its distribution."""
    joint = found(boat({"racking": "× 5"}, CASES[:1])).joints[0]
    [flip] = joint.flips
    assert flip.at == pytest.approx(1 + joint.margin.nominal, rel=1e-3)
    assert flip.becomes == ("inadequate" if joint.margin.nominal >= 0 else "adequate")
    assert flip.chance == pytest.approx(norm.sf(abs(np.log(flip.at)) / np.log(5)), rel=1e-3)


def rebuilt(file, x, limits):
    """The boat with the inputs of one sample put into its tables, in SI; loads by their values."""
    value = dict(zip([one.key for one in limits.inputs], x, strict=True))
    scale = lambda part, keys, by: part.model_copy(update={key: getattr(part, key) * by for key in keys})  # noqa: E731
    beam = scale(file.crossbeam, ("EI_vertical", "EI_lateral", "EA"), value["crossbeam_EI"])
    beam = scale(beam, ("GJ",), value["crossbeam_GJ"])
    bows = file.bows.model_copy(
        update={
            "stations": [
                scale(
                    scale(one, ("EI_vertical", "EI_lateral", "EA"), value["hull_EI"]),
                    ("GJ",),
                    value["hull_GJ"],
                )
                for one in file.bows.stations
            ]
        }
    )
    root = file.root.model_copy(
        update={key: getattr(file.root, key) * value["platform_EI"] for key in ("pitch", "roll")}
    )
    r, t, m = value["racking"], value["stay_tension"], value["racking_by_movement"]
    cases = [
        scale(file.cases[0], ("force",), r), scale(file.cases[1], ("tension",), t),
        scale(file.cases[2], ("movement",), m),
        scale(file.cases[3], ("tension",), t).model_copy(
            update={"also": [one.model_copy(update={"force": tuple(r * f for f in one.force)}) for one in file.cases[3].also]}
        ),
    ]  # fmt: skip
    return file.model_copy(update={"crossbeam": beam, "bows": bows, "root": root, "cases": cases})


def test_samples_agree_with_boats_built_from_their_values():
    """Loads at the joints to 1e-7 in every case, racking by a measured movement too; margins within the planes' error, 1 %."""
    names = (
        "racking",
        "racking_by_movement",
        "stay_tension",
        "platform_EI",
        "hull_EI",
        "hull_GJ",
        "crossbeam_EI",
        "crossbeam_GJ",
    )
    defaults = {kind.name: kind.spread for kind in reversed(INPUT_KINDS)}
    file = boat({name: defaults[name] for name in names})
    _, limits = limits_of(file)
    u = np.random.default_rng(4).standard_normal((4, len(causes(limits.inputs))))
    x = limits.inputs_at(u)
    at_joint, _ = limits.samples.loads(x)
    margins = limits.log_margins(x)[..., limits.own]
    for number in range(len(x)):
        one = Analysis(run_study(rebuilt(file, x[number], limits)))
        exact = one.case_rows[0].values.joint_load.reshape(-1, 12)
        assert at_joint[number] == pytest.approx(exact, rel=1e-7, abs=1e-6 * np.abs(exact).max())
        governing = one.part_margins[0].governing_check(own=True)[0].margin
        assert np.expm1(margins[number].min()) == pytest.approx(governing, abs=0.01 * (1 + governing))


def test_a_key_that_loads_are_linear_in_is_exact_beyond_its_scatter():
    """Stay's tang three standard deviations ahead: joint loads as of the boat with that key."""
    file = boat({"stay.forward": "± 8 mm", "stay.up": "± 0 mm"})
    _, limits = limits_of(file)
    moved = limits.samples.loads(np.array([[44.0]]))[0][0]
    exact = run_study(file.variant(Variant(name="ahead", set={"stay.forward": "44 mm"}))).joints[0]
    loads = np.stack([one.joint_load.ravel() for one in exact.cases])
    assert moved == pytest.approx(loads, rel=1e-7, abs=1e-6 * np.abs(loads).max())
    assert abs(loads[1, component_index("torque")]) > 1.0


def test_a_key_of_the_joint_moves_what_its_parts_carry():
    """Lugs 10 ± 0.5 mm thick: one standard deviation to either side gives the margins of those boats."""
    key = "joints.lugs.lugs.thickness"
    file = boat({key: "± 0.5 mm"}, CASES[:1])
    _, limits = limits_of(file)
    found_margins = np.expm1(limits.log_margins(np.array([[9.5], [10.5]]))[..., limits.own].min(axis=1))
    for number, text in enumerate(("9.5 mm", "10.5 mm")):
        made = Analysis(run_study(file.variant(Variant(name="other", set={key: text}))))
        own = [one for one in made.part_margins[0].own if one.kind == "checked"]
        exact = np.array([one.margin.min() for one in own])
        counts = exact < 3
        assert found_margins[number][counts] == pytest.approx(exact[counts], abs=0.01)


def test_wider_scatter_never_lowers_the_spread_of_margins():
    """Racking by 20, 50 and 100 %."""
    deviations = [
        analysed("racking", spread).joints[0].margin.log_deviation
        for spread in ("± 20 %", "± 50 %", "± 100 %")
    ]
    assert np.all(np.diff(deviations) > 0)


def test_the_chances_of_two_joints_to_be_the_better_sum_to_one_with_ties():
    """A over B, B over A and ties are all there is; the joint with the larger median is the better one under nearly every sea."""
    answer = found(on_two_joints({"racking": "± 50 %"}, CASES[:1]), 64)
    chances = {(one.joint, one.other): one.chance.value for one in answer.preferences}
    one, other = (joint.log_margin for joint in answer.joints)
    assert chances["lugs", "thicker"] + chances["thicker", "lugs"] + np.mean(one == other) == pytest.approx(
        1.0
    )
    better, worse = sorted(answer.joints, key=lambda joint: -joint.margin.median)
    assert better.margin.median > worse.margin.median + 0.01
    assert chances[better.joint, worse.joint] > 0.9


def test_failure_is_of_loads_beyond_capacity_without_the_safety_factor():
    """Of one check in proportion to racking f: P(f > (1 + M) × factor), and P(f > 1 + M) with the factor."""
    file = boat({"racking": "× 3"}, CASES[:1])
    joint = found(file, 1024).joints[0]
    analysis = Analysis(run_study(file))
    pins = [one for one in analysis.part_margins[0].own if one.kind == "checked" and one.part.endswith("pin")]
    lasting = [one for one in pins if one.factor.name not in IN_SERVICE]
    assert lasting
    [pin] = [one for one in joint.parts if one.part == "pin"]
    for counted, least in (
        (pin.counted, min((1 + one.margin[0]) for one in pins)),
        (pin.failure, min((1 + one.margin[0]) * one.factor_in(0).value for one in lasting)),
    ):
        assert counted.low <= norm.sf(np.log(least) / np.log(3)) <= counted.high


def test_inputs_of_one_cause_are_one_variable():
    """Bending and torsion of the crossbeam with the same cause rise and fall together; without one they do not."""
    entry = {"spread": "± 20 %", "cause": "plies"}
    for given, same in ((entry, True), ("± 20 %", False)):
        inputs = scattered_inputs(boat({"crossbeam_EI": given, "crossbeam_GJ": given}))
        assert len(causes(inputs)) == (1 if same else 2)
        x = inputs_at(
            inputs, cause_numbers(inputs), np.random.default_rng(1).standard_normal((50, len(causes(inputs))))
        )
        assert np.allclose(x[:, 0], x[:, 1]) is same


def test_the_same_seed_gives_the_same_answer_and_another_one_within_its_bounds():
    """Nothing else is drawn."""
    file = boat({"racking": "± 50 %", "metal": "± 6 %"}, CASES[:1])
    one, again, other = found(file), found(file), found(file, seed=2)
    assert one.joints[0].own == again.joints[0].own
    assert one.joints[0].torque != other.joints[0].torque
    bounds = one.joints[0].own.counted
    assert bounds.low <= other.joints[0].own.counted.value <= bounds.high


def test_a_martingale_s_pretension_scatters_with_its_own_factor():
    """Its part of the joint loads is in proportion to it."""
    stays = {"EA": "20 MN", "half_span": "2.2 m", "height": "0.1 m", "pretension": "5 kN"}
    strut = {"height": "0.7 m", "base": "0.1 m", "EA": "60 MN", "EI": "20 kN*m**2"}
    file = boat({"pretension": "± 20 %"}, CASES[:2], martingale=stays, striker=strut)
    _, limits = limits_of(file)
    one, double = limits.samples.loads(np.array([[1.0], [2.0]]))[0]
    twice = file.model_copy(update={"martingale": file.martingale.model_copy(update={"pretension": 10e3})})
    exact = np.stack([case.joint_load.ravel() for case in run_study(twice).joints[0].cases])
    assert double == pytest.approx(exact, rel=1e-7, abs=1e-6 * np.abs(exact).max())
    assert not np.allclose(one, double)


def test_a_scatter_that_leads_to_no_boat_is_a_fault():
    """The striker's base beyond its top one standard deviation away."""
    strut = {"height": "0.3 m", "base": "0.2 m", "EA": "60 MN", "EI": "20 kN*m**2"}
    file = boat({"striker.height": "± 0.15 m"}, CASES[:2], striker=strut)
    with pytest.raises(InputFault, match=r"striker\.height.*no boat at one standard deviation"):
        limits_of(file)


def test_a_joint_of_which_a_sample_has_no_answer_is_left_out_with_the_reason(monkeypatch):
    """The others are worked out; the report says why."""
    whole = JointSamples.loads

    def fails(self, x, rows=None):
        if self.joint.name == "thicker" and len(x) > 1:
            raise PoorSolution("variant 7: the equations were not solved accurately")
        return whole(self, x, rows)

    monkeypatch.setattr(JointSamples, "loads", fails)
    answer = found(on_two_joints({"racking": "± 50 %"}, CASES[:1]), 64)
    assert [one.joint for one in answer.joints] == ["lugs"]
    assert answer.preferences == ()
    [reason] = left_out_sentences(answer)
    assert reason.startswith("No chances of joint 'thicker': one of its samples has no answer (variant 7")


def test_an_estimated_input_that_cannot_be_compared_is_taken_as_exact():
    """A mark of [boat] on the striker's height, one deviation below its base: said, and the rest goes on."""
    strut = {"height": "0.3 m", "base": "0.2 m", "EA": "60 MN", "EI": "20 kN*m**2"}
    known = {"length": "11 m", "beam": "7 m", "displacement": "6 t", "rig_height": "15 m"}
    marked = known | {"estimated": ["striker.height ± 0.15 m"]}
    answer = found(boat({"racking": "± 50 %"}, CASES[:2], striker=strut, boat=marked), 64)
    [reason] = left_out_sentences(answer)
    assert reason.startswith(
        "Taken as exact: scatter of 'striker.height': has no boat at one standard deviation"
    )
    assert answer.joints[0].torque.log_deviation > 0


def test_a_key_known_to_a_factor_is_taken_at_that_factor_to_either_side():
    """Racking of a case × 2: half and double, and, since loads are linear in it, exact at four times."""
    file = boat({"cases.racking.force": "× 2"}, CASES[:1])
    _, limits = limits_of(file)
    assert limits.samples.keys[0].steps == pytest.approx((-0.5, 1.0))
    one, four = limits.samples.loads(np.array([[1.0], [4.0]]))[0]
    assert four == pytest.approx(4 * one, rel=1e-9, abs=1e-6 * np.abs(one).max())


def test_a_parabola_goes_through_its_three_points():
    """Of 3 − 2 x + 5 x² at −0.5, 0 and 2."""
    values = [np.array([3 - 2 * x + 5 * x**2]) for x in (-0.5, 0.0, 2.0)]
    assert parabola((-0.5, 2.0), *values) == pytest.approx(np.array([[-2.0], [5.0]]))
    with pytest.raises(ValueError, match="three points"):
        parabola((0.0, 2.0), *values)


def test_a_key_that_moves_pretension_too_is_exact_one_deviation_to_either_side():
    """Martingale's half-span 2.2 m ± 50 mm: joint loads as of those boats, pretension's part with them."""
    stays = {"EA": "20 MN", "half_span": "2.2 m", "height": "0.1 m", "pretension": "5 kN"}
    strut = {"height": "0.7 m", "base": "0.1 m", "EA": "60 MN", "EI": "20 kN*m**2"}
    key = "martingale.half_span"
    file = boat({key: "± 50 mm"}, CASES[:2], martingale=stays, striker=strut)
    _, limits = limits_of(file)
    for number, text in ((2.15, "2.15 m"), (2.25, "2.25 m")):
        made = run_study(file.variant(Variant(name="other", set={key: text}))).joints[0]
        exact = np.stack([one.joint_load.ravel() for one in made.cases])
        moved = limits.samples.loads(np.array([[number]]))[0][0]
        assert moved == pytest.approx(exact, rel=1e-7, abs=1e-6 * np.abs(exact).max())


def test_what_the_deformed_shape_adds_is_in_proportion_to_the_main_load():
    """One load in second order, nothing else: twice the load is twice the joint loads that the analysis has."""
    case = CASES[1] | {"second_order": True}
    file = boat({"stay_tension": "± 25 %"}, [case])
    analysis, limits = limits_of(file)
    exact = analysis.case_rows[0].values.joint_load.reshape(-1, 12)
    one, double = limits.samples.loads(np.array([[1.0], [2.0]]))[0]
    assert one == pytest.approx(exact, rel=1e-9, abs=1e-9)
    assert double == pytest.approx(2 * exact, rel=1e-9, abs=1e-9)
    assert np.abs(limits.samples.beyond).max() > 1e-3


def test_a_joint_s_stiffness_is_that_of_all_its_springs():
    """× 2 in a sample: the joint loads of the boat with springs twice as stiff; a rigid direction stays so."""
    springs = {"name": "sprung", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
    double = springs | {"pitch": "400 kN*m/rad", "roll": "600 kN*m/rad"}
    _, limits = limits_of(boat({"joint_stiffness": "× 2"}, CASES[:2], joints=[springs]))
    exact = run_study(boat({}, CASES[:2], joints=[double])).joints[0]
    loads = np.stack([one.joint_load.ravel() for one in exact.cases])
    moved = limits.samples.loads(np.array([[2.0]]))[0][0]
    assert moved == pytest.approx(loads, rel=1e-7, abs=1e-6 * np.abs(loads).max())
