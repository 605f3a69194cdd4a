"""What else is to be known of the rig: how torque and attachment change with rake, what sag does, how sure the tension is."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from cases.loads.rig import Rig, StayLine, stay_line
from cases.report import words
from cases.report.findings import Findings
from cases.report.parts import Part
from cases.report.tables import Cell, Column, Table
from cases.study import Study
from femcore import looks
from femcore.looks import plain

STEP, LEAST, MOST = 2.5, 10.0, 45.0
"""Degrees of rake: between rows of the table, and the least and most that it goes to."""


def rig_part(study: Study, _: Findings) -> Part | None:
    """None where no stay pulls."""
    rigs = pulling(study)
    if not rigs:
        return None
    hardest = max(rigs, key=lambda rig: rig.stay_tension)
    tables = [over_rake(study, hardest), *([estimates(rigs)] if any(rig.spread for rig in rigs) else [])]
    said = [*_sags(rigs), *_spreads(rigs)]
    return Part("rake", "Rake, sag and tension", said, tables, pictures=[rake_picture(study, hardest)])


def pulling(study: Study) -> list[Rig]:
    """The rig cases."""
    return [case for case in study.cases if isinstance(case, Rig)]


def line_at(study: Study, rig: Rig, degrees: float) -> StayLine:
    """The stay's line of that case at another rake, its tension kept."""
    stay = study.file.stay
    return stay_line(rig.model_copy(update={"rake": math.radians(degrees)}), stay.forward, stay.up)


def rakes(rig: Rig) -> list[float]:
    """Degrees: a row of them from upright to well beyond the case's own rake, which stands among them."""
    own = math.degrees(rig.rake)
    last = min(MOST, max(LEAST, STEP * math.ceil(1.5 * own / STEP)))
    return sorted({*np.arange(0.0, last + STEP / 2, STEP).tolist(), round(own, 6)})


def over_rake(study: Study, rig: Rig) -> Table:
    """Pull, torque and attachment over rake."""
    columns = (
        Column("rake", "°", "aft of vertical"), Column("pull up", "N"), Column("pull aft", "N"),
        Column("torque", "N·m", "positive: bow down"), Column("torque-free attachment", "m", "ahead of the axis"),
        Column("of the case"),
    )  # fmt: skip
    own = round(math.degrees(rig.rake), 6)
    rows: list[tuple[Cell, ...]] = []
    for degrees in rakes(rig):
        line = line_at(study, rig, degrees)
        mark = "as entered" if degrees == own else ""
        rows.append((degrees, line.up, line.aft, line.torque, line.torque_free_forward, mark))
    title = f"What the pull of {words.name_of(rig.name)} would be at another rake, its tension kept"
    return Table("stay_over_rake", title, columns, tuple(rows))


def rake_picture(study: Study, rig: Rig) -> looks.Picture:
    """Torque, and where the attachment would have to be for none, over rake."""
    degrees = np.linspace(0.0, rakes(rig)[-1], 60)
    lines = [line_at(study, rig, float(angle)) for angle in degrees]
    torque, ahead = (
        np.array([getattr(line, key) for line in lines]) for key in ("torque", "torque_free_forward")
    )
    own, here = math.degrees(rig.rake), line_at(study, rig, math.degrees(rig.rake))
    by, unit = looks.prefixed(looks.largest(torque), "N·m")
    with looks.style():
        figure = looks.new_figure(7.2, 2.6)
        left, right = figure.subplots(1, 2)
        for axes, values, now in (
            (left, torque / by, here.torque / by),
            (right, 1000 * ahead, 1000 * here.torque_free_forward),
        ):
            axes.plot(degrees, values, color=looks.SERIES[0])
            axes.plot(own, now, "o", color=looks.SERIES[1], ms=6, clip_on=False, zorder=4)
            axes.axhline(0.0, color=looks.QUIET, lw=0.8)
            axes.set_xlabel("rake, degrees aft of vertical")
            if not values.any():
                axes.set_ylim(-1, 1)
        right.axhline(1000 * study.file.stay.forward, color=looks.SERIES[3], lw=1.1, ls=(0, (4, 3)))
        looks.place_names(right, [[degrees[-1] * 0.7, 1000 * study.file.stay.forward]], ["attached here"])
        left.set_title("torque of the stay")
        left.set_ylabel(f"{unit}, positive bow down")
        right.set_title("attachment that makes none")
        right.set_ylabel("mm ahead of the shear centre")
        caption = (
            f"Over rake, at the tension of ‘{plain(rig.name)}’: the stay’s torque about the crossbeam’s axis, and where its "
            "attachment, at the height it has, would have to be for none. The mark is the rake as entered."
        )
        return looks.finish(figure, "rake", "The stay over rake", caption)


def estimates(rigs: list[Rig]) -> Table:
    """Every estimate of a tension beside the one taken."""
    columns = (
        Column("case"), Column("by"), Column("tension", "N"), Column("of the one taken", "1"), Column("source"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for rig in rigs:
        if (spread := rig.spread) is not None:
            taken = rig.stay_tension
            rows += [
                (rig.name, one.method, one.tension, one.tension / taken, one.source)
                for one in spread.estimates
            ]
            rows.append((rig.name, f"taken: {spread.choice}", taken, 1.0, ""))
    return Table("tension_estimates", "How the stay’s tension was estimated", columns, tuple(rows))


def _sags(rigs: list[Rig]) -> Iterator[str]:
    for rig in rigs:
        if (sag := rig.sag) is not None and rig.length:
            aside = abs(next(load.force[1] for load in rig.loads() if load.place == "stay"))
            yield (
                f"In {words.name_of(rig.name)} the headsail bows the stay out by {words.quantity(sag, 'm')} over its "
                f"{words.quantity(rig.length, 'm')}, and pulls its foot sideways with {words.quantity(aside, 'N')}."
            )


def _spreads(rigs: list[Rig]) -> Iterator[str]:
    for rig in rigs:
        if (spread := rig.spread) is not None:
            low, high = words.quantity(spread.lowest, "N"), words.quantity(spread.highest, "N")
            many = f"{len(spread.estimates)} estimates run from {low} to {high}"
            apart = spread.highest / spread.lowest if spread.lowest > 0 else math.inf
            ratio = f", a factor of {words.times(apart)}" if math.isfinite(apart) else ""
            yield (
                f"The tension of {words.name_of(rig.name)} is estimated, not measured: {many}{ratio}; taken is "
                f"{words.quantity(rig.stay_tension, 'N')} ({spread.choice}). All loads of the case are as uncertain as that."
            )
