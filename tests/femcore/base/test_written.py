"""Results as JSON: arrays by the names of their axes, infinities where they are expected, and a schema that is closed."""

import json
import math
from dataclasses import dataclass, replace
from typing import Annotated

import jsonschema
import numpy as np
import pytest
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.base.written import (
    WRITTEN,
    ByName,
    FiniteOrNull,
    Stiffness,
    Unwritten,
    as_json,
    named,
    schema_of,
    written,
)

SIDES, COMPONENTS = ("port", "starboard"), ("Fx", "Fy", "Fz")


class Unknown:
    """Of no type that JSON has."""

    name = "an unknown"


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part."""

    load: Annotated[FloatArray, named(SIDES, COMPONENTS), Field(description="N")]
    rows: Annotated[FloatArray, named(None, 3)]
    spring: Annotated[Stiffness, Field(serialization_alias="own")]
    miles: FiniteOrNull
    unknown: Unwritten[Unknown]
    known: ByName[Unknown]
    size: float = 1.0

    @written("of all", key="largest force")
    def largest(self) -> float:
        """N."""
        return float(np.abs(self.load).max())


@dataclass(frozen=True)
class Whole:
    """All."""

    __pydantic_config__ = WRITTEN
    parts: dict[str, Part | None]


LOAD = np.array([[1.0, 2.0, 3.0], [0.1, -5.0, 1 / 3]])
PART = Part(LOAD, LOAD[:1], math.inf, math.inf, Unknown(), Unknown())
WHOLE = Whole({"a": PART, "none": None})


def test_what_is_written_is_named_and_complete():
    """Every number comes back to its last digit under the names of its axes; what is unwritten is not there."""
    found = json.loads(as_json(WHOLE))["parts"]
    assert found == {
        "a": {
            "load": {side: dict(zip(COMPONENTS, row, strict=True)) for side, row in zip(SIDES, LOAD.tolist(), strict=True)},
            "rows": [[1.0, 2.0, 3.0]], "own": "rigid", "miles": None, "known": "an unknown", "size": 1.0,
            "largest force": 5.0,
        },
        "none": None,
    }  # fmt: skip
    assert (
        json.loads(as_json(replace(WHOLE, parts={"a": replace(PART, spring=2.5)})))["parts"]["a"]["own"]
        == 2.5
    )


def test_names_and_places_of_an_axis_are_as_many():
    """An array with more places along an axis than it has names is refused, not cut."""
    with pytest.raises(ValueError, match="zip"):
        as_json(Whole({"a": replace(PART, load=np.zeros((2, 4)))}))


@pytest.mark.parametrize("change", [{"size": math.inf}, {"load": LOAD * math.nan}, {"rows": LOAD * math.inf}])
def test_an_infinity_is_refused_where_none_is_expected(change):
    """In a number and in an array alike."""
    with pytest.raises(ValueError, match="every number is finite"):
        as_json(Whole({"a": replace(PART, **change)}))


def test_the_schema_is_closed():
    """What is written is valid by the schema; a key more, or one less, a row of another length is not."""
    schema = schema_of(Whole)
    jsonschema.Draft202012Validator.check_schema(schema)
    told = json.loads(as_json(WHOLE))
    jsonschema.validate(told, schema)
    part = told["parts"]["a"]
    changes = [part | {"more": 1}, part | {"rows": [[1.0, 2.0]]}, part | {"own": None}]
    for wrong in (*changes, *({k: v for k, v in part.items() if k != key} for key in part)):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({"parts": {"a": wrong}}, schema)
    assert schema["$defs"]["Part"]["properties"]["load"]["description"] == "N"
