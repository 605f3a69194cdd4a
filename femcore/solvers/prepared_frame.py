"""A frame made ready to be solved: what all its cases share, worked out when it is first needed, and kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import Mechanism
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import Parts, parts_of
from femcore.solvers.linear import Factors, State, cable_stiffness, drawn_tension, solve_linear
from femcore.solvers.second_order import Rest, at_rest


@dataclass(frozen=True, eq=False)
class Ready:
    """For a frame that is solved again and again; its factors live as long as this does.

    parts : of the frame;   factors : of its stiffness, every cable counted
    """

    parts: Parts
    factors: Factors

    @classmethod
    def of(cls, frame: Frame) -> Ready:
        """Mechanism where one beam is loose in itself."""
        return cls.made_of(parts_of(frame))

    @classmethod
    def made_of(cls, parts: Parts) -> Ready:
        """Nothing is worked out yet."""
        return cls(parts, Factors(parts))

    @property
    def frame(self) -> Frame:
        """The frame itself."""
        return self.parts.frame

    @cached_property
    def drawn_rest(self) -> State:
        """What pretension does in the linear frame, before any load."""
        return solve_linear(self.parts, Loads.none(self.frame, "at rest"), self.factors).state

    @cached_property
    def rest(self) -> Rest:
        """What it does in the deformed shape; NoConvergence, InputFault where it cannot."""
        return at_rest(self.parts, self._gain())

    def all_taut(self) -> Ready:
        """Of `Frame.all_taut`, which has the same stiffness."""
        return Ready(replace(self.parts, frame=self.frame.all_taut()), self.factors)

    def counting_all(self) -> Ready:
        """Of the frame in which every cable counts, also where it would have to push; of the same stiffness."""
        cables = replace(self.frame.cables, may_push=True)
        return Ready(replace(self.parts, frame=replace(self.frame, cables=cables)), self.factors)

    def _gain(self) -> FloatArray:
        """(k, k), how tensions at rest follow those as drawn, in the linear frame; 1 where that has no stiffness of its own.

        InputFault where nothing takes the pretension.
        """
        count = len(self.frame.cables)
        if not self.frame.cables.pretension.any() or not self.parts.equations:
            return np.eye(count)
        try:
            along = self.factors.soft.along
        except Mechanism:
            return np.eye(count)
        drawn_tension(self.frame, along)
        return np.eye(count) - cable_stiffness(self.frame)[:, None] * along


__all__ = ["Ready"]
