"""The fatigue lives of details in the boat's service."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.analyses.analysis import Analysis
from cases.analyses.fatigue_life import DetailLife
from cases.analyses.study import Study
from cases.input.service import Service
from cases.report.data import words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table

MAX_MILES_SHOWN = 1e7
"""Nautical miles: further than this no boat goes."""
Lives = Sequence[tuple[str, DetailLife]]
"""Details, each with its joint."""
MIN_DAMAGE_SHOWN = 0.001
"""Damage below which no digits are shown."""


def fatigue_section(_: Study, found: Analysis) -> ReportSection | None:
    """None where the file has no service."""
    if found.fatigue_lives is None:
        return None
    service = found.fatigue_lives.service
    about = f" about the mean of {words.name_of(service.about)}" if service.about else ""
    far, often = f"{service.miles:,.0f}", f"{service.cycles:,.0f}"
    through = f"{words.number(service.swing, 2)} times {words.name_of(found.fatigue_lives.case)}{about}"
    waves = f", {_waves(service)}" if service.wave_period else ""
    first = f"The service is {far} nautical miles with {often} racking cycles{waves}. "
    said = [first + f"The largest cycle, once in that distance, is {through}."]
    lives = [(joint.joint, life) for joint in found.fatigue_lives.joints for life in joint.lives]
    if lives:
        name, worst = max(lives, key=lambda pair: pair[1].damage)
        said.append(
            f"Shortest life: {words.name_of(worst.detail.name)} with {words.name_of(name)}, {_life(worst)}."
        )
    return ReportSection(
        "fatigue",
        "Fatigue",
        said,
        unshown=[_lives_in_si(lives)],
        readable=[_lives(lives)],
        aside=(
            "“Largest” and “allowed” are ranges of a full cycle: the largest occurs once over the distance, and the allowed "
            "range gives a damage of 1. The ranges of the curve are divided by the factor. Damage is Miner’s sum, 1 at failure. "
            "Lives scatter by factors, not by per cent. The curves assume sound workmanship, inspection, and no sea water in "
            "the laminate."
        ),
    )


def _lives_in_si(lives: Lives) -> Table:
    columns = (
        Column("joint"), Column("detail"), Column("component"), Column("hull"), Column("curve"), Column("source"),
        Column("factor", "", "on ranges"), Column("largest range", "", "Pa or strain"), Column("steady", "", "Pa or strain"),
        Column("allowed range", "", "Pa or strain"), Column("damage", "", "over the distance"),
        Column("life", "", "nautical miles"), Column("verdict"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, life.detail.name, life.detail.component, life.side, life.detail.curve, life.source, life.factor, life.largest,
            life.mean, life.allowed, life.damage if math.isfinite(life.damage) else None,
            life.miles if math.isfinite(life.miles) else None, _miles(life),
        )
        for name, life in lives
    ]  # fmt: skip
    return Table("fatigue", "Lives of details", columns, tuple(rows))


def _lives(lives: Lives) -> Table:
    columns = (
        Column("joint"), Column("detail, by"), Column("curve, source"), Column("factor"), Column("largest"), Column("steady"),
        Column("allowed"), Column("damage"), Column("life"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, f"{life.detail.name}, {life.detail.component}", f"{life.detail.curve}: {life.source}",
            words.number(life.factor, 2), *(_stress(life, size) for size in (life.largest, life.mean, life.allowed)),
            _damage(life), _miles(life),
        )
        for name, life in lives
    ]  # fmt: skip
    return Table("fatigue", "Lives of details", columns, tuple(rows))


def _stress(life: DetailLife, size: float) -> str:
    """A stress with its unit, a strain in per cent."""
    if life.detail.strain_per is None:
        return words.quantity(size, "Pa")
    return f"{'−' if size < 0 else ''}{abs(100 * size):.2g}\N{NO-BREAK SPACE}%"


def _waves(service: Service) -> str:
    """How often waves of the service are met."""
    cycle_period, heading = (
        words.number(service.cycle_period, 1),
        words.number(math.degrees(service.heading), 0),
    )
    waves = f"waves of {words.number(service.wave_period or 0.0, 1)} s"
    return f"{waves} met every {cycle_period} s at a heading of {heading}° (0 against them)"


def _life(life: DetailLife) -> str:
    if life.static or math.isinf(life.miles):
        return "fails under the largest load alone" if life.static else "no fatigue damage"
    return f"{_miles(life)}; damage {_damage(life)} over the distance"


def _miles(life: DetailLife) -> str:
    """A life in words, no longer than a boat can sail."""
    if life.static:
        return "fails under the largest load alone"
    if math.isinf(life.miles):
        return "unlimited"
    if life.miles > MAX_MILES_SHOWN:
        return f"over {MAX_MILES_SHOWN / 1e6:.0f} million miles"
    return f"{float(f'{life.miles:.2g}'):,.0f} miles"


def _damage(life: DetailLife) -> str:
    return (
        f"under {MIN_DAMAGE_SHOWN}"
        if life.damage < MIN_DAMAGE_SHOWN
        else words.number(life.damage, 3 if life.damage < 1 else 1)
    )
