"""A sweep from a boat and a grid to a finished folder."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.compute as pc  # type: ignore[import-untyped]

from cases.analyses.sweeps.chunk import DESIGN, JOINT, REASON, table_schema
from cases.analyses.sweeps.dataset import PARTS, SweepFolder
from cases.analyses.sweeps.plan import PreparedSweep, SweepPlan, plan_sweep
from cases.analyses.sweeps.runners import Runner, on_cluster, on_cores
from cases.input.boat_file import BoatFile, read_boat_file
from cases.input.grid_file import GridFile
from femcore.base.toml import read_checked

if TYPE_CHECKING:
    import pandas as pd


GOVERNING = "governing_margin"


@dataclass(frozen=True, slots=True)
class BestDesign:
    """Of a joint: the number of the design with the highest governing margin, that margin, and the lowest of all designs."""

    design: int
    margin: float
    lowest: float


@dataclass(frozen=True, slots=True)
class FinishedSweep:
    """A sweep of which every chunk is there.

    folder : with designs and manifest;   rows : a joint of a design each;   without_answer : by reason, how many have none
    worked_out : designs that this run worked out; the others were there
    """

    folder: SweepFolder
    designs: int
    rows: int
    worked_out: int
    without_answer: Counter[str]

    def table(self) -> pa.Table:
        """All rows, in order, as one table of pyarrow."""
        return pa.concat_tables([table.replace_schema_metadata() for table in self.folder.tables()])

    def to_pandas(self) -> pd.DataFrame:
        """The same as a data frame of pandas."""
        frame: pd.DataFrame = self.table().to_pandas()
        return frame

    def best(self) -> dict[str, BestDesign]:
        """By joint: the design with the highest governing margin; joints without any margin are left out."""
        found: dict[str, BestDesign] = {}
        if GOVERNING not in table_schema(self.folder.plan, 0).names:
            return found
        for table in self.folder.tables():
            known = table.filter(pc.is_valid(table[GOVERNING]))
            for name in known[JOINT].unique().to_pylist():
                of_joint = known.filter(pc.equal(known[JOINT], name))
                margins = of_joint[GOVERNING].to_numpy()
                row = of_joint.slice(int(margins.argmax()), 1).to_pylist()[0]
                lowest = min(float(margins.min()), found[name].lowest if name in found else math.inf)
                highest = found[name] if name in found and found[name].margin >= row[GOVERNING] else None
                best = highest or BestDesign(row[DESIGN], row[GOVERNING], lowest)
                found[name] = replace(best, lowest=lowest)
        return found

    @property
    def dataset(self) -> Path:
        """The folder of Parquet files, for any reader of datasets."""
        return self.folder.path / PARTS


def run_sweep(
    plan: SweepPlan,
    out: Path,
    runner: Runner | None = None,
    *,
    csv: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> FinishedSweep:
    """Do what of the plan is not done yet in the folder `out`; the same result to the last bit, however often it was stopped.

    runner : left out, all cores of this machine;   progress : is called with the designs done, and how many there are

    InputFault where the folder is of something else or cannot be written; what is complete then is kept.
    """
    folder, grid = SweepFolder.opened(out, plan), PreparedSweep.of(plan).grid
    missing = folder.missing()
    worked_out = sum(len(grid.of_chunk(number)) for number in missing)
    done = grid.designs - worked_out
    report = progress or (lambda _done, _designs: None)
    report(done, grid.designs)
    for number, table in (runner or on_cores())(plan, missing):
        folder.write(number, table)
        done += len(grid.of_chunk(number))
        report(done, grid.designs)
    folder.finish(csv=csv)
    rows, reasons = 0, Counter[str]()
    for table in folder.tables():
        rows += len(table)
        reasons.update(reason for reason in table[REASON].to_pylist() if reason)
    return FinishedSweep(folder, grid.designs, rows, worked_out, reasons)


def sweep_grid(
    boat: BoatFile | str | Path,
    grid: GridFile | str | Path,
    out: str | Path,
    *,
    cores: int | None = None,
    cluster: str | None = None,
    csv: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> FinishedSweep:
    """Any keys of a boat file over a grid, as ``forebeam sweep`` does it.

    It starts processes, which read a script again: there, call it below ``if __name__ == "__main__":``.

    cores : processes of this machine; left out: all its cores;   cluster : the address of one of Dask, or "local"

    InputFault or InputFaults for what is wrong with boat, grid or folder.
    """
    named = [
        str(one) if isinstance(one, str | Path) else word for one, word in ((boat, "boat"), (grid, "grid"))
    ]
    read_boat = boat if isinstance(boat, BoatFile) else read_boat_file(boat)
    read_grid = grid if isinstance(grid, GridFile) else read_checked(grid, GridFile)
    plan = plan_sweep(read_boat, read_grid, *named)
    runner = (
        on_cores(cores) if cluster is None else on_cluster(None if cluster == "local" else cluster, cores)
    )
    return run_sweep(plan, Path(out), runner, csv=csv, progress=progress)


__all__ = ["BestDesign", "FinishedSweep", "run_sweep", "sweep_grid"]
