"""The file of a test on a boat: how she stood, load steps, and what was read, as frozen objects in SI.

A file holds any number of `[[tests]]` of one boat with one joint. Readings of a gauge are counted from a zero of its own that
nobody knows, so a gauge needs two at least. What a table gets wrong of the boat is found where
it meets her front end (`cases.input.tested_boat`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from cases.loads.base import MAX_FORCE
from femcore.base.errors import InputFault, fault, unknown
from femcore.base.toml import Document, Table, duplicates, read_checked
from femcore.base.units import STANDARD_GRAVITY, FileContext, Unit, UnitVector
from models.response.boat_on_test import UNKNOWNS
from models.response.boat_test_loads import Axis, Gauge, GaugeKind
from models.response.front_end import SIDES

GAUGE_UNITS: dict[GaugeKind, str] = {
    "height": "m", "inclination": "rad", "turn": "rad", "distance": "m", "reaction": "N", "stay tension": "N",
    "cable tension": "N",
}  # fmt: skip
MIN_SCATTER = {"m": 1e-6, "rad": 1e-7, "N": 0.1}
"""By unit: no gauge on a boat reads closer, and a fit to readings that are nearly exact has no digits left for what it learns."""
MIN_READINGS = 2
"""Of a gauge: one is its zero."""
Share = Annotated[float, Field(ge=0, le=1)]
Force = Annotated[float, Unit("N", most=MAX_FORCE)]


class SupportTable(Table):
    """A place where the boat stands; `stiffness`, N/m, of chock and ground, rigid where left out."""

    place: str
    stiffness: Annotated[float, Unit("N/m", above=0)] | None = None


class AfloatTable(Table):
    """Waterlines of both hulls, for the place and the size of what the water gives back.

    aft, forward : m, x of their ends;   breadth : m, of one hull at the waterline;   coefficient : waterplane area over length
                   times breadth, 0.7 to 0.8 of slender hulls (common practice)
    """

    aft: Annotated[float, Unit("m")]
    forward: Annotated[float, Unit("m")]
    breadth: Annotated[float, Unit("m", above=0)]
    coefficient: Annotated[float, Field(ge=0.5, le=1)] = 0.75

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.aft >= self.forward:
            raise fault("the waterline ends ahead of where it begins", "give aft as the smaller x")
        return self


class GaugeTable(Table):
    """What is read. place, reference, axis: as of `models.response.boat_on_test.Gauge`; scatter : one standard deviation."""

    name: Annotated[str, Field(min_length=1, max_length=100)]
    kind: GaugeKind
    place: str = ""
    axis: Axis = "pitch"
    reference: str | None = None
    scatter: Annotated[Any, Field(json_schema_extra={"type": "string", "examples": ["0.5 mm", "0.1 mrad"]})]

    @field_validator("scatter")
    @classmethod
    def _read_scatter(cls, value: object, info: ValidationInfo) -> float:
        unit = GAUGE_UNITS.get(info.data.get("kind", ""), "m")
        return Unit(unit, least=MIN_SCATTER[unit]).read(value, info)

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.kind == "turn" and self.place not in SIDES:
            raise fault(
                f"a turn is read at a joint, and '{self.place}' is not one",
                'give place = "port" or "starboard"',
            )
        if self.kind == "distance" and not self.reference:
            raise fault(
                "a distance has no place that it is measured from", 'add reference = "starboard stem"'
            )
        if self.reference and self.kind not in ("height", "inclination", "distance"):
            raise fault(f"a {self.kind} is read against nothing", "take reference out")
        if not self.place and self.kind != "stay tension":
            raise fault("the gauge has no place", 'add place = "port stem", or wherever it is')
        return self

    def gauge(self) -> Gauge:
        """Without its scatter."""
        return Gauge(self.name, self.kind, self.place, self.axis, self.reference)


class StepTable(Table):
    """One state of load, and what was read in it.

    up     : N upwards by place: jacks and hoists;   weights : kg by place: people, ballast;   push : N by place, a vector
    stay   : N, pull of the forestay
    readings : by the name of the gauge, with its unit
    """

    name: str = ""
    up: dict[str, Force] = {}
    weights: dict[str, Annotated[float, Unit("kg", least=0, most=MAX_FORCE)]] = {}
    push: dict[str, Annotated[tuple[float, float, float], UnitVector("N", most=MAX_FORCE)]] = {}
    stay: Annotated[float, Unit("N", least=0, most=MAX_FORCE)] = 0.0
    readings: dict[str, Annotated[Any, Field(json_schema_extra={"type": "string", "examples": ["12.5 mm"]})]]

    def amounts(self) -> dict[tuple[str, int], float]:
        """N, by place and direction 0 … 2, all that acts but the stay."""
        found: dict[tuple[str, int], float] = {}
        for place, force in self.up.items():
            found[place, 2] = found.get((place, 2), 0.0) + force
        for place, mass in self.weights.items():
            found[place, 2] = found.get((place, 2), 0.0) - STANDARD_GRAVITY * mass
        for place, vector in self.push.items():
            for direction, force in enumerate(vector):
                if force:
                    found[place, direction] = found.get((place, direction), 0.0) + force
        return found


class OneTestTable(Table):
    """One way to stand, with its gauges and load steps.

    supports, afloat : one of the two;   settling : whether supports sink, so that heave, trim and heel of the whole boat in
                       every step are not known and are found with the rest, as they are afloat
    load_scatter : of all forces and weights together, a share: the load cell's
    stay_rake, stay_scatter : rad from upright; of the stay's pull, a share
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    supports: list[SupportTable] = []
    afloat: AfloatTable | None = None
    settling: bool = False
    load_scatter: Share = 0.02
    stay_rake: Annotated[float, Unit("rad")] = math.radians(12.0)
    stay_scatter: Share = 0.25
    gauges: Annotated[list[GaugeTable], Field(min_length=1)]
    steps: Annotated[list[StepTable], Field(min_length=2)]

    @field_validator("steps")
    @classmethod
    def _read(cls, steps: list[StepTable], info: ValidationInfo) -> list[StepTable]:
        """Readings in SI, by the unit of their gauge."""
        kinds = {gauge.name: gauge.kind for gauge in info.data.get("gauges", ())}
        made = []
        for number, step in enumerate(steps, 1):
            here, read = f"step {step.name or number}", {}
            for name, value in step.readings.items():
                if name not in kinds:
                    one = unknown(here, "gauge", name, kinds)
                    raise fault(f"{one.place}: {one.wrong}", one.cure)
                try:
                    read[name] = Unit(GAUGE_UNITS[kinds[name]]).read(value, info)
                except Exception as trouble:
                    context = getattr(trouble, "context", None)
                    if not context:
                        raise
                    raise fault(f"{here}: '{name}': {context['wrong']}", context["cure"]) from None
            made.append(step.model_copy(update={"readings": read}))
        return made

    @model_validator(mode="after")
    def _check(self) -> Self:
        if bool(self.supports) == (self.afloat is not None):
            raise fault("has supports and floats" if self.supports else "does not say how the boat stands",
                        "give either supports = [{ place = … }, …] or [tests.afloat]")  # fmt: skip
        counts = {
            gauge.name: sum(gauge.name in step.readings for step in self.steps) for gauge in self.gauges
        }
        for name, count in counts.items():
            if count < MIN_READINGS:
                wrong = f"the gauge '{name}' is read {('never', 'once')[count]}, and its first reading is its zero"
                raise fault(wrong, "read it in the unloaded boat and in another step at least")
        loads = [
            ({at: force for at, force in step.amounts().items() if force}, step.stay) for step in self.steps
        ]
        if all(one == loads[0] for one in loads):
            raise fault(
                "all steps have the same load, so that the test determines nothing",
                'give them up = { "port stem" = "2 kN" }',
            )
        if len(counts) < len(self.gauges):
            raise fault("two gauges have the same name", "give each a name of its own")
        return self


class BoatTestFile(Document):
    """A test on a boat.

    joint    : which joint of the boat's file she had;   unknowns : what is looked for; left out: all that the boat has
    """

    title: Annotated[str, Field(min_length=1, max_length=200)]
    note: str = ""
    joint: str
    unknowns: list[str] | None = None
    tests: Annotated[list[OneTestTable], Field(min_length=1)]

    @classmethod
    def context(cls, raw: dict[str, Any]) -> FileContext:
        """Quantities are text with a unit."""
        del raw
        return FileContext()

    def faults(self) -> Iterator[InputFault]:
        """Names that are given twice, and unknowns that nothing is."""
        yield from duplicates("tests", [test.name for test in self.tests])
        yield from (
            unknown("unknowns", "unknown", name, UNKNOWNS)
            for name in self.unknowns or ()
            if name not in UNKNOWNS
        )
        if self.unknowns is not None and not self.unknowns:
            yield InputFault(
                "unknowns",
                "names no unknown",
                f"name some of {', '.join(UNKNOWNS)}, or leave it out",
            )


def read_test_file(path: str | Path) -> BoatTestFile:
    """Read and check a test's file; InputFaults with every fault of it."""
    return read_checked(path, BoatTestFile)
