"""Loads described by the names of cases, nodes, beams and cables; `build()` gives them as arrays.

loads = LoadsBuilder(frame, "self-weight", "gust")
loads.gravity(case="self-weight").line("AB", qz=-1e4, case="gust").point("B", Fx=2e3, case="gust")
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray, listed
from femcore.base.checks import finite
from femcore.base.errors import InputFault, duplicates, unknown
from femcore.frame.components import FREEDOMS
from femcore.frame.frame import Frame, Loads, gravity_loads
from femcore.frame.stretches import Stretches, along_elements

STANDARD_GRAVITY = 9.80665
"""m/s², the conventional standard value."""
REL_TOL_BEAM_END = 1e-9
"""Of a beam's length: a line load that ends beyond the beam by less ends at the beam's end."""


class LoadsBuilder:
    """Collects the loads of one or several cases on a frame; every misuse is an InputFault at the call.

    Loads of one kind at one place add up. Every method returns the builder, and takes `case`, the name of a case, which is left
    out where there is only one.
    """

    def __init__(self, frame: Frame, *cases: str) -> None:
        for fault in duplicates("case", cases):
            raise fault
        self._frame, self._loads = frame, Loads.zeros(frame, *(cases or ("load",)))
        self._stretches: list[list[Stretches]] = [[] for _ in self._loads.names]

    def __repr__(self) -> str:
        return f"LoadsBuilder({len(self._loads.names)} cases: {listed(self._loads.names)})"

    def build(self) -> Loads:
        """The loads as arrays, which later calls do not change."""
        each = [Stretches.summed([Stretches.none(), *of_case]) for of_case in self._stretches]
        return replace(self._loads.copied(), stretches=Stretches.stacked(each))

    def point(
        self,
        node: str,
        *,
        Fx: float = 0.0,
        Fy: float = 0.0,
        Fz: float = 0.0,
        Mx: float = 0.0,
        My: float = 0.0,
        Mz: float = 0.0,
        case: str | None = None,
    ) -> LoadsBuilder:
        """A force, N, and a moment, N·m, on a node, global axes."""
        load = finite(f"point load on '{node}'", (Fx, Fy, Fz, Mx, My, Mz))
        self._loads.nodal[self._loads.case(case), self._frame.node_number(node)] += load
        return self

    def line(
        self,
        beam: str,
        *,
        qx: float = 0.0,
        qy: float = 0.0,
        qz: float = 0.0,
        axes: Literal["global", "beam"] = "global",
        begin: float | None = None,
        end: float | None = None,
        arm: npt.ArrayLike = (0.0, 0.0, 0.0),
        case: str | None = None,
    ) -> LoadsBuilder:
        """A uniform force per length of a beam, N/m, in global axes or those of the beam.

        begin, end : m, the stretch it acts on, along the beam's flexible length; the whole of it where left out
        arm        : (3,), m, in the axes of the force, from the beam's axis to the line on which it acts
        InputFault where the stretch is not on the beam.
        """
        place, frame = f"line load on '{beam}'", self._frame
        force, off, run = (
            finite(place, (qx, qy, qz)),
            finite(f"{place}: arm", arm),
            frame.member(beam).elements,
        )
        if axes not in ("global", "beam"):
            raise InputFault(f"{place}: axes", f"'{axes}' is neither", "give 'global' or 'beam'")
        near, far = self._fractions(place, run, begin, end)
        number, own = self._loads.case(case), frame.axes[run]
        acting, elements = np.tile(force, (len(near), 2, 1)), np.arange(run.start, run.stop)
        of_axes = np.tile(np.eye(3), (len(near), 1, 1)) if axes == "beam" else own
        # with beam axes as global ones, force and arm are turned by nothing
        line, stretches = along_elements(of_axes, elements, near, far, acting, off)
        self._loads.line[number, run] += line
        self._stretches[number].append(stretches)
        return self

    def _fractions(
        self, place: str, run: slice, begin: float | None, end: float | None
    ) -> tuple[FloatArray, FloatArray]:
        """(e,), (e,): where a stretch begins and ends on each element of a beam, as fractions; equal where it is not on it."""
        length = self._frame.length[run]
        before, total = np.cumsum(length) - length, float(length.sum())
        first = 0.0 if begin is None else float(finite(f"{place}: begin", begin, ()))
        last = total if end is None else float(finite(f"{place}: end", end, ()))
        if not 0 <= first < last <= total * (1 + REL_TOL_BEAM_END):
            wrong = f"from {first:g} m to {last:g} m is no stretch of a beam of {total:g} m"
            raise InputFault(place, wrong, f"let begin be less than end, both from 0 to {total:g} m")
        limits = first, np.inf if end is None else last
        near, far = (np.clip((limit - before) / length, 0.0, 1.0) for limit in limits)
        return near, far

    def gravity(
        self, *, gx: float = 0.0, gy: float = 0.0, gz: float = -STANDARD_GRAVITY, case: str | None = None
    ) -> LoadsBuilder:
        """The weight of the frame's own mass under an acceleration, m/s², global axes; z is up where nothing else is given."""
        nodal, line = gravity_loads(self._frame, finite("gravity", (gx, gy, gz)))
        number = self._loads.case(case)
        self._loads.nodal[number] += nodal
        self._loads.line[number] += line
        return self

    def temperature(self, name: str, change: float, *, case: str | None = None) -> LoadsBuilder:
        """A temperature change, K, of a whole beam or cable, whose `expansion` says how much it lengthens."""
        change, number = float(finite(f"temperature of '{name}'", change, ())), self._loads.case(case)
        frame, cables = self._frame, self._frame.cables.names
        if name in frame.members:
            self._loads.temperature_change[number, frame.members[name].elements] += change
        elif name in cables:
            self._loads.cable_temperature_change[number, frame.cable_numbers(name)] += change
        else:
            raise unknown("temperature", "beam or cable", name, [*frame.members, *dict.fromkeys(cables)])
        return self

    def displacement(
        self,
        node: str,
        *,
        ux: float = 0.0,
        uy: float = 0.0,
        uz: float = 0.0,
        rx: float = 0.0,
        ry: float = 0.0,
        rz: float = 0.0,
        case: str | None = None,
    ) -> LoadsBuilder:
        """An imposed movement, m, and rotation, rad, of a support, global axes; InputFault where the freedom is not fixed."""
        place, index = f"displacement of '{node}'", self._frame.node_number(node)
        moved = finite(place, (ux, uy, uz, rx, ry, rz))
        for number in np.flatnonzero((moved != 0) & ~self._frame.fixed[index]):
            freedom = FREEDOMS[number]
            raise InputFault(place, f"'{freedom}' is not fixed there", f"add '{freedom}' to its support")
        self._loads.support_displacement[self._loads.case(case), index] += moved
        return self
