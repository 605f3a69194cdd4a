"""What `results.json` holds: versioned data in SI, with its JSON Schema.

Where a result's own dataclass has the shape of the file, it is written as it is; other parts are views, each beside what it is
made from. Fields may be added within a version; a change of meaning makes a new version.
"""

from __future__ import annotations

import importlib.metadata
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from cases.analyses.analysis import Analysis, ComparedBoat, FittingRemarks
from cases.analyses.claims import unchecked_entries
from cases.analyses.comparison import rows
from cases.analyses.discretisation import DiscretisationError
from cases.analyses.envelope import Extremes, JointEnvelope
from cases.analyses.fatigue_life import DetailLife, FatigueLives, GlueLife, WeldLife
from cases.analyses.joint_play import JointPlay
from cases.analyses.life_band import JointLifeBands
from cases.analyses.part_margins import PartMargins
from cases.analyses.provenance import RememberedStrength
from cases.analyses.stay_sag import SaggedStayLine, stay_line_over_sag
from cases.analyses.study import Buckling, CaseResult, JointResult, SecondOrderChange, Study
from cases.input.combinations import DEFAULT_COMBINATIONS_REASON, ExpandedCombination
from cases.loads import LoadCase
from cases.loads.base import LoadLevel
from cases.loads.origin import LoadBasis
from cases.loads.rig import StayLine
from cases.report.data.play_words import open_play_sentences
from cases.report.data.statements import design_load_words, strength_statements
from cases.report.data.words import answer
from femcore.base.arrays import FloatArray
from femcore.base.numbers import finite
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS
from femcore.results.vtu import cell_names
from femcore.solvers.assembly import EXTENDED
from models.boat.platform_recipe import CENTRE_SCATTER
from models.joints import DIRECTIONS, JointStiffness
from models.response.attraction import AttractionCurve
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES, TrussForces
from models.response.platform_frame import PlatformResponse
from models.strength.margins import Outcome

FORMAT = "forebeam results"
VERSION = 1
Stiffness = float | Literal["rigid"]
Six = tuple[float, float, float, float, float, float]


class ResultsPart(BaseModel):
    """A part of the results: closed, frozen, without infinities; taken from an object with attributes of the same names too."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, from_attributes=True, revalidate_instances="always"
    )


class Curve(ResultsPart):
    """What the joint attracts against its own stiffness k in one direction: (free · k_half + rigid · k) / (k + k_half)."""

    rigid: float = Field(
        description="N·m on the port hull per N of racking force, this direction rigid; boat axes"
    )
    free: float = Field(
        description="N·m likewise, this direction free; 0 but where it is coupled with other directions"
    )
    rigid_joint: float = Field(description="N·m likewise, all directions rigid")
    k_half: float = Field(description="N·m/rad, the stiffness half way from free to rigid")
    own: Stiffness = Field(
        description="N·m/rad, the joint's own stiffness, its other directions free to follow; 0 free"
    )
    attraction: float = Field(
        description="moment of the joint over that of the rigid joint under the same force"
    )

    @classmethod
    def of(cls, curve: AttractionCurve) -> Curve:
        """With the joint's own stiffness."""
        own = curve.joint_stiffness
        return cls(
            rigid=curve.rigid_moment,
            free=curve.free_moment,
            rigid_joint=curve.rigid_moment if curve.rigid_joint_moment is None else curve.rigid_joint_moment,
            k_half=curve.k_half,
            own=_spring(own),
            attraction=float(curve.attraction(own)),
        )


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
    """What pretension alone does: part of the entries of the same names."""

    joint_load: dict[str, Six] = Field(description="hull → on it at the joint")
    path: list[PathEntry] = Field(description="on the crossbeam; sums to zero")
    front_end: list[FrontEndEntry] = Field(description="on the roots; sums to zero")
    tension: dict[str, float] = Field(description="N, by part of the martingale")

    @classmethod
    def of(cls, found: CaseResult) -> AtRest | None:
        """None without pretension."""
        if (rest := found.under_pretension) is None:
            return None
        return cls(
            joint_load=_named(SIDES, rest.joint_load),
            path=_entries(found.path_names, rest.path),
            front_end=_roles("held", found.whole.roots, rest.held),
            tension=rest.tension,
        )


