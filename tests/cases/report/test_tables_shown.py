"""Tables as the page shows them: every number with its prefix and digits is that of the row, and every figure in cells of text.

The CSV files hold the rows in full (`test_numbers_out`). Here each cell of a column with a unit is read back; cells of text are
known by table and column in `TEXTS`. A column of text with figures that is in neither `TEXTS` nor `WORDS` turns a test red.
"""

import math
import re

import numpy as np
import pytest

from cases.report.output import all_sections
from cases.report.pages import report_page
from cases.report.tables.table import Table
from cases.report.tables.uncertainty_tables import percent
from tests.cases.report import test_sentences_out as told
from tests.cases.report.figures_read import Figure, figures
from tests.cases.report.page_read import without_names

SHOWN = {"%": ("%", 1.0), "×": ("", 1.0)}


@pytest.fixture(scope="module", params=told.BOATS)
def shown(request):
    """(analysis read, every table that its page shows beside what is shown)."""
    analysis, found, whole = told.BOATS[request.param](), [], Table.shown

    def recorded(table):
        made = whole(table)
        found.append((table, made))
        return made

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Table, "shown", recorded)
        report_page.render(analysis, [], [], [], list(all_sections(analysis)))
    return told.Told(analysis), found


def test_every_number_is_that_of_its_row(shown):
    """Times its prefix, within half of the last digit; a dash for none, free and rigid for springs without an end."""
    compared = 0
    for table, made in shown[1]:
        for row, cells in zip(table.rows, made.rows, strict=False):
            for column, head, value, cell in zip(table.columns, made.heads, row, cells, strict=True):
                if column.unit and not isinstance(value, str):
                    assert reads(cell.text, head.unit, value, column.unit), (
                        table.name,
                        head.title,
                        cell.text,
                        value,
                    )
                    compared += 1
    assert compared > 1000


def reads(text, unit, value, si):
    """Whether a cell below a heading with that unit shows the value."""
    if value is None:
        return text == "–"
    if text in {"free", "rigid"}:
        return value == {"free": 0.0, "rigid": math.inf}[text]
    (found,) = figures(f"{text} {unit}".strip())
    if unit in SHOWN:
        return found.shows(value)
    return found.shows(value, None if unit in {"°", "kg/m"} else si or None)


def test_every_figure_in_cells_of_text_is_the_analysis_s(shown):
    """Row by row, by the rows' own names."""
    of, tables = shown
    wrong, met = [], set()
    for table, made in tables:
        titles = once_each([column.title for column in table.columns])
        for row, cells in zip(table.rows, made.rows, strict=False):
            named = dict(zip(titles, row, strict=True)) | {"of": re.findall("‘([^’]*)’|: (.*)$", table.title)}
            for title, column, cell in zip(titles, table.columns, cells, strict=True):
                found = figures(without_names(cell.text))
                if column.unit or not found or title in WORDS.get(table.name, set()) | WORDS[""]:
                    continue
                entry = TEXTS.get((table.name, title)) or TEXTS.get((table.name, ""))
                if entry is None:
                    wrong.append(f"no entry for {table.name}, {title}: {cell.text}")
                    continue
                met.add((table.name, title))
                expected = [one for one in entry(of, named, title) if one is not None]
                if not told.agree(found, expected):
                    wrong.append(f"{table.name}, {title}, {row[0]}: {cell.text} for {expected}")
    assert wrong == []
    assert len(met) > 20


def once_each(titles):
    """Headings, of equal ones the second with its number."""
    return [title if title not in titles[:k] else f"{title} (2)" for k, title in enumerate(titles)]


WORDS = {
    "": {"part", "check", "case", "source", "in", "in ", "case or combination", "weld", "why", "what is applied"},
    "combinations": {"combination", "cases and factors"}, "sizing": {"check that fails", "to"}, "not_checked": {"reason"},
    "fitting_remarks": {"remark"}, "fatigue": {"curve, source"}, "racking_ways": {"source and its status"},
    "load_origins": {"formula, with its numbers", "source and its status", "valid for"}, "scatter": {"scatter", "reason"},
    "strengths_from_memory": {"value"}, "estimated_inputs": {"value", "scatter"}, "uncertainty": {"from … to"},
    "waves-waves": {"heading"}, "wave-sea-waves": {"slope"}, "margins": {"formula"},
}  # fmt: skip
"""Columns of names, sources and inputs as they were read, by table; of all tables under no name."""


