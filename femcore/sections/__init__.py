"""Thin-walled sections of metal and laminate walls: stiffness, centres, wall flows, buckling, pictures."""

from femcore.sections.analysis import Analysis, analyse
from femcore.sections.buckling import LocalBuckling, Panels, critical_flows, local_buckling, panels
from femcore.sections.inertia import rotary_inertia
from femcore.sections.joining import Run, joined
from femcore.sections.outline import Cells, Section, cells, divided, moved, outline, with_web
from femcore.sections.properties import Coupling, SectionProperties, properties
from femcore.sections.recovery import (
    MetalStress,
    WallFlows,
    WallPlies,
    metal_stress,
    ply_states,
    recover,
    resultants,
)
from femcore.sections.shapes import box, channel, d_section, i_section, oval, round_tube
from femcore.sections.wall import Wall, WallLaminate
from femcore.sections.warping import Warping, warping

__all__ = [
    "Analysis",
    "Cells",
    "Coupling",
    "LocalBuckling",
    "MetalStress",
    "Panels",
    "Run",
    "Section",
    "SectionProperties",
    "Wall",
    "WallFlows",
    "WallLaminate",
    "WallPlies",
    "Warping",
    "analyse",
    "box",
    "cells",
    "channel",
    "critical_flows",
    "d_section",
    "divided",
    "i_section",
    "joined",
    "local_buckling",
    "metal_stress",
    "moved",
    "outline",
    "oval",
    "panels",
    "ply_states",
    "properties",
    "recover",
    "resultants",
    "rotary_inertia",
    "round_tube",
    "warping",
    "with_web",
]
