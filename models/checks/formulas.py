"""What every check compares, in symbols, for whoever signs: its load on the left, its capacity on the right, no factor in either.

The sources stand beside each check, the full derivations in `models.strength`. Symbols: F force, N push or pull, V and q shear
force and flow, M bending, σ and τ stresses; f_y 0.2 % proof stress, f_u strength, A area, A_s stress area of a thread, W section
modulus, t thickness, d diameter of bolt or pin, d0 of its hole, D bending stiffness of a plate; of a glue line G, E_a, η moduli
and thickness, K stiffness of a sheet per width, L its overlap; R what resists. A utilisation is 1 at failure.
"""

from __future__ import annotations

import re
from typing import Final

_SHEAR_LAG = "P ≤ load of the lap at glue strain γ_e + γ_p; ω² = (G/η)(1/K₁ + 1/K₂)"
_SHEAR_PEAK = (
    "P ω (K₁ + K₂ cosh ωL)/((K₁ + K₂) sinh ωL), √ of squares of both flows, + τ of ΔT ≤ knock-downs × τ_R"
)
_END_PEEL = "τ_max β t (2 + ω/β)/((1 + ω/β)² + 1) ≤ σ_R; β⁴ = E_a/(4 η D)"
_IN_EVERY_PLY = "criterion of the source ≤ 1 in every ply"

