"""What `results.json` holds: versioned data in SI, with its JSON Schema.

Each field says its unit. Fields may be added within a version; a change of meaning makes a new version.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

FORMAT = "forebeam results"
VERSION = 1
Stiffness = float | Literal["rigid"]
Six = tuple[float, float, float, float, float, float]


class ResultsPart(BaseModel):
    """A part of the results: closed, frozen, without infinities."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Curve(ResultsPart):
    """What the joint attracts against its stiffness k in one direction: rigid · k / (k + k_half)."""

    rigid: float = Field(
        description="N·m on the port hull per N of racking force, this direction rigid; boat axes"
    )
    k_half: float = Field(description="N·m/rad, the stiffness that attracts half of that")
    own: Stiffness = Field(description="N·m/rad, the joint's own stiffness; 0 free")
    attraction: float = Field(description="own / (own + k_half), 1 where rigid")


class Shares(ResultsPart):
    """The racking moment about the y axis at the root, and where it goes; the shares sum to 1."""

    racking_moment: float = Field(description="N·m, half of port less starboard")
    hull: float = Field(description="carried by the hull's root")
    torque: float = Field(description="carried by the torque of the joint")
    shear: float = Field(description="carried by the vertical force of the joint at the beam's station")


class PathEntry(ResultsPart):
    """One thing that acts on the crossbeam."""

    name: str = Field(description="what acts")
    action: Six = Field(description="Fx Fy Fz N, Mx My Mz N·m about the beam's centre, boat axes")


class FrontEndEntry(PathEntry):
    """One thing that acts on the front end."""

    role: Literal["applied", "held"] = Field(
        description="a component of the load, or what the bulkhead puts on a root"
    )


class AtRest(ResultsPart):
    """What pretension alone does before any load: part of the entries of the same names."""

    joint_load: dict[str, Six] = Field(description="hull → on it at the joint")
    path: list[PathEntry] = Field(description="on the crossbeam; sums to zero")
    front_end: list[FrontEndEntry] = Field(description="on the roots; sums to zero")
    tension: dict[str, float] = Field(description="N, by part of the martingale")


class Truss(ResultsPart):
    """The trussed beam."""

    tension: dict[str, float] = Field(description="N, by part of the martingale; 0 slack")
    compression: float = Field(description="N, the largest along the crossbeam")
    strut: float = Field(description="N, compression of the striker")


class Buckling(ResultsPart):
    """When the trussed beam gives way."""

    factor: float = Field(description="times the load of the case")
    part: str = Field(description="the member that moves most")


class Change(ResultsPart):
    """What the deformed shape changes: second order over first, less 1."""

    force: float = Field(description="largest joint force")
    moment: float = Field(description="largest joint moment")
    tension: float | None = Field(description="of the martingale; null where it has none in first order")
    movement: float = Field(description="of the stems")


class Motion(ResultsPart):
    """A natural mode of the front end at rest."""

    kind: str = Field(description="racking, twisting, or what else the stems do most")
    frequency: float = Field(description="Hz")


class Case(ResultsPart):
    """One joint under one case."""

    case: str = Field(description="name of the case")
    joint_load: dict[str, Six] = Field(
        description="hull → what the crossbeam puts on it at the joint: Fx Fy Fz N, Mx My Mz N·m, boat axes"
    )
    stems: dict[str, Six] = Field(
        description="hull → movement of its stem: ux uy uz m, rx ry rz rad, boat axes"
    )
    shares: Shares | None = Field(description="null where nothing racks the bows")
    attraction: dict[str, float | None] = Field(
        description="torque, bending: over those of a rigid joint in this case; null where that has none"
    )
    path: list[PathEntry] = Field(description="everything that acts on the crossbeam; sums to zero")
    applied: list[PathEntry] = Field(
        description="what `applied to the crossbeam` in `path` is made of, by component of the load"
    )
    about: tuple[float, float, float] = Field(
        description="m, the beam's centre where the case has moved it: the point of all moments in load paths"
    )
    front_end: list[FrontEndEntry] = Field(
        description="every component of the load, and what the bulkhead puts on the roots; sums to zero"
    )
    at_rest: AtRest | None = Field(description="null without pretension")
    truss: Truss = Field(description="the trussed beam")
    buckling: Buckling | None = Field(description="null where neither crossbeam nor striker is squeezed")
    change: Change | None = Field(description="null where the case is solved in the shape at rest")
    balance: float = Field(description="resultant of loads and reactions over the sum of their sizes")
    error: float = Field(description="estimated relative error of the movements, from the last correction")
    first_error: float = Field(description="the same before refinement")


