"""The command line: run, compare, size, frame, verify, check, new, schema.

Exit status: 0 done, also where a joint is inadequate: that is an answer; 1 a stated expectation is missed; 2 a fault in
the input; 3 a fault in the structure, also where only one joint has no answer and the others are reported. Heavy modules are
imported by the command that needs them, so that help appears at once.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sized
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cases.caution import CAUTION
from femcore.base.errors import ForebeamError, InputFault, StructureFault

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.console import RenderableType

    from cases.analyses.analysis import Analysis

FileName = click.argument("file", type=click.Path(path_type=Path))


@click.group(epilog=CAUTION, context_settings={"help_option_names": ["-h", "--help"]})
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
def run(*, file: Path, out: Path | None, no_pictures: bool) -> int:
    """Analyse a boat FILE: every joint, every case. Write report, pictures, tables and results.json.

    Exit status 0: every joint has an answer, adequate or not; 3: one has none (the others are reported).
    """
    from cases.analyses.analysis import analyse
    from cases.input.boat_file import read_boat_file

    _require_kind("boat", file)
    analysis = analyse(read_boat_file(file), file.name).with_answers()
    status = _status(analysis.study.unsolved)
    if no_pictures and out is None:
        _show_summary(analysis)
        return status
    from cases.report.output import write

    written = write(analysis, out or Path(f"{file.stem}-report"), pictures=not no_pictures)
    _show_summary(analysis)
    for remark in written.remarks:
        if remark not in analysis.warnings:  # they come first in the summary
            click.echo(remark)
    click.echo(f"{'Results' if no_pictures else 'Report'}: {written.report}")
    return status


def _status(without_answer: Sized) -> int:
    """3 where a joint has no answer, else 0: that a joint is inadequate is an answer."""
    return StructureFault.exit_status if len(without_answer) else 0


def _show_summary(analysis: Analysis) -> None:
    from cases.cli.run_summary import summary

    _show(summary(analysis))
    click.echo(CAUTION)


@forebeam.command()
@FileName
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
def compare(*, file: Path, as_json: bool) -> int:
    """Compare a boat FILE with its variants."""
    from cases.analyses.comparison import compare as compare_all
    from cases.analyses.comparison import comparison
    from cases.input.boat_file import read_boat_file
    from femcore.base import written

    compared = compare_all(read_boat_file(file), str(file))
    status = _status([joint for one in compared for joint in one.study.unsolved])
    if as_json:
        click.echo(written.as_json(comparison(compared)))
        return status
    from cases.cli.compare_output import comparison_tables

    _show(*comparison_tables(compared))
    click.echo(CAUTION)
    return status


@forebeam.command()
@FileName
@click.option("--json", "as_json", is_flag=True, help="Print all results as JSON, in SI units.")
def frame(*, file: Path, as_json: bool) -> int:
    """Solve a frame FILE. Compare the results with its expected values."""
    from femcore.files.frame_file import read_frame_file
    from femcore.files.frame_run import results, run_frame

    _require_kind("frame", file)
    done = run_frame(read_frame_file(file))
    if as_json:
        click.echo(json.dumps(results(done), indent=1))
    else:
        from cases.cli.frame_output import frame_tables

        _show(*frame_tables(done))
        for remark in done.file.remarks:
            click.echo(remark)
    return 0 if done.ok else 1


@forebeam.command()
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path),
    help="Also write the cases as a textbook chapter, one HTML page.",
)
def verify(*, as_json: bool, page: Path | None) -> int:
    """Run the textbook cases. Show published value, computed value, difference and source."""
    from cases.verification.textbook import verification_data
    from cases.verification.textbook import verify as verify_all

    if page:
        from cases.report.pages import chapter

        chapter.refuse(page)
    cases = verify_all()
    if as_json:
        click.echo(json.dumps(verification_data(cases), indent=1))
    else:
        from cases.cli.verify_output import verify_tables

        _show(*verify_tables(cases))
    if page:
        click.echo(f"Page: {chapter.write(cases, page)}", err=as_json)
    return 0 if all(case.run.ok for case in cases) else 1


@forebeam.command()
@FileName
@click.option(
    "--margin",
    "target",
    type=click.FloatRange(min=-0.5, max=20),
    default=0.0,
    help="Lowest acceptable margin [default: 0].",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
def size(*, file: Path, target: float, as_json: bool) -> int:
    """Size the joints of a boat FILE. Find the smallest stock sizes with the margin; each step is solved anew."""
    from cases.analyses.sizing import size_boat, sizing_data
    from cases.input.boat_file import read_boat_file

    boat = read_boat_file(file)
    sized = size_boat(boat, target)
    status = _status([one for one in sized if one.no_answer])
    if as_json:
        click.echo(json.dumps(sizing_data(sized), indent=1))
        return status
    from cases.cli.size_output import sizing_tables

    _show(*sizing_tables(sized, boat))
    click.echo(CAUTION)
    return status


@forebeam.command()
@FileName
def check(file: Path) -> int:
    """Check a boat or frame FILE: faults of the file, all at once; implausible values; what would stop a run. Write nothing.

    Exit status 0: it reads correctly and can be run; 2: a fault of the file; 3: a structure without an answer.
    """
    from cases.cli.check_output import checked_boat, checked_frame

    found = checked_boat(file) if _kind_of(file) == "boat" else checked_frame(file)
    for line in found.lines:
        click.echo(line)
    return _status(found.without_answer)


@forebeam.command()
@FileName
def new(file: Path) -> None:
    """Write a commented boat FILE as a starting point."""
    template = Path(__file__).parents[1].joinpath("input", "new_boat.toml").read_text(encoding="utf-8")
    try:
        with file.open("x", encoding="utf-8") as target:
            target.write(template)
    except FileExistsError:
        raise InputFault(str(file), "exists already", "give another name, or move it away") from None
    except OSError as trouble:
        raise InputFault(
            str(file),
            f"cannot be written ({trouble.strerror})",
            "give a name in a folder that can be written to",
        ) from None
    click.echo(f"{file}: written; fill it in, then: forebeam run {file}")


@forebeam.command()
@click.argument("kind", type=click.Choice(["boat", "frame"]))
def schema(kind: str) -> None:
    """Print a JSON Schema. Text editors use it for boat or frame files."""
    click.echo(json.dumps(_model(kind).model_json_schema(), indent=1))


def _model(kind: str) -> type[BaseModel]:
    if kind == "boat":
        from cases.input.boat_file import BoatFile

        return BoatFile
    from femcore.files.frame_file import FrameFile

    return FrameFile


def _kind_of(file: Path) -> str:
    """What kind of file it is, "boat" or "frame", by the tables that only one of them has."""
    from femcore.base.toml import read_toml

    raw = read_toml(file)
    for kind, table in (("boat", "bows"), ("frame", "nodes")):
        if table in raw:
            return kind
    raise InputFault(
        str(file), "has neither [bows] nor [nodes]", "start from 'forebeam new FILE', or see the README"
    )


def _require_kind(kind: str, file: Path) -> None:
    """Refuse a file of the other kind in one sentence, not key by key."""
    found = _kind_of(file)
    if found != kind:
        command = "run" if found == "boat" else "frame"
        raise InputFault(str(file), f"is a {found} file", f"use: forebeam {command} {file}")


def _show(*what: RenderableType) -> None:
    from rich.console import Console

    console = Console(soft_wrap=False, width=None if sys.stdout.isatty() else 120)
    for part in what:
        console.print(part)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit: every fault is a sentence on standard error, never a traceback."""
    try:
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
    sys.exit(status if isinstance(status, int) else 0)


if __name__ == "__main__":
    main()
