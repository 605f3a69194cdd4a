"""The command line: run, page, compare, size, sweep, uncertainty, calibrate, plan-test, frame, verify, check, new, stations,
schema.

Exit status: 0 done, also where a joint is inadequate: that is an answer; 1 a stated expectation is missed; 2 a fault in
the input; 3 a fault in the structure, also where only one joint has no answer and the others are reported. Heavy modules are
imported by the command that needs them, so that help appears at once.
"""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Sized
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cases.caution import CAUTION
from cases.cli.calibrate_command import calibrate
from cases.cli.end import ended_as_interrupted, leave
from cases.cli.file_kind import kind_of, require_kind
from cases.cli.help_groups import GroupedCommands
from cases.cli.margin_type import MarginType
from cases.cli.new_file import write_new
from cases.cli.page_command import page
from cases.cli.picture_file import refuse_other_names, save_picture
from cases.cli.plan_command import plan_test
from cases.cli.stages import Stages
from cases.cli.stations_command import stations
from cases.cli.sweep_command import sweep
from cases.cli.uncertainty_command import uncertainty
from femcore.base.errors import ForebeamError, InputFault, StructureFault, printable
from femcore.base.process import OtherProcess

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.console import RenderableType

    from cases.analyses.analysis import Analysis
    from cases.analyses.calibration_result import CalibrationResult
    from cases.analyses.two_processes import SharedAnalysis
    from cases.input.boat_file import BoatFile
    from cases.report.output import Form

QUESTIONS = {
    "length": "Length of the hulls over all, such as '13.4 m'.",
    "beam": "Beam of the boat over all.",
    "displacement": "Displacement as she sails, loaded, such as '9 t'.",
    "rig_height": "Height of the forestay's upper end above the water.",
    "hull_breadth_at_bulkhead": "Breadth of one hull at the main bulkhead, at deck level.",
    "hull_depth_at_bulkhead": "Depth from keel to deck at the main bulkhead.",
    "hull_breadth_at_stem": "Breadth of one hull just behind the stem.",
    "hull_depth_at_stem": "Depth from keel to deck just behind the stem.",
    "bow_length": "Distance from the main bulkhead to the stem.",
    "beam_station": "Distance from the main bulkhead to the crossbeam's axis.",
    "bridge_deck": "Distance from the main bulkhead to the aft one.",
    "construction": "Construction: glass sandwich (default), carbon sandwich, solid glass, plywood or aluminium.",
    "skin_thickness": "Thickness of each skin of a sandwich, or of solid glass, plywood or plate.",
    "core_thickness": "Thickness of the core of a sandwich.",
    "tube_material": "Material of the crossbeam: aluminium (default) or carbon.",
    "tube_diameter": "Outside diameter of the crossbeam.",
    "tube_wall": "Wall thickness of the crossbeam.",
    "stay_wire": "Diameter of the forestay, 1x19 strand.",
    "longeron_diameter": "Diameter of a carbon longeron on the centreline; without it there is none.",
    "prod": "Length of the longeron ahead of the crossbeam.",
    "joints": "A joint to compare; repeat for more: lug and pin, taped socket, fork and pin, rigid.",
}
"""The keys of `cases.input.known_boat.OwnersBoat`, and what each means."""
RUN_STAGES = {
    "reading": 2.9, "test": 3.0, "loads": 0.6, "margins": 1.6, "decision": 3.7, "other joints": 3.6, "sections": 16.9,
    "pictures": 8.5, "page": 0.5, "PDF": 8.5, "results": 0.6,
}  # fmt: skip
"""Stages of `run` with pictures, and the seconds that each took with the demo boat, on two cores that did nothing else."""
WRITING = ("sections", "pictures", "page", "PDF", "results")
"""Those of them that write."""
FileName = click.argument("file", type=click.Path(path_type=Path))


@click.group(cls=GroupedCommands, epilog=CAUTION, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="forebeam")
def forebeam() -> None:
    """Joints between a catamaran's forward crossbeam and its hulls: attracted loads, racking stiffness, strength."""


