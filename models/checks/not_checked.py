"""What no check covers, whatever the boat file describes: one list, so that no verdict claims more than was checked.

A check that lacks its data is an entry of its own (`models.strength.margins.not_checked`). Here is what has no check at all.
Whoever adds a check of one of these takes its entry out; whoever finds a limit of a check adds one.
"""

from __future__ import annotations

from models.boat.boat import Boat
from models.strength.margins import NotChecked

NEVER_CHECKED: tuple[NotChecked, ...] = (
    NotChecked(
        "frames and bulkheads behind the joints",
        "strength, and their bonding to the hull",
        "the file does not describe them",
    ),
    NotChecked(
        "platform, main bulkhead, hulls aft of it, mast step and chainplates",
        "strength",
        "of these only stiffness is used, where it is given",
    ),
    NotChecked(
        "forestay, its terminals, toggles and furler", "strength", "only the parts that its pull acts on are"
    ),
    NotChecked("all parts", "slamming, impact and vibration", "the analysis is static"),
    NotChecked(
        "all parts",
        "faulty workmanship: voids, poor bonds, misalignment, missing or loose bolts",
        "the file does not describe it",
    ),
    NotChecked(
        "all parts", "corrosion, creep, ageing and water in the laminate", "only knock-downs entered for them"
    ),
    NotChecked(
        "all parts but the details of [service], the glue of joints and the welds of lugs and eyes",
        "fatigue",
        "no stress range is computed for them",
    ),
)
"""Of every boat."""
BOWS_BY_STIFFNESS = NotChecked(
    "bows",
    "strength of shell, root and hatch edges",
    "no outline: the bows are given by their stiffness",
)
BOWS_BY_OUTLINE = NotChecked(
    "bow shell",
    "skin locally at the joints; water pressure",
    "the shell is checked as a beam's section, over which a joint's forces have spread",
)


def never_checked(boat: Boat) -> tuple[NotChecked, ...]:
    """The entries of `NEVER_CHECKED`, after what is not checked of the boat's bows."""
    return (BOWS_BY_STIFFNESS if boat.bows.sections is None else BOWS_BY_OUTLINE, *NEVER_CHECKED)
