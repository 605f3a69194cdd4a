"""Nets: the membrane against closed forms and finite elements, and what its edges pull on against statics."""

import math

import numpy as np
import pytest
import skfem
from pydantic import ValidationError
from skfem.helpers import dot, grad

from cases.loads.membrane import membrane
from cases.loads.net import Panel
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, boat_with_longeron, case
from tests.models.boats import MIRROR

G = 9.80665


def finite_elements(a, b):
    """Sag in the middle, and the load's share on the edges of length b: −∇²w = 1, quadratic elements."""
    mesh = skfem.MeshQuad.init_tensor(np.linspace(0, a, 41), np.linspace(0, b, 41))
    basis = skfem.Basis(mesh, skfem.ElementQuad2())
    stiffness = skfem.BilinearForm(lambda u, v, _: dot(grad(u), grad(v))).assemble(basis)
    load = skfem.LinearForm(lambda v, _: 1.0 * v).assemble(basis)
    w = skfem.solve(*skfem.condense(stiffness, load, D=basis.get_dofs()))
    middle = (basis.probes(np.array([[a / 2], [b / 2]])) @ w).item()
    # what the supports hold at the nodes of x = 0; a corner's, which goes to nothing, half to each side
    x, y = basis.doflocs
    corner = np.isclose(y, 0) | np.isclose(y, b)
    held = (load - stiffness @ w) * np.where(corner, 0.5, 1.0)
    return middle, 2 * held[np.isclose(x, 0)].sum() / (a * b)


def test_a_square_membrane_sags_by_the_handbooks_number():
    """w₀ = 0.0737 p a²/N for a square of side a (Timoshenko & Goodier, membrane analogy, from memory)."""
    assert membrane(2.0, 2.0).sag(1000.0, 500.0) == pytest.approx(0.0737 * 1000 * 4 / 500, rel=1e-3)


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (1.0, 1.7), (2.0, 0.8)])
def test_a_membrane_agrees_with_finite_elements(a, b):
    """Sag and what each pair of edges carries are those of Poisson's equation by finite elements."""
    middle, share = finite_elements(a, b)
    shape = membrane(a, b)
    assert shape.sag(1.0, 1.0) == pytest.approx(middle, rel=1e-5)
    assert shape.share_on_b == pytest.approx(share, rel=1e-3)


@pytest.mark.parametrize("aspect", [12.0, 40.0])
def test_a_long_net_pulls_as_a_strip(aspect):
    """A long net pulls with p a²/(8 s) in the plane of its edges, and at an edge with √(1 + 16 s²/a²) times it (statics)."""
    pull = 2000.0 * 2.0**2 / (8 * 0.15)
    for shape in (membrane(2.0, 2.0 * aspect), membrane(2.0 * aspect, 2.0)):
        assert shape.pull(2000.0, 0.15) == pytest.approx(pull, rel=1e-7)
        lacing_extension = Panel("both", shape, 2000.0, pull).lacing_extension
        assert lacing_extension == pytest.approx(pull * math.sqrt(1 + 16 * (0.15 / 2) ** 2), rel=1e-2)


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (3.0, 2.5), (1.0, 9.0)])
def test_a_nets_edges_carry_its_whole_load(a, b):
    """What the four edges carry is the pressure times the area, and turning the net turns the shares."""
    on_b, on_a = membrane(a, b).down(700.0)
    assert 2 * on_b * b + 2 * on_a * a == pytest.approx(700.0 * a * b, rel=1e-12)
    assert membrane(b, a).down(700.0) == pytest.approx((on_a, on_b), rel=1e-9)


def test_lacing_holds_the_net_and_its_load():
    """Where lacing meets the net it carries the pull in the plane and, square to it, the edge's share of the load."""
    panel = case("net", **NET).panels(boat())[0]
    down = max(panel.shape.down(panel.pressure))
    assert panel.lacing_extension == pytest.approx(math.hypot(panel.pull, down), rel=1e-12)
    assert panel.sag == pytest.approx(0.2, rel=1e-12)
    assert f"{panel.lacing_extension / 1000:.3g} kN/m" in only(boat()).origin().formula


def test_sag_and_pull_are_one_anothers_inverse():
    """A net pulled to what a sag needs sags by it; half the sag needs twice the pull."""
    shape = membrane(3.0, 2.5)
    assert shape.sag(800.0, shape.pull(800.0, 0.2)) == pytest.approx(0.2, rel=1e-12)
    assert shape.pull(800.0, 0.1) == pytest.approx(2 * shape.pull(800.0, 0.2), rel=1e-12)


NET = {"pressure": "1 kPa", "sag": "0.2 m", "begin": "0.4 m"}


def only(on, **keys):
    """The one case of a net on that boat."""
    (one,) = case("net", **NET | keys).expand(on)
    return one


