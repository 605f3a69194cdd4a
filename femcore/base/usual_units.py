"""The units that files usually hold, and how large each is: pint, which knows all others, takes half a second to load.

Sizes are exact by definition (yard and pound: international, 1959; gravity: CGPM 1901; knot: 1852 m in an hour).
"""

from __future__ import annotations

import math

INCH = 0.0254
"""m."""
FOOT = 12 * INCH
POUND_FORCE = 0.45359237 * 9.80665
"""N."""

FACTORS: dict[str, dict[str, float]] = {
    "m": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "um": 1e-6, "km": 1e3, "in": INCH, "inch": INCH, "ft": FOOT, "nmi": 1852.0},
    "m**2": {"m**2": 1.0, "cm**2": 1e-4, "mm**2": 1e-6, "in**2": INCH**2, "inch**2": INCH**2, "ft**2": FOOT**2},
    "m**3": {"m**3": 1.0, "cm**3": 1e-6, "mm**3": 1e-9, "l": 1e-3},
    "m**4": {"m**4": 1.0, "cm**4": 1e-8, "mm**4": 1e-12, "in**4": INCH**4, "inch**4": INCH**4},
    "m**6": {"m**6": 1.0, "cm**6": 1e-12, "mm**6": 1e-18},
    "Pa": {
        "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "N/m**2": 1.0, "kN/m**2": 1e3, "N/mm**2": 1e6, "bar": 1e5,
        "psi": POUND_FORCE / INCH**2, "ksi": 1e3 * POUND_FORCE / INCH**2,
    },
    "N": {
        "N": 1.0, "daN": 10.0, "kN": 1e3, "MN": 1e6, "kgf": 9.80665, "tf": 9806.65, "lbf": POUND_FORCE, "kip": 1e3 * POUND_FORCE,
    },
    "N*m": {
        "N*m": 1.0, "daN*m": 10.0, "kN*m": 1e3, "MN*m": 1e6, "N*mm": 1e-3, "N*cm": 1e-2, "lbf*ft": POUND_FORCE * FOOT,
        "ft*lbf": POUND_FORCE * FOOT, "lbf*inch": POUND_FORCE * INCH, "kip*inch": 1e3 * POUND_FORCE * INCH,
    },
    "N/m": {
        "N/m": 1.0, "kN/m": 1e3, "MN/m": 1e6, "N/mm": 1e3, "kN/mm": 1e6, "lbf/ft": POUND_FORCE / FOOT,
        "lbf/inch": POUND_FORCE / INCH, "kip/ft": 1e3 * POUND_FORCE / FOOT, "kip/inch": 1e3 * POUND_FORCE / INCH,
    },
    "N*m/rad": {
        "N*m/rad": 1.0, "kN*m/rad": 1e3, "MN*m/rad": 1e6, "N*m/mrad": 1e3, "kN*m/mrad": 1e6,
        "N*m/deg": math.degrees(1.0), "kN*m/deg": 1e3 * math.degrees(1.0),
    },
    "N*m**2": {"N*m**2": 1.0, "kN*m**2": 1e3, "MN*m**2": 1e6, "N*mm**2": 1e-6},
    "kg": {"kg": 1.0, "g": 1e-3, "t": 1e3, "lb": 0.45359237},
    "kg/m": {"kg/m": 1.0, "g/m": 1e-3},
    "kg/m**2": {"kg/m**2": 1.0, "g/m**2": 1e-3},
    "kg/m**3": {"kg/m**3": 1.0, "g/cm**3": 1e3},
    "m/s": {"m/s": 1.0, "kn": 1852 / 3600, "knot": 1852 / 3600},
    "m/s**2": {"m/s**2": 1.0, "g_0": 9.80665},
    "rad": {"rad": 1.0, "mrad": 1e-3, "deg": math.radians(1.0)},
    "K": {"K": 1.0, "delta_degC": 1.0},
    "1/K": {"1/K": 1.0, "K**-1": 1.0},
    "Pa/N": {"Pa/N": 1.0, "kPa/N": 1e3, "MPa/kN": 1e3},
    "Pa/(N*m)": {"Pa/(N*m)": 1.0, "kPa/(N*m)": 1e3, "MPa/(kN*m)": 1e3},
    "1/N": {"1/N": 1.0, "1/kN": 1e-3},
    "1/(N*m)": {"1/(N*m)": 1.0, "1/(kN*m)": 1e-3},
    "s": {"s": 1.0, "ms": 1e-3, "h": 3600.0},
    "Hz": {"Hz": 1.0},
}  # fmt: skip
"""SI unit → unit as written → how many of the first one of the second is."""
KIND_OF = {written: unit for unit, sizes in FACTORS.items() for written in sizes}
"""Unit as written → the SI unit of its kind."""
