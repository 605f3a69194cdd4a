"""Every field of `results.json` against the objects of the analysis, found by walking both: value, sign and order of axes.

A field that a dataclass holds is compared with what it holds. What is derived when it is written has an expression of its own in
`DERIVED`; a derived field without one turns the walk red, and so does a class of the schema that neither the walk of this boat
meets nor `ELSEWHERE` names.
"""

import dataclasses
import json
import math
import typing

import numpy as np
import pytest
from pydantic._internal._decorators import PydanticDescriptorProxy

from cases.report.data.results import results, schema
from models.response.attraction import attraction_curves
from models.response.front_end import SIDES
from models.response.modes import natural_modes
from tests.cases.report.numbers_boat import analysis

REACTIONS = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")
FREEDOMS = ("ux", "uy", "uz", "rx", "ry", "rz")
ACTIONS = ("N", "Vy", "Vz", "T", "My", "Mz")


def worst(over):
    """Highest and lowest of values (rows,)."""
    return {"highest": float(over.max()), "lowest": float(over.min())}


def worst_by(values, *axes):
    """The same of values (rows, …), by the names of the other axes."""
    if not axes:
        return worst(values)
    return {name: worst_by(values[:, k], *axes[1:]) for k, name in enumerate(axes[0])}


def entries(names, actions):
    """Rows of a load path."""
    return [
        {"name": name, "action": action}
        for name, action in zip(names, np.asarray(actions).tolist(), strict=True)
    ]


def front_end_entries(found):
    """What is applied to the front end, then what holds it."""
    whole = found.whole
    applied = entries([one.name for one in whole.components], whole.applied)
    return [one | {"role": "applied"} for one in applied] + [
        one | {"role": "held"} for one in entries(whole.roots, whole.reactions)
    ]


DERIVED = {
    ("JointResult", "joint"): lambda one: one.joint.name,
    ("JointResult", "springs"): lambda one: (
        [math.inf, math.inf, math.inf, 300e3, 200e3, 500e3]
        if one.joint.name == "sprung"
        else one.stiffness.springs
    ),
    ("JointResult", "coupled"): lambda one: (
        None
        if one.joint.name == "sprung"
        else np.where(
            np.isfinite(one.stiffness.springs * one.stiffness.springs[:, None]), one.stiffness.matrix, 0.0
        )
    ),
    ("JointResult", "curves"): lambda one: attraction_curves(one.front.boat, one.stiffness),
    ("JointResult", "motions"): lambda one: natural_modes(one.front),
    ("CaseResult", "path"): lambda one: entries(one.path.names, one.path.actions),
    ("CaseResult", "front_end"): front_end_entries,
    ("CaseResult", "applied"): lambda one: entries(one.whole.names, one.whole.on_crossbeam),
    ("MemberForces", "actions"): lambda one: {
        name: dict(zip(ACTIONS, one.actions[row].T.tolist(), strict=True))
        for row, name in enumerate(case.name for case in analysis().study.cases)
    },
    ("JointEnvelope", "joint"): lambda one: one.rows.joint.name,
    ("JointEnvelope", "joint_load"): lambda one: worst_by(one.rows.values.joint_load, SIDES, REACTIONS),
    ("JointEnvelope", "stems"): lambda one: worst_by(one.rows.values.stems, SIDES, FREEDOMS),
    ("JointEnvelope", "tension"): lambda one: worst_by(
        one.rows.values.tension, ("port martingale", "starboard martingale")
    ),
    ("JointEnvelope", "striker"): lambda one: worst(
        one.rows.values.striker[:, one.rows.values.striker.min(axis=0).argmin()]
    ),
    ("PartMargins", "checks"): lambda one: [
        {"part": found.part, "check": found.check, "worst_in": name} for found, name in one.worst
    ],
    ("GoverningCheck", "factor_name"): lambda one: one.factor.name,
    ("FatigueLives", "case"): lambda _: "racking",
    ("FatigueLives", "about"): lambda _: "rig",
    ("FatigueLives", "miles"): lambda _: 20000.0,
    ("FatigueLives", "cycles"): lambda _: 2e6,
    ("FatigueLives", "shape"): lambda _: 1.0,
    ("FatigueLives", "swing"): lambda _: 2.0,
    ("DetailLife", "name"): lambda _: "weld",
    ("DetailLife", "component"): lambda _: "torque",
    ("DetailLife", "curve"): lambda _: "IIW alloy, fillet weld toe",
    ("WeldLife", "governing"): lambda one: "root" if one.root_damage >= one.toe_damage else "toe",
    ("JointPlay", "angle"): lambda one: one.play.angle,
    ("JointPlay", "clearance"): lambda one: {"lugs": one.play.in_lugs, "eyes": one.play.in_eyes},
    ("JointPlay", "rows"): lambda one: {
        name: [
            {
                "torque": one.couple[row, k],
                "opens_at": one.opening[row, k],
                "closed": bool(one.closed[row, k]),
            }
            for k in range(2)
        ]
        for row, name in enumerate(one.names)
    },
    ("AttractionCurve", "rigid_joint"): lambda one: one.rigid_joint_moment or one.rigid_moment,
    ("AttractionCurve", "attraction"): lambda one: (
        (one.free_moment * one.k_half + one.rigid_moment * one.joint_stiffness)
        / (one.joint_stiffness + one.k_half)
        / (one.rigid_joint_moment or one.rigid_moment)
    ),
    ("CaseResult", "about"): lambda one: one.whole.about,
    ("UnderPretension", "path"): lambda one: entries(one.path.names, one.path.actions),
    ("UnderPretension", "front_end"): lambda one: [
        row | {"role": "held"} for row in entries(one.held.names, one.held.actions)
    ],
    ("JointEnvelope", "rows"): lambda one: [
        {"name": name, "how": how, "balance": balance, "error": error}
        for name, how, balance, error in zip(
            one.rows.names, one.rows.method, one.rows.balance, one.rows.error, strict=True
        )
    ],
    ("JointEnvelope", "crossbeam"): lambda one: {
        "station": one.along["crossbeam"],
        "actions": {
            name: {
                "highest": one.rows.values.crossbeam[..., k].max(axis=0),
                "lowest": one.rows.values.crossbeam[..., k].min(axis=0),
            }
            for k, name in enumerate(ACTIONS)
        },
    },
}
"""(class, key) → what is written, by an expression of its own; of an object at least the keys given here."""


