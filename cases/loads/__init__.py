"""What a front end is run under, a kind of load case in each module; `LOAD_CASES` finds them.

A new kind is a new module here with a subclass of `LoadCase`.
"""

from __future__ import annotations

import sys

from cases.loads.arrays import case_loads, components, nodal_loads
from cases.loads.base import ExpandedCase, LoadCase, MemberLoad, PlaceLoad
from cases.loads.origin import Origin
from models.tables.kinds import find_kinds

LOAD_CASES = find_kinds(sys.modules[__name__], LoadCase)  # type: ignore[type-abstract]  # the base of its kinds
"""Every kind of load case by its name in a boat file."""

__all__ = [
    "LOAD_CASES",
    "ExpandedCase",
    "LoadCase",
    "MemberLoad",
    "Origin",
    "PlaceLoad",
    "case_loads",
    "components",
    "nodal_loads",
]
