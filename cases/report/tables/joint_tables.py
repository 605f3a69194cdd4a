"""Tables of the joints: attraction, joint loads, racking shares, stem movements, actions along the crossbeam."""

from __future__ import annotations

from collections.abc import Iterable

from cases.analyses.analysis import Analysis
from cases.analyses.joint_results import ATTRACTED, JointResult
from cases.analyses.study import Study
from cases.report.tables.table import COMPONENT_UNITS, FREEDOM_UNITS, Cell, Column, Table
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS
from femcore.results.member_forces import MemberForces
from models.joints import DIRECTIONS
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index, larger_side


def design_loads(analysis: Analysis) -> Table:
    """Design torque and bending of each joint, the largest part due to racking beside each, and racking stiffness."""
    columns = (
        Column("joint"), Column("torque", "N·m", "design load"), Column("torque", "N·m", "largest part due to racking"),
        Column("vertical bending", "N·m", "design load"), Column("vertical bending", "N·m", "largest part due to racking"),
        Column("racking stiffness", "N/m"), Column("stiffness", "×", "of bows alone"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for joint, loads in zip(analysis.study.joints, analysis.design_loads, strict=True):
        chosen = [loads[component_index(component)] for component in ATTRACTED]
        moments = [value for load in chosen for value in (load.size, load.largest_racking)]
        stiffness = joint.racking_stiffness
        rows.append(
            (joint.joint.name, *moments, stiffness, stiffness / analysis.study.bare_racking_stiffness)
        )
    return Table("design_moments", "Design loads of the joints", columns, tuple(rows))


def all_design_loads(analysis: Analysis) -> Table:
    """All six components of every joint, with hull and case, in SI."""
    columns = (
        Column("joint"), Column("component"), Column("design load", "", "SI"), Column("due to racking", "", "SI"),
        Column("unit"), Column("hull"), Column("in"), Column("largest part due to racking", "", "SI"), Column("in "),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            joint.joint.name,
            load.component,
            load.size,
            load.racking,
            unit,
            load.side,
            load.row,
            load.largest_racking,
            load.racking_row,
        )
        for joint, loads in zip(analysis.study.joints, analysis.design_loads, strict=True)
        for load, unit in zip(loads, COMPONENT_UNITS, strict=True)
    ]
    return Table("design_loads", "Design loads of the joints", columns, tuple(rows))


def comparison(study: Study) -> Table:
    """Torque and bending that each joint attracts in the racking cases, excluding pretension, and racking stiffness."""
    columns = (
        Column("joint"), Column("case"), Column("torque", "N·m", "that is added", below_shown="excluding pretension"),
        Column("vertical bending", "N·m", "that is added", below_shown="excluding pretension"),
        Column("torque", "1", "of a rigid joint’s"), Column("bending", "1", "of a rigid joint’s"),
        Column("racking stiffness", "N/m"), Column("stiffness", "×", "of bows alone"),
        Column("half-torque stiffness", "N·m/rad", spring=True),
        Column("own stiffness", "N·m/rad", "in pitch", spring=True),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for joint in study.joints:
        curve = joint.curves["pitch"]
        stiffness = joint.racking_stiffness
        stiffer = (stiffness, stiffness / study.bare_racking_stiffness)
        after = (*stiffer, *((curve.k_half, curve.joint_stiffness) if curve else (None, None)))
        for case, moments in _racked(study, joint):
            rows.append((joint.joint.name, case, *moments, *after))
    return Table("comparison", "Joints compared", columns, tuple(rows))


def _racked(study: Study, joint: JointResult) -> list[tuple[str, tuple[float | None, ...]]]:
    """Torque and bending of a joint, and both over a rigid joint's, in every racking case; a dash for
    none.
    """
    found = [joint.case(case.name) for case in study.racking_cases]
    moments = [
        (
            one.attracted("torque"),
            one.attracted("vertical bending"),
            one.attraction["torque"],
            one.attraction["bending"],
        )
        for one in found
    ]
    named = list(zip([one.case.name for one in found], moments, strict=True))
    return [*named] or [("–", (None,) * 4)]


def worst_in_rig(study: Study) -> Table:
    """Each component of the joint loads in the rig cases, the larger of both hulls."""
    columns = (Column("joint"), Column("case"), *_beam_columns())
    rows: list[tuple[Cell, ...]] = [
        (
            joint.joint.name,
            case.name,
            *(larger_side(joint.case(case.name).joint_load, name) for name in JOINT_LOAD_NAMES),
        )
        for joint in study.joints
        for case in study.rig_cases
    ]
    return Table("worst_in_rig", "Largest joint loads in the rig cases", columns, tuple(rows))


def _beam_columns() -> Iterable[Column]:
    return (Column(word, unit) for word, unit in zip(JOINT_LOAD_NAMES, COMPONENT_UNITS, strict=True))


def joint_loads(study: Study) -> Table:
    """Loads of the crossbeam on each hull at the joint, in boat axes; the headings name the beam's components too."""
    columns = [Column("case"), Column("joint"), Column("hull")]
    columns += [Column(c, u, w) for c, u, w in zip(REACTIONS, COMPONENT_UNITS, JOINT_LOAD_NAMES, strict=True)]
    rows: list[tuple[Cell, ...]] = [
        (result.case.name, joint.joint.name, side, *map(float, load))
        for at in range(len(study.cases))
        for joint in study.joints
        for result in [joint.cases[at]]
        for side, load in zip(SIDES, result.joint_load, strict=True)
    ]
    return Table("joint_loads", "Loads of the crossbeam on each hull", tuple(columns), tuple(rows))


def racking_shares(study: Study) -> Table:
    """Shares of the racking moment, and attraction."""
    columns = (
        Column("case"), Column("joint"), Column("racking moment", "N·m"), Column("hull share", "1"),
        Column("torque share", "1"), Column("shear share", "1"), Column("sum", "1"),
        Column("torque", "1", "of a rigid joint’s"), Column("bending", "1", "of a rigid joint’s"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for at, case in enumerate(study.cases):
        for joint in study.joints:
            found = joint.cases[at]
            if found.shares is not None:
                parts = list(found.shares.by_part.values())
                attracted = (found.attraction["torque"], found.attraction["bending"])
                rows.append(
                    (case.name, joint.joint.name, found.racking_moment, *parts, sum(parts), *attracted)
                )
    return Table("racking_shares", "Shares of the racking moment", columns, tuple(rows))


def movements(study: Study) -> Table:
    """Movements of the stems."""
    columns = [Column("case"), Column("joint"), Column("stem")]
    columns += [
        Column(freedom, unit, direction)
        for freedom, unit, direction in zip(FREEDOMS, FREEDOM_UNITS, DIRECTIONS, strict=True)
    ]
    rows: list[tuple[Cell, ...]] = [
        (case.name, joint.joint.name, side, *map(float, moved))
        for at, case in enumerate(study.cases)
        for joint in study.joints
        for side, moved in zip(SIDES, joint.cases[at].stems, strict=True)
    ]
    return Table("movements", "Movements of the stems", tuple(columns), tuple(rows))


def crossbeam_actions(study: Study) -> Table:
    """Member forces along the crossbeam, from its starboard end to its port end, beam axes."""
    columns = [Column("case"), Column("joint"), Column("distance from starboard end", "m")]
    columns += [Column(action, unit) for action, unit in zip(ACTIONS, COMPONENT_UNITS, strict=True)]
    rows: list[tuple[Cell, ...]] = [
        (case.name, joint.joint.name, *row)
        for at, case in enumerate(study.cases)
        for joint in study.joints
        for row in _along(joint.crossbeam, at)
    ]
    return Table("crossbeam_actions", "Member forces along the crossbeam", tuple(columns), tuple(rows))


def _along(line: MemberForces, case: int) -> Iterable[tuple[float, ...]]:
    for station, actions in zip(line.station.tolist(), line.actions[case].tolist(), strict=True):
        yield (station, *actions)


def all_tables(study: Study) -> list[Table]:
    """The tables that are written as CSV."""
    return [build(study) for build in (comparison, joint_loads, racking_shares, movements, crossbeam_actions)]