class Motion(ResultsPart):
    """A natural mode of the front end under pretension alone."""

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
        description="torque, bending: over those of a rigid joint in this case, each at its worse hull; null where that has none"
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
    truss: TrussForces = Field(description="the trussed beam")
    buckling: Buckling | None = Field(description="null where neither crossbeam nor striker is compressed")
    change: SecondOrderChange | None = Field(description="null where the case is solved in first order")
    balance: float = Field(description="resultant of loads and reactions over the sum of their sizes")
    error: float = Field(description="estimated relative error of the movements, from the last correction")
    first_error: float = Field(description="the same before refinement")
    discretisation: DiscretisationError | None = Field(
        description="estimated relative error from the division into elements, by halving them; null where they have no answer"
    )

    @classmethod
    def of(cls, found: CaseResult, first_error: float, discretisation: DiscretisationError | None) -> Case:
        """`first_error` is the solution's."""
        whole = found.whole
        applied = [component.name for component in whole.components]
        return cls(
            case=found.case.name,
            joint_load=_named(SIDES, found.joint_load),
            stems=_named(SIDES, found.stems),
            shares=found.shares and Shares(racking_moment=found.racking_moment, **found.shares),
            attraction=found.attraction,
            path=_entries(found.path_names, found.path),
            applied=_entries(applied, whole.on_crossbeam),
            about=whole.about.tolist(),
            front_end=[
                *_roles("applied", applied, whole.applied),
                *_roles("held", whole.roots, whole.reactions),
            ],
            at_rest=AtRest.of(found),
            truss=found.truss,
            buckling=found.buckling,
            change=found.change,
            balance=found.balance,
            error=found.error,
            first_error=first_error,
            discretisation=discretisation,
        )


class MemberForces(ResultsPart):
    """Actions along the crossbeam, from its starboard end to its port end; stations at jumps are listed twice."""

    station: list[float] = Field(description="m from the starboard end")
    actions: dict[str, dict[str, list[float]]] = Field(
        description="case → N, Vy, Vz N and T, My, Mz N·m at the stations; cut face to port, beam axes"
    )


class JointResults(ResultsPart):
    """One joint under all cases."""

    name: str = Field(description="name of the joint")
    words: str = Field(description="what it is")
    springs: list[Stiffness] | None = Field(
        description="surge sway heave N/m, roll pitch yaw N·m/rad, 0 free, each with the others held; null where their axes are "
        "not the boat's"
    )
    coupled: list[list[float]] | None = Field(
        description="six rows of the port joint's stiffness about its point, N/m, N and N·m/rad, boat axes, where directions are "
        "coupled; of a rigid direction no numbers but 0; null where each spring acts alone"
    )
    racking_stiffness: float = Field(
        description="N/m, opposite forces at the stems per metre of differential heave"
    )
    stiffer: float = Field(description="racking_stiffness over that of the bows without a crossbeam")
    curves: dict[str, Curve | None] = Field(description="pitch (torque), roll (vertical bending); null: none")
    motions: list[Motion] = Field(
        description="lowest natural modes: front end alone, dry; empty where the bows have no mass"
    )
    cases: list[Case] = Field(description="in the order of `cases`")
    crossbeam: MemberForces = Field(description="actions along the crossbeam")

    @classmethod
    def of(
        cls, joint: JointResult, bare: float, errors: Sequence[DiscretisationError] | None
    ) -> JointResults:
        """`bare` is the racking stiffness of the bows without a crossbeam; `errors` from division into elements, by case."""
        line, names = joint.crossbeam, [found.case.name for found in joint.cases]
        actions = [_named(ACTIONS, of_case.T) for of_case in line.actions]
        return cls(
            name=joint.joint.name,
            words=joint.joint.words(),
            springs=[_spring(k) for k in joint.stiffness.springs.tolist()]
            if joint.stiffness.is_in_boat_axes
            else None,
            coupled=_coupling(joint.stiffness),
            racking_stiffness=joint.racking_stiffness,
            stiffer=joint.racking_stiffness / bare,
            curves={direction: curve and Curve.of(curve) for direction, curve in joint.curves.items()},
            motions=joint.natural_modes,
            cases=[
                Case.of(*of)
                for of in zip(
                    joint.cases,
                    joint.solution.first_error.tolist(),
                    [None] * len(joint.cases) if errors is None else errors,
                    strict=True,
                )
            ],
            crossbeam=MemberForces(
                station=line.station.tolist(), actions=dict(zip(names, actions, strict=True))
            ),
        )


