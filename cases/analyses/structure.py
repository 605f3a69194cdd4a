"""Whether every joint of a boat file can be solved, before anything else is worked out: what `check` needs of a run."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.case_rows import combine
from cases.analyses.joint_results import UnsolvedJoint
from cases.analyses.solved_cases import solved_cases
from cases.input.boat_file import BoatFile
from femcore.base.errors import StructureFault
from models.joints.rigid import RigidJoint


def unsolvable_joints(file: BoatFile) -> Iterator[UnsolvedJoint]:
    """Every joint that has no answer in a case or a combination, and the rigid joint of comparison, which every run needs."""
    reference = (
        [] if any(isinstance(joint, RigidJoint) for joint in file.joints) else [RigidJoint(name="rigid")]
    )
    for joint in (*file.joints, *reference):
        try:
            _, solution = solved_cases(file, joint)
            combine(joint, solution, file.expanded_combinations)
        except StructureFault as fault:
            yield UnsolvedJoint(joint, fault)
