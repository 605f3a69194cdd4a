"""A test on a boat with a known truth: recovered within its scatter, and whatever is wrong with model or readings is found."""

from dataclasses import replace

import numpy as np
import pytest

from cases.analyses.calibration import calibrate
from cases.analyses.fitting import fit
from cases.analyses.reading_errors import SLIPS
from cases.analyses.readings_fit import gathered
from cases.analyses.stiffness_priors import prior_scatter
from cases.input.boat_test import BoatTestFile
from cases.input.tested_boat import runs
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import collect
from models.boat.calibration import Calibration
from models.response.boat_on_test import UNKNOWNS
from models.response.front_end import build
from models.response.platform_frame import platform_response
from tests.cases.analyses.synthetic_test import GAUGES, PLATFORM, altered, blank, boat, gauge, read

TRUTH = {
    "hull_EI": 1.15, "hull_GJ": 0.85, "platform_EI": 0.75, "platform_fore_to_aft": 1.3, "platform_GJ": 1.2,
    "crossbeam_EI": 0.97, "crossbeam_GJ": 1.05, "joint_pitch": 0.6, "joint_roll": 1.4,
}  # fmt: skip
BOAT = boat()
REPEATS, STATED = 200, 0.95


def calibrated(tables, of=BOAT):
    """The result of those tables."""
    return calibrate(of, BoatTestFile(**tables), "boat.toml", "test.toml")


def checked_and_calibrated(tables):
    """As from a file: what its tables get wrong of one another comes first."""
    collect("test.toml", BoatTestFile(**tables).faults())
    return calibrated(tables)


def factor(found, name):
    """One of the factors found."""
    return next(one for one in found.factors if one.name == name)


@pytest.fixture(scope="module")
def good():
    """A sound test on a boat of that truth."""
    return calibrated(read(blank(), BOAT, TRUTH, seed=3))


def test_known_truths_are_within_the_stated_scatter_as_often_as_stated():
    """200 boats drawn from the prior, each read with noise: 95 % of true factors are within 1.96 standard deviations.

    Bounds: three standard deviations of a share of 200 repeats, for the truths of one boat are not independent.
    """
    random = np.random.default_rng(11)
    prior = prior_scatter(BOAT, "plates")
    on_test = runs(BoatTestFile(**blank()), build(BOAT, BOAT.joints[0].stiffness()), UNKNOWNS, "test")
    problem = gathered(on_test, UNKNOWNS, prior).problem
    within, probabilities = [], []
    for _ in range(REPEATS):
        truth = random.normal(size=len(problem.prior)) * problem.prior
        readings = problem.model(truth)[0] + problem.free @ random.normal(size=problem.free.shape[1])
        found = fit(problem.of_readings(readings + random.normal(size=len(readings)) * problem.scatter))
        within.append(np.abs(found.p - truth) < 1.96 * np.sqrt(np.diag(found.covariance)))
        probabilities.append(found.probability)
    share = float(np.mean(within))
    assert abs(share - STATED) < 3 * np.sqrt(STATED * (1 - STATED) / REPEATS)
    assert np.mean(np.array(probabilities) < 0.05) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / REPEATS)


def test_what_was_learned_is_near_the_truth_and_the_rest_is_not_quoted(good):
    """Joint and platform within three of their standard deviations; the tube, which no reading sees, is refused."""
    assert good.verdict == "fits"
    for name in ("joint_pitch", "joint_roll", "platform_EI", "hull_GJ"):
        one = factor(good, name)
        assert one.quoted
        assert abs(np.log(one.factor / TRUTH[name])) < 3 * one.after
    assert not factor(good, "crossbeam_EI").quoted
    assert "crossbeam_EI" not in good.quoted
    assert not good.suspects
    assert not good.outliers


def test_learned_is_what_is_gone_of_the_priors_variance(good):
    """1 − (σ_post/σ_prior)² for each, and correlations are those of a covariance."""
    for one in good.factors:
        assert one.learned == pytest.approx(1 - (one.after / one.before) ** 2)
    assert np.diag(good.correlation) == pytest.approx(np.ones(len(good.factors)))
    assert np.linalg.eigvalsh(good.correlation).min() > 0


