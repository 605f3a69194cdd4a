"""The ledger of the whole front end: every component of every kind of load by hand, and what holds it at the roots."""

import math
from functools import cache

import numpy as np
import pytest

from cases.analyses.study import run_study
from cases.loads import case_loads, components
from cases.loads.deck_diving import diving_load
from cases.report.tables import load_path_tables
from femcore.frame.stretches import Stretches
from models.response.front_end import CENTRE
from tests.cases.boats.test_boats import boats, close, run
from tests.cases.loads.every_load import CASES, STAY, every_load
from tests.cases.report.report_boat import boat_file

GRAVITY = 9.80665
EVERY = range(len(every_load().cases))


@cache
def named(case, joint=0):
    """What a joint finds in a case of the boat under every load."""
    return next(found for found in every_load().joints[joint].cases if found.case.name == case)


def applied(case):
    """Force and moment of each component, about the crossbeam's centre."""
    whole = named(case).whole
    return {part.name: action for part, action in zip(whole.components, whole.applied, strict=True)}


def given(case):
    """The keys of a case as the file gives them, by its name."""
    return next(one for one in CASES if one["name"] == case)


def by_hand(place, force, moment=(0.0, 0.0, 0.0)):
    """(6,), of a force at a place of the boat, about the crossbeam's centre."""
    front = every_load().joints[0].front
    arm = np.array(place) - front.position(CENTRE)
    return np.concatenate([force, np.array(moment) + np.cross(arm, force)])


@pytest.mark.parametrize("joint", range(2))
@pytest.mark.parametrize("case", EVERY)
def test_all_that_acts_on_the_front_end_sums_to_nothing(case, joint):
    """Under every kind of load, applied and held sum to zero, force and moment, beside the largest of them."""
    found = every_load().joints[joint].cases[case]
    whole = found.whole
    size = max(np.abs(whole.reactions).max(), np.abs(whole.applied).max(initial=0.0))
    assert size > 0
    assert np.abs(whole.imbalance).max() < close(found) * size


@pytest.mark.parametrize("case", EVERY)
def test_components_are_all_of_the_load(case):
    """The components of a case are together what is put on the frame."""
    front, one = every_load().joints[0].front, every_load().cases[case]
    put, parts = case_loads(front, [one]), components(front, one)
    assert sum((part.nodal for part in parts), np.zeros_like(put.nodal[0])) == pytest.approx(put.nodal[0])
    assert sum((part.line for part in parts), np.zeros_like(put.line[0])) == pytest.approx(put.line[0])
    along = Stretches.summed([Stretches.none(), *(part.stretches for part in parts)])
    assert along.load == pytest.approx(put.stretches.load)


@pytest.mark.parametrize("case", EVERY)
def test_what_acts_on_the_crossbeam_is_the_first_row_of_its_ledger(case):
    """Told apart, what is applied to the crossbeam sums to the row that has it in one."""
    found = every_load().joints[0].cases[case]
    rel = max(np.abs(found.path.actions).max(), 1.0)
    assert found.whole.on_crossbeam.sum(axis=0) == pytest.approx(found.path.actions[0], abs=1e-9 * rel)


@pytest.mark.parametrize("case", EVERY)
def test_where_a_component_is_drawn_it_weighs_what_it_does(case):
    """The forces of a component at the points where it acts are its resultant."""
    whole = every_load().joints[0].cases[case].whole
    for part, action in zip(whole.components, whole.applied, strict=True):
        assert part.force.sum(axis=0) == pytest.approx(action[:3], rel=1e-9, abs=1e-6)


def test_the_rig_is_three_components():
    """Stay, side load at its foot (w L/2) and inner stay stand apart, each with its own torque about the beam's axis."""
    found = applied("upwind")
    assert list(found) == ["stay", "side load at the stay's foot", "inner stay"]
    up, aft = 40e3 * math.cos(math.radians(10)), 40e3 * math.sin(math.radians(10))
    torque = STAY["up"] * -aft - STAY["forward"] * up
    assert found["stay"] == pytest.approx([-aft, 0, up, 0, torque, 0], rel=1e-12, abs=1e-6)
    side = 100 * 12 / 2
    moments = (-STAY["up"] * side, 0, STAY["forward"] * side)
    assert found["side load at the stay's foot"] == pytest.approx([0, side, 0, *moments], rel=1e-12, abs=1e-6)
    lean = math.radians(20)
    inner = [-5e3 * math.sin(lean), 0, 5e3 * math.cos(lean), 0, 0, 0]
    assert found["inner stay"] == pytest.approx(inner, rel=1e-12, abs=1e-6)