class MemberForces(ResultsPart):
    """Actions along the crossbeam, from its starboard end to its port end; stations at jumps stand twice."""

    station: list[float] = Field(description="m from the starboard end")
    actions: dict[str, dict[str, list[float]]] = Field(
        description="case → N, Vy, Vz N and T, My, Mz N·m at the stations; cut face to port, beam axes"
    )


class JointResults(ResultsPart):
    """One joint under all cases."""

    name: str = Field(description="name of the joint")
    words: str = Field(description="what it is")
    springs: list[Stiffness] | None = Field(
        description=(
            "surge sway heave N/m, roll pitch yaw N·m/rad, 0 free; null where they lie along other axes"
        )
    )
    racking_stiffness: float = Field(
        description="N/m, opposite forces at the stems per metre of differential heave"
    )
    stiffer: float = Field(description="racking_stiffness over that of the bows without a crossbeam")
    curves: dict[str, Curve | None] = Field(description="pitch (torque), roll (vertical bending); null: none")
    motions: list[Motion] = Field(description="lowest natural modes; empty where the bows have no mass")
    cases: list[Case] = Field(description="in the order of `cases`")
    crossbeam: MemberForces = Field(description="actions along the crossbeam")


class Worst(ResultsPart):
    """The most and the least of a value over all cases and combinations, and which brings each."""

    highest: float
    highest_in: str
    lowest: float
    lowest_in: str


class WorstAlong(ResultsPart):
    """The same at every station."""

    highest: list[float]
    highest_in: list[str]
    lowest: list[float]
    lowest_in: list[str]


class Row(ResultsPart):
    """A case or a combination in an envelope."""

    name: str
    how: str = Field(
        description="case; combined (from solved cases); slack, deformed, cancelling (solved as a whole)"
    )
    balance: float = Field(description="resultant of loads and reactions over the sum of their sizes")
    error: float = Field(description="relative; of what was combined a bound")


class AlongWorst(ResultsPart):
    """The envelope along the crossbeam."""

    station: list[float] = Field(description="m from the starboard end")
    actions: dict[str, WorstAlong] = Field(description="N, Vy, Vz N and T, My, Mz N·m, beam axes")


class EnvelopeOfJoint(ResultsPart):
    """One joint over all cases and combinations."""

    joint: str = Field(description="name of the joint")
    rows: list[Row] = Field(description="cases first, then combinations")
    joint_load: dict[str, dict[str, Worst]] = Field(description="hull → Fx Fy Fz N, Mx My Mz N·m, boat axes")
    stems: dict[str, dict[str, Worst]] = Field(description="hull → ux uy uz m, rx ry rz rad, boat axes")
    tension: dict[str, Worst] = Field(description="N, by part of the martingale")
    striker: Worst | None = Field(description="N, axial, pull positive; null without a striker")
    crossbeam: AlongWorst = Field(description="from its starboard end to its port end")
    longeron: AlongWorst | None = Field(
        description="from the longeron's root, and on along the prod; null without either"
    )


class Combined(ResultsPart):
    """A combination of cases."""

    name: str
    note: str
    factors: dict[str, float] = Field(description="by name of the case")


class Envelope(ResultsPart):
    """Combinations, and the worst over them and the cases."""

    entered: bool = Field(
        description="whether the file gives the combinations; else they are the default ones"
    )
    reason: str = Field(description="why the default combinations are these; empty where there are none")
    combinations: list[Combined]
    joints: list[EnvelopeOfJoint] = Field(description="empty where there is one case and nothing is combined")


class Margin(ResultsPart):
    """The worst of one check of one part; numbers are null where it was not checked."""

    part: str
    check: str
    load: float | None = Field(description="in `unit`, without sign; of an interaction the usage")
    allowable: float | None = Field(description="in `unit`; of an interaction 1")
    unit: str = Field(description="SI; empty of a usage")
    factor: float | None = Field(description="safety factor on the load")
    factor_name: str
    margin: float | None = Field(
        description="allowable over factor times load, less 1; null without load too"
    )
    worst_in: str | None = Field(description="case or combination; null where not checked")
    source: str = Field(description="of the formula")
    reason: str = Field(description="why it was not checked; empty where it was")


