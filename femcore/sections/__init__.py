"""Thin-walled sections of metal and laminate walls: stiffness, centres, wall flows, buckling, pictures."""

from femcore.sections.analysis import Analysis, analyse
from femcore.sections.buckling import (
    LocalBuckling,
    Panels,
    PanelStrength,
    buckled_by,
    critical_flows,
    local_buckling,
    panel_strength,
    panels,
)
from femcore.sections.governing import MetalPlaces, PlyPlaces, metal_places, ply_places
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
    six_actions,
    von_mises,
)
from femcore.sections.shapes import box, channel, d_section, i_section, oval, round_tube
from femcore.sections.wall import Wall, WallLaminate
from femcore.sections.warping import Warping, warping

__all__ = [
    "Analysis",
    "Cells",
    "Coupling",
    "LocalBuckling",
    "MetalPlaces",
    "MetalStress",
    "PanelStrength",
    "Panels",
    "PlyPlaces",
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
    "buckled_by",
    "cells",
    "channel",
    "critical_flows",
    "d_section",
    "divided",
    "i_section",
    "joined",
    "local_buckling",
    "metal_places",
    "metal_stress",
    "moved",
    "outline",
    "oval",
    "panel_strength",
    "panels",
    "ply_places",
    "ply_states",
    "properties",
    "recover",
    "resultants",
    "rotary_inertia",
    "round_tube",
    "six_actions",
    "von_mises",
    "warping",
    "with_web",
]