def _coupling(joint: JointStiffness) -> list[list[float]] | None:
    """The stiffness of a joint in boat axes whose directions are coupled."""
    if not any(joint.is_coupled(direction) for direction in DIRECTIONS) or joint.matrix is None:
        return None
    finite_springs = np.isfinite(joint.springs)
    rows: list[list[float]] = np.where(np.outer(finite_springs, finite_springs), joint.matrix, 0.0).tolist()
    return rows


class Unsolved(ResultsPart):
    """A joint with which the boat has no answer."""

    joint: str = Field(description="name of the joint")
    reason: str = Field(description="a mechanism, a slack system or no convergence, in words")


class Worst(ResultsPart):
    """The most and the least of a value over all cases and combinations, and which of them causes each."""

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

    @classmethod
    def of(cls, found: JointEnvelope) -> EnvelopeOfJoint:
        """Each extreme value with the name of the row that causes it."""
        rows, worst = found.rows, found.worst

        def at(reading: str, *place: Any) -> dict[str, Any]:  # noqa: ANN401  (any index)
            return _worst(worst[reading], place, rows.names)

        def by_side(reading: str, components: Sequence[str]) -> dict[str, Any]:
            return {
                side: {word: at(reading, s, k) for k, word in enumerate(components)}
                for s, side in enumerate(SIDES)
            }

        def along(beam: str) -> dict[str, Any] | None:
            if beam not in found.along:
                return None
            actions = {action: at(beam, slice(None), k) for k, action in enumerate(ACTIONS)}
            return {"station": found.along[beam].tolist(), "actions": actions}

        listed = zip(rows.names, rows.method, rows.balance.tolist(), rows.error.tolist(), strict=True)
        place = found.most_compressed_place
        return cls.model_validate({
            "joint": found.name,
            "rows": [dict(zip(Row.model_fields, row, strict=True)) for row in listed],
            "joint_load": by_side("joint_load", REACTIONS),
            "stems": by_side("stems", FREEDOMS),
            "tension": {name: at("tension", k) for k, name in enumerate(found.cables)},
            "striker": None if place is None else at("striker", place),
            "crossbeam": along("crossbeam"),
            "longeron": along("longeron"),
        })  # fmt: skip


class Envelope(ResultsPart):
    """Combinations, and the worst over them and the cases."""

    entered: bool = Field(
        description="whether the file gives the combinations; else they are the default ones"
    )
    reason: str = Field(description="why the default combinations are these; empty where there are none")
    combinations: list[ExpandedCombination]
    joints: list[EnvelopeOfJoint] = Field(description="empty where there is one case and nothing is combined")

    @classmethod
    def of(cls, analysis: Analysis) -> Envelope:
        """Of all joints."""
        entered, combinations = analysis.file.combinations is not None, analysis.file.expanded_combinations
        return cls(
            entered=entered,
            reason=DEFAULT_COMBINATIONS_REASON if combinations and not entered else "",
            combinations=combinations,
            joints=[EnvelopeOfJoint.of(one) for one in analysis.envelopes],
        )


class DesignLoadOfJoint(ResultsPart):
    """The largest size of one component of the joint load, pretension included."""

    component: str = Field(description="in beam words")
    size: float = Field(description="N or N·m")
    racking: float = Field(
        description="N or N·m, the part of it due to racking (antisymmetric); negative where racking reduces it"
    )
    row: str = Field(description="case or combination in which it is largest")
    side: str = Field(description="the hull")
    largest_racking: float = Field(
        description="N or N·m, the largest part due to racking of all cases and combinations"
    )
    racking_row: str = Field(description="in which")


class DesignLoadsOfJoint(ResultsPart):
    """Design loads of one joint, over all cases and combinations."""

    joint: str = Field(description="name of the joint")
    components: list[DesignLoadOfJoint]


class Margin(ResultsPart):
    """The worst of one check of one part; numbers are null where it was not checked."""

    part: str
    check: str
    load: float | None = Field(description="in `unit`, without sign; of an interaction the utilisation")
    allowable: float | None = Field(description="in `unit`; of an interaction 1")
    unit: str = Field(description="SI; empty of a utilisation")
    factor: float | None = Field(description="safety factor on the load")
    factor_name: str
    margin: float | None = Field(
        description="allowable over factor times load, less 1; null without load too"
    )
    worst_in: str | None = Field(description="case or combination; null where not checked")
    source: str = Field(description="of the formula")
    reason: str = Field(description="why it was not checked; empty where it was")
    remark: str = Field(
        "",
        description="what the margin rests on, such as the plastic strain entered of a glue; mostly empty",
    )


