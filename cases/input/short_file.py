"""A short, complete boat file from what an owner knows; what is estimated is named in [boat], its scatter there or behind it.

Joints are described as they are built, by parts similar to the demo's, all lengths in proportion to the beam's tube. The file's
words are in short_boat.toml.j2; values come from `cases.input.estimates`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined

from cases.input.estimates import ROD, STEEPNESS, WIRE, Estimates, Value, estimates
from cases.input.known_boat import OwnersBoat
from femcore.materials import cloths, fibres, lines, processes

PLATE = "al5083_h116"
LINE_LENGTH = 110
"""Characters, of a line of the file that can be broken."""
DEMO_TUBE = 0.2
"""m: the tube that the proportions of the joints' parts are of."""
DEMO_LENGTH = 13.4
"""m: the boat that the doubled wall and the bulkhead's sheathing are in proportion to."""
CHINES = (((0.73, 0.12), (0.97, 0.50)), ((0.46, 0.10), (0.75, 0.46)))
"""At bulkhead and stem: turn of the bilge and knuckle, in half-breadths and depths above the keel (the demo's hull)."""
KEEL_RISE = 2 / 3
"""Of the depth that a hull loses towards its stem, what its keel rises; the rest its deck falls (the demo's hull)."""
BRIDGE_HEIGHT = 0.36
"""Of the hull's depth: the bridge deck above the keel (the demo's)."""
STRIKER_PROPORTION = 0.3
"""Diameter of the striker's tube over that of the beam (the demo's)."""
BOLTS = (6, 8, 10, 12, 16)
STOCK_STEP = 5e-3
"""m, to which the joints' parts are rounded."""
CLOTH_STEP = 25
"""g/m², to which cloths are rounded."""


def short_file(known: OwnersBoat, source: str) -> str:
    """The text of a boat file; `source` is where the answers are from, for its note."""
    found = estimates(known)
    environment = Environment(undefined=StrictUndefined, autoescape=False, keep_trailing_newline=True)  # noqa: S701  (TOML)
    environment.filters |= {"m": _m, "mm": _mm, "kn": _kn, "scatter": _scatter}
    template = Path(__file__).with_name("short_boat.toml.j2").read_text(encoding="utf-8")
    plain = source.replace("\\", "/").replace('"', "'")
    text = environment.from_string(template).render(_words(known, found) | {"source": plain})
    return "\n".join(line.rstrip() for line in text.splitlines()) + "\n"


def _words(known: OwnersBoat, found: Estimates) -> dict[str, Any]:
    """Everything that the template names."""
    diameter, depth = found.tube_diameter.value, found.hull_depth.value
    scale = diameter / DEMO_TUBE
    carbon_beam = known.tube_material == "carbon"
    alloy = f'thickness = "{_mm(found.tube_wall)}"'
    rod = lines()[ROD]
    skin, resin = _skin_materials(known)
    alloy_hulls = known.construction == "aluminium"
    hull_wall = (
        f'material = "{PLATE}", thickness = "{_mm(found.skin)}"' if alloy_hulls else 'laminate = "hull"'
    )
    deck_at_beam = depth - (1 - KEEL_RISE) * (depth - found.stem_depth.value) * found.beam_place

    def part(millimetres: float, more: float = 0.0) -> str:
        return _mm(max(round(millimetres * scale / 1e3 / STOCK_STEP), 1) * STOCK_STEP + more / 1e3)

    def thin(millimetres: float) -> str:
        return _mm(max(round(millimetres * scale), 3) / 1e3)

    return {
        "known": known, "e": found, "d": diameter, "wire": WIRE, "part": part, "thin": thin,
        "marks": list(_packed([f"'{mark}'," for mark in _estimated(known, found)])), "steepness": STEEPNESS,
        "strut": _strut(diameter),
        "rod": {"name": ROD, "breaking": rod.breaking_load(found.rod.value)},
        "made": f'fibre = "{skin}", resin = "{resin}", process = "infused"',
        "layups": _layups(known, found, skin),
        "stations": list(_stations(found)), "hull_wall": hull_wall,
        "bulkhead_wall": hull_wall if alloy_hulls else 'laminate = "bulkhead"',
        "platform_inboard": min(0.6 * found.hull_breadth.value, 0.4 * found.spacing.value),
        "bridge_height": BRIDGE_HEIGHT * depth,
        "beam_height": deck_at_beam - 0.75 * diameter,  # a quarter of the tube is above deck level
        "section_wall": 'laminate = "tube"' if carbon_beam else f'material = "al6082_t6", {alloy}',
        "wall": 'laminate = "tube"' if carbon_beam else f'metal = "al6082_t6", {alloy}',
        "bolt": min(BOLTS, key=lambda size: abs(size - 10 * scale)),
        "plug": diameter - 2 * found.tube_wall.value - 4e-3,  # in the middle of 4 mm of glue
        "web": min(0.5, 1.2 * found.half_breadth_at_beam),
    }  # fmt: skip


