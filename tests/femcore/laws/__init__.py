"""Laws of linear frames: all of them, by name."""

from tests.femcore.laws import closed_forms, invariance, statics  # noqa: F401  (each enters its laws)
from tests.femcore.laws.table import LAWS

__all__ = ["LAWS"]
