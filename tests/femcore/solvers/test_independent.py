"""The solver against others: a general-purpose finite-element library and a solver of boundary-value
problems.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from skfem import Basis, BilinearForm, ElementLineHermite, LinearForm, MeshLine, condense
from skfem import solve as solve_system
from skfem.helpers import dd, ddot

from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL


@dataclass(frozen=True)
class Taper:
    """A slender cantilever that tapers to its tip, under uniform line loads, a torque and tip forces; SI."""

    L: float = 5.0
    narrowing: float = 0.7
    EIy: float = 4e5
    EIz: float = 9e5
    GA: float = 3e6
    GJ: float = 2e5
    wy: float = 300.0
    wz: float = -800.0
    tip: tuple[float, float, float] = (400.0, -1500.0, 250.0)

    def size(self, x):
        """Relative size of the section at x: stiffness in bending and torsion goes with its cube, in shear
        with itself.
        """
        return 1 - self.narrowing * np.asarray(x) / self.L

    def frame(self, elements):
        """Elements of the stiffness at their middles."""
        middle = self.size((np.arange(elements) + 0.5) * self.L / elements)
        cube = middle**3
        stiffness = Stiffness(
            1e8, self.EIy * cube, self.EIz * cube, self.GJ * cube, self.GA * middle, self.GA * middle
        )
        builder = FrameBuilder()
        builder.node("A", (0, 0, 0))
        builder.node("B", (self.L, 0, 0))
        builder.beam("AB", ["A", "B"], stiffness, divide=elements)
        builder.support("A", ALL)
        return builder.build()

    def tip_of(self, elements):
        """uy, uz, rx, ry, rz of the tip, (5,)."""
        frame = self.frame(elements)
        loads = Loads.zeros(frame, "all")
        loads.line[0] = (0, self.wy, self.wz)
        loads.nodal[0, 1, 1:4] = self.tip
        return solve(frame, loads).displacement[0, 1, 1:]

    def tip_by_integration(self):
        """The same from the equations of the beam: w′ = V/GA − θ, θ′ = M/EI, M′ = V, V′ = −q, and θx′ =
        T/GJ.
        """
        lift_z, turn_y = self._bent(self.EIy, self.wz, self.tip[1])
        # in x–y the rotation is that of the slope, where in x–z it is against it
        lift_y, turn_z = self._bent(self.EIz, self.wy, self.tip[0])
        twist = solve_bvp(
            lambda x, _: (self.tip[2] / (self.GJ * self.size(x) ** 3))[None],
            lambda start, _: start,
            np.linspace(0, self.L, 200),
            np.zeros((1, 200)),
            tol=1e-10,
            max_nodes=100_000,
        )
        return np.array([lift_y, lift_z, twist.y[0, -1], turn_y, -turn_z])

    def _bent(self, EI, q, tip):
        def slopes(x, y):
            w, turn, moment, shear = y
            size = self.size(x)
            return np.array(
                [shear / (self.GA * size) - turn, moment / (EI * size**3), shear, np.full_like(w, -q)]
            )

        def ends(start, end):
            return np.array([start[0], start[1], end[2], end[3] - tip])

        mesh = np.linspace(0, self.L, 200)
        found = solve_bvp(slopes, ends, mesh, np.zeros((4, 200)), tol=1e-10, max_nodes=100_000)
        assert found.success
        return found.y[0, -1], found.y[1, -1]


def test_a_tapered_cantilever_converges_by_order_two():
    """With the stiffness taken at mid-length the tip of a tapered cantilever converges with the element's
    length squared.
    """
    taper = Taper()
    exact = taper.tip_by_integration()
    errors = np.array([np.abs(taper.tip_of(n) / exact - 1) for n in (8, 16, 32, 64, 128)])
    orders = np.log2(errors[:-1] / errors[1:])
    np.testing.assert_allclose(orders[1:], 2.0, atol=0.1)
    assert errors[-1].max() < 2e-4


def test_extrapolated_the_tapered_cantilever_is_exact():
    """Two meshes extrapolated by that order give the answer of the differential equation to six digits."""
    taper = Taper()
    coarse, fine = taper.tip_of(64), taper.tip_of(128)
    np.testing.assert_allclose((4 * fine - coarse) / 3, taper.tip_by_integration(), rtol=1e-6)


def by_hermite(EI, q, tip, L=5.0, elements=32, springs=()):
    """Nodal lift and slope (elements + 1,) of a cantilever by scikit-fem's Hermite element; springs at (node,
    stiffness).
    """
    mesh = MeshLine(np.linspace(0, L, elements + 1))
    basis = Basis(mesh, ElementLineHermite(), intorder=10)

    @BilinearForm
    def bending(u, v, w):
        return EI(w.x[0]) * ddot(dd(u), dd(v))

    @LinearForm
    def load(v, w):
        return q(w.x[0]) * v

    K, f = bending.assemble(basis).tolil(), load.assemble(basis)
    order = np.argsort(mesh.p[0])
    lift, slope = basis.nodal_dofs[:, order]
    f[lift[-1]] += tip
    for node, stiffness in springs:
        K[lift[node], lift[node]] += stiffness
    y = solve_system(*condense(K.tocsr(), f, D=np.array([lift[0], slope[0]])))
    return y[lift], y[slope]


def cantilever(EI, line, tip, L=5.0, springs=()):
    """Nodal lift and slope of a chain of beams along x that bends in x–z, EI and line load one value for each
    element.
    """
    elements = len(EI)
    builder = FrameBuilder()
    names = [builder.node(str(i), (x, 0, 0)) for i, x in enumerate(np.linspace(0, L, elements + 1))]
    builder.beam("beam", names, Stiffness(1e8, EI, EI, EI))
    builder.support("0", ALL)
    for node, stiffness in springs:
        builder.spring(str(node), None, [0, 0, stiffness, 0, 0, 0])
    frame = builder.build()
    loads = Loads.zeros(frame, "load")
    loads.line[0, :, 2] = line
    loads.nodal[0, frame.node_index[str(elements)], 2] = tip
    answer = solve(frame, loads)
    moved = answer.displacement[0, : elements + 1]
    return moved[:, 2], -moved[:, 4], answer


def test_every_node_of_a_uniform_cantilever_agrees():
    """Under a uniform load and a tip force every nodal lift and slope is that of scikit-fem's Hermite
    element.
    """
    lift, slope = by_hermite(lambda x: 3e5 + 0 * x, lambda x: -700 + 0 * x, 900.0, elements=8)
    ours, turned, _ = cantilever(np.full(8, 3e5), -700.0, 900.0)
    np.testing.assert_allclose(ours, lift, rtol=1e-9)
    np.testing.assert_allclose(turned, slope, rtol=1e-9)


def test_a_beam_on_springs_agrees():
    """Springs to ground under a cantilever share its load as scikit-fem's matrix with the same springs
    says.
    """
    springs = [(2, 4e4), (5, 1e6), (8, 2e5)]
    lift, slope = by_hermite(
        lambda x: 3e5 + 0 * x, lambda x: -700 + 0 * x, 900.0, elements=8, springs=springs
    )
    ours, turned, answer = cantilever(np.full(8, 3e5), -700.0, 900.0, springs=springs)
    np.testing.assert_allclose(ours, lift, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(turned, slope, rtol=1e-9, atol=1e-15)
    for node, stiffness in springs:
        assert answer.reactions[0, node, 2] == pytest.approx(-stiffness * lift[node], rel=1e-9)


def test_a_taper_under_a_growing_load_agrees():
    """A tapered beam under a linearly growing load tends by order two to scikit-fem's answer, which
    integrates both.
    """

    def EI(x):
        return 3e5 * (1 - 0.12 * x) ** 3

    def q(x):
        return -200.0 * x

    exact = by_hermite(EI, q, 500.0, elements=64)
    errors = []
    for n in (8, 16, 32, 64):
        middle = (np.arange(n) + 0.5) * 5.0 / n
        lift, slope, _ = cantilever(EI(middle), q(middle), 500.0)
        errors.append([abs(lift[-1] / exact[0][-1] - 1), abs(slope[-1] / exact[1][-1] - 1)])
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    np.testing.assert_allclose(orders[1:], 2.0, atol=0.1)
    assert np.max(errors[-1]) < 5e-4
