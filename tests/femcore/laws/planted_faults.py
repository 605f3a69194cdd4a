"""Mistakes that a solver of frames is prone to, planted one at a time so that the laws show they can fail.

A fault names what it replaces (a function, method or constant of femcore) and how it goes wrong, and the laws
that must then turn red. It is planted wherever that object has been imported to.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from femcore.elements.beam import end_movements
from femcore.frame.frame import Loads


@dataclass(frozen=True)
class Fault:
    """What goes wrong, where, and which laws must see it.

    where : name of a function, or class.method, in whichever module of the solver;   wrong : right → wrong
    """

    name: str
    where: str
    wrong: Callable[[Any], Any]
    laws: tuple[str, ...]

    def plant(self, monkeypatch):
        """Put the fault in place, in every module that has imported the right object."""
        first, *rest = self.where.split(".")
        (right,) = {id(each): each for each in _of_solver(first)}.values()
        if rest:
            monkeypatch.setattr(right, rest[0], self.wrong(getattr(right, rest[0])))
            return
        wrong = self.wrong(right)
        for module in list(sys.modules.values()):
            if getattr(module, "__name__", "").startswith(HOUSES) and vars(module).get(first) is right:
                monkeypatch.setattr(module, first, wrong)


SOLVER = (
    "femcore.base.",
    "femcore.frame.",
    "femcore.elements.",
    "femcore.solvers.",
    "femcore.results.member_forces",
)
HOUSES = ("femcore.", "tests.femcore.")


def _solver_modules():
    return [module for name, module in list(sys.modules.items()) if name.startswith(SOLVER)]


def _of_solver(name):
    """What bears a name in the solver's own modules and is made there."""
    found = [vars(module)[name] for module in _solver_modules() if name in vars(module)]
    return [each for each in found if getattr(each, "__module__", "").startswith("femcore.")]


def set_everywhere(monkeypatch, name, value):
    """Put a value in place of a constant in every module of the solver that has it."""
    modules = [module for module in _solver_modules() if name in vars(module)]
    assert modules, f"nothing in the solver is named {name}"
    for module in modules:
        monkeypatch.setattr(module, name, value)


def result(change):
    """A wrong function that changes the result of the right one, given its arguments too."""
    return lambda right: lambda *given, **named: change(right(*given, **named), *given)


def given(change):
    """A wrong function that is the right one with its first argument changed."""
    return lambda right: lambda first, *rest, **named: right(change(first), *rest, **named)


def instead(value):
    """Something else altogether."""
    return lambda _: value


def changed(**fields):
    """A change of a frozen dataclass, each field by a function of it."""
    return lambda whole, *_: replace(
        whole, **{key: change(getattr(whole, key)) for key, change in fields.items()}
    )


def scaled(array, index, factor):
    """A copy with one slice of its last axis multiplied."""
    copy = np.array(array)
    copy[..., index] *= factor
    return copy


def exchanged(array, a, b):
    """A copy with two entries of its last axis exchanged."""
    copy = np.array(array)
    copy[..., [a, b]] = copy[..., [b, a]]
    return copy


def _left_handed(axes, *_):
    return axes * np.array([[1.0], [-1.0], [1.0]])


def _modes_with_wrong_slope(B, *_):
    B = B.copy()
    B[:, 5, [1, 7]] *= -1
    return B


def _load_moment_wrong(actions, solution, elements, xi):
    at = np.asarray(xi) * solution.frame.length[np.asarray(elements)]
    wrong = actions.copy()
    wrong[..., 5] -= solution.loads.line[:, elements, 1] * at**2
    return wrong


def _without_slip(_):
    def inner(solution):
        frame = solution.frame
        u = solution.displacement[:, frame.ends].reshape(len(solution.names), -1, 12)
        return end_movements(frame.axes, frame.offsets, u)

    return inner


def _unrefined(right):
    def solve(*given):
        with pytest.MonkeyPatch.context() as patch:
            set_everywhere(patch, "MAX_REFINEMENT_STEPS", 1)
            set_everywhere(patch, "REL_TOL_SOLUTION", np.inf)
            return right(*given)

    return solve


