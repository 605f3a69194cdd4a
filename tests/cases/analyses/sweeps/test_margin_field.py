"""Over two inputs a sweep is its lowest margin; the boat's scatter encloses what it says; what is bettered is left out."""

import numpy as np
import pytest
from matplotlib.path import Path as Outline

from cases.analyses.sizing import size_boat
from cases.analyses.sweeps.margin_field import PROBABILITY, margin_fields
from cases.analyses.sweeps.pareto import candidates_of, candidates_of_sizes, unbettered
from cases.analyses.sweeps.plan import PreparedSweep
from cases.analyses.sweeps.run import run_sweep
from cases.analyses.sweeps.runners import in_this_process
from cases.input.scatter import scattered_inputs
from femcore.base.errors import InputFault
from tests.cases.analyses.sweeps.sweep_boat import BOAT, plan_of
from tests.models.boats import example_boat

OVER = """
joints = ["=socket"]
columns = ["governing_margin", "torque", "added_mass"]
[[vary]]
key = "cases.gust.tension"
from = "20 kN"
to = "80 kN"
count = 3
[[vary]]
key = "stay.forward"
list = ["0 mm", "50 mm"]
[[vary]]
key = "crossbeam.mass"
list = ["8 kg/m", "9 kg/m"]
"""
SCATTERED = BOAT.replace('forward = "50 mm"', 'forward = "50 mm ± 20 mm"').replace(
    '"40 kN"', '"40 kN ± 30 %"'
)


@pytest.fixture(scope="module")
def swept(tmp_path_factory):
    """A sweep of the small boat with scatter, over three inputs."""
    return run_sweep(plan_of(OVER, SCATTERED), tmp_path_factory.mktemp("swept"), in_this_process)


def test_a_field_is_the_lowest_margin_at_each_place(swept):
    """Whatever else varies; the trussed beam buckles at one load, so margin + 1 falls as the tension grows."""
    [field] = margin_fields(swept, ("cases.gust.tension", "stay.forward"))
    rows = swept.to_pandas()
    assert len(field.points) == 6
    for (tension, forward), margin in zip(field.points, field.margin, strict=True):
        here = rows[(rows["cases.gust.tension"] == tension) & (rows["stay.forward"] == forward)]
        assert margin == here["governing_margin"].min()
    assert field.others == ("crossbeam.mass",)
    capacity = (field.margin + 1) * field.points[:, 0]
    assert capacity == pytest.approx([capacity[0]] * 6, rel=1e-3)


def test_the_boat_is_where_it_is_entered(swept):
    """In SI, with the unit that the grid shows it in."""
    [field] = margin_fields(swept, ("stay.forward", "cases.gust.tension"))
    first, second = field.inputs
    assert (first.own, first.unit, first.per_unit) == (0.05, "mm", 1e-3)
    assert (second.own, second.unit, second.per_unit) == (40e3, "kN", 1e3)


def test_the_outline_encloses_the_scatter(swept):
    """Of 200,000 draws from both distributions nine tenths are inside, to three standard errors of the count."""
    [field] = margin_fields(swept, ("cases.gust.tension", "stay.forward"))
    inputs = {one.key: one for one in scattered_inputs(swept_boat()) if one.group == "key"}
    draw = np.random.default_rng(5)
    tension = 40e3 * inputs["cases.gust.tension"].distribution.rvs(200_000, random_state=draw)
    forward = 1e-3 * inputs["stay.forward"].distribution.rvs(200_000, random_state=draw)
    inside = Outline(field.outline).contains_points(np.column_stack([tension, forward]))
    # a polygon of 181 corners is inside its circle by (2π/180)²/6 of the area
    assert inside.mean() == pytest.approx(PROBABILITY, abs=3 * np.sqrt(0.09 / 200_000) + 3e-4)


def swept_boat():
    """As it is read."""
    return PreparedSweep.of(plan_of(OVER, SCATTERED)).boat


def test_inputs_of_one_cause_scatter_on_a_line(tmp_path):
    """Both are high together: the outline has no area."""
    one_cause = BOAT + (
        '[scatter]\n"stay.forward" = { spread = "± 20 mm", cause = "tang" }\n"stay.up" = { spread = "± 10 mm", cause = "tang" }\n'
    )
    grid = '[[vary]]\nkey = "stay.forward"\nlist = ["0 m", "0.1 m"]\n[[vary]]\nkey = "stay.up"\nlist = ["0 m", "0.2 m"]\n'
    [field, _] = margin_fields(run_sweep(plan_of(grid, one_cause), tmp_path / "out", in_this_process))
    assert (field.outline[:, 0] - 0.05) == pytest.approx(2 * (field.outline[:, 1] - 0.12), abs=1e-12)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (None, "3 keys are varied as numbers"),
        (("stay.forward", "stay.up"), "stay.up: is not varied as a number"),
        (("stay.forward", "stay.forward"), "is named twice"),
    ],
)
def test_a_contour_needs_two_inputs(swept, keys, words):
    """Named, or the only two."""
    with pytest.raises(InputFault, match=words):
        margin_fields(swept, keys)


def test_what_is_unbettered_is_so_by_definition():
    """Against the definition row by row, with ties and equal rows; nothing that is left out is better than what is kept."""
    draw = np.random.default_rng(2)
    costs = np.round(draw.normal(size=(300, 3)), 1)
    costs = np.vstack([costs, costs[:20]])
    better = (costs[:, None] <= costs).all(axis=2) & (costs[:, None] < costs).any(axis=2)
    assert (unbettered(costs) == ~better.any(axis=0)).all()
    assert 3 < unbettered(costs).sum() < 100


def test_candidates_have_mass_margin_and_torque_of_their_rows(swept):
    """More mass for nothing is bettered; a higher margin at the same mass is not."""
    found = candidates_of(swept)
    rows = swept.to_pandas()
    assert list(found.mass) == list(rows["added_mass"])
    assert list(found.margin) == list(rows["governing_margin"])
    assert list(found.torque) == list(rows["torque"])
    assert not found.unbettered[found.mass > 1].any()
    assert found.unbettered[np.argmax(np.where(found.mass < 1, found.margin, -9))]


def test_sizes_are_candidates_with_the_mass_that_they_add():
    """A joint as it is has the mass of its fittings on both hulls, larger sizes more; one without described parts is left out."""
    demo = example_boat("demo")
    joints = [one for one in demo.joints if one.name in ("bolted lugs", "fork and pin")]
    cases = [one for one in demo.cases if one.name == "racking"]
    boat = demo.model_copy(update={"joints": joints, "cases": cases, "combinations": []})
    sized = size_boat(boat, 0.5)
    found = candidates_of_sizes(sized, boat)
    assert set(found.joints) == {"bolted lugs"}
    assert found.labels[0] == "as it is"
    [lugs] = [one for one in joints if one.name == "bolted lugs"]
    assert found.mass[0] == pytest.approx(2 * sum(lugs.masses().values()), rel=1e-9)
    entered = next(one for one in sized if one.joint == "bolted lugs").entered
    assert found.margin[0] == entered.governing == entered.margin
    assert found.torque[0] == entered.torque
    own = [one for one in sized if one.joint == "bolted lugs"]
    steps = [step for one in own for sizing in one.sizings for step in sizing.steps[1:]]
    assert list(found.mass[1:]) == pytest.approx(
        [step.mass - sized[0].entered.mass for step in steps], rel=1e-9
    )
    assert len(steps) > 0
    assert (found.mass[1:] > found.mass[0]).all()
