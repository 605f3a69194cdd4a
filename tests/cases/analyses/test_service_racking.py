"""A service takes its racking from waves where there are any: how large, how distributed, and named as such."""

import json
import math

import numpy as np
import pytest

from cases.analyses.analysis import analyse
from cases.analyses.fatigue_life import fatigue_lives
from cases.analyses.service_racking import service_racking
from cases.analyses.study import run_study
from cases.input.service import METRES_PER_NAUTICAL_MILE, ServiceLife
from cases.loads.wave_balance import WaveStates, balanced_load, pitch_connecting_moment
from cases.report.data.results import results
from cases.report.sections.fatigue_section import fatigue_section
from femcore.base.errors import InputFault, InputFaults
from models.boat.platform import Platform, PlatformMember
from tests.models.boats import boat_file_of

DECK = {"EI_vertical": 20e6, "EI_lateral": 60e6, "GJ": 0.6e6, "EA": 300e6, "height": 1.0}
PLATFORM = Platform(
    members=(
        PlatformMember(name="main bulkhead", station=0.0, end_roll=40e6, GA_vertical=50e6, **DECK),
        PlatformMember(name="aft beam", station=-5.0, **DECK),
    )
)
RIGID = {"name": "rigid", "kind": "rigid"}
RACKING = {"name": "racking", "kind": "racking", "force": "5 kN"}
WAVES = {
    "name": "sea", "kind": "waves", "displacement": "9 t", "waterline": "11 m", "breadth": "1.2 m", "steepness": 0.05,
}  # fmt: skip
SPECTRUM = WAVES | {"sea": {"kind": "jonswap", "significant": "1.2 m", "period": "4 s"}}
RIG = {"name": "upwind", "kind": "rig", "tension": "30 kN", "rake": "14 deg"}
WELD = {
    "name": "weld", "component": "torque", "curve": "alloy fillet weld", "stress_per": "25 kPa/(N*m)",
    "plate": "15 mm", "throat": "8 mm",
}  # fmt: skip
SERVICE = {"distance": "15000 nmi", "speed": "7 kn", "period": "6 s"}


def file(*cases, **service):
    """The plain boat on a platform with a service."""
    made = boat_file_of([RIGID], list(cases), inboard=0.5, station=3.4, platform=PLATFORM)
    life = ServiceLife.model_validate(SERVICE | {"details": [WELD]} | service, context=FILE)
    return made.model_copy(update={"service": life})


FILE = type(boat_file_of([RIGID], [RACKING])).context({})


def racking(*cases, **service):
    """What its service takes as racking."""
    made = file(*cases, **service)
    return service_racking(made, made.service)


def test_waves_come_before_an_entered_racking_unless_the_service_names_that():
    """One case of waves is taken; named, the other is; of two cases of waves one must be named."""
    assert racking(RACKING).way == "entered"
    assert (racking(RACKING, WAVES).way, racking(RACKING, WAVES).case) == ("regular wave", "sea")
    assert racking(RACKING, SPECTRUM).way == "spectrum"
    assert racking(RACKING, WAVES, case="racking").way == "entered"
    assert racking(RACKING, WAVES, case="sea").case == "sea"
    assert racking(RACKING, WAVES | {"on": False}).way == "entered"
    two = file(WAVES, WAVES | {"name": "other"})
    with pytest.raises(
        InputFault, match="has 2 wave cases to take its cycles from; say which racks the boat"
    ):
        two.service.racking_case(two.load_cases, two.active_cases)
    found = file(WAVES, RACKING, case="nowhere").service.faults([], [], [])
    assert any("nowhere" in str(one) for one in found)


def test_a_wave_is_reached_once_in_three_hours():
    """One in N₀ = 3 h/6 s = 1800 cycles; 15,000 miles at 7 kn have N = 1.29·10⁶; Weibull: (ln N/ln N₀)^(1/h)."""
    cycles = 15000 * METRES_PER_NAUTICAL_MILE / (7 * METRES_PER_NAUTICAL_MILE / 3600) / 6
    for shape in (1.0, 0.8, 2.0):
        found = racking(WAVES, shape=shape)
        assert found.reference == pytest.approx(1800.0)
        assert found.scale == pytest.approx((math.log(cycles) / math.log(1800.0)) ** (1 / shape))
        assert found.shape == shape
        assert found.largest == pytest.approx(found.scale * found.moment)
    # a distance of three hours reaches just that wave
    once = racking(WAVES, distance=f"{7 * 3} nmi")
    assert once.scale == pytest.approx(1.0)
    assert racking(WAVES, once_in="100 h").scale < racking(WAVES).scale < racking(WAVES, once_in="1 h").scale
    assert racking(WAVES | {"scale": 2.0}).moment == pytest.approx(2 * racking(WAVES).moment)


