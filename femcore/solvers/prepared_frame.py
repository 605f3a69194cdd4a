"""A frame prepared for solving: what all its cases share, computed when first needed, and kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from femcore.base.arrays import Answer, FloatArray
from femcore.base.errors import InputFault, Mechanism, StructureFault
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import Parts, parts_of
from femcore.solvers.deformed_cases import LoadedParts
from femcore.solvers.linear import (
    Factors,
    LinearState,
    RefinedSolution,
    cable_stiffness,
    solve_linear,
    undeformed_tension,
)
from femcore.solvers.newton import SecondOrderResult
from femcore.solvers.pretension import PretensionedState, solve_pretension
from femcore.solvers.second_order import solve_loaded_frames
from femcore.solvers.side_by_side import are_alike


@dataclass(frozen=True, eq=False)
class PreparedFrame(Answer):
    """For a frame that is solved again and again; its factors live as long as this does.

    parts : of the frame;   factors : of its stiffness, every cable counted
    """

    parts: Parts
    factors: Factors

    def __repr__(self) -> str:
        return f"PreparedFrame({self.frame!r})"

    def __reduce__(self) -> tuple[Callable[[Parts], PreparedFrame], tuple[Parts]]:
        """Pickled as its parts alone: factors cannot be pickled, and are computed again where they are needed."""
        return PreparedFrame.from_parts, (self.parts,)

    @classmethod
    def of(cls, frame: Frame) -> PreparedFrame:
        """Of a frame; Mechanism where one beam is a mechanism in itself."""
        return cls.from_parts(parts_of(frame))

    @classmethod
    def from_parts(cls, parts: Parts) -> PreparedFrame:
        """Of parts; nothing is computed yet."""
        return cls(parts, Factors(parts))

    @property
    def frame(self) -> Frame:
        """The frame itself."""
        return self.parts.frame

    @cached_property
    def under_pretension(self) -> RefinedSolution:
        """The linear frame without load, under pretension alone."""
        return solve_linear(self.parts, Loads.zeros(self.frame, "pretension alone"), self.factors)

    @property
    def linear_pretension_state(self) -> LinearState:
        """Its state."""
        return self.under_pretension.state

    @cached_property
    def pretensioned(self) -> PretensionedState:
        """The deformed shape under pretension alone; NoConvergence or InputFault where there is none."""
        [found] = solve_pretension([(self.parts, self.tension_gain())])
        if isinstance(found, StructureFault):
            raise found
        return found

    def all_cables_taut(self) -> PreparedFrame:
        """Of `Frame.all_cables_taut`, which has the same stiffness."""
        return PreparedFrame(replace(self.parts, frame=self.frame.all_cables_taut()), self.factors)

    def allowing_compression(self) -> PreparedFrame:
        """Of the frame whose cables can push too, which has the same stiffness."""
        cables = replace(self.frame.cables, can_push=True)
        return PreparedFrame(replace(self.parts, frame=replace(self.frame, cables=cables)), self.factors)

    def tension_gain(self) -> FloatArray:
        """(k, k), tensions under pretension alone per tension as drawn, in the linear frame; I where that is a mechanism.

        InputFault where nothing resists the pretension.
        """
        count = len(self.frame.cables)
        if not self.frame.cables.pretension.any() or not self.parts.equations:
            return np.eye(count)
        try:
            flexibility = self.factors.cable_flexibility.flexibility
        except Mechanism:
            return np.eye(count)
        undeformed_tension(self.frame, flexibility)
        return np.eye(count) - cable_stiffness(self.frame)[:, None] * flexibility


def deformed_together(
    several: Sequence[tuple[PreparedFrame, Loads]],
) -> list[list[SecondOrderResult] | None]:
    """Every frame under all its cases in their deformed shapes; None where a frame has no answer, as it is found alone.

    Frames that are alike, as those of several joints are, are worked on side by side, under pretension and under their loads.
    """
    found: list[list[SecondOrderResult] | None] = [None] * len(several)
    for group in _alike([prepared for prepared, _ in several]):
        _pretension_together([several[at][0] for at in group])
        loaded = {at: one for at in group if (one := _loaded(*several[at])) is not None}
        answers = solve_loaded_frames(list(loaded.values())) if loaded else []
        for at, answer in zip(loaded, answers, strict=True):
            found[at] = None if isinstance(answer, StructureFault) else answer
    return found


def _alike(several: Sequence[PreparedFrame]) -> list[list[int]]:
    """Numbers of the frames that are alike, group by group."""
    groups: list[list[int]] = []
    for at, one in enumerate(several):
        group = next((group for group in groups if are_alike(several[group[0]].parts, one.parts)), None)
        if group is None:
            groups.append([at])
        else:
            group.append(at)
    return groups


def _pretension_together(several: Sequence[PreparedFrame]) -> None:
    """Find the shapes under pretension alone side by side; each frame keeps its own, where there is one."""
    gains = {}
    for one in several:
        with suppress(InputFault):
            gains[one] = one.tension_gain()
    wanted = [one for one in gains if "pretensioned" not in vars(one)]
    found = solve_pretension([(one.parts, gains[one]) for one in wanted]) if wanted else []
    for one, state in zip(wanted, found, strict=True):
        if not isinstance(state, StructureFault):
            vars(one)["pretensioned"] = state


def _loaded(prepared: PreparedFrame, loads: Loads) -> LoadedParts | None:
    """The frame under its loads from its shape under pretension; None where there is no such shape."""
    try:
        before = prepared.pretensioned
    except (InputFault, StructureFault):
        return None
    return LoadedParts(prepared.parts, loads, before.unstressed_length, before.shape)


__all__ = ["PreparedFrame", "deformed_together"]
