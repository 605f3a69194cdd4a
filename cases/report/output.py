"""Write everything of an analysis into one folder, whole or not at all.

report.html            the page to read, complete in itself
report.pdf             the page printed, and decision.png its first screen, where asked for
results.json           all numbers in SI; results.schema.json says what each is
files.json             every other file with its SHA-256: what the next run may replace
tables/*.csv           the tables in SI and in full
pictures/*.svg         every picture of the page; *.png too if asked for
frames/*.vtu           the deflected frame with each joint, all cases, for viewers of finite-element results
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from pathlib import Path
from threading import Event

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import considered
from cases.analyses.joint_results import JointResult
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.data.results import Results, results, schema
from cases.report.figures import boat_figures, report_figures
from cases.report.figures.boat_shapes import hull_outlines, tube_sizes
from cases.report.figures.drawing_process import Drawings
from cases.report.figures.main_load_figure import main_load_picture
from cases.report.folder import scratch, write_complete_folder
from cases.report.pages import browser, report_page
from cases.report.pages.scripted import scripted
from cases.report.record import RECORD
from cases.report.sections.boat_test_section import boat_test_section
from cases.report.sections.combinations_section import combinations_section
from cases.report.sections.estimates_section import estimates_section
from cases.report.sections.fatigue_section import fatigue_section
from cases.report.sections.fittings_section import fittings_section
from cases.report.sections.loads_section import loads_section
from cases.report.sections.margins_section import margins_section
from cases.report.sections.memory_section import memory_section
from cases.report.sections.platform_section import platform_section
from cases.report.sections.racking_section import racking_section
from cases.report.sections.report_section import ReportSection
from cases.report.sections.rig_section import rig_section
from cases.report.sections.sheets_section import sheets_section
from cases.report.sections.uncertainty_section import uncertainty_section
from cases.report.sections.variants_section import variants_section
from cases.report.sections.waves_section import waves_section
from cases.report.tables import load_path_tables, response_tables
from cases.report.tables.joint_tables import all_tables
from cases.report.tables.table import Table
from femcore.base import numbers
from femcore.base.process import OtherProcess
from femcore.plotting import render3d
from femcore.plotting.drawing import Picture
from femcore.plotting.frame_plot import deflection_scale
from femcore.results.vtu import write_vtu

PAGE, RESULTS = "report.html", "results.json"
SECTIONS: tuple[Callable[[Study, Analysis], ReportSection | None], ...] = (
    sheets_section,
    rig_section,
    combinations_section,
    margins_section,
    fittings_section,
    variants_section,
    fatigue_section,
    platform_section,
    racking_section,
    waves_section,
    loads_section,
    uncertainty_section,
    boat_test_section,
    estimates_section,
    memory_section,
)
WORKED_LAST = (variants_section,)
"""Of these: what other processes are then likely to have done."""
STATES = (
    load_path_tables.crossbeam_path,
    load_path_tables.front_end_load_path,
    response_tables.truss,
    response_tables.deformed,
    response_tables.motions,
)
SCHEMA = "results.schema.json"


@dataclass(frozen=True, slots=True)
class Written:
    """What was written.

    folder  : the report's folder, absolute;   report : the page in it, or the results where there is none
    files   : all files, relative to the folder
    remarks : what could not be written, in sentences
    """

    folder: Path
    report: Path
    files: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """How the report is written.

    pictures : with page and pictures, or tables and results alone
    png      : each picture as a PNG too
    brief    : the page with the decision and the answer alone
    pdf      : by which browser the page is printed, and its first screen pictured; empty: not
    full     : the appendices open on the page, so that they are printed
    made     : of which file and when, for who signs it
    """

    pictures: bool = True
    png: bool = False
    brief: bool = False
    pdf: str = ""
    full: bool = False
    made: report_page.Made | None = None


Progress = Callable[[str, float | None], None]
"""Called with the stage that begins, and with the part of it that is done where that is counted."""


def write(
    analysis: Analysis,
    out: Path,
    form: Form = Form(),
    progress: Progress = lambda _stage, _part: None,
    other: OtherProcess | None = None,
) -> Written:
    """Write report, pictures, tables, meshes and results into the folder `out`, in that form.

    other : one that draws pictures too; left out, one is started for them

    InputFault where `out` holds anything that is not as the last run wrote it, or cannot be written. An earlier
    report is replaced only by a complete new one; an interrupted writing leaves it as it was.
    """
    remarks: list[str] = []

    def fill(folder: Path) -> None:
        if not form.pictures:
            remarks.extend(_fill_numbers(analysis, folder, progress))
            return
        with nullcontext(other) if other else OtherProcess("matplotlib.backends.backend_svg") as drawing:
            remarks.extend(_fill(analysis, folder, form, progress, drawing))

    folder = write_complete_folder(out, fill)
    return Written(
        folder, folder / (PAGE if form.pictures else RESULTS), tuple(_listed(folder)), tuple(remarks)
    )


def _fill(analysis: Analysis, folder: Path, form: Form, progress: Progress, other: OtherProcess) -> list[str]:
    """Everything, the results last since they name all files; returns the remarks.

    Pictures of the study are drawn, and the views in space rendered, by other processes while all is worked out here that no
    picture is needed for.
    """
    for name in ("pictures", "frames"):
        (folder / name).mkdir()
    study = analysis.study
    given_up, drawing = Event(), Drawings(other, png=form.png)
    with ThreadPoolExecutor(1) as beside, ExitStack() as early:
        early.callback(given_up.set)
        other.share(study)
        jobs = [partial(main_load_picture, study)] if form.brief else report_figures.picture_jobs(analysis)
        count = drawing.add(jobs)
        space = None if form.brief else beside.submit(_solids, study, scratch(folder), given_up)
        sections = _with_tables(analysis, folder, progress)
        undrawn = [replace(part, drawings=()) if form.brief else part for part in sections]
        for part in undrawn:
            drawing.add(part.drawings)
        _write_frames(study, folder)
        found, scripts = results(analysis), None if form.brief else scripted(analysis)
        drawn = iter(drawing.pictures(partial(progress, "pictures")))
        solids, why = ([], None) if space is None else space.result()
    pictures = list(islice(drawn, count))
    parts = [replace(part, pictures=list(islice(drawn, len(part.drawings)))) for part in undrawn]
    remarks = [
        *analysis.remarks,
        *([] if form.brief else report_figures.omitted_pictures(study)),
        *([] if why is None else [f"No three-dimensional view: {why}."]),
    ]
    for picture in (*pictures, *(picture for part in parts for picture in part.pictures), *solids):
        if picture.svg:
            (folder / f"pictures/{picture.name}.svg").write_text(picture.svg_file, encoding="utf-8")
        if picture.png:
            (folder / f"pictures/{picture.name}.png").write_bytes(picture.png)
    progress("page", None)
    page = report_page.render(
        analysis, pictures, solids, remarks, parts,
        scripts=scripts, brief=form.brief, full=form.full, made=form.made,
    )  # fmt: skip
    (folder / PAGE).write_text(page, encoding="utf-8")
    if form.pdf:
        progress("PDF", None)
        remarks += _printed(folder, form.pdf)
    progress("results", None)
    _write_results(found, remarks, folder)
    return remarks


def _printed(folder: Path, program: str) -> list[str]:
    """Print the page and picture its first screen; what could not be, in sentences."""
    made = {
        "report.pdf": browser.print_pdf(program, folder / PAGE, folder / "report.pdf", scratch(folder)),
        "decision.png": browser.picture_slide(
            program, folder / PAGE, folder / "decision.png", scratch(folder)
        ),
    }
    return [f"No {name}: {why}." for name, why in made.items() if why]


def _fill_numbers(analysis: Analysis, folder: Path, progress: Progress) -> list[str]:
    """Tables and results alone; returns the remarks."""
    _with_tables(analysis, folder, progress)
    progress("results", None)
    remarks = list(analysis.remarks)
    _write_results(results(analysis), remarks, folder)
    return remarks


def _with_tables(analysis: Analysis, folder: Path, progress: Progress) -> list[ReportSection]:
    """All sections; their tables and the study's, and the schema of the results, are written."""
    (folder / "tables").mkdir()
    (folder / SCHEMA).write_text(json.dumps(schema(), indent=1, allow_nan=False) + "\n", encoding="utf-8")

    def write_tables(tables: Iterable[Table]) -> None:
        for table in tables:
            (folder / "tables" / f"{table.name}.csv").write_text(table.csv(), encoding="utf-8")

    write_tables([*all_tables(analysis.study), *(build(analysis.study) for build in STATES)])
    return all_sections(
        analysis,
        progress,
        lambda part: write_tables(table for table in (*part.tables, *part.unshown) if table.rows),
    )