@forebeam.command()
@FileName
@click.option(
    "--out", type=click.Path(path_type=Path), help="Folder for the report [default: name of FILE + -report]."
)
@click.option(
    "--no-pictures",
    is_flag=True,
    help="No pictures and no page: print the summary; with --out, write tables and results.json.",
)
@click.option("--png", is_flag=True, help="Write each picture as a PNG too, beside its SVG.")
@click.option(
    "--brief", is_flag=True, help="A page with the decision and the answer alone: two printed pages."
)
@click.option(
    "--pdf",
    is_flag=True,
    help="Print the page as report.pdf and its first screen as decision.png; needs Chromium, Chrome or Edge.",
)
@click.option("--full", is_flag=True, help="Open the appendices on the page, so that they are printed too.")
@click.option(
    "--joint",
    "joints",
    multiple=True,
    metavar="NAME",
    help="Only this joint, without variants; repeat for more.",
)
@click.option(
    "--test",
    type=click.Path(path_type=Path),
    help="File of a test on the boat, to be fitted and reported too.",
)
def run(
    *,
    file: Path,
    out: Path | None,
    no_pictures: bool,
    png: bool,
    brief: bool,
    pdf: bool,
    full: bool,
    joints: tuple[str, ...],
    test: Path | None,
) -> int:
    """Analyse a boat FILE, every joint under every case. Write report, pictures, tables and results.json.

    Exit status 0: every joint has an answer, adequate or not; 3: one has none (the others are reported).
    """
    from cases.report.folder import refuse
    from cases.report.pages.browser import find_browser

    require_kind("boat", file)
    for name, given in (("--brief", brief), ("--pdf", pdf), ("--full", full)):
        if given and no_pictures:
            raise InputFault(
                name, "shapes the page, and --no-pictures writes none", "leave one of the two out"
            )
    program = find_browser() if pdf else ""
    folder, summary_alone = out or Path(f"{file.stem}-report"), no_pictures and out is None
    left_out = {
        *([] if test else ["test"]),
        *([] if pdf else ["PDF"]),
        *(["pictures", "page"] if no_pictures else []),
        *(WRITING if summary_alone else []),
    }
    stages = click.get_current_context().with_resource(
        Stages({stage: seconds for stage, seconds in RUN_STAGES.items() if stage not in left_out})
    )
    # a copy of this one when the boat is read; where that cannot be, it starts while this one imports the same
    other = click.get_current_context().with_resource(
        OtherProcess("cases.analyses.two_processes", copied=True)
    )

    from cases.analyses.two_processes import SharedAnalysis
    from cases.input.boat_file import read_boat_file

    boat = read_boat_file(file)
    if not summary_alone:
        refuse(folder)  # before the analysis, which takes its time
    if test:
        stages.begin("test")
    fitted = _fitted(boat, file, test) if test else None
    boat = boat.with_joints(joints) if joints else boat
    with stages.hidden():  # its thread is at nothing when this process is copied
        shared = SharedAnalysis(boat, printable(file.name), fitted, other, variants=not summary_alone)
    analysis = _show_answer(shared, stages)
    if not summary_alone:
        from cases.report.output import Form

        form = Form(pictures=not no_pictures, png=png, brief=brief, pdf=program, full=full)
        _write_report(analysis, file, folder, form, stages, other)
    return _status(analysis.study.unsolved)


def _show_answer(shared: SharedAnalysis, stages: Stages) -> Analysis:
    """Each part of the answer as soon as it is known; the analysis of all joints."""
    from cases.cli.run_summary import decision_lines, further_lines, verdict_lines

    stages.begin("loads")
    _ = shared.studied
    parts: list[tuple[str, Callable[[], RenderableType]]] = [
        ("margins", lambda: verdict_lines(shared.decided)),
        ("decision", lambda: decision_lines(shared.decided)),
        ("other joints", lambda: further_lines(shared.whole)),
    ]
    for stage, lines in parts:
        stages.begin(stage)
        answer = lines()
        with stages.hidden():
            _show(answer)
    click.echo(CAUTION)
    return shared.whole


def _write_report(
    analysis: Analysis, file: Path, folder: Path, form: Form, stages: Stages, other: OtherProcess
) -> None:
    """Write the report, and print what of it could not be, and where it is."""
    import datetime as dt
    import hashlib
    from dataclasses import replace

    from cases.report.output import write
    from cases.report.pages.report_page import Made

    made = Made(dt.date.today().isoformat(), hashlib.sha256(file.read_bytes()).hexdigest())  # noqa: DTZ011
    written = write(analysis, folder, replace(form, made=made), stages.begin, other)
    with stages.hidden():
        for remark in written.remarks:
            if remark not in analysis.warnings:  # they come first in the summary
                click.echo(remark)
        click.echo(f"{'Report' if form.pictures else 'Results'}: {written.report}")


