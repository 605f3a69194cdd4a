"""What a layer is made of: fibres and resins."""

from __future__ import annotations

from dataclasses import dataclass

from femcore.base.errors import InputFault
from femcore.materials.records import Record, quantity


@dataclass(frozen=True, kw_only=True)
class Fibre(Record):
    """A fibre: moduli along (E1) and across (E2), shear, Poisson's ratio, density, filament strength.

    `expansion1`, `expansion2` (1/K) are along and across it.
    `tension_strain` and `compression_strain` are breaking strains of a workshop layer along its fibres, below
    the filament's own: they carry misalignment and handling, and give the typical strengths of a layer.
    """

    E1: float = quantity("Pa")
    E2: float = quantity("Pa")
    nu12: float = quantity("")
    G12: float = quantity("Pa")
    density: float = quantity("kg/m**3")
    strength: float = quantity("Pa")
    tension_strain: float = quantity("")
    compression_strain: float = quantity("")
    expansion1: float | None = quantity("1/K", default=None)
    expansion2: float | None = quantity("1/K", default=None)

    def __post_init__(self) -> None:
        _positive(
            self, "fibre", ("E1", "E2", "G12", "density", "strength", "tension_strain", "compression_strain")
        )


@dataclass(frozen=True, kw_only=True)
class Resin(Record):
    """An isotropic resin, with the strengths Yt, Yc and S12 of a layer made with it; `expansion` in 1/K."""

    E: float = quantity("Pa")
    nu: float = quantity("")
    density: float = quantity("kg/m**3")
    strength: float = quantity("Pa")
    Yt: float = quantity("Pa")
    Yc: float = quantity("Pa")
    S12: float = quantity("Pa")
    expansion: float | None = quantity("1/K", default=None)

    def __post_init__(self) -> None:
        _positive(self, "resin", ("E", "density", "strength", "Yt", "Yc", "S12"))
        if not -1 < self.nu < 0.5:
            raise InputFault(f"resin {self.name}", f"nu is {self.nu:g}", "give a value between −1 and 0.5")

    @property
    def shear_modulus(self) -> float:
        """Shear modulus E/2(1 + ν), Pa."""
        return self.E / (2 * (1 + self.nu))


def _positive(record: Record, what: str, keys: tuple[str, ...]) -> None:
    for key in keys:
        if not getattr(record, key) > 0:
            raise InputFault(
                f"{what} {record.name}", f"{key} is {getattr(record, key):g}", "give a value above zero"
            )


def volume_fraction(weight_fraction: float, fibre: Fibre, resin: Resin) -> float:
    """Fibre volume fraction of a void-free layer of given fibre weight fraction."""
    if not 0 < weight_fraction < 1:
        raise InputFault(
            "fibre_weight",
            f"a fibre weight fraction of {weight_fraction:g} is impossible",
            "give one between 0 and 1",
        )
    volume = weight_fraction / fibre.density
    return volume / (volume + (1 - weight_fraction) / resin.density)


def weight_fraction(fibre_volume: float, fibre: Fibre, resin: Resin) -> float:
    """Fibre weight fraction of a void-free layer of given fibre volume fraction."""
    weight = fibre_volume * fibre.density
    return weight / (weight + (1 - fibre_volume) * resin.density)
