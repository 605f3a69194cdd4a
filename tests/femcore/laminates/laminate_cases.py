"""Layers and lay-ups that several laminate tests share; each says where its numbers come from."""

import numpy as np
from hypothesis import strategies as st

from femcore.laminates import stack
from femcore.materials import Lamina, layers

# S.W. Tsai & H.T. Hahn, Introduction to Composite Materials (1980), T300/5208; A.K. Kaw, Mechanics of
# Composite Materials, 2nd ed. (2006), Table 2.1, graphite/epoxy (from memory; the five strengths were also
# read in a course's statement of Kaw's example).
GRAPHITE = Lamina(
    name="graphite", E1=181e9, E2=10.3e9, nu12=0.28, G12=7.17e9, density=1600,
    Xt=1500e6, Xc=1500e6, Yt=40e6, Yc=246e6, S12=68e6,
)  # fmt: skip

# P.K. Mallick, Fiber-Reinforced Composites, 3rd ed. (2008), Example 3.6: 60 % T-300 in epoxy (from memory).
MALLICK = Lamina(name="mallick", E1=133.44e9, E2=8.78e9, nu12=0.26, G12=3.254e9, density=1600)

# M.W. Hyer, Stress Analysis of Fiber-Reinforced Composite Materials (1998), graphite-polymer (from memory).
HYER = Lamina(name="hyer", E1=155.0e9, E2=12.10e9, nu12=0.248, G12=4.40e9, density=1600)

WWFE = tuple(layer for name, layer in layers().items() if name.startswith("wwfe"))


def isotropic(E=70e9, nu=0.3, **strengths):
    """An isotropic layer."""
    return Lamina(name="isotropic", E1=E, E2=E, nu12=nu, G12=E / (2 * (1 + nu)), density=2700, **strengths)


def plies(lamina, angles, thickness=0.25e-3):
    """A laminate of equal plies of one material at the given angles (degrees)."""
    return stack([(lamina, thickness, angle) for angle in angles])


@st.composite
def laminas(draw):
    """Any layer whose energy is positive, from foam to carbon, with strengths."""
    E1, E2 = (10.0 ** draw(st.floats(8, 11.5)) for _ in range(2))
    bound = 0.9 * (E1 / E2) ** 0.5
    strengths = {key: 10.0 ** draw(st.floats(6.5, 9.5)) for key in ("Xt", "Xc", "Yt", "Yc", "S12")}
    return Lamina(
        name="any", E1=E1, E2=E2, nu12=draw(st.floats(max(-0.3, -bound), min(0.9, bound))),
        G12=10.0 ** draw(st.floats(7.5, 10.5)), density=draw(st.floats(30, 2700)), **strengths,
    )  # fmt: skip


@st.composite
def laminates(draw, most=6):
    """Any laminate of up to `most` such layers at any angle."""
    count = draw(st.integers(1, most))
    return stack(
        [(draw(laminas()), 10.0 ** draw(st.floats(-4, -2)), draw(st.floats(-90, 90))) for _ in range(count)]
    )


def load_vectors(count=1):
    """`count` load vectors of six, sized so that forces and moments strain a laminate of 1 to 10 mm alike."""
    scale = np.array([1e5, 1e5, 1e5, 1e2, 1e2, 1e2])
    one = st.lists(st.floats(-1, 1), min_size=6, max_size=6).filter(lambda row: max(map(abs, row)) > 0.01)
    return st.lists(one, min_size=count, max_size=count).map(lambda rows: np.array(rows) * scale)