@pytest.mark.parametrize("make", [boat, boat_with_longeron])
def test_a_net_on_both_sides_pulls_down_and_aft(make):
    """Nothing pulls athwart; down comes the load but for the bulkhead's part, aft the beam's pull."""
    on = make()
    length, half = 2.6, 2.5
    shape = membrane(length, half if on.longeron else 2 * half)
    got = acting(build(on, RIGID), only(on))
    down = 1000.0 * length * 2 * half * (1 - shape.share_on_b / 2)
    aft = shape.pull(1000.0, 0.2) * 2 * half
    assert got[:3] == pytest.approx([-aft, 0, -down], rel=1e-11, abs=1e-7)
    assert got[3] == pytest.approx(0, abs=1e-7)
    assert got[5] == pytest.approx(0, abs=1e-7)


def test_each_edge_pulls_where_it_is_laced():
    """On the port side alone, by hand: at the middle of each edge its pull and its share of the load."""
    on = boat_with_longeron()
    shape = membrane(2.5, 2.5)  # the lacing stands 0.1 m aft of the beam's axis
    N, down = shape.pull(1000.0, 0.2), shape.down(1000.0)
    up = 0.5 + 0.15
    edges = [
        ((2.9, 1.25, up), np.array([-N, 0, -down[0]]) * 2.5),
        ((1.65, 2.5, up), np.array([0, -N, -down[1]]) * 2.5),
        ((1.65, 0.0, 0.5), np.array([0, N, -down[1]]) * 2.5),
    ]
    hand = np.concatenate([sum(f for _, f in edges), sum(np.cross(r, f) for r, f in edges)])
    got = acting(build(on, RIGID), only(on, side="port", beam_aft="0.1 m", beam_up="0.15 m"))
    assert got == pytest.approx(hand, rel=1e-11, abs=1e-7)


def test_both_sides_are_port_and_starboard_together():
    """Both nets load the joints as the sum of each under the same pressure, the two as mirror images."""
    on = boat_with_longeron()
    cases = [case("net", **NET | {"side": side}) for side in ("both", "port", "starboard")]
    both, port, starboard = joint_loads(answer(on, RIGID, *cases)[1])
    assert port + starboard == pytest.approx(both, rel=1e-9, abs=1e-6)
    assert starboard[::-1] * MIRROR == pytest.approx(port, rel=1e-9, abs=1e-6)


def test_a_net_without_load_keeps_its_lacing():
    """With one net loaded the other still pulls as it is laced, and pulls nothing down."""
    on = boat_with_longeron()
    lacing_extension = acting(build(on, RIGID), only(on, side="port", lacing="2 kN/m"))
    bare = acting(build(on, RIGID), only(on, side="port"))
    extra = lacing_extension - bare
    assert extra[:3] == pytest.approx([-2000 * 2.5, 0, 0], abs=1e-7)


def test_a_tight_net_does_not_pull_less_than_its_lacing():
    """Where sag asks for less than the lacing holds already, the lacing it is."""
    on = boat()
    assert case("net", **NET | {"lacing": "50 kN/m"}).panels(on)[0].pull == 50e3
    sag = case("net", **NET).panels(on)[0].pull
    assert case("net", **NET | {"lacing": "1 N/m"}).panels(on)[0].pull == sag


def test_people_weigh_twice_when_they_drop_onto_it():
    """Six of 85 kg on 2.6 m × 5 m press 2 × 6 × 85 g/A; a sea of 0.5 m, ρ g h × the solidity."""
    net = {"sag": "0.2 m", "begin": "0.4 m"}
    (panel,) = case("net", people=6, **net).panels(boat())
    assert panel.pressure == pytest.approx(2 * 6 * 85 * G / (2.6 * 5), rel=1e-12)
    (one, other) = case("net", people=6, side="port", **net).panels(boat_with_longeron())
    assert one.pressure == pytest.approx(2 * 6 * 85 * G / (2.6 * 2.5), rel=1e-12)
    assert other.pressure == 0
    (panel,) = case("net", sea="0.5 m", solidity=0.4, **net).panels(boat())
    assert panel.pressure == pytest.approx(0.4 * 1025 * G * 0.5, rel=1e-12)


def test_one_side_needs_a_longeron_and_every_net_needs_room():
    """A net on one side without longeron, or one that begins ahead of the beam, is a fault in words."""
    with pytest.raises(InputFault, match="without a longeron"):
        case("net", **NET | {"side": "port"}).expand(boat())
    with pytest.raises(InputFault, match="ahead of the crossbeam"):
        case("net", **NET | {"begin": "3 m"}).expand(boat())


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"sag": "0.2 m"}, "has none of pressure, people, sea"),
        ({"sag": "0.2 m", "sea": "1 m", "people": 3}, "has people and sea"),
        ({"pressure": "1 kPa"}, "neither sag nor lacing"),
        ({"pressure": "1 kPa", "sag": "0 m"}, "too small"),
    ],
)
def test_what_a_net_needs_is_said(keys, said):
    """A net without a load or a pull, or with two loads, is a fault in words."""
    with pytest.raises(ValidationError, match=said):
        case("net", **keys)
