"""What a front end is run under, a kind of load case in each module; `LOAD_CASES` finds them.

A new kind is a new module here with a subclass of `LoadCase`.
"""

from __future__ import annotations

import sys

from cases.loads.base import LoadCase, PlaceLoad, nodal_loads
from models.kinds import kinds_in

LOAD_CASES = kinds_in(sys.modules[__name__], LoadCase)
"""Every kind of load case by the name that stands in a boat file."""

__all__ = ["LOAD_CASES", "LoadCase", "PlaceLoad", "nodal_loads"]
