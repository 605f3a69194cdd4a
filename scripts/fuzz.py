"""Damage every shipped file at random and read it: each mutant must be read, or refused in a short sentence.

    python3 scripts/fuzz.py [--mutants 100000] [--seed 1] [--kind frame]

Prints seed and number of each mutant that ends otherwise, and writes it beside the others into a folder for a row in
tests/cases/input/hostile_files.py.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from cases.input.boat_file import read_boat_file  # noqa: E402
from cases.input.boat_test import read_test_file  # noqa: E402
from cases.input.grid_file import GridFile  # noqa: E402
from femcore.base.errors import MAX_SENTENCE, ForebeamError  # noqa: E402
from femcore.base.toml import read_checked  # noqa: E402
from femcore.files.frame_file import read_frame_file  # noqa: E402

MAX_SECONDS = 20.0
"""For one mutant, of the processor: far more than any file needs, so that only work without bound is found."""
WORDS = (
    "nan", "inf", "-inf", "1e999", "-0.0", "0", "-1", "true", "false", '""', "[]", "{}", '"m"', '"0 m"', '"-1 m"', '"1e308 m"',
    '"1e-308 m"', '"nan m"', '"1 # m"', '"1 m**9**9"', "1979-05-27", "9" * 400, '"= 1"', '"\\u0000"', '"\\u202e"', "[[]]",
    '"0 0 0 m"', '"mirror"', '"100000x uni 300"', '"5 m ± 900 %"', '"5 m × 1e9"',
)  # fmt: skip
"""Values that stand where others were: what spreadsheets, other programs and slips of the pen give."""
SIZES = ("0", "-", "1e9", "1e-9", "999999", ".", "")
"""In place of a digit."""
READERS: dict[str, tuple[Callable[[Path], object], tuple[str, ...]]] = {
    "frame": (read_frame_file, ("cases/textbook/*/*.toml",)),
    "boat": (read_boat_file, ("cases/boats/*.toml", "cases/input/new_boat.toml")),
    "test": (read_test_file, ("cases/boats/tests/*.toml",)),
    "grid": (partial(read_checked, model=GridFile), ("cases/input/new_grid.toml",)),
}


def shipped(kind: str) -> list[Path]:
    """The files of a kind that are handed out."""
    return [path for pattern in READERS[kind][1] for path in sorted(ROOT.glob(pattern))]


def mutant(text: str, rng: np.random.Generator) -> bytes:
    """The text with one to three damages: bytes, lines, values, names and units."""
    raw = text.encode()
    for _ in range(rng.integers(1, 4)):
        if rng.random() < 0.15:
            place = int(rng.integers(len(raw)))
            raw = raw[:place] + bytes([rng.integers(256)]) + raw[place + int(rng.integers(2)) :]
        else:
            lines = raw.split(b"\n")
            at, other = (int(place) for place in rng.integers(len(lines), size=2))
            lines[at : at + 1] = _damaged(lines[at], lines[other], rng)
            raw = b"\n".join(lines)
    return raw


def _damaged(line: bytes, other: bytes, rng: np.random.Generator) -> list[bytes]:
    """In place of a line: none, itself twice, another line of the file, or itself with another value, size, name or unit."""
    digits = [place for place, sign in enumerate(line) if chr(sign).isdigit()]
    words, others = [word for word in line.split() if word.strip(b'"').isalpha()], other.split() or [b"x"]
    forms = [[], [line, line], [other]]
    if b"=" in line:
        forms += 2 * [[line.partition(b"=")[0] + b"= " + str(rng.choice(WORDS)).encode()]]
    if digits:
        place = int(rng.choice(digits))
        forms += [[line[:place] + str(rng.choice(SIZES)).encode() + line[place + 1 :]]]
    if words:
        forms += [[line.replace(words[rng.integers(len(words))], others[rng.integers(len(others))], 1)]]
    return forms[rng.integers(len(forms))]


def trouble(reader: Callable[[Path], object], path: Path) -> str:
    """What is wrong with how a file is read or refused; empty where nothing is."""
    began = time.process_time()
    try:
        reader(path)
    except ForebeamError as fault:
        if fault.exit_status == 2 and any(
            len(line) > MAX_SENTENCE or not line.isprintable() for line in str(fault).split("\n")
        ):
            return f"no sentence: {str(fault)!r}"
    except Exception:  # noqa: BLE001  (what must not happen)
        return traceback.format_exc()
    took = time.process_time() - began
    return f"took {took:.0f} s" if took > MAX_SECONDS else ""


def run(kind: str, count: int, seed: int, folder: Path) -> Iterator[tuple[int, Path, str]]:
    """Number, file and trouble of each mutant that has one; `count` mutants in all, over the files in turn."""
    reader, files = READERS[kind][0], shipped(kind)
    texts = [path.read_text(encoding="utf-8") for path in files]
    path = folder / f"{kind}.toml"
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        path.write_bytes(mutant(texts[number % len(texts)], rng))
        if found := trouble(reader, path):
            yield number, files[number % len(texts)], found


def main() -> int:
    """Exit status 1 where a mutant ends otherwise than it should."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--mutants", type=int, default=100_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--kind", choices=READERS)
    given = options.parse_args()
    kept, found = Path(tempfile.mkdtemp(prefix="fuzz-")), 0
    kinds = [given.kind] if given.kind else list(READERS)
    for kind in kinds:
        for number, path, words in run(kind, given.mutants // len(kinds), given.seed, kept):
            found += 1
            (kept / f"{kind}.toml").rename(kept / f"{kind}-{number}.toml")
            print(f"seed {given.seed}, {kind} {number}, of {path.name}, kept in {kept}:\n{words}", flush=True)
    print(f"{given.mutants} mutants, seed {given.seed}: {found} not refused as they should be.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