class MarginsOfJoint(ResultsPart):
    """The checks of a joint's parts, and of those beside it."""

    joint: str = Field(description="name of the joint")
    outcome: Outcome = Field(
        description="of the joint's own parts: fails; not known (a check lacks its data); holds (no check that was made fails)"
    )
    beside: Outcome = Field(description="of striker, martingale, tang and beams")
    checks: list[Margin] = Field(description="the governing one first, those not checked last")

    @classmethod
    def of(cls, one: PartMargins) -> MarginsOfJoint:
        """Each check at its worst."""
        return cls(
            joint=one.joint,
            outcome=one.outcomes[0],
            beside=one.outcomes[1],
            checks=[
                Margin(
                    part=worst.part, check=worst.check, load=finite(worst.load), allowable=finite(worst.allowable),
                    unit=worst.unit, factor=finite(worst.factor.value), factor_name=worst.factor.name,
                    margin=finite(worst.margin), worst_in=name, source=worst.source, reason=worst.reason,
                    remark=worst.remark,
                )
                for worst, name in one.worst
            ],
        )  # fmt: skip


class Unchecked(ResultsPart):
    """Something that is in no check."""

    part: str
    what: str = Field(description="of the part is in no check")
    why: str
    joints: list[str] = Field(description="with which it is not checked; empty: with every joint")


class PartRemark(ResultsPart):
    """What no margin says of a part."""

    part: str
    subject: str = Field(description="such as galvanic corrosion, preload and slip, locking, wear")
    words: str


class RemarksOnFitting(ResultsPart):
    """Remarks on the parts of one joint, or on those beside the joints."""

    joint: str = Field(description="name of the joint; empty: the parts beside the joints")
    remarks: list[PartRemark]

    @classmethod
    def of(cls, one: FittingRemarks) -> RemarksOnFitting:
        """Each remark."""
        return cls(joint=one.joint, remarks=[PartRemark(**remark._asdict()) for remark in one.remarks])


class PlayState(ResultsPart):
    """A pin's play in one case or combination, at one hull."""

    torque: float = Field(
        description="N·m, without sign, that turns the beam's end on its pin, the joint as closed"
    )
    opens_at: float = Field(description="N·m, from which the play is open")
    closed: bool
    with_play: float | None = Field(
        description="N·m, what is carried with the play in it; null where not known"
    )


class PlayOfJoint(ResultsPart):
    """The play of a joint's pin, over cases and combinations; every list is port, starboard."""

    joint: str = Field(description="name of the joint")
    clearance: dict[str, float] = Field(description="m, hole less pin, of lugs and eyes")
    angle: float = Field(description="rad, by which the beam's end turns free")
    rows: dict[str, list[PlayState]] = Field(description="case or combination → port, starboard")

    @classmethod
    def of(cls, one: JointPlay) -> PlayOfJoint:
        """Of every row."""
        carried = np.full_like(one.couple, np.nan) if one.with_play is None else one.with_play
        return cls(
            joint=one.joint,
            clearance={"lugs": one.play.in_lugs, "eyes": one.play.in_eyes},
            angle=one.angle,
            rows={
                name: [
                    PlayState(
                        torque=float(one.couple[row, side]),
                        opens_at=float(one.opening[row, side]),
                        closed=bool(one.closed[row, side]),
                        with_play=finite(float(carried[row, side])),
                    )
                    for side in range(len(SIDES))
                ]
                for row, name in enumerate(one.names)
            },
        )


