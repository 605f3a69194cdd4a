"""Loads along members: their resultant, the way they take past a joint, and the beam under them."""

from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads import MemberLoad, case_loads
from femcore.results.member_forces import member_forces
from femcore.results.nodal_forces import line_forces_of
from femcore.solvers.solution import solve
from models.response.front_end import CROSSBEAM, build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, as_loads, boat, boat_with_longeron, case
from tests.models.boats import springs

FORCE = np.array([-300.0, 120.0, -700.0])
ENDS = {
    "crossbeam": ((3.0, -2.5, 0.5), (3.0, 2.5, 0.5)),
    "port bow": ((0.0, 3.0, 0.5), (4.0, 3.0, 0.5)),
    "longeron": ((0.0, 0.0, 0.5), (3.0, 0.0, 0.5)),
}
HINGED = np.array([np.inf] * 4 + [0.0] * 2 + [np.inf] * 4 + [0.0] * 2)
STRETCHES = [(None, None), (0.31, None), (None, 1.13), (0.05, 0.06), (0.4, 2.2)]


def line_case(member, begin=None, end=None, arm=(0.0, 0.0, 0.0), force=FORCE):
    """A case of one load along a member."""
    given = {
        "member": member,
        "force": f"{force[0]} {force[1]} {force[2]} N/m",
        "arm": f"{arm[0]} {arm[1]} {arm[2]} m",
    }
    given |= {key: f"{x} m" for key, x in (("begin", begin), ("end", end)) if x is not None}
    return case("points", line=[given])


@pytest.mark.parametrize("member", ENDS)
@pytest.mark.parametrize(("begin", "end"), STRETCHES)
@pytest.mark.parametrize("arm", [(0.0, 0.0, 0.0), (-0.1, 0.2, 0.3)])
def test_a_line_load_is_its_length_times_its_force_at_its_middle(member, begin, end, arm):
    """Whatever the stretch cuts, resultant and moment about the origin are those of the load itself."""
    first, last = np.array(ENDS[member])
    axis = int(np.abs(last - first).argmax())
    low = first[axis] if begin is None else begin
    high = last[axis] if end is None else end
    middle = first.copy()
    middle[axis] = (low + high) / 2
    force = FORCE * (high - low)
    got = acting(build(boat_with_longeron(), RIGID), line_case(member, begin, end, arm))
    assert got == pytest.approx([*force, *np.cross(middle + arm, force)], rel=1e-11, abs=1e-9)


@pytest.mark.parametrize("end", ["pinned", "rigid"])
def test_a_sloping_member_is_loaded_by_its_own_length(end):
    """Newtons per metre are of the member, not of its plan, hinged to the crossbeam or one piece with it."""
    front = build(boat_with_longeron(height_at_root=0.1, at_crossbeam=end), RIGID)
    got = acting(front, line_case("longeron", 1.0, 2.0))
    slope = np.array([3.0, 0.0, 0.4]) / 3.0
    force = FORCE * np.linalg.norm(slope)
    middle = np.array([0.0, 0.0, 0.1]) + 1.5 * slope
    assert got == pytest.approx([*force, *np.cross(middle, force)], rel=1e-11)


@pytest.mark.parametrize("member", ["crossbeam", "longeron"])
def test_between_hinges_a_stretch_is_forces_alone(member):
    """An element hinged at both ends takes no couple from its nodes: the lever rule makes the stretch whole."""
    front = build(boat_with_longeron(), RIGID)
    count = len(front.frame.ends)
    own_axes = np.tile(np.eye(3), (count, 2, 1, 1))
    hinged = replace(front.frame, end_springs=np.tile(HINGED, (count, 1)), spring_axes=own_axes)
    front = replace(front, frame=hinged)
    one = line_case(member, 0.2, 2.3, force=(0.0, 0.0, -700.0))
    first, last = np.array(ENDS[member])
    middle = np.where(first == last, first, 1.25)
    force = np.array([0.0, 0.0, -700.0 * 2.1])
    assert acting(front, one) == pytest.approx([*force, *np.cross(middle, force)], rel=1e-11, abs=1e-9)
    loads = as_loads(front, one)
    on_nodes = line_forces_of(front.prepared.parts, loads)[0]
    own = front.frame.end_points - front.frame.nodes[front.frame.ends]
    about_ends = on_nodes[..., 3:] - np.cross(own, on_nodes[..., :3])
    assert np.abs(about_ends).max() < 1e-9 * np.abs(on_nodes).max()


def test_what_acts_on_the_crossbeam_passes_its_joints():
    """Load near a beam end stands on the beam's own nodes and none on the hull's, so the joint carries it."""
    front = build(boat(), springs("roll"))
    put = case_loads(front, [line_case("crossbeam", 2.3, 2.49, (-0.1, 0.0, 0.2))])
    hull = front.frame.node_index["port hull at beam"]
    assert not put.nodal[0, hull].any()
    solution = solve(front.frame, as_loads(front, line_case("crossbeam", 2.3, 2.49)))
    assert joint_loads(solution)[0, :, :3].sum(axis=0) == pytest.approx(FORCE * 0.19, rel=1e-9)


