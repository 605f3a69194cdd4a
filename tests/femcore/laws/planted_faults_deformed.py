"""More planted faults: of cables, of the deformed shape, of buckling and of vibration."""

from dataclasses import replace

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.base.rotations import product, quaternions
from femcore.elements.corotational_beam import Configuration
from femcore.frame.frame import Loads
from tests.femcore.laws.planted_faults import Fault, changed, given, instead, result, scaled


def property_of(value):
    """A wrong property: a function of the object and of the right value."""
    return lambda right: property(lambda self: value(self, right.fget(self)))


def _warmer(cables, parts, loads, *_):
    own = parts.frame.cables
    return replace(
        cables, initial=cables.initial + 2 * own.EA * own.expansion * loads.cable_temperature_change
    )


def _pushing_too(_):
    def tension(self, u):
        taut = replace(self, slack=np.zeros_like(self.slack))
        return taut.initial + taut.change(u)

    return tension


def _without_end_springs(ends):
    return replace(ends, which=ends.which[:0], modes=ends.modes[:0], slip=ends.slip[:0])


def _soon_settled(problem, step):
    return step.size <= 1e-3 * problem.largest(problem.by_case(step.to.displacement))


def _upright(right):
    return lambda frame, shape: right(frame, replace(shape, turn=Configuration.undeformed(frame).turn))


def _lever_as_drawn(turned, frame, *_):
    first, second = frame.spring_ends.T
    return replace(turned, lever=frame.nodes[first] - frame.nodes[second])


def _spun_first(_):
    def updated(self, step):
        return type(self)(self.move + step[:, :3], product(self.turn.T, quaternions(step[:, 3:].T)).T)

    return updated


def _as_angles(shape, _):
    turned = Rotation.from_quat(shape.turn.astype(float), scalar_first=True)
    return np.concatenate([shape.move.astype(float), turned.as_euler("xyz")], axis=1)


def _rolled(found, x, *_):
    """Axes aligned with the chord by turning about one axis after the other, ends' rotations by the smallest rotation."""
    (axes, rotation), roll = found, x[1] * x[2] / 2
    about_x = Rotation.from_rotvec(np.column_stack([roll, 0 * roll, 0 * roll])).as_matrix()
    return about_x @ axes, rotation


