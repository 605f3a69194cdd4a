"""First-ply failure: how far the loads can grow until the first layer fails, which one, where and how."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.laminates.failure import CRITERIA, Criterion, CriterionResult, layer_limits
from femcore.laminates.laminate import Array, Laminate
from femcore.laminates.response import PlyState, ply_state_under


@dataclass(frozen=True, eq=False, repr=False)
class FirstPlyFailure(ArrayRecord):
    """The governing ply for each load; all arrays have the loads' leading shape `...`.

    load_factor : what the load must be multiplied by for the first ply to fail
    index : the criterion's index there, 1 at failure
    ply : its place in `laminate.plies`; face : 0 at its smaller z, 1 at its larger
    mode : the words of the governing mode
    """

    criterion: str
    load_factor: Array
    index: Array
    ply: npt.NDArray[np.intp]
    face: npt.NDArray[np.intp]
    mode: npt.NDArray[np.str_]

    def margin(self, safety: float) -> Array:
        """load factor over the safety factor, less one."""
        return self.load_factor / safety - 1


def evaluate_plies(laminate: Laminate, state: PlyState, criterion: str = "tsai_wu") -> CriterionResult:
    """Every ply and face of `state` by one criterion; cores never govern.

    Raises InputFault for an unknown criterion and for a missing strength.
    """
    return criterion_named(criterion, laminate)(state, layer_limits(laminate))


def criterion_named(name: str, laminate: Laminate) -> Criterion:
    """The criterion of that name; InputFault, naming the laminate to be judged, where there is none."""
    if name not in CRITERIA:
        cure = f"use one of {', '.join(CRITERIA)}"
        raise InputFault(laminate.name, f"no failure criterion is called '{name}'", cure)
    return CRITERIA[name]


def first_ply_failure(
    laminate: Laminate, resultants: npt.ArrayLike, criterion: str = "tsai_wu"
) -> FirstPlyFailure:
    """First-ply failure under resultants (..., 6), N/m and N."""
    return governing_ply(evaluate_plies(laminate, ply_state_under(laminate, resultants), criterion))


def governing_ply(criterion_result: CriterionResult) -> FirstPlyFailure:
    """The ply and face with the lowest load factor for each load of a verdict (..., plies, 2)."""
    lead, (plies, faces) = criterion_result.load_factor.shape[:-2], criterion_result.load_factor.shape[-2:]
    flat = criterion_result.load_factor.reshape(*lead, plies * faces)
    worst = flat.argmin(axis=-1)

    def at(values: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
        return np.take_along_axis(values.reshape(*lead, -1), worst[..., None], axis=-1)[..., 0]

    return FirstPlyFailure(
        criterion=criterion_result.criterion,
        load_factor=np.asarray(at(criterion_result.load_factor), float),
        index=np.asarray(at(criterion_result.index), float),
        ply=worst // faces,
        face=worst % faces,
        mode=np.asarray(criterion_result.modes)[np.asarray(at(criterion_result.mode), int)],
    )