class CaseHead(ResultsPart):
    """A load case."""

    name: str
    kind: str = Field(description="that of the boat file, of a case that it stands for too")
    words: str = Field(description="what it is")
    scale: float = Field(description="factor on all that it puts on the boat, as entered")
    source: str = Field(description="where its loads come from, and whether that was read or is from memory")
    formula: str = Field(description="symbols with this boat's numbers; empty where loads are as entered")
    validity: str = Field(description="the range for which the source holds; empty where it has none")
    inside: bool | None = Field(description="whether this boat is inside it; null where there is none")
    basis: LoadBasis = Field(description="whether the size of the loads was entered, computed or estimated")
    level: LoadLevel = Field(
        description="working: factors in full; extreme: a load that is not exceeded, their part for loads left out"
    )

    @classmethod
    def of(cls, case: LoadCase) -> CaseHead:
        """With where its loads come from."""
        kind = getattr(case, "kind", "")
        head = {"name": case.name, "kind": kind, "words": case.words(), "scale": case.scale}
        return cls(**head, **asdict(case.origin()), level=case.load_level)


class PlatformByHand(ResultsPart):
    """The closed form of the platform."""

    twist_centre: float = Field(description="m, x of it")
    twist_per_moment: float = Field(description="rad/(N·m)")
    shear_stiffness: dict[str, float] = Field(description="N/m, by member")


class PlatformResults(ResultsPart):
    """What the platform alone does under moments on both hulls at the main bulkhead."""

    twist_centre: float = Field(description="m, x of it: negative aft of the main bulkhead")
    twist_per_moment: float = Field(
        description="rad/(N·m), half the difference of the hulls' pitch per moment on each"
    )
    twist_range: tuple[float, float] | None = Field(
        description="rad/(N·m), between which shells put twist_per_moment of a platform as built; null: members as typed"
    )
    twist_centre_scatter: float | None = Field(description="m, to either side, likewise")
    antisymmetric_roll: float = Field(description="N·m/rad per root, both hulls rolled alike")
    symmetric_roll: float = Field(description="N·m/rad per root, the hulls rolled apart")
    symmetric_recipe_roll: float | None = Field(
        description="N·m/rad, symmetric_roll by members for symmetric bending, of a platform as built; null: members as typed"
    )
    antisymmetric_yaw: float = Field(description="N·m/rad per root, both hulls yawed alike")
    symmetric_yaw: float = Field(description="N·m/rad per root, the hulls yawed apart")
    by_hand: PlatformByHand

    @classmethod
    def of(cls, study: Study) -> PlatformResults | None:
        """Of a boat with a platform."""
        found, platform = study.platform, study.file.platform
        if found is None or platform is None:
            return None
        names = [member.name for member in platform.members]
        by_hand = PlatformByHand(
            twist_centre=found.hand.twist_centre,
            twist_per_moment=found.hand.twist_per_moment,
            shear_stiffness=dict(zip(names, found.hand.shear_stiffness.tolist(), strict=True)),
        )
        own = {name: getattr(found, name) for name in PlatformResponse.__slots__ if name in cls.model_fields}
        low, high = platform.twist_range or (1.0, 1.0)
        scatter = {
            "twist_range": (low * found.twist_per_moment, high * found.twist_per_moment),
            "twist_centre_scatter": CENTRE_SCATTER,
        }
        return cls(**own, **(scatter if platform.twist_range else dict.fromkeys(scatter)), by_hand=by_hand)


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
    platform: PlatformResults | None = Field(description="null: root springs, or rigid roots")
    stay_lines: dict[str, StayLine] = Field(description="by the name of the rig case")
    stay_over_sag: dict[str, list[SaggedStayLine]] = Field(
        description="by the name of the rig case: at no sag, at some aft, at some to port, and as the case is run"
    )
    joints: list[JointResults] = Field(description="that have an answer, in the order of the boat file")
    unsolved: list[Unsolved] = Field(description="joints without an answer; empty where every joint has one")
    envelope: Envelope = Field(description="combinations and envelopes")
    design_loads: list[DesignLoadsOfJoint] = Field(description="in the order of `joints`")
    margins: list[MarginsOfJoint] = Field(description="in the order of `joints`")
    not_checked: list[Unchecked] = Field(description="everything that is in no check")
    play: list[PlayOfJoint] = Field(description="of the joints whose pin has play; empty where none has")
    fitting_remarks: list[RemarksOnFitting] = Field(
        description="of the joints, then of the parts beside them"
    )
    variants: dict[str, Any] | None = Field(
        description="`variants`, `rows` with `quantity`, `unit`, `joint`, `values`; null: none"
    )
    wear: dict[str, Any] | None = Field(
        description="service and lives: `joints` with `ranges` N, N·m and `details`; miles are nautical; null: none"
    )
    strengths_from_memory: list[RememberedStrength] = Field(
        description="of materials in use, recalled and not looked up; values as entered, with their units"
    )
    extended_digits: int = Field(description="decimal digits of the residuals that refine the solution")
    members: list[str] = Field(
        description="members and cables in the order of cell data `member` in the VTU files"
    )
    remarks: list[str] = Field(
        description="what in the file is hard to believe; what could not be worked out or written, and why"
    )
    files: list[str] = Field(description="every file of the report's folder, this one too")


