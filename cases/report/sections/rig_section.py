"""The stay: torque and torque-free attachment over rake and sag, and how the tension was estimated."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.stay_sag import stay_line_over_sag
from cases.analyses.study import Study
from cases.loads.rig import Rig, StayLine, stay_line
from cases.report.data import words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table
from femcore.base import numbers
from femcore.base.numbers import plain
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels

RAKE_STEP, MIN_RAKE, MAX_RAKE = 2.5, 10.0, 45.0
"""Degrees of rake: between rows of the table, and the least and most that it goes to."""
REPORTED_SAG = 0.02
"""The sag of the table that the sentence reports."""
SAG_ASIDE = (
    "The sagging stay is a parabola under a uniform load along its chord (statics): its ends are inclined by 4 s ∕ L to the "
    "chord, and each carries half the load. This is valid for small sags and refused beyond 1 ∕ 8 of the span. The tension is "
    "that along the chord."
)


def rig_section(study: Study, _: Analysis) -> ReportSection | None:
    """None where no stay pulls."""
    rigs = study.rig_cases
    if not rigs:
        return None
    hardest = max(rigs, key=lambda rig: rig.stay_tension)
    tables = [rake_table(study, hardest), sag_table(study, hardest)]
    tables += [estimates(rigs)] if any(rig.tension_range for rig in rigs) else []
    said = [*_sags(rigs), sag_words(study, hardest), *_spreads(rigs)]
    return ReportSection(
        "rake",
        "Rake, sag and tension",
        said,
        tables,
        drawings=[partial(rake_picture, study, hardest)],
        aside=SAG_ASIDE,
    )


def line_at(study: Study, rig: Rig, degrees: float) -> StayLine:
    """The stay's line of that case at another rake, its tension kept."""
    stay = study.file.stay
    return stay_line(rig.model_copy(update={"rake": math.radians(degrees)}), stay.forward, stay.up)


def rakes(rig: Rig) -> list[float]:
    """Degrees: a row of them from upright to well beyond the case's own rake, which stands among them."""
    own = math.degrees(rig.rake)
    last = min(MAX_RAKE, max(MIN_RAKE, RAKE_STEP * math.ceil(1.5 * own / RAKE_STEP)))
    return sorted({*np.arange(0.0, last + RAKE_STEP / 2, RAKE_STEP).tolist(), round(own, 6)})


def rake_table(study: Study, rig: Rig) -> Table:
    """Pull, torque and attachment over rake."""
    columns = (
        Column("rake", "°", "of the chord"), Column("sag", "1", "of the span"), Column("rake at the foot", "°"),
        Column("pull up", "N"), Column("pull aft", "N"), Column("pull to port", "N"),
        Column("torque", "N·m", "positive: bow down"), Column("torque-free attachment", "m", "ahead of the axis"),
        Column("of the case"),
    )  # fmt: skip
    own = round(math.degrees(rig.rake), 6)
    rows: list[tuple[Cell, ...]] = []
    for degrees in rakes(rig):
        line = line_at(study, rig, degrees)
        mark = "as entered" if degrees == own else ""
        foot, sag = math.degrees(line.rake_at_foot), math.hypot(line.sag_aft, line.sag_side)
        rows.append(
            (degrees, sag, foot, line.up, line.aft, line.side, line.torque, line.torque_free_forward, mark)
        )
    title = (
        f"Pull of the stay over rake, at the tension and sag of {words.name_of(rig.name)}{rig.estimate_mark}"
    )
    return Table("stay_over_rake", title, columns, tuple(rows))


def sag_table(study: Study, rig: Rig) -> Table:
    """The line at the foot over sag."""
    columns = (
        Column("sag aft", "1", "of the span"), Column("sag to port", "1", "of the span"),
        Column("sail’s load on the stay", "N", "in all"),
        Column("rake at the foot", "°"), Column("lean at the foot", "°", "to port"),
        Column("pull up", "N"), Column("pull aft", "N"), Column("pull to port", "N"),
        Column("torque", "N·m", "positive: bow down"), Column("torque-free attachment", "m", "ahead of the axis"),
        Column("of the case"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            at.sag_aft, at.sag_side, at.load, math.degrees(at.rake_at_foot), math.degrees(at.lean_at_foot),
            at.up, at.aft, at.side, at.torque, at.torque_free_forward, "as entered" if at.own else "",
        )
        for at in stay_line_over_sag(study.file, rig)
    ]  # fmt: skip
    title = f"Pull of the stay over sag, at the tension along the chord of {words.name_of(rig.name)}{rig.estimate_mark}"
    return Table("stay_over_sag", title, columns, tuple(rows))


def sag_words(study: Study, rig: Rig) -> str:
    """The effect of sag on the line at the foot, aft and to the side."""
    found = {(at.sag_aft, at.sag_side): at for at in stay_line_over_sag(study.file, rig)}
    straight, aft, side = found[0.0, 0.0], found[REPORTED_SAG, 0.0], found[0.0, REPORTED_SAG]
    further = words.number(math.degrees(aft.rake_at_foot - straight.rake_at_foot), 1)
    torque, before = (words.quantity(at.torque, "N·m") for at in (aft, straight))
    return (
        f"With a sag aft of {100 * REPORTED_SAG:g} % of the span, the stay of {words.name_of(rig.name)} leans {further}° further "
        f"aft at the foot: torque {torque} instead of {before} (positive: bow down), torque-free attachment "
        f"{words.torque_free(aft)} instead of {words.torque_free(straight)}. The same sag to one side adds a sideways pull of "
        f"{words.quantity(abs(side.side), 'N')} and no torque."
    )


