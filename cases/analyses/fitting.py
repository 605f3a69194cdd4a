"""Gauss–Newton with a prior: parameters p of a model y = f(p) + A η + noise, with A η what the readings cannot tell from nothing.

    min |Qᵀ (y − f(p))/σ|² + |p/σ_p|²        Q spans what the columns A/σ do not, so that η is left out exactly

A normal prior of scatter σ_p about 0 stands beside normal readings of scatter σ. Near the solution the model is its tangent J:

    covariance of p        C = (J̃ᵀJ̃ + σ_p⁻²)⁻¹,   J̃ = Qᵀ J/σ
    learned share of p_i   1 − C_ii/σ_p,i²
    fit                    the minimum is χ² of as many degrees as there are rows of Qᵀ, where prior, model and noise are right
    leaving a reading out  all others' prediction misses it by (V z)_i/V_ii, of scatter 1/√V_ii,  V = Q (1 + J̃ σ_p² J̃ᵀ)⁻¹ Qᵀ

(A. Tarantola, Inverse Problem Theory, 2005, ch. 3, and C.E. Rasmussen & C.K.I. Williams, Gaussian Processes for Machine
Learning, 2006, eq. 5.12 for the last, both from memory.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy import optimize, special

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray

REL_TOL_RANK = 1e-9
"""Of the largest singular value: columns of A that differ by less are the same."""
REL_TOL_FIT = 1e-6
"""Of parameters and of the sum of squares between iterations."""
MAX_LOGARITHM = float(np.log(15.0))
"""Of a factor: beyond, a part is another one than was described."""
MAX_ITERATIONS = 60
POOR_FIT = 0.01
"""Probability of chance alone: below, model and readings do not agree (common practice)."""

Model = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""p (u,) → f (n,) and J (n, u)."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Problem(ArrayRecord):
    """Readings y (n,) of scatter σ (n,), columns A (n, k) of unknown amounts, scatter σ_p (u,) of the prior, and the model."""

    y: FloatArray
    scatter: FloatArray
    free: FloatArray
    prior: FloatArray
    model: Model

    def without(self, left_out: BoolArray) -> Problem:
        """The problem without some readings (n,)."""
        kept = ~left_out

        def model(p: FloatArray) -> tuple[FloatArray, FloatArray]:
            value, slope = self.model(p)
            return value[kept], slope[kept]

        return Problem(self.y[kept], self.scatter[kept], self.free[kept], self.prior, model)

    def of_readings(self, y: FloatArray) -> Problem:
        """The same with other readings."""
        return replace(self, y=y)

    def basis(self) -> FloatArray:
        """Q, (n, n − rank): orthonormal, square to every column of A/σ."""
        u, size, _ = np.linalg.svd(self.free / self.scatter[:, None], full_matrices=True)
        rank = int((size > REL_TOL_RANK * size.max(initial=0.0)).sum()) if size.size else 0
        return u[:, rank:]


@dataclass(frozen=True, eq=False, repr=False)
class Fit(ArrayRecord):
    """A fitted problem.

    p : (u,);   covariance : (u, u);   value, slope : (n,), (n, u), of the model there;   basis : Q
    cost : the sum of squares, χ²;   problem : that was fitted
    """

    problem: Problem
    p: FloatArray
    covariance: FloatArray
    value: FloatArray
    slope: FloatArray
    basis: FloatArray
    cost: float

    @property
    def degrees(self) -> int:
        """Of freedom of `cost`."""
        return int(self.basis.shape[1])

    @property
    def probability(self) -> float:
        """Of a χ² as large or larger by chance, were model, prior and scatters right."""
        return float(special.chdtrc(self.degrees, self.cost)) if self.degrees else 1.0

    @property
    def learned(self) -> FloatArray:
        """(u,), 1 − (σ_post/σ_prior)²."""
        return np.asarray(1 - np.diag(self.covariance) / self.problem.prior**2)

    @property
    def correlation(self) -> FloatArray:
        """(u, u), of the parameters."""
        size = np.sqrt(np.diag(self.covariance))
        return np.asarray(self.covariance / np.outer(size, size))

    @cached_property
    def whitened(self) -> FloatArray:
        """(n, u), J/σ without what A can take up: Q J̃."""
        return np.asarray(self.basis @ (self.basis.T @ (self.slope / self.problem.scatter[:, None])))

    @cached_property
    def precision(self) -> FloatArray:
        """V, (n, n), of readings over their scatter."""
        return np.asarray(self.basis @ self.basis.T - self.whitened @ self.covariance @ self.whitened.T)

    @property
    def studentised(self) -> FloatArray:
        """(n,): by how many of its own standard deviations the others' prediction misses each reading; 0 where they make none."""
        missed = self.basis @ (self.basis.T @ ((self.problem.y - self.value) / self.problem.scatter))
        own = np.diag(self.precision)
        return np.asarray(np.where(own > REL_TOL_RANK, missed / np.sqrt(np.maximum(own, REL_TOL_RANK)), 0.0))

    def free_amounts(self) -> tuple[FloatArray, FloatArray]:
        """(k,), η and its scatter, the uncertainty of p included."""
        A = self.problem.free / self.problem.scatter[:, None]
        J = self.slope / self.problem.scatter[:, None]
        amounts = np.linalg.pinv(A, REL_TOL_RANK) @ ((self.problem.y - self.value) / self.problem.scatter)
        prior = np.diag(1 / self.problem.prior**2)
        both = np.block([[A.T @ A, A.T @ J], [J.T @ A, J.T @ J + prior]])
        scale = np.sqrt(np.maximum(np.diag(both), np.finfo(float).tiny))
        inverse = np.linalg.pinv(both / np.outer(scale, scale), 1e-12, hermitian=True)
        return amounts, np.sqrt(np.maximum(np.diag(inverse), 0.0))[: A.shape[1]] / scale[: A.shape[1]]


