"""Stiffness of the boat's beams as a file gives it: directly, or as a thin-walled section from which it comes.

"vertical" bends up and down, "lateral" in the plane of the deck. A section's y points aft along the crossbeam, to port along a
longeron; its z up. Whichever way it was given, what the boat holds afterwards are the stiffnesses.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Self

import numpy as np
from pydantic import PrivateAttr

from femcore.base.toml import Table
from femcore.base.units import Expansion, Unit
from femcore.files.section_file import AnyThinWalled, ThinWalledBeam, WallMaterials, thin_walled_beam

MAX_LENGTH = 100.0
"""m: no boat of this kind is longer or higher; a slip of mm for m is."""
Length = Annotated[float, Unit("m", most=MAX_LENGTH)]
PositiveLength = Annotated[float, Unit("m", above=0, most=MAX_LENGTH)]
AxialStiffness = Annotated[float, Unit("N", above=0)]
BendingStiffness = Annotated[float, Unit("N*m**2", above=0)]
LineMass = Annotated[float, Unit("kg/m", least=0, most=10_000.0)]

BY_STIFFNESS, BY_SECTION = "by its stiffness", "by its section"
"""Words that tell the two ways apart; they may be no keys."""


class BeamStiffness(Table):
    """Stiffness of a beam's section, entered directly.

    EA, GA_… in N;   EI_…, GJ in N·m²;   mass in kg/m.   "vertical" bends up and down, "lateral" in the plane of the deck.
    """

    EI_vertical: BendingStiffness
    EI_lateral: BendingStiffness
    GJ: BendingStiffness
    EA: AxialStiffness
    GA_vertical: AxialStiffness | None = None
    GA_lateral: AxialStiffness | None = None
    mass: LineMass = 0.0
    expansion: Expansion = 0.0
    _walled: ThinWalledBeam | None = PrivateAttr(default=None)

    @classmethod
    def of_section(cls, walled: ThinWalledBeam, fields: Mapping[str, Any]) -> Self:
        """The beam with the fields of its class, and the section that they come from."""
        beam = cls(**fields)
        beam._walled = walled
        return beam

    @property
    def thin_walled(self) -> ThinWalledBeam | None:
        """The section that the stiffness comes from, if it does."""
        return self._walled


class BeamBySection(Table):
    """A beam by its thin-walled section.

    mass : kg/m, of what is fixed along it, besides its walls;   expansion : left out, that of its walls
    """

    section: AnyThinWalled
    mass: LineMass = 0.0
    expansion: Expansion | None = None

    def stiffness(self, wall_materials: WallMaterials, name: str) -> tuple[dict[str, Any], ThinWalledBeam]:
        """The fields of a BeamStiffness, and the section solved; InputFault where it cannot be."""
        walled = thin_walled_beam(self.section, wall_materials, name)
        beam = walled.properties
        shear = {"GA_vertical": beam.GAz, "GA_lateral": beam.GAy}
        return {
            "EI_vertical": beam.EIy, "EI_lateral": beam.EIz, "GJ": beam.GJ, "EA": beam.EA,
            **{key: float(value) if np.isfinite(value) else None for key, value in shear.items()},
            "mass": beam.mass + self.mass,
            "expansion": walled.expansion if self.expansion is None else self.expansion,
        }, walled  # fmt: skip

    @property
    def _geometry(self) -> dict[str, Any]:
        """The fields that say where the beam lies."""
        own = set(BeamBySection.model_fields)
        return {key: getattr(self, key) for key in type(self).model_fields if key not in own}


def unit_stiffness() -> dict[str, float]:
    """For a beam of which only the place is known."""
    return dict.fromkeys(("EI_vertical", "EI_lateral", "GJ", "EA"), 1.0)


def input_form(value: object) -> str:
    """Whether a table gives stiffnesses or a section."""
    has_section = "section" in value if isinstance(value, dict) else isinstance(value, BeamBySection)
    return BY_SECTION if has_section else BY_STIFFNESS
