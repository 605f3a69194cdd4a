"""The lowest positive λ of K φ = λ A φ of sparse K, positive definite, and symmetric A of any sign: buckling and vibration.

Found as the largest μ = 1/λ of A φ = μ K φ by Lanczos iteration with one factorisation of K (inverse iteration about a shift
of 0), which separates the wanted end of the spectrum. How many there are below the last one found is counted from the signs of
the pivots of K − λ A (Sylvester's law of inertia), so that close or repeated ones are not missed. Of the lowest one alone the
iteration only has to come near: the factors that count those below it refine it. Where modes of matrices much like these are
known, it is neared among them (Rayleigh and Ritz), in a fraction of the time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
import scipy.linalg
from scipy import sparse
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, SuperLU, eigsh

from femcore.base.arrays import FloatArray
from femcore.solvers.band import FactorsOfPattern, SymmetricFactors
from femcore.solvers.blocks import factorise_symmetric, with_values

MAX_DENSE_FREEDOMS = 80
"""Freedoms up to which the whole spectrum is taken by a dense solver."""
REL_TOL_EIGENVALUE = 1e-10
"""Of a Lanczos value: its relative error; rounding of the lowest ones is less."""
MIN_LANCZOS_BASIS = 12
"""Vectors of the Lanczos basis for a few values; four for each of more."""
REL_TOL_NEAR_MODE, NEAR_LANCZOS_BASIS = 1e-3, 6
"""Of the iteration that only comes near the lowest mode: its residual (a value then errs by 10⁻⁶), and its vectors."""
MAX_KNOWN_MODES, MAX_RITZ_STEPS = 24, 4
"""Of the modes among which another one is neared, and of the steps towards it."""
REL_TOL_NEAR_RITZ_MODE, REL_TOL_KNOWN_MODE = 1e-7, 1e-3
"""Of a mode's energy, the part off the eigenvector: with less it is near; with less at first it is no new one."""
MAX_SHIFTS, MAX_INVERSE_ITERATIONS = 3, 8
"""Of the refinement of the lowest value; the second is for each shift, and two are usual."""
MAX_RESTARTS = 100
"""Of Lanczos iteration: values that have not converged by then are sought with a larger basis."""
MAX_EIGENVALUE_RATIO = 1e8
"""Of the lowest λ of either sign: a larger one is rounding."""
REL_TOL_POSITIVE_EIGENVALUE = 1e-13
"""Of the largest |μ|: a smaller μ is rounding, and its λ treated as infinite."""
MAX_ATTEMPTS = 4
"""Each doubles the number of values sought, which reaches clusters of eight times those wanted."""
REL_TOL_EIGENVALUE_GAP = 1e-6
"""Of a value: the distance below it at which the others are counted."""


