"""An analysis by two processes: the joints to decide between by this one, at once, and the others by another.

What the decision needs comes first, so that it can be shown while the rest is worked out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property, partial
from typing import TYPE_CHECKING

from cases.analyses.analysis import Analysis, BegunParts, analysed_variant, check
from cases.analyses.candidates import candidates
from cases.analyses.discretisation import discretisation_of
from cases.analyses.next_actions import next_actions
from cases.analyses.study import require_answer, study_of
from cases.input.boat_file import BoatFile
from femcore.base.process import OtherProcess, results
from models.joints import Joint

if TYPE_CHECKING:
    from cases.analyses.calibration_result import CalibrationResult

MOST_AT_ONCE = 3
"""Joints, by the other process: the more, the more they share, and the longer it is until it can turn to what is more urgent."""


class SharedAnalysis:
    """`decided` is of the candidates and all joints whose parts are described; `whole` is of all joints.

    source   : the name of the boat file, for a report to name;   test : a test on the boat, worked out, to be reported beside it
    other    : the process that works on the rest
    variants : whether the file's variants will be wanted

    InputFaults where the parts of a boat made in Python do not fit, as when a file is read.
    """

    def __init__(
        self,
        file: BoatFile,
        source: str,
        test: CalibrationResult | None,
        other: OtherProcess,
        *,
        variants: bool,
    ) -> None:
        check(file, source)
        chosen = {joint.name for joint in candidates(file)}
        self._first = [joint for joint in file.joints if joint.name in chosen or joint.describes_parts]
        rest = [joint for joint in file.joints if joint not in self._first]
        self._file, self._source, self._test, self._other = file, source, test, other
        other.share(file)
        self._rest = [other.begin(partial(_with_errors, file, some, source)) for some in _ever_fewer(rest)]
        self._variants = (
            tuple(other.begin(partial(analysed_variant, file, one, source)) for one in file.variants)
            if variants
            else None
        )

    @cached_property
    def studied(self) -> Analysis:
        """`decided` before its margins."""
        study = study_of(self._file, self._first, self._source)
        return Analysis(study, self._test, BegunParts(self._variants))

    @cached_property
    def decided(self) -> Analysis:
        """The joints that the decision needs, with margins and lives; all joints where none of those has an answer."""
        found = self.studied.sorted_out()
        if not found.study.joints:
            return self._with_rest(found)
        actions = partial(next_actions, found.study, found.decided)
        found.begun.actions = self._other.begin(actions, before_others=True)
        found.begun.discretisation = self._other.begin(partial(discretisation_of, found.study.joints))
        return found

    @cached_property
    def whole(self) -> Analysis:
        """All joints. StructureFault, naming them, where none has an answer."""
        decided, names = self.decided, {joint.name for joint in self._first}
        is_whole = any(joint.name not in names for joint in decided.study.joints)
        return decided if is_whole else self._with_rest(decided)

    def _with_rest(self, first: Analysis) -> Analysis:
        found = first
        if self._rest:
            errors = first.begun.discretisation
            _ = results([*self._rest, *([] if errors is None else [errors])])
            _ = first.discretisation
            for some in results(self._rest):
                found = found.with_joints_of(some)
        require_answer(found.study.joints, found.study.unsolved)
        return found


def _ever_fewer(joints: Sequence[Joint]) -> Iterator[Sequence[Joint]]:
    """Half of what is left at a time, and few: so the two processes come to the end together."""
    while joints:
        count = min(MOST_AT_ONCE, (len(joints) + 1) // 2)
        yield joints[:count]
        joints = joints[count:]


def _with_errors(file: BoatFile, joints: Sequence[Joint], source: str) -> Analysis:
    found = Analysis(study_of(file, joints, source)).sorted_out()
    _ = found.discretisation
    return found


__all__ = ["SharedAnalysis"]
