"""Equilibrium in the deformed shape against published cases and closed forms, and where there is none."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from femcore.base.errors import NoConvergence
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.results.member_forces import actions_at
from femcore.solvers import newton, second_order
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL

KIP_FT, KSI = 1 / 12, 29000.0
EI_W14 = KSI * 484.0
"""kip·in², W14×48 about its major axis: I = 484 in⁴ as the standard gives it."""
LENGTH = 336.0


def straight(stiffness, length, held, far, divide, **ends):
    """A beam AB along x."""
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (length, 0, 0))
    builder.beam("AB", ["A", "B"], stiffness, divide=divide, **ends)
    builder.support("A", held)
    builder.support("B", far)
    return builder.build()


def slender(EI, **more):
    """Bends in x–z by EI, is a thousand times stiffer across, and hardly stretches."""
    return Stiffness(1e4 * EI, EI, 1e3 * EI, EI, **more)


def bent(frame, **loads):
    """The solution in the deformed shape under loads at nodes (force by name), line loads and movements."""
    case = Loads.zeros(frame, "load")
    for name, force in loads.items():
        if name == "line":
            case.line[0] = force
        else:
            case.nodal[0, frame.node_index[name], : len(force)] = force
    return solve(frame, case, second_order=True)


@pytest.mark.parametrize(
    ("P", "moment", "sag"), [(0, 235, 0.197), (150, 269, 0.224), (300, 313, 0.261), (450, 375, 0.311)]
)
def test_aisc_benchmark_case_1(P, moment, sag):
    """A pinned beam-column under a uniform load: moment, kip·in, and sag, in, at mid-span are those of ANSI/AISC 360-10
    Commentary, fig. C-C2.2, without shear deformation (read as quoted), to half a percent.
    """
    frame = straight(slender(EI_W14), LENGTH, (0, 1, 2, 3), (1, 2), 4)
    answer = bent(frame, B=(-P, 0, 0), line=(0, 0, -0.2 * KIP_FT))
    found = abs(actions_at(answer, [2], [0.0])[0, 0, 4]), -answer.displacement[0, 3, 2]
    np.testing.assert_allclose(found, (moment, sag), rtol=5e-3)


@pytest.mark.parametrize(
    ("P", "moment", "sag"), [(0, 336, 0.901), (100, 469, 1.33), (150, 598, 1.75), (200, 848, 2.56)]
)
def test_aisc_benchmark_case_2(P, moment, sag):
    """A cantilevered column with a side force of 1 kip at its top: moment at the foot and movement of the top are those
    of ANSI/AISC 360-10 Commentary, fig. C-C2.3, without shear deformation (read as quoted), to half a percent.
    """
    frame = straight(slender(EI_W14), LENGTH, ALL, (), 4)
    answer = bent(frame, B=(-P, 0, -1.0))
    found = abs(answer.reactions[0, 0, 4]), -answer.displacement[0, 1, 2]
    np.testing.assert_allclose(found, (moment, sag), rtol=5e-3)


MATTIASSON = [
    (1, 0.05643, 0.30172, 0.46135),
    (2, 0.16064, 0.49346, 0.78175),
    (5, 0.38763, 0.71379, 1.21537),
    (10, 0.55500, 0.81061, 1.43029),
]


@pytest.mark.parametrize(("load", "u", "w", "turn"), MATTIASSON)
def test_the_elastica(load, u, w, turn):
    """A cantilever bent far by a tip load P L²/EI of up to 10 has the tip of K. Mattiasson, Int. J. Num. Meth. Eng. 17
    (1981) 145-153, table 1 (from memory), to 10⁻⁴ with 16 elements.
    """
    answer = bent(straight(Stiffness(1e8, 1, 1, 1), 1.0, ALL, (), 16), B=(0, 0, -load))
    tip = answer.displacement[0, 1]
    np.testing.assert_allclose((-tip[0], -tip[2], tip[4]), (u, w, turn), rtol=1e-4)


def test_the_elastica_in_any_plane():
    """Loaded askew, the same cantilever bends in the plane of its load."""
    flat = bent(straight(Stiffness(1e8, 1, 1, 1), 1.0, ALL, (), 8), B=(0, 0, -5)).displacement[0, 1]
    askew = bent(straight(Stiffness(1e8, 1, 1, 1), 1.0, ALL, (), 8), B=(0, 3, -4)).displacement[0, 1]
    np.testing.assert_allclose(askew[:3], (flat[0], -0.6 * flat[2], 0.8 * flat[2]), rtol=1e-8)


@pytest.mark.parametrize("imposed", [False, True])
def test_a_moment_rolls_a_beam_into_an_arc(imposed):
    """Under an end moment, or an imposed end rotation θ of three quarters of a turn, a cantilever becomes an arc of
    radius R = L/θ: its tip lies at R sin θ, R (1 − cos θ), to 10⁻³ with 24 elements.
    """
    turn, EI, L = 0.75 * 2 * np.pi, 100.0, 2.0
    stiff = Stiffness(1e9, EI, 1e3 * EI, 1e3 * EI)  # or it would give way across after half a turn
    frame = straight(stiff, L, ALL, (4,) if imposed else (), 24)
    loads = Loads.zeros(frame, "roll")
    if imposed:
        loads.support_displacement[0, 1, 4] = -turn
    else:
        loads.nodal[0, 1, 4] = -EI * turn / L
    answer = solve(frame, loads, second_order=True)
    R = L / turn
    tip = np.array([L, 0]) + answer.displacement[0, 1, [0, 2]]
    np.testing.assert_allclose(tip, (R * np.sin(turn), R * (1 - np.cos(turn))), atol=1e-3 * L)
    if imposed:
        assert answer.reactions[0, 1, 4] == pytest.approx(-EI * turn / L, rel=1e-3)


def test_a_curved_cantilever_bends_out_of_its_plane():
    """K.J. Bathe & S. Bolourchi's bend (Int. J. Num. Meth. Eng. 14 (1979) 961-986): an eighth of a circle of radius
    100 in, of a bar 1 in square, under 600 lb across its plane. J.C. Simo & L. Vu-Quoc (Comput. Methods Appl. Mech.
    Eng. 58 (1986) 79-116) give its tip as (15.79, 47.23, 53.37) with eight straight elements (both read as quoted).
    """
    E, R, I = 1e7, 100.0, 1 / 12
    builder = FrameBuilder()
    angles = np.linspace(0, np.pi / 4, 9)
    names = [builder.node(str(i), (R * (1 - np.cos(a)), R * np.sin(a), 0)) for i, a in enumerate(angles)]
    builder.beam("bend", names, Stiffness(E, E * I, E * I, E / 2 * 2 * I))
    builder.support("0", ALL)
    frame = builder.build()
    answer = bent(frame, **{"8": (0, 0, 600)})
    tip = frame.nodes[8] + answer.displacement[0, 8, :3]
    np.testing.assert_allclose(tip, (15.79, 47.23, 53.37), rtol=1e-2)


@pytest.mark.parametrize("side", [0.5, 50.0, 2000.0])
def test_a_taut_cable_across(side):
    """Pulled across at its middle, a cable of half-length l and pretension T moves by w with 2 (T + EA Δl/l₀) sin α = F, l₀
    being its length unstretched: T/l per side for small w, far stiffer for large.
    """
    T, EA, half = 1e3, 1e5, 2.0
    builder = FrameBuilder()
    for name, x in (("A", -half), ("M", 0), ("B", half)):
        builder.node(name, (x, 0, 0))
    builder.support("M", (1, 3, 4, 5))
    for name in "AB":
        builder.support(name, ALL)
        builder.cable(f"{name}M", [name, "M"], EA, T)
    answer = bent(builder.build(), M=(0, 0, -side))
    w = -answer.displacement[0, 1, 2]
    free = half / (1 + T / EA)
    length = np.hypot(half, w)
    assert answer.tension[0, 0] == pytest.approx(EA * (length / free - 1), rel=1e-9)
    assert 2 * answer.tension[0, 0] * w / length == pytest.approx(side, rel=1e-9)
    if side < 1:
        assert w == pytest.approx(side * half / (2 * T), rel=1e-4)


def test_a_cable_that_goes_slack_on_the_way_is_gone():
    """A stay that the deformed shape slackens carries nothing, and the frame deforms as if it had none."""
    tips = []
    for stayed in (True, False):
        builder = FrameBuilder()
        builder.node("A", (0, 0, 0))
        builder.node("B", (4, 0, 0))
        builder.node("C", (2, 0, 3))
        builder.beam("AB", ["A", "B"], Stiffness(1e8, 1e5, 1e5, 1e5), divide=4)
        builder.support("A", ALL)
        builder.support("C", ALL)
        if stayed:
            builder.cable("stay", ["C", "B"], 1e6)
        answer = bent(builder.build(), B=(0, 0, 3e3))
        tips.append(answer.displacement[0, 1])
        assert not stayed or answer.slack[0, 0]
    np.testing.assert_allclose(tips[0], tips[1], rtol=1e-9)


EULER = {
    "cantilever": (0.25, ALL, ()),
    "hinged": (1.0, (0, 1, 2, 3), (1, 2)),
    "clamped": (4.0, ALL, (1, 2, 3, 4, 5)),
}


@pytest.mark.parametrize("case", EULER)
@pytest.mark.parametrize("over", [1.02, 3.0])
def test_a_perfect_column_stops_at_its_euler_load(case, over):
    """A straight column is stable just below Euler's load, shortened only, and finds no stable shape above:
    the fraction told is the Euler load over the load, to 1 %.
    """
    part, held, far = EULER[case]
    L, EI = 3.0, 1e4
    critical = part * np.pi**2 * EI / L**2
    frame = straight(slender(EI), L, held, far, 8)
    below = bent(frame, B=(-0.98 * critical, 0, 0))
    assert np.abs(below.displacement[0, :, 1:]).max() < 1e-9
    with pytest.raises(
        NoConvergence, match=r"case 'load' finds no stable equilibrium .* beyond .* % of its load"
    ) as fault:
        bent(frame, B=(-over * critical, 0, 0))
    assert fault.value.fraction * over == pytest.approx(1, abs=0.01)
    assert fault.value.exit_status == 3


def toggle(rise=0.1, half=1.0, EA=1e6):
    """Two bars that meet in a shallow ridge, and the load that each depth of the ridge needs."""
    builder = FrameBuilder()
    for name, x, z in (("A", -half, 0), ("M", 0, rise), ("B", half, 0)):
        builder.node(name, (x, 0, z))
        builder.support(name, (0, 1, 2) if name != "M" else (1,))
    for name in "AB":
        builder.beam(f"{name}M", [name, "M"], Stiffness(EA), up=(0, 1, 0))
    l0 = np.hypot(half, rise)

    def load(w):
        length = np.hypot(half, rise - w)
        return 2 * EA * (l0 - length) / l0 * (rise - w) / length

    return builder.build(), load


def test_a_shallow_ridge_snaps_at_its_limit_load():
    """A shallow ridge of two bars follows 2EA (l₀ − l)/l₀ (h − w)/l up to the top of that curve, and no further: a larger
    load is refused, the fraction told being the limit load over it, to 2 %.
    """
    frame, load = toggle()
    top = minimize_scalar(lambda w: -load(w), bounds=(0, 0.1), method="bounded", options={"xatol": 1e-12})
    limit = -top.fun
    answer = bent(frame, M=(0, 0, -0.99 * limit))
    w = -answer.displacement[0, 1, 2]
    assert 0 < w < top.x
    assert load(w) == pytest.approx(0.99 * limit, rel=1e-8)
    for over in (1.02, 1.5):
        with pytest.raises(NoConvergence) as fault:
            bent(frame, M=(0, 0, -over * limit))
        assert fault.value.fraction * over == pytest.approx(1, abs=0.02)


def test_a_case_without_equilibrium_is_named_among_others(monkeypatch):
    """Of cases side by side the one beyond its limit load is named, whichever place it has; with one at a time as well."""
    frame, load = toggle()
    limit = -minimize_scalar(lambda w: -load(w), bounds=(0, 0.1), method="bounded").fun
    loads = Loads.zeros(frame, "a quarter", "half", "too much", "most")
    loads.nodal[:, 1, 2] = -limit * np.array([0.25, 0.5, 1.5, 0.99])
    within = [0, 1, 3]
    found = solve(frame, loads.only(*within), second_order=True)
    for place, case in enumerate(within):
        alone = solve(frame, loads.only(case), second_order=True)
        np.testing.assert_allclose(found.displacement[place], alone.displacement[0], rtol=1e-9, atol=1e-15)
    for at_once in (second_order.MAX_ELEMENTS_AT_ONCE, 1):
        monkeypatch.setattr(second_order, "MAX_ELEMENTS_AT_ONCE", at_once)
        with pytest.raises(NoConvergence, match="case 'too much'") as fault:
            solve(frame, loads, second_order=True)
        assert fault.value.fraction * 1.5 == pytest.approx(1, abs=0.02)


def test_without_looking_back_the_ridge_would_snap(monkeypatch):
    """Were a jump taken for a movement, the ridge beyond its limit load would be found hanging the other way."""
    monkeypatch.setattr(newton, "MAX_PREDICTION_RATIO", np.inf)
    frame, _ = toggle()
    assert -bent(frame, M=(0, 0, -800.0)).displacement[0, 1, 2] > 0.2


def test_a_warm_strut_between_walls_bows():
    """Between rigid walls, a temperature change ΔT compresses a strut by EA α ΔT. With a little side load it sags as a
    beam-column under that squeeze; past Euler's load it bows until the squeeze is Euler's load again, and no more.
    """
    L, EI, alpha = 3.0, 1e4, 1e-5
    stiff = Stiffness(1e4 * EI, EI, 1e3 * EI, EI, expansion=alpha)
    frame = straight(stiff, L, (0, 1, 2, 3), (0, 1, 2, 3), 8)
    euler, w = np.pi**2 * EI / L**2, 1e-4 * EI / L**3
    loads = Loads.zeros(frame, "below", "above")
    loads.temperature_change[:] = np.array([[0.5], [1.5]]) * euler / (1e4 * EI * alpha)
    loads.line[:, :, 2] = -w
    answer = solve(frame, loads, second_order=True)
    u = np.pi / 2 * np.sqrt(0.5)
    below = 5 * w * L**4 / (384 * EI) * 12 * (2 / np.cos(u) - u**2 - 2) / (5 * u**4)
    # the arc is longer than the chord by what the walls refuse: (π a)²/4L = (1.5 − 1) N L/EA
    above = 2 * L / np.pi * np.sqrt(0.5 * euler / (1e4 * EI))
    np.testing.assert_allclose(-answer.displacement[:, 5, 2], (below, above), rtol=1e-2)
    squeeze = -actions_at(answer, [3], [0.5])[:, 0, 0] / euler
    np.testing.assert_allclose(squeeze, (0.5, 1.0), rtol=1e-2)


def test_warmth_that_nothing_hinders_strains_nothing():
    """A warm cantilever grows by α ΔT L and carries nothing."""
    frame = straight(Stiffness(1e7, 1e4, 1e4, 1e4, expansion=1e-5), 3.0, ALL, (), 3)
    loads = Loads.zeros(frame, "warm")
    loads.temperature_change[0] = 50.0
    answer = solve(frame, loads, second_order=True)
    assert answer.displacement[0, 1, 0] == pytest.approx(3.0 * 5e-4, rel=1e-9)
    assert np.abs(answer.natural).max() < 1e-6


def test_a_line_load_on_a_released_end_converges():
    """A beam-column with released ends under a uniform load tends to the one on hinges as it is cut finer, by the square
    of the element's length or faster.
    """
    L, EI = 4.0, 1e4
    free = End(springs=(np.inf, np.inf, np.inf, np.inf, 0.0, 0.0))
    apart = []
    for n in (4, 8, 16):
        released = straight(slender(EI), L, ALL, (1, 2, 3, 4, 5), n, start=free, end=free)
        hinged = straight(slender(EI), L, (0, 1, 2, 3), (1, 2, 3), n)
        middle = 1 + n // 2
        loads = {"B": (-0.7 * np.pi**2 * EI / L**2, 0, 0), "line": (0, 0, -1.0)}
        a, b = (bent(frame, **loads).displacement[0, middle, 2] for frame in (released, hinged))
        apart.append(abs(a / b - 1))
    assert apart[0] < 5e-3
    assert np.log2(apart[0] / apart[1]) > 1.9
    assert np.log2(apart[1] / apart[2]) > 1.9


def test_an_offset_load_and_an_offset_end_are_one():
    """A column pushed through a rigid arm at its top bends as under the push and its moment, the arm turning with it:
    an eccentric column's secant formula, sag e (sec kL − 1).
    """
    L, EI, e = 3.0, 1e4, 1e-4
    P = 0.5 * np.pi**2 * EI / (4 * L**2)
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (L, 0, e))
    builder.beam("AB", ["A", "B"], slender(EI), divide=8, end=End(offset=(0, 0, -e)))
    builder.support("A", ALL)
    answer = bent(builder.build(), B=(-P, 0, 0))
    exact = e * (1 / np.cos(np.sqrt(P / EI) * L) - 1)
    assert abs(answer.displacement[0, 1, 2]) == pytest.approx(exact, rel=1e-3)


def test_every_answer_tells_its_error_and_balance():
    """Each case in its deformed shape comes with the size of the last correction and the balance of loads and reactions
    where the nodes have gone; straight and bent cases may stand in one solution.
    """
    frame = straight(Stiffness(1e8, 1e4, 1e4, 1e4), 3.0, ALL, (), 4)
    loads = Loads.zeros(frame, "straight", "bent")
    loads.nodal[:, 1, 2] = -200.0
    answer = solve(frame, loads, second_order=[False, True])
    np.testing.assert_array_equal(answer.second_order, [False, True])
    assert np.all(answer.error < 1e-9)
    assert np.all(answer.balance < 1e-9)
    assert answer.displacement[1, 1, 0] < -1e-3 < 0 == answer.displacement[0, 1, 0]