def test_values_that_follow_are_those_of_the_boat_with_the_factors(good):
    """φ per moment and x_c of a boat calibrated with the found factors; the joint's springs times theirs; less scatter after."""
    factors = {one.name: one.factor for one in good.factors if not one.name.startswith("joint")}
    alone = platform_response(BOAT.model_copy(update={"calibration": Calibration(**factors)}))
    twist, centre, pitch, roll = good.values
    assert twist.after == pytest.approx(alone.twist_per_moment)
    assert centre.after == pytest.approx(alone.twist_centre)
    assert pitch.after == pytest.approx(300e3 * factor(good, "joint_pitch").factor)
    assert roll.after_scatter == pytest.approx(roll.after * factor(good, "joint_roll").after)
    assert all(one.after_scatter < one.before_scatter for one in good.values)


def test_a_softer_joint_passes_less_torque_after_the_test(good):
    """Torque falls with the pitch spring, which was found at 0.6; its scatter by stiffness falls to that of the test."""
    [racking] = good.joint_loads
    assert racking.torque[1] < racking.torque[0]
    assert all(after < 0.5 * before for before, after in good.racking_scatter.values())


def test_hulls_that_differ_are_detected():
    """The true port bow has a third of the other's stiffness, the model's are alike: it does not fit, and nothing is quoted."""
    front = build(BOAT, BOAT.joints[0].stiffness())
    bow, EIy = front.frame.members["port bow"].elements, front.frame.EIy.copy()
    EIy[bow] /= 3
    odd = replace(front, frame=replace(front.frame, EIy=EIy))
    found = calibrated(read(both_stems(), BOAT, TRUTH, seed=3, front=odd))
    assert found.verdict == "does not fit"
    assert not found.quoted
    assert not found.suspects
    [racking] = found.joint_loads
    assert racking.torque[0] == racking.torque[1]
    assert calibrated(read(both_stems(), BOAT, TRUTH, seed=3)).verdict == "fits"


def both_stems():
    """The test with a step in which both bows are lifted, and a gauge on either against a bar from its bulkhead."""
    tables = blank()
    bars = [
        gauge(f"{s} bar", "height", f"{s} stem", 5e-4, reference=f"{s} hull at bulkhead")
        for s in ("port", "starboard")
    ]
    one = tables["tests"][0]
    one["gauges"] = [*GAUGES, *bars]
    one["supports"] = [{"place": f"{s} hull at {m}"} for s in ("port", "starboard") for m in ("fore", "aft")]
    one["gauges"] = [g for g in one["gauges"] if g["name"] != "port bulkhead"]
    lifted = [{"up": {f"{s} stem": f for s in ("port", "starboard")}} for f in (0.0, 3e3, 6e3)]
    one["steps"] = [
        s | {"readings": {g["name"]: 0.0 for g in one["gauges"]}} for s in (*one["steps"], *lifted)
    ]
    return tables


def test_a_support_that_is_not_where_it_is_said_to_be_is_detected():
    """One block under the bulkhead, said to be aft: statics is another, the model does not fit."""
    tables = blank()
    tables["tests"][0]["supports"][1] = {"place": "port hull at fore"}
    true = read(tables, BOAT, TRUTH, seed=3)
    true["tests"][0]["supports"] = blank()["tests"][0]["supports"]
    found = calibrated(true)
    assert found.verdict == "does not fit"
    assert not found.suspects
    assert found.probability < 1e-6


