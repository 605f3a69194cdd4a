"""From a lay-up to a laminate: cloths become plies at the fibre fraction of the process, cores and boards go
in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from femcore.base.errors import InputFault
from femcore.laminates.laminate import Laminate, Ply
from femcore.laminates.notation import ClothStep, SolidStep, Step, read_layup
from femcore.materials import (
    DEFAULT_MODEL,
    Core,
    Fibre,
    KnockDown,
    Lamina,
    Resin,
    cloths,
    cores,
    cured,
    fibres,
    layers,
    pick,
    processes,
    resins,
    volume_fraction,
)


@dataclass(frozen=True, kw_only=True)
class LaminateMaterials:
    """What cloths are laid with: names of fibre, resin and process, or the fibre fraction itself.

    fibre_volume, fibre_weight : instead of the process's typical fractions, one for every cloth
    model : micromechanics (`femcore.materials.MODELS`)
    knockdowns : taken off the strengths of every ply that is no core
    own_layers, own_cores : materials by name besides the shipped ones
    """

    fibre: str = "e_glass"
    resin: str = "epoxy"
    process: str = "hand"
    fibre_volume: float | None = None
    fibre_weight: float | None = None
    model: str = DEFAULT_MODEL
    knockdowns: tuple[KnockDown, ...] = ()
    own_layers: Mapping[str, Lamina] = field(default_factory=dict)
    own_cores: Mapping[str, Core] = field(default_factory=dict)


def lay_up(items: Sequence[str], recipe: LaminateMaterials, name: str = "laminate") -> Laminate:
    """The laminate of a lay-up in our notation; the first item is at z = −h/2.

    Raises InputFault with the laminate's name and the item: bad notation, unknown names, impossible
    fractions.
    """
    steps, mirrored = read_layup(items, f"{name}: layup")
    if recipe.fibre_volume is not None and recipe.fibre_weight is not None:
        raise InputFault(name, "fibre_volume and fibre_weight are both given", "give one of them")
    plies = [ply for step in steps for ply in _plies(step, recipe, name)]
    reverse = [ply for step in mirrored for ply in _plies(step, recipe, name)][::-1]
    return Laminate((*plies, *reverse), name).with_knockdowns(recipe.knockdowns)


def stack(layers_: Iterable[tuple[Lamina | Core, float, float]], name: str = "laminate") -> Laminate:
    """The laminate of plies given one by one: (material, thickness in m, angle in degrees), first at z =
    −h/2.
    """
    plies = []
    for material, thickness, degrees in layers_:
        is_core = isinstance(material, Core)
        lamina = material.lamina() if isinstance(material, Core) else material
        label = f"{material.name} {1000 * thickness:g} mm" + ("" if is_core else f" @{degrees:g}")
        core = material if isinstance(material, Core) else None
        plies.append(Ply(lamina, thickness, math.radians(degrees), label, core))
    return Laminate(tuple(plies), name)


def _plies(step: Step, recipe: LaminateMaterials, name: str) -> list[Ply]:
    try:
        return _cloth_plies(step, recipe) if isinstance(step, ClothStep) else [_solid_ply(step, recipe)]
    except InputFault as fault:
        raise fault.inside(f"{name}: '{step.text}'") from None


def _cloth_plies(step: ClothStep, recipe: LaminateMaterials) -> list[Ply]:
    fibre = pick(fibres(), step.fibre or recipe.fibre, "fibre")
    resin = pick(resins(), recipe.resin, "resin")
    cloth = cloths()[step.cloth]
    typical = pick(processes(), recipe.process, "process").fibre_volume(cloth)
    Vf = _fraction(recipe, typical, fibre, resin)
    parts = cured(
        cloth, fibre, resin, areal_weight=step.areal_weight, Vf=Vf, angle=step.angle, model=recipe.model
    )
    return [Ply(part.lamina, part.thickness, part.angle, step.text) for part in parts]


def _fraction(recipe: LaminateMaterials, typical: float, fibre: Fibre, resin: Resin) -> float:
    if recipe.fibre_volume is not None:
        return recipe.fibre_volume
    if recipe.fibre_weight is not None:
        return volume_fraction(recipe.fibre_weight, fibre, resin)
    return typical


def _solid_ply(step: SolidStep, recipe: LaminateMaterials) -> Ply:
    if step.kind == "core":
        core = pick({**cores(), **recipe.own_cores}, step.name, "core")
        return Ply(core.lamina(), step.thickness, 0.0, step.text, core)
    lamina = pick({**layers(), **recipe.own_layers}, step.name, "ply")
    return Ply(lamina, step.thickness, step.angle, step.text)
