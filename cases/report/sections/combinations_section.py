"""Combinations of cases and their envelope: which were run, how, and which governs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import ROW_METHODS
from cases.analyses.envelope import Extremes, JointEnvelope
from cases.analyses.study import Study
from cases.input.combinations import (
    DEFAULT_COMBINATIONS_REASON,
    NO_DEFAULT_COMBINATIONS_REASON,
    uncombined_reasons,
)
from cases.report.data import words
from cases.report.figures import load_path_figure
from cases.report.figures.boat_figures import DIAGRAMS, FROM_STARBOARD
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import COMPONENT_UNITS, FREEDOM_UNITS, Cell, Column, Table
from femcore.base import numbers
from femcore.frame.frame import ACTIONS
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from models.joints import DIRECTIONS
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

REL_TOL_UNNAMED_EXTREME = 1e-6
"""Of the largest value in a panel: a smaller extreme is rounding and gets no name."""
MOST_SHOWN = 40
"""Combinations listed on the page; the CSV table has all."""


def combinations_section(study: Study, found: Analysis) -> ReportSection | None:
    """None where there is but one case and nothing to combine."""
    if not found.envelopes:
        return None
    envelopes = found.envelopes
    runs = combinations_run(study, envelopes)
    forces, moments = (
        _by_side(envelopes, "joint_load", JOINT_LOAD_NAMES, COMPONENT_UNITS, unit) for unit in ("N", "N·m")
    )
    moved, turned = (_by_side(envelopes, "stems", DIRECTIONS, FREEDOM_UNITS, unit) for unit in ("m", "rad"))
    shown = next(one for one in envelopes if one.name == load_path_figure.shown_joint(study).joint.name)
    return ReportSection(
        "combined",
        "Combinations and envelope",
        list(_said(study, envelopes)),
        [runs, forces, moments, _worst_truss(envelopes), moved],
        unshown=[turned, _along_beams(envelopes)],
        drawings=[partial(envelope_picture, shown)],
        aside=(
            "Highest and lowest values keep their signs; of several equal ones the first case is named. Joint loads are those of "
            "the crossbeam on the hull, named for the beam, positive along or about boat axes."
        ),
    )


def _said(study: Study, envelopes: Sequence[JointEnvelope]) -> Iterator[str]:
    combinations, cases = study.file.expanded_combinations, len(study.cases)
    if not combinations:
        reason = (
            NO_DEFAULT_COMBINATIONS_REASON
            if study.file.combinations is None
            else "The file has no combinations."
        )
        yield f"{reason} The envelope is over its {cases} cases."
        return
    if study.file.combinations is None:
        yield DEFAULT_COMBINATIONS_REASON
        yield from uncombined_reasons(study.file.active_cases)
    else:
        yield f"The file has {len(combinations)} combinations."
    ways = [way for one in envelopes for way in one.rows.method if way != "case"]
    done = [
        f"{ways.count(key)} {words_of_method}" for key, words_of_method in ROW_METHODS.items() if key in ways
    ]
    yield (
        f"The envelope is over {cases} cases and {len(combinations)} combinations, with each of {len(envelopes)} joints. How the "
        f"{len(ways)} combinations were found: {'; '.join(done)}."
    )


def combinations_run(study: Study, envelopes: Sequence[JointEnvelope]) -> Table:
    """Every combination: its cases and factors, and how it was found, joint by joint."""
    columns = (Column("combination"), Column("cases and factors"), Column("level"), Column("what was done"))
    rows: list[tuple[Cell, ...]] = []
    levels = study.file.load_levels
    for number, one in enumerate(study.file.expanded_combinations, start=len(study.cases)):
        ways = [envelope.rows.method[number] for envelope in envelopes]
        done = [
            f"{ROW_METHODS[way]}{'' if len(set(ways)) == 1 else f' ({ways.count(way)} of {len(ways)} joints)'}"
            for way in dict.fromkeys(ways)
        ]
        parts = ", ".join(f"{words.number(factor, 2)} × {name}" for name, factor in one.factors.items())
        rows.append((one.name, parts, levels[one.name], "; ".join(done)))
    return Table("combinations", "Combinations that were run", columns, tuple(rows), MOST_SHOWN)


def _extreme_columns(unit: str) -> tuple[Column, ...]:
    return (Column("highest", unit), Column("in"), Column("lowest", unit), Column("in "))


def _extreme(found: Extremes, at: tuple[int, ...], names: Sequence[str]) -> tuple[Cell, ...]:
    return (
        float(found.highest[at]), names[found.highest_in[at]], float(found.lowest[at]), names[found.lowest_in[at]],
    )  # fmt: skip


TITLES = {
    ("joint_load", "N"): ("envelope_forces", "Envelope of joint forces"),
    ("joint_load", "N·m"): ("envelope_moments", "Envelope of joint moments"),
    ("stems", "m"): ("envelope_movements", "Envelope of stem movements"),
    ("stems", "rad"): ("envelope_turns", "Envelope of stem rotations"),
}
"""Name and title of a table, by quantity and unit."""


def _by_side(
    envelopes: Sequence[JointEnvelope],
    reading: str,
    called: Sequence[str],
    units: Sequence[str],
    unit: str,
) -> Table:
    """The components of that unit of a quantity that both sides have."""
    rows: list[tuple[Cell, ...]] = [
        (one.name, side, called[k], *_extreme(one.worst[reading], (s, k), one.rows.names))
        for one in envelopes
        for s, side in enumerate(SIDES)
        for k in range(len(called))
        if units[k] == unit
    ]
    columns = (Column("joint"), Column("hull"), Column("component"), *_extreme_columns(unit))
    return Table(*TITLES[reading, unit], columns, tuple(rows))


def _worst_truss(envelopes: Sequence[JointEnvelope]) -> Table:
    """Forces in the martingale and the striker."""
    rows: list[tuple[Cell, ...]] = [
        (one.name, part, *_extreme(one.worst[reading], (k,), one.rows.names))
        for one in envelopes
        for reading, parts in (("tension", enumerate(one.cables)), ("striker", _striker(one)))
        for k, part in parts
    ]
    columns = (Column("joint"), Column("part"), *_extreme_columns("N"))
    return Table("envelope_truss", "Envelope of forces in martingale and striker", columns, tuple(rows))


def _striker(one: JointEnvelope) -> Iterator[tuple[int, str]]:
    if (place := one.most_compressed_place) is not None:
        yield place, "striker"


def _along_beams(envelopes: Sequence[JointEnvelope]) -> Table:
    """Highest and lowest of every member force along crossbeam and longeron, with place and case; SI."""
    columns = (
        Column("joint"), Column("beam"), Column("action"), Column("unit"), Column("highest", "", "SI"), Column("at", "m"),
        Column("in"), Column("lowest", "", "SI"), Column("at ", "m"), Column("in "),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in envelopes:
        for beam, station in one.along.items():
            worst = one.worst[beam]
            for k, action in enumerate(ACTIONS):
                most, least = int(worst.highest[:, k].argmax()), int(worst.lowest[:, k].argmin())
                high, high_in, *_ = _extreme(worst, (most, k), one.rows.names)
                *_, low, low_in = _extreme(worst, (least, k), one.rows.names)
                highest, lowest = (high, float(station[most]), high_in), (low, float(station[least]), low_in)
                rows.append((one.name, beam, action, COMPONENT_UNITS[k], *highest, *lowest))
    return Table("envelope_along", "Envelope along the beams", columns, tuple(rows))


def envelope_picture(found: JointEnvelope) -> Drawing:
    """The envelope along the crossbeam, with the cases of its extremes."""
    worst = found.worst["crossbeam"]
    with style.drawing_style():
        figure, called = style.new_figure(style.WIDTH, 7.4), numbers.plain(found.name)
        above = f"Crossbeam with ‘{numbers.shorten(called, 60)}’: highest and lowest of all cases"
        figure.suptitle(
            above, fontsize=10, x=0.01, ha="left"
        )  # before labels are placed, which settles the layout
        grid = figure.subplots(3, 2, sharex=True)
        for axes, (action, title, unit) in zip(grid.flat, DIAGRAMS, strict=True):
            column = ACTIONS.index(action)
            alike = [ACTIONS.index(name) for name, _, other in DIAGRAMS if other == unit]
            by, named = numbers.unit_prefix(
                numbers.largest([worst.highest[:, alike], worst.lowest[:, alike]]), unit
            )
            high, low = worst.highest[:, column] / by, worst.lowest[:, column] / by
            axes.fill_between(
                found.along["crossbeam"], low, high, color=style.SERIES_COLOURS[0], alpha=0.22, lw=0
            )
            axes.plot(found.along["crossbeam"], high, color=style.SERIES_COLOURS[0], lw=1.2)
            axes.plot(found.along["crossbeam"], low, color=style.SERIES_COLOURS[0], lw=1.2)
            axes.axhline(0.0, color=style.MUTED_COLOUR, lw=0.8)
            axes.set_title(title.capitalize())
            axes.set_ylabel(f"{action}, {named}")
            axes.margins(y=0.3)
        for axes in grid[-1]:
            axes.set_xlabel(FROM_STARBOARD)
        for axes, (action, *_) in zip(
            grid.flat, DIAGRAMS, strict=True
        ):  # after all else: it settles the layout
            _name_extremes(axes, found, ACTIONS.index(action))
        largest = "; ".join(
            f"{title} {words.quantity(numbers.largest([worst.highest[:, column], worst.lowest[:, column]]), unit)}"
            for action, title, unit in DIAGRAMS
            for column in [ACTIONS.index(action)]
        )
        caption = (
            f"Member forces along the crossbeam with ‘{called}’: the band between highest and lowest over all cases and "
            "combinations. Each extreme names its case or combination. Largest: "
            f"{largest}."
        )
        return Drawing(figure, "envelope", f"Envelope along the crossbeam: {called}", caption)


def _name_extremes(axes: Axes, found: JointEnvelope, column: int) -> None:
    """Mark and name the highest and the lowest of what the panel's two lines are."""
    worst = found.worst["crossbeam"]
    high, low = (np.asarray(line.get_ydata(), dtype=float) for line in axes.lines[:2])
    places: list[tuple[float, float]] = []
    names: list[str] = []
    for values, at, row in (
        (high, int(high.argmax()), worst.highest_in),
        (low, int(low.argmin()), worst.lowest_in),
    ):
        if abs(values[at]) > REL_TOL_UNNAMED_EXTREME * numbers.largest([high, low]):
            places.append((float(found.along["crossbeam"][at]), float(values[at])))
            names.append(numbers.shorten(found.rows.names[row[at, column]], 34))
    axes.plot(*np.array(places).reshape(-1, 2).T, "o", color=style.SERIES_COLOURS[1], ms=5, zorder=4)
    place_labels(axes, places, names)