FAULTS = [
    # axes
    Fault(
        "beam axes left-handed",
        "beam_axes",
        result(_left_handed),
        ("actions_of_a_cantilever", "equilibrium_of_a_cut"),
    ),
    Fault(
        "beam axes transposed",
        "beam_axes",
        result(lambda axes, *_: axes.T),
        ("tip_loads_of_a_cantilever", "reactions_of_a_cantilever"),
    ),
    Fault(
        "actions in global axes",
        "end_forces",
        result(
            lambda p, solution: np.einsum(
                "mij,cmei->cmej", solution.frame.axes, p.reshape(*p.shape[:2], 4, 3)
            ).reshape(p.shape)
        ),
        ("turning_turns_the_answer", "exchanging_axes_exchanges_the_answer", "actions_of_a_cantilever"),
    ),
    Fault(
        "end springs' axes transposed",
        "end_springs",
        given(changed(spring_axes=lambda a: np.swapaxes(a, 2, 3))),
        ("springs_along_tilted_axes", "end_springs_slip_by_their_force"),
    ),
    # kinematics
    Fault(
        "offset's arm dropped",
        "beam_kinematics",
        result(changed(offsets=lambda o: 0 * o)),
        (
            "offsets_are_rigid_arms",
            "offsets_are_stiff_springs",
            "equilibrium_of_nodes",
            "rigid_motions_are_free",
        ),
    ),
    Fault(
        "offset's arm the wrong way",
        "beam_kinematics",
        result(changed(offsets=lambda o: -o)),
        ("offsets_are_rigid_arms", "equilibrium_of_the_whole"),
    ),
    Fault(
        "offset's height dropped",
        "beam_kinematics",
        result(changed(offsets=lambda o: scaled(o, 2, 0))),
        ("turning_turns_the_answer", "exchanging_axes_exchanges_the_answer"),
    ),
    Fault(
        "load's arm over the offset dropped",
        "_to_nodes",
        given(changed(offsets=lambda o: 0 * o)),
        ("a_line_load_is_many_point_loads", "reciprocity"),
    ),
    Fault(
        "spring's arm the wrong way",
        "spring_kinematics",
        result(changed(arm=lambda a: -a)),
        ("equilibrium_of_the_whole", "offsets_are_stiff_springs"),
    ),
    Fault(
        "spring's arm dropped",
        "spring_kinematics",
        result(changed(arm=lambda a: 0 * a)),
        ("rigid_motions_are_free", "equilibrium_of_nodes", "offsets_are_stiff_springs"),
    ),
    Fault(
        "slope of bending in x–y of the wrong sign",
        "local_modes",
        result(_modes_with_wrong_slope),
        ("equilibrium_of_nodes", "actions_of_a_cantilever"),
    ),
    # stiffness
    Fault(
        "EIy and EIz exchanged",
        "natural_stiffness",
        result(lambda k, _: k[:, [0, 1, 4, 5, 2, 3]]),
        (
            "tip_loads_of_a_cantilever",
            "work_is_twice_the_energy",
            "shape_follows_the_actions",
            "moved_end_of_a_built_in_beam",
        ),
    ),
    Fault(
        "antisymmetric bending of half its stiffness",
        "natural_stiffness",
        result(lambda k, _: scaled(k, [3, 5], 0.5)),
        ("cutting_finer_changes_nothing", "line_load_on_a_cantilever", "propped_cantilever"),
    ),
    Fault(
        "tension of half its stiffness",
        "natural_stiffness",
        result(lambda k, _: scaled(k, 0, 0.5)),
        ("two_bars_carry_a_node", "a_truss_may_weigh_something", "tip_loads_of_a_cantilever"),
    ),
    Fault(
        "every element of the first one's stiffness",
        "natural_stiffness",
        result(lambda k, _: 0 * k + k[:1]),
        ("numbering_does_not_matter", "work_is_twice_the_energy"),
    ),
    Fault(
        "bending off by a thousandth",
        "natural_stiffness",
        result(lambda k, _: scaled(k, [2, 3], 1.001)),
        ("tip_loads_of_a_cantilever", "a_thousand_elements", "turned_end_of_a_built_in_beam"),
    ),
    Fault(
        "shear deformation dropped",
        "shear_parameters",
        result(lambda phi, _: (0 * phi[0], 0 * phi[1])),
        ("tip_loads_of_a_cantilever", "moved_end_of_a_built_in_beam", "propped_cantilever"),
    ),
    Fault(
        "shear of the two planes exchanged",
        "shear_parameters",
        result(lambda phi, _: phi[::-1]),
        ("turned_end_of_a_built_in_beam", "work_is_twice_the_energy"),
    ),
    # line loads
    Fault(
        "fixed-end moments of the wrong sign",
        "fixed_end",
        result(lambda both, *_: (-both[0], both[1])),
        (
            "line_load_between_built_in_ends",
            "semi_rigid_ends_under_a_line_load",
            "cutting_finer_changes_nothing",
            "propped_cantilever",
        ),
    ),
    Fault(
        "fixed-end moments of wL²/8",
        "fixed_end",
        result(lambda both, *_: (1.5 * both[0], both[1])),
        ("line_load_on_a_cantilever", "a_line_load_is_many_point_loads"),
    ),
    Fault(
        "line load dropped at simple supports",
        "fixed_end",
        result(lambda both, *_: (both[0], 0 * both[1])),
        ("equilibrium_of_the_whole", "equilibrium_of_a_cut"),
    ),
    Fault(
        "fixed-end moments in a bar",
        "fixed_end",
        given(changed(EIy=lambda k: k + 1.0, EIz=lambda k: k + 1.0)),
        ("a_truss_may_weigh_something",),
    ),
    Fault(
        "line load's moment of the wrong sign along the beam",
        "actions_at",
        result(_load_moment_wrong),
        ("equilibrium_of_a_cut", "between_nodes_a_finer_mesh_agrees"),
    ),
    Fault(
        "line load's own sag dropped",
        "_line_load_deflection",
        result(lambda both, *_: (0 * both[0], 0 * both[1])),
        ("line_load_on_a_cantilever", "shape_follows_the_actions", "pinned_ends_of_a_beam"),
    ),
    Fault(
        "shape of a beam without shear deformation",
        "shape_functions",
        lambda right: lambda L, y, z, xi: right(L, 0 * y, 0 * z, xi),
        ("shape_follows_the_actions", "between_nodes_a_finer_mesh_agrees"),
    ),
    # end springs
    Fault(
        "line load's slip of end springs dropped",
        "CondensedEnds.slip_of_load",
        result(lambda slip, *_: 0 * slip),
        (
            "semi_rigid_ends_under_a_line_load",
            "an_end_spring_is_a_spring_of_no_length",
            "a_line_load_is_many_point_loads",
        ),
    ),
    Fault(
        "slip of end springs dropped from the shape",
        "element_end_movements",
        _without_slip,
        ("end_springs_slip_by_their_force", "pinned_ends_of_a_beam"),
    ),
    Fault(
        "end springs about y and z exchanged",
        "end_springs",
        given(changed(end_springs=lambda k: k[:, [0, 1, 2, 3, 5, 4, 6, 7, 8, 9, 11, 10]])),
        ("an_end_spring_is_a_spring_of_no_length",),
    ),
    Fault(
        "a release keeps some stiffness",
        "end_springs",
        given(changed(end_springs=lambda k: np.maximum(k, 1e4))),
        ("a_soft_end_spring_tends_to_a_release", "pinned_ends_of_a_beam"),
    ),
    Fault(
        "a rigid end gives",
        "end_springs",
        given(changed(end_springs=lambda k: np.minimum(k, 1e8))),
        ("a_stiff_end_spring_tends_to_a_rigid_end", "tip_loads_of_a_cantilever"),
    ),
    # loads, reactions, combinations
    Fault(
        "weight not turned into beam axes",
        "gravity_loads",
        lambda _: (
            lambda frame, g: (
                np.pad(frame.point_mass[:, None] * g, ((0, 0), (0, 3))),
                frame.line_mass[:, None] * g,
            )
        ),
        ("weight_is_carried",),
    ),
    Fault(
        "point masses weigh nothing",
        "gravity_loads",
        result(lambda both, *_: (0 * both[0], both[1])),
        ("weight_is_carried",),
    ),
    Fault(
        "reactions of springs to ground lost",
        "_with_grounds",
        result(lambda r, frame, *_: r * (frame.ground_nodes.max() < 0)),
        ("springs_to_ground_are_reactions", "equilibrium_of_the_whole"),
    ),
    Fault(
        "reactions of springs to ground stay at the ground",
        "_with_grounds",
        lambda _: lambda *given: given[1],
        ("springs_to_ground_are_reactions",),
    ),
    Fault(
        "reactions of the wrong sign",
        "_with_grounds",
        result(lambda r, *_: -r),
        ("reactions_of_a_cantilever",),
    ),
    Fault(
        "movements of supports not combined",
        "Loads.combined",
        result(lambda loads, *_: Loads(loads.names, loads.nodal, loads.line, 0 * loads.support_displacement)),
        ("superposition",),
    ),
    # numbers
    Fault("no refinement", "solve", _unrefined, ("a_thousand_elements",)),
    Fault(
        "idle rotations not held",
        "_unresisted_rotations",
        result(lambda both, _: (both[0][:0], both[1][:0])),
        ("two_bars_carry_a_node", "a_truss_may_weigh_something"),
    ),
    Fault(
        "a singular matrix taken as sound",
        "is_nearly_singular",
        instead(lambda *_: False),
        ("mechanisms_are_found",),
    ),
    Fault(
        "no movement taken as free",
        "find_mechanism",
        instead(lambda *_: None),
        ("mechanisms_are_found",),
    ),
]
