"""The file of a test on a boat as it was planned: gauges and load steps are there, readings are to be filled in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import tomlkit
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from cases.input.boat_test import GAUGE_UNITS
from femcore.base.numbers import engineering
from models.response.boat_test_loads import Gauge

READ_IN = {kind: ("N", 1.0) if unit == "N" else (f"m{unit}", 1e-3) for kind, unit in GAUGE_UNITS.items()}
"""Gauge kind → the unit in which it is read, and that unit in SI."""


def blank_test(
    joint: str, supports: Sequence[str], gauges: Sequence[tuple[Gauge, float]], lifts: Sequence[float]
) -> str:
    """As text; `gauges` with the scatter of each, `lifts`, N, under the port stem, one for each step."""
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent), undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        autoescape=False,  # noqa: S701  (TOML)
    )  # fmt: skip
    environment.filters["quoted"] = lambda text: tomlkit.string(text).as_string()
    return environment.get_template("blank_test.toml.j2").render(
        joint=joint, supports=supports,
        gauges=[(one, f"{scatter / READ_IN[one.kind][1]:g} {READ_IN[one.kind][0]}") for one, scatter in gauges],
        readings=[(one.name, f"? {READ_IN[one.kind][0]}") for one, _ in gauges],
        lifts=[engineering(lift, "N") for lift in lifts],
    )  # fmt: skip
