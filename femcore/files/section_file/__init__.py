"""Thin-walled sections in a file: its materials and laminates, shapes with their walls, and beams of them."""

from femcore.files.section_file.materials import CoreMaterial, LaminateTable, Layer, Material, PlyTable
from femcore.files.section_file.shapes import WALLED, AnyWalled, WalledSection
from femcore.files.section_file.stock import (
    FollowsFault,
    Isotropic,
    MaterialTables,
    Stock,
    WallTable,
    stock_of,
    told_once,
)
from femcore.files.section_file.walled import WalledBeam, coupling_remarks, walled_beam

__all__ = [
    "WALLED",
    "AnyWalled",
    "CoreMaterial",
    "FollowsFault",
    "Isotropic",
    "LaminateTable",
    "Layer",
    "Material",
    "MaterialTables",
    "PlyTable",
    "Stock",
    "WallTable",
    "WalledBeam",
    "WalledSection",
    "coupling_remarks",
    "stock_of",
    "told_once",
    "walled_beam",
]
