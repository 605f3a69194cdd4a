"""How fast answers near the exact ones, against the order that theory gives."""

import numpy as np
import pytest

from cases.report.figures.convergence_figure import convergence_picture
from cases.verification import convergence

LAST = {"tapered": 2e-3, "frequency": 2e-7, "euler": 2e-7, "beam_column": 1e-7, "elastica": 3e-7}
"""Relative error with 16 elements, at most."""
MATTIASSON = {1.0: 0.30172, 2.0: 0.49346, 5.0: 0.71379, 10.0: 0.81061}
"""w/L against P L²/EI: K. Mattiasson, Int. J. Num. Meth. Eng. 17 (1981) 145-153, Table 1 (from memory)."""


@pytest.mark.parametrize("name", LAST)
def test_errors_fall_with_the_order_of_theory(name):
    """Over the last three meshes the rate is theory's ± 0.1, errors fall all the way, and the last is small."""
    study = getattr(convergence, name)()
    assert study.rates[-2:] == pytest.approx([study.order] * 2, abs=0.1)
    assert np.all(np.diff(study.error) < 0)
    assert study.error[-1] < LAST[name]


def test_every_study_is_run():
    """`studies` leaves none out, and each names its source and its reason."""
    found = list(convergence.studies((2, 4)))
    assert len(found) == len(LAST)
    assert all(study.source and study.order_reason and len(study.error) == 2 for study in found)


def test_eigenvalues_come_from_above():
    """With consistent mass and geometric stiffness, frequencies and buckling loads come from above (Rayleigh)."""
    assert np.all(convergence.frequency().value > convergence.frequency().exact)
    assert np.all(convergence.euler().value > convergence.euler().exact)


def test_a_lumped_mass_would_not_pass(monkeypatch):
    """With mass lumped at the nodes the frequency converges with order 2, and the study sees it."""
    original = convergence.natural_frequencies
    monkeypatch.setattr(
        convergence,
        "natural_frequencies",
        lambda solution, case, count: original(solution, case, count, lumped=True),
    )
    assert convergence.frequency().rates[-1] == pytest.approx(2, abs=0.1)


@pytest.mark.parametrize(("load", "published"), MATTIASSON.items())
def test_elliptic_integrals_give_the_published_elastica(load, published):
    """The elastica's exact tip movement agrees with Mattiasson's to the printed digits."""
    assert convergence.elastica_tip(load) == pytest.approx(published, abs=5e-6)


def test_the_picture_names_every_study_and_order():
    """Each study stands in the legend, each order beside its guide line, and powers of ten on the axis."""
    picture = convergence_picture(list(convergence.studies())).picture()
    for words in (
        *(s.name for s in convergence.studies((1,))),
        "order 2",
        "order 4",
        "10⁻⁶",
        "elements along the beam",
    ):
        assert f">{words}<" in picture.svg
