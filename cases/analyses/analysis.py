"""A boat's whole analysis: the study of its joints and cases, and all that follows from it, worked out once.

Report, results, terminal and comparison read from here. Apart from the study, everything is worked out when first asked for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

import numpy as np
from pydantic import Field

from cases.analyses.candidates import candidates
from cases.analyses.case_rows import CaseRows, case_rows_together
from cases.analyses.decision import Candidate, Decision, decide, verdicts_on
from cases.analyses.design_loads import DesignLoad, design_loads
from cases.analyses.discretisation import DiscretisationErrors, discretisation_of
from cases.analyses.envelope import JointEnvelope, envelope
from cases.analyses.fatigue_life import FatigueLives, fatigue_lives
from cases.analyses.joint_play import JointPlay, joint_plays
from cases.analyses.joint_results import CaseResult, JointResult
from cases.analyses.life_band import JointLifeBands, life_bands
from cases.analyses.next_actions import NextAction, next_actions
from cases.analyses.part_margins import PartMargins, part_margins
from cases.analyses.provenance import (
    RememberedFormula,
    RememberedStrength,
    remembered_formulas,
    remembered_strengths,
)
from cases.analyses.racking_ways import RackingWays, racking_ways
from cases.analyses.study import Study, require_answer, run_study
from cases.analyses.uncertainty.uncertainty import Sampled, Uncertainty, sampled, uncertainty
from cases.analyses.wave_scan import WaveScan, wave_scans
from cases.input.boat_file import BoatFile, require_boat
from cases.input.plausibility import plausibility_warnings
from cases.input.variants import AS_ENTERED, Variant
from femcore.base.errors import InputFault, StructureFault
from femcore.base.process import Begun
from femcore.base.process import results as in_order
from femcore.base.toml import collect, unknown
from femcore.base.written import Unwritten, written
from models.checks.beam_part_remarks import beam_part_remarks
from models.response.attraction import AttractionCurve
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index
from models.strength.margins import GoverningCheck
from models.strength.remarks import Remark

if TYPE_CHECKING:
    from cases.analyses.calibration_result import CalibrationResult

DIRECTIONS_OF_CURVES = {"pitch": "pitch", "torque": "pitch", "roll": "roll", "vertical bending": "roll"}
"""The direction of an attraction curve by its own name, and by that of the moment."""
OF_EACH_JOINT = frozenset({"case_rows", "part_margins", "design_loads", "discretisation"})
"""What an analysis works out joint by joint."""
OF_DECIDED = frozenset({"sampled", "verdicts", "next_actions", "decision"})
"""What it works out of the candidates, and of the joints whose parts are described."""
AnalysedVariant: TypeAlias = "Analysis | StructureFault"
"""A variant with its margins, or why it has none."""


def analyse(
    file: BoatFile,
    source: str = "",
    test: CalibrationResult | None = None,
) -> Analysis:
    """Solve every joint under every case; a joint without an answer is in the study's `unsolved`.

    StructureFault, naming the joints, where none has an answer.
    InputFaults where the parts of a boat made in Python do not fit, as when a file is read.

    source : the name of the boat file, for a report to name;   test : a test on the boat, worked out, to be reported beside it
    """
    check(file, source)
    return Analysis(run_study(file, source), test)


def check(file: BoatFile, source: str = "") -> None:
    """InputFaults where the parts of a boat made in Python do not fit, as when a file is read."""
    require_boat(file)
    collect(source or "boat", file.own_faults())


def analysed_variant(file: BoatFile, variant: Variant, source: str = "") -> AnalysedVariant:
    """A variant of the file, analysed with its margins, or why it cannot be."""
    try:
        return analyse(file.variant(variant), source).with_answers(lives=False)
    except StructureFault as fault:
        return fault


@dataclass(slots=True)
class BegunParts:
    """What another process has begun of an analysis, filled in as that is begun; None: it is worked out here when asked for."""

    variants: tuple[Begun[AnalysedVariant], ...] | None = None
    actions: Begun[tuple[NextAction, ...]] | None = None
    discretisation: Begun[DiscretisationErrors] | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Analysis:
    """A study and what follows from it; a StructureFault of a combination is raised by whatever needs it."""

    study: Study
    test: CalibrationResult | None = None
    begun: BegunParts = field(default_factory=BegunParts)

    def __repr__(self) -> str:
        """What it is of; the numbers are thousands."""
        return f"<Analysis of {self.study!r}>"

    @property
    def file(self) -> BoatFile:
        """The boat file that was analysed."""
        return self.study.file

    @property
    def source(self) -> str:
        """The boat file's name; empty where it came from none."""
        return self.study.source

    @cached_property
    def case_rows(self) -> tuple[CaseRows, ...]:
        """Of every joint: its cases and combinations."""
        several = [(one.joint, one.front, one.solution) for one in self.study.joints]
        return case_rows_together(several, self.file.expanded_combinations)

    @cached_property
    def design_loads(self) -> tuple[tuple[DesignLoad, ...], ...]:
        """Of every joint, component by component."""
        return tuple(map(design_loads, self.case_rows))

    @cached_property
    def envelopes(self) -> tuple[JointEnvelope, ...]:
        """Of every joint; empty where there is one case and no combination."""
        many = len(self.study.cases) > 1 or self.file.expanded_combinations
        return tuple(map(envelope, self.case_rows)) if many else ()

    @cached_property
    def discretisation(self) -> DiscretisationErrors:
        """Of every joint: the error from division into elements in each case; None where it could not be estimated."""
        begun = self.begun.discretisation
        return discretisation_of(self.study.joints) if begun is None else begun.result()

    @cached_property
    def part_margins(self) -> tuple[PartMargins, ...]:
        """Of every joint: its own parts and those beside it, over its cases and combinations."""
        return part_margins(self.file, self.study.joints, self.case_rows)

    @cached_property
    def fitting_remarks(self) -> tuple[FittingRemarks, ...]:
        """What no margin says of the parts of each joint, and of those beside the joints; those without any are left out."""
        found = [
            FittingRemarks(one.joint.name, one.joint.remarks(rows.values.joint_load))
            for one, rows in zip(self.study.joints, self.case_rows, strict=True)
        ]
        return tuple(one for one in (*found, FittingRemarks("", beam_part_remarks(self.file))) if one.remarks)

    @cached_property
    def joint_plays(self) -> tuple[JointPlay, ...]:
        """Of every joint whose pin has play: where it is closed, over its cases and combinations."""
        return joint_plays(self.study.joints, self.case_rows)

    @cached_property
    def wave_scans(self) -> tuple[WaveScan, ...]:
        """Of every case of waves: which wave is worst for each joint; empty where there is none."""
        return wave_scans(self.file, self.study.joints)

    @cached_property
    def sampled(self) -> Sampled:
        """The joints over all inputs that scatter. InputFault where a scatter that was entered leads to no boat."""
        return sampled(self.file, self.study.joints, self.case_rows, self.part_margins)

    @cached_property
    def uncertainty(self) -> Uncertainty:
        """How sure each joint's loads and margins are, from these samples. InputFault likewise."""
        return uncertainty(self.sampled)

    @cached_property
    def racking_ways(self) -> RackingWays:
        """Every way to know how large the racking is, beside what was entered."""
        return racking_ways(self.study)

    @cached_property
    def remembered_formulas(self) -> tuple[RememberedFormula, ...]:
        """Sources from memory of the checks made."""
        return remembered_formulas(self.part_margins)

    @cached_property
    def remembered_strengths(self) -> tuple[RememberedStrength, ...]:
        """Strengths from memory of the materials in use."""
        return remembered_strengths(self.file)

    @cached_property
    def fatigue_lives(self) -> FatigueLives | None:
        """None where the file has no service."""
        return fatigue_lives(self.study)

    @cached_property
    def life_bands(self) -> tuple[JointLifeBands, ...]:
        """Of every joint in the order of `fatigue_lives`; empty where the file has no service."""
        lives, factor = self.fatigue_lives, self.file.factors.fatigue
        if lives is None:
            return ()
        pairs = zip(self.study.joints, lives.joints, strict=True)
        return tuple(life_bands(joint.joint, of_joint, lives.service, factor) for joint, of_joint in pairs)

    @property
    def lives_with_bands(self) -> FatigueLives | None:
        """The same with the band of each life."""
        lives = self.fatigue_lives
        if lives is None:
            return None
        pairs = zip(lives.joints, self.life_bands, strict=True)
        joints = tuple(replace(one, bands=(*bands.details, *bands.welds)) for one, bands in pairs)
        return replace(lives, joints=joints)

    @property
    def decided(self) -> tuple[tuple[JointResult, PartMargins], ...]:
        """The candidates that have an answer, with their margins, in the order of the file."""
        chosen = {joint.name for joint in candidates(self.file)}
        pairs = zip(self.study.joints, self.part_margins, strict=True)
        return tuple((joint, margins) for joint, margins in pairs if joint.name in chosen)

    @cached_property
    def verdicts(self) -> tuple[Candidate, ...]:
        """The candidates with their verdicts and numbers, before chances and what of the loads turns them."""
        return verdicts_on(self)

    @cached_property
    def next_actions(self) -> tuple[NextAction, ...]:
        """What to do next, the most telling first."""
        begun = self.begun.actions
        return next_actions(self.study, self.decided) if begun is None else begun.result()

    @cached_property
    def decision(self) -> Decision:
        """The candidates' verdicts, what would change them, and what to do next."""
        return decide(self)

    @cached_property
    def variants(self) -> tuple[tuple[Variant, Analysis | StructureFault], ...]:
        """Each variant of the file, analysed with its margins, or why it cannot be."""
        begun, every = self.begun.variants, self.file.variants
        if begun is None:
            return tuple((one, analysed_variant(self.file, one, self.source)) for one in every)
        return tuple(zip(every, in_order(begun), strict=True))

    @property
    def compared(self) -> tuple[ComparedBoat, ...]:
        """The boat as entered and its variants, as far as these can be solved; empty where none can."""
        solved = [
            ComparedBoat(variant.name, variant.note, made)
            for variant, made in self.variants
            if isinstance(made, Analysis)
        ]
        return (ComparedBoat(AS_ENTERED, self.file.note, self), *solved) if solved else ()

    def with_answers(self, *, lives: bool = True) -> Analysis:
        """The same with margins and fatigue lives worked out, and a joint for which that cannot be done moved to `unsolved`.

        lives : whether fatigue lives are wanted

        StructureFault, naming the joints, where none has an answer.
        """
        found = self.sorted_out(lives=lives)
        require_answer(found.study.joints, found.study.unsolved)
        return found

    def sorted_out(self, *, lives: bool = True) -> Analysis:
        """The same where no joint may be left."""
        if self._fault(lives=lives) is None:
            return self

        def fault_of(joint: JointResult) -> StructureFault | None:
            return Analysis(replace(self.study, joints=(joint,)))._fault(lives=lives)  # noqa: SLF001

        return replace(self, study=self.study.sorted_out(fault_of))

    def with_joints_of(self, other: Analysis) -> Analysis:
        """The same with the joints of another analysis of the same file too.

        What both have worked out of each joint is kept, and of the boat what this one has: it has the candidates, and all joints
        whose parts are described.
        """
        begun = replace(self.begun, discretisation=None)  # of fewer joints
        whole = replace(self, study=self.study.with_joints_of(other.study), begun=begun)
        names = [joint.joint.name for joint in whole.study.joints]

        def both(key: str, of_joints: Callable[[Any], tuple[Any, ...]] = tuple) -> tuple[Any, ...]:
            found = {
                joint.joint.name: of_joint
                for one in (self, other)
                for joint, of_joint in zip(one.study.joints, of_joints(vars(one)[key]), strict=True)
            }
            return tuple(found[name] for name in names)

        known = vars(self).keys() & vars(other).keys()
        kept: dict[str, Any] = {key: both(key) for key in OF_EACH_JOINT & known}
        kept |= {key: vars(self)[key] for key in OF_DECIDED & vars(self).keys()}
        if "fatigue_lives" in known:
            lives = self.fatigue_lives
            kept["fatigue_lives"] = lives and replace(
                lives, joints=both("fatigue_lives", lambda found: found.joints)
            )
        vars(whole).update(kept)  # where its own cached properties would put them
        return whole

    def _fault(self, *, lives: bool) -> StructureFault | None:
        """Why margins or lives cannot be worked out; None where they can."""
        try:
            _ = self.part_margins, self.fatigue_lives if lives else None
        except StructureFault as fault:
            return fault
        return None

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """What in the file is hard to believe, in sentences."""
        return plausibility_warnings(self.file)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What in the file is hard to believe, and what could not be worked out, in sentences."""
        found = [*self.warnings, *(one.words() for one in self.study.unsolved)]
        for variant, made in self.variants:
            if isinstance(made, StructureFault):
                found.append(f"The variant ‘{variant.name}’ has no answer: {made}.")
            else:
                found += [f"The variant ‘{variant.name}’: {one.words()}" for one in made.study.unsolved]
        return tuple(found)

    @property
    def joints(self) -> tuple[JointAnalysis, ...]:
        """Every joint, in the order of the file."""
        return tuple(JointAnalysis(self, number) for number in range(len(self.study.joints)))

    def joint(self, name: str) -> JointAnalysis:
        """One joint; InputFault where there is none of that name."""
        names = [one.joint.name for one in self.study.joints]
        return JointAnalysis(self, _index(names, "joint", name))


@dataclass(frozen=True, slots=True)
class FittingRemarks:
    """Remarks on the parts of one joint, or on those beside the joints."""

    joint: Annotated[str, Field(description="name of the joint; empty: the parts beside the joints")]
    remarks: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class ComparedCase:
    """A joint of a variant in one case."""

    case: Annotated[str, Field(description="name of the case")]
    kind: Annotated[str, Field(description="that of the boat file")]
    largest: Annotated[
        dict[str, float],
        Field(description="component in beam words → N or N·m, the larger size of both hulls"),
    ]
    tension: Annotated[dict[str, float], Field(description="N, by part of the martingale")]


@dataclass(frozen=True, slots=True)
class ComparedJoint:
    """A joint of a variant."""

    joint: Annotated[str, Field(description="name of the joint")]
    racking_stiffness: Annotated[float, Field(description="N/m")]
    cases: tuple[ComparedCase, ...]

    @classmethod
    def of(cls, one: JointResult) -> ComparedJoint:
        """What is compared of it."""
        cases = (
            ComparedCase(
                found.case.name,
                getattr(found.case, "kind", ""),
                dict(zip(JOINT_LOAD_NAMES, np.abs(found.joint_load).max(axis=0).tolist(), strict=True)),
                found.truss.tension,
            )
            for found in one.cases
        )
        return cls(one.name, one.racking_stiffness, tuple(cases))


@dataclass(frozen=True, slots=True, eq=False)
class ComparedBoat:
    """The boat as entered, or a variant of it, analysed."""

    name: str
    note: str
    analysis: Unwritten[Analysis]

    @written("N·m, by the name of the rig case")
    def stay_torque(self) -> dict[str, float]:
        """Of the stay about the beam's axis."""
        return {name: line.torque for name, line in self.study.stay_lines().items()}

    @written("that have an answer")
    def joints(self) -> list[ComparedJoint]:
        """In the order of the file."""
        return [ComparedJoint.of(one) for one in self.study.joints]

    @property
    def study(self) -> Study:
        """Of the analysis."""
        return self.analysis.study

    @property
    def part_margins(self) -> tuple[PartMargins, ...]:
        """Of the analysis."""
        return self.analysis.part_margins


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class JointAnalysis:
    """One joint of an analysis, read by the names of its cases, components and sides."""

    analysis: Analysis
    number: int

    def __repr__(self) -> str:
        """Its name, and what it has been through."""
        rows = len(self.result.cases)
        return f"<JointAnalysis ‘{self.name}’, {self.result.joint.words()}: {rows} case{'s' if rows > 1 else ''}>"

    @property
    def result(self) -> JointResult:
        """All that was read off its solution."""
        return self.analysis.study.joints[self.number]

    @property
    def name(self) -> str:
        """Of the joint."""
        return self.result.joint.name

    @property
    def racking_stiffness(self) -> float:
        """N/m, opposite forces at the stems per metre of differential heave."""
        return self.result.racking_stiffness

    @property
    def envelope(self) -> JointEnvelope:
        """Over its cases and combinations, where there is but one case too."""
        envelopes = self.analysis.envelopes
        return envelopes[self.number] if envelopes else envelope(self.analysis.case_rows[self.number])

    def case(self, name: str) -> CaseResult:
        """The joint under one case; InputFault where there is none of that name."""
        return self.result.case(name)

    def load(self, case: str, component: str, *, side: str | None = None, added: bool = False) -> float:
        """N or N·m, signed, boat axes: one component of what the crossbeam puts on the hull in a case or combination.

        component : "torque", "vertical bending", "fore-and-aft bending", "vertical shear", "fore-and-aft shear", "axial force",
                    or Fx, Fy, Fz, Mx, My, Mz
        side      : "port" or "starboard"; left out: the one with the larger size
        added     : only what the case adds to pretension; of cases alone

        InputFault, with the nearest name, for a name that does not exist.
        """
        names = [one.case.name for one in self.result.cases]
        if case in names or added:
            found = self.case(case)
            load = found.added_joint_load if added else found.joint_load
        else:
            names += [one.name for one in self.analysis.file.expanded_combinations]
            row = _index(names, "case or combination", case)
            load = self.analysis.case_rows[self.number].values.joint_load[row]
        of_sides = load[:, component_index(component)]
        at = int(np.abs(of_sides).argmax()) if side is None else _index(SIDES, "side", side)
        return float(of_sides[at])

    def shares(self, case: str) -> dict[str, float] | None:
        """Hull, torque and shear share of the racking moment; None where nothing racks the bows."""
        found = self.case(case).shares
        return None if found is None else found.by_part

    def curve(self, direction: str) -> AttractionCurve:
        """What the joint attracts against its stiffness in "pitch" (torque) or "roll" (vertical bending).

        InputFault for another direction, and where the joint has no such spring or carries nothing there.
        """
        directions = list(DIRECTIONS_OF_CURVES)
        key = DIRECTIONS_OF_CURVES[directions[_index(directions, "direction", direction)]]
        curve = self.result.curves[key]
        if curve is None:
            raise InputFault(
                f"joint '{self.name}'", f"has no attraction curve in {key}", "ask for the other direction"
            )
        return curve

    def margins(self) -> tuple[tuple[GoverningCheck, str | None], ...]:
        """The lowest margin of every check of every part and the case or combination that causes it, the governing one first.

        What was not checked comes last, without a case.
        """
        return self.analysis.part_margins[self.number].worst


def _index(known: tuple[str, ...] | list[str], what: str, name: str) -> int:
    """Place of a name; InputFault, with the nearest, where it does not exist."""
    if name not in known:
        raise unknown("", what, name, known)
    return list(known).index(name)
