"""Laws of frames: all of them, by name."""

from tests.femcore.laws import (  # noqa: F401  (each enters its laws)
    cables,
    closed_forms,
    deformed,
    invariance,
    stability,
    statics,
    vibration,
)
from tests.femcore.laws.table import LAWS

__all__ = ["LAWS"]