FAULTS = [
    # cables
    Fault(
        "a cable pulls its ends apart",
        "elongation_gradient",
        result(lambda g, _: -g),
        (
            "cables_pull_as_the_force_method_says",
            "the_potential_is_least",
            "pretension_is_what_is_left_at_rest",
        ),
    ),
    Fault(
        "moment of a cable's arm dropped",
        "elongation_gradient",
        result(lambda g, _: scaled(g, [3, 4, 5], 0)),
        (
            "cables_pull_as_the_force_method_says",
            "cables_let_rigid_motions_free",
            "equilibrium_where_nodes_have_gone",
        ),
    ),
    Fault(
        "moment of a cable's arm about x dropped",
        "elongation_gradient",
        result(lambda g, _: scaled(g, 3, 0)),
        ("turning_keeps_tensions", "turning_keeps_load_factors", "turning_turns_the_deformed_shape"),
    ),
    Fault(
        "slack cables push",
        "slack_cables",
        instead(lambda t, *_: np.zeros(len(t), dtype=bool)),
        ("cables_pull_as_the_force_method_says", "the_potential_is_least"),
    ),
    Fault(
        "a slack cable keeps its tension",
        "LinearCables.tension",
        _pushing_too,
        ("a_slack_cable_is_no_cable", "cables_pull_as_the_force_method_says"),
    ),
    Fault(
        "pretension taken as drawn, not at rest",
        "solve_undeformed_tension",
        instead(lambda pretension, *_: pretension.copy()),
        ("pretension_is_what_is_left_at_rest", "cables_pull_as_the_force_method_says"),
    ),
    Fault(
        "pretension of the wrong sign",
        "solve_undeformed_tension",
        result(lambda drawn, *_: -drawn),
        ("pretension_is_what_is_left_at_rest", "what_is_held_comes_off_the_load"),
    ),
    Fault(
        "warmth tightens a cable",
        "_linear_cables",
        result(_warmer),
        ("cables_pull_as_the_force_method_says",),
    ),
    Fault(
        "warmth of cables not combined",
        "Loads.combined",
        result(
            lambda loads, *_: Loads(
                *(
                    getattr(loads, key)
                    for key in ("names", "nodal", "line", "support_displacement", "temperature_change")
                )
            )
        ),
        ("loads_superpose_while_no_cable_slackens",),
    ),
    Fault(
        "a cable's length too long by a tenth",
        "CableGeometry.total",
        property_of(lambda _, total: 1.1 * total),
        ("cables_pull_as_the_force_method_says",),
    ),
    Fault(
        "a gripped cable slips",
        "build_cables",
        given(lambda rows: [(*row[:-1], False) for row in rows]),
        ("a_gripped_cable_is_a_cable_per_segment",),
    ),
    # the deformed shape
    Fault(
        "forces do not turn with their element",
        "rotation_stiffness",
        result(lambda K, *_: 0 * K),
        (
            "columns_buckle_at_eulers_loads",
            "plane_frames_buckle_by_the_classic_matrix",
            "tension_tunes_a_beam",
        ),
    ),
    Fault(
        "forces turn the wrong way with their element",
        "rotation_stiffness",
        result(lambda K, *_: -K),
        ("columns_buckle_at_eulers_loads", "tension_tunes_a_beam"),
    ),
    Fault(
        "the tangent leaves out that forces turn with their element",
        "unit_stiffness",
        result(lambda K: scaled(K.T, slice(-6, None), 0).T),
        ("the_tangent_is_the_slope_of_the_force",),
    ),
    Fault(
        "in the tangent forces turn the wrong way with their element",
        "unit_stiffness",
        result(lambda K: scaled(K.T, slice(-6, None), -1).T),
        ("the_tangent_is_the_slope_of_the_force",),
    ),
    Fault(
        "elements do not bow under axial force",
        "bowing",
        result(lambda b, _: 0 * b),
        (
            "columns_buckle_at_eulers_loads",
            "plane_frames_buckle_by_the_classic_matrix",
            "a_pushed_or_pulled_cantilever_bends_by_closed_form",
            "end_moments_are_the_stability_functions",
            "a_sprung_end_under_axial_force",
        ),
    ),
    Fault(
        "elements bow the wrong way",
        "bowing",
        result(lambda b, _: -b),
        ("end_moments_are_the_stability_functions", "plane_frames_buckle_by_the_classic_matrix"),
    ),
    Fault(
        "end springs dropped in the deformed shape",
        "BeamData.of",
        result(changed(ends=_without_end_springs)),
        (
            "small_loads_deform_as_in_the_linear_frame",
            "released_ends_are_hinges_in_the_deformed_shape",
            "a_sprung_end_under_axial_force",
        ),
    ),
    Fault(
        "rigid arms do not turn",
        "offset_rotation_stiffness",
        result(lambda K, *_: 0 * K),
        ("a_rigid_bar_on_a_spring_topples",),
    ),
    Fault(
        "springs' forces do not turn with them",
        "spring_geometric_stiffness",
        result(lambda K, *_: 0 * K),
        ("a_rigid_bar_on_a_spring_topples",),
    ),
    Fault("springs keep their axes", "deform_springs", _upright, ("turned_as_a_whole_nothing_strains",)),
    Fault(
        "springs keep their lever",
        "deform_springs",
        result(_lever_as_drawn),
        ("equilibrium_where_nodes_have_gone",),
    ),
    Fault(
        "spins put on in the wrong order",
        "Configuration.updated",
        _spun_first,
        ("the_tangent_is_the_slope_of_the_force",),
    ),
    Fault(
        "rotations told as angles about three axes",
        "Configuration.displacement",
        property_of(_as_angles),
        ("turning_turns_the_deformed_shape",),
    ),
    Fault(
        "iteration stopped early",
        "is_settled",
        instead(_soon_settled),
        ("the_way_there_does_not_matter", "turning_turns_the_deformed_shape"),
    ),
    Fault(
        "of cases side by side each has the answer of the one before",
        "answers_of",
        lambda right: lambda found, places, steps: right(found, places - 1, steps),
        ("cases_side_by_side_are_cases_alone",),
    ),
    Fault(
        "an element's axes roll against its ends'",
        "_aligned",
        result(_rolled),
        ("a_round_bar_bends_alike_in_every_plane",),
    ),
    # buckling
    Fault(
        "factors of the reversed load taken too",
        "_ordered",
        given(np.abs),
        ("reversed_loads_mirror_the_spectrum",),
    ),
    Fault(
        "what is held grows too",
        "Loads.has_load",
        instead(lambda *_: False),
        ("what_is_held_comes_off_the_load",),
    ),
    Fault(
        "modes mixed",
        "lowest",
        result(lambda both, *_: (both[0], both[1] + 0.1 * np.roll(both[1], 1, axis=0))),
        ("modes_are_orthogonal_over_the_stiffness", "modes_are_orthogonal"),
    ),
    # vibration
    Fault(
        "rotary inertia dropped",
        "consistent_mass",
        given(changed(line_inertia=lambda i: 0 * i)),
        (
            "the_whole_mass_moves_with_a_rigid_motion",
            "a_deep_beam_vibrates_as_timoshenko_says",
            "a_shaft_and_a_bar_sing",
        ),
    ),
    Fault(
        "offsets' arms dropped from the mass",
        "end_transformation",
        lambda right: lambda axes, offsets: right(axes, 0 * offsets),
        ("the_whole_mass_moves_with_a_rigid_motion",),
    ),
    Fault(
        "mass turned the wrong way",
        "end_transformation",
        lambda right: lambda axes, offsets: right(np.swapaxes(axes, 1, 2), offsets),
        ("turning_keeps_frequencies",),
    ),
    Fault(
        "mass lumped where it should be consistent",
        "consistent_mass",
        lambda _: lambda frame, _inner: _lumped(frame),
        ("a_finer_mesh_lowers_frequencies", "a_mass_at_the_tip_lowers_the_tone"),
    ),
    Fault(
        "lumped mass of one end only",
        "lumped_mass",
        result(lambda M, _: scaled(M, slice(6, 12), 0)),
        ("the_whole_mass_moves_with_a_rigid_motion",),
    ),
    Fault(
        "point masses dropped",
        "mass_matrix",
        given(changed(frame=changed(point_mass=lambda m: 0 * m))),
        ("a_mass_at_the_tip_lowers_the_tone", "the_whole_mass_moves_with_a_rigid_motion"),
    ),
    Fault(
        "frequencies in radians",
        "natural_frequencies",
        result(changed(values=lambda f: 2 * np.pi * f)),
        ("modes_are_orthogonal", "tension_tunes_a_beam"),
    ),
    Fault(
        "tension does not tune",
        "geometric_stiffness",
        result(lambda found, *_: [(nodes, 0 * blocks) for nodes, blocks in found]),
        ("tension_tunes_a_beam",),
    ),
]


def _lumped(frame):
    """Half of each element's mass and inertia at each end, as `lumped_mass` should have it."""
    half = np.concatenate([np.repeat(frame.line_mass[:, None], 3, axis=1), frame.line_inertia], axis=1)
    half = half * (frame.length / 2)[:, None]
    return np.concatenate([half, half], axis=1)[:, :, None] * np.eye(12)
