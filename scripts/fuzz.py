"""Damage shipped files and drawings at random and read them: each mutant must be read, or refused in a short sentence.

    python3 scripts/fuzz.py [--mutants 100000] [--seed 1] [--kind frame]

Prints seed and number of each mutant that ends otherwise, and writes it beside the others into a folder for a row in
tests/cases/input/hostile_files.py.
"""

from __future__ import annotations

import argparse
import asyncio
import io
import re
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from starlette.requests import Request

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from cases.analyses.calibration import calibrate  # noqa: E402
from cases.analyses.sweeps.plan import plan_sweep  # noqa: E402
from cases.input.boat_file import BoatFile, read_boat_file  # noqa: E402
from cases.input.boat_test import read_test_file  # noqa: E402
from cases.input.grid_file import GridFile  # noqa: E402
from cases.input.known_boat import OwnersBoat  # noqa: E402
from cases.input.scatter import scattered_inputs  # noqa: E402
from cases.input.short_file import short_file  # noqa: E402
from cases.input.stations.body_plan import Layout, read_body_plan  # noqa: E402
from cases.input.stations.hull_stations import station_tables  # noqa: E402
from cases.input.stations.offsets import read_offsets  # noqa: E402
from cases.page.builder import JointAsked  # noqa: E402
from cases.page.messages import read  # noqa: E402
from cases.page.state import BoatText  # noqa: E402
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
DEMO, REFERENCE = ROOT / "cases/boats/demo.toml", ROOT / "cases/input/new_boat.toml"
SPREADS = ("± 30 %", "± 5 %", "× 2", "gumbel 3 %", "weibull 2", "normal 10 %")
ANSWERS = """
length = "13.4 m"
beam = "7.6 m"
displacement = "9 t"
rig_height = "18 m"
hull_breadth_at_bulkhead = "1.5 m"
construction = "glass sandwich"
skin_thickness = "2.5 mm"
core_thickness = "unknown"
tube_material = "carbon"
tube_diameter = "160 mm"
stay_wire = "10 mm"
joints = ["lug and pin", "taped socket"]
"""


@lru_cache
def boat(path: Path) -> BoatFile:
    """That tests and grids are of."""
    return read_boat_file(path)


def _from_files(*patterns: str) -> Callable[[], dict[str, str]]:
    """The text of files that are handed out, by name."""
    return lambda: {
        path.name: path.read_text(encoding="utf-8")
        for pattern in patterns
        for path in sorted(ROOT.glob(pattern))
    }


def _scattered() -> dict[str, str]:
    """Boats of which one quantity in five has a scatter, and the kinds that the reference names."""
    kinds = re.findall(r'^# (\w+ = ".*?")', REFERENCE.read_text(encoding="utf-8"), re.MULTILINE)
    table = "\n".join(["[scatter]", *(kind for kind in kinds if re.search(r'"(±|×|\d+ …)', kind))])
    rng, made = np.random.default_rng(0), {}
    for name, text in _from_files("cases/boats/*.toml")().items():
        quantity = re.compile(r'^([\w.]+ = "-?(?=[\d.]*[1-9])[\d.]+ [^"\s]+)"', re.MULTILINE)
        spread = lambda found: f'{found[1]} {rng.choice(SPREADS)}"' if rng.random() < 0.2 else found[0]  # noqa: E731
        made[name] = f"{quantity.sub(spread, text)}\n{table}\n"
    return made


def _sections() -> list[tuple[float, list[tuple[float, float]]]]:
    """m, stations of a hull and half of each, keel to gunwale, in mm."""
    half = [(0.0, 0.0), (300.0, 150.0), (520.0, 700.0), (560.0, 1200.0)]
    return [(at, [(y * taper, z) for y, z in half]) for at, taper in ((0.0, 1.0), (1.9, 0.7), (3.8, 0.3))]


def _offsets() -> dict[str, str]:
    rows = [f"{1000 * at:g},{y:g},{z:g}" for at, half in _sections() for y, z in half]
    return {"offsets.csv": "\n".join(["station,half_breadth,height", *rows])}


def _svg() -> dict[str, str]:
    """Chains of lines, a curve and an arc in moved groups."""
    lines = []
    for n, (at, half) in enumerate(_sections()):
        points = " ".join(f"{y:g},{-z - n:g}" for y, z in half)
        lines.append(
            f'<g transform="translate(0 {n})"><polyline id="station {at:g} m" points="{points}"/></g>'
        )
    curve = '<path id="station 2.8 m" d="M 0 0 C 100 -10 240 -60 260 -300 A 2000 2000 0 0 1 280 -1200"/>'
    body = "\n".join([*lines, curve])
    return {
        "plan.svg": f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 -1500 800 1500">\n{body}\n</svg>'
    }


