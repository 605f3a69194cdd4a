"""Weight, inertia and warmth: masses counted by hand, free parts that only grow, held parts that push."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads import case_loads
from femcore.solvers.solution import solve
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import (
    RIGID,
    acting,
    answer,
    as_loads,
    boat,
    boat_with_longeron,
    case,
    expanding,
)
from tests.models.boats import MARTINGALE_STAYS, STRUT, springs

G = 9.80665
HEAVY = {"bow": {"mass": 50.0}, "beam": {"mass": 6.0}}
ALPHA = 2.3e-5


def test_the_crossbeam_weighs_its_length_times_its_mass():
    """5 m of 6 kg/m, at the middle of the beam; the bows only where they are asked for, at theirs."""
    front = build(boat(**HEAVY), RIGID)
    beam = acting(front, case("weight"))
    assert beam == pytest.approx([0, 0, -30 * G, 0, 3 * 30 * G, 0], rel=1e-11, abs=1e-9)
    both = acting(front, case("weight", bows=True))
    assert both - beam == pytest.approx([0, 0, -400 * G, 0, 2 * 400 * G, 0], rel=1e-11, abs=1e-9)


def test_an_acceleration_throws_the_mass_the_other_way():
    """A mass feels g − a: thrown up at 1 g it weighs double, and braked it pulls forward."""
    front = build(boat(**HEAVY), RIGID)
    weight = acting(front, case("weight"))
    assert acting(front, case("weight", acceleration=f"0 0 {G} m/s**2")) == pytest.approx(
        2 * weight, abs=1e-9
    )
    braked = acting(front, case("weight", acceleration="-5 0 0 m/s**2", gravity=False))
    assert braked[:3] == pytest.approx([30 * 5, 0, 0], abs=1e-9)


def test_an_acceleration_to_port_pushes_everything_to_starboard():
    """Athwart as along (d'Alembert): 30 kg of beam and 25 kg of anchor under 4 m/s² to port push 220 N to starboard."""
    front = build(boat(**HEAVY), RIGID)
    anchor = {"place": "beam centre", "mass": "25 kg"}
    got = acting(front, case("weight", acceleration="0 4 0 m/s**2", gravity=False, masses=[anchor]))
    assert got[:3] == pytest.approx([0, -(30 + 25) * 4, 0], abs=1e-9)


def test_what_is_carried_weighs_at_its_place():
    """A mass at a place adds its own weight there, and the same share of the acceleration."""
    front = build(boat_with_longeron(prod=1.2), RIGID)
    anchor = {"place": "prod tip", "mass": "25 kg"}
    got = acting(front, case("weight", acceleration=f"0 0 {G} m/s**2", masses=[anchor]))
    assert got == pytest.approx([0, 0, -50 * G, 0, 4.2 * 50 * G, 0], rel=1e-12, abs=1e-9)
    (fault,) = case("weight", masses=[anchor | {"place": "mast"}]).faults(front.places, front)
    assert "place 'mast' does not exist" in str(fault)


@pytest.mark.parametrize("joint", [RIGID, springs("roll")])
def test_the_joints_carry_half_the_beams_weight_each(joint):
    """By symmetry each joint takes half the weight of beam, striker and martingale, however it is made."""
    on = boat(**HEAVY, striker=STRUT | {"mass": 3.0}, martingale=MARTINGALE_STAYS)
    _, solution = answer(on, joint, case("weight"))
    whole = (30 + 3.0 * 0.6) * G
    assert joint_loads(solution)[0, :, 2] == pytest.approx([-whole / 2] * 2, rel=1e-9)


def test_only_the_warmed_parts_are_warm():
    """A change stands on every element of its part, a longeron's also on its prod, and on no other."""
    front = build(boat_with_longeron(prod=1.0), RIGID)
    warmed = case("temperature", crossbeam="30 delta_degC", longeron="-10 K")
    temperature_change = case_loads(front, [warmed]).temperature_change[0]
    expected = {"crossbeam": 30.0, "longeron": -10.0, "prod": -10.0, "port bow": 0.0, "starboard bow": 0.0}
    for member, change in expected.items():
        assert set(temperature_change[front.frame.members[member].elements]) == {change}


def test_warm_bows_grow_freely():
    """Free ahead of their roots, warmed bows move their stems forward by α ΔT L, and push on nothing."""
    front = expanding(build(boat(), None), ALPHA)
    tip = {"also": [{"place": "port stem", "force": "0 0 1 kN"}]}
    cases = case("temperature", bows="20 delta_degC", **tip), case("points", **tip)
    solution = solve(front.frame, as_loads(front, *cases))
    stem = front.frame.node_index[front.places["port stem"].node]
    grown = solution.displacement[0, stem] - solution.displacement[1, stem]
    assert grown == pytest.approx([ALPHA * 20 * 4, 0, 0, 0, 0, 0], abs=1e-13)
    assert solution.reactions[0] == pytest.approx(solution.reactions[1], abs=1e-7)


@pytest.mark.parametrize("joint", [RIGID, springs("roll"), springs(sway=5e6)])
def test_a_warm_beam_between_bows_pushes_as_two_springs_in_a_row(joint):
    """Axial force = α ΔT b over the sum of flexibilities: beam, joints, bows bending sideways."""
    on = boat(bow={"GJ": 1e12}, height=0.0)
    front = expanding(build(on, joint), ALPHA)
    port, starboard = joint_loads(solve(front.frame, as_loads(front, case("temperature", crossbeam="40 K"))))[
        0
    ]
    assert starboard[1] == pytest.approx(-port[1], rel=1e-9)
    assert port[1] > 0
    if joint.springs[1] == 5e6:
        # the bows bend sideways between held and free against yaw at the joint: both limits enclose it
        beam, hinge = 5 / 200e6, 2 / 5e6
        free = ALPHA * 40 * 5
        pinned_bows = 2 * 3**3 / (3 * 25e6)
        held_bows = 2 * 3**3 / (12 * 25e6)
        assert free / (beam + hinge + pinned_bows) < port[1] < free / (beam + hinge + held_bows)


def test_a_part_without_expansion_is_told():
    """A part that the boat lacks, or whose expansion is not known, cannot be warmed."""
    front = build(boat(), RIGID)
    words = [
        str(fault)
        for fault in case("temperature", crossbeam="9 K", longeron="9 K").faults(front.places, front)
    ]
    assert any("the crossbeam has no expansion" in said for said in words)
    assert any("part 'longeron' does not exist" in said for said in words)
    known = expanding(front, ALPHA)
    assert not case("temperature", crossbeam="9 K").faults(known.places, known)


def test_a_case_of_nothing_is_a_fault():
    """Weight without gravity or acceleration, and warmth that changes nothing, are faults in words."""
    with pytest.raises(ValidationError, match="neither gravity nor acceleration"):
        case("weight", gravity=False)
    with pytest.raises(ValidationError, match="changes no temperature"):
        case("temperature")
    with pytest.raises(ValidationError, match="point on a temperature scale"):
        case("temperature", bows="20 degC")
    assert np.isfinite(acting(build(boat(), RIGID), case("weight"))).all()