@pytest.mark.parametrize(
    ("name", "slip", "words"),
    [
        ("starboard heel", -1.0, "with the wrong sign"),
        ("port twist", 1000.0, "a thousand times too large"),
        ("port bulkhead", 1 / 25.4, "inches written as millimetres"),
        ("port hull", np.pi / 180 * 1, "radians written as degrees"),
    ],
)
def test_a_slip_of_sign_or_unit_is_named(name, slip, words):
    """One gauge's readings times −1, 1000, 1/25.4 or π/180: that gauge is named with the slip, and the others fit."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    found = calibrated(altered(tables, name, lambda _, value: slip * value))
    assert found.verdict == "does not fit"
    [one] = found.suspects
    assert one.gauges == (name,)
    assert words in one.words
    assert abs(np.log(one.factor / slip)) < 0.47


def test_a_slip_of_a_gauge_that_no_other_predicts_is_named():
    """Afloat all of the boat may pitch in each step, so that either hull's pitch alone says nothing: yet with a sign changed the
    hulls' twist is wrong, and just one gauge corrects it.
    """
    tables = read(blank(), BOAT, TRUTH, seed=3)
    one = tables["tests"][0]
    one["settling"] = True
    one["gauges"] = [
        gauge_
        for gauge_ in one["gauges"]
        if gauge_["name"] not in {"port stem", "starboard beam", "port bulkhead"}
    ]
    for step in one["steps"]:
        step["readings"] = {g["name"]: step["readings"][g["name"]] for g in one["gauges"]}
    assert calibrated(tables).verdict == "fits"
    [suspect] = calibrated(altered(tables, "port hull", lambda _, value: -value)).suspects
    assert (suspect.gauges, suspect.factor, suspect.words) == (("port hull",), -1.0, "with the wrong sign")


def test_a_whole_kind_of_gauges_with_one_slip_is_named():
    """Every inclination with the wrong sign: the four are named together."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    inclinations = [one["name"] for one in GAUGES if one["kind"] == "inclination"]
    for name in inclinations:
        tables = altered(tables, name, lambda _, value: -value)
    [one] = calibrated(tables).suspects
    assert list(one.gauges) == inclinations
    assert one.words == "with the wrong sign"


@pytest.mark.parametrize(
    "slips",
    [
        {"port hull": -1.0, "starboard heel": -1.0},
        {"starboard heel": -1.0, "port bulkhead": 1 / 25.4},
        {"port stem": 1000.0, "port hull": -1.0},
    ],
)
def test_two_slips_at_once_are_both_named(slips):
    """Two gauges of one kind or of two, each with a slip of its own: neither alone makes the others fit, both together do."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    for name, slip in slips.items():
        tables = altered(tables, name, lambda _, value, slip=slip: slip * value)
    found = calibrated(tables)
    assert found.verdict == "does not fit"
    assert {one.gauges: one.words for one in found.suspects} == {
        (name,): SLIPS[slip] for name, slip in slips.items()
    }
    assert all(one.together for one in found.suspects)


def test_a_single_bad_reading_is_an_outlier_by_name():
    """One reading ten of its standard deviations off: named with step, what it reads and what is expected; no other is."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    found = calibrated(
        altered(tables, "port twist", lambda step, value: value + (5e-4 if step == 2 else 0.0))
    )
    [one] = found.outliers
    assert (one.gauge, one.step) == ("port twist", 3)
    assert one.reading - one.expected == pytest.approx(5e-4, abs=2e-4)
    assert one.deviations > 5
    assert not found.suspects


