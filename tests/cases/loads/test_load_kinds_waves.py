"""Waves on the frame: self-equilibrated, of the moments stated, mirrored, and refused where boat and hulls do not fit."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.input.combinations import default_combinations
from cases.loads.wave_balance import force_weights, moment_weights
from cases.loads.waves import immersed
from femcore.base.errors import InputFault
from femcore.solvers.solution import solve
from models.boat.hull_section import HullStation
from models.response.front_end import build
from models.response.joint_loads import JOINT_LOAD_NAMES, joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, as_loads, boat, case
from tests.models.boats import MIRROR, example_boat

FORM = {"displacement": "10 t", "waterline": "12.8 m", "breadth": "1.2 m"}
WAVES = FORM | {"steepness": 0.05}


def demo_waves(**keys):
    """The cases on the demo boat."""
    return case("waves", **WAVES | keys).expand(example_boat("demo"))


@pytest.mark.parametrize("keys", [{}, {"motion": "inertia"}, {"steepness": 1 / 7}])
def test_waves_are_in_equilibrium_on_the_free_boat(keys):
    """Heave, pitch and roll of the load on the frame are zero, so the support that balances the boat carries nothing."""
    front = build(example_boat("demo"), RIGID)
    for one in demo_waves(**keys):
        lifted = sum(abs(load.force[2]) for load in one.lines())
        assert lifted > 1e3
        assert acting(front, one) == pytest.approx(np.zeros(6), abs=1e-5)


def test_the_root_and_platform_carry_the_stated_moments():
    """Without a crossbeam, opposite moments M_r at the bows' roots are what the load ahead of them makes there."""
    on = example_boat("demo")
    front = build(on, None)
    for one in demo_waves():
        bows = [load for load in one.lines() if load.member.endswith("bow")]
        moment = {"port": 0.0, "starboard": 0.0}
        for load in bows:
            x = np.array([load.begin, load.end])
            q = np.array([load.force[2], load.end_force[2]])
            moment[load.member.split()[0]] += float(moment_weights(x) @ q)
        words = one.words()
        stated = float(words.split("root ")[1].split(" kN")[0])
        sense = 1 if words.endswith("port bow up") else -1
        assert sense * (moment["port"] - moment["starboard"]) / 2e3 == pytest.approx(stated, rel=5e-3)
        solution = solve(front.frame, as_loads(front, one))
        rise = solution.displacement[
            0, [front.frame.node_index[f"{side} stem"] for side in ("port", "starboard")], 2
        ]
        assert sense * (rise[0] - rise[1]) > 0


def test_all_of_the_load_arrives():
    """What acts along the bows, along the hulls aft and at the platform's last member is the whole load on a hull."""
    on = example_boat("demo")
    given = case("waves", **WAVES)
    form = given.form(on)
    front = build(on, RIGID)
    for one in given.expand(on):
        lines = sum(
            float(force_weights(np.array([load.begin, load.end])) @ [load.force[2], load.end_force[2]])
            for load in one.lines()
            if load.member.startswith("port")
        )
        placed = [load for load in one.loads() if load.place.startswith("port")]
        assert front.position(placed[0].place)[0] == on.platform.aft
        assert {load.member for load in one.lines()} == {
            f"{side} {part}" for side in ("port", "starboard") for part in ("bow", "hull aft")
        }
        both = sum(load.force[2] for load in one.loads()) + sum(
            float(force_weights(np.array([load.begin, load.end])) @ [load.force[2], load.end_force[2]])
            for load in one.lines()
        )
        assert both == pytest.approx(0, abs=1e-6 * form.weight)
        assert abs(lines + placed[0].force[2]) < form.weight


def test_the_starboard_bow_up_is_the_mirror_image():
    """The other sense loads the joints as in a mirror; every other case is one."""
    loads = joint_loads(answer(example_boat("demo"), RIGID, case("waves", **WAVES))[1])
    scale = np.abs(loads).max()
    assert loads[1::2, ::-1] * MIRROR / scale == pytest.approx(loads[::2] / scale, abs=1e-9)
    assert np.abs(loads[:, :, JOINT_LOAD_NAMES.index("vertical bending")]).max() > 1e3


def test_a_rigid_arm_carries_what_is_aft_of_the_platform():
    """Moving the aft end of the waterline moves load, not balance: with all hull within the platform nothing acts by the arm."""
    short = case("waves", **WAVES | {"waterline": "9.2 m", "fore": "4.3 m"}).expand(example_boat("demo"))
    assert all(not one.loads() for one in short)
    long = demo_waves()
    assert all(
        {load.place for load in one.loads()} == {"port hull at last member", "starboard hull at last member"}
        for one in long
    )