def test_loads_on_bows_and_prod_stand_where_they_act():
    """Jack, racking, tack and anchor are forces at stems and prod tip, entered about the beam's centre by hand."""
    front = every_load().joints[0].front
    port, starboard = front.position("port stem"), front.position("starboard stem")
    assert applied("jack")["starboard stem"] == pytest.approx(by_hand(starboard, [0, 0, 20e3]), abs=1e-6)
    racking = applied("racking")
    assert racking["port stem"] == pytest.approx(by_hand(port, [0, 0, 5e3]), abs=1e-6)
    assert racking["starboard stem"] == pytest.approx(by_hand(starboard, [0, 0, -5e3]), abs=1e-6)
    rake, lean = math.radians(10), math.radians(15)
    pull = 10e3 * np.array([math.cos(lean) * math.sin(rake), math.sin(lean), math.cos(lean) * math.cos(rake)])
    assert applied("tack, to port")["tack"] == pytest.approx(
        by_hand(front.position("prod tip"), pull), abs=1e-6
    )
    ahead = sum(applied("anchor, from ahead").values())
    down = math.radians(20)
    assert ahead[:3] == pytest.approx([10e3 * math.cos(down), 0, -10e3 * math.sin(down)], abs=1e-6)


def test_a_movement_s_load_is_what_moved_it():
    """Where a movement is given, the components are the forces that it took: what the roots hold up is as much."""
    whole = named("heave").whole
    force = whole.applied[0, 2]
    assert force > 1e3
    assert whole.applied[1, 2] == pytest.approx(-force, rel=1e-12)
    roots = dict(zip(whole.roots, whole.reactions, strict=True))
    assert sum(entry[2] for entry in roots.values()) == pytest.approx(0, abs=1e-7 * force)
    rate = every_load().joints[0].racking_stiffness
    assert force == pytest.approx(0.02 * rate, rel=1e-9)


def test_the_dive_is_the_rule_s_force_over_the_fore_end():
    """F' up and F'' aft, linear from the bulkhead to the stem, make the ledger's force and moment: at two thirds of the bow."""
    load = diving_load(8000.0, 4.0, 12.0)
    centroid = np.array([2 / 3 * 4.0, 3.0, 0.5])
    wanted = by_hand(centroid, [-load.horizontal, 0, load.vertical])
    assert applied("dive")["water on the port bow"] == pytest.approx(wanted, rel=1e-9, abs=1e-6)


def test_a_rule_s_bending_stands_as_moments_on_the_hulls():
    """Transverse bending comes on as opposite moments, which no crossbeam row has."""
    found = applied("rule, transverse bending")
    port, starboard = (found[f"{side} hull at beam"] for side in ("port", "starboard"))
    assert port[:3] == pytest.approx(0, abs=1e-9)
    assert port[3] > 1e3
    assert port == pytest.approx(-starboard)
    assert not named("rule, transverse bending").path.actions[0].any()


def test_nets_pull_all_their_load_down():
    """Under pressure p, what crossbeam, hull sides and longeron carry is p A less what goes to the bulkhead's edge."""
    found = applied("sea")
    length, half = 3.2, 2.6
    down = {name: -action[2] for name, action in found.items()}
    aft_edge = down["net on the crossbeam"]
    assert sum(down.values()) + aft_edge == pytest.approx(1e3 * length * 2 * half, rel=1e-6)
    assert found["net on the longeron"][1] == pytest.approx(0, abs=1e-6)
    assert found["net on the port hull side"][1] == pytest.approx(-found["net on the starboard hull side"][1])
    assert set(applied("net")) == set(found)


