"""The bows alone, as cantilevers from roots that give, against closed forms and scipy's integrator."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from femcore.solvers.solution import solve
from models.response.attraction import unit_racking_loads
from models.response.front_end import build
from models.response.joint_loads import differential_heave, stem_movements
from tests.models.boats import BOW, load, plain, racking, solved

FORCE, LENGTH = 1000.0, 4.0
ROOT = {"surge": 9e7, "sway": 8e7, "heave": 7e7, "roll": 5e6, "pitch": 6e6, "yaw": 2e7}
SHEAR = {"GA_vertical": 60e6, "GA_lateral": 35e6}


def racking_stiffness(front):
    """N/m: a pair of forces over the differential heave that they make."""
    return 1 / differential_heave(front, solve(front.frame, unit_racking_loads(front)))[0]


def test_two_cantilevers_rack_in_closed_form():
    """Bare bows rack by F (a³/3EI + a/GA + a²/k_pitch + 1/k_heave) each, so that K = F over twice that."""
    a, EI = LENGTH, BOW["EI_vertical"]
    gives = a**3 / (3 * EI) + a / SHEAR["GA_vertical"] + a**2 / ROOT["pitch"] + 1 / ROOT["heave"]
    front = build(plain(length=a, bow=SHEAR, root=ROOT), None)
    assert racking_stiffness(front) == pytest.approx(1 / (2 * gives), rel=1e-12)


@pytest.mark.parametrize(
    ("force", "moment", "component", "gives"),
    [
        ((FORCE, 0, 0), (0, 0, 0), 0, LENGTH / BOW["EA"] + 1 / ROOT["surge"]),
        (
            (0, FORCE, 0),
            (0, 0, 0),
            1,
            LENGTH**3 / (3 * BOW["EI_lateral"])
            + LENGTH / SHEAR["GA_lateral"]
            + LENGTH**2 / ROOT["yaw"]
            + 1 / ROOT["sway"],
        ),
        ((0, 0, 0), (FORCE, 0, 0), 3, LENGTH / BOW["GJ"] + 1 / ROOT["roll"]),
        ((0, 0, 0), (0, FORCE, 0), 4, LENGTH / BOW["EI_vertical"] + 1 / ROOT["pitch"]),
        ((0, 0, 0), (0, 0, FORCE), 5, LENGTH / BOW["EI_lateral"] + 1 / ROOT["yaw"]),
    ],
)
def test_each_stiffness_resists_its_own_load(force, moment, component, gives):
    """A stem moves by its load over bow and root spring in series, and the other bow rests."""
    front, solution = solved(
        plain(length=LENGTH, bow=SHEAR, root=ROOT), None, [load("port stem", force, moment)]
    )
    port, starboard = stem_movements(front, solution)[0]
    assert port[component] == pytest.approx(FORCE * gives, rel=1e-12)
    assert not starboard.any()


def tapered_tip(a, root, stem, force):
    """Tip movement of a cantilever whose EI runs evenly from `root` to `stem`, by scipy.integrate."""

    def slopes(x, y):
        return np.array([y[1], force * (a - x) / (root + (stem - root) * x / a)])

    mesh = np.linspace(0, a, 50)
    found = solve_bvp(slopes, lambda at_root, _: at_root, mesh, np.zeros((2, 50)), tol=1e-10)
    assert found.success
    return found.sol(a)[0]


def test_a_tapered_bow_meets_the_differential_equation():
    """EI(x) w'' = M (scipy.integrate.solve_bvp) is met, the error falling with the square of the mesh."""
    stem = BOW["EI_vertical"] / 8
    expected = tapered_tip(LENGTH, BOW["EI_vertical"], stem, FORCE)
    boat = plain(length=LENGTH, tip={"EI_vertical": stem})
    errors = []
    for refine in (1, 2, 4):
        front, solution = solved(boat, None, racking(FORCE), refine=refine)
        errors.append(abs(stem_movements(front, solution)[0, 0, 2] / expected - 1))
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([2, 2], abs=0.1)
    assert errors[0] < 2.5e-3
    assert errors[-1] < 2e-4


def test_a_station_between_two_equal_ones_changes_nothing():
    """Where the crossbeam stands cuts the bow into pieces and leaves its stiffness as it was."""
    whole, cut = (build(plain(length=LENGTH, station=at, root=ROOT), None) for at in (LENGTH, 1.37))
    assert racking_stiffness(cut) == pytest.approx(racking_stiffness(whole), rel=1e-12)
