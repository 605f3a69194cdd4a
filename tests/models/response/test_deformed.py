"""The front end in its deformed shape: first order is its limit, buckling its pole; which part buckles, and when."""

import numpy as np
import pytest
from scipy.optimize import brentq

from femcore.solvers.buckling import buckling
from models.response.joint_loads import joint_loads, stem_movements
from tests.models.boats import LONGERON, MARTINGALE_STAYS, STRUT, load, plain, racking, solved, springs

UP = [load("beam centre", (0, 0, 40e3))]
PULL = np.array([-9e3, 1e3, 38e3])
HULLS = {"station": 3.4, "height": 0.4, "inboard": 0.4, "root": {"pitch": 8e6, "roll": 9e6}}
LIMP = {"height": 1.2, "base": 0.0, "EA": 60e6, "EI": 2e3}
ON_AXIS = MARTINGALE_STAYS | {"height": 0.0}
STIFF = {"EI_lateral": 1e10, "GJ": 1e10}
"""A beam whose bending fore and aft and whose twist move no strut's foot."""


def pulled(share):
    """A share of the stay's pull and of racking."""
    return [load("stay", share * PULL), *racking(share * 4e3)]


def test_first_order_is_the_limit_of_small_loads():
    """What the deformed shape changes of joint loads and movements is, relatively, in proportion to the load."""
    boat, joint = plain(**HULLS, striker=STRUT, martingale=MARTINGALE_STAYS), springs(pitch=2e5, roll=3e5)
    shares = np.array([1.0, 0.5, 0.25]) / 10
    first, second = (solved(boat, joint, *map(pulled, shares), bent=bent) for bent in (False, True))
    for reading in (
        lambda _, s: joint_loads(s)[..., :3],
        lambda front, s: stem_movements(front, s)[..., :3],
    ):
        one, two = reading(*first), reading(*second)
        change = np.abs(two - one).max(axis=(1, 2)) / np.abs(one).max(axis=(1, 2))
        assert change[:-1] / change[1:] == pytest.approx([2, 2], rel=0.1)
        assert change[0] < 0.01


def test_a_ball_passes_no_moment_where_it_has_gone():
    """In the deformed shape the joint's load is told at the joint, at the end of an arm that has turned with its hull."""
    boat = plain(**HULLS, striker=STRUT, martingale=MARTINGALE_STAYS, longeron=LONGERON)
    _, solution = solved(boat, springs("roll", "pitch", "yaw"), pulled(1.0), bent=True)
    loads = joint_loads(solution)[0]
    assert np.abs(loads[:, 3:]).max() < 1e-8 * np.abs(loads[:, :3]).max()


def grown(boat, joint, place, squeeze=0.0, refine=1):
    """How much farther than in first order 1 N aft moves a place while the hulls squeeze the beam; front end and state.

    In first order neither pretension nor squeeze has a part in it.
    """
    sides = [load("port hull at beam", (0, -squeeze, 0)), load("starboard hull at beam", (0, squeeze, 0))]
    cases = sides, [*sides, load(place, (-1.0, 0, 0))]
    (front, first), (_, second) = (
        solved(boat, joint, *cases, refine=refine, bent=bent) for bent in (False, True)
    )
    node = front.frame.node_index[place]
    without, pushed = np.array([first.displacement[:, node, 0], second.displacement[:, node, 0]]).T
    return np.divide(*(pushed - without)[::-1]), front, second


def test_a_squeezed_striker_bends_as_the_beam_column_of_theory():
    """Pushed at its top by H, it moves (H L/P)(1 − u cot u), u = L √(P/EI): first order HL³/3EI times 3 (1 − u cot u)/u².

    From EI y'' = P (δ − y) + (H − P δ/L)(L − x), the stays pulling towards the foot; the pole is Euler's u = π.
    """
    for tension in (1e3, 5e3, 10e3, 13e3):
        stays = ON_AXIS | {"pretension": tension}
        boat = plain(beam=STIFF | {"EI_vertical": 1e10}, striker=LIMP, martingale=stays)
        found, front, state = grown(boat, springs(), "striker top", refine=2)
        thrust = -state.natural[0, front.frame.members["striker"].elements, 0].mean()
        u = 1.2 * np.sqrt(thrust / 2e3)
        assert found == pytest.approx(3 * (1 - u / np.tan(u)) / u**2, rel=6e-3)
    assert found > 5


