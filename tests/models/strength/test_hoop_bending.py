"""Hoop bending of a tube where a skin bears on it, against a ring of beams and beams on elastic beds."""

import math
from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.results.nodal_forces import beam_forces
from femcore.solvers.solution import solve
from models.strength.plates.hoop_bending import (
    TubeUnderBearing,
    diaphragm_buckling,
    diaphragm_flows,
    hoop_bending,
)

TUBE = TubeUnderBearing(radius=0.1, along=2.4e8, hoop=210.0, length=0.1)


def test_under_a_long_bearing_it_is_a_ring():
    """A ring of 180 beams under 2F/πr cos θ over half of it, held by the shear flow F/πr sin θ: its largest moment to 1 %."""
    count, r, F = 180, 0.1, 1000.0
    angle = 2 * np.pi * np.arange(count) / count
    builder = FrameBuilder()
    names = [builder.node(f"{n}", (r * math.cos(a), r * math.sin(a), 0.0)) for n, a in enumerate(angle)]
    # thin: it stretches and shears hardly at all
    builder.beam("ring", [*names, names[0]], Stiffness(EA=1e9, EIy=1.0, EIz=1.0, GJ=1.0))
    builder.support(names[0], ["ux", "uy", "uz", "rx", "ry", "rz"])
    frame = builder.build()
    loads = Loads.zeros(frame, "bearing")
    arc = 2 * np.pi * r / count
    pressure = np.where(np.cos(angle) > 1e-9, 2 * F / (math.pi * r) * np.cos(angle), 0.0)
    shear = F / (math.pi * r) * np.sin(angle)
    at = [frame.node_index[name] for name in names]
    # the pressure acts outwards on one side, along +x in all, and the shear flow holds it
    loads.nodal[0, at, 0] = arc * (pressure * np.cos(angle) - shear * np.sin(angle))
    loads.nodal[0, at, 1] = arc * (pressure * np.sin(angle) + shear * np.cos(angle))
    solution = solve(frame, loads)
    assert np.abs(solution.reactions).max() < 1e-3 * F
    largest = np.abs(beam_forces(solution)[0, :, :, 3:]).max()
    long = replace(TUBE, length=200.0)
    moment, along = hoop_bending(long)
    assert moment * F * long.length == pytest.approx(largest, rel=1e-2)
    assert along * F * long.length < 1e-6 * F / r


def on_a_bed(tube, n, at_end):
    """Moment and N_x per N of one harmonic where the load is centred, or the tube ends: cubic beam elements on an elastic bed."""
    r, c = tube.radius, tube.length
    EI, k = tube.along * r**2 / n**4, tube.hoop * (n**2 - 1) ** 2 / r**4
    p = 4 / (math.pi**2 * r * c) * (-1) ** (n / 2 + 1) / (n**2 - 1)
    half = c if at_end else c / 2
    beta = (k / (4 * EI)) ** 0.25
    x = np.concatenate([np.linspace(0, half, 81), half + np.linspace(0, 12 / beta, 801)[1:]])
    K, f = np.zeros((2 * len(x), 2 * len(x))), np.zeros(2 * len(x))
    for i, h in enumerate(np.diff(x)):
        bend = np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
                         [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]])  # fmt: skip
        bed = np.array([[156, 22 * h, 54, -13 * h], [22 * h, 4 * h**2, 13 * h, -3 * h**2],
                        [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h**2, -22 * h, 4 * h**2]])  # fmt: skip
        at = slice(2 * i, 2 * i + 4)
        K[at, at] += EI / h**3 * bend + k * h / 420 * bed
        if x[i] < half * (1 - 1e-9):
            f[at] += p * h / 12 * np.array([6, h, 6, -h])
    free = np.arange(len(f)) if at_end else np.delete(np.arange(len(f)), 1)
    w = np.zeros(len(f))
    w[free] = np.linalg.solve(K[np.ix_(free, free)], f[free])
    h = x[1]
    curved = (-6 * w[0] - 4 * h * w[1] + 6 * w[2] - 2 * h * w[3]) / h**2
    return tube.hoop * (n**2 - 1) / r**2 * w[0], tube.along * r / n**2 * curved


@pytest.mark.parametrize("at_end", [False, True])
def test_every_harmonic_is_a_beam_on_an_elastic_bed(at_end):
    """M_θ and N_x are the largest, around, of harmonics solved by finite elements (semi-membrane shell; a tube's end is free)."""
    tube = replace(TUBE, at_end=at_end)
    n = np.arange(2, 22, 2)
    parts = np.array([on_a_bed(tube, float(one), at_end) for one in n])
    around = np.cos(np.outer(np.linspace(0, np.pi, 361), n))
    moment, along = np.abs(around @ parts).max(axis=0)
    found = hoop_bending(tube)
    assert found[0] == pytest.approx(moment, rel=5e-3)
    if not at_end:
        assert found[1] == pytest.approx(along, rel=2e-2)


def test_a_tubes_end_is_four_times_as_bad():
    """A short load at the free end of a beam on an elastic bed deflects it four times as far as in its middle (Hetényi)."""
    short = replace(TUBE, length=1e-5)
    assert hoop_bending(replace(short, at_end=True))[0] == pytest.approx(4 * hoop_bending(short)[0], rel=1e-2)


def test_a_longer_bearing_bends_less():
    """Spread further along the tube the same force bends its wall less, at the end and away from it."""
    for at_end in (False, True):
        moments = [
            hoop_bending(replace(TUBE, length=x, at_end=at_end))[0] for x in (0.01, 0.03, 0.1, 0.3, 1.0)
        ]
        assert (np.diff(moments) < 0).all()


def test_a_diaphragms_flows_balance_the_force():
    """Pressure 2F/πr cos θ over half of the rim, and shear F/πr sin θ all around it, are each F in its direction."""
    r, F = 0.1, np.array([500.0, -700.0])
    pressure, shear = diaphragm_flows(F, r)
    angle = np.linspace(-np.pi / 2, np.pi / 2, 2001)
    assert pressure * np.trapezoid(np.cos(angle) ** 2, angle) * r == pytest.approx(np.abs(F))
    assert shear * 2 * np.trapezoid(np.sin(angle) ** 2, angle) * r == pytest.approx(np.abs(F))
    assert diaphragm_buckling(100.0, r) == pytest.approx(4.2 * 100 / r**2)


def test_a_tube_without_a_wall_is_a_fault():
    """Radius, stiffness and length are above zero."""
    with pytest.raises(InputFault, match="hoop"):
        replace(TUBE, hoop=0.0)
