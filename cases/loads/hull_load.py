"""An antisymmetric load spread along both hulls, as the sea loads them, for a pitch connecting moment.

q up on the fore half of one hull and down on its aft half, on the other hull the reverse: on each hull ±q L/2 with their
middles L/2 apart, so M = q L²/4 on each, in equilibrium as a whole and about any point. With q L/2 = Δ a/4, a quarter of the
boat on each quarter of the platform, M = Δ a L/8, the rules' own moment.

The front end has the hulls from the bulkhead forward. What acts aft of it acts on the hulls at the bulkhead by its resultant:
as the platform's twist per moment is of moments there, it turns as much; how the hulls bend between the platform's members is
left out.
"""

from __future__ import annotations

from cases.loads.base import MemberLoad, PlaceLoad, along, at
from femcore.base.errors import InputFault
from models.boat.boat import Boat

AFT_OF_BULKHEAD = "sea aft"
"""The name in a load path of what acts there."""


def along_hulls(boat: Boat, moment: float, length: float) -> tuple[list[PlaceLoad], list[MemberLoad]]:
    """Loads that lift the port bow: N·m on each hull, over hulls of `length` m from the stems aft.

    InputFault where the hulls are no longer than the bows ahead of the bulkhead.
    """
    bow = boat.bows.length
    if length <= bow:
        wrong = f"{length:g} m is no longer than the bows ahead of the main bulkhead, {bow:g} m"
        raise InputFault("length", wrong, "give that of the hulls from stem to stern")
    q, middle = 4 * moment / length**2, bow - length / 2
    stretches = [(max(0.0, middle), bow, q)] + ([(0.0, middle, -q)] if middle > 0 else [])
    force = sum(line * (end - begin) for begin, end, line in stretches)
    pitch = sum(line * (end**2 - begin**2) / 2 for begin, end, line in stretches)
    placed, lines = [], []
    for side, sign in (("port", 1.0), ("starboard", -1.0)):
        lines += [along(f"{side} bow", (0.0, 0.0, sign * line), begin, end) for begin, end, line in stretches]
        # a moment that lifts the bow is negative about y; the hull's total force is zero, its total moment `moment`
        rest = (0.0, -sign * (moment - pitch), 0.0)
        placed.append(
            at(f"{side} hull at bulkhead", (0.0, 0.0, -sign * force), rest, f"{AFT_OF_BULKHEAD}, {side}")
        )
    return placed, lines


def twisting_moments(moment: float) -> list[PlaceLoad]:
    """Opposite pitch moments on both hulls at the main bulkhead, N·m, that lift the port bow."""
    return [
        at(f"{side} hull at bulkhead", moment=(0.0, -sign * moment, 0.0), name=f"twist of the {side} hull")
        for side, sign in (("port", 1.0), ("starboard", -1.0))
    ]