@pytest.mark.parametrize("cut", [0.0, 0.7, -1.9])
def test_two_stretches_make_the_whole(cut):
    """A load cut in two at any place, at a node or within an element, has the answer of the load in one."""
    front = build(boat(), RIGID)
    parts = [line_case("crossbeam", None, cut), line_case("crossbeam", cut, None)]
    whole = acting(front, line_case("crossbeam"))
    assert sum(acting(front, part) for part in parts) == pytest.approx(whole, rel=1e-11, abs=1e-9)
    loads = joint_loads(solve(front.frame, as_loads(front, line_case("crossbeam"), *parts)))
    assert loads[1] + loads[2] == pytest.approx(loads[0], rel=1e-10, abs=1e-10 * np.abs(loads[0]).max())


@pytest.mark.parametrize("joint", [RIGID, springs("roll", "yaw")])
@pytest.mark.parametrize("arm", [(0.0, 0.0, 0.0), (-0.1, 0.2, 0.3)])
def test_a_stretch_within_elements_has_the_same_joint_loads_however_they_are_cut(joint, arm):
    """Under a stretch from −1.9 m to 0.7 m, which 25 elements in each 0.625 m meet and fewer do not, nothing changes."""
    exact, *others = (joint_loads_of(joint, arm, n) for n in (25, 1, 3))
    for other in others:
        assert other == pytest.approx(exact, rel=1e-9, abs=1e-9 * np.abs(exact).max())


def joint_loads_of(joint, arm, refine):
    """Under that stretch, with all divisions times `refine`."""
    front = build(boat(), joint, refine)
    return joint_loads(solve(front.frame, as_loads(front, line_case("crossbeam", -1.9, 0.7, arm))))


def test_the_torque_of_a_uniform_load_at_an_arm_is_a_straight_line():
    """dT/dx = −m at every station, within elements too: at an arm of 0.2 m, 150 N/m twist by 30 N·m each metre."""
    front = build(boat(), RIGID)
    one = line_case("crossbeam", arm=(0.2, 0.0, 0.0), force=(0.0, 0.0, -150.0))
    along = member_forces(solve(front.frame, as_loads(front, one)), CROSSBEAM, 5)
    torque, station = along.actions[0, :, 3], along.station
    assert torque - torque[0] == pytest.approx(-30.0 * station, abs=1e-9 * np.abs(torque).max())


@pytest.mark.parametrize("begin", [None, 1.0, 2.0, 3.0])
def test_a_bow_bends_as_a_cantilever_under_part_of_a_uniform_load(begin):
    """The stem sinks by w (3L⁴ − 4a³L + a⁴)/24EI under w from a to the stem (beam tables, e.g. Roark)."""
    front = build(boat(), None)
    a, L, w, EI = begin or 0.0, 4.0, -700.0, 40e6
    solution = solve(front.frame, as_loads(front, line_case("port bow", begin, force=(0.0, 0.0, w))))
    stem = front.frame.node_index[front.places["port stem"].node]
    exact = w * (3 * L**4 - 4 * a**3 * L + a**4) / (24 * EI)
    assert solution.displacement[0, stem, 2] == pytest.approx(exact, rel=1e-10)


@pytest.mark.parametrize(("begin", "end"), STRETCHES)
@pytest.mark.parametrize("arm", [(0.0, 0.0, 0.0), (-0.1, 0.2, 0.3)])
def test_a_linear_line_load_is_a_trapezium(begin, end, arm):
    """From f₀ to f₁ over a length c: (f₀ + f₁) c/2 in all, and f₀ c²/6 + f₁ c²/3 about its beginning."""
    last = np.array([100.0, -40.0, 900.0])
    one = line_case("crossbeam", begin, end, arm)
    load = one.line[0].model_copy(update={"end_force": tuple(last.tolist())})
    one = one.model_copy(update={"line": [load]})
    low, high = -2.5 if begin is None else begin, 2.5 if end is None else end
    c = high - low
    force, first = (FORCE + last) * c / 2, (FORCE / 6 + last / 3) * c**2
    moment = np.cross(np.array([3.0, low, 0.5]) + arm, force) + np.cross([0.0, 1.0, 0.0], first)
    front = build(boat(), RIGID)
    assert acting(front, one) == pytest.approx([*force, *moment], rel=1e-11, abs=1e-9)
    doubled = one.model_copy(update={"scale": 2.0})
    assert acting(front, doubled) == pytest.approx(2 * acting(front, one), rel=1e-12, abs=1e-9)


def test_line_loads_join_any_kind():
    """`line` stands beside the loads of a kind and adds to them."""
    stay = case("rig", tension="10 kN", rake="0 deg", line=[{"member": CROSSBEAM, "force": "0 0 -200 N/m"}])
    assert acting(build(boat(), RIGID), stay)[2] == pytest.approx(10e3 - 200 * 5, rel=1e-12)


def test_a_member_that_the_boat_lacks_is_told():
    """A load along a member that does not exist is a fault with the names that do."""
    front = build(boat(), RIGID)
    (fault,) = line_case("longeron").faults(front.places, front)
    assert "member 'longeron' does not exist" in str(fault)
    assert not line_case("port bow").faults(front.places, front)


def test_a_stretch_runs_forward():
    """A stretch that ends where it begins, or before, is a fault."""
    with pytest.raises(ValidationError, match="begins where it ends"):
        MemberLoad.model_validate({"member": "port bow", "force": "0 0 1 N/m", "begin": "2 m", "end": "2 m"})
