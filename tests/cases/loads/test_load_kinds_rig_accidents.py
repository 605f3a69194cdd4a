"""The rig beyond its steady pull: broken, let go, flogging, gybed, sheeted; by hand, by reversal, in the mirror."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.input.combinations import default_combinations, uncombined_reasons
from cases.loads.sheet import SHEET_COEFFICIENT
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, boat_with_longeron, case
from tests.models.boats import example_boat

RAKE = {"rake": "30 deg"}
LINE = np.array([-0.5, 0.0, math.sqrt(3) / 2])
"""Up a stay raked by 30°."""


@pytest.mark.parametrize("factor", [1.0, 1.25])
def test_a_stay_that_breaks_pulls_with_its_breaking_load(factor):
    """n × 80 kN along the stay's line; an extreme load."""
    on = boat()
    (one,) = case("stay breaks", breaking="80 kN", factor=factor, **RAKE).expand(on)
    assert acting(build(on, RIGID), one)[:3] == pytest.approx(factor * 80e3 * LINE, rel=1e-12, abs=1e-6)
    assert one.load_level == "extreme"
    assert one.origin().inside


def test_the_breaking_load_is_the_boats_where_it_is_left_out():
    """That of [stay.line]; where there is none, one sentence with the cure."""
    demo = example_boat("demo")
    (one,) = case("stay breaks", **RAKE).expand(demo)
    assert math.hypot(*one.loads()[0].force) == pytest.approx(demo.stay.line.breaking_load, rel=1e-12)
    with pytest.raises(
        InputFault, match="stay breaks: breaking: nothing says what breaks the stay; give breaking"
    ):
        case("stay breaks", **RAKE).expand(boat())


def test_no_fitting_is_made_for_less_than_the_wire():
    """A factor below 1 is refused."""
    with pytest.raises(ValidationError, match="factor"):
        case("stay breaks", breaking="80 kN", factor=0.8, **RAKE)


def test_a_stay_let_go_is_the_elastic_state_reversed():
    """A linear frame: joint loads and movements are those under the stay's pull, with their signs changed."""
    on = boat()
    _, solution = answer(
        on, RIGID, case("rig", tension="40 kN", **RAKE), case("stay let go", tension="40 kN", **RAKE)
    )
    pulled, let_go = joint_loads(solution)
    assert let_go == pytest.approx(-pulled, rel=1e-9, abs=1e-6)
    assert solution.displacement[1] == pytest.approx(-solution.displacement[0], rel=1e-9, abs=1e-12)


def test_damping_takes_of_the_rebound():
    """70 % of it: 0.7 times the pull, down and forward."""
    on = boat()
    one = case("stay let go", tension="40 kN", rebound=0.7, **RAKE)
    assert acting(build(on, RIGID), one)[:3] == pytest.approx(-28e3 * LINE, rel=1e-12, abs=1e-6)
    with pytest.raises(ValidationError, match="rebound"):
        case("stay let go", tension="40 kN", rebound=1.1, **RAKE)


def test_flogging_is_twice_the_steady_pull_to_either_side():
    """20 kN at 10° of lean: 3.47 kN to port, then to starboard, the rest in the plane of symmetry."""
    on = boat()
    front = build(on, RIGID)
    port, starboard = (acting(front, one)[:3] for one in case("flogging", steady="10 kN", **RAKE).expand(on))
    lean = math.radians(10)
    assert port == pytest.approx(20e3 * (LINE * math.cos(lean) + [0, math.sin(lean), 0]), rel=1e-12, abs=1e-6)
    assert starboard == pytest.approx(port * [1, -1, 1], rel=1e-12, abs=1e-6)
    assert len(case("flogging", steady="10 kN", lean="0 deg", **RAKE).expand(on)) == 1


def test_a_gybed_sail_leans_thirty_degrees_to_either_side():
    """Half of 9 kN across, cos 30° of it in the plane of symmetry; the mirror image on the other gybe."""
    on = boat_with_longeron(prod=1.2)
    front = build(on, RIGID)
    port, starboard = (acting(front, one)[:3] for one in case("gybe", tension="9 kN", **RAKE).expand(on))
    assert port == pytest.approx(9e3 * (LINE * math.cos(math.pi / 6) + [0, 0.5, 0]), rel=1e-12)
    assert starboard == pytest.approx(port * [1, -1, 1], rel=1e-12)


def test_the_sheet_by_the_sailmakers_formula():
    """0.21 N/(m² kn²) by common practice; 35 m² in 20 kn: 376.7 ft² × 400 × 0.00431 = 649.5 lbf = 2.889 kN."""
    assert pytest.approx(0.21, abs=0.005) == SHEET_COEFFICIENT
    on = boat()
    one = case("sheet", area="35 m**2", wind="20 kn", **RAKE)
    assert one.sheet_load == pytest.approx(2889.1, rel=1e-4)
    assert acting(build(on, RIGID), one)[:3] == pytest.approx(one.sheet_load * LINE, rel=1e-12, abs=1e-6)
    # in its own units: 100 ft² in 10 kn are 43.1 lbf
    assert case("sheet", area="9.290304 m**2", wind="10 kn", **RAKE).sheet_load == pytest.approx(
        43.1 * 4.44822, rel=1e-5
    )


def test_twice_the_wind_is_four_times_the_sheet():
    """And a sheet that comes back loads its block twice."""
    gentle, strong, turned = (
        case("sheet", area="35 m**2", wind=wind, turn=turn, **RAKE)
        for wind, turn in (("10 kn", 1), ("20 kn", 1), ("10 kn", 2))
    )
    assert strong.sheet_load == pytest.approx(4 * gentle.sheet_load, rel=1e-12)
    assert turned.loads()[0].force == pytest.approx(2 * np.array(gentle.loads()[0].force), rel=1e-12)


def test_accidents_are_not_combined_by_default():
    """A pair of rig and racking is made of the steady pull alone."""
    on = boat()
    cases = [
        case("rig", tension="40 kN", **RAKE),
        case("racking", force="4 kN"),
        case("stay breaks", breaking="80 kN", **RAKE),
        case("stay let go", tension="40 kN", **RAKE),
        case("grounding", displacement="8 t"),
    ]
    names = ["upwind", "sea", "breaks", "go", "aground"]
    cases = [one.model_copy(update={"name": name}) for one, name in zip(cases, names, strict=True)]
    made = default_combinations([(one, one.expand(on)) for one in cases])
    assert {name for one in made for name in one.factors} == {"upwind", "sea"}
    reasons = uncombined_reasons(cases)
    assert [reason.split("‘")[1].split("’")[0] for reason in reasons] == ["breaks", "go", "aground"]
    assert reasons[0].endswith("because the stay breaks at that load whatever the sea adds.")


def test_a_slam_takes_the_seas_place_in_the_pair_and_has_no_reverse():
    """100 % of it with half of the rig's load, and 50 % with all of that: two combinations; water from below never pulls down."""
    on = boat()
    cases = [
        case("rig", tension="40 kN", **RAKE).model_copy(update={"name": "upwind"}),
        case("beam slam", speed="4 m/s", depth="200 mm").model_copy(update={"name": "slam"}),
    ]
    made = default_combinations([(one, one.expand(on)) for one in cases])
    assert [one.factors for one in made] == [{"slam": 1.0, "upwind": 0.5}, {"slam": 0.5, "upwind": 1.0}]
