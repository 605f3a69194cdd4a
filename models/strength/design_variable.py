"""What a builder can raise where a check falls short: one class for the sizes of joints, of attachments and of the boat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

Sized_co = TypeVar("Sized_co", covariant=True)


@dataclass(frozen=True, slots=True)
class DesignVariable(Generic[Sized_co]):
    """A size that a builder can raise.

    name     : what is raised
    improves : how the checks that it helps begin ("part: check"), or words of the check itself
    sizes    : the next larger stock sizes, smallest first: in words, and what has that size (or a function that makes it)
    """

    name: str
    improves: tuple[str, ...]
    sizes: tuple[tuple[str, Sized_co], ...]

    def applies_to(self, part: str, check: str) -> bool:
        """Whether it helps that check of that part."""
        return any(f"{part}: {check}".startswith(word) or word in check for word in self.improves)