class MarginsOfJoint(ResultsPart):
    """Whether a joint's parts hold, and those beside it."""

    joint: str = Field(description="name of the joint")
    outcome: Literal["holds", "fails", "not known"] = Field(description="of the joint's own parts")
    beside: Literal["holds", "fails", "not known"] = Field(
        description="of striker, martingale, tang and beams"
    )
    checks: list[Margin] = Field(description="the governing one first, those not checked last")


class CaseHead(ResultsPart):
    """A load case."""

    name: str
    kind: str = Field(description="that of the boat file, of a case that it stands for too")
    words: str = Field(description="what it is")
    scale: float = Field(description="factor on all that it puts on the boat, as entered")
    source: str = Field(description="where its loads come from, and whether that was read or is from memory")
    formula: str = Field(description="symbols with this boat's numbers; empty where loads are as entered")
    validity: str = Field(description="the range for which the source holds; empty where it has none")
    inside: bool | None = Field(description="whether this boat lies inside it; null where there is none")


class Stay(ResultsPart):
    """The stay's line, as it pulls on its foot, in a rig case."""

    up: float = Field(description="N, pull up")
    aft: float = Field(description="N, pull aft")
    side: float = Field(description="N, pull to port")
    rake_at_foot: float = Field(description="rad, of the line at the foot, aft of vertical")
    lean_at_foot: float = Field(description="rad, of that line out of the boat's plane, to port")
    sag_aft: float = Field(description="over the stay's span, aft in its own plane")
    sag_side: float = Field(description="over the stay's span, to port")
    offset: float = Field(
        description="m, from the shear centre square to the line; positive: turns the beam bow down"
    )
    torque: float = Field(description="N·m about the beam's axis, positive bow down")
    torque_free_forward: float = Field(
        description="m, where the attachment would be, at its height, for no torque"
    )


class SaggedStay(Stay):
    """The stay's line in a rig case as it would be at some sag, its tension along the chord kept."""

    load: float = Field(description="N, the sail's whole load on the stay that bows it so")
    own: bool = Field(description="whether this is the case as it is run")


class Results(ResultsPart):
    """All numbers of one run, in SI."""

    format: Literal["forebeam results"]
    version: Literal[1]
    program: str = Field(description="version of the program that made it")
    title: str = Field(description="the boat file's title")
    source: str = Field(description="the boat file's name; empty where it came from no file")
    answer: list[str] = Field(description="the answer in sentences")
    boat: dict[str, Any] = Field(
        description="the boat file as read, in SI, with defaults; null: rigid or absent"
    )
    cases: list[CaseHead] = Field(description="the load cases")
    bare_racking_stiffness: float = Field(description="N/m, of the bows without a crossbeam")
    stay_lines: dict[str, Stay] = Field(description="by the name of the rig case")
    stay_over_sag: dict[str, list[SaggedStay]] = Field(
        description="by the name of the rig case: at no sag, at some aft, at some to port, and as the case is run"
    )
    joints: list[JointResults] = Field(description="in the order of the boat file")
    envelope: Envelope = Field(description="combinations and envelopes")
    margins: list[MarginsOfJoint] = Field(description="in the order of `joints`")
    variants: dict[str, Any] | None = Field(
        description="`variants`, `rows` with `quantity`, `unit`, `joint`, `values`; null: none"
    )
    wear: dict[str, Any] | None = Field(
        description="service and lives: `joints` with `ranges` N, N·m and `details`; miles are nautical; null: none"
    )
    extended_digits: int = Field(description="decimal digits of the residuals that refine the solution")
    members: list[str] = Field(
        description="members and cables in the order of cell data `member` in the VTU files"
    )
    remarks: list[str] = Field(description="what could not be written, and why")
    files: list[str] = Field(description="every file of the report's folder, this one too")


def schema() -> dict[str, Any]:
    """The JSON Schema of `results.json`."""
    return Results.model_json_schema()
