"""Thin-walled sections of metal and laminate walls: stiffness, centres, wall flows, buckling, pictures."""

from femcore.sections.analysis import Analysis, analyse
from femcore.sections.buckling import (
    LocalBuckling,
    Panels,
    PanelStrength,
    critical_flows,
    local_buckling,
    panel_buckling,
    panel_strength,
    panels,
)
from femcore.sections.governing import (
    MetalPoints,
    PlyPoints,
    SandwichPoints,
    metal_points,
    ply_points,
    sandwich_points,
)
from femcore.sections.inertia import rotary_inertia
from femcore.sections.joining import WallRun, joined
from femcore.sections.outline import Cells, Section, cells, outline, subdivided, transformed, with_web
from femcore.sections.properties import Coupling, SectionProperties, properties
from femcore.sections.recovery import (
    MetalStress,
    WallFlows,
    WallPlies,
    metal_stress,
    ply_states,
    recover,
    resultants,
    six_actions,
    von_mises,
)
from femcore.sections.shapes import box, channel, d_section, i_section, oval, round_tube
from femcore.sections.wall import Wall, WallLaminate
from femcore.sections.warping import Warping, recover_held, warping

__all__ = [
    "Analysis",
    "Cells",
    "Coupling",
    "LocalBuckling",
    "MetalPoints",
    "MetalStress",
    "PanelStrength",
    "Panels",
    "PlyPoints",
    "SandwichPoints",
    "Section",
    "SectionProperties",
    "Wall",
    "WallFlows",
    "WallLaminate",
    "WallPlies",
    "WallRun",
    "Warping",
    "analyse",
    "box",
    "cells",
    "channel",
    "critical_flows",
    "d_section",
    "i_section",
    "joined",
    "local_buckling",
    "metal_points",
    "metal_stress",
    "outline",
    "oval",
    "panel_buckling",
    "panel_strength",
    "panels",
    "ply_points",
    "ply_states",
    "properties",
    "recover",
    "recover_held",
    "resultants",
    "rotary_inertia",
    "round_tube",
    "sandwich_points",
    "six_actions",
    "subdivided",
    "transformed",
    "von_mises",
    "warping",
    "with_web",
]
