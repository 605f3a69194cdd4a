"""A frame prepared for solving: what all its cases share, computed when first needed, and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import Mechanism
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import Parts, parts_of
from femcore.solvers.linear import Factors, LinearState, cable_stiffness, solve_linear, undeformed_tension
from femcore.solvers.second_order import PretensionedState, solve_pretension


@dataclass(frozen=True, eq=False)
class PreparedFrame:
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
    def linear_pretension_state(self) -> LinearState:
        """The linear frame under pretension alone."""
        return solve_linear(self.parts, Loads.zeros(self.frame, "pretension alone"), self.factors).state

    @cached_property
    def pretensioned(self) -> PretensionedState:
        """The deformed shape under pretension alone; NoConvergence or InputFault where there is none."""
        return solve_pretension(self.parts, self._tension_gain())

    def all_cables_taut(self) -> PreparedFrame:
        """Of `Frame.all_cables_taut`, which has the same stiffness."""
        return PreparedFrame(replace(self.parts, frame=self.frame.all_cables_taut()), self.factors)

    def allowing_compression(self) -> PreparedFrame:
        """Of the frame whose cables can push too, which has the same stiffness."""
        cables = replace(self.frame.cables, can_push=True)
        return PreparedFrame(replace(self.parts, frame=replace(self.frame, cables=cables)), self.factors)

    def _tension_gain(self) -> FloatArray:
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


__all__ = ["PreparedFrame"]