def derived_of(kind):
    """Keys of a class that are derived when it is written."""
    found = {}
    for base in reversed(kind.__mro__):
        for name, one in vars(base).items():
            if isinstance(one, PydanticDescriptorProxy):
                found[one.decorator_info.alias or name] = name
    return found


class Walk:
    """Both sides at once; what does not agree, and what has no expression, in `wrong`; how many numbers were compared."""

    def __init__(self):
        self.wrong, self.numbers, self.met = [], 0, set()

    def compare(self, path, said, one):
        """What JSON says against what an object is."""
        if dataclasses.is_dataclass(one):
            self.fields(path, said, one)
        elif isinstance(one, np.ndarray):
            self.array(path, said, one)
        elif isinstance(one, dict):
            self.each(path, said, one, one)
        elif isinstance(one, list | tuple) and not hasattr(one, "_fields"):
            self.each(path, said, one, range(max(len(one), len(said))))
        else:
            self.leaf(path, said, one)

    def each(self, path, said, one, keys):
        """Entries by key or number; what is missing on either side of a list, or in JSON of an object, is wrong."""
        for key in keys:
            try:
                pair = said[key], one[key]
            except (KeyError, IndexError, TypeError):
                self.wrong.append(f"{path}: {key} is on one side alone")
            else:
                self.compare(f"{path}.{key}", *pair)

    def fields(self, path, said, one):
        """A dataclass: its fields by name or alias, and what is derived of it."""
        kind, names = type(one), {}
        self.met.add(kind.__name__)
        for field in dataclasses.fields(one):
            names[field.name] = field.name
        aliases = aliases_of(kind)
        derived = derived_of(kind)
        for key, value in said.items():
            where = f"{path}.{key}"
            if key in derived:
                if (kind.__name__, key) in DERIVED:
                    self.compare(where, value, DERIVED[kind.__name__, key](one))
                elif isinstance(value, str) or value is None:
                    self.leaf(where, value, getattr(one, derived[key]))
                else:
                    self.wrong.append(f"{kind.__name__}.{key}: derived, and without an expression")
            elif key in aliases or key in names:
                self.compare(where, value, getattr(one, aliases.get(key, key)))
            else:
                self.wrong.append(f"{kind.__name__}.{key}: of no field")

    def array(self, path, said, one):
        """An array, nested by axes; an axis of two with names is that of the hulls."""
        if isinstance(said, dict):
            if len(said) == 2 and tuple(said) != SIDES:
                self.wrong.append(f"{path}: {list(said)}")
            said = list(said.values())
        if one.ndim and len(said) == len(one):
            for k, pair in enumerate(zip(said, one, strict=True)):
                self.compare(f"{path}[{k}]", *pair)
        elif one.ndim:
            self.wrong.append(f"{path}: {len(said)} for {len(one)}")
        else:
            self.leaf(path, said, float(one))

    def leaf(self, path, said, one):
        """A number, a word or nothing; infinities are null or rigid, named objects their names, factors their values."""
        if hasattr(one, "name") and isinstance(said, str):
            one = one.name
        elif hasattr(one, "value") and not isinstance(said, str):
            one = one.value
        if isinstance(one, float | np.floating | int) and not isinstance(one, bool):
            self.numbers += 1
            if said is None or said == "rigid":
                agree = not math.isfinite(one)
            else:
                agree = isinstance(said, int | float) and said == pytest.approx(one, rel=1e-9, abs=0)
        else:
            agree = said == one
        if not agree:
            self.wrong.append(f"{path}: {said!r} for {one!r}")


