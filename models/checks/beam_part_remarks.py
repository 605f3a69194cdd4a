"""Remarks on the parts beside the joints: tangs, the longeron's ends, and what the file lacks to check them."""

from __future__ import annotations

from collections.abc import Iterator

from models.attachments import remarks
from models.boat.boat import Boat
from models.boat.parts import Tang
from models.checks.beam_parts import LONGERON_ENDS
from models.strength.remarks import Remark, mixed_metal_remarks, pin_remarks
from models.tables.shared import MetalPart


def beam_part_remarks(boat: Boat) -> tuple[Remark, ...]:
    """What no margin says of them."""
    return tuple(_remarks(boat))


def _remarks(boat: Boat) -> Iterator[Remark]:
    if boat.stay.line is None:
        yield Remark(
            "forestay",
            "breaking load",
            "What breaks it is not given. What carries a stay is to outlive it (1.0 to 1.25 times its breaking load, common "
            "practice): give [stay.line], from the wire's maker.",
        )
    yield from _tang("forestay's tang", boat.stay.tang)
    if boat.martingale is not None:
        yield from _tang("martingale's tangs", boat.martingale.tang)
    ends = None if boat.longeron is None else boat.longeron.ends
    if ends is not None:
        for key, part, _ in LONGERON_ENDS:
            yield from remarks(getattr(ends, key), part)


def _tang(part: str, tang: Tang | None) -> Iterator[Remark]:
    if tang is None:
        return
    clearance = None if tang.hole is None else tang.hole - tang.pin
    yield from pin_remarks(f"{part}, pin", replaceable=tang.replaceable, clearance=clearance)
    touching = {"cheeks": tang.metal_record, "pin": MetalPart(metal=tang.pin_metal).metal_record}
    yield from mixed_metal_remarks(part, touching)
    yield from remarks(tang.fixing, part)