def _fitted(boat: BoatFile, file: Path, test: Path) -> CalibrationResult:
    from cases.analyses.calibration import calibrate as fit
    from cases.input.boat_test import read_test_file

    return fit(boat, read_test_file(test), printable(str(file)), printable(str(test)))


def _status(without_answer: Sized) -> int:
    """3 where a joint has no answer, else 0: that a joint is inadequate is an answer."""
    return StructureFault.exit_status if len(without_answer) else 0


@forebeam.command()
@FileName
@click.option(
    "--joint",
    "joints",
    multiple=True,
    metavar="NAME",
    help="Cross the variants with this joint: verdicts, margins and loads of every pair; repeat for more.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--csv", "table", type=click.Path(path_type=Path), help="Write the table to a new file, in SI units."
)
def compare(*, file: Path, joints: tuple[str, ...], as_json: bool, table: Path | None) -> int:
    """Compare a boat FILE with its variants: what changes most, then every number side by side.

    With --joint: which pairs of a variant and a joint are adequate, and the numbers of each pair.
    """
    from cases.input.boat_file import read_boat_file

    require_kind("boat", file)
    boat, source = read_boat_file(file), printable(str(file))
    if joints:
        return _cross(boat, source, joints, as_json=as_json, table=table)
    return _compare(boat, source, as_json=as_json, table=table)


def _compare(boat: BoatFile, source: str, *, as_json: bool, table: Path | None) -> int:
    from cases.analyses.comparison import compare as compare_all
    from cases.analyses.comparison import comparison
    from cases.cli.compare_output import comparison_tables
    from cases.report.sections.variants_section import variants_table
    from femcore.base import written

    with Stages({"variants": 1.0}) as stages:
        compared = compare_all(boat, source, stages.counted("variants", 1 + len(boat.variants)))
    if table is not None:
        write_new(table, variants_table(compared).csv())
    if as_json:
        click.echo(written.as_json(comparison(compared)))
    else:
        _show(*comparison_tables(compared))
        click.echo(CAUTION)
    return _status([joint for one in compared for joint in one.study.unsolved])


def _cross(boat: BoatFile, source: str, joints: tuple[str, ...], *, as_json: bool, table: Path | None) -> int:
    from cases.analyses.crossing import cross
    from cases.cli.crossing_output import crossing_csv, crossing_tables
    from femcore.base import written

    with Stages({"variants": 1.0}) as stages:
        found = cross(boat, joints, source, stages.counted("variants", 1 + len(boat.variants)))
    if table is not None:
        write_new(table, crossing_csv(found))
    if as_json:
        click.echo(written.as_json(found))
    else:
        _show(*crossing_tables(found))
        click.echo(CAUTION)
    return _status([one for one in found.pairs if one.no_answer])


@forebeam.command()
@FileName
@click.option("--json", "as_json", is_flag=True, help="Print all results as JSON, in SI units.")
def frame(*, file: Path, as_json: bool) -> int:
    """Solve a frame FILE. Compare the results with its expected values."""
    from femcore.base.written import plain_json
    from femcore.files.frame_file import read_frame_file
    from femcore.files.frame_run import results, run_frame

    require_kind("frame", file)
    done = run_frame(read_frame_file(file))
    if as_json:
        click.echo(plain_json(results(done)))
    else:
        from cases.cli.frame_output import frame_tables

        _show(*frame_tables(done))
        for remark in done.file.remarks:
            click.echo(remark)
    return 0 if done.ok else 1


