"""How a tang, an eye or the end of a beam is fixed, as a boat file says it: a kind of fixing each, told apart by `kind`.

"along" is along the beam that the fitting stands on, at the end of a beam level and square to it; "across" is around the beam, at
its end up and down. Several fixings in a list lie one behind the other: each carries the whole. The mechanics is
`models.strength.attachment`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Discriminator, Field, Tag

from models.attachments.base import FixingTable
from models.attachments.base_plates import Bolted, Bonded, Strapped, Welded
from models.attachments.beam_ends import Pinned, Sleeved, Taped
from models.strength.attachment import Fixing, Stem
from models.tables.kinds import one_of

__all__ = [
    "AT_END",
    "ON_BEAM",
    "AtEnd",
    "EndOnBeam",
    "FixingTable",
    "Given",
    "OnBeam",
    "fixings",
    "fixings_from_axis",
    "larger",
]


def _one_or_several(one: Any) -> Any:  # noqa: ANN401  (a type, made at run time)
    """The pydantic field type of one such table, or of a list of them."""
    many = Annotated[list[one], Field(min_length=1)]
    told = Discriminator(lambda given: "several" if isinstance(given, list) else "one")
    return Annotated[Annotated[one, Tag("one")] | Annotated[many, Tag("several")], told]


ON_BEAM = {"bolted": Bolted, "welded": Welded, "bonded": Bonded, "strapped": Strapped}
"""Ways to fix what stands on a beam's side."""
AT_END = {
    "bolted": Bolted,
    "welded": Welded,
    "bonded": Bonded,
    "sleeved": Sleeved,
    "taped": Taped,
    "pinned": Pinned,
}
"""Ways to fix the end of a beam."""

OnBeam = FixingTable | list[FixingTable]
AtEnd = FixingTable | list[FixingTable]
EndOnBeam = FixingTable | list[FixingTable]
if not TYPE_CHECKING:
    OnBeam, AtEnd, EndOnBeam = (
        _one_or_several(one_of(kinds)) for kinds in (ON_BEAM, AT_END, ON_BEAM | AT_END)
    )


Given = FixingTable | list[FixingTable] | None


def fixings(given: Given, stem: Stem | None = None) -> tuple[Fixing, ...]:
    """One fixing or several as they are checked, with what stands on them; none where none is given."""
    return tuple(one.fixing(stem) for one in _several(given))


def fixings_from_axis(given: Given) -> tuple[Fixing, ...]:
    """The same where loads are those at the axis of the beam that they are fixed to, not at its side."""
    return tuple(
        replace(made, height=made.height - one.beam_radius)
        for one in _several(given)
        for made in [one.fixing(None)]
    )


def larger(given: Given, part: str) -> Iterator[tuple[str, tuple[str, ...], list[tuple[str, Given]]]]:
    """What of a part's fixings can be raised: its name, words of that part's checks that it helps, the fixings with each size."""
    for number, one in enumerate(_several(given)):
        for knob in one.larger():
            sizes: list[tuple[str, Given]] = []
            for words, changed in knob.sizes:
                several = list(_several(given))
                several[number] = changed
                sizes.append((words, several if isinstance(given, list) else changed))
            yield f"{part}: {knob.name}", tuple(f"{part}, {word}" for word in knob.helps), sizes


def _several(given: Given) -> list[FixingTable]:
    return given if isinstance(given, list) else [] if given is None else [given]
