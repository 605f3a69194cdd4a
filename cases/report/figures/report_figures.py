"""The report's pictures in their order, and which cases have pictures of their own."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from cases.analyses.analysis import Analysis
from cases.analyses.next_actions import RaiseSizes
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.attraction_figure import curve_picture
from cases.report.figures.boat_figures import boat_picture, deflected_picture, diagram_picture
from cases.report.figures.boat_plan_figure import plan_picture
from cases.report.figures.drawing_process import Job
from cases.report.figures.load_path_figure import has_pretension, path_picture, pretension_picture
from cases.report.figures.main_load_figure import main_load_picture
from cases.report.figures.section_figures import section_jobs
from cases.report.figures.shares_figure import shares_picture
from cases.report.figures.sizes_figure import sizes_jobs
from cases.report.figures.worst_figure import worst_picture
from femcore.base import numbers

MOST_PATHS = 40
"""At most so many cases have a picture of their load path."""
MOST_CASES = 12
"""At most so many have a deflected shape and diagrams too, so that the page can be read."""


def picture_jobs(analysis: Analysis) -> Iterator[Job]:
    """A job for every picture that no section has; those of the study first, since they need nothing else."""
    study = analysis.study
    slugs = numbers.slugs([case.name for case in study.cases])
    yield partial(main_load_picture, study)
    yield partial(boat_picture, study)
    yield partial(plan_picture, study)
    yield partial(curve_picture, study)
    if has_pretension(study):
        yield partial(pretension_picture, study)
    for case in chosen(study, MOST_PATHS):
        yield partial(path_picture, study, case, f"path-{slugs[case]}")
    for case in chosen(study, MOST_CASES):
        yield partial(deflected_picture, study, case, f"deflected-{slugs[case]}")
        yield partial(diagram_picture, study, case, f"crossbeam-{slugs[case]}")
    yield from section_jobs(study.file)
    if study.racking_cases:
        first = [case.name for case in study.cases].index(study.racking_cases[0].name)
        yield partial(shares_picture, study, first)
    yield partial(worst_picture, study, analysis.design_loads)
    yield from sizes_jobs([one for one in analysis.decision.actions if isinstance(one, RaiseSizes)])


def chosen(study: Study, most: int) -> list[int]:
    """Numbers of at most so many cases: the first of each kind before the second of any."""
    families: dict[str, int] = {}
    turns = []
    for number, case in enumerate(study.cases):
        family = case.name.split(", ")[0]
        families[family] = families.get(family, -1) + 1
        turns.append((families[family], number))
    return sorted(number for _, number in sorted(turns)[:most])


def omitted_pictures(study: Study) -> list[str]:
    """Cases without pictures of their own, in sentences; nothing where all have them."""
    return [
        *_without(study, MOST_PATHS, "Load paths are"),
        *_without(study, MOST_CASES, "Deflected shapes and diagrams are"),
    ]


def _without(study: Study, most: int, what: str) -> list[str]:
    kept = chosen(study, most)
    over = [words.name_of(case.name) for number, case in enumerate(study.cases) if number not in kept]
    if not over:
        return []
    return [f"{what} drawn for {most} cases, each kind among them. Not drawn: {', '.join(over)}."]