def results(analysis: Analysis, remarks: Iterable[str] = (), files: Iterable[str] = ()) -> Results:
    """All numbers of an analysis; `remarks` and `files` of the folder that they go to."""
    study, file = analysis.study, analysis.file
    bare = study.bare_racking_stiffness
    return Results(
        format=FORMAT,
        version=VERSION,
        program=importlib.metadata.version("forebeam"),
        title=file.title,
        source=analysis.source,
        answer=[
            *strength_statements(analysis),
            design_load_words(analysis),
            *open_play_sentences(analysis.joint_plays),
            *answer(study),
        ],
        boat=file.model_dump(mode="json", exclude={"cases", "title"}),
        cases=[CaseHead.of(case) for case in study.cases],
        bare_racking_stiffness=bare,
        platform=PlatformResults.of(study),
        stay_lines=study.stay_lines(),
        stay_over_sag={rig.name: stay_line_over_sag(file, rig) for rig in study.rig_cases},
        joints=[
            JointResults.of(joint, bare, errors)
            for joint, errors in zip(study.joints, analysis.discretisation, strict=True)
        ],
        unsolved=[Unsolved(joint=one.joint.name, reason=one.reason) for one in study.unsolved],
        envelope=Envelope.of(analysis),
        design_loads=[
            DesignLoadsOfJoint(joint=joint.joint.name, components=[asdict(load) for load in loads])
            for joint, loads in zip(study.joints, analysis.design_loads, strict=True)
        ],
        margins=[MarginsOfJoint.of(one) for one in analysis.part_margins],
        not_checked=[
            Unchecked(joints=list(one.joints), **asdict(one.entry))
            for one in unchecked_entries(file, analysis.part_margins)
        ],
        play=[PlayOfJoint.of(one) for one in analysis.joint_plays],
        fitting_remarks=[RemarksOnFitting.of(one) for one in analysis.fitting_remarks],
        variants=comparison_data(analysis.compared) if analysis.compared else None,
        wear=fatigue_data(analysis.fatigue_lives, analysis.life_bands),
        strengths_from_memory=list(analysis.remembered_strengths),
        extended_digits=int(np.finfo(EXTENDED).precision),
        members=cell_names(study.joints[0].solution),
        remarks=list(remarks),
        files=list(files),
    )


class _ClosedSchema(GenerateJsonSchema):
    """Results' own dataclasses are closed in the schema, as the views are."""

    def dataclass_schema(self, schema: core_schema.DataclassSchema) -> JsonSchemaValue:
        return {"additionalProperties": False, **super().dataclass_schema(schema)}


def schema() -> dict[str, Any]:
    """The JSON Schema of `results.json`."""
    return Results.model_json_schema(mode="serialization", schema_generator=_ClosedSchema)


def comparison_data(compared: tuple[ComparedBoat, ...]) -> dict[str, Any]:
    """The comparison as JSON, in SI.

    {"variants": [{"name", "note", "stay_torque": {case: N·m}, "joints": [{"joint", "racking_stiffness", "cases":
    [{"case", "kind", "largest": {component: the larger of both hulls}, "tension": {part: N}}]}]}],
    "rows": [{"quantity", "unit", "joint", "values": one for each variant, null where it has none}]}
    """

    def case(found: CaseResult) -> dict[str, Any]:
        return {
            "case": found.case.name,
            "kind": getattr(found.case, "kind", ""),
            "largest": _named(JOINT_LOAD_NAMES, np.abs(found.joint_load).max(axis=0)),
            "tension": found.truss.tension,
        }

    variants = [
        {
            "name": one.name,
            "note": one.note,
            "stay_torque": {name: line.torque for name, line in one.study.stay_lines().items()},
            "joints": [
                {
                    "joint": joint.joint.name,
                    "racking_stiffness": joint.racking_stiffness,
                    "cases": [case(found) for found in joint.cases],
                }
                for joint in one.study.joints
            ],
        }
        for one in compared
    ]
    return {"variants": variants, "rows": [asdict(row) for row in rows(compared)]}