def lowest(
    K: sparse.csc_array,
    A: sparse.csc_array,
    count: int,
    factor: SuperLU | SymmetricFactors,
    factors: FactorsOfPattern | None = None,
    known: KnownModes | None = None,
) -> tuple[FloatArray, FloatArray]:
    """λ (found,), ascending, and φ (found, freedoms) of unit largest entry; fewer than `count` where there are no more.

    factor : of K;   factors : those of other matrices of its pattern
    known  : modes of other matrices like these, to which a single one that is wanted is added
    """
    size, wanted = K.shape[0], count
    if not A.data.any():
        return np.zeros(0), np.zeros((0, size))
    if size <= MAX_DENSE_FREEDOMS or wanted >= size // 2:
        mu, phi = scipy.linalg.eigh(A.toarray(), K.toarray())
        return _ordered(mu, phi.T, count)
    if count == 1 and (one := _lowest_one(K, A, factor, factors or FactorsOfPattern(), known)) is not None:
        return one
    for _ in range(MAX_ATTEMPTS):
        mu, phi = _lanczos(K, A, wanted, factor)
        values, modes = _ordered(mu, phi.T, count)
        if len(mu) < wanted:
            # the next ones are among many μ near 0: there may be no more
            edge = _edge(K, A, factor)
            values, modes = values[values < edge], modes[values < edge]
            done = len(values) >= min(count, _up_to(K, A, edge))
        else:
            done = not len(values) or not _are_missed(K, A, values)
        if done:
            break
        wanted = min(2 * wanted, size // 2)
    return values, modes


class KnownModes:
    """Modes of matrices that are much like one another, among which that of the next one is neared.

    They only spare time: what is neared is refined, and the modes below it are counted, as after an iteration.
    """

    def __init__(self, modes: Sequence[FloatArray] = ()) -> None:
        self._modes = [*modes]

    @property
    def modes(self) -> tuple[FloatArray, ...]:
        """Each of unit energy, the newest last."""
        return tuple(self._modes)

    def near(
        self, K: sparse.csc_array, A: sparse.csc_array, factor: SuperLU | SymmetricFactors
    ) -> tuple[FloatArray | None, bool]:
        """A φ near that of the largest μ, None where it is not neared; whether it is but a sum of the modes.

        It is the best sum of the modes and of what inverse iteration adds to them. With φ of unit energy, x = K⁻¹ A φ and
        μ = φ·A φ, what is off the eigenvector is x/μ − φ, of energy x·A φ/μ² − 1.
        """
        count = len(self._modes)
        if not count:
            return None, False
        V, KV, AV = (np.empty((K.shape[0], count + MAX_RITZ_STEPS)) for _ in range(3))
        V[:, :count] = np.array(self._modes).T
        KV[:, :count], AV[:, :count] = K @ V[:, :count], A @ V[:, :count]
        is_sum = False
        for at in range(count, count + MAX_RITZ_STEPS):
            known, projected = V[:, :at].T, (V[:, :at].T @ AV[:, :at], V[:, :at].T @ KV[:, :at])
            try:
                mu, y = scipy.linalg.eigh(*projected, check_finite=False)
            except scipy.linalg.LinAlgError:
                break
            if not mu[-1] > 0:
                break
            loaded: FloatArray = AV[:, :at] @ y[:, -1]
            x: FloatArray = factor.solve(loaded) / mu[-1]
            off = float(x @ loaded) / mu[-1] - 1.0
            is_sum |= at == count and off <= REL_TOL_KNOWN_MODE
            if off <= REL_TOL_NEAR_RITZ_MODE:
                return x, is_sum
            V[:, at] = (x - y[:, -1] @ known) / np.sqrt(off)
            KV[:, at] = (loaded / mu[-1] - KV[:, :at] @ y[:, -1]) / np.sqrt(off)
            AV[:, at] = A @ V[:, at]
        return None, False

    def add(self, K: sparse.csc_array, mode: FloatArray) -> None:
        """One more, the oldest one then left out where there are many."""
        self._modes = [*self._modes[1 - MAX_KNOWN_MODES :], mode / np.sqrt(mode @ (K @ mode))]


def _lowest_one(
    K: sparse.csc_array,
    A: sparse.csc_array,
    factor: SuperLU | SymmetricFactors,
    factors: FactorsOfPattern,
    known: KnownModes | None,
) -> tuple[FloatArray, FloatArray] | None:
    """`lowest` of one value; None where in doubt."""
    mode, is_sum = known.near(K, A, factor) if known else (None, False)
    found = None if mode is None else _refined(K, A, mode, factors)
    if found is None:
        mode, is_sum = _near_lowest(K, A, factor), False
        found = None if mode is None else _refined(K, A, mode, factors)
    if found is not None and known and not is_sum:
        known.add(K, found[1][0])
    return found


def _refined(
    K: sparse.csc_array, A: sparse.csc_array, mode: FloatArray, factors: FactorsOfPattern
) -> tuple[FloatArray, FloatArray] | None:
    """`lowest` of one value from a φ that is near, by inverse iteration about a shift just below it, with no other below."""
    loaded = A @ mode
    for _ in range(MAX_SHIFTS):
        value = _rayleigh_quotient(K, mode, loaded)
        if not value > 0:
            return None
        less = _shifted(K, A, value * (1 - REL_TOL_EIGENVALUE_GAP))
        of_pattern = factors if less.indices is K.indices else FactorsOfPattern()
        shifted = next(of_pattern.of(less, less.data[None]))
        if shifted is None:
            return None
        for _ in range(MAX_INVERSE_ITERATIONS):
            mode = shifted.solve(loaded)
            mode /= mode[np.abs(mode).argmax()]
            loaded, before = A @ mode, value
            value = _rayleigh_quotient(K, mode, loaded)
            if abs(value - before) <= REL_TOL_EIGENVALUE * value:
                break
        else:
            return None
        if shifted.is_positive:
            return np.array([value]), mode[None]
    return None


def _near_lowest(
    K: sparse.csc_array, A: sparse.csc_array, factor: SuperLU | SymmetricFactors
) -> FloatArray | None:
    """A φ near that of the largest μ; None where it is not neared."""
    _, phi = _lanczos(K, A, 1, factor, tolerance=REL_TOL_NEAR_MODE, basis=NEAR_LANCZOS_BASIS)
    return phi[:, 0] if phi.shape[1] else None


def _rayleigh_quotient(K: sparse.csc_array, mode: FloatArray, loaded: FloatArray) -> float:
    """φ·K φ over φ·A φ, `loaded` being A φ; inf where A does no work in φ."""
    work = float(mode @ loaded)
    return float(mode @ (K @ mode)) / work if work else np.inf


def _lanczos(
    K: sparse.csc_array,
    A: sparse.csc_array,
    wanted: int,
    factor: SuperLU | SymmetricFactors,
    which: Literal["LA", "LM"] = "LA",
    tolerance: float = REL_TOL_EIGENVALUE,
    basis: int = 0,
) -> tuple[FloatArray, FloatArray]:
    """The largest μ and their φ (freedoms, found), by value or by magnitude; fewer than wanted where these do not converge."""
    times_A, times_K, inverse = (
        LinearOperator(K.shape, matvec=product, dtype=float) for product in (A.dot, K.dot, factor.solve)
    )
    start = np.random.default_rng(2).standard_normal(K.shape[0])
    basis = basis or max(4 * wanted, MIN_LANCZOS_BASIS)
    settings: dict[str, Any] = {"v0": start, "ncv": basis, "tol": tolerance, "maxiter": MAX_RESTARTS}
    try:
        mu, phi = eigsh(times_A, wanted, times_K, which=which, Minv=inverse, **settings)
    except ArpackNoConvergence as short:
        mu, phi = short.eigenvalues, short.eigenvectors
    return mu, phi


def _ordered(mu: FloatArray, modes: FloatArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Positive ones only, λ ascending, modes scaled."""
    real = mu > REL_TOL_POSITIVE_EIGENVALUE * np.abs(mu).max(initial=0.0)
    order = np.argsort(-mu[real])[:count]
    chosen = modes[real][order]
    largest = np.take_along_axis(chosen, np.abs(chosen).argmax(axis=1)[:, None], axis=1)
    return 1 / mu[real][order], chosen / largest


def _are_missed(K: sparse.csc_array, A: sparse.csc_array, values: FloatArray) -> bool:
    """Whether λ below the last of `values` are missing from them, from the inertia of K − λ A just below it."""
    edge = values[-1] * (1 - REL_TOL_EIGENVALUE_GAP)
    return bool(_up_to(K, A, edge) > np.count_nonzero(values < edge))


def _edge(K: sparse.csc_array, A: sparse.csc_array, factor: SuperLU | SymmetricFactors) -> float:
    """A λ far from the lowest of either sign; 0 where even that does not converge."""
    mu, _ = _lanczos(K, A, 1, factor, "LM")
    return float(MAX_EIGENVALUE_RATIO / np.abs(mu[0])) if len(mu) else 0.0


def _up_to(K: sparse.csc_array, A: sparse.csc_array, edge: float) -> int:
    """How many λ there are from 0 to `edge`, from the inertia of K − edge A; 0 where that is singular."""
    try:
        pivots = factorise_symmetric(_shifted(K, A, edge), "NATURAL").U.diagonal()
    except RuntimeError:
        return 0
    return int(np.count_nonzero(pivots < 0))


def _shifted(K: sparse.csc_array, A: sparse.csc_array, shift: float) -> sparse.csc_array:
    """K − shift A, of the pattern of K where A has that too."""
    if np.array_equal(K.indptr, A.indptr) and np.array_equal(K.indices, A.indices):
        return with_values(K, K.data - shift * A.data)
    shifted: sparse.csc_array = (K - shift * A).tocsc()
    return shifted
