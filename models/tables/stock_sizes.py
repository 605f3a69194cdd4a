"""Sizes that are bought (common practice), m but for bolts, and those of them that are larger than a part's present one."""

from __future__ import annotations

from collections.abc import Iterable

STOCK_BOLT = (6, 8, 10, 12, 16, 20)
"""M…"""
STOCK_PLATE = (6e-3, 8e-3, 10e-3, 12e-3, 15e-3, 20e-3, 25e-3)
STOCK_PIN = (10e-3, 12e-3, 14e-3, 16e-3, 20e-3, 25e-3, 30e-3, 36e-3)
STOCK_BACKING = (3e-3, 5e-3, 8e-3, 12e-3)
STOCK_WELD = (4e-3, 5e-3, 6e-3, 8e-3, 10e-3)
STOCK_WIRE = (8e-3, 10e-3, 12e-3, 14e-3, 16e-3, 18e-3, 20e-3, 22e-3, 25e-3, 28e-3, 32e-3)
STOCK_TUBE = (50e-3, 60e-3, 70e-3, 80e-3, 90e-3, 100e-3, 120e-3)
STOCK_WALL = (3e-3, 4e-3, 5e-3, 6e-3, 8e-3, 10e-3, 12e-3)
ABS_TOL_SIZE = 1e-9
"""m, of a size: two sizes closer than this count as the same."""


def larger(stock: Iterable[float], now: float) -> list[float]:
    """The stock sizes above the present one, smallest first."""
    return [size for size in stock if size > now + ABS_TOL_SIZE]
