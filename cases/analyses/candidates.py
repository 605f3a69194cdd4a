"""Which joints of a boat file are to be decided between."""

from __future__ import annotations

from cases.analyses.joint_results import JointResult
from cases.analyses.study import Study
from cases.input.boat_file import BoatFile
from models.joints import Joint


def candidates(file: BoatFile) -> tuple[Joint, ...]:
    """The joints marked `candidate`; where none is, those whose parts are described; where none is described, all.

    In the order of the file. The others are there to compare with.
    """
    if marked := tuple(joint for joint in file.joints if joint.candidate):
        return marked
    return tuple(joint for joint in file.joints if joint.describes_parts) or tuple(file.joints)


def considered(study: Study) -> tuple[JointResult, ...]:
    """Results of the candidates that have an answer, in the order of the file; of all joints where none of them has one."""
    named = {joint.name for joint in candidates(study.file)}
    return tuple(one for one in study.joints if one.joint.name in named) or tuple(study.joints)


def compared(study: Study) -> tuple[JointResult, ...]:
    """Between which joints the most and the least of a load are sought: the candidates, or all joints beside a single one."""
    found = considered(study)
    return found if len(found) > 1 else tuple(study.joints)
