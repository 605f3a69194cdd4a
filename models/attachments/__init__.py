"""How a tang, an eye or the end of a beam is fixed, as a boat file gives it: a kind of attachment each, distinguished by `kind`.

"along" is along the beam that carries the fitting, at the end of a beam level and square to it; "across" is around the beam, at
its end up and down. Several fixings in a list lie one behind the other: each carries the whole. The mechanics is
`models.strength.attachment`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Any

from pydantic import Discriminator, Field, Tag

from models.attachments.base import AttachmentTable
from models.attachments.base_plates import Bolted, Bonded, Strapped, Welded
from models.attachments.beam_ends import Pinned, Sleeved, Taped
from models.strength.attachment import Attachment, Footprint
from models.strength.design_variable import DesignVariable
from models.strength.remarks import Remark
from models.tables.context import ValidatedAs
from models.tables.kinds import discriminated_union

__all__ = [
    "BEAM_END_KINDS",
    "BEAM_SIDE_KINDS",
    "AnyAttachment",
    "AttachmentTable",
    "BeamEndAttachment",
    "BeamSideAttachment",
    "OneOrSeveral",
    "attachments",
    "attachments_from_axis",
    "design_variables",
    "remarks",
]


def _single_or_list(one: Any) -> Any:  # noqa: ANN401  (a type, made at run time)
    """The pydantic field type of one such table, or of a list of them."""
    many = Annotated[list[one], Field(min_length=1)]
    by_count = Discriminator(lambda given: "several" if isinstance(given, list) else "one")
    return Annotated[Annotated[one, Tag("one")] | Annotated[many, Tag("several")], by_count]


BEAM_SIDE_KINDS: dict[str, type[AttachmentTable]] = {
    "bolted": Bolted,
    "welded": Welded,
    "bonded": Bonded,
    "strapped": Strapped,
}
"""Attachments of a fitting to a beam's side."""
BEAM_END_KINDS: dict[str, type[AttachmentTable]] = {
    "bolted": Bolted,
    "welded": Welded,
    "bonded": Bonded,
    "sleeved": Sleeved,
    "taped": Taped,
    "pinned": Pinned,
}
"""Attachments of a beam's end."""

_SIDE, _END, _ANY = (
    ValidatedAs(_single_or_list(discriminated_union(kinds)))
    for kinds in (BEAM_SIDE_KINDS, BEAM_END_KINDS, BEAM_SIDE_KINDS | BEAM_END_KINDS)
)
BeamSideAttachment = Annotated[AttachmentTable | list[AttachmentTable], _SIDE]
BeamEndAttachment = Annotated[AttachmentTable | list[AttachmentTable], _END]
AnyAttachment = Annotated[AttachmentTable | list[AttachmentTable], _ANY]

OneOrSeveral = AttachmentTable | list[AttachmentTable] | None


def attachments(given: OneOrSeveral, footprint: Footprint | None = None) -> tuple[Attachment, ...]:
    """One attachment or several as they are checked, with the footprint on them; none where none is given."""
    return tuple(one.to_attachment(footprint) for one in _as_list(given))


def attachments_from_axis(given: OneOrSeveral) -> tuple[Attachment, ...]:
    """The same where loads are those at the axis of the beam that they are fixed to, not at its side."""
    return tuple(
        replace(made, height=made.height - one.beam_radius)
        for one in _as_list(given)
        for made in [one.to_attachment(None)]
    )


def remarks(given: OneOrSeveral, part: str) -> Iterator[Remark]:
    """What no margin says of a part's attachments."""
    for one in _as_list(given):
        yield from one.remarks(part)


def design_variables(given: OneOrSeveral, part: str) -> Iterator[DesignVariable[OneOrSeveral]]:
    """What of a part's attachments can be raised: sizes are all its attachments with one of them larger."""
    for number, one in enumerate(_as_list(given)):
        for variable in one.design_variables():
            sizes: list[tuple[str, OneOrSeveral]] = []
            for words, changed in variable.sizes:
                several = list(_as_list(given))
                several[number] = changed
                sizes.append((words, several if isinstance(given, list) else changed))
            improves = tuple(f"{part}, {word}" for word in variable.improves)
            yield DesignVariable(f"{part}: {variable.name}", improves, tuple(sizes))


def _as_list(given: OneOrSeveral) -> list[AttachmentTable]:
    return given if isinstance(given, list) else [] if given is None else [given]