def _packed(words: list[str]) -> Iterator[str]:
    """As many to a line as it takes."""
    line = ""
    for word in words:
        if line and len(line) + len(word) + 3 > LINE_LENGTH:
            yield line
            line = ""
        line = f"{line} {word}".strip()
    yield line


def _estimated(known: OwnersBoat, found: Estimates) -> Iterator[str]:
    """The mark of every key or table that holds an estimate: the key, and the scatter where it does not stand behind a value."""
    shape = (found.hull_breadth, found.hull_depth, found.stem_breadth, found.stem_depth, found.bow_length)
    core = found.core.scatter if "sandwich" in known.construction else ""
    longeron, alloy_hulls = known.longeron_diameter is not None, known.construction == "aluminium"
    behind = {
        "bows.spacing": found.spacing.scatter,
        "crossbeam.station": found.beam_station.scatter,
        "crossbeam.height": "its own",
        "longeron.height_at_root": "its own" if longeron else "",
        "striker.height": found.striker_height.scatter,
        "martingale.line.diameter": found.rod.scatter,
        "stay.forward": "its own",
        "stay.up": "its own",
        "stay.line.diameter": found.stay_wire.scatter,
        "cases.upwind.tension": found.tension.scatter,
    }
    yield from (key for key, scatter in behind.items() if scatter)
    listed = {
        "bows.walls": found.skin.scatter if alloy_hulls else "",
        "laminates.hull": "" if alloy_hulls else found.skin.scatter or core,
        "laminates.solid": "" if alloy_hulls else "± 35 %",
        "laminates.bulkhead": "" if alloy_hulls else "± 35 %",
        "laminates.tube": found.tube_wall.scatter if known.tube_material == "carbon" else "",
        "laminates.prod": "± 25 %" if longeron else "",
        # of an outline that was entered, the chines remain
        "bows.stations": next((one.scatter for one in shape if one.scatter), "± 10 %"),
        "platform": "± 60 %",
        "crossbeam.section": found.tube_diameter.scatter
        or (found.tube_wall.scatter if known.tube_material == "aluminium" else ""),
        "striker.tube": "± 20 %",
        "martingale.pretension": "± 20 %",
    }
    listed |= {
        f'joints."{idea}"': "± 25 %" for idea in known.ideas if idea in {"lug and pin", "taped socket"}
    }
    yield from (f"{key} {scatter}" for key, scatter in listed.items() if scatter)


def _skin_materials(known: OwnersBoat) -> tuple[str, str]:
    """Fibre and resin of the hulls."""
    if known.construction == "carbon sandwich":
        return "carbon_sm", "epoxy"
    return "e_glass", "epoxy" if known.construction == "plywood" else "vinylester"


def _layups(known: OwnersBoat, found: Estimates, fibre: str) -> dict[str, str]:
    """Lay-ups by the laminate's name, as a file writes them; empty where the boat has none."""
    doubled = max(round(8 * known.length / DEMO_LENGTH), 2)
    sheath = max(round(4 * known.length / DEMO_LENGTH), 1)
    ply = _mm(round(1.35e-3 * known.length, 3))
    of_hulls = {
        "hull": _hull_layup(known, found, fibre),
        "solid": f'"{doubled}x db 600 @45", "{math.ceil(doubled / 2)}x biax 600 @0", "mirror"',
        "bulkhead": f'"{sheath}x biax 600", "ply okoume_ply {ply}", "mirror on last"',
    }
    if known.construction == "aluminium":
        of_hulls = dict.fromkeys(of_hulls, "")
    return of_hulls | {
        "tube": _tube_layup(found.tube_wall.value) if known.tube_material == "carbon" else "",
        "prod": _tube_layup(known.longeron_diameter / 27) if known.longeron_diameter else "",
    }


