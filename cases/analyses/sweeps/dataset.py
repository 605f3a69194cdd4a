"""The folder of a sweep: Parquet files that appear whole or not at all, and what is still to be done.

    sweep.json              of which boat and grid it is: written first
    designs/part-….parquet  a chunk each, in any order; the name has the sweep's identity and the chunk's number
    designs.csv             the same as one table, where it was asked for
    manifest.json           files, rows, columns, units: written last, so where it is, all is there

Every file is written under a temporary name beside its own, made safe on the disk, and renamed. So after a kill at any moment the
files that are there are whole, and the rest is done by the same command again.
"""

from __future__ import annotations

import filecmp
import hashlib
import json
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.csv as pa_csv  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]

from cases.analyses.sweeps.chunk import METADATA, table_schema
from cases.analyses.sweeps.plan import PreparedSweep, SweepPlan
from femcore.base.disk import UNFINISHED, clear_unfinished, disk_faults, whole_file
from femcore.base.errors import InputFault

FORMAT, VERSION = "forebeam sweep", 1
HEAD, PARTS, MANIFEST, CSV = "sweep.json", "designs", "manifest.json", "designs.csv"
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a text that begins so for a formula."""


@dataclass(frozen=True, slots=True)
class SweepFolder:
    """A folder that holds, or is to hold, the result of a plan."""

    path: Path
    plan: SweepPlan

    @classmethod
    def opened(cls, path: Path, plan: SweepPlan) -> SweepFolder:
        """The folder, begun for the plan or begun for it earlier; InputFault where it is anything else, or cannot be written."""
        folder = cls(path, plan)
        with folder.disk_faults():
            if path.exists() and not path.is_dir():
                raise InputFault(str(path), "is a file", "give another folder with --out")
            if path.is_dir() and any(one for one in path.iterdir() if one.suffix != UNFINISHED):
                folder._check_own()
            else:
                (path / PARTS).mkdir(parents=True, exist_ok=True)
                folder._write_text(HEAD, json.dumps(folder._head, indent=1, allow_nan=False))
            for place in (path, path / PARTS):
                clear_unfinished(place)
        return folder

    @property
    def _head(self) -> dict[str, Any]:
        named = {"boat_name": self.plan.boat_name, "grid_name": self.plan.grid_name}
        return {"format": FORMAT, "version": VERSION, **named, "of": self.plan.identities}

    def _check_own(self) -> None:
        """InputFault where the folder is not of this plan."""
        cure = "give another folder with --out"
        try:
            head = json.loads((self.path / HEAD).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            head = None
        if not isinstance(head, dict) or head.get("format") != FORMAT or not isinstance(head.get("of"), dict):
            raise InputFault(str(self.path), "is not empty and holds no sweep", cure)
        known = self.plan.identities
        changed = [what for what in known if head["of"].get(what) != known[what]]
        if head.get("version") != VERSION or changed:
            wrong = f"was started with another {' and another '.join(changed) or 'version of the format'}"
            raise InputFault(str(self.path), wrong, f"{cure}, or take back the change to go on with it")
        (self.path / PARTS).mkdir(exist_ok=True)

    def _refuse_edited(self, fresh: Path) -> None:
        """InputFault where there is another table already: of one plan there is one, so somebody changed it."""
        there = self.path / CSV
        if there.exists() and not filecmp.cmp(fresh, there, shallow=False):
            raise InputFault(
                str(there), "was changed since it was written", "move it away, then run this again"
            )

    def part(self, number: int) -> Path:
        """The file of a chunk."""
        return self.path / PARTS / f"part-{number:06d}-{self.plan.identity}.parquet"

    def missing(self) -> list[int]:
        """Chunks that are not there, or not readable as what they should be, in order."""
        chunks = range(PreparedSweep.of(self.plan).grid.chunks)
        there = {one.name for one in (self.path / PARTS).iterdir()}
        return [n for n in chunks if self.part(n).name not in there or not self._is_sound(n)]

    def _is_sound(self, number: int) -> bool:
        """Whether a part ends as a Parquet file, with the rows and the columns of its chunk."""
        made = PreparedSweep.of(self.plan)
        try:
            with pq.ParquetFile(self.part(number)) as file:
                rows, schema = file.metadata.num_rows, file.schema_arrow
        except (OSError, pa.ArrowException):
            return False
        wanted = table_schema(self.plan, number)
        return bool(
            rows == len(made.grid.of_chunk(number)) * len(made.joints)
            and schema.equals(wanted)
            and schema.metadata.get(METADATA) == wanted.metadata[METADATA]
        )

    def write(self, number: int, table: pa.Table) -> None:
        """The file of a chunk; InputFault where the disk is full or cannot be written."""
        with self.disk_faults(), whole_file(self.part(number)) as file:
            pq.write_table(table, file, compression="zstd")

    def finish(self, *, csv: bool) -> None:
        """The manifest, and the CSV where it is wanted; every chunk is there."""
        with self.disk_faults():
            if csv:
                with whole_file(self.path / CSV) as file:
                    self._write_csv(file)
                    file.flush()
                    self._refuse_edited(Path(file.name))
            self._write_text(
                MANIFEST, json.dumps(self._manifest(), indent=1, ensure_ascii=False, allow_nan=False)
            )

    def tables(self) -> Iterator[pa.Table]:
        """Those of all chunks, in order."""
        for number in range(PreparedSweep.of(self.plan).grid.chunks):
            yield pq.read_table(self.part(number), partitioning=None)

    def _write_csv(self, file: IO[bytes]) -> None:
        schema = table_schema(self.plan, 0)
        heads = [
            f"{one.name}, {unit}" if (unit := one.metadata and one.metadata[b"unit"].decode()) else one.name
            for one in schema
        ]
        named = pa.schema([one.with_name(head) for one, head in zip(schema, heads, strict=True)])
        with pa_csv.CSVWriter(file, named) as writer:
            for table in self.tables():
                columns = [_neutral(column) for column in table.columns]
                writer.write_table(pa.table(columns, schema=named))

    def _manifest(self) -> dict[str, Any]:
        made = PreparedSweep.of(self.plan)
        parts, rows = [], 0
        for number in range(made.grid.chunks):
            designs, file = made.grid.of_chunk(number), self.part(number)
            count = pq.read_metadata(file).num_rows
            rows += count
            parts.append(
                {
                    "file": f"{PARTS}/{file.name}", "designs": [designs.start, designs.stop - 1], "rows": count,
                    "bytes": file.stat().st_size, "sha256": hashlib.sha256(file.read_bytes()).hexdigest(),
                }
            )  # fmt: skip
        columns = [
            {
                "name": one.name,
                **{key.decode(): value.decode() for key, value in (one.metadata or {}).items()},
            }
            for one in table_schema(self.plan, 0)
        ]
        counts = {"designs": made.grid.designs, "joints": made.joints, "rows": rows}
        return {**self._head, "program": self.plan.program, **counts, "columns": columns, "parts": parts}

    def _write_text(self, name: str, text: str) -> None:
        with whole_file(self.path / name) as file:
            file.write(text.encode())

    def disk_faults(self) -> AbstractContextManager[None]:
        """An error of the disk becomes an InputFault: what is complete is kept."""
        return disk_faults(
            self.path, "correct that, then run this again", "the chunks that are complete are kept"
        )


def _neutral(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Texts that a spreadsheet would take for a formula, with an apostrophe before them."""
    if column.type != pa.string():
        return column
    texts = column.to_pylist()
    return pa.array(
        [f"'{text}" if text and text.startswith(FORMULA_SIGNS) else text for text in texts], pa.string()
    )
