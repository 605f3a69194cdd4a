"""The beam's end at a lug and pin: its eyes on the pin, and how they are fixed to the beam.

Boat axes of the port side: y out of the beam's end; those of an `attachment` there: 1 forward, 2 outboard, 3 up. Eyes
are lugs that project from the beam's end; several share the load on the pin by their stiffness (`lug_pair`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.attachment import Attachment, attachment_checks
from models.strength.lugs.lug import lug_checks
from models.strength.lugs.lug_pair import LugPair, lug_loads
from models.strength.margins import Check, SafetyFactors, not_checked
from models.strength.springs import loads_in_axes, transferred_loads
from models.strength.welds.weld_fatigue import WeldStresses, group_stresses
from models.strength.welds.welded_base_plate import WeldedBasePlate

OUTBOARD = np.array([0.0, 1.0, 0.0])
PART = "beam's end"


@dataclass(frozen=True, eq=False)
class BeamEnd:
    """Eyes side by side on the pin, None where their shape is not described; `attachments` in series, none where not described.

    length : m, from the eyes' root to the pin
    """

    eyes: LugPair | None = None
    attachments: Sequence[Attachment] = ()
    length: float = 0.0


def end_weld_stresses(end: BeamEnd, loads: FloatArray) -> tuple[WeldStresses, ...]:
    """Of the fillets around the eyes, where these are described and welded on, under loads as of `beam_end_checks`."""
    if end.eyes is None:
        return ()
    arm = OUTBOARD * end.length
    return tuple(
        group_stresses(
            f"{PART}, weld",
            one.connection.welds,
            end.eyes.lug.thickness,
            transferred_loads(loads, arm + OUTBOARD * one.height),
        )
        for one in end.attachments
        if isinstance(one.connection, WeldedBasePlate)
    )


def beam_end_checks(
    end: BeamEnd, pin_axis: FloatArray, loads: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Under loads (cases, 6) that the pin puts on the beam's end, at the pin's middle, port side, boat axes."""
    cases = len(loads)
    if end.eyes is None:
        why = "the file does not describe its shape; give eye = { …, width, length, end } in the joint"
        eyes: tuple[Check, ...] = (not_checked(PART, "its eye", cases, why),)
    else:
        axes = np.array([pin_axis, OUTBOARD, np.cross(pin_axis, OUTBOARD)])
        at_pin = loads_in_axes(loads, axes)
        at_pin[:, 3] = 0.0
        each = lug_loads(end.eyes, at_pin)
        several = len(end.eyes.places) > 1
        eyes = tuple(
            check
            for number in range(len(end.eyes.places))
            for check in lug_checks(
                f"{PART}, eye {number + 1}" if several else f"{PART}, eye",
                end.eyes.lug,
                each[:, number],
                factors,
            )
        )
    if not end.attachments:
        why = "the file does not describe it; give eye.fixing in the joint"
        return (*eyes, not_checked(PART, "how its eye is fixed to the beam", cases, why))
    return (*eyes, *attachment_checks(PART, end.attachments, loads, factors, OUTBOARD * end.length))
