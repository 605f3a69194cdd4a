"""What governs in the walls of a beam or a bow becomes checks, with safety factors and sources."""

from __future__ import annotations

import numpy as np

from models.checks.beam_walls import WallChecks
from models.strength.margins import CRITERION_SOURCES, Check, SafetyFactors, checked, not_checked

BUCKLING_SOURCE = "plates with D16 and D26, cylinders; R_c + R_s² = 1; core shear added"


def wall_rows(part: str, found: WallChecks, factors: SafetyFactors) -> tuple[Check, ...]:
    """Checks of walls from what governs in them in each case."""
    plies = f"thin-walled section; {CRITERION_SOURCES[factors.criterion]}"
    # a wall all of metal has no plies, one of laminate no proof stress, one without a core is no sandwich
    rows = (
        ("first yield", found.proof_factor, "yielding", "thin-walled section, von Mises", np.isfinite(found.proof_factor).any()),
        ("first ply", found.ply_factor, "laminate", plies, np.isfinite(found.ply_factor).any()),
        ("wall buckled", found.buckling_factor, "elastic_buckling", BUCKLING_SOURCE, True),
        ("wrinkling of faces", found.wrinkling_factor, "core", "Hoff & Mautner 1945 (from memory)", found.has_core),
        ("core in shear", found.core_factor, "core", "V/d; Zenkert 1995 (from memory)", found.has_core),
        ("shear crimping", found.crimping_factor, "core", "G d²/c; Zenkert 1995 (from memory)", found.has_core),
    )  # fmt: skip
    checks = [
        checked(part, name, 1 / factor, 1.0, "", factors.safety_factor(kind), source)
        for name, factor, kind, source, present in rows
        if present
    ]
    unjudged = [
        not_checked(part, "faces and core", len(found.buckling_factor), f"{fault.place}: {fault.wrong}")
        for fault in found.unjudged
    ]
    return (*checks, *unjudged)