def test_without_a_period_the_waves_own_counts():
    """Cycles by the mile have no period: the wave's √(2πλ/g) is taken, λ of the wave that is run."""
    found = racking(WAVES, speed=None, period=None, per_mile=100)
    length = file(WAVES).active_cases[0].worst(file(WAVES))[0].length
    assert found.reference == pytest.approx(3 * 3600 / math.sqrt(2 * math.pi * length / 9.80665))


def test_the_cycle_goes_from_one_bow_up_to_the_other():
    """Ranges are those of the two cases run, mirror images, times the scale; the mean is the steady load's."""
    made = file(RIG, WAVES, about="upwind")
    study = run_study(made)
    done = fatigue_lives(study)
    [joint], [found] = study.joints, done.joints
    up, down = (joint.case(f"sea, hulls twisted, {side} bow up").joint_load for side in ("port", "starboard"))
    assert found.ranges == pytest.approx(done.racking.scale * np.abs(up - down), rel=1e-9, abs=1e-6)
    assert found.mean == pytest.approx(
        joint.case("upwind").joint_load + done.racking.scale * (up + down) / 2, abs=1e-3
    )
    half = fatigue_lives(run_study(file(WAVES, swing=1.0)))
    assert half.joints[0].ranges == pytest.approx(half.racking.scale * np.abs(up), rel=1e-9, abs=1e-6)


def test_a_spectrum_is_taken_by_its_own_moments():
    """M_P in a sea of random phases has the variance m₀ (within its sampling), and √(2 ln N) times its root once in N cycles."""
    made = file(SPECTRUM)
    found, case = service_racking(made, made.service), made.active_cases[0]
    form, sea = case.form(made), case.sea
    omega = np.linspace(0.5, 4.0, 400) * 2 * math.pi / sea.period
    shortest = math.sqrt(2 * math.pi * 9.80665 / (0.3 * form.length))
    omega = omega[omega < max(shortest, 4 * math.pi / sea.period)]
    length = 2 * math.pi * 9.80665 / omega**2
    amplitude = np.sqrt(2 * sea.density(omega) * (omega[1] - omega[0]))
    rng = np.random.default_rng(3)
    samples = []
    for _ in range(200):
        phase = rng.uniform(0, 2 * math.pi, len(omega))
        states = WaveStates(np.full_like(omega, found.heading), length, np.full_like(omega, 2e-4), phase)
        of_one = pitch_connecting_moment(form, balanced_load(form, states)) / 1e-4
        samples.append(float(of_one @ amplitude))
    # the standard deviation of 200 samples is uncertain by 1/√400
    deviation = found.significant / 2
    assert np.std(samples) == pytest.approx(deviation, rel=0.15)
    assert found.largest == pytest.approx(deviation * math.sqrt(2 * math.log(made.service.cycles)))
    assert found.shape == 2.0
    assert fatigue_lives(run_study(made)).shape == 2.0


def test_a_higher_sea_racks_in_proportion():
    """Linear transfer functions: twice the significant height is twice the moment; a case named by M_P is not changed by it."""
    higher = SPECTRUM | {"sea": SPECTRUM["sea"] | {"significant": "2.4 m"}}
    low, high = racking(SPECTRUM), racking(higher)
    assert high.largest == pytest.approx(2 * low.largest, rel=1e-9)
    assert (high.moment, high.period, high.heading) == (low.moment, low.period, low.heading)


def test_waves_that_do_not_rack_the_boat_are_refused():
    """From ahead both hulls move alike: there is no racking to take."""
    with pytest.raises(InputFault, match="whose waves do not twist the hulls"):
        racking(WAVES | {"heading": "0 deg"})


def test_too_short_a_time_is_a_fault():
    """Of less than a hundred cycles there is no distribution."""
    with pytest.raises((InputFaults, ValueError), match="too few cycles"):
        file(WAVES, once_in="60 s")


@pytest.mark.parametrize(
    ("case", "said"),
    [
        (RACKING, "entered as reached once in that distance; ranges by Weibull's distribution of shape 1"),
        (WAVES, "is taken as reached once in 1,800 cycles; Weibull's distribution of shape 1 through it"),
        (SPECTRUM, "by its spectrum's own moments, as if all of the distance was sailed in it"),
    ],
)
def test_report_and_results_say_which(case, said):
    """The sentence and the fields of the results give the way, the moments and the scale that the ranges have."""
    found = analyse(file(case))
    text = " ".join(fatigue_section(found.study, found).words)
    written = json.loads(results(found).json())["wear"]
    way = written["racking"]
    assert said in text
    assert (written["case"], way["case"]) == (case["name"], case["name"])
    assert way["way"] == found.fatigue_lives.racking.way
    if way["moment"] is None:
        assert way["scale"] == 1.0
    else:
        assert way["largest"] == pytest.approx(way["scale"] * way["moment"])
        shown = text.replace("\u00a0", " ")
        for size in (way["moment"], way["largest"]):
            assert any(f"{size / 1000:.{digits}f} kN·m" in shown for digits in (0, 1, 2))
