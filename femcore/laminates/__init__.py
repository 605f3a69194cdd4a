"""Laminates: from a lay-up in a builder's words to stiffness, ply stresses, failure and sandwich checks.

Notation
--------
A lay-up is a list of items, in the order in which they lie, the first at z = −h/2:

==========================  ===========================================================================
``"uni 300 @0"``            a cloth: kind, weight of dry fibre in g/m², angle in degrees from x towards y
``"3x db 450 @45"``         three of them on top of each other; a double-bias at 45° has fibres at +45 and −45
``"biax 600 @0"``           fibres at the angle and across it; also ``woven``
``"csm 300"``               chopped strand mat: no angle
``"uni carbon_sm 300 @0"``  of another fibre than the laminate's own
``"core foam80 20 mm"``     a sandwich core of that thickness
``"ply okoume_ply 9 mm"``   a ready-made layer (board, published data) of that thickness, ``@`` its angle
``"mirror"``                last: everything above once more in reverse, ply by ply
``"mirror on last"``        last: the same, but the item before it is the middle and occurs once
==========================  ===========================================================================

An angle left out is 45 for ``db``, 0 for the others. A mirrored stitched cloth is laid turned by a quarter,
so that its layers come in reverse; turning the roll over does not reverse them.

What the cloths are laid with (fibre, resin, process or fibre fraction, micromechanics, knock-downs) is a
`LaminateMaterials`.

>>> skin = lay_up(["2x uni 300 @0", "db 450 @45", "mirror"], LaminateMaterials(fibre="carbon_sm", process="infused"))
>>> len(skin.plies)
8
"""

from femcore.laminates.constants import EngineeringConstants, flexural_constants, membrane_constants
from femcore.laminates.convex import (
    CONVEX_CRITERIA,
    ConvexCriterion,
    candidate_faces,
    first_ply_utilisation,
)
from femcore.laminates.coupling import MIN_NOTICEABLE_COUPLING, Coupling, couplings
from femcore.laminates.failure import (
    CRITERIA,
    Criterion,
    CriterionResult,
    LayerLimits,
    layer_limits,
    max_strain,
    max_stress,
    tsai_wu,
)
from femcore.laminates.first_ply import (
    FirstPlyFailure,
    criterion_named,
    evaluate_plies,
    first_ply_failure,
    governing_ply,
)
from femcore.laminates.laminate import RESULTANTS, STRAINS, Laminate, Ply, reduced_stiffness, strain_rotation
from femcore.laminates.layup import LaminateMaterials, lay_up, stack
from femcore.laminates.response import (
    PlyState,
    laminate_axes,
    laminate_strain,
    ply_state,
    ply_state_under,
    resultants_of_strain,
    resultants_with_curvature,
    unit_ply_state,
)
from femcore.laminates.sandwich import (
    Sandwich,
    SandwichCheck,
    as_sandwich,
    core_shear,
    core_shear_stiffness,
    face_compression,
    wrinkling,
    wrinkling_stress,
)
from femcore.laminates.wall import WallStiffness, condense, free_expansion, wall_stiffness

__all__ = [
    "CONVEX_CRITERIA",
    "CRITERIA",
    "MIN_NOTICEABLE_COUPLING",
    "RESULTANTS",
    "STRAINS",
    "ConvexCriterion",
    "Coupling",
    "Criterion",
    "CriterionResult",
    "EngineeringConstants",
    "FirstPlyFailure",
    "Laminate",
    "LaminateMaterials",
    "LayerLimits",
    "Ply",
    "PlyState",
    "Sandwich",
    "SandwichCheck",
    "WallStiffness",
    "as_sandwich",
    "candidate_faces",
    "condense",
    "core_shear",
    "core_shear_stiffness",
    "couplings",
    "criterion_named",
    "evaluate_plies",
    "face_compression",
    "first_ply_failure",
    "first_ply_utilisation",
    "flexural_constants",
    "free_expansion",
    "governing_ply",
    "laminate_axes",
    "laminate_strain",
    "lay_up",
    "layer_limits",
    "max_strain",
    "max_stress",
    "membrane_constants",
    "ply_state",
    "ply_state_under",
    "reduced_stiffness",
    "resultants_of_strain",
    "resultants_with_curvature",
    "stack",
    "strain_rotation",
    "tsai_wu",
    "unit_ply_state",
    "wall_stiffness",
    "wrinkling",
    "wrinkling_stress",
]
