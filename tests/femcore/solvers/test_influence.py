"""Ports of a linear frame: closed forms of cantilevers, reciprocity, and derivatives that need no further solution."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.solvers.influence import Influence, Ports, StiffnessChange, logarithmic_derivatives
from femcore.solvers.prepared_frame import PreparedFrame

L, EI, GJ, GA, K_END, F_TIP = 3.0, 4e5, 3e5, 2e5, 5e5, 1.0
PROPERTIES = ("EA", "EIy", "EIz", "GJ", "GAy", "GAz")
REL_TOL_CLOSED_FORM = 1e-10
"""Of a port's own movement: solutions of a few elements are that exact."""
REL_TOL_DIFFERENCE = 1e-7
"""Of a derivative by central differences of step 1e-4, whose own error is 1e-8 of it."""


def cantilever():
    """Along x, sprung about y at its root, with shear: a port pulls its tip up, one turns its root's spring, one curves it."""
    builder = FrameBuilder()
    root, tip = builder.node("root", (0, 0, 0)), builder.node("tip", (L, 0, 0))
    builder.support(root, range(6))
    sprung = End(springs=(np.inf, np.inf, np.inf, np.inf, K_END, np.inf))
    stiffness = Stiffness(EA=1e8, EIy=EI, EIz=EI, GJ=GJ, GAy=GA, GAz=GA)
    builder.beam("arm", [root, tip], stiffness, (0, 0, 1), 3, start=sprung)
    return builder.build()


def ports(frame):
    """Tip up, across the root's spring, a uniform curvature along the first element, twist of the tip."""
    found, tip = Ports.zeros(frame, 4), frame.node_index["tip"]
    found.nodal[0, tip, 2] = 1.0
    found.couple[1, 0, 4] = 1.0
    found.strain[2, 0, 2] = 1.0
    found.nodal[3, tip, 3] = 1.0
    return found


def influence(frame):
    """Of those ports."""
    return Influence.of(PreparedFrame.of(frame), ports(frame))


def test_ports_move_as_closed_forms_of_a_cantilever_say():
    """Tip: L³/3EI + L/GA + L²/k_end; root spring: 1/k_end, L/k_end under the tip's force; tip's twist: L/GJ."""
    H = influence(cantilever()).matrix
    assert H[0, 0] == pytest.approx(L**3 / (3 * EI) + L / GA + L**2 / K_END, rel=REL_TOL_CLOSED_FORM)
    assert H[3, 3] == pytest.approx(L / GJ, rel=REL_TOL_CLOSED_FORM)
    assert H[1, 1] == pytest.approx(1 / K_END, rel=REL_TOL_CLOSED_FORM)
    assert abs(H[0, 1]) == pytest.approx(L / K_END, rel=REL_TOL_CLOSED_FORM)


def test_a_strain_port_reads_the_force_in_its_element():
    """Port of a curvature: its force under the tip's unit load is the moment at mid-element, and none under its own strain.

    A cantilever is statically determinate, so no imposed curvature stresses it.
    """
    H = influence(cantilever()).matrix
    assert abs(H[2, 0]) == pytest.approx(F_TIP * (L - L / 6), rel=REL_TOL_CLOSED_FORM)
    assert abs(H[2, 2]) < 1e-6 * EI / L


def test_ports_are_reciprocal():
    """Betti: what i does at j, j does at i, for forces, couples across springs and strains alike."""
    H = influence(cantilever()).matrix
    scale = np.sqrt(np.outer(*2 * [np.abs(np.diag(H)) + np.abs(H).max(axis=1)]))
    assert np.abs(H - H.T).max() < 1e-12 * scale.max()


@pytest.mark.parametrize("name", PROPERTIES)
def test_derivatives_are_those_of_solving_again(name):
    """dH/dln of every property of all elements, against central differences of whole solutions."""
    frame, h = cantilever(), 1e-4
    change = StiffnessChange.zeros(frame, 1)
    change.k[0, : len(frame.ends)] = logarithmic_derivatives(frame)[name]
    exact = influence(frame).derivative(change)[0]
    up, down = (
        influence(replace(frame, **{name: getattr(frame, name) * np.exp(sign * h)})).matrix
        for sign in (1, -1)
    )
    natural_size = np.sqrt([L**3 / EI, L / EI, EI / L, L / GJ])  # of what each port does at itself
    assert (
        np.abs((exact - (up - down) / (2 * h)) / np.outer(natural_size, natural_size)).max()
        < REL_TOL_DIFFERENCE
    )
    assert (np.abs(exact).max() > 0) == (name in {"EIy", "GJ", "GAz"})


def test_the_derivative_of_bending_is_that_of_the_closed_form():
    """d(tip)/dlnEI = −L³/3EI and with the spring −L²/k_end: the part of the movement that it makes."""
    frame = cantilever()
    change = StiffnessChange.zeros(frame, 2)
    change.k[0, : len(frame.ends)] = logarithmic_derivatives(frame)["EIy"]
    change.S[1, 0, 4] = K_END
    bending, spring = influence(frame).derivative(change)[:, 0, 0]
    assert bending == pytest.approx(-(L**3) / (3 * EI), rel=REL_TOL_CLOSED_FORM)
    assert spring == pytest.approx(-(L**2) / K_END, rel=REL_TOL_CLOSED_FORM)