def _dxf() -> dict[str, str]:
    """Chains of lines, a spline and a block that is inserted."""
    from ezdxf.filemanagement import new  # noqa: PLC0415  (start-up time of the other kinds)

    document, text = new(), io.StringIO()
    space, block = document.modelspace(), document.blocks.new("section")
    for at, half in _sections():
        space.add_lwpolyline(half, dxfattribs={"layer": f"station {at:g} m"})
    space.add_spline([(0, 0), (200, 100), (260, 500), (280, 1200)], dxfattribs={"layer": "station 2.8 m"})
    block.add_line((0, 0), (100, 1200), {"layer": "station 3.2 m"})
    space.add_blockref("section", (0, 0))
    document.write(text)
    return {"plan.dxf": text.getvalue()}


MESSAGE = """{
"page": "0123456789abcdef",
"number": 3,
"joint": "taped socket",
"depth": "quick",
"changes": {
"stay.up": "170 mm",
"cases.racking.force": "9 kN",
"crossbeam.height": "1.3 m",
"joints.'taped socket'.note": "glass",
"martingale.pretension": null,
"bows.spacing": "6.5 m",
"factors.criterion": "max_stress"
}
}"""


@lru_cache
def _page() -> BoatText:
    return BoatText.read(DEMO)


def _answer_message(path: Path) -> str:
    """As the page's server does, up to where the changed boat would be solved."""

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": path.read_bytes(), "more_body": False}

    scope = {"type": "http", "method": "POST", "path": "/", "headers": []}
    with ThreadPoolExecutor(1) as thread:  # where no other loop can run
        asked = thread.submit(asyncio.run, read(Request(scope, receive), JointAsked)).result()
    _page().whole(asked.changes, asked.joint)
    _page().quick(asked.changes, asked.joint)
    return _page().changed_text(asked.changes)


@dataclass(frozen=True)
class Kind:
    """A kind of file: how it is read, as far as anything is refused at once; the texts to damage, by name; its ending."""

    read: Callable[[Path], object]
    texts: Callable[[], dict[str, str]]
    ending: str = ".toml"


def _read_plan(path: Path) -> str:
    layout = Layout(1e-3, height="-y" if path.suffix == ".svg" else "+y")
    return station_tables(read_body_plan(path, layout, 0.0, "+x", 6))


KINDS = {
    "frame": Kind(read_frame_file, _from_files("cases/textbook/*/*.toml")),
    "boat": Kind(read_boat_file, _from_files("cases/boats/*.toml", "cases/input/new_boat.toml")),
    "scatter": Kind(lambda path: scattered_inputs(read_boat_file(path)), _scattered),
    "answers": Kind(
        lambda path: short_file(read_checked(path, OwnersBoat), path.name), lambda: {"answers.toml": ANSWERS}
    ),
    "test": Kind(read_test_file, _from_files("cases/boats/tests/*.toml")),
    "calibrate": Kind(
        lambda path: calibrate(boat(DEMO), read_test_file(path), "demo.toml", "test.toml"),
        _from_files("cases/boats/tests/*.toml"),
    ),
    "grid": Kind(
        lambda path: plan_sweep(boat(REFERENCE), read_checked(path, GridFile), "boat.toml", "grid.toml"),
        _from_files("cases/input/new_grid.toml"),
    ),
    "message": Kind(_answer_message, lambda: {"message.json": MESSAGE}, ".json"),
    "offsets": Kind(lambda path: station_tables(read_offsets(path, "mm", 0.0, "+x", 6)), _offsets, ".csv"),
    "svg": Kind(_read_plan, _svg, ".svg"),
    "dxf": Kind(_read_plan, _dxf, ".dxf"),
}


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


def run(kind: str, count: int, seed: int, folder: Path) -> Iterator[tuple[int, str, str]]:
    """Number, name and trouble of each mutant that has one; `count` mutants in all, over the texts in turn."""
    texts = list(KINDS[kind].texts().items())
    path = folder / f"{kind}{KINDS[kind].ending}"
    for number in range(count):
        rng, (name, text) = np.random.default_rng([seed, number]), texts[number % len(texts)]
        path.write_bytes(mutant(text, rng))
        if found := trouble(KINDS[kind].read, path):
            yield number, name, found


def main() -> int:
    """Exit status 1 where a mutant ends otherwise than it should."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--mutants", type=int, default=100_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--kind", choices=KINDS)
    given = options.parse_args()
    kept, found = Path(tempfile.mkdtemp(prefix="fuzz-")), 0
    kinds = [given.kind] if given.kind else list(KINDS)
    for kind in kinds:
        for number, name, words in run(kind, given.mutants // len(kinds), given.seed, kept):
            found += 1
            ending = KINDS[kind].ending
            (kept / f"{kind}{ending}").rename(kept / f"{kind}-{number}{ending}")
            print(f"seed {given.seed}, {kind} {number}, of {name}, kept in {kept}:\n{words}", flush=True)
    print(f"{given.mutants} mutants, seed {given.seed}: {found} not refused as they should be.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