def test_weights_are_mass_times_gravity():
    """Each part's row is its length times its mass per metre times g, at its middle; a mass is where it is carried."""
    found = applied("weight")
    beam, bow = 10.0 * 2 * 2.6 * GRAVITY, 20.0 * 4.0 * GRAVITY
    assert found["weight of the crossbeam"] == pytest.approx([0, 0, -beam, 0, 0, 0], abs=1e-6)
    wanted = by_hand((2.0, 3.0, 0.5), [0, 0, -bow])
    assert found["weight of the port bow"] == pytest.approx(wanted, rel=1e-12, abs=1e-6)
    assert found["40 kg at the prod tip"][2] == pytest.approx(-40 * GRAVITY)


def test_names_of_the_file_stand_in_the_ledger():
    """A load is called as its case calls it; one without a name by its place or its member."""
    assert list(applied("own")) == ["halyard", "port bow"]
    assert list(applied("bent")) == ["port stem", "starboard stem", "stay"]
    assert not applied("warm")


def test_the_roots_hold_what_the_bows_hand_them():
    """Of 20 kN under the starboard stem all is held at the three roots, and most by the starboard one."""
    whole = named("jack").whole
    held = dict(zip(whole.roots, whole.reactions[:, 2], strict=True))
    assert list(held) == ["port root", "starboard root", "longeron root"]
    assert sum(held.values()) == pytest.approx(-20e3, rel=1e-9)
    assert held["starboard root"] < -15e3


def test_what_is_there_at_rest_is_told_apart():
    """At rest only pretension acts: it sums to zero, its tension is the file's, and a case's rows have it in them."""
    for case in ("racking", "bent", "warm"):
        rest = named(case).under_pretension
        assert list(rest.tension.values()) == pytest.approx([5e3, 5e3], rel=1e-9)
        for entries in (rest.path.actions, rest.held.actions):
            assert np.abs(entries).max() > 0
            assert np.abs(entries.sum(axis=0)).max() < 1e-7 * np.abs(entries).max()
    racking = named("racking")
    before, racked = racking.under_pretension.path.actions, racking.path.actions
    # racking is odd in the mirror, what is at rest is even
    even = (racked[1] + racked[2] * [1, -1, 1, -1, 1, -1]) / 2
    assert even == pytest.approx(before[1], abs=1e-6 * np.abs(racked).max())


@boats
def test_the_ledger_of_the_whole_front_end_sums_to_nothing(name):
    """Applied and held sum to zero on every boat of the house, with every joint in every case."""
    for joint in run(name).joints:
        for found in joint.cases:
            size = max(np.abs(found.whole.reactions).max(), np.abs(found.whole.applied).max(initial=0.0))
            assert np.abs(found.whole.imbalance).max() < close(found) * size


@pytest.mark.parametrize("table", [load_path_tables.crossbeam_path, load_path_tables.front_end_load_path])
def test_the_tables_sum_to_what_they_say(table):
    """Above each sum stand rows that make it, and the sum is nothing; what is at rest stands below and makes its own."""
    whole = table(every_load())
    for case in (one.name for one in every_load().cases):
        for joint in ("socket", "fork"):
            rows = whole.only("case", case).only("joint", joint).rows
            names = [row[0] for row in rows]
            entries, at = np.array([row[1:] for row in rows], dtype=float), names.index("sum")
            size = np.abs(entries).max()
            assert np.abs(entries[at]).max() < 1e-7 * size
            assert np.abs(entries[:at].sum(axis=0) - entries[at]).max() < 1e-7 * size
            assert all(name.endswith(load_path_tables.UNDER_PRETENSION) for name in names[at + 1 :])
            assert np.abs(entries[at + 1 :].sum(axis=0)).max() < 1e-7 * size


def test_only_pretension_is_at_rest(tmp_path):
    """A boat without a tightened martingale has no rows at rest, and no sentence about them."""
    assert load_path_tables.pretension_sentences(every_load())
    assert any(
        row[2].endswith(load_path_tables.UNDER_PRETENSION)
        for row in load_path_tables.crossbeam_path(every_load()).rows
    )
    slack = run_study(boat_file(tmp_path))
    assert not load_path_tables.pretension_sentences(slack)
    for table in (load_path_tables.crossbeam_path(slack), load_path_tables.front_end_load_path(slack)):
        assert not any(row[2].endswith(load_path_tables.UNDER_PRETENSION) for row in table.rows)
