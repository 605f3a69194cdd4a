"""What a frame file expects of its cases: published values, with the quantities that can be asked for."""

from __future__ import annotations

import re

from pydantic import model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table
from femcore.base.units import si
from femcore.files.frame_file.tables import MAX_MODES
from femcore.files.section_file.materials import Name
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS

UNITS = (
    dict.fromkeys(("ux", "uy", "uz"), "m")
    | dict.fromkeys(("rx", "ry", "rz"), "rad")
    | dict.fromkeys(("Fx", "Fy", "Fz", "N", "Vy", "Vz", "tension"), "N")
    | dict.fromkeys(("Mx", "My", "Mz", "T"), "N*m")
    | {"buckling factor": "1", "frequency": "Hz"}
)
"""Every quantity and its SI unit; "1" is a number."""
OF_NODE = (*FREEDOMS, *REACTIONS)
OF_BEAM_END = ACTIONS
_MODE = re.compile(r"^(buckling factor|frequency) ([1-9]\d{0,2})$")


class Expectation(Table):
    """A published value of a quantity, with the tolerance within which it must be reproduced."""

    case: Name
    at: Name | None = None
    quantity: Name
    value: str | float
    tolerance: float | str

    @model_validator(mode="after")
    def _sound(self) -> Expectation:
        if self.kind not in UNITS or (self.kind in ("buckling factor", "frequency")) != (self.mode > 0):
            known = ", ".join(name for name in UNITS if " " not in name and name != "frequency")
            cure = f"use one of {known}, 'buckling factor 1', 'frequency 1' (up to {MAX_MODES})"
            raise fault(f"quantity '{self.quantity}' is not one that can be expected", cure)
        if self.mode and self.at is not None:
            raise fault(f"'{self.quantity}' is of the whole frame", "leave 'at' out")
        value = self._si("value", self.value)
        if isinstance(self.tolerance, str):
            if self._si("tolerance", self.tolerance) < 0:
                raise fault("tolerance is negative", "give the largest difference allowed, either way")
        elif value == 0 or not 0 < self.tolerance < 1:
            raise fault(
                "tolerance, being relative, means nothing", "give one with a unit, or between 0 and 1"
            )
        return self

    def _si(self, key: str, value: str | float) -> float:
        try:
            return _read(value, self.unit)
        except InputFault as trouble:
            raise fault(f"{key} {trouble.wrong}", trouble.cure) from None

    @property
    def mode(self) -> int:
        """Which buckling factor or frequency, from 1; 0 for all else."""
        match = _MODE.match(self.quantity)
        return int(match[2]) if match and int(match[2]) <= MAX_MODES else 0

    @property
    def kind(self) -> str:
        """The quantity without the mode's number."""
        return self.quantity.rpartition(" ")[0] if self.mode else self.quantity

    @property
    def unit(self) -> str:
        """SI unit of the quantity; "1" for a number."""
        return UNITS[self.kind]

    @property
    def expected(self) -> float:
        """The value in SI."""
        return _read(self.value, self.unit)

    @property
    def allowed(self) -> float:
        """The largest difference in SI."""
        given = self.tolerance
        return _read(given, self.unit) if isinstance(given, str) else abs(given * self.expected)


def _read(value: str | float, unit: str) -> float:
    if unit != "1":
        return si(value, unit)
    try:
        return float(value)
    except ValueError:
        raise InputFault(
            "", f"'{value}' is no number", "give a number without a unit, such as 1.82"
        ) from None
