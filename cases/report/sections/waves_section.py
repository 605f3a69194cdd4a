"""Regular waves: which heading and length is worst for each component of the joints and each of their parts, and its picture."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.analyses.wave_scan import MOST_TRIED as TRIED
from cases.analyses.wave_scan import WaveScan, WorstState
from cases.loads.wave_balance import pitch_connecting_moment, root_moment
from cases.report.data import words
from cases.report.data.statements import margin_words
from cases.report.figures.joint_looks import joint_looks
from cases.report.figures.wave_figures import polar_picture, wave_picture
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import COMPONENT_UNITS, Cell, Column, Table
from femcore.base import numbers

STATE = (
    Column("heading", "", "0 along, 90° abeam"),
    Column("length", "m", "of the wave"),
    Column("height", "m", "of the wave"),
)


LOWEST_SHOWN = 5
"""Parts of each joint on the page; the CSV table has all."""
OF_SEA = (
    "In the irregular sea the waves are long-crested and met without way, and loads are in proportion to them; “once in three "
    "hours” is the most likely largest. Ranges do the sea's damage if met once in each crossing: by Rayleigh's distribution, by "
    "Dirlik's formula for rainflow counting, and by Weibull's, as service life takes it, with the same largest range."
)
"""What the table of an irregular sea holds."""


def waves_section(study: Study, analysis: Analysis) -> ReportSection | None:
    """Where the file has a case of waves."""
    scans = analysis.wave_scans
    if not scans:
        return None
    slugs = numbers.slugs([scan.case for scan in scans])
    pairs = list(zip(scans, slugs, strict=True))
    looks = {joint.name: look for joint, look in zip(study.joints, joint_looks(study), strict=True)}
    return ReportSection(
        "waves",
        "Waves",
        [sentence for scan in scans for sentence in _sentences(scan)],
        tables=[
            table for scan, slug in pairs for table in (components(scan, slug), sea(scan, slug)) if table.rows
        ],
        unshown=[table for scan, slug in pairs if (table := parts(scan, slug)).rows],
        readable=[table for scan, slug in pairs if (table := lowest_margins(scan, slug)).rows],
        drawings=[
            job
            for scan, slug in pairs
            for job in (partial(polar_picture, scan, slug, looks), partial(wave_picture, scan, slug))
        ],
        aside=(
            "Joint loads are of the wave alone, in first order with every cable taut. Margins are under pretension and wave, in "
            f"waves furthest in one of {TRIED} directions of the joint load, and those that twist and bend the hulls most. "
            "Buckling of the frame is checked in the waves run as cases. A heading and 180° less that heading are mirror images."
        ),
    )


def _sentences(scan: WaveScan) -> Iterator[str]:
    load = scan.load[None]
    moment, root = (abs(float(one(scan.form, load)[0])) for one in (pitch_connecting_moment, root_moment))
    yield (
        f"{words.name_of(scan.case)}: {scan.states} regular waves were tried. Most torque at a joint comes from "
        f"{_words(scan.worst)}, with a pitch-connecting moment of {words.quantity(moment, 'N·m')}, and "
        f"{words.quantity(root, 'N·m')} at each bow's root."
    )
    yield (
        "The hulls are wall-sided and in balance on the wave in heave, pitch and roll."
        if scan.motion == "balanced"
        else "The hulls are wall-sided; the boat stays where she was, and the mass of her hulls takes the rest as inertia."
    )
    yield (
        "Quasi-static: dynamic amplification, slamming, forces sideways and water over the deck are not in it. The worst heading "
        "is usually between 30° and 70°, in waves about as long as the boat (common practice)."
    )
    if any(one.sea for one in scan.joints):
        yield OF_SEA


def _words(state: WorstState) -> str:
    length, height = (words.quantity(one, "m") for one in (state.length, state.height))
    return f"waves {length} long and {height} high at {_degrees(state)} to the boat"


def _degrees(state: WorstState) -> str:
    return f"{math.degrees(state.heading):.3g}°"


def _cells(state: WorstState) -> tuple[Cell, ...]:
    return _degrees(state), state.length, state.height


def components(scan: WaveScan, slug: str) -> Table:
    """Every component of every joint where the waves make most of it."""
    columns = (
        Column("joint"),
        Column("component"),
        Column("force", "N"),
        Column("moment", "N·m"),
        Column("hull"),
        *STATE,
    )
    rows = tuple(
        (
            one.joint,
            each.component,
            None if number >= len(one.components) // 2 else each.size,
            each.size if number >= len(one.components) // 2 else None,
            each.side if each.size else "–",
            *(_cells(each.state) if each.size else ("–", None, None)),
        )
        for one in scan.joints
        for number, each in enumerate(one.components)
    )
    return Table(f"waves-{slug}", f"Worst wave of each component: {numbers.plain(scan.case)}", columns, rows)


def parts(scan: WaveScan, slug: str) -> Table:
    """Every described part of every joint where the waves leave least margin."""
    columns = (
        Column("joint"),
        Column("part"),
        Column("check"),
        Column("margin", "1"),
        Column("factor"),
        *STATE,
    )
    rows = tuple(
        (one.joint, each.part, each.check, each.margin, each.factor, *_cells(each.state))
        for one in scan.joints
        for each in one.parts
    )
    return Table(f"wave-parts-{slug}", f"Worst wave of each part: {numbers.plain(scan.case)}", columns, rows)


def lowest_margins(scan: WaveScan, slug: str) -> Table:
    """The same for reading: of each joint the few parts that come closest to failing."""
    columns = tuple(map(Column, ("joint", "part", "check", "margin", "safety factor")))
    rows = tuple(
        (
            one.joint, each.part, each.check, margin_words(each.margin), each.factor.replace("_", " "), *_cells(each.state)
        )
        for one in scan.joints
        for each in sorted(one.parts, key=lambda part: part.margin)[:LOWEST_SHOWN]
    )  # fmt: skip
    title = f"Lowest margins in the worst wave of each part: {numbers.plain(scan.case)}"
    return Table(f"wave-parts-{slug}", title, (*columns, *STATE), rows)


def sea(scan: WaveScan, slug: str) -> Table:
    """Every component of every joint in the irregular sea, at its worst heading."""
    columns = (
        Column("joint"), Column("component"), Column("heading"), Column("significant", "", "amplitude"),
        Column("once in 3 h", "", "amplitude"), Column("crossing period", "s"), Column("slope"),
        Column("Rayleigh", "", "range"), Column("Dirlik", "", "range"), Column("Weibull", "", "range"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in scan.joints:
        for number, each in enumerate(one.sea):
            unit = COMPONENT_UNITS[number]
            sizes = [numbers.engineering(size, unit) for size in (each.significant, each.largest)]
            for of in each.ranges:
                ranges = [numbers.engineering(size, unit) for size in (of.narrow_band, of.dirlik, of.weibull)]
                heading = f"{math.degrees(each.heading):.3g}°"
                rows.append(
                    (one.joint, each.component, heading, *sizes, each.period, f"{of.slope:g}", *ranges)
                )
    return Table(
        f"wave-sea-{slug}", f"In the irregular sea: {numbers.plain(scan.case)}", columns, tuple(rows)
    )
