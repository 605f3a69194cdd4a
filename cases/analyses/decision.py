"""The decision: the question, each candidate with its verdict and numbers, what would change the verdict, what to do next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from cases.analyses.candidates import candidates
from cases.analyses.design_loads import DesignLoad
from cases.analyses.joint_results import ATTRACTED, JointResult
from cases.analyses.next_actions import NextAction
from cases.analyses.part_margins import PartMargins
from cases.analyses.reliability.sampling import Chance
from cases.analyses.uncertainty.flips import Flip
from cases.analyses.verdict_flips import VerdictFlip, load_flip, racking_flip
from femcore.base.written import FiniteOrNull
from models.response.joint_loads import component_index
from models.strength.margins import GoverningCheck

if TYPE_CHECKING:
    from cases.analyses.analysis import Analysis
    from cases.input.boat_file import BoatFile

Verdict = Literal["adequate for what was checked", "inadequate", "not assessed"]
"""Never more than that: what is in no check is listed beside it."""


@dataclass(frozen=True, slots=True)
class ShortestLife:
    """What of a joint wears out first in the service."""

    of: Annotated[str, Field(description="detail, weld or glue line")]
    miles: Annotated[FiniteOrNull, Field(description="nautical, at which its damage reaches 1; null: never")]
    service: Annotated[float, Field(description="nautical miles of the service")]

    @property
    def lasts(self) -> bool:
        """Whether it outlives the service."""
        return self.miles >= self.service


@dataclass(frozen=True, slots=True)
class Candidate:
    """One joint that the decision is about."""

    joint: Annotated[str, Field(description="name of the joint")]
    words: Annotated[str, Field(description="what it is")]
    verdict: Annotated[
        Verdict,
        Field(
            description="inadequate: a margin below 0, of its own parts or of those beside it, or a life shorter than the "
            "service; not assessed: none of its own was checked"
        ),
    ]
    reason: Annotated[str, Field(description="why it is not assessed; else empty")]
    weakest: Annotated[
        GoverningCheck | None,
        Field(description="of its own parts, the lowest margin; null: none was checked"),
    ] = None
    beside: Annotated[
        GoverningCheck | None, Field(description="of the parts beside the joint, with this joint")
    ] = None
    not_made: Annotated[
        int,
        Field(
            description="checks of its own parts that lack their data, both sides as one; 0 where no part is described"
        ),
    ] = 0
    life: Annotated[
        ShortestLife | None, Field(description="null: the file has no service, or nothing of it wears")
    ] = None
    torque: Annotated[DesignLoad | None, Field(description="null without an answer")] = None
    bending: Annotated[DesignLoad | None, Field(description="vertical bending")] = None
    racking_stiffness: Annotated[float | None, Field(description="N/m")] = None
    stiffer: Annotated[
        float | None, Field(description="racking_stiffness over that of the bows without a crossbeam")
    ] = None
    failure: Annotated[
        Chance | None,
        Field(
            description="that a load is beyond the capacity of one of its own parts, no safety factor in; null: not worked out"
        ),
    ] = None
    below_zero: Annotated[
        Chance | None,
        Field(description="that a margin of its own parts is below 0, safety factors in; null likewise"),
    ] = None
    turned_by: Annotated[
        tuple[Flip, ...],
        Field(description="inputs that alone turn its verdict within nine boats in ten; the likeliest first"),
    ] = ()
    mass: Annotated[
        float | None,
        Field(description="kg, of the fittings on both hulls, as far as described; null: not known"),
    ] = None
    flips: Annotated[
        tuple[VerdictFlip, ...], Field(description="where the loads would change its verdict")
    ] = ()


@dataclass(frozen=True, slots=True)
class Decision:
    """What a reader must decide, and what is known for it."""

    question: str
    main_load: Annotated[str, Field(description="name of the case that the boat is drawn with")]
    bare_racking_stiffness: Annotated[float, Field(description="N/m, of the bows without a crossbeam")]
    candidates: Annotated[tuple[Candidate, ...], Field(description="in the order of the file")]
    actions: Annotated[tuple[NextAction, ...], Field(description="what to do next, the most telling first")]


def verdicts_on(analysis: Analysis) -> tuple[Candidate, ...]:
    """Of the candidates of an analysis, solved or not: their verdicts and numbers, without what is known of other loads."""
    unsolved = {one.joint.name: one for one in analysis.study.unsolved}
    loads = dict(zip((joint.name for joint in analysis.study.joints), analysis.design_loads, strict=True))
    found = {
        joint.name: _candidate(joint, margins, loads[joint.name], shortest_life(analysis, joint.name))
        for joint, margins in analysis.decided
    }
    return tuple(
        found.get(joint.name)
        or Candidate(joint.name, joint.words(), "not assessed", unsolved[joint.name].reason)
        for joint in candidates(analysis.file)
    )


def decide(analysis: Analysis) -> Decision:
    """The verdicts, with chances, what of the loads turns them, and what to do next."""
    study, file = analysis.study, analysis.file
    solved = {joint.name: (joint, margins) for joint, margins in analysis.decided}
    return Decision(
        question=question_of(file),
        main_load=study.main_case.name,
        bare_racking_stiffness=study.bare_racking_stiffness,
        candidates=tuple(
            one if one.weakest is None else _with_chances(one, analysis, *solved[one.joint])
            for one in analysis.verdicts
        ),
        actions=analysis.next_actions,
    )


MOST_ASKED = 3
"""Candidates that a question names."""


def question_of(file: BoatFile) -> str:
    """What is to be decided: in the file's own words, or else which of the candidates."""
    if file.question:
        return file.question
    *others, last = (f"‘{joint.name}’" for joint in candidates(file))
    if not others:
        return f"Is {last} adequate?"
    return (
        f"{', '.join(others)} or {last}?"
        if len(others) < MOST_ASKED
        else f"Which of {len(others) + 1} joints?"
    )