def stay_line(of, _, title):
    """By statics; what is ahead, behind, up and down is words that the sentences have too."""
    up, aft, offset, torque, free = of.stay()
    rig = of.rig
    side = rig.side_load * (rig.length or 0.0) / 2
    foot = math.degrees(rig.rake + math.atan(4 * rig.sagging_stay.aft))
    return {
        "pull": [(up, "N"), (aft, "N"), (side, "N") if side else None], "rake at the foot": [(foot, "°")],
        "its line passes": [(abs(offset), "m")], "torque": [(abs(torque), "N·m")],
        "for no torque, attach it": [(abs(free), "m")],
    }[title]  # fmt: skip


def joint_of(of, row):
    """The joint that a row or its table's title names."""
    named = [name for pair in row["of"] for name in pair if name]
    return row.get("joint") or row.get("with") or next(name for name in named if name in of.joints)


def margin(of, row, title):
    """The one check of that part, in the row that is worst, with the joint that is named or beside all joints."""
    names = (
        [row["with"]]
        if row.get("with")
        else [n for pair in row["of"] for n in pair if n in of.joints] or of.joints
    )
    check = re.sub(r" \\(.*\\)$", "", row["check"])
    found = [
        (one, float(one.margin.min()), int(one.margin.argmin()))
        for made in of.analysis.part_margins
        if made.joint in names
        for one in (*made.own, *made.other_checks)
        if one.kind == "checked"
        and one.part == row["part"]
        and (one.check == check or row["check"].startswith(f"{one.check} ("))
    ]
    one, least, at = min(found, key=lambda each: each[1])
    unit = one.unit if one.unit not in {"", "1", "-"} else ""
    capacity = one.allowable if np.ndim(one.allowable) == 0 else one.allowable[at]
    return [
        {
            "load": (one.load[at], unit), "capacity": (float(capacity), unit), "margin": (least, ""),
            "safety factor": (one.factor.value, ""),
        }[title]
    ]  # fmt: skip


def sizing(of, row, title):
    """Before and after of the size in that row; of what no size helps the lowest margin that is left."""
    (action,) = [
        one for one in of.analysis.decision.actions if one.kind == "raise sizes" and one.joint == row["joint"]
    ]
    size = next((one for one in action.sizes if one.variable == row["size raised"]), None)
    if size is None:
        return [(of.checks(row["joint"], own=True)[0][0], "")]
    return [(size.before if title == "margin before" else size.after, "")]


def life(kind, of, row, title):
    """Of a detail, weld or glue line of a joint, by its stresses in Pa and its band."""
    joint = next(one for one in of.analysis.lives_with_bands.joints if one.joint == row["joint"])
    number, one = next((k, one) for k, one in enumerate(getattr(joint, kind)) if names(kind, one, row))
    at = {"welds": len(joint.lives)}.get(kind, 0)
    band = (
        one.band if kind == "glue" else (joint.bands[number + at].shortest, joint.bands[number + at].longest)
    )
    if title == "life":
        known = [20000 / one.damage, *band]
        return [] if band[0] > 1e7 else [(told.miles(each), "") for each in known]
    if title.startswith("damage") or title == "at the root (2)":
        damage = {"damage": "damage", "damage at the toe": "toe_damage"}.get(title, "root_damage")
        return [(max(0.001, getattr(one, damage)), "")]
    if title == "factor":
        return [(one.factor, "")]
    stress = {
        "largest": "largest", "steady": "mean", "allowed": "allowed", "strength": "strength", "range at the toe": "toe_range",
        "at the root": "root_range", "along the throat": "shear_range",
    }  # fmt: skip
    return [(getattr(one, stress[title]), "Pa")]


def names(kind, one, row):
    """Whether a row is that life's."""
    if kind == "lives":
        return row["detail, by"] == f"{one.detail.name}, {one.detail.component}"
    return row["weld"] == one.part if kind == "welds" else row["glue line"] == f"{one.part}: {one.check}"


def chances(of, row, title):
    """Of a part of the joint that the table is of."""
    one = of.analysis.uncertainty.joint(joint_of(of, row))
    part = next(each for each in one.parts if each.part == row["part"])
    shares = sorted(part.importance.values(), reverse=True)[:3]
    return {
        "margin": [(part.margin, "")], "index β": [(part.index, "")], "causes": [(share, "%") for share in shares],
        "P(margin < 0)": [cut(part.counted.value), cut(part.counted.low), cut(part.counted.high)],
        "P(load > capacity)": [cut(part.failure.value)],
    }[title]  # fmt: skip


def cut(share):
    """Of a chance in a table: no less than 0.1 %, no more than 99.9 %."""
    return (min(max(share, 0.001), 0.999), "%")


