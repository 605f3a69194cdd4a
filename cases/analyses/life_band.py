"""The band of a fatigue life: what is least known of it is the load, and a life goes with the load to the power of 3 to 10."""

from __future__ import annotations

from dataclasses import dataclass

from cases.analyses.fatigue_life import (
    RACKING_BAND,
    DetailLife,
    JointFatigueLives,
    LifeBand,
    detail_life,
    weld_lives,
)
from cases.input.service import ServiceLife
from models.joints import Joint


@dataclass(frozen=True, slots=True)
class JointLifeBands:
    """Of one joint's details and fillet welds, in the order of its lives."""

    details: tuple[LifeBand, ...]
    welds: tuple[LifeBand, ...]


def life_bands(joint: Joint, lives: JointFatigueLives, service: ServiceLife, factor: float) -> JointLifeBands:
    """Of one joint; `factor` on ranges where a detail has none of its own."""

    def of_detail(life: DetailLife) -> LifeBand:
        longest, shortest = (
            detail_life(life.detail, service, scale * lives.ranges, lives.mean, factor).miles
            for scale in RACKING_BAND
        )
        return LifeBand(life.detail.name, shortest, longest)

    longest, shortest = (
        {life.part: life.miles for life in weld_lives(joint, service, scale * lives.cycle, factor)}
        for scale in RACKING_BAND
    )
    welds = tuple(LifeBand(life.part, shortest[life.part], longest[life.part]) for life in lives.welds)
    return JointLifeBands(tuple(map(of_detail, lives.lives)), welds)