def fatigue_data(lives: FatigueLives | None, bands: Sequence[JointLifeBands] = ()) -> dict[str, Any] | None:
    """The service and what it does as JSON, in SI (distances in nautical miles); None where there is no service.

    {"case", "about", "miles", "cycles", "shape", "swing", "joints": [{"joint", "ranges": {side: {component: value}},
    "details": [{"name", "component", "curve", "source", "side", "factor", "load_range", "largest", "mean", "allowed", "damage",
    "miles", "static", "place", "damages": {place: damage}}], "welds": [{"part", "side", "toe_range", "root_range", "shear_range",
    "toe_damage", "root_damage", "factor", "miles", "source", "governing"}], "glue": [{"part", "check", "side", "largest", "mean",
    "strength", "factor", "source", "allowed", "damage", "miles", "band", "static"}], "bands": [{"name",
    "shortest", "longest"}]}]}; damage null: broken by the steady load alone; miles null: never; place: toe or root of a fillet
    weld, else empty; bands: miles of details and welds with 1.6 and 0.6 times the racking range, empty where not given; band of
    glue: miles with both, and with the decade rule's own scatter; its stresses in Pa
    """

    def life(found: DetailLife) -> dict[str, Any]:
        names = [name for name in DetailLife.__slots__ if name != "detail"]
        own = {name: getattr(found, name) for name in names}
        of_detail = {name: getattr(found.detail, name) for name in ("name", "component", "curve")}
        own["damages"] = {place: finite(value) for place, value in found.damages.items()}
        return of_detail | {k: finite(v) if isinstance(v, float) else v for k, v in own.items()}

    def weld(found: WeldLife) -> dict[str, Any]:
        own = {name: getattr(found, name) for name in WeldLife.__slots__} | {"governing": found.governing}
        return {k: finite(v) if isinstance(v, float) else v for k, v in own.items()}

    def glue(found: GlueLife) -> dict[str, Any]:
        own = {name: getattr(found, name) for name in GlueLife.__slots__}
        own["band"] = [finite(miles) for miles in found.band]
        return {k: finite(v) if isinstance(v, float) else v for k, v in own.items()}

    if lives is None:
        return None
    return {
        "case": lives.case,
        **{name: getattr(lives.service, name) for name in ("about", "miles", "cycles", "shape", "swing")},
        "joints": [
            {
                "joint": one.joint,
                "ranges": {
                    side: _named(JOINT_LOAD_NAMES, row) for side, row in zip(SIDES, one.ranges, strict=True)
                },
                "details": [life(found) for found in one.lives],
                "welds": [weld(found) for found in one.welds],
                "bands": [
                    {"name": band.name, "shortest": finite(band.shortest), "longest": finite(band.longest)}
                    for band in (*of_joint.details, *of_joint.welds)
                ],
                "glue": [glue(found) for found in one.glue],
            }
            for one, of_joint in zip(
                lives.joints, [*bands] or [JointLifeBands((), ())] * len(lives.joints), strict=True
            )
        ],
    }


def _spring(stiffness: float) -> Stiffness:
    return "rigid" if math.isinf(stiffness) else stiffness


def _named(names: Sequence[str], values: FloatArray) -> dict[str, Any]:
    """Values (n, …) by n names."""
    return dict(zip(names, values.tolist(), strict=True))


def _entries(names: Sequence[str], actions: FloatArray) -> list[PathEntry]:
    return [PathEntry(name=name, action=action) for name, action in zip(names, actions.tolist(), strict=True)]


def _roles(
    role: Literal["applied", "held"], names: Sequence[str], actions: FloatArray
) -> list[FrontEndEntry]:
    return [FrontEndEntry(role=role, **dict(entry)) for entry in _entries(names, actions)]


def _worst(found: Extremes, at: tuple[Any, ...], names: Sequence[str]) -> dict[str, Any]:
    """One value, or a list of values, with the names of the rows that cause it."""
    rows = np.array(names, dtype=object)
    return {
        "highest": found.highest[at].tolist(),
        "highest_in": np.asarray(rows[found.highest_in[at]]).tolist(),
        "lowest": found.lowest[at].tolist(),
        "lowest_in": np.asarray(rows[found.lowest_in[at]]).tolist(),
    }