def _write_frames(study: Study, folder: Path) -> None:
    slugs = numbers.slugs([joint.joint.name for joint in study.joints])
    for joint, slug in zip(study.joints, slugs, strict=True):
        write_vtu(folder / "frames" / f"{slug}.vtu", joint.solution)


def _write_results(found: Results, remarks: list[str], folder: Path) -> None:
    """Last, since they name all files."""
    files = sorted([*_listed(folder), RESULTS, RECORD])
    text = replace(found, remarks=remarks, files=files).json()
    (folder / RESULTS).write_text(text + "\n", encoding="utf-8")


def all_sections(
    analysis: Analysis,
    progress: Progress = lambda _stage, _part: None,
    done: Callable[[ReportSection], None] = lambda _part: None,
) -> list[ReportSection]:
    """The sections that the analysis has something for, in reading order.

    done : called with each when it is worked out
    """
    built: dict[Callable[..., ReportSection | None], ReportSection] = {}
    for number, build in enumerate(sorted(SECTIONS, key=WORKED_LAST.__contains__)):
        progress("sections", number / len(SECTIONS))
        if (part := build(analysis.study, analysis)) is not None:
            built[build] = part
            done(part)
    return [built[build] for build in SECTIONS if build in built]


def _listed(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def _solids(study: Study, within: Path, given_up: Event) -> tuple[list[Picture], str | None]:
    """Pictures in space of the softest and the stiffest candidate in racking, and of the stiffest under the rig."""
    wanted = list(_wanted(study))
    scenes = [_scene(study, joint, case) for joint, case in wanted]
    drawn, why = render3d.render(scenes, within, given_up)
    names = numbers.slugs([f"{study.cases[case].name} {joint.joint.name}" for joint, case in wanted])
    return [
        Picture(
            f"space-{name}",
            f"Three-dimensional view: {numbers.plain(joint.joint.name)}",
            _caption(study, joint, case),
            svg="",
            png=png,
        )
        for name, (joint, case), png in zip(names, wanted, drawn, strict=False)
    ], why


def _wanted(study: Study) -> Iterator[tuple[JointResult, int]]:
    ranked = sorted(considered(study), key=lambda joint: joint.racking_stiffness)
    number: dict[str, int] = {case.name: at for at, case in enumerate(study.cases)}
    for case in study.racking_cases[:1] or study.cases[:1]:
        yield from ((joint, number[case.name]) for joint in dict.fromkeys((ranked[0], ranked[-1])))
    for case in study.rig_cases[:1]:
        yield ranked[-1], number[case.name]


def _scene(study: Study, joint: JointResult, case: int) -> render3d.Scene:
    """All joints share scale and colours in a case."""
    solutions = [one.solution for one in study.joints]
    most = max(numbers.largest(render3d.bending_along(solution)[case]) for solution in solutions)
    return render3d.bending_scene(
        joint.solution, case, deflection_scale(solutions, case), most, boat_figures.VIEW,
        sizes=tube_sizes(joint.front), bodies=hull_outlines(joint.front),
    )  # fmt: skip


def _caption(study: Study, joint: JointResult, case: int) -> str:
    factor = deflection_scale([one.solution for one in study.joints], case)
    most = numbers.largest(render3d.bending_along(joint.solution)[case])
    return (
        f"‘{numbers.plain(joint.joint.name)}’ in the case ‘{numbers.plain(study.cases[case].name)}’: "
        f"movements × {factor:g}, colour: bending moment, with this joint up to {words.quantity(most, 'N·m')}; undeformed "
        "shape in grey."
    )
