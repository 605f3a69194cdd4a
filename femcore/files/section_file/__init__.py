"""Thin-walled sections in a file: its materials and laminates, shapes with their walls, and beams of them."""

from femcore.files.section_file.materials import (
    ClothTable,
    CoreMaterial,
    LaminateTable,
    Layer,
    Material,
    PlyTable,
)
from femcore.files.section_file.shapes import THIN_WALLED_SHAPES, AnyThinWalled, ThinWalledSection
from femcore.files.section_file.stock import (
    MaterialTables,
    WallMaterials,
    WallTable,
    build_wall_materials,
    unique_faults,
)
from femcore.files.section_file.walled import ThinWalledBeam, coupling_remarks, thin_walled_beam

__all__ = [
    "THIN_WALLED_SHAPES",
    "AnyThinWalled",
    "ClothTable",
    "CoreMaterial",
    "LaminateTable",
    "Layer",
    "Material",
    "MaterialTables",
    "PlyTable",
    "ThinWalledBeam",
    "ThinWalledSection",
    "WallMaterials",
    "WallTable",
    "build_wall_materials",
    "coupling_remarks",
    "thin_walled_beam",
    "unique_faults",
]