def scatter(of, row, title):
    """Of a candidate: 90 % ranges, and the chances of its own parts and of those beside it."""
    one = of.analysis.uncertainty.joint(row["joint"])
    whole = one.beside if title.endswith("(2)") else one.own
    if title in {"torque", "vertical bending"}:
        value = one.torque if title == "torque" else one.bending
        return between(row[title], value.low, value.high)
    return {
        "lowest margin": [(one.margin.low, ""), (one.margin.high, "")],
        "margin below 0": [cut(whole.counted.value), cut(whole.counted.low), cut(whole.counted.high)],
        "load beyond capacity": [cut(whole.failure.value)],
    }[title.removesuffix(" (2)")]


def between(text, low, high):
    """Figures of two moments, the unit once where it is the same."""
    first, last = figures(text)
    by = 1.0 if first.unit else last.value / figures(last.text.split()[0])[0].value
    return [(low / by, None), (high, "N·m")]


def swings(of, row, title):
    """Of an input of the joint that the table is of; "46 %" of the variance, and what the deviation falls by."""
    one = of.analysis.uncertainty.joint(joint_of(of, row))
    effect = next(
        each for each in one.effects if each.input.replace("_", " ") == row["input"].replace("_", " ")
    )
    if title == "share":
        return [cut(effect.margin.share)]
    if title == "if known":
        return [cut(1 - math.sqrt(1 - effect.margin.share))]
    swing = getattr(effect, title)
    if title == "margin":
        return [(swing.low, ""), (swing.high, "")]
    return between(row[title], swing.low, swing.high)


def variant(of, row, title):
    """A quantity of a boat as entered or changed, and in brackets its ratio to that as entered."""
    boats = {one.name: one.analysis for one in of.analysis.compared}
    quantity = row.get("quantity") or row["what it changes most"]
    name = {"then": row.get("variant"), "as entered": "as entered"}.get(title, title)
    rows = {(one["quantity"], one["joint"]): one for one in oracle_variants()}
    joint = row.get("joint") or row.get("with")
    known = rows[quantity, "" if joint == "–" else joint]
    value, first, unit = known[f"{name}, SI"], known["as entered, SI"], known["unit"]
    assert set(boats) >= {name}
    if unit == "margin":
        return [(value, "")]
    most = max(
        v
        for one in rows.values()
        if one["quantity"] == quantity
        for k, v in one.items()
        if k.endswith("SI") and v is not None
    )
    if value <= 1e-9 * most:
        return [(0.0, "")]
    shown_value = [(value, unit)]
    ratio = value / first if first and first > 1e-9 * most else 1.0
    if "quantity" not in row or abs(ratio - 1) < 0.005:
        return shown_value
    return [*shown_value, (ratio, "") if ratio >= 2 else (ratio - 1, "%")]


def oracle_variants():
    """Rows of the other file's oracle, which is of the same boat."""
    from tests.cases.report import test_further_numbers_out  # noqa: PLC0415  (a name of its own)

    return test_further_numbers_out.variants()


def formula(of, row, title):
    """How many checks by a source, and the lowest margin."""
    made = [
        check
        for one in of.analysis.part_margins
        for check, case in one.worst
        if case and check.source == row["source"]
    ]
    return [(len(made), "")] if title == "checks" else [(min(check.margin for check in made), "")]


def wave_part(of, row, title):
    """The lowest margin of a part in waves alone, and their heading."""
    (scan,) = of.analysis.wave_scans
    part = next(
        each
        for one in scan.joints
        if one.joint == row["joint"]
        for each in one.parts
        if each.part == row["part"]
    )
    return [(part.margin, "")] if title == "margin" else [(math.degrees(part.state.heading), "°")]


def sea(_, row, title):
    """Amplitudes and ranges: `test_further_numbers_out` compares them; here that the page has the same table."""
    return [(one.value, one.unit) for one in figures(row[title])]


TEXTS = {
    ("stay_lines", ""): stay_line,
    ("margins", ""): margin,
    ("sizing", ""): sizing,
    ("fatigue", ""): lambda *row: life("lives", *row),
    ("fatigue_welds", ""): lambda *row: life("welds", *row),
    ("glue_fatigue", ""): lambda *row: life("glue", *row),
    ("reliability", ""): chances,
    ("uncertainty", ""): swings,
    ("chances", ""): scatter,
    ("variants", ""): variant,
    ("formulas_from_memory", ""): formula,
    ("wave-parts-waves", ""): wave_part,
    ("wave-sea-waves", ""): sea,
}
"""(table, column or all of them) → figures of a cell of text, in order."""


def test_a_chance_near_certainty_is_not_called_certain():
    """998 of 1,000 are no 100 %: a decimal where whole per cent would say so."""
    assert [percent(share) for share in (0.994, 0.9951, 0.998, 0.9991)] == [
        "99 %",
        "99.5 %",
        "99.8 %",
        "over 99.9 %",
    ]
    assert isinstance(figures("99.8 %")[0], Figure)
