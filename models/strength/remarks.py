"""Remarks on metal fittings: what no margin says, each a sentence that follows from the parts that the file describes.

Slip: bolts tightened to `PRELOAD_RATIO` of their proof load clamp, new, with a friction of `FRICTION` between plate and laminate
(both common practice): beyond that the plate slips until shanks bear on their holes. Neither is in any check, since a laminate
creeps from under its washers. Galvanic pairs: aluminium alloy beside carbon fibre or stainless steel in sea water (common
practice).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from femcore.base.numbers import engineering
from femcore.laminates import Laminate, Ply
from femcore.materials import Metal
from models.strength.bolts.bolt_strength import Bolt

PRELOAD_RATIO = 0.5
"""Of the proof load: stainless threads gall beyond (common practice)."""
FRICTION = 0.2
"""Metal on laminate, dry (common practice)."""
MAX_ALLOY_MODULUS = 80e9
"""Pa: a metal less stiff than this is an aluminium alloy."""
MIN_CARBON_MODULUS = 90e9
"""Pa: a layer stiffer than this along its fibre is of carbon, whatever its name."""
MIN_PRYING_SHOWN = 0.01
"""A smaller addition to a bolt's pull is not worth a remark."""


@dataclass(frozen=True, slots=True)
class Remark:
    """What no margin says of a part."""

    part: str
    subject: Annotated[str, Field(description="such as galvanic corrosion, preload and slip, locking, wear")]
    words: str


def is_carbon(ply: Ply) -> bool:
    """Whether a layer is of carbon, by its material's name or its stiffness along the fibre."""
    name = f"{ply.lamina.name} {ply.lamina.title}".lower()
    return ply.core is None and ("carbon" in name or ply.lamina.E1 > MIN_CARBON_MODULUS)


def galvanic_remarks(part: str, metal: Metal, laminate: Laminate | None) -> Iterator[Remark]:
    """Of a metal on a laminate: alloy beside carbon, and whether the laminate's faces are of something else."""
    if laminate is None or metal.E > MAX_ALLOY_MODULUS or not any(is_carbon(ply) for ply in laminate.plies):
        return
    bare = is_carbon(laminate.plies[0]) or is_carbon(laminate.plies[-1])
    layer = (
        "No layer without carbon is between them: lay a closed ply of glass (200 g/m² or more, 30 mm beyond the metal)"
        if bare
        else "The laminate's faces are not of carbon: keep that layer closed"
    )
    yield Remark(
        part,
        "galvanic corrosion",
        f"Aluminium alloy beside carbon fibre corrodes in sea water. {layer}; sleeve the bolts, seal edges and holes (common "
        "practice).",
    )


def mixed_metal_remarks(part: str, metals: dict[str, Metal]) -> Iterator[Remark]:
    """Alloy and stainless steel in one fitting, by what each of them is."""
    alloys = [what for what, metal in metals.items() if metal.E <= MAX_ALLOY_MODULUS]
    steels = [what for what, metal in metals.items() if metal.E > MAX_ALLOY_MODULUS]
    if alloys and steels:
        yield Remark(
            part,
            "galvanic corrosion",
            f"Alloy ({', '.join(alloys)}) and stainless steel ({', '.join(steels)}) touch: set bushes and washers of plastic, or "
            "a barrier paste, between them, and wash out salt (common practice).",
        )


def alloy_on_bolts_remarks(part: str, metal: Metal) -> Iterator[Remark]:
    """Of a plate of alloy on stainless bolts."""
    if metal.E <= MAX_ALLOY_MODULUS:
        yield Remark(
            part,
            "galvanic corrosion",
            "Alloy on stainless bolts corrodes around their heads: sleeve the shanks and set washers of plastic under the heads, "
            "or a barrier paste (common practice).",
        )


def slip_force(bolt: Bolt) -> float:
    """N, that one bolt tightened to `PRELOAD_RATIO` of its proof load holds by friction when new."""
    return FRICTION * PRELOAD_RATIO * bolt.grade.proof * bolt.stress_area


def bolt_remarks(
    part: str,
    bolt: Bolt,
    *,
    hole: float | None,
    reach: float,
    shear: float | None = None,
    prying: float = 0.0,
) -> Iterator[Remark]:
    """Of bolts through a laminate.

    hole  : m, its diameter, None: not known;   reach : m, from the bolts' middle to the farthest
    shear : N, the greatest on one bolt in any case, None: not known here;   prying : the greatest addition to a pull, over it
    """
    slip = slip_force(bolt)
    against = ""
    if shear is not None:
        against = (
            f", {'less' if slip < shear else 'more'} than its greatest shear of {engineering(shear, 'N')}"
        )
    if hole is None:
        turn = (
            "the holes are not given and count as fitted to the bolts: ream them, or bed the shanks in resin"
        )
    else:
        play = max(hole - bolt.diameter, 0.0)
        turn = f"up to {1000 * play:.2g} mm"
        if reach > 0:
            turn += f", which turns the plate by {engineering(play / reach, 'rad')}"
        turn += "; the joint's stiffness supposes fitted bolts"
    yield Remark(
        part,
        "preload and slip",
        "No check counts on preload or friction: a laminate creeps under its washers. Tightened to half its proof load a new "
        f"bolt holds about {engineering(slip, 'N')} by friction (coefficient {FRICTION:g}, common practice){against}. Beyond it "
        f"the plate slips until shanks bear: {turn}.",
    )
    if prying > MIN_PRYING_SHOWN:
        yield Remark(
            part,
            "prying",
            f"The plate is thin enough to pry: its bending adds up to {100 * prying:.0f} % to a bolt's pull, which the bolts' "
            "checks count (EN 1993-1-8 Table 6.2). It presses on the laminate at its edge besides, which no check covers.",
        )
    yield Remark(
        part,
        "locking",
        "Lock every nut (prevailing torque nuts, or thread adhesive) and grease stainless threads, which gall: a joint whose "
        "load comes and goes works nuts loose (common practice).",
    )
    yield Remark(
        part,
        "crevice corrosion",
        "Stainless bolts in wet holes and under sealant corrode in crevices, unseen: seal the holes against core and sea "
        "water, and draw a bolt or two for inspection every few years (common practice).",
    )


def pin_remarks(
    part: str, *, replaceable: bool, clearance: float | None, reverses: bool = False
) -> Iterator[Remark]:
    """Of a pin: how it is kept in, whether it comes out, its play (m; None: not known), and wear where its load reverses."""
    kept = (
        "is to come out again (replaceable = true)"
        if replaceable
        else "never comes out (replaceable = false)"
    )
    play = (
        "no hole is given, so it counts as without play"
        if clearance is None
        else f"play {1000 * clearance:.2g} mm"
    )
    yield Remark(
        part,
        "pin",
        f"It {kept}; {play}. Keep it from turning and from creeping out (split pin, keeper plate; common practice).",
    )
    if clearance and reverses:
        yield Remark(
            part,
            "wear",
            "Where the play opens and closes in service, pin, lugs and eyes wear and the play grows: look for ovality every "
            "season, and give soft holes bushes (common practice).",
        )
