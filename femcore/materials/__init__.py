"""Materials: fibres, resins, cloths and the layers computed from them; published layers; cores, metals,
bolts, lines.

Every shipped value says where it comes from (`Record.provenance`) and whether it was read or remembered.
Strengths of computed layers are typical values for preliminary work: tested values of the builder's own
laminates replace them.
"""

from femcore.materials.cloth import Cloth, ClothLayer, Process, cured, directions
from femcore.materials.constituents import Fibre, Resin, volume_fraction, weight_fraction
from femcore.materials.lamina import STRENGTHS, KnockDown, Lamina
from femcore.materials.library import (
    bolt_classes,
    cloths,
    cores,
    fibres,
    knockdowns,
    layers,
    lines,
    metals,
    pick,
    processes,
    resins,
    values_from_memory,
)
from femcore.materials.micromechanics import (
    DEFAULT_MODEL,
    HEXAGONAL_PACKING,
    MODELS,
    RANDOM_PACKING,
    SQUARE_PACKING,
    Model,
    random_mat,
    unidirectional,
)
from femcore.materials.records import Provenance, Record, read_records
from femcore.materials.solids import BoltClass, Core, Isotropic, Line, Metal

__all__ = [
    "DEFAULT_MODEL",
    "HEXAGONAL_PACKING",
    "MODELS",
    "RANDOM_PACKING",
    "SQUARE_PACKING",
    "STRENGTHS",
    "BoltClass",
    "Cloth",
    "ClothLayer",
    "Core",
    "Fibre",
    "Isotropic",
    "KnockDown",
    "Lamina",
    "Line",
    "Metal",
    "Model",
    "Process",
    "Provenance",
    "Record",
    "Resin",
    "bolt_classes",
    "cloths",
    "cores",
    "cured",
    "directions",
    "fibres",
    "knockdowns",
    "layers",
    "lines",
    "metals",
    "pick",
    "processes",
    "random_mat",
    "read_records",
    "resins",
    "unidirectional",
    "values_from_memory",
    "volume_fraction",
    "weight_fraction",
]
