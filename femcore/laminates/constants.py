"""Engineering constants of a laminate: as a plate in its plane, and as a plate in bending."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.laminates.laminate import Array, Laminate


@dataclass(frozen=True)
class EngineeringConstants:
    """Moduli (Pa) and ratios of the homogeneous plate that would deform alike.

    eta_x_xy : γ_xy/ε_x under N_x alone, eta_y_xy : γ_xy/ε_y under N_y alone; in bending, twist per curvature
    """

    Ex: float
    Ey: float
    Gxy: float
    nu_xy: float
    nu_yx: float
    eta_x_xy: float
    eta_y_xy: float


def membrane_constants(laminate: Laminate, *, free_to_bend: bool = True) -> EngineeringConstants:
    """In-plane constants: of the whole compliance where the laminate may curve, else of A alone.

    The two differ only where B does not vanish. Ex = 1/(h a11), ν_xy = −a12/a11 and so on (R.M. Jones, 1999).
    """
    a = laminate.compliance[:3, :3] if free_to_bend else np.linalg.inv(laminate.A)
    return _constants(np.asarray(a) * laminate.thickness)


def flexural_constants(laminate: Laminate, *, free_to_stretch: bool = True) -> EngineeringConstants:
    """Bending constants: Ex = 12/(h³ d11) and so on, with the mid-plane free to stretch or held."""
    d = laminate.compliance[3:, 3:] if free_to_stretch else np.linalg.inv(laminate.D)
    return _constants(np.asarray(d) * laminate.thickness**3 / 12)


def _constants(s: Array) -> EngineeringConstants:
    return EngineeringConstants(
        Ex=float(1 / s[0, 0]),
        Ey=float(1 / s[1, 1]),
        Gxy=float(1 / s[2, 2]),
        nu_xy=float(-s[0, 1] / s[0, 0]),
        nu_yx=float(-s[0, 1] / s[1, 1]),
        eta_x_xy=float(s[0, 2] / s[0, 0]),
        eta_y_xy=float(s[1, 2] / s[1, 1]),
    )