def test_one_heading_and_length_may_be_asked_for():
    """A given wave is the one that is run, and no wave is worse than the worst of all."""

    def size(one):
        return float(one.words().split("M_P = ")[1].split(" kN")[0])

    given = demo_waves(heading="30 deg", length="20 m")
    assert all("β = 30°, λ = 20 m" in one.words() for one in given)
    assert size(given[0]) < size(demo_waves()[0])


def test_a_height_is_held_to_what_a_wave_bears():
    """H of 2.2 m at all lengths; a wave steeper than 1/7 would break, so that shorter ones are lower."""
    waves = case("waves", **FORM, height="2.2 m")
    states = waves.waves(waves.form(example_boat("demo")))
    assert (states.height / states.length).max() == pytest.approx(1 / 7, rel=1e-12)
    assert states.height.max() == pytest.approx(2.2, rel=1e-12)
    with pytest.raises(ValidationError):
        case("waves", **FORM, steepness=0.2)


def test_stations_in_place_of_coefficients():
    """A hull entered by the stations that its coefficients make is loaded alike."""
    on = example_boat("demo")
    form = case("waves", **WAVES).form(on)
    rows = [
        {"at": f"{x!r} m", "breadth": f"{b!r} m", "area": f"{a!r} m**2"}
        for x, b, a in zip(form.x.tolist(), form.breadth.tolist(), form.area.tolist(), strict=True)
    ]
    by_station = case("waves", stations=rows, steepness=0.05).expand(on)
    for one, other in zip(by_station, demo_waves(), strict=True):
        assert one.words() == other.words()


def test_the_outline_ahead_of_the_bulkhead():
    """A triangle in the water: breadth and area by hand; on the demo boat the bows' own stations follow those entered aft."""
    wedge = HullStation(0.0, (0.0, 0.5), (0.0, 1.0))
    assert immersed(wedge, 0.6) == pytest.approx((0.6, 0.18), rel=1e-12)
    assert immersed(wedge, -0.1) == (0.0, 0.0)
    assert immersed(wedge, 2.0) == pytest.approx((1.0, 0.5), rel=1e-12)
    on = example_boat("demo")
    aft = [
        {"at": f"{x} m", "breadth": "1.1 m", "area": f"{a} m**2"}
        for x, a in ((-8, 0.2), (-4, 0.6), (0, 0.55))
    ]
    form = case("waves", stations=aft, waterline_height="0.6 m", steepness=0.05).form(on)
    assert form.x[-1] == on.bows.length
    station = on.bows.sections.outlines[1]
    at = np.interp(station.x, form.x, form.area)
    assert at == pytest.approx(immersed(station, 0.6)[1], rel=0.02)


def test_default_combinations_take_each_sense_once():
    """Both senses are cases, so that none is turned about: two factors, four waves."""
    on = example_boat("demo")
    rig = case("rig", tension="40 kN", rake="14 deg").model_copy(update={"name": "upwind"})
    waves = case("waves", **WAVES)
    made = default_combinations([(rig, [rig]), (waves, waves.expand(on))])
    assert len(made) == 2 * len(waves.expand(on))
    assert all(factor > 0 for one in made for factor in one.factors.values())


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"steepness": 0.05}, "has no displacement and no waterline and no breadth; give displacement, waterline and breadth"),
        (FORM, "has none of steepness, height"),
        (WAVES | {"height": "1 m"}, "has steepness and height"),
        (WAVES | {"stations": [{"at": "0 m", "breadth": "1 m", "area": "1 m**2"}]}, "beside stations, from which it follows"),
        (FORM | {"steepness": 0.2}, "beyond 1/7, where a wave breaks; give at most 0.142"),
        (WAVES | {"waterline_height": "0 m"}, "has a waterline_height without stations"),
    ],
)  # fmt: skip
def test_half_a_hull_is_refused(keys, said):
    """What is missing or given twice is named."""
    with pytest.raises(ValidationError, match=said):
        case("waves", **keys)


def test_waves_need_the_platform_and_a_waterline_past_the_bulkhead():
    """With root springs there is nothing that the hulls could twist; a waterline ends at the stem or aft of it."""
    with pytest.raises(InputFault, match=r"waves.*add \[platform\] with its members in place of \[root\]"):
        case("waves", **WAVES).expand(boat())
    on = example_boat("demo")
    with pytest.raises(InputFault, match="ahead of the stem"):
        case("waves", **WAVES | {"fore": "6 m"}).expand(on)
    with pytest.raises(InputFault, match="does not pass the bulkhead"):
        case("waves", **WAVES | {"waterline": "3 m"}).expand(on)


def test_what_is_not_in_it_is_stated():
    """The origin names formula, numbers, and what a quasi-static wave leaves out."""
    origin = demo_waves()[0].origin()
    assert "M_P = ∫ ½ (q_port − q_starboard) x dx" in origin.formula
    assert "without dynamic amplification, slamming" in origin.validity
    assert origin.inside
