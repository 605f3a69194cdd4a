"""The boat as modelled: stiffnesses as tables, dimensions in sentences, and the stay's line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cases.analyses.study import Study
from cases.input.boat_file import BoatFile
from cases.loads.rig import StayLine
from cases.report.data import words
from cases.report.tables.table import Cell, Column, Table
from femcore.base.numbers import plain
from models.boat.boat import BeamStiffness
from models.joints import DIRECTIONS

STIFFNESS = (
    Column("EI", "N·m²", "vertical bending"),
    Column("EI", "N·m²", "lateral bending"),
    Column("GJ", "N·m²", "torsion"),
    Column("EA", "N", "axial"),
    Column("GA", "N", "vertical shear"),
    Column("GA", "N", "lateral shear"),
    Column("mass", "kg/m"),
)


FREE_IN_BENDING = "free in vertical and lateral bending and held in twist"
HELD = {"pinned": FREE_IN_BENDING, "fixed": "held in bending and twist", "rigid": "held in bending and twist"}
"""What the ends of a longeron pass, by the file's words."""


def _stiffness(beam: BeamStiffness) -> tuple[Cell, ...]:
    """The cells below `STIFFNESS`; None where shear does not deform the beam."""
    return (
        beam.EI_vertical, beam.EI_lateral, beam.GJ, beam.EA, beam.GA_vertical, beam.GA_lateral, beam.mass,
    )  # fmt: skip


def boat_tables(boat: BoatFile) -> list[Table]:
    """Stiffness along the bows and of the beams; what rests on estimates is marked."""
    mark = boat.estimates.mark
    stations = tuple((station.at, *_stiffness(station)) for station in boat.bows.stations)
    beams: list[tuple[Cell, ...]] = [(f"crossbeam{mark('crossbeam.section')}", *_stiffness(boat.crossbeam))]
    if boat.longeron:
        beams.append((f"longeron{mark('longeron.section')}", *_stiffness(boat.longeron)))
    of_bows = mark("bows.stations", "laminates.hull")
    return [
        Table(
            "stations",
            f"Each bow, by station{of_bows}",
            (Column("ahead of the root", "m"), *STIFFNESS),
            stations,
        ),
        Table("beams", "Beams", (Column("beam"), *STIFFNESS), tuple(beams)),
    ]


def boat_sentences(boat: BoatFile) -> list[str]:
    """Dimensions and supports, a sentence each; what is estimated is marked."""
    return [plain(sentence) for sentence in (*_hulls(boat), *_beam(boat), *_truss(boat))]


def _hulls(boat: BoatFile) -> Iterator[str]:
    bows, mark = boat.bows, boat.estimates.mark
    yield (
        f"Bows: {_m(bows.length)} from root to stem{mark('bows.stations')}, {_m(bows.spacing)} between their axes"
        f"{mark('bows.spacing')}, inboard sides {_m(bows.inboard)} from the axes{mark('bows.inboard')}. "
        f"Stiffness is linear between stations, modelled in steps of at most {_m(bows.length / bows.divide)}."
    )
    if boat.platform is not None:
        members = ", ".join(f"{member.name} {_from_root(member.station)}" for member in boat.platform.members)
        yield (
            f"Platform: members between the hulls ({members}) and the hulls' own beams as far as the aftmost of them"
            f"{mark('platform')}."
        )
        return
    units = ("N/m",) * 3 + ("N·m/rad",) * 3
    sprung = [
        f"{direction} {words.quantity(k, unit)}"
        for direction, unit, k in zip(DIRECTIONS, units, boat.root.springs, strict=True)
        if math.isfinite(k)
    ]
    if sprung:
        yield f"Roots: springs in {', '.join(sprung)}, rigid in the other directions."
    else:
        yield "Roots: rigid; the platform behind them has no flexibility in the model."


def _from_root(station: float) -> str:
    if station == 0:
        return "at the root"
    return f"{_m(abs(station))} {'ahead of' if station > 0 else 'behind'} it"


def _beam(boat: BoatFile) -> Iterator[str]:
    bows, beam, stay, mark = boat.bows, boat.crossbeam, boat.stay, boat.estimates.mark
    yield (
        f"Crossbeam: {_m(beam.station)} ahead of the root{mark('crossbeam.station')}, "
        f"{_place(beam.height - bows.height, 'above', 'below')} the bows' axes{mark('crossbeam.height')}, "
        f"{_m(bows.spacing - 2 * bows.inboard)} between the joints."
    )
    yield (
        f"Stay: attached amidships, {_place(stay.forward, 'ahead of', 'behind')}{mark('stay.forward')} and "
        f"{_place(stay.up, 'above', 'below')}{mark('stay.up')} the crossbeam's shear centre."
    )


def _truss(boat: BoatFile) -> Iterator[str]:
    mark = boat.estimates.mark
    if strut := boat.striker:
        place = _place(strut.height, "above", "below")
        yield (
            f"Striker: its top {place} the crossbeam{mark('striker.height')}, EA {words.quantity(strut.EA, 'N')}"
            f"{mark('striker.EA')}."
        )
    if over := boat.martingale:
        stiff = words.quantity(over.EA, "N")
        slips = over.at_striker == "slips"
        way = "one strap that slips over the striker's top" if slips else "two stays from the striker's top"
        rest = words.quantity(over.pretension, "N") if over.pretension else "no"
        yield (
            f"Martingale: {way} to the crossbeam {_m(over.half_span)} out on each side, EA {stiff}{mark('martingale.EA')}, "
            f"{rest} pretension{mark('martingale.pretension')}; tension only."
        )
    if along := boat.longeron:
        prod = f", with a prod {_m(along.prod)} beyond it in its own line" if along.prod else ""
        yield (
            f"Longeron: {HELD[along.at_root]} at the root, {HELD[along.at_crossbeam]} at the crossbeam{prod}"
            f"{mark('longeron.height_at_root')}."
        )


def _m(length: float) -> str:
    return f"{words.number(length, 2)} m"


def _place(distance: float, positive: str, negative: str) -> str:
    return f"{words.millimetres(distance)} {negative if distance < 0 else positive}"


def stay_lines(study: Study) -> Table:
    """The stay's line at the crossbeam in every rig case, for reading: places as moves, torque with the way it turns the beam."""
    titles = ("case", "pull", "rake at the foot", "its line passes", "torque", "for no torque, attach it")
    rows = tuple(
        (
            name, _pull(line), f"{math.degrees(line.rake_at_foot):.1f}°",
            f"{words.millimetres(line.offset)} {'ahead' if line.offset < 0 else 'behind'}",
            f"{words.quantity(abs(line.torque), 'N·m')}, leading side {'up' if line.torque < 0 else 'down'}",
            f"{words.millimetres(line.torque_free_forward)} {'ahead' if line.torque_free_forward > 0 else 'behind'}",
        )
        for name, line in study.stay_lines().items()
    )  # fmt: skip
    mark = study.file.estimates.mark("stay.forward", "stay.up")
    title = f"The stay's line and the crossbeam's shear centre{mark}"
    return Table("stay_lines", title, tuple(map(Column, titles)), rows)


def _pull(line: StayLine) -> str:
    """On the stay's foot, by its directions; to a side only where it has any."""
    said = [f"{words.quantity(line.up, 'N')} up", f"{words.quantity(line.aft, 'N')} aft"]
    if line.side:
        said.append(f"{words.quantity(abs(line.side), 'N')} to {'port' if line.side > 0 else 'starboard'}")
    return ", ".join(said)