FORMULAS: Final = {
    "bolt in shear": "F_v ≤ α_v f_ub A, A_s with thread in the shear plane",
    "bolt in tension": "F_t, prying included ≤ 0.9 f_ub A_s",
    "bolt in shear and tension": "largest of F_v/F_v,R + F_t/(1.4 F_t,R), F_v/F_v,R, F_t/F_t,R ≤ 1",
    "bolt's first yield": "√(σ² + 3 τ²) on A_s ≤ f_y",
    "plate in bearing": "F_v ≤ k₁ α_b f_u d t",
    "plate punched by the head": "F_t ≤ 0.6 π d_m t f_u",
    "foot bent beside the bolts": "pull ≤ least of 4 M/m, (2 M + n ΣF_t)/(m + n), ΣF_t; M = ℓ t² f_y/4",
    "plate bent between lug and bolt": "pull ≤ least of 4 M/m, (2 M + n ΣF_t)/(m + n), ΣF_t; M = ℓ t² f_y/4",
    "laminate in bearing": "F ≤ bearing strength × d t",
    "laminate torn out": "F ≤ 2 (e − d/2) t τ_R",
    "laminate crushed under the washer": "F_t ≤ f_j × area within t √(f_y/3 f_j) of the washer",
    "washer drawn through the laminate": "F_t ≤ π d_w t τ_R",
    "lug torn at the hole": "(r_a^1.6 + r_t^1.6)^(1/1.6) ≤ 1; along 0.9 f_u (w − d0) t, 1.2 f_u t (e − ½ d0 cos 40°); across 0.6",
    "hole in bearing": "F ≤ 1.5 f_y d t",
    "hole in bearing, in service": "F ≤ 0.6 f_y d t",
    "plate around the hole": "F ≤ least of 2 t f_y (a − ⅔ d0), 2 t f_y (c − ⅓ d0)",
    "lug's root": "√(σ² + 3 τ²) ≤ f_y; N, both M, V and T of the rectangle",
    "lug buckled sideways": "F₁ ℓ²/(4.013 √(EI GJ)) + N 4 ℓ²/(π² EI) ≤ 1",
    "pin in shear": "F_v ≤ 0.6 A f_u in each plane",
    "pin in bending": "F (b + 4 c + 2 a)/8 ≤ 1.5 W f_y",
    "pin in bending, in service": "F (b + 4 c + 2 a)/8 ≤ 0.8 W f_y",
    "pin in shear and bending": "√((M/M_R)² + (F_v/F_v,R)²) ≤ 1",
    "inner plate in bearing": "F ≤ 1.5 b d f_y",
    "outer plates in bearing": "F ≤ 1.5 · 2 a d f_y",
    "inner plate in bearing, in service": "F ≤ 0.6 b d f_y",
    "outer plates in bearing, in service": "F ≤ 0.6 · 2 a d f_y",
    "inner plate, contact stress in service": "F ≤ force at 0.591 √(E F (d0 − d)/(d² b)) = 2.5 f_y",
    "outer plates, contact stress in service": "F ≤ force at 0.591 √(E F (d0 − d)/(d² 2 a)) = 2.5 f_y",
    "weld": "√(σ⊥² + 3 (τ⊥² + τ∥²)) in the throat ≤ f_w",
    "metal beside the weld": "√(σ² + 3 τ²) on the leg ≤ f_u,haz",
    "strut buckled": "N ≤ lesser root of N² − N (A f_y + N_cr (1 + e₀ A/W)) + A f_y N_cr = 0",
    "strut squashed": "N ≤ A f_y",
    "bed under the foot": "N ≤ crushing strength × area",
    "line at its terminal": "T ≤ terminal × breaking load",
    "line over its bend": "T ≤ efficiency by D/d × breaking load",
    "bent under the foot": f"ring or plate beside the foot: √((6M/t² + N/t)² + 3 (q/t)²) ≤ f_y; of plies: {_IN_EVERY_PLY}",
    "skin around the plate, first ply": f"q = T/2πr², N_r, M_r around a disc of the plate's area: {_IN_EVERY_PLY}",
    "skin beside the tape, first ply": f"N_rθ, N_r, M_r around the hole: {_IN_EVERY_PLY}",
    "tape, first ply": f"N_y = n, N_xy = q, M_y = n c/2: {_IN_EVERY_PLY}",
    "hoop bending, first ply": f"M_θ = D (n² − 1) w/r², summed over n: {_IN_EVERY_PLY}",
    "hoop bending, first yield": "M_θ = D (n² − 1) w/r², summed over n: √(σ² + 3 τ²) ≤ f_y",
    "first ply": f"N, q, M of the part in each ply: {_IN_EVERY_PLY}",
    "first yield": "√(σ² + 3 τ²) ≤ f_y",
    "buckling": "2 F/(π r) ≤ 4.2 D/r²",
    "push and pull along the beam": "N ≤ strength as entered",
    "slip along and around the beam": "√(N² + (T/r)²) ≤ grip",
    "strap in tension": "tension per width × bend factor ≤ turns × load of one at its first ply",
    "glue in shear": _SHEAR_LAG,
    "glue in shear, elastic in service": _SHEAR_PEAK,
    "glue on the beam in shear": _SHEAR_LAG,
    "glue on the beam in shear, elastic in service": _SHEAR_PEAK,
    "glue on the skin in shear": _SHEAR_LAG,
    "glue on the skin in shear, elastic in service": _SHEAR_PEAK,
    "glue of its rim in shear": _SHEAR_LAG,
    "glue of its rim in shear, elastic in service": "q ω coth ωL ≤ knock-downs × τ_R",
    "glue under the straps": _SHEAR_LAG,
    "glue under the straps, elastic in service": "q ω coth ωL + τ of ΔT ≤ knock-downs × τ_R",
    "glue in peel": "σ of N and both M on the foot's contact patch, 1/β beyond its edge ≤ σ_R; β⁴ = E_a/(4 η D)",
    "glue in shear and peel": "√((τ/τ_R)² + (σ/σ_R)²) ≤ 1",
    "glue in peel, bending as push and pull": "(F/L + 6 (M + F L/2)/L²)/(π r) ≤ σ_R",
    "glue in peel at its ends": _END_PEEL,
    "glue on the beam in peel at its ends": _END_PEEL,
    "glue on the skin in peel": "larger of 2 β n and 4 n/leg ≤ σ_R; β⁴ = E_a/(4 η D)",
    "glue line in shear": "P/2c · ¼[(βc/t)(1 + 3k) coth(βc/t) + 3(1 − k)] ≤ τ_R; β² = 8 G t/(E η)",
    "glue line in peel": "(P t/c²)[λ² (k/2)(sinh 2λ − sin 2λ) + λ k′ (cosh 2λ + cos 2λ)]/(sinh 2λ + sin 2λ) ≤ σ_R",
    "wall buckled": "R_c + R_s² ≤ 1; each flow over its critical flow",
    "wrinkling of faces": "σ of the face ≤ 0.5 (E_f E_c G_c)^⅓",
    "core in shear": "V/d ≤ τ_R of the core",
    "shear crimping": "compression per width ≤ G d²/c",
    "buckled as a whole": "1/λ ≤ 1; λ: lowest load factor of linear buckling",
}  # fmt: skip
"""Check → what it compares. Of a glue line's elastic check σ_R is the strength less its knock-downs."""


def formula_of(check: str) -> str:
    """What a check compares, by its name without what is added for a case or a remark; empty where it has no formula here."""
    name = re.sub(r" \(.*\)$", "", check)
    while name not in FORMULAS and ", " in name:
        name = name.rpartition(", ")[0]
    return FORMULAS.get(name, "")