def aliases_of(kind):
    """Fields that are written under another name, by that name."""
    hints = typing.get_type_hints(kind, include_extras=True)
    return {
        one.serialization_alias: name
        for name, hint in hints.items()
        for one in getattr(hint, "__metadata__", ())
        if getattr(one, "serialization_alias", None)
    }


@pytest.fixture(scope="module")
def walked():
    """The walk of all results."""
    made, walk = results(analysis()), Walk()
    said = json.loads(made.json())
    said.pop("boat")  # the boat file as read: tests of files
    walk.compare("results", said, made)
    return walk


def test_every_field_is_what_the_analysis_holds(walked):
    """No field has another value, sign or place than its object's, and no derived number is without an expression."""
    assert walked.wrong == []
    assert walked.numbers > 5000


def test_numbers_are_those_of_the_analysis():
    """The lists of results are the analysis's own, joint by joint."""
    made, whole = results(analysis()), analysis()
    assert made.margins == whole.part_margins
    assert [one.components for one in made.design_loads] == list(whole.design_loads)
    assert made.envelope.joints == whole.envelopes
    assert [one.joint for one in made.wear.joints] == [one.joint.name for one in whole.study.joints]
    assert made.bare_racking_stiffness == whole.study.bare_racking_stiffness


PART_OF_DERIVED = {
    "BeamEnvelope", "EnvelopeRow", "FrontEndEntry", "PathEntry", "PlayAtHull", "Worst", "WorstAlong",
}  # fmt: skip
"""Made as they are written, and compared by `DERIVED`."""
WAVES, VARIANTS = "tests/cases/analyses/test_wave_scan.py", "tests/cases/input/test_variants.py"
TEST, REST = "tests/cases/report/test_boat_test_section.py", "tests/cases/analyses/test_decision.py"
ELSEWHERE = {
    **dict.fromkeys(
        ("WaveScan", "JointWaves", "SeaComponent", "SeaRange", "WorstComponent", "WorstPart", "WorstState"),
        WAVES,
    ),
    **dict.fromkeys(
        ("ComparedBoat", "ComparedCase", "ComparedJoint", "Comparison", "ComparisonRow"), VARIANTS
    ),
    **dict.fromkeys(("JointLoadChange",), TEST),
    **dict.fromkeys(("CalibrationResult", "FoundFactor", "FoundLoad", "FoundValue", "GaugeRecord"), TEST),
    **dict.fromkeys(("Outlier", "SuspectReadings"), TEST),
    **dict.fromkeys(("DescribeParts", "Flip", "Preference"), REST),
    "EstimatedInput": "tests/cases/input/test_boat_defaults.py",
    "GlueLife": "tests/cases/analyses/test_fatigue_life.py",
    "HandFormula": "tests/cases/analyses/test_racking_ways.py",
    "ScaledSize": "tests/cases/analyses/test_decision.py",
    "PlatformResponse": "tests/models/boat/test_platform.py",
    "UnsolvedJoint": "tests/cases/analyses/test_study.py",
}
"""Classes of the schema that need another boat, and where their numbers are tested; not all by a walk of every field."""


def test_every_class_of_the_schema_is_met_or_named(walked):
    """A class of `results.schema.json` that this boat's results lack has tests of its own, named here."""
    described = {name for name, one in schema()["$defs"].items() if one.get("type") == "object"}
    assert described - walked.met - PART_OF_DERIVED == set(ELSEWHERE)