def rake_picture(study: Study, rig: Rig) -> Drawing:
    """Torque, and where the attachment would have to be for none, over rake."""
    degrees = np.linspace(0.0, rakes(rig)[-1], 60)
    lines = [line_at(study, rig, float(angle)) for angle in degrees]
    torque, ahead = (
        np.array([getattr(line, key) for line in lines]) for key in ("torque", "torque_free_forward")
    )
    own, here = math.degrees(rig.rake), line_at(study, rig, math.degrees(rig.rake))
    by, unit = numbers.unit_prefix(numbers.largest(torque), "N·m")
    with style.drawing_style():
        figure = style.new_figure(7.2, 2.6)
        left, right = figure.subplots(1, 2)
        for axes, values, now in (
            (left, torque / by, here.torque / by),
            (right, 1000 * ahead, 1000 * here.torque_free_forward),
        ):
            axes.plot(degrees, values, color=style.SERIES_COLOURS[0])
            axes.plot(own, now, "o", color=style.SERIES_COLOURS[1], ms=6, clip_on=False, zorder=4)
            axes.axhline(0.0, color=style.MUTED_COLOUR, lw=0.8)
            axes.set_xlabel("rake, degrees aft of vertical")
            if not values.any():
                axes.set_ylim(-1, 1)
        right.axhline(1000 * study.file.stay.forward, color=style.SERIES_COLOURS[3], lw=1.1, ls=(0, (4, 3)))
        left.set_title("Torque of the stay")
        left.set_ylabel(f"{unit}, positive bow down")
        right.set_title("Torque-free attachment")
        right.set_ylabel("mm from the shear centre")
        right.yaxis.set_major_formatter(lambda size, _: _from_centre(size))
        place_labels(right, [[degrees[-1] * 0.7, 1000 * study.file.stay.forward]], ["as attached"])
        caption = (
            f"Torque of the stay about the crossbeam's axis over rake, at the tension of ‘{plain(rig.name)}’"
            f"{rig.estimate_mark}, and the "
            f"torque-free attachment at the same height. At the rake as entered, {own:.3g}° (mark): torque "
            f"{words.quantity(here.torque, 'N·m')}, torque-free attachment {words.torque_free(here)}."
        )
        return Drawing(figure, "rake", "The stay over rake", caption)


def _from_centre(size: float) -> str:
    """A position, mm, as a move from the shear centre."""
    return words.number(abs(size), 0) + (" ahead" if size > 0 else " behind" if size < 0 else "")


def estimates(rigs: list[Rig]) -> Table:
    """Every estimate of a tension, and the value used."""
    columns = (
        Column("case"), Column("by"), Column("tension", "N"), Column("of the one taken", "1"), Column("source"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for rig in rigs:
        if (tension_range := rig.tension_range) is not None:
            taken = rig.stay_tension
            rows += [
                (rig.name, one.method, one.tension, one.tension / taken, one.source)
                for one in tension_range.estimates
            ]
            rows.append((rig.name, f"taken: {tension_range.choice}", taken, 1.0, ""))
    return Table("tension_estimates", "Estimates of the stay's tension", columns, tuple(rows))


def _sags(rigs: list[Rig]) -> Iterator[str]:
    for rig in rigs:
        if (sag := rig.sag) is not None and rig.length:
            sagging_stay = rig.sagging_stay
            aside, aft = (
                4 * rig.stay_tension * rig.scale * abs(part) for part in (sagging_stay.side, sagging_stay.aft)
            )
            pulls = [f"sideways with {words.quantity(aside, 'N')}"] if aside else []
            if aft:
                way = "aft" if sagging_stay.aft > 0 else "forward"
                lean = words.number(abs(math.degrees(sagging_stay.rake_at_foot - sagging_stay.rake)), 1)
                pulls.append(
                    f"{way} with {words.quantity(aft, 'N')}, square to the chord, so that its line there leans {lean}° further"
                )
            yield (
                f"In {words.name_of(rig.name)} the headsail gives the stay a sag of {words.quantity(sag, 'm')} over its span of "
                f"{words.quantity(rig.length, 'm')}, and pulls its foot {' and '.join(pulls)}."
            )


def _spreads(rigs: list[Rig]) -> Iterator[str]:
    for rig in rigs:
        if (tension_range := rig.tension_range) is not None:
            low, high = words.quantity(tension_range.lowest, "N"), words.quantity(tension_range.highest, "N")
            many = f"{len(tension_range.estimates)} estimates run from {low} to {high}"
            if len(tension_range.estimates) == 1:
                many = f"one method, {tension_range.estimates[0].method}"
            many += f" ({tension_range.excluded_words})" if tension_range.excluded else ""
            apart = tension_range.highest / tension_range.lowest if tension_range.lowest > 0 else math.inf
            ratio = f", a factor of {words.times(apart)}" if math.isfinite(apart) and apart > 1 else ""
            yield (
                f"The tension of {words.name_of(rig.name)} is estimated, not measured: {many}{ratio}. Value used: "
                f"{words.quantity(rig.stay_tension, 'N')} ({tension_range.choice}). All loads of the case are as uncertain."
            )
            yield from (
                f"{one.sensitivity[0].upper()}{one.sensitivity[1:]}."
                for one in tension_range.estimates
                if one.sensitivity
            )
