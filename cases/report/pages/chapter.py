"""The textbook cases as one page that reads as a chapter: what is checked, how far to trust it, and every case with its picture.

The page is complete in itself. It is written whole or not at all, and takes the place of nothing but an earlier page of its kind.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from cases.caution import CAUTION, CAUTION_IN_FULL
from cases.report.figures.textbook_figures import CasePicture, draw_case
from cases.report.folder import parents_made
from cases.report.pages.chapter_topics import INTRODUCTIONS
from cases.report.pages.chapter_words import Piece, loads_in_words, paragraphs, printed
from cases.report.pages.template import template
from cases.verification.textbook import SOURCE_STATUS, VerifiedCase, values_by_status
from femcore.base.disk import disk_faults, resolved, whole_file
from femcore.base.errors import InputFault
from femcore.base.numbers import plain, slugs
from femcore.files.frame_run import ExpectationResult

KIND = "textbook chapter"
GENERATOR_TAG = re.compile(
    rf'<meta name="generator" content="forebeam [^"<>]*, {KIND}, sha256 ([0-9a-f]{{64}})">'.encode()
)
HEAD_LENGTH = 4096
"""Bytes at the beginning of a page among which its kind stands."""
NO_DIGEST = 64 * "0"
"""What stands in the page for its own SHA-256 when that is taken: only a page that is as it was written is replaced."""
WRITABLE_CURE = "give a name in a folder that can be written to with --html"
OVERWRITE_CURE = "give another name with --html, or move it away"


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One expectation. `span` is how many rows its load case has, 0 where it is given further up."""

    case: str
    span: int
    at: str
    quantity: str
    published: str
    ours: str
    difference: str
    tolerance: str
    ok: bool


@dataclass(frozen=True, slots=True)
class Section:
    """One textbook case on the page."""

    anchor: str
    number: str
    title: str
    file: str
    note: list[list[list[Piece]]]
    source: str
    seen: str
    loads: list[tuple[str, str]]
    rows: list[ValueRow]
    named: bool
    ok: bool
    picture: CasePicture


@dataclass(frozen=True, slots=True)
class Topic:
    """A group of cases; how many values it has, and how many of each status of its sources."""

    anchor: str
    number: int
    title: str
    words: str
    sections: list[Section]
    values: int
    by_status: dict[str, int]
    ok: bool


def render(cases: Sequence[VerifiedCase]) -> str:
    """The whole page as HTML, pictures drawn."""
    topics = list(_topics(cases))
    sections = [section for topic in topics for section in topic.sections]
    page = template("chapter.html.j2").render(
        program=importlib.metadata.version("forebeam"),
        kind=KIND,
        digest=NO_DIGEST,
        topics=topics,
        count=len(sections),
        values=sum(topic.values for topic in topics),
        by_status=values_by_status(cases),
        missed=[section for section in sections if not section.ok],
        caution=CAUTION,
        caution_in_full=CAUTION_IN_FULL,
    )
    return page.replace(NO_DIGEST, hashlib.sha256(page.encode()).hexdigest(), 1)


def _topics(cases: Sequence[VerifiedCase]) -> Iterator[Topic]:
    anchors = dict(
        zip((case.path.stem for case in cases), slugs([case.path.stem for case in cases]), strict=True)
    )
    for number, (title, group) in enumerate(groupby(cases, key=lambda case: case.topic), 1):
        members = list(group)
        sections = [_section(case, f"{number}.{i}", anchors) for i, case in enumerate(members, 1)]
        yield Topic(
            anchor=f"topic-{number}",
            number=number,
            title=plain(title),
            words=INTRODUCTIONS.get(title, ""),
            sections=sections,
            values=sum(len(section.rows) for section in sections),
            by_status=values_by_status(members),
            ok=all(section.ok for section in sections),
        )


def _section(case: VerifiedCase, number: str, anchors: dict[str, str]) -> Section:
    file, stem = case.run.file, case.path.stem
    links = {name: f"#{anchor}" for name, anchor in anchors.items() if name != stem}
    described = [(plain(one.name), loads_in_words(file, one)) for one in file.cases]
    return Section(
        anchor=anchors[stem],
        number=number,
        title=plain(file.title),
        file=case.path.name,
        note=paragraphs(file.note, links) if file.note.strip() else [],
        source=plain(file.source),
        seen=SOURCE_STATUS.get(file.seen or "", "not said"),
        loads=[(name, words) for name, words in described if words],
        rows=list(_rows(case)),
        named=len(file.cases) > 1,
        ok=case.run.ok,
        picture=draw_case(case.run, anchors[stem]),
    )


def _rows(case: VerifiedCase) -> Iterator[ValueRow]:
    """The rows of the terminal's table with their tolerances, those of one load case together."""
    both = sorted(zip(case.rows, case.run.outcomes, strict=True), key=lambda one: _order(case, one[1]))
    for name, group in groupby(both, key=lambda one: one[1].expected.case):
        members = list(group)
        for i, ((_, published, ours, difference, ok), outcome) in enumerate(members):
            expect = outcome.expected
            there = math.isfinite(outcome.computed)
            yield ValueRow(
                case=plain(name),
                span=0 if i else len(members),
                at=plain(expect.at or "frame"),
                quantity=expect.quantity,
                published=printed(published),
                ours=printed(ours) if there else "none found",
                difference=printed(difference) if there else "–",
                tolerance=_tolerance(outcome),
                ok=ok,
            )


def _order(case: VerifiedCase, outcome: ExpectationResult) -> int:
    return [one.name for one in case.run.file.cases].index(outcome.expected.case)


def _tolerance(outcome: ExpectationResult) -> str:
    given = outcome.expected.tolerance
    return printed(f"± {given}" if isinstance(given, str) else f"± {100 * given:.3g} %")


def refuse(path: Path) -> None:
    """InputFault where a page must not be written: over what is no earlier page of this kind, or below a file."""
    with disk_faults(path, WRITABLE_CURE):
        target = resolved(path, OVERWRITE_CURE)
        if any(above.exists() and not above.is_dir() for above in target.parents):
            raise InputFault(str(path), "is below a file", OVERWRITE_CURE)
        if target.is_dir():
            raise InputFault(str(path), "is a folder", "give the name of a file with --html")
        if target.exists() and not _is_generated(target):
            what = "exists and is not an earlier page of this kind, as it was written"
            raise InputFault(str(path), what, OVERWRITE_CURE)


def write(cases: Sequence[VerifiedCase], path: Path) -> Path:
    """Write the page, whole or not at all; returns its absolute path. InputFault as `refuse`, or where the disk does."""
    refuse(path)
    text = render(cases)
    target = resolved(path, OVERWRITE_CURE)
    with disk_faults(path, WRITABLE_CURE), parents_made(target.parent), whole_file(target) as file:
        file.write(text.encode())
        refuse(path)
    return target


def _is_generated(path: Path) -> bool:
    """Whether it is such a page, and nothing in it was changed since."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        head = file.read(HEAD_LENGTH)
        tag = GENERATOR_TAG.search(head)
        if tag is None:
            return False
        begin, end = tag.span(1)
        as_hashed = head[:begin] + NO_DIGEST.encode() + head[end:] + file.read()
    return hashlib.sha256(as_hashed).hexdigest() == tag[1].decode()
