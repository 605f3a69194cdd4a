"""What of a boat, beside its joints, a builder can raise: martingale, striker, crossbeam's wall, fixings; larger stock sizes."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, cast

from cases.input.boat_file import BoatFile
from femcore.base.errors import InputFault
from femcore.base.toml import Table, checked
from femcore.base.units import si
from femcore.materials import lines
from models.attachments import OneOrSeveral, design_variables
from models.boat.parts import LongeronEnds
from models.strength.design_variable import DesignVariable
from models.tables.stock_sizes import STOCK_TUBE, STOCK_WALL, STOCK_WIRE, larger

HEIGHT_FACTORS = (1.1, 1.2, 1.3, 1.4, 1.5, 1.6)
ADDED_PLY_COUNTS = (1, 2, 3, 4)
"""Double-bias of 600 g/m² added to a laminate wall."""
SIZED_LAMINATE = "beam wall, sized"
ATTACHMENTS = (
    ("forestay's tang", ("stay", "tang", "fixing")),
    ("martingale's tangs", ("martingale", "tang", "fixing")),
    ("longeron's root", ("longeron", "ends", "root")),
    ("longeron at the crossbeam", ("longeron", "ends", "crossbeam")),
)
"""Parts with fixings, and where those stand in a boat file."""


BoatVariable = DesignVariable[Callable[[], BoatFile]]
"""Of a size of the boat: each size is the boat file with it, made when asked for."""


def boat_variables(file: BoatFile) -> tuple[BoatVariable, ...]:
    """In the order in which they are tried."""
    return (
        DesignVariable("martingale diameter", ("martingale: line",), _wire_diameter_sizes(file)),
        DesignVariable("striker height", ("martingale: line",), _striker_height_sizes(file)),
        DesignVariable("striker tube", ("striker: strut",), _striker_tube_sizes(file)),
        DesignVariable(
            "crossbeam wall", ("crossbeam: first", "crossbeam: wall"), _wall_thickness_sizes(file)
        ),
        *_attachment_variables(file),
    )


def _attachment_variables(file: BoatFile) -> Iterator[BoatVariable]:
    """Of tangs and of the longeron's ends: bolts, turns, lengths of what fixes them."""
    for part, path in ATTACHMENTS:
        tables = [file, *_tables(file, path)]
        if len(tables) < len(path):
            continue
        key = path[-1]
        for variable in design_variables(getattr(tables[-1], key), part):
            made = tuple(
                (words, partial(_with_value, tables, path, one))
                for words, one in variable.sizes
                if _fits(tables[-1], key, one)
            )
            yield DesignVariable(variable.name, variable.improves, made)


def _tables(file: BoatFile, path: tuple[str, ...]) -> Iterator[Table]:
    """The tables on a path below a file, as far as they stand in it, the last key apart."""
    here: Any = file
    for key in path[:-1]:
        here = getattr(here, key)
        if here is None:
            return
        yield here


def _fits(table: Table, key: str, fixing: OneOrSeveral) -> bool:
    """Whether a table can hold another fixing."""
    changed = table.model_copy(update={key: fixing})
    try:
        _ = (
            changed.attachments(key)
            if isinstance(changed, LongeronEnds)
            else getattr(changed, "attachments", None)
        )
    except InputFault:
        return False
    return True


def _with_value(tables: list[Any], path: tuple[str, ...], value: OneOrSeveral) -> BoatFile:
    """The file, first of the tables, with another value at the end of the path."""
    made: Any = value
    for table, key in zip(reversed(tables), reversed(path), strict=True):
        made = table.model_copy(update={key: made})
    return cast("BoatFile", made)


def _wire_diameter_sizes(file: BoatFile) -> tuple[tuple[str, Callable[[], BoatFile]], ...]:
    """Of a stock material its own stiffness, of an entered line in proportion to its area, and so its breaking load."""
    martingale = file.martingale
    if martingale is None or martingale.line is None:
        return ()
    line = martingale.line

    def with_line(size: float) -> BoatFile:
        grown = (size / line.diameter) ** 2
        stock = None if line.material is None else lines()[line.material].axial_stiffness(size)
        breaking = None if line.breaking is None else line.breaking * grown
        thicker = line.model_copy(update={"diameter": size, "breaking": breaking})
        update = {"line": thicker, "EA": stock or martingale.EA * grown}
        return file.model_copy(update={"martingale": martingale.model_copy(update=update)})

    return tuple((_mm(s), partial(with_line, s)) for s in larger(STOCK_WIRE, line.diameter))


def _striker_height_sizes(file: BoatFile) -> tuple[tuple[str, Callable[[], BoatFile]], ...]:
    striker = file.striker
    if striker is None or file.martingale is None:
        return ()

    def with_height(height: float) -> BoatFile:
        return file.model_copy(update={"striker": striker.model_copy(update={"height": height})})

    return tuple((_mm(striker.height * t), partial(with_height, striker.height * t)) for t in HEIGHT_FACTORS)


def _striker_tube_sizes(file: BoatFile) -> tuple[tuple[str, Callable[[], BoatFile]], ...]:
    """Of the same wall; the strut's own stiffness grows with the tube's."""
    striker = file.striker
    if striker is None or striker.tube is None:
        return ()
    tube, length = striker.tube, abs(striker.height) - striker.base
    before = tube.column(length)

    def with_tube(size: float) -> BoatFile:
        wider = tube.model_copy(update={"diameter": size})
        now = wider.column(length)
        update = {"tube": wider, "EA": striker.EA * now.A / before.A, "EI": striker.EI * now.I / before.I}
        return file.model_copy(update={"striker": striker.model_copy(update=update)})

    return tuple((_mm(s), partial(with_tube, s)) for s in larger(STOCK_TUBE, tube.diameter))


def _wall_thickness_sizes(file: BoatFile) -> tuple[tuple[str, Callable[[], BoatFile]], ...]:
    """Of a section with one wall all round: of metal thicker, of laminate with more double-bias outside."""
    raw = file.raw
    section = raw.get("crossbeam", {}).get("section") if file.crossbeam.thin_walled is not None else None
    if not isinstance(section, dict):
        return ()
    if isinstance(section.get("thickness"), str):
        now = si(section["thickness"], "m")
        sizes = larger(STOCK_WALL, now)
        return tuple(
            (_mm(s), partial(_with_wall_laminate, file, {"thickness": f"{s!r} m"}, None)) for s in sizes
        )
    plies = raw.get("laminates", {}).get(section.get("laminate"))
    if not isinstance(plies, dict) or not isinstance(plies.get("layup"), list):
        return ()
    found = []
    for count in ADDED_PLY_COUNTS:
        laminate = {**plies, "layup": [f"{count}x db 600", *plies["layup"]]}
        twice = " at both faces" if "mirror" in plies["layup"][-1] else ""
        made = partial(_with_wall_laminate, file, {"laminate": SIZED_LAMINATE}, laminate)
        found.append((f"{count} more db 600{twice}", made))
    return tuple(found)


def _with_wall_laminate(file: BoatFile, section: dict[str, Any], laminate: dict[str, Any] | None) -> BoatFile:
    """The file with another wall of its crossbeam; what was enlarged before stays."""
    raw = copy.deepcopy(file.raw)
    raw["crossbeam"]["section"] |= section
    if laminate is not None:
        raw["laminates"][SIZED_LAMINATE] = laminate
    made = checked(raw, BoatFile, "larger wall")
    kept = {key: getattr(file, key) for key in ("striker", "martingale", "stay", "longeron", "factors")}
    return made.model_copy(update=kept)


def _mm(size: float) -> str:
    return f"{1000 * size:.4g} mm"