def verdict_on(margins: PartMargins, life: ShortestLife | None) -> Verdict:
    """Inadequate where a margin is below 0 or a life shorter than the service; else whether a part of the joint was checked."""
    if "fails" in margins.outcomes or (life is not None and not life.lasts):
        return "inadequate"
    return "not assessed" if margins.governing_check(own=True) is None else "adequate for what was checked"


def _candidate(
    joint: JointResult, margins: PartMargins, loads: tuple[DesignLoad, ...], life: ShortestLife | None
) -> Candidate:
    own, beside = (margins.governing_check(own=of) for of in (True, False))
    verdict = verdict_on(margins, life)
    torque, bending = (loads[component_index(component)] for component in ATTRACTED)
    return Candidate(
        joint=joint.name,
        words=joint.words,
        verdict=verdict,
        reason="the file does not describe its parts" if verdict == "not assessed" else "",
        weakest=None if own is None else own[0],
        beside=None if beside is None else beside[0],
        not_made=len(margins.lacking) if joint.joint.describes_parts else 0,
        life=life,
        torque=torque,
        bending=bending,
        racking_stiffness=joint.racking_stiffness,
        stiffer=joint.stiffer,
        mass=2 * sum(joint.joint.masses().values()) or None,
    )


def _with_chances(one: Candidate, analysis: Analysis, joint: JointResult, margins: PartMargins) -> Candidate:
    worn = one.life is not None and not one.life.lasts
    # of loads that turn a verdict only margins are known, so there is none where a life decides it
    flips = () if worn else (load_flip(margins), racking_flip(analysis.file, joint, margins))
    sure = analysis.sampled.joint(one.joint)
    of_own = None if sure is None else sure.own_chances
    return replace(
        one,
        failure=None if of_own is None else of_own.failure,
        below_zero=None if of_own is None else of_own.counted,
        turned_by=() if sure is None else sure.flips,
        flips=tuple(flip for flip in flips if flip is not None),
    )


def shortest_life(analysis: Analysis, joint: str) -> ShortestLife | None:
    """What of a joint wears out first; None where the file has no service, or nothing of it wears."""
    lives = analysis.fatigue_lives
    if lives is None:
        return None
    found = next((one.shortest for one in lives.joints if one.joint == joint), None)
    return None if found is None else ShortestLife(*found, lives.miles)
