"""Variants crossed with joints: what each chosen joint is worth in the boat as entered and in each of its variants."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import Field

from cases.analyses.analysis import Analysis, analyse
from cases.analyses.comparison import QUANTITIES, require_variants
from cases.analyses.decision import ShortestLife, Verdict, shortest_life, verdict_on
from cases.input.boat_file import BoatFile
from cases.input.variants import AS_ENTERED
from femcore.base.errors import StructureFault
from femcore.base.toml import unknown
from femcore.base.written import WRITTEN
from models.strength.margins import GoverningCheck


@dataclass(frozen=True, slots=True)
class CrossedJoint:
    """One joint in one variant."""

    variant: Annotated[str, Field(description="name of the variant, or that of the boat as entered")]
    joint: Annotated[str, Field(description="name of the joint")]
    verdict: Annotated[
        Verdict | None, Field(description="as in `decision`; null: the variant leaves it out, or no answer")
    ]
    reason: Annotated[str, Field(description="why there is no verdict; else empty")] = ""
    no_answer: Annotated[bool, Field(description="the structure has none, as its reason says")] = False
    weakest: Annotated[GoverningCheck | None, Field(description="of its own parts, the lowest margin")] = None
    beside: Annotated[GoverningCheck | None, Field(description="of the parts beside the joint")] = None
    life: Annotated[ShortestLife | None, Field(description="null: no service, or nothing of it wears")] = None
    values: Annotated[
        dict[str, float | None],
        Field(description="quantity of `compare` → SI value, or a margin; null: it has none"),
    ] = field(default_factory=dict)

    @property
    def lowest_margin(self) -> float | None:
        """Of its own parts and those beside it; None where none was checked."""
        return min((one.margin for one in (self.weakest, self.beside) if one is not None), default=None)


@dataclass(frozen=True, slots=True)
class Crossing:
    """Every chosen joint in the boat as entered and in each variant."""

    __pydantic_config__ = WRITTEN
    title: str
    variants: Annotated[tuple[str, ...], Field(description="the boat as entered first")]
    joints: tuple[str, ...]
    pairs: Annotated[tuple[CrossedJoint, ...], Field(description="variant by variant, in it joint by joint")]

    def of_joint(self, joint: str) -> tuple[CrossedJoint, ...]:
        """One joint through all variants."""
        return tuple(one for one in self.pairs if one.joint == joint)


def cross(
    file: BoatFile, joints: Sequence[str], source: str = "", done: Callable[[], None] = lambda: None
) -> Crossing:
    """Analyse the boat and each of its variants with these joints alone, margins and fatigue lives with them.

    done : called after each variant

    InputFault where the file has no variants, or a joint that is asked for does not exist; StructureFault where no pair has an
    answer.
    """
    require_variants(file, source)
    names = list(dict.fromkeys(joints))
    for name in names:
        if name not in (known := [joint.name for joint in file.joints]):
            raise unknown("", "joint", name, known)
    pairs: list[CrossedJoint] = []
    for variant in (None, *file.variants):
        made = file if variant is None else file.variant(variant)
        pairs += _crossed(made, AS_ENTERED if variant is None else variant.name, names, source)
        done()
    if all(one.verdict is None for one in pairs):
        raise StructureFault("; ".join(dict.fromkeys(f"{one.joint}: {one.reason}" for one in pairs)))
    return Crossing(
        file.title, (AS_ENTERED, *(one.name for one in file.variants)), tuple(names), tuple(pairs)
    )


def _crossed(file: BoatFile, variant: str, names: Sequence[str], source: str) -> Iterator[CrossedJoint]:
    """The joints of one variant in the order asked for."""
    there = [joint.name for joint in file.joints if joint.name in names]
    found: Analysis | StructureFault | None = None
    if there:
        try:
            found = analyse(file.with_joints(there), source).with_answers()
        except StructureFault as fault:
            found = fault
    for name in names:
        if name not in there:
            yield CrossedJoint(variant, name, None, "left out by the variant")
        elif isinstance(found, Analysis):
            yield _pair(found, variant, name)
        else:
            yield CrossedJoint(variant, name, None, f"no answer: {found}", no_answer=True)


def _pair(analysis: Analysis, variant: str, name: str) -> CrossedJoint:
    for joint, margins in zip(analysis.study.joints, analysis.part_margins, strict=True):
        if joint.name == name:
            own, beside = (margins.governing_check(own=of) for of in (True, False))
            life = shortest_life(analysis, name)
            return CrossedJoint(
                variant,
                name,
                verdict_on(margins, life),
                weakest=None if own is None else own[0],
                beside=None if beside is None else beside[0],
                life=life,
                values={quantity.name: quantity.of(joint, margins) for quantity in QUANTITIES},
            )
    reason = next(one.reason for one in analysis.study.unsolved if one.joint.name == name)
    return CrossedJoint(variant, name, None, f"no answer: {reason}", no_answer=True)
