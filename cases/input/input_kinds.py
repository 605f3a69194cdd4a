"""Kinds of inputs that scatter in every boat, with the scatter to start from: one table, which report and template show.

A kind is a quantity of the model, such as the bending stiffness of the hulls, that no single key of a file holds. `[scatter]`
gives a kind another scatter by its name. What is "judged" was judged for this project; nothing was read in a published table.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from models.boat.platform_as_built import BuiltPlatform
from models.joints import Joint

if TYPE_CHECKING:
    from cases.input.boat_file import BoatFile

InputGroup = Literal["loads", "stiffness", "position", "strength"]


@dataclass(frozen=True, slots=True)
class InputKind:
    """A kind of input.

    name   : its key in [scatter];   what : it is, for tables
    spread : its scatter where the file gives none, of its factor;   reason : and where that is from
    when   : the boats in which it scatters so; of several rows of a name the first that fits is taken
    each   : names of parts that vary on their own, such as members of a platform; one part without a name where there are none
    cause  : what it has in common with other kinds, so that both are high or low together; empty: nothing
    """

    name: str
    group: InputGroup
    what: str
    spread: str
    reason: str
    when: Callable[[BoatFile], bool] = lambda _file: True
    each: Callable[[BoatFile], list[str]] = lambda _file: [""]
    cause: Callable[[BoatFile], str] = lambda _file: ""


def _as_built(file: BoatFile) -> bool:
    return isinstance(file.platform, BuiltPlatform)


def _members(file: BoatFile) -> list[str]:
    """Members of the platform, each of which varies on its own, so that the twist centre scatters too."""
    return [member.name for member in file.platform.members] if file.platform else [""]


def _elastic_joints(file: BoatFile) -> list[str]:
    """Joints with a spring that is neither rigid nor free."""
    return [joint.name for joint in file.joints if _is_elastic(joint)]


def _is_elastic(joint: Joint) -> bool:
    springs = joint.stiffness().springs
    return bool(((springs > 0) & (springs < math.inf)).any())


def _hull_plies(file: BoatFile) -> str:
    """E, G and thickness of all plies of computed hulls are one cause."""
    return "plies of the hulls" if file.bows.sections else ""


def _beam_plies(file: BoatFile) -> str:
    """E, G and thickness of all plies of a computed crossbeam are one cause."""
    return "plies of the crossbeam" if file.crossbeam.thin_walled else ""


def _joints(file: BoatFile) -> list[str]:
    return [joint.name for joint in file.joints]


def _has_hatches(file: BoatFile) -> bool:
    sections = file.bows.sections
    return sections is not None and bool(sections.hatches)


INPUT_KINDS = (
    InputKind(
        "racking", "loads", "racking loads, typed or by a rule", "± 50 %",
        "rules differ by a factor of two, and few boats were measured: judged",
    ),
    InputKind(
        "racking_by_wave", "loads", "racking loads from a quasi-static wave", "± 35 %",
        "choice of the wave's height; no dynamics, no slamming: judged",
    ),
    InputKind(
        "racking_by_movement", "loads", "racking by a measured movement or twist", "± 20 %",
        "two inclinometers and some hours at sea: 15 to 20 %, judged",
    ),
    InputKind(
        "stay_tension", "loads", "pull of the forestay in service", "± 25 %",
        "estimated from stability or sail area; 5 % by load cell: judged",
    ),
    InputKind(
        "breaking_load", "loads", "breaking load of the stay, where it is a load", "± 5 %",
        "strand breaks within some per cent of its table: common practice",
    ),
    InputKind(
        "other_loads", "loads", "every other load: sails off a prod, nets, slams, handling", "± 30 %",
        "as steady loads by a rule: judged",
    ),
    InputKind(
        "pretension", "loads", "pretension of the martingale", "± 20 %",
        "set by turns or by a tension gauge, and it settles: judged",
    ),
    InputKind(
        "platform_EI", "stiffness", "bending and shear stiffness of a member of the platform", "± 20 %",
        "recipe against shells: ± 12 to 17 % in φ; each member on its own, so that the twist centre scatters by some 0.3 m too",
        _as_built, _members,
    ),
    InputKind(
        "platform_EI", "stiffness", "bending stiffness of a member of the platform, or of the roots", "± 60 %",
        "typed from experience of other boats; 5 to 10 % after a test: judged", each=_members,
    ),
    InputKind(
        "platform_GJ", "stiffness", "torsional stiffness of all members of the platform", "± 20 %",
        "recipe against shells, as bending: judged", _as_built,
    ),
    InputKind(
        "platform_GJ", "stiffness", "torsional stiffness of all members of the platform", "± 60 %",
        "typed from experience of other boats: judged",
    ),
    InputKind(
        "hull_EI", "stiffness", "bending and axial stiffness of the hulls", "± 20 %",
        "ply thickness, fibre fraction, what frames add: judged", cause=_hull_plies,
    ),
    InputKind(
        "hull_GJ", "stiffness", "torsional stiffness of the hulls", "± 50 %",
        "hatches open the cell, by how much is in doubt: judged", _has_hatches,
    ),
    InputKind(
        "hull_GJ", "stiffness", "torsional stiffness of the hulls", "± 30 %",
        "closed cell: decks bonded or bolted, soft corners: judged", cause=_hull_plies,
    ),
    InputKind(
        "crossbeam_EI", "stiffness", "bending and axial stiffness of the crossbeam", "± 10 %",
        "wall thickness and fibre fraction of a tube: judged", cause=_beam_plies,
    ),
    InputKind(
        "crossbeam_GJ", "stiffness", "torsional stiffness of the crossbeam", "± 15 %",
        "the same, and the angle of its ± 45° plies: judged", cause=_beam_plies,
    ),
    InputKind(
        "longeron_EI", "stiffness", "stiffness of the longeron", "± 15 %", "as the crossbeam: judged",
        lambda file: file.longeron is not None,
    ),
    InputKind(
        "joint_stiffness", "stiffness", "stiffness of the joint", "× 2",
        "computed or typed, not measured: common practice", each=_elastic_joints,
    ),
    InputKind(
        "metal", "strength", "strength of metal parts, bolts and welds", "± 6 %",
        "above minimum values of standards by 5 to 7 %: common practice",
    ),
    InputKind("wire", "strength", "strength of wire, rod and rope", "± 5 %", "common practice"),
    InputKind(
        "laminate", "strength", "strength of laminates and cores", "± 12 %",
        "coupons of one builder: 10 to 15 %, common practice",
    ),
    InputKind(
        "bearing", "strength", "strength of laminates at bolts", "± 15 %", "loose holes, edges: common practice"
    ),
    InputKind(
        "glue_shear", "strength", "shear strength of glue lines", "± 20 %",
        "preparation, thickness, moisture: common practice",
    ),
    InputKind(
        "glue_peel", "strength", "peel strength of glue lines", "± 30 %", "as shear, and fillets: common practice"
    ),
    InputKind(
        "glue_condition", "strength", "wet and hot knock-down of glue, over the one taken", "71 … 129 %",
        "0.5 to 0.9 of dry strength, 0.7 in the middle: judged",
    ),
    InputKind(
        "plastic_strain", "strength", "plastic strain of glue, over the one entered", "30 … 100 %",
        "what thick lines reach of a data sheet: judged",
    ),
    InputKind(
        "buckling", "strength", "buckling loads, true over computed", "± 15 %",
        "imperfections, edges neither hinged nor clamped: judged",
    ),
    InputKind(
        "joint_model", "strength", "stress in the joint's parts, true over computed", "± 20 %",
        "beams, strips and rings in place of solids: 15 to 25 %, judged", each=_joints,
    ),
)  # fmt: skip
"""In the order of tables; of several rows of a name the first whose `when` is true."""

KEY_DEFAULTS = (
    ("stay.forward", "± 5 mm", "a tang is set to some 5 mm: judged"),
    ("stay.up", "± 5 mm", "a tang is set to some 5 mm: judged"),
)
"""Keys of a file that scatter where they are given, with the reason."""

TABLE_KINDS = {
    "platform": ("platform_EI", "platform_GJ"),
    "root": ("platform_EI",),
    "bows": ("hull_EI", "hull_GJ"),
    "bows.stations": ("hull_EI", "hull_GJ"),
    "crossbeam.section": ("crossbeam_EI", "crossbeam_GJ"),
    "longeron.section": ("longeron_EI",),
}
"""Whole tables that [boat] may mark as estimated → the kinds that stand for what is in them."""


def kinds_of(file: BoatFile) -> tuple[InputKind, ...]:
    """Of each name the row that fits the boat; none where no part of it is there."""
    found: dict[str, InputKind] = {}
    for kind in INPUT_KINDS:
        if kind.name not in found and kind.when(file) and kind.each(file):
            found[kind.name] = kind
    return tuple(found.values())
