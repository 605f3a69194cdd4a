"""The load path of a case as a picture: loads applied, loads through the joints, and reactions at the roots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cases.analyses.joint_results import JointResult
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.load_path_flows import flows
from cases.report.figures.load_path_views import MIN_DRAWN_RATIO, ShownCase, draw_load_path
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.plotting.force_flow import Scale
from models.response.joint_loads import truss_forces

BONDED = ("bonded socket", "strapped", "clamped")
"""Kinds of joint that make the beam one piece with the hulls, the likeliest first."""
REL_TOL_ZERO_MOMENT = 1e-7
"""Of the largest force times the hulls' spacing: moments that are less are none."""


def shown_joint(study: Study) -> JointResult:
    """The joint whose load path is drawn: the file's first bonded one, else a rigid one, else the stiffest in racking."""
    kinds = [joint.joint.kind_name for joint in study.joints]
    for kind in (*BONDED, "rigid"):
        if kind in kinds:
            return study.joints[kinds.index(kind)]
    return max(study.joints, key=lambda joint: joint.racking_stiffness)


def shown_joint_reason(study: Study) -> str:
    """The joint that is drawn, and why, in a sentence."""
    joint = shown_joint(study).joint
    kind = joint.kind_name
    rule = "the first bonded joint" if kind in BONDED else "a rigid joint" if kind == "rigid" else ""
    return (
        f"The load paths are drawn for {words.name_of(joint.name)}, "
        f"{rule or 'the stiffest joint in racking'}; the tables list all joints."
    )


def path_picture(study: Study, case: int, name: str) -> Drawing:
    """The load path of a case with the joint of `shown_joint`."""
    shown = _case(shown_joint(study), case)
    called = numbers.plain(study.cases[case].name)
    with style.drawing_style():
        figure = draw_load_path(shown)
        return Drawing(figure, name, f"Load path: {called}", " ".join(_sentences(shown, called)))


def pretension_picture(study: Study) -> Drawing:
    """The same of pretension alone, before any load, which every case contains; with that joint."""
    joint = shown_joint(study)
    case = next(one for one in joint.cases if one.under_pretension is not None)
    rest, alone = case.under_pretension, joint.front.under_pretension
    assert rest is not None  # noqa: S101  (it was chosen so)
    held, nothing = dict(rest.held), np.zeros((0, 6))
    whole = replace(
        case.whole, components=(), applied=nothing, on_crossbeam=nothing,
        reactions=np.array([held[root] for root in case.whole.roots]),
    )  # fmt: skip
    found = replace(
        case, path=rest.path, whole=whole, truss=truss_forces(alone, 0), under_pretension=None, change=None
    )
    shown = _case(replace(joint, solution=alone, cases=(found,)), 0)
    largest = words.quantity(max(rest.tension.values()), "N")
    bending = words.quantity(float(np.abs(rest.joint_load[:, 3]).max()), "N·m")
    caption = (
        f"Pretension alone with ‘{numbers.plain(joint.joint.name)}’: martingale {largest}, vertical bending of the joints up to "
        f"{bending}. Every case contains it. Widths and arrows as in the load paths, to this picture's own scale."
    )
    with style.drawing_style():
        return Drawing(draw_load_path(shown), "path-pretension", "Load path: pretension alone", caption)


def has_pretension(study: Study) -> bool:
    """Whether pretension acts in any case."""
    return any(case.under_pretension is not None for case in shown_joint(study).cases)


def _case(joint: JointResult, case: int) -> ShownCase:
    found, all_of = joint.cases[case], flows(joint, case)
    state = found.truss
    rods = [*state.tension.values(), state.strut, state.compression]
    force = numbers.largest([flow.whole for flow in all_of])
    applied = numbers.largest([flow.whole for flow in all_of if flow.role == "applied"] or [0.0])
    at_beam, at_roots = (
        [flow.moment for flow in all_of if (flow.role == "root") == at] for at in (False, True)
    )
    zero = REL_TOL_ZERO_MOMENT * force * joint.front.boat.bows.spacing
    kinds = [one[1:2] for one in at_beam], [one[::2] for one in at_beam], at_roots
    torque, bending, rooted = (max(MIN_DRAWN_RATIO * numbers.largest(kind), zero) for kind in kinds)
    moment = numbers.largest([*at_beam, *at_roots])
    scale = Scale(max([force, *rods]), moment if moment > zero else 0.0)
    return ShownCase(
        joint, found, all_of, scale, MIN_DRAWN_RATIO * (applied or force), (torque, bending, rooted)
    )


def _sentences(shown: ShownCase, called: str) -> Iterator[str]:
    joint, scale = shown.joint, shown.scale
    yield (
        f"Load path of ‘{called}’ with ‘{numbers.plain(joint.joint.name)}’: applied loads, loads of the crossbeam on hulls and "
        "longeron, and loads of the roots on the bulkhead."
    )
    bars = " and ".join(f"{width:.2g} points are {text}" for width, text in scale.bars())
    yield (
        "The width of straight arrows, rods and bands is the force, the thickness of round arrows the moment, to one scale in "
        f"all views ({bars}), and at least a hairline. A distributed load is a row of arrows whose widths add up to its total, "
        "or one arrow in its middle. Arrows of torque and torsion show the direction in which the part's upper side turns. A "
        "load off the crossbeam's axis shows its moment about the axis as torque. The pale band along the crossbeam is its "
        "compression."
    )
    torque, bending = (
        words.quantity(float(np.abs(shown.found.joint_load[:, column]).max()), "N·m") for column in (4, 3)
    )
    yield f"Largest at a joint: torque {torque}, vertical bending {bending}."
    part = f"below {100 * MIN_DRAWN_RATIO:.0f} % of the largest of their kind"
    yield f"All applied loads are drawn; other loads {part} are not."
    if shown.found.change is not None:
        yield (
            "Solved in the deformed shape: the moments drawn are those of the load-path table about the places drawn, and "
            "contain the moments of forces that have moved. The joint loads themselves are in the table."
        )
    yield from _under_pretension(shown)


def _under_pretension(shown: ShownCase) -> Iterator[str]:
    """The part of it that is due to pretension alone."""
    rest = shown.found.under_pretension
    if rest is None:
        return
    joints = [entry for name, entry in rest.path if name.endswith("joint")]
    force, moment = numbers.largest([one[:3] for one in joints]), numbers.largest(rest.held.actions[:, 3:])
    pulls = words.span([pull for pull in rest.tension.values() if pull] or [0.0], "N")
    yield (
        f"Pretension is included. Under pretension alone the martingale carries {pulls}, the joints up to "
        f"{words.quantity(force, 'N')}, and the roots up to {words.quantity(moment, 'N·m')} about the beam's centre."
    )