@forebeam.command()
@click.argument("case", required=False)
@click.option("--all", "every", is_flag=True, help="Show every case, not the topics alone.")
@click.option("--picture", type=click.Path(path_type=Path), help="Draw CASE, loaded and deformed, as an SVG.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path),
    help="Also write the cases as a textbook chapter, one HTML page.",
)
def verify(*, case: str | None, every: bool, picture: Path | None, as_json: bool, page: Path | None) -> int:
    """Run the textbook cases. Show how many values agree in each topic; of one CASE, or of --all, every value and its source."""
    from cases.verification.textbook import verification_data
    from cases.verification.textbook import verify as verify_all

    if case:
        if every or page or as_json:
            raise InputFault("verify", f"'{case}' is one case", "leave out --all, --html and --json")
        return _verify_case(case, picture)
    if picture:
        raise InputFault(
            "--picture", "is of one case", "name the case, such as: verify cantilever_point_load"
        )

    if page:
        from cases.report.pages import chapter

        chapter.refuse(page)
    with Stages({"textbook cases": 1.0}) as stages:
        cases = verify_all(done=partial(stages.begin, "textbook cases"))
    if as_json:
        from femcore.base.written import plain_json

        click.echo(plain_json(verification_data(cases)))
    else:
        from cases.cli.verify_output import topic_table, verify_tables

        _show(*(verify_tables(cases) if every else topic_table(cases)))
    if page:
        click.echo(f"Page: {chapter.write(cases, page)}", err=as_json)
    return 0 if all(one.run.ok for one in cases) else 1


def _verify_case(name: str, picture: Path | None) -> int:
    from cases.cli.verify_output import verify_tables
    from cases.verification.textbook import VerifiedCase, textbook_files
    from femcore.base.errors import unknown
    from femcore.files.frame_file import read_frame_file
    from femcore.files.frame_run import run_frame

    if picture is not None and picture.suffix.lower() != ".svg":
        raise InputFault(str(picture), "is not the name of an SVG", "end it in .svg")
    files = {path.stem: path for path in textbook_files()}
    if name not in files:
        raise unknown("", "textbook case", name, files)
    found = VerifiedCase(files[name], run_frame(read_frame_file(files[name])))
    _show(*verify_tables([found]))
    if picture is not None:
        from cases.report.figures.textbook_figures import draw_case

        write_new(picture, draw_case(found.run, name).svg)
        click.echo(f"Picture: {picture}")
    return 0 if found.run.ok else 1


@forebeam.command()
@FileName
@click.option(
    "--margin",
    "target",
    type=MarginType(),
    default=0.0,
    help="Lowest acceptable margin, such as 0.1 or 10% [default: 0].",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--pareto",
    type=click.Path(path_type=Path),
    help="Draw mass added against margin against torque of all sizes tried, a PNG or SVG.",
)
def size(*, file: Path, target: float, as_json: bool, pareto: Path | None) -> int:
    """Size the joints of a boat FILE. Find the smallest stock sizes with the margin; each step is solved anew."""
    from cases.analyses.sizing import size_boat, sizing_data
    from cases.input.boat_file import read_boat_file

    refuse_other_names(pareto)
    boat = read_boat_file(file)
    with Stages({"sizes of each joint": 1.0}) as stages:
        sized = size_boat(boat, target, stages.counted("sizes of each joint", len(boat.joints)))
    status = _status([one for one in sized if one.no_answer])
    if as_json:
        from femcore.base.written import plain_json

        click.echo(plain_json(sizing_data(sized)))
    else:
        from cases.cli.size_output import sizing_tables

        _show(*sizing_tables(sized, boat))
    if pareto is not None:
        from cases.analyses.sweeps.pareto import candidates_of_sizes
        from cases.report.figures.sweep_figures import pareto_drawing

        save_picture(pareto_drawing(candidates_of_sizes(sized, boat)), pareto)
    if not as_json:
        click.echo(CAUTION)
    return status


forebeam.add_command(sweep)
forebeam.add_command(calibrate)
forebeam.add_command(plan_test)
forebeam.add_command(uncertainty)
forebeam.add_command(page)


@forebeam.command()
@FileName
def check(file: Path) -> int:
    """Check a boat or frame FILE: faults of the file, all at once; implausible values; what would stop a run. Write nothing.

    Exit status 0: it reads correctly and can be run; 2: a fault of the file; 3: a structure without an answer.
    """
    from cases.cli.check_output import checked_boat, checked_frame

    found = checked_boat(file) if kind_of(file) == "boat" else checked_frame(file)
    for line in found.lines:
        click.echo(line)
    return _status(found.without_answer)


