"""Factors on the stiffness of a boat's parts, as a test on the boat found them.

Each multiplies what a file enters, or what is computed from laminates, for all of its kind. They change how loads spread; the
strength of sections stays what their laminates give.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from femcore.base.toml import Table

MOST_FACTOR = 20.0
"""A part so many times stiffer or softer than described is another part."""
Factor = Annotated[float, Field(ge=1 / MOST_FACTOR, le=MOST_FACTOR, allow_inf_nan=False)]


class Calibration(Table):
    """Factors, 1 where left out.

    hull_EI, hull_GJ         : bending (both ways) and torsion of both hulls, ahead and aft of the main bulkhead
    platform_EI, platform_GJ : vertical bending, with shear and end springs, and torsion of all members of the platform
    platform_fore_to_aft     : vertical bending of the foremost member over that of the aftmost, the others between by their
                               station, the geometric mean of both kept: it moves the twist centre
    crossbeam_EI, crossbeam_GJ : bending (both ways) and torsion of the crossbeam
    note                     : which test, when
    """

    hull_EI: Factor = 1.0
    hull_GJ: Factor = 1.0
    platform_EI: Factor = 1.0
    platform_fore_to_aft: Factor = 1.0
    platform_GJ: Factor = 1.0
    crossbeam_EI: Factor = 1.0
    crossbeam_GJ: Factor = 1.0
    note: str = ""

    @property
    def remarks(self) -> tuple[str, ...]:
        """A sentence on the factors that are not 1; none where there are none."""
        listed = ", ".join(f"{key.replace('_', ' ')} × {value:.3g}" for key, value in self.factors.items())
        source = f" ({self.note})" if self.note else ""
        return (
            (f"Stiffness is multiplied as a test on the boat found it{source}: {listed}.",) if listed else ()
        )

    @property
    def factors(self) -> dict[str, float]:
        """By key, those that are not 1."""
        return {key: value for key in FACTORS if (value := getattr(self, key)) != 1.0}


FACTORS = tuple(key for key in Calibration.model_fields if key != "note")
"""The keys that are factors."""
