"""What is worked out of a study beyond its cases, once for page, tables and numbers: envelopes, variants, wear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cases.comparison import Compared
from cases.envelope import JointEnvelope, envelopes
from cases.study import Study, run_study
from cases.variants import AS_ENTERED
from cases.wear import Wear, wear
from femcore.errors import StructureFault
from models.margins import Outcome, Worst, envelope, outcome


@dataclass(frozen=True, slots=True)
class Judged:
    """One joint's parts, and those beside it: whether they hold.

    outcome, beside : of the joint's own parts, and of striker, martingale, tang and beams with it
    own  : the parts that are the joint's own
    rows : the worst of every part and check, the governing one first, and the case or combination that brings it; those not
           checked, without one, last
    """

    joint: str
    outcome: Outcome
    beside: Outcome
    own: frozenset[str]
    rows: tuple[tuple[Worst, str | None], ...]

    def governing(self, *, own: bool) -> tuple[Worst, str] | None:
        """The lowest margin of the joint's own parts, or of those beside it; None where none was checked."""
        known = ((worst, name) for worst, name in self.rows if name is not None)
        return next((row for row in known if (row[0].part in self.own) == own), None)


@dataclass(frozen=True, slots=True, eq=False)
class Findings:
    """What a study's file asks for besides joints and cases.

    envelopes : of every joint; none where there is but one case and no combination
    compared  : the boat as entered and its variants; none where there are no variants
    judged    : every joint's margins
    wear      : its joints in the service; None where there is none
    remarks   : what could not be worked out, in sentences
    """

    envelopes: tuple[JointEnvelope, ...]
    compared: tuple[Compared, ...]
    wear: Wear | None
    judged: tuple[Judged, ...]
    remarks: tuple[str, ...]


def findings(study: Study) -> Findings:
    """Work it out; StructureFault where a combination cannot be solved; a variant that cannot is a remark."""
    remarks: list[str] = []
    many = len(study.cases) > 1 or bool(study.file.case_sums)
    compared = tuple(_compared(study, remarks))
    over = envelopes(study) if many else ()
    judged = tuple(_judged(study, number, over) for number in range(len(study.joints)))
    return Findings(over, compared if len(compared) > 1 else (), wear(study), judged, tuple(remarks))


def _judged(study: Study, number: int, over: tuple[JointEnvelope, ...]) -> Judged:
    """The joint's parts over cases and combinations, where there are any; the parts beside it over the cases."""
    joint, cases = study.joints[number], [case.name for case in study.cases]
    loads = over[number].values.joint_load if over else np.array([case.joint_load for case in joint.cases])
    of_joint = joint.joint.checks(loads, study.file.factors)
    beside = joint.checks[len(of_joint) :]
    names = over[number].names if over else tuple(cases)
    rows = [
        (worst, None if worst.case is None else called[worst.case])
        for checks, called in ((of_joint, names), (beside, cases))
        for worst in envelope(checks)
    ]
    rows.sort(key=lambda row: (row[1] is None, 0.0 if row[1] is None else row[0].margin))
    own = frozenset(check.part for check in of_joint)
    return Judged(joint.joint.name, outcome(of_joint), outcome(beside), own, tuple(rows))


def _compared(study: Study, remarks: list[str]) -> Iterator[Compared]:
    """The study itself first, which need not be run again."""
    yield Compared(AS_ENTERED, study.file.note, study)
    for variant in study.file.variants:
        try:
            yield Compared(variant.name, variant.note, run_study(study.file.variant(variant), study.source))
        except StructureFault as fault:
            remarks.append(f"The variant ‘{variant.name}’ has no answer: {fault}.")
