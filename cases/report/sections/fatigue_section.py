"""The fatigue lives of details in the boat's service."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.analyses.analysis import Analysis
from cases.analyses.fatigue_life import RACKING_BAND, DetailLife, GlueLife, LifeBand, WeldLife
from cases.analyses.service_racking import ServiceRacking
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


UNKNOWN = "workmanship, sea water and corrosion"
"""What no fatigue curve here contains."""
BAND_EXPLANATION = (
    f"In brackets: the life with {RACKING_BAND[1]:g} and {RACKING_BAND[0]:g} times the racking range, for the load is not known "
    f"better. {UNKNOWN[0].upper()}{UNKNOWN[1:]} are in no figure, nor is any detail that the file does not name."
)
BAND_COLUMNS = tuple(
    Column(f"life at {scale:g} times the racking range", "", "nautical miles")
    for scale in reversed(RACKING_BAND)
)


def fatigue_section(_: Study, found: Analysis) -> ReportSection | None:
    """None where the file has no service."""
    if found.fatigue_lives is None:
        return None
    service = found.fatigue_lives.service
    about = f" about the mean of {words.name_of(service.about)}" if service.about else ""
    far, often = f"{service.miles:,.0f}", f"{service.cycles:,.0f}"
    racking = found.fatigue_lives.racking
    ends = (
        "from one bow up to the other"
        if racking.moment
        else f"{words.number(service.swing, 2)} times the case"
    )
    waves = f", {_waves(service)}" if service.wave_period else ""
    first = f"The service is {far} nautical miles with {often} racking cycles{waves}. "
    said = [f"{first}{_racking_words(racking)} The largest cycle, once in that distance, is {ends}{about}."]
    lives = [(joint.joint, life) for joint in found.fatigue_lives.joints for life in joint.lives]
    bands = [band for of_joint in found.life_bands for band in of_joint.details]
    if lives:
        at = max(range(len(lives)), key=lambda number: lives[number][1].damage)
        name, worst = lives[at]
        said.append(
            f"Shortest life: {words.name_of(worst.detail.name)} with {words.name_of(name)}, {_life(worst, bands[at])}."
        )
    welds = [(joint.joint, life) for joint in found.fatigue_lives.joints for life in joint.welds]
    weld_bands = [band for of_joint in found.life_bands for band in of_joint.welds]
    if welds:
        said.append(_shortest_weld(welds, weld_bands))
    glue = [(joint.joint, life) for joint in found.fatigue_lives.joints for life in joint.glue]
    if glue:
        said.append(_shortest_glue_life(glue))
    if lives or welds or glue:
        said.append(BAND_EXPLANATION)
    return ReportSection(
        "fatigue",
        "Fatigue",
        said,
        unshown=[
            _lives_in_si(lives, bands),
            _welds_in_si(welds, weld_bands),
            *([_glue_in_si(glue)] if glue else []),
        ],
        readable=[
            _lives(lives, bands),
            *([_welds(welds, weld_bands)] if welds else []),
            *([_glue(glue)] if glue else []),
        ],
        aside=(
            "“Largest” and “allowed” are ranges of a full cycle: the largest occurs once over the distance, and the allowed "
            "range gives a damage of 1. The ranges of the curve are divided by the factor. Damage is Miner's sum, 1 at failure. "
            "Lives scatter by factors, not by per cent. The curves assume sound workmanship, inspection, and no sea water in "
            "the laminate. A load-carrying fillet weld cracks from its toe into the plate or from its root through the throat: "
            "both are checked, the worse governs. The classes of welded alloy are from memory and in doubt. "
            "Glue loses about a tenth of its static strength with every decade of cycles, 8 to 12 % (common "
            "practice, recalled): its band of lives has both ends of that too. Peak stress "
            "and strength are those of its elastic check."
        ),
    )


def _racking_words(racking: ServiceRacking) -> str:
    """What racks the boat, and how that is distributed over the distance."""
    name, weibull = words.name_of(racking.case), f"Weibull's distribution of shape {racking.shape:g}"
    if racking.moment is None or racking.largest is None or racking.heading is None:
        return f"Racking: {name}, entered as reached once in that distance; ranges by {weibull}."
    moment, largest = (words.quantity(size, "N·m") for size in (racking.moment, racking.largest))
    heading = f"at a heading of {math.degrees(racking.heading):.0f}°"
    once = f"{largest} once in that distance, {words.number(racking.scale, 2)} times the {moment} of the wave run"
    if racking.significant is None:
        return (
            f"Racking: from the waves of {name}. The wave that twists the hulls most, {heading}, is taken as reached once in "
            f"{racking.reference:,.0f} cycles; {weibull} through it gives M_P = {once}."
        )
    return (
        f"Racking: from the irregular sea of {name} by its spectrum's own moments, as if all of the distance was sailed in it "
        f"{heading}. The amplitude of M_P is {words.quantity(racking.significant, 'N·m')} (significant) and {once}; ranges by "
        "Rayleigh's distribution."
    )


def _shortest_weld(welds: Sequence[tuple[str, WeldLife]], bands: Sequence[LifeBand]) -> str:
    """The weld that lives least, of those that joints describe."""
    at = max(range(len(welds)), key=lambda number: welds[number][1].damage)
    name, worst = welds[at]
    life = f"{_in_band(worst.miles, bands[at])}, at the {worst.governing}"
    return f"Fillet welds of the joints, shortest life: {worst.part} of {words.name_of(name)}, {life}."


def _welds_in_si(welds: Sequence[tuple[str, WeldLife]], bands: Sequence[LifeBand]) -> Table:
    columns = (
        Column("joint"), Column("weld"), Column("hull"), Column("range at the toe", "Pa", "in the plate"),
        Column("range at the root", "Pa", "across the throat"), Column("range in shear", "Pa", "along the throat"),
        Column("damage at the toe", "", "over the distance"), Column("damage at the root", "", "over the distance"),
        Column("governing"), Column("factor", "", "on ranges"), Column("life", "", "nautical miles"), Column("source"),
        *BAND_COLUMNS,
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, life.part, life.side, life.toe_range, life.root_range, life.shear_range, life.toe_damage, life.root_damage,
            life.governing, life.factor, life.miles if math.isfinite(life.miles) else None, life.source,
            *(miles if math.isfinite(miles) else None for miles in (band.shortest, band.longest)),
        )
        for (name, life), band in zip(welds, bands, strict=True)
    ]  # fmt: skip
    return Table("fatigue_welds", "Lives of the joints' fillet welds", columns, tuple(rows))


def _welds(welds: Sequence[tuple[str, WeldLife]], bands: Sequence[LifeBand]) -> Table:
    columns = (
        Column("joint"), Column("weld"), Column("range at the toe"), Column("at the root"), Column("along the throat"),
        Column("damage at the toe"), Column("at the root"), Column("governing"), Column("life"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, life.part, *(words.quantity(size, "Pa") for size in (life.toe_range, life.root_range, life.shear_range)),
            _damage_of(life.toe_damage), _damage_of(life.root_damage), life.governing, _in_band(life.miles, band),
        )
        for (name, life), band in zip(welds, bands, strict=True)
    ]  # fmt: skip
    return Table("fatigue_welds", "Lives of the joints' fillet welds", columns, tuple(rows))


def _lives_in_si(lives: Lives, bands: Sequence[LifeBand]) -> Table:
    columns = (
        Column("joint"), Column("detail"), Column("component"), Column("hull"), Column("curve"), Column("source"),
        Column("factor", "", "on ranges"), Column("largest range", "", "Pa or strain"), Column("steady", "", "Pa or strain"),
        Column("allowed range", "", "Pa or strain"), Column("damage", "", "over the distance"),
        Column("life", "", "nautical miles"), Column("verdict"), *BAND_COLUMNS,
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, life.detail.name, life.detail.component, life.side, _curve(life), life.source, life.factor, life.largest,
            life.mean, life.allowed, life.damage if math.isfinite(life.damage) else None,
            life.miles if math.isfinite(life.miles) else None, _life_in_band(life, band),
            *(miles if math.isfinite(miles) else None for miles in (band.shortest, band.longest)),
        )
        for (name, life), band in zip(lives, bands, strict=True)
    ]  # fmt: skip
    return Table("fatigue", "Lives of details", columns, tuple(rows))


def _lives(lives: Lives, bands: Sequence[LifeBand]) -> Table:
    columns = (
        Column("joint"), Column("detail, by"), Column("curve, source"), Column("factor"), Column("largest"), Column("steady"),
        Column("allowed"), Column("damage"), Column("life"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, f"{life.detail.name}, {life.detail.component}", f"{_curve(life)}: {life.source}",
            words.number(life.factor, 2), *(_stress(life, size) for size in (life.largest, life.mean, life.allowed)),
            _damage(life), _life_in_band(life, band),
        )
        for (name, life), band in zip(lives, bands, strict=True)
    ]  # fmt: skip
    return Table("fatigue", "Lives of details", columns, tuple(rows))


def _curve(life: DetailLife) -> str:
    """Its curve; of a fillet weld where it cracks first."""
    return f"{life.detail.curve}, {life.place} governs" if life.place else life.detail.curve


GlueLives = Sequence[tuple[str, GlueLife]]
"""Glue lines, each with its joint."""


def _shortest_glue_life(glue: GlueLives) -> str:
    """The glue line of the shortest life, with its band."""
    name, worst = max(glue, key=lambda pair: pair[1].damage)
    where = f"Glue by the decade rule, shortest life: {worst.part}, {worst.check}, with {words.name_of(name)}"
    done = "" if not math.isfinite(worst.damage) else f"; damage {_damage_of(worst.damage)} over the distance"
    return f"{where}, {_glue_band(worst)}{done}."


def _glue_band(life: GlueLife) -> str:
    """A life with its band: scatter of the racking range and of the rule."""
    if life.static:
        return "fails under the largest load alone"
    low, high = life.band
    return _in_band(life.miles, LifeBand(life.part, low, high))


def _glue_in_si(glue: GlueLives) -> Table:
    columns = (
        Column("joint"), Column("part"), Column("glue line"), Column("hull"), Column("source"),
        Column("factor", "", "on stresses"), Column("strength", "", "Pa"), Column("largest range", "", "Pa"),
        Column("steady", "", "Pa"), Column("allowed range", "", "Pa"), Column("damage", "", "over the distance"),
        Column("life", "", "nautical miles"), Column("least life", "", "nautical miles"),
        Column("longest life", "", "nautical miles"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, life.part, life.check, life.side, life.source, life.factor, life.strength, life.largest, life.mean,
            life.allowed, *(v if math.isfinite(v) else None for v in (life.damage, life.miles, *life.band)),
        )
        for name, life in glue
    ]  # fmt: skip
    return Table("glue_fatigue", "Lives of glue lines", columns, tuple(rows))


def _glue(glue: GlueLives) -> Table:
    columns = (
        Column("joint"), Column("glue line"), Column("strength"), Column("factor"), Column("largest"),
        Column("steady"), Column("allowed"), Column("damage"), Column("life"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            name, f"{life.part}: {life.check}", words.quantity(life.strength, "Pa"), words.number(life.factor, 2),
            *(words.quantity(v, "Pa") for v in (life.largest, life.mean, life.allowed)),
            _damage_of(life.damage) if math.isfinite(life.damage) else "–", _glue_band(life),
        )
        for name, life in glue
    ]  # fmt: skip
    title = "Lives of glue lines by the decade rule: 8 to 12 % of static strength lost per decade of cycles"
    return Table("glue_fatigue", title, columns, tuple(rows))


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


def _life(life: DetailLife, band: LifeBand) -> str:
    if life.static or math.isinf(life.miles):
        return _life_in_band(life, band)
    return f"{_life_in_band(life, band)}; damage {_damage(life)} over the distance"


def _life_in_band(life: DetailLife, band: LifeBand) -> str:
    """A life with what it is at the ends of the band of loads; far beyond any service, with what it does not contain."""
    if life.static:
        return "fails under the largest load alone"
    return _in_band(life.miles, band)


def _in_band(miles: float, band: LifeBand) -> str:
    if band.shortest > MAX_MILES_SHOWN:
        return f"beyond any service by this curve; {UNKNOWN} not known"
    low, high = (_far(end) for end in (band.shortest, band.longest))
    beyond = f"; {UNKNOWN} not known" if band.longest > MAX_MILES_SHOWN else ""
    return f"{_far(miles)} miles ({low} to {high}{beyond})"


def _far(miles: float) -> str:
    """Miles to two digits, no further than a boat can sail."""
    return f"over {MAX_MILES_SHOWN / 1e6:.0f} million" if miles > MAX_MILES_SHOWN else words.miles(miles)


def _damage(life: DetailLife) -> str:
    return _damage_of(life.damage)


def _damage_of(damage: float) -> str:
    return (
        f"under {MIN_DAMAGE_SHOWN}"
        if damage < MIN_DAMAGE_SHOWN
        else words.number(damage, 3 if damage < 1 else 1)
    )