def test_a_squeezed_beam_bends_sideways_by_the_amplification():
    """Squeezed by the hulls, a beam that is pushed moves 1/(1 − 1/λ) of its first-order way, λ its buckling factor.

    S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability, 1961, sec. 1.5, from memory: good to about 2 %.
    """
    boat, joint = plain(beam={"EI_lateral": 2e4}, inboard=0.4), springs("roll", "yaw")
    for squeeze in (2e3, 4e3, 6e3):
        found, _, state = grown(boat, joint, "beam centre", squeeze)
        assert found == pytest.approx(1 / (1 - 1 / buckling(state, 0, 1).values[0]), rel=0.015)
    assert found > 5


def thrust_at_buckling(boat, *cases, bent=False):
    """N, thrust of the strut at rest, and when the last case, its load grown by its lowest factor, buckles it."""
    front, solution = solved(boat, springs(), *cases, bent=bent)
    strut = -solution.natural[:, front.frame.members["striker"].elements, 0].mean(axis=1)
    rest = strut[0] if len(cases) > 1 else 0.0
    modes = buckling(solution, len(cases) - 1, 1)
    return rest, rest + modes.values[0] * (strut[-1] - rest), modes.shapes[0, front.frame.ends[-4:]]


def test_a_limp_striker_buckles_as_a_strut_whose_load_passes_its_foot():
    """Stays from tangs level with the foot always pull towards it: the strut buckles fore and aft at π² EI/L² (Euler)."""
    _, thrust, shape = thrust_at_buckling(plain(beam=STIFF, striker=LIMP, martingale=ON_AXIS), UP)
    assert thrust == pytest.approx(np.pi**2 * 2e3 / 1.2**2, rel=2e-3)
    assert np.abs(shape[..., 0]).max() > 20 * np.abs(shape[..., 1:3]).max()


@pytest.mark.parametrize("height", [-0.6, -0.2, 0.2, 0.6])
def test_the_striker_buckles_by_where_the_stays_pull_it(height):
    """A load towards a point at `height` on its axis buckles a cantilever at tan kL = k·height, P = k² EI (Timoshenko & Gere).

    From half Euler's length (a load that stays upright) over π (through the foot) to 4.493 (through the top). S.P. Timoshenko &
    J.M. Gere, Theory of Elastic Stability, 1961, sec. 2.3, from memory, and derived here from EI y'' = P (δ − y) − H (L − x).
    """
    boat = plain(beam=STIFF, striker=LIMP, martingale=MARTINGALE_STAYS | {"height": height})
    lowest = (np.pi / 2, np.pi) if height < 0 else (np.pi, 1.5 * np.pi)
    k = brentq(lambda x: np.sin(x) - x * height / 1.2 * np.cos(x), *np.add(lowest, (1e-6, -1e-6)))
    assert thrust_at_buckling(boat, UP)[1] == pytest.approx(k**2 * 2e3 / 1.2**2, rel=3e-3)


def test_a_strap_lets_the_striker_fall_sideways_and_stays_do_not():
    """A strap holds the top sideways by the line of its two falls alone; two stays stretch to hold it, up to a higher load."""
    factors = {}
    for way in ("fixed", "slips"):
        boat = plain(striker=LIMP, martingale=ON_AXIS | {"at_striker": way})
        front, solution = solved(boat, springs(), [load("beam centre", (0, 0, 40e3))])
        modes = buckling(solution, 0, 4)
        top = front.frame.node_index["striker top"]
        sway = np.abs(modes.shapes[:, top, 1]) / np.abs(modes.shapes[..., :3]).max(axis=(1, 2))
        factors[way] = np.append(modes.values[sway > 0.3], np.inf)[0]
    assert factors["slips"] < 0.5 * factors["fixed"]


@pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])
def test_pretension_does_not_grow_with_the_load(bent):
    """What squeezes the strut at rest is held while the load grows: the factor multiplies what the load adds."""
    boat = plain(beam=STIFF, striker=LIMP, martingale=ON_AXIS | {"pretension": 3e3})
    rest, thrust, _ = thrust_at_buckling(boat, [], [load("beam centre", (0, 0, 6e3))], bent=bent)
    assert rest == pytest.approx(2 * 3e3 * 1.2 / np.hypot(1.2, 2.2), rel=3e-3)
    assert thrust == pytest.approx(np.pi**2 * 2e3 / 1.2**2, rel=5e-3)