def fit(problem: Problem) -> Fit:
    """The parameters of the least sum; NoConvergence where none is found, structure faults as of the model."""
    basis, seen = problem.basis(), _Remembered(problem.model)

    def residuals(p: FloatArray) -> FloatArray:
        missed = basis.T @ ((problem.y - seen(p)[0]) / problem.scatter)
        return np.concatenate([missed, p / problem.prior])

    def jacobian(p: FloatArray) -> FloatArray:
        return np.concatenate(
            [-basis.T @ (seen(p)[1] / problem.scatter[:, None]), np.diag(1 / problem.prior)]
        )

    found = optimize.least_squares(
        residuals, np.zeros(len(problem.prior)), jacobian, x_scale=problem.prior, method="trf",
        bounds=(-MAX_LOGARITHM, MAX_LOGARITHM), xtol=REL_TOL_FIT, ftol=REL_TOL_FIT, gtol=REL_TOL_FIT, max_nfev=MAX_ITERATIONS,
    )  # fmt: skip
    value, slope = seen(found.x)
    J = jacobian(found.x)
    return Fit(
        problem,
        found.x,
        np.asarray(np.linalg.inv(J.T @ J), dtype=float),
        value,
        slope,
        basis,
        2 * float(found.cost),
    )


def expected_covariance(
    slope: FloatArray, scatter: FloatArray, free: FloatArray, prior: FloatArray
) -> FloatArray:
    """(u, u), of the parameters once readings of that slope (n, u) and scatter (n,) are taken; before any is."""
    nothing = np.zeros(len(scatter))
    Q = Problem(nothing, scatter, free, prior, lambda _: (nothing, slope)).basis()
    J = Q.T @ (slope / scatter[:, None])
    return np.asarray(np.linalg.inv(J.T @ J + np.diag(1 / prior**2)))


class _Remembered:
    """A model that is not evaluated twice at the same parameters in turn."""

    def __init__(self, model: Model) -> None:
        self._model, self._at, self._found = model, np.zeros(0), (np.zeros(0), np.zeros((0, 0)))

    def __call__(self, p: FloatArray) -> tuple[FloatArray, FloatArray]:
        if not np.array_equal(p, self._at):
            self._found, self._at = self._model(p), np.array(p)
        return self._found


__all__ = ["Fit", "Problem", "expected_covariance", "fit"]
