"""What a page is made of: sections of sentences, tables and figures, ready for the template."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import FormattedTable, Table
from femcore.plotting.drawing import Picture


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture on the page: inline SVG, or a PNG as text where there is no SVG."""

    title: str
    words: str
    svg: str
    png: str


@dataclass(frozen=True, slots=True)
class PageSection:
    """A part of the page: sentences, short ones as a list, tables, figures, and what to know in reading them."""

    anchor: str
    title: str
    words: Sequence[str] = ()
    points: Sequence[str] = ()
    tables: Sequence[FormattedTable] = ()
    figures: Sequence[Figure] = ()
    aside: str = ""


def figure(picture: Picture) -> Figure:
    """A picture for the page."""
    png = "" if picture.svg else base64.b64encode(picture.png).decode("ascii")
    return Figure(picture.title, picture.words, picture.svg, png)


def page_section(part: ReportSection, figures: Mapping[str, Figure]) -> PageSection:
    """A section for the page, with those of its pictures that are among `figures`."""
    drawn = [figures[picture.name] for picture in part.pictures if picture.name in figures]
    return PageSection(
        part.anchor, part.title, part.words, (), shown(*part.tables, *part.readable), drawn, part.aside
    )


def shown(*tables: Table) -> list[FormattedTable]:
    """The tables that have rows, for the page."""
    return [table.shown() for table in tables if table.rows]
