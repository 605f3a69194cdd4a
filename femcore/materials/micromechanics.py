"""A unidirectional layer from its fibre, its resin and the fibre volume fraction.

Along the fibre every model is the rule of mixtures: E1 = s Ef1 Vf + Em (1 − Vf), ν12 = νf Vf + νm (1 − Vf),
with a straightness s ≤ 1 that accounts for crimp (1 for straight fibres). Across the fibre and in shear:

- ``halpin_tsai``: M/Mm = (1 + ξηVf)/(1 − ηVf), η = (Mf/Mm − 1)/(Mf/Mm + ξ), ξ = 2 for E2, 1 for G12
  (J.C. Halpin & J.L. Kardos, Polymer Engineering and Science 16 (1976) 344; from memory);
- ``lewis_nielsen``, the default: the same, G12 with ψVf for Vf in the denominator, ψ = 1 + Vf (1 − Vmax)/Vmax²,
  Vmax = 0.82 of parallel fibres packed at random, as fibres near contact shear the resin between them more (T.B. Lewis
  & L.E. Nielsen, Journal of Applied Polymer Science 14 (1970) 1449; from memory). Without it G12 of four measured
  layers at 60 % comes out 21 to 31 % low, with it 19 % low to 2 % high;
- ``chamis``: M = Mm/(1 − √Vf (1 − Mm/Mf)) (C.C. Chamis, NASA TM-83320, 1983; the form read in a summary);
- ``mixtures``: 1/M = Vf/Mf + (1 − Vf)/Mm, the lower bound (rule of mixtures of compliances).

Fibres of one diameter fill at most π/4 = 0.785 of a square array, on which Chamis's model is based, 0.82 at random
and π/2√3 = 0.907 of a hexagonal one: more is refused.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from femcore.base.errors import InputFault
from femcore.materials.constituents import Fibre, Resin
from femcore.materials.lamina import Lamina
from femcore.materials.records import Provenance, Record

SQUARE_PACKING: Final = math.pi / 4
HEXAGONAL_PACKING: Final = math.pi / (2 * math.sqrt(3))
RANDOM_PACKING: Final = 0.82
"""Parallel fibres thrown together (Lewis & Nielsen 1970, from memory)."""


def _halpin_tsai(fibre: float, resin: float, Vf: float, *, xi: float, crowding: float = 1.0) -> float:
    eta = (fibre / resin - 1) / (fibre / resin + xi)
    return resin * (1 + xi * eta * Vf) / (1 - crowding * eta * Vf)


def _lewis_nielsen(fibre: float, resin: float, Vf: float) -> float:
    crowding = 1 + Vf * (1 - RANDOM_PACKING) / RANDOM_PACKING**2
    return _halpin_tsai(fibre, resin, Vf, xi=1.0, crowding=crowding)


def _chamis(fibre: float, resin: float, Vf: float) -> float:
    return resin / (1 - math.sqrt(Vf) * (1 - resin / fibre))


def _mixtures(fibre: float, resin: float, Vf: float) -> float:
    return 1 / (Vf / fibre + (1 - Vf) / resin)


Rule = Callable[[float, float, float], float]
"""Modulus of the layer from those of fibre and resin and the fibre volume fraction."""


@dataclass(frozen=True)
class Model:
    """Rules for the moduli that the resin governs, E2 and G12, with the densest packing that they allow."""

    across: Rule
    shear: Rule
    packing: str
    densest: float


_ACROSS: Final = partial(_halpin_tsai, xi=2.0)
MODELS: Final = {
    "lewis_nielsen": Model(_ACROSS, _lewis_nielsen, "random", RANDOM_PACKING),
    "halpin_tsai": Model(_ACROSS, partial(_halpin_tsai, xi=1.0), "hexagonal", HEXAGONAL_PACKING),
    "chamis": Model(_chamis, _chamis, "square", SQUARE_PACKING),
    "mixtures": Model(_mixtures, _mixtures, "hexagonal", HEXAGONAL_PACKING),
}
DEFAULT_MODEL: Final = "lewis_nielsen"


def unidirectional(
    fibre: Fibre, resin: Resin, Vf: float, *, model: str = DEFAULT_MODEL, straightness: float = 1.0
) -> Lamina:
    """A layer of parallel fibres; its strengths are typical: breaking strains of the fibre, resin values
    across it.

    Vf : fibre volume fraction
    model : one of `MODELS`
    straightness : part of the fibre's stiffness that crimp leaves; it lowers Xc once more

    Raises InputFault for an unknown model, a straightness outside (0, 1] and a fraction that cannot be
    packed.
    """
    chosen = _model(model)
    _check_fraction(Vf, model, chosen)
    if not 0 < straightness <= 1:
        raise InputFault(
            "straightness", f"{straightness:g} is impossible", "give a factor above 0 and up to 1"
        )
    E1 = straightness * fibre.E1 * Vf + resin.E * (1 - Vf)
    expansion1, expansion2 = _expansions(fibre, resin, Vf, E1, straightness)
    return Lamina(
        name=f"{fibre.name}/{resin.name}",
        title=f"{fibre.title} in {resin.title}, fibre volume {Vf:.2f}, {model}; typical strengths",
        E1=E1,
        E2=chosen.across(fibre.E2, resin.E, Vf),
        nu12=fibre.nu12 * Vf + resin.nu * (1 - Vf),
        G12=chosen.shear(fibre.G12, resin.shear_modulus, Vf),
        density=fibre.density * Vf + resin.density * (1 - Vf),
        Xt=fibre.tension_strain * E1,
        Xc=fibre.compression_strain * E1 * straightness,
        Yt=resin.Yt,
        Yc=resin.Yc,
        S12=resin.S12,
        expansion1=expansion1,
        expansion2=expansion2,
        provenance=_origins(fibre, resin),
        strength_basis="typical",
    )


def random_mat(
    fibre: Fibre, resin: Resin, Vf: float, *, model: str = DEFAULT_MODEL, straightness: float = 1.0
) -> Lamina:
    """A layer of fibres lying evenly in every direction of its plane, isotropic there.

    E = 3/8 E1 + 5/8 E2, G = 1/8 E1 + 1/4 E2 of the unidirectional layer of the same fraction (S.W. Tsai &
    N.J. Pagano, "Invariant properties of composite materials", 1968; from memory), strengths by fibre weight
    fraction ψ: 200ψ + 25 MPa tension, 150ψ + 72 compression, 80ψ + 38 shear (ISO 12215-5:2008 Annex C for
    E-glass mat; from memory: typical, and claimed for glass only, so used as a floor for other fibres).
    """
    along = unidirectional(fibre, resin, Vf, model=model, straightness=straightness)
    both = None
    if along.expansion1 is not None and along.expansion2 is not None:
        # even over all directions: the pull of held layers averages, and so does what holds them
        coupled = along.nu12 * along.E2
        pull = (along.E1 + coupled) * along.expansion1 + (along.E2 + coupled) * along.expansion2
        both = pull / (along.E1 + along.E2 + 2 * coupled)
    E = 3 / 8 * along.E1 + 5 / 8 * along.E2
    G = along.E1 / 8 + along.E2 / 4
    psi = Vf * fibre.density / along.density
    tension, compression, shear = (1e6 * value for value in (200 * psi + 25, 150 * psi + 72, 80 * psi + 38))
    title = f"random mat of {fibre.title} in {resin.title}, fibre volume {Vf:.2f}, {model}; typical strengths"
    return replace(
        along, title=title, E1=E, E2=E, G12=G, nu12=E / (2 * G) - 1,
        Xt=tension, Xc=compression, Yt=tension, Yc=compression, S12=shear,
        expansion1=both, expansion2=both,
    )  # fmt: skip


def _expansions(
    fibre: Fibre, resin: Resin, Vf: float, E1: float, straightness: float
) -> tuple[float | None, float | None]:
    """Expansions of a layer along and across, 1/K; None where one of fibre or resin is not known.

    α1 = (α_f1 E_f1 V_f + α_m E_m V_m)/E1,  α2 = (α_f2 + ν_f α_f1) V_f + (1 + ν_m) α_m V_m − ν12 α1: R.A. Schapery, J. Composite
    Materials 2 (1968) 380, from memory, with the fibre's own α across it.
    """
    along, across, own = fibre.expansion1, fibre.expansion2, resin.expansion
    if along is None or across is None or own is None:
        return None, None
    Vm = 1 - Vf
    first = (along * straightness * fibre.E1 * Vf + own * resin.E * Vm) / E1
    nu12 = fibre.nu12 * Vf + resin.nu * Vm
    second = (across + fibre.nu12 * along) * Vf + (1 + resin.nu) * own * Vm - nu12 * first
    return first, second


def _origins(*parts: Record) -> dict[str, Provenance]:
    return {f"{part.name}.{key}": origin for part in parts for key, origin in part.provenance.items()}


def _model(name: str) -> Model:
    try:
        return MODELS[name]
    except KeyError:
        raise InputFault(
            "model", f"no micromechanics is called '{name}'", f"use one of {', '.join(sorted(MODELS))}"
        ) from None


def _check_fraction(Vf: float, name: str, model: Model) -> None:
    if not 0 < Vf <= model.densest:
        wrong = f"a fibre volume fraction of {Vf:.4g} is impossible"
        cure = f"{name} allows more than 0 and at most {model.densest:.4f} ({model.packing} packing)"
        raise InputFault("fibre_volume", wrong, cure)
