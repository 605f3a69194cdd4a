"""A test to come, as it is written: what readings would leave unknown, what gauges would show, what blocks would carry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from femcore.base.written import WRITTEN, Unwritten, written
from models.response.boat_test_loads import Gauge


@dataclass(frozen=True, slots=True)
class ExpectedReading:
    """What a gauge would show, by the boat's file."""

    name: Annotated[str, Field(description="of the gauge")]
    load: Annotated[str, Field(description="under which load")]
    unit: Annotated[str, Field(description="m or rad")]
    change: Annotated[float, Field(description="from the unloaded boat")]
    scatter: Annotated[float, Field(description="of the gauge")]


@dataclass(frozen=True, slots=True)
class PlanRow:
    """What a set of readings would leave unknown: standard deviations of logarithms."""

    readings: Annotated[str, Field(description="which")]
    unknowns: Annotated[dict[str, float], Field(description="factor on stiffness → scatter left")]
    torque: Annotated[
        float, Field(description="of the joint's torque in racking of given size, by stiffness")
    ]
    bending: Annotated[float, Field(description="of its vertical bending")]


@dataclass(frozen=True, slots=True)
class RankedGauge:
    """The next best gauge beside those before it."""

    gauge: Annotated[str, Field(description="name of the gauge")]
    torque: Annotated[float, Field(description="scatter left of the joint's torque")]
    bending: Annotated[float, Field(description="scatter left of its vertical bending")]


@dataclass(frozen=True, slots=True)
class TestPlan:
    """A test to come."""

    __test__ = False  # nothing for pytest to collect

    boat: Annotated[str, Field(description="title of the boat's file")]
    joint: Annotated[str, Field(description="which she has")]
    lift: Annotated[float, Field(description="N, under the port bow, or under each of both")]
    weight: Annotated[float, Field(description="kg, carried from stem to stem, afloat")]
    supports: Annotated[tuple[str, ...], Field(description="places of the blocks while one bow is lifted")]
    carried: Annotated[
        dict[str, dict[str, float]],
        Field(description="load → place → N, what each block carries more at full load"),
    ]
    rows: Annotated[tuple[PlanRow, ...], Field(description="sets of readings, each with all before it")]
    ranking: Annotated[tuple[RankedGauge, ...], Field(description="gauges by what each adds, one bow lifted")]
    expected: Annotated[tuple[ExpectedReading, ...], Field(description="what gauges would show")]
    absent: Annotated[dict[str, str], Field(description="unknowns that the boat does not have → why")]
    gauges: Unwritten[tuple[Gauge, ...]]

    __pydantic_config__ = WRITTEN

    @written("names of the factors, in the order of tables")
    def names(self) -> list[str]:
        """Of all rows."""
        return list(self.rows[0].unknowns)