def _hull_layup(known: OwnersBoat, found: Estimates, fibre: str) -> str:
    """Half double-bias and half biaxial cloth, as thick as the skins are."""
    thickness = found.skin.value
    if known.construction == "plywood":
        return f'"biax 300", "ply okoume_ply {_mm(round(thickness, 4))}", "mirror on last"'
    grams = _fibre_weight(thickness, fibre, "infused")
    if known.construction == "solid glass":
        pairs = max(round(grams / 4 / 600), 1)
        each = _cloth(grams / 4 / pairs)
        return f'"{pairs}x db {each}", "{pairs}x biax {each}", "mirror"'
    each, core = _cloth(grams / 2), _mm(round(found.core.value, 3))
    return f'"db {each}", "biax {each}", "core foam80 {core}", "biax {each}", "db {each}"'


def _tube_layup(wall: float) -> str:
    """A carbon tube's wall, half of it with its fibre along it, half at ±45° and a third of that outermost, under vacuum."""
    along, across = (_fibre_weight(wall / 4, "carbon_sm", "vacuum", cloth) for cloth in ("uni", "db"))
    layers = max(round(along / 300), 1)
    outside, inside = math.ceil(layers / 3), layers - math.ceil(layers / 3)
    bias = _cloth(across / layers)
    laid = [
        f"{outside}x db {bias}",
        f"{layers}x uni {_cloth(along / layers)}",
        *([f"{inside}x db {bias}"] if inside else []),
    ]
    return ", ".join(f'"{cloth}"' for cloth in (*laid, "mirror"))


def _fibre_weight(thickness: float, fibre: str, process: str, cloth: str = "db") -> float:
    """g/m² of fibre in so many m of laminate of that cloth."""
    return 1000 * thickness * processes()[process].fibre_volume(cloths()[cloth]) * fibres()[fibre].density


def _cloth(grams: float) -> int:
    return max(round(grams / CLOTH_STEP), 4) * CLOTH_STEP


def _stations(found: Estimates) -> Iterator[dict[str, object]]:
    """At the bulkhead, the crossbeam and the stem."""
    depth = found.hull_depth.value
    loss = depth - found.stem_depth.value
    for t in (0.0, found.beam_place, 1.0):
        half, keel, deck = found.half_breadth(t), KEEL_RISE * loss * t, depth - (1 - KEEL_RISE) * loss * t
        corners = [
            (half * (y0 + (y1 - y0) * t), keel + (deck - keel) * (z0 + (z1 - z0) * t))
            for (y0, z0), (y1, z1) in zip(*CHINES, strict=True)
        ]
        yield {
            "at": found.bow_length.value * t, "half": half, "keel": keel, "deck": deck,
            "chines": ", ".join(f'"{y:.3f} {z:.3f} m"' for y, z in corners),
        }  # fmt: skip


def _strut(diameter: float) -> dict[str, float]:
    """The striker of a beam of that diameter: an alloy tube."""
    outside = round(STRIKER_PROPORTION * diameter, 3)
    return {"diameter": outside, "wall": max(round(outside / 12, 3), 0.003)}


def _scatter(value: Value) -> str:
    """The scatter behind an estimated value; none behind one that was entered."""
    return f" {value.scatter}" if value.scatter else ""


def _number(value: Value | float) -> float:
    return value.value if isinstance(value, Value) else value


def _m(value: Value | float) -> str:
    return f"{_number(value):.3f}".rstrip("0").rstrip(".") + " m"


def _mm(value: Value | float) -> str:
    return f"{1000 * _number(value):.4g} mm"


def _kn(value: Value | float) -> str:
    return f"{_number(value) / 1000:.3g} kN"