def test_hysteresis_is_play_and_leaves_the_stiffness_alone(good):
    """A gauge that reads 0.3 mrad more on the way down: that is its hysteresis, and the joint's stiffness stays what it was."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    falls = {4, 5, 6}
    found = calibrated(
        altered(tables, "port twist", lambda step, value: value + (3e-4 if step in falls else 0.0))
    )
    [one] = [gauge_ for gauge_ in found.gauges if gauge_.has_play]
    assert one.gauge == "port twist"
    before = next(gauge_ for gauge_ in good.gauges if gauge_.gauge == "port twist")
    assert one.hysteresis - before.hysteresis == pytest.approx(3e-4, rel=0.02)
    assert factor(found, "joint_pitch").factor == pytest.approx(factor(good, "joint_pitch").factor, rel=0.02)


def test_loads_that_are_off_are_found_from_a_cell_of_their_own():
    """The jack's cell reads 10 % too little, a cell under one support shows it: the load's factor is 1.1 within its scatter."""
    tables = blank()
    cell = gauge("cell", "reaction", "port hull at aft", 20.0)
    tables["tests"][0] |= {"gauges": [*GAUGES, cell], "load_scatter": 0.1}
    for step in tables["tests"][0]["steps"]:
        step["readings"] = step["readings"] | {"cell": 0.0}
    true = read(tables, BOAT, TRUTH, seed=4)
    for step in true["tests"][0]["steps"]:
        step["up"] = {"port stem": step["up"]["port stem"] / 1.1}
    [load] = calibrated(true).loads
    assert load.factor == pytest.approx(1.1, abs=3 * load.after)
    assert load.after < 0.02


def test_the_stays_pull_is_found_from_its_gauge():
    """The stay stated at 8 kN ± 25 % pulls 10 kN by its gauge: that pull is found, within the gauge's scatter."""
    tables = blank()
    tension = {"name": "stay", "kind": "stay tension", "scatter": 50.0}
    tables["tests"][0] |= {"gauges": [*GAUGES, tension]}
    for number, step in enumerate(tables["tests"][0]["steps"]):
        step |= {"stay": 0.0 if number < 4 else 10e3, "readings": step["readings"] | {"stay": 0.0}}
    true = read(tables, BOAT, TRUTH, seed=5)
    for step in true["tests"][0]["steps"]:
        step["stay"] *= 0.8
    [load] = calibrated(true).loads
    assert load.kind == "stay"
    assert load.factor == pytest.approx(1.25, rel=0.01)


def test_sinking_supports_do_not_matter_where_they_are_expected_to_sink():
    """Every step's heave, trim and heel drawn at random: with `settling` the joint is found all the same."""
    tables = blank()
    tables["tests"][0] |= {
        "settling": True,
        "gauges": [*GAUGES, gauge("starboard stem", "height", "starboard stem", 5e-4)],
    }
    for step in tables["tests"][0]["steps"]:
        step["readings"] = step["readings"] | {"starboard stem": 0.0}
    true, random = read(tables, BOAT, TRUTH, seed=6), np.random.default_rng(1)
    rigid = runs(BoatTestFile(**true), build(BOAT, BOAT.joints[0].stiffness()), UNKNOWNS, "t")[0].model.rigid
    for step in true["tests"][0]["steps"]:
        moved = rigid @ (random.normal(size=3) * [0.02, 0.003, 0.003])
        for one, more in zip(true["tests"][0]["gauges"], moved.tolist(), strict=True):
            step["readings"][one["name"]] += more
    found = calibrated(true)
    assert found.verdict == "fits"
    one = factor(found, "joint_pitch")
    assert abs(np.log(one.factor / TRUTH["joint_pitch"])) < 3 * one.after
    true["tests"][0]["settling"] = False
    assert (
        calibrated(
            {**true, "tests": [true["tests"][0] | {"gauges": GAUGES, "steps": _only_gauges(true)}]}
        ).verdict
        == "does not fit"
    )


def _only_gauges(tables):
    """The steps without the gauge at a rigid support, which a boat that does not settle cannot have."""
    keep = {one["name"] for one in GAUGES}
    return [
        step | {"readings": {name: value for name, value in step["readings"].items() if name in keep}}
        for step in tables["tests"][0]["steps"]
    ]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"joint": "plate"}, "joint 'plate' does not exist"),
        ({"unknowns": ["hull_EI", "crossbeam_GI"]}, "unknown 'crossbeam_GI' does not exist"),
        ({"unknowns": ["joint_pitch", "crossbeam_EI"]}, "'crossbeam_EI' cannot be found"),
        ({"unknowns": []}, "names no unknown"),
    ],
)
def test_what_a_test_cannot_find_is_one_sentence(change, said):
    """Wrong names, and an unknown of which the readings say nothing: refused with what would help."""
    tables = read(blank(), BOAT, TRUTH, seed=3) | change
    with pytest.raises((InputFault, InputFaults)) as caught:
        checked_and_calibrated(tables)
    assert said in str(caught.value)
    assert ";" in str(caught.value)


