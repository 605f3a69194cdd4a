"""How large the racking is: the ways to know it side by side with what was entered."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.analysis import Analysis
from cases.analyses.racking_ways import FAR, RackingWay, RackingWays
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table
from femcore.base.numbers import plain

MEASURE = (
    "How to measure it: two inclinometers of 0.1 mrad, one fore and aft on each hull at the main bulkhead, or one athwart at the "
    "crossbeam and one at the bulkhead, each on a straight batten from hull to hull. Zero them alongside in calm water, read "
    "them at one time, and take half of the largest swing of their difference as the twist of a racking case. Never sight "
    "against the horizon: half a degree of roll is more than the twist."
)
MOST_SHOWN = 40
"""Rows on the page; the CSV table has all."""


def racking_section(_: Study, found: Analysis) -> ReportSection | None:
    """None where nothing racks the bows and the rules have nothing to work from."""
    ways = found.racking_ways
    if not ways.ways:
        return None
    far = [way.name for way in ways.far]
    return ReportSection(
        "racking-size",
        "How large the racking is",
        [*racking_sentences(ways), MEASURE],
        tables=[table_of_ways(ways), table_of_joints(ways)],
        aside=(
            "M_P, the pitch connecting moment: half the difference of the hulls' moments, bow up, about the twist centre. φ: "
            "half of the difference of the hulls' pitch at the main bulkhead. A pair of forces at the stems of the same M_P "
            "twists the platform as much as the load spread along the hulls, and bends the bows' roots more. Rules are for "
            "powered craft of greater speed. Scatter to reckon with: a rule 50 %, a measured twist 15 to 20 % (judged, common "
            "practice)."
        ),
        answer=[_warned(far)] if far else [],
    )


def _warned(far: list[str]) -> str:
    """For the answer at the top: which cases' racking no other way confirms."""
    return (
        f"How large the racking is decides most of this, and what was entered ({', '.join(map(words.name_of, far))}) is more "
        f"than a factor of {FAR:g} from every other way to know it: see “How large the racking is”."
    )


def racking_sentences(ways: RackingWays) -> Iterator[str]:
    """What was entered against the other ways."""
    for way in ways.ways:
        if not way.assumed:
            continue
        entered = f"{words.name_of(way.name)} has {words.quantity(way.moment, 'N·m')} on each hull"
        if way in ways.far:
            below = [one for one in ways.others if one.moment < way.moment]
            above = [one for one in ways.others if one.moment > way.moment]
            sides = [
                f"{len(them)} give {how}, {limit} {_said(pick(them, key=lambda one: one.moment))}"
                for them, how, limit, pick in (
                    (below, "less", "at most", max),
                    (above, "more", "at least", min),
                )
                if them
            ]
            yield (
                f"The racking entered is far from all other ways to know it, none within a factor of {FAR:g}: {entered}. Of the "
                f"{len(ways.others)} others {' and '.join(sides)}."
            )
        elif near := ways.near(way):
            named = ", ".join(map(_said, near))
            rest = sorted((one for one in ways.others if one not in near), key=lambda one: one.moment)
            further = " to ".join(map(_said, dict.fromkeys((rest[0], rest[-1])))) if rest else ""
            yield (
                f"{entered}, within a factor of {FAR:g} of {len(near)} of {len(ways.others)} other ways: {named}"
                f"{f'; the rest give {further}' if rest else ''}."
            )
        else:
            yield (
                f"{entered}, and there is no other way to set beside it: give displacement and length in [boat], a case of kind "
                "“waves”, or a measured twist."
            )
    if ways.displacement is not None and ways.length is not None:
        yield (
            f"Rules are worked out for {words.quantity(1e3 * ways.displacement, 'g').replace('Mg', 't')} and "
            f"{ways.length:.3g} m, from {plain(ways.taken_from)}."
        )


def _said(way: RackingWay) -> str:
    return f"{words.name_of(way.case)} ({words.quantity(way.moment, 'N·m')})"


def table_of_ways(ways: RackingWays) -> Table:
    """A row for each way: sizes that do not depend on the joint, source."""
    columns = (
        Column("way"), Column("what is applied"), Column("size"), Column("run"),
        Column("racking moment", "N·m", "M_P, on each hull"),
        Column("pair at the stems", "N", "of that moment"), Column("twist", "rad", "φ, platform alone"),
        Column("source and its status"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            way.name, way.words, way.basis, "yes" if way.run else "no", way.moment, way.pair, way.twist_alone, way.source,
        )
        for way in ways.ways
    )  # fmt: skip
    return Table("racking_ways", "Ways to know how large the racking is", columns, rows, MOST_SHOWN)


def table_of_joints(ways: RackingWays) -> Table:
    """A row for each way and joint: what the joint attracts."""
    columns = (
        Column("way"), Column("joint"), Column("racking moment", "N·m", "M_P, on each hull"),
        Column("twist", "rad", "φ, with this joint"),
        Column("torque", "N·m", "attracted"), Column("vertical bending", "N·m", "attracted"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (way.name, one.joint, one.moment, one.twist, one.torque, one.bending)
        for way in ways.ways
        for one in way.joints
    )
    title = "What each joint attracts by each way, the larger of both hulls, excluding pretension"
    return Table("racking_ways_at_joints", title, columns, rows, MOST_SHOWN)
