"""`forebeam uncertainty`: how sure the answer is, in the terminal."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cases.cli.stages import Stages

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import RenderableType

    from cases.analyses.uncertainty.uncertainty import Uncertainty
    from cases.report.tables.table import Table


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print JSON, in SI units.")
@click.option(
    "--samples",
    type=click.IntRange(64, 2**17),
    default=None,
    help="Number of samples, a power of two [default: 512].",
)
@click.option("--seed", type=click.IntRange(0, 2**31), default=None, help="Seed of the samples [default: 1].")
def uncertainty(*, file: Path, as_json: bool, samples: int | None, seed: int | None) -> int:
    """Say how sure the answer for a boat FILE is: chances, inputs that matter, what changes the verdict, what to measure next."""
    from cases.analyses.analysis import analyse
    from cases.analyses.uncertainty.uncertainty import SAMPLES, SEED, sampled
    from cases.analyses.uncertainty.uncertainty import uncertainty as work_out
    from cases.caution import CAUTION
    from cases.input.boat_file import read_boat_file
    from femcore.base import written
    from femcore.base.errors import InputFault, StructureFault, printable

    count = SAMPLES if samples is None else samples
    if count & (count - 1):
        wrong = f"{count} is not a power of two"
        raise InputFault("--samples", wrong, f"give one, such as {1 << count.bit_length()}")
    with Stages({"loads": 1.0, "margins": 1.5, "samples": 3.0, "chances": 2.0}) as stages:
        analysis = analyse(read_boat_file(file), printable(str(file)))
        stages.begin("margins")
        analysis = analysis.with_answers(lives=False)
        solved = analysis.study.joints, analysis.case_rows, analysis.part_margins
        stages.begin("samples")
        drawn = sampled(analysis.file, *solved, count, SEED if seed is None else seed)
        stages.begin("chances")
        found = work_out(drawn)
    if as_json:
        click.echo(written.as_json(found))
    else:
        from rich.console import Console

        console = Console(soft_wrap=False, width=None if sys.stdout.isatty() else 120)
        for part in _shown(found):
            console.print(part)
        click.echo(CAUTION)
    return StructureFault.exit_status if analysis.study.unsolved else 0


def _shown(found: Uncertainty) -> Iterator[RenderableType]:
    from rich.text import Text

    from cases.report.data.uncertainty_words import (
        HOW_READ,
        joint_sentences,
        left_out_sentences,
        preference_sentences,
    )
    from cases.report.tables.uncertainty_tables import inputs_table, likeliest_parts, strongest_inputs

    for one in found.joints:
        yield Text()
        yield Text("\n".join(joint_sentences(one)))
        yield from (_table(table) for table in (strongest_inputs(one), likeliest_parts(one)) if table.rows)
    yield Text("\n".join([*preference_sentences(found), *left_out_sentences(found)]))
    yield _table(inputs_table(found))
    yield Text(f"{found.samples} samples of Sobol's sequence, seed {found.seed}. {HOW_READ}")


def _table(table: Table) -> RenderableType:
    from rich.table import Table as TerminalTable
    from rich.text import Text

    made = table.shown()
    result = TerminalTable(title=Text(made.title), title_justify="left")
    for head in made.heads:
        result.add_column(Text(f"{head.title}\n{head.below}" if head.below else head.title))
    for row in made.rows:
        result.add_row(*(Text(cell.text if cell.rows else "") for cell in row))
    return result