def test_heights_alone_never_see_the_joint():
    """No gauge across the joint: its pitch is not found, and the message says what would find it."""
    tables = read(blank(unknowns=["joint_pitch"]), BOAT, TRUTH, seed=3)
    one = tables["tests"][0]
    one["gauges"] = [g for g in GAUGES if g["kind"] == "height"]
    keep = {g["name"] for g in one["gauges"]}
    one["steps"] = [
        s | {"readings": {k: v for k, v in s["readings"].items() if k in keep}} for s in one["steps"]
    ]
    said = r"'joint_pitch' cannot be found.*read the turn of the beam's end against the hull in pitch"
    with pytest.raises(InputFault, match=said):
        calibrated(tables)


def test_an_unknown_that_is_not_asked_for_still_scatters():
    """Asked for one alone, its scatter is that of the fit of all: what else is not known is not taken as known."""
    tables = read(blank(), BOAT, TRUTH, seed=3)
    every, alone = calibrated(tables), calibrated(tables | {"unknowns": ["joint_pitch"]})
    assert [one.name for one in alone.factors] == ["joint_pitch"]
    assert factor(alone, "joint_pitch") == factor(every, "joint_pitch")
    assert list(alone.quoted) == ["joint_pitch"]


def test_two_unknowns_with_one_effect_are_refused_with_what_would_tell_them_apart():
    """Heights of one bow alone under one load: hull bending and joint stiffness cannot be told apart by one number."""
    tables = read(blank(unknowns=["joint_pitch", "joint_roll"]), BOAT, TRUTH, seed=3)
    one = tables["tests"][0]
    keep = "port bend"
    one["gauges"] = [g for g in GAUGES if g["name"] == keep]
    for step in one["steps"]:
        step["readings"] = {keep: step["readings"][keep]}
    with pytest.raises(InputFault) as caught:
        calibrated(tables)
    assert "'joint_pitch' and 'joint_roll' do the same to every reading" in str(caught.value)


def test_fewer_readings_than_unknowns_are_refused():
    """Two readings of one gauge, one of them its zero: one number, for two unknowns."""
    tables = read(blank(unknowns=["joint_pitch", "joint_roll"]), BOAT, TRUTH, seed=3)
    one = tables["tests"][0]
    one["gauges"] = [g for g in GAUGES if g["name"] == "port bend"]
    one["steps"] = [s | {"readings": {"port bend": s["readings"]["port bend"]}} for s in one["steps"][:2]]
    with pytest.raises(InputFault, match="1 readings beyond the gauges' zeros are fewer than 2 unknowns"):
        calibrated(tables)


def test_a_boat_on_root_springs_is_refused_with_its_cure():
    """A test moves what is aft of the roots, which springs to the ground are not."""
    plain = boat(platform=None)
    with pytest.raises(InputFault, match=r"boat.toml: has root springs .*; describe \[platform\]"):
        calibrated(blank(), plain)


def test_a_calibrated_boat_tested_again_has_nothing_more_to_change():
    """The same readings without noise on the boat with the true factors: every factor found is 1."""
    stiffened = {key: value for key, value in TRUTH.items() if not key.startswith("joint")}
    after = BOAT.model_copy(update={"calibration": Calibration(**stiffened)})
    found = calibrated(read(blank(), after, {}, noise=0.0), after)
    assert [one.factor for one in found.factors] == pytest.approx([1.0] * len(found.factors), abs=1e-5)


def test_the_prior_of_members_by_themselves_gives_mean_and_ratio():
    """Two members, each ± 60 % on its own: the mean scatters by 1/√2 of that, fore over aft by √2."""
    each = np.sqrt(np.log1p(0.6**2))
    prior = prior_scatter(BOAT, "plates")
    assert prior["platform_EI"] == pytest.approx(each / np.sqrt(2), rel=1e-3)
    assert prior["platform_fore_to_aft"] == pytest.approx(each * np.sqrt(2), rel=1e-3)
    assert prior["joint_pitch"] == pytest.approx(np.log(2), rel=1e-3)
    assert len(PLATFORM["members"]) == 2
