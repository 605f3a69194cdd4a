"""What else is to be known of the rig: how torque and attachment change with rake, what sag does, how sure the tension is."""

from __future__ import annotations

import math
from collections.abc import Iterator

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

RAKE_STEP, MIN_RAKE, MAX_RAKE = 2.5, 10.0, 45.0
"""Degrees of rake: between rows of the table, and the least and most that it goes to."""
REPORTED_SAG = 0.02
"""The one of them that the words tell of."""
SAG_ASIDE = (
    "A sagging stay is a parabola under a load that is even along its chord (statics): its ends lean by 4 s/L from the chord, "
    "and each carries half of the load. It holds for small sags, and is refused beyond 1/8 of the span. Tension is that along "
    "the chord."
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
        pictures=[rake_picture(study, hardest)],
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
    title = f"What the pull of {words.name_of(rig.name)} would be at another rake, its tension and sag kept"
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
    title = f"What the pull of {words.name_of(rig.name)} would be at another sag, its tension along the chord kept"
    return Table("stay_over_sag", title, columns, tuple(rows))


def sag_words(study: Study, rig: Rig) -> str:
    """What sag does to the line at the foot, told at one of its sizes, aft and to the side."""
    found = {(at.sag_aft, at.sag_side): at for at in stay_line_over_sag(study.file, rig)}
    straight, aft, side = found[0.0, 0.0], found[REPORTED_SAG, 0.0], found[0.0, REPORTED_SAG]
    further = words.number(math.degrees(aft.rake_at_foot - straight.rake_at_foot), 1)
    torques = " to ".join(words.quantity(at.torque, "N·m") for at in (straight, aft))
    ahead = " to ".join(f"{words.number(1000 * at.torque_free_forward, 0)} mm" for at in (straight, aft))
    moved = f"torque goes from {torques} (bow down positive), the attachment that makes none from {ahead} ahead of the axis"
    return (
        f"Were the stay of {words.name_of(rig.name)} to sag aft "
        f"by {100 * REPORTED_SAG:g} % of its span, its line would lean {further}° "
        f"further aft at the foot: {moved}. Sagging as far to one side it pulls sideways with "
        f"{words.quantity(abs(side.side), 'N')}, which makes no torque about the beam."
    )


def rake_picture(study: Study, rig: Rig) -> style.Picture:
    """Torque, and where the attachment would have to be for none, over rake."""
    degrees = np.linspace(0.0, rakes(rig)[-1], 60)
    lines = [line_at(study, rig, float(angle)) for angle in degrees]
    torque, ahead = (
        np.array([getattr(line, key) for line in lines]) for key in ("torque", "torque_free_forward")
    )
    own, here = math.degrees(rig.rake), line_at(study, rig, math.degrees(rig.rake))
    by, unit = numbers.unit_prefix(numbers.largest(torque), "N·m")
    with style.style():
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
        style.place_labels(right, [[degrees[-1] * 0.7, 1000 * study.file.stay.forward]], ["attached here"])
        left.set_title("torque of the stay")
        left.set_ylabel(f"{unit}, positive bow down")
        right.set_title("attachment that makes none")
        right.set_ylabel("mm ahead of the shear centre")
        caption = (
            f"Over rake, at the tension of ‘{plain(rig.name)}’: the stay’s torque about the crossbeam’s axis, and where its "
            "attachment, at the height it has, would have to be for none. The mark is the rake as entered."
        )
        return style.finish(figure, "rake", "The stay over rake", caption)


def estimates(rigs: list[Rig]) -> Table:
    """Every estimate of a tension beside the one taken."""
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
    return Table("tension_estimates", "How the stay’s tension was estimated", columns, tuple(rows))


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
                f"In {words.name_of(rig.name)} the headsail bows the stay out by {words.quantity(sag, 'm')} over its "
                f"{words.quantity(rig.length, 'm')}, and pulls its foot {' and '.join(pulls)}."
            )


def _spreads(rigs: list[Rig]) -> Iterator[str]:
    for rig in rigs:
        if (tension_range := rig.tension_range) is not None:
            low, high = words.quantity(tension_range.lowest, "N"), words.quantity(tension_range.highest, "N")
            many = f"{len(tension_range.estimates)} estimates run from {low} to {high}"
            if len(tension_range.estimates) == 1:
                many = f"by one method alone, {tension_range.estimates[0].method}"
            many += f" ({tension_range.excluded_words})" if tension_range.excluded else ""
            apart = tension_range.highest / tension_range.lowest if tension_range.lowest > 0 else math.inf
            ratio = f", a factor of {words.times(apart)}" if math.isfinite(apart) and apart > 1 else ""
            yield (
                f"The tension of {words.name_of(rig.name)} is estimated, not measured: {many}{ratio}; taken is "
                f"{words.quantity(rig.stay_tension, 'N')} ({tension_range.choice}). "
                "All loads of the case are as uncertain as that."
            )