def _answers(command: Callable[..., None]) -> Callable[..., None]:
    """An option for every key of the questionnaire, so that a boat can be described on the command line alone."""
    for key, meaning in reversed(QUESTIONS.items()):
        name = f"--{key.replace('_', '-')}"
        command = click.option(name, key, multiple=key == "joints", metavar="VALUE", help=meaning)(command)
    return command


@forebeam.command()
@FileName
@click.option(
    "--from",
    "questionnaire",
    type=click.Path(path_type=Path),
    help="File of answers, key = value; the keys are the options below, with _ for -.",
)
@click.option(
    "--full", is_flag=True, help="The full commented reference of all keys [default without answers]."
)
@click.option("--grid", is_flag=True, help="The commented reference of a grid file, for forebeam sweep.")
@_answers
def new(
    *, file: Path, questionnaire: Path | None, full: bool, grid: bool, **answers: str | tuple[str, ...] | None
) -> None:
    """Write a boat FILE as a starting point: short and complete from what you know of the boat, or the full reference.

    With answers, by --from or by options (which outrank those of the file), the boat is complete: what is not known is estimated
    and marked so, with its scatter. Needed: length, beam, displacement and rig_height; "unknown" is an answer to all others.
    """
    given = {
        key: list(value) if isinstance(value, tuple) else value for key, value in answers.items() if value
    }
    for name, chosen in (("--full", full), ("--grid", grid)):
        if chosen and (questionnaire or given):
            raise InputFault(
                name, "writes a reference and reads no answers", f"leave out {name}, or the answers"
            )
    if questionnaire or given:
        from cases.input.known_boat import OwnersBoat
        from cases.input.short_file import short_file
        from femcore.base.toml import checked, read_toml

        source = str(questionnaire) if questionnaire else "options"
        raw = read_toml(questionnaire) if questionnaire else {}
        text = short_file(
            checked(raw | given, OwnersBoat, source), questionnaire.name if questionnaire else source
        )
    else:
        reference = "new_grid.toml" if grid else "new_boat.toml"
        text = Path(__file__).parents[1].joinpath("input", reference).read_text(encoding="utf-8")
    write_new(file, text)
    advice = (
        "replace what is marked estimated by what you measure" if questionnaire or given else "fill it in"
    )
    command = f"sweep BOAT --grid {file}" if grid else f"run {file}"
    click.echo(f"{file}: written; {advice}, then: forebeam {command}")


forebeam.add_command(stations)


@forebeam.command()
@click.argument("kind", type=click.Choice(["boat", "frame", "grid", "test"]))
def schema(kind: str) -> None:
    """Print a JSON Schema. Text editors use it for boat, frame and grid files, and for those of a test on a boat."""
    click.echo(json.dumps(_model(kind).model_json_schema(), indent=1, allow_nan=False))


def _model(kind: str) -> type[BaseModel]:
    if kind == "boat":
        from cases.input.boat_file import BoatFile

        return BoatFile
    if kind == "test":
        from cases.input.boat_test import BoatTestFile

        return BoatTestFile
    if kind == "grid":
        from cases.input.grid_file import GridFile

        return GridFile
    from femcore.files.frame_file import FrameFile

    return FrameFile


def _show(*what: RenderableType) -> None:
    from rich.console import Console

    console = Console(soft_wrap=False, width=None if sys.stdout.isatty() else 120)
    for part in what:
        console.print(part)
    sys.stdout.flush()  # also into a pipe, since more may take its time


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit: every fault is a sentence on standard error, never a traceback.

    A request to end (SIGTERM) is taken as Ctrl-C, so that temporary folders go and worker processes end.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows a question mark
    try:
        with ended_as_interrupted():
            status = forebeam.main(args=arguments, prog_name="forebeam", standalone_mode=False)
    except ForebeamError as fault:
        click.echo(str(fault), err=True)
        status = fault.exit_status
    except click.ClickException as fault:
        fault.show()
        status = fault.exit_code
    except (KeyboardInterrupt, click.Abort):
        click.echo("stopped; no incomplete output was left", err=True)
        status = 130
    except BrokenPipeError:
        sys.stderr.close()
        status = 0
    code = status if isinstance(status, int) else 0
    if arguments is None:
        leave(code)
    sys.exit(code)


if __name__ == "__main__":
    main()
