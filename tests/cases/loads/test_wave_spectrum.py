"""Wave spectra by their moments, and ranges of a response: limits of a narrow band, a simulated record for a broad one."""

import numpy as np
import pytest

from cases.loads.wave_spectrum import (
    Sea,
    dirlik_equivalent,
    narrow_band_equivalent,
    spectral_moments,
    weibull_equivalent,
)

OMEGA = np.geomspace(0.05, 60.0, 20001)


def sea(**keys):
    """2 m and 7 s."""
    return Sea.model_validate({"significant": "2 m", "period": "7 s"} | keys)


@pytest.mark.parametrize("keys", [{}, {"kind": "jonswap"}, {"kind": "jonswap", "peak": 7.0}])
def test_significant_height_and_peak_come_back(keys):
    """m₀ = Hs²/16, and the spectrum is greatest at 2π/Tp."""
    density = sea(**keys).density(OMEGA)
    assert spectral_moments(OMEGA, density)[0] == pytest.approx(4 / 16, rel=2e-3)
    assert OMEGA[density.argmax()] == pytest.approx(2 * np.pi / 7, rel=2e-3)


def test_a_jonswap_sea_without_peak_is_pierson_moskowitz():
    """γ = 1 leaves the spectrum as it is; γ = 3.3 raises its peak by 3.3 × 0.66 (1 − 0.287 ln γ, DNV-RP-C205, from memory)."""
    plain = sea().density(OMEGA)
    assert sea(kind="jonswap", peak=1.0).density(OMEGA) == pytest.approx(plain, rel=1e-12)
    peaked = sea(kind="jonswap").density(OMEGA)
    assert peaked.max() / plain.max() == pytest.approx(3.3 * (1 - 0.287 * np.log(3.3)), rel=0.02)


def test_the_mean_period_of_pierson_moskowitz():
    """Tz = 2π √(m₀/m₂) = 0.710 Tp (from memory): m₂ = ω_p² Hs²/16 √(5π)/2 by Γ(1/2)."""
    m = spectral_moments(OMEGA, sea().density(OMEGA))
    assert m[2] == pytest.approx(4 / 16 * (2 * np.pi / 7) ** 2 * np.sqrt(1.25 * np.pi), rel=2e-2)
    assert 2 * np.pi * np.sqrt(m[0] / m[2]) / 7 == pytest.approx(0.710, rel=0.01)


def band(low, high, count=4001):
    """Moments of an even spectrum of variance 1 between two frequencies."""
    omega = np.linspace(low, high, count)
    return omega, spectral_moments(omega, np.full(count, 1 / (high - low)))


@pytest.mark.parametrize("slope", [3.0, 5.0, 10.0])
def test_a_narrow_band_has_rayleigh_ranges(slope):
    """As the band closes, Dirlik's ranges become Rayleigh's; of slope 2, Rayleigh's mean square range is 8 m₀."""
    _, narrow = band(0.99, 1.01)
    assert dirlik_equivalent(narrow, slope) == pytest.approx(narrow_band_equivalent(narrow, slope), rel=0.02)
    assert narrow_band_equivalent(narrow, 2.0) ** 2 == pytest.approx(8, rel=1e-6)
    _, broad = band(0.3, 3.0)
    assert dirlik_equivalent(broad, slope) < narrow_band_equivalent(broad, slope)


def rainflow(record):
    """Ranges of closed cycles of a record by the four-point rule; what is left over is dropped."""
    turning = record[np.flatnonzero(np.diff(np.sign(np.diff(record)))) + 1]
    stack, ranges = [], []
    for point in turning:
        stack.append(point)
        while len(stack) > 3:
            a, b, c, d = stack[-4:]
            if not (min(a, d) <= min(b, c) and max(b, c) <= max(a, d)):
                break
            ranges.append(abs(b - c))
            del stack[-3:-1]
    return np.array(ranges)


def test_dirlik_against_a_counted_record():
    """A Gaussian record of an even band from 0.3 to 3 rad/s, counted by rainflow: equal damage within 5 % of the range."""
    omega, moments = band(0.3, 3.0, 1201)
    rng = np.random.default_rng(3)
    time = np.arange(0, 6000, 0.15)
    part = np.sqrt(2 * np.gradient(omega) / 2.7)
    record = np.zeros_like(time)
    for w, a, phase in zip(omega, part, rng.uniform(0, 2 * np.pi, len(omega)), strict=True):
        record += a * np.cos(w * time + phase)
    crossings = time[-1] * np.sqrt(moments[2] / moments[0]) / (2 * np.pi)
    for slope in (3.0, 5.0):
        counted = ((rainflow(record) ** slope).sum() / crossings) ** (1 / slope)
        assert dirlik_equivalent(moments, slope) == pytest.approx(counted, rel=0.05)


def test_weibull_of_shape_2_is_rayleigh():
    """Rayleigh ranges of which one in N exceeds 2 √(2 m₀ ln N) are Weibull's of shape 2."""
    cycles = np.array(1000.0)
    largest = 2 * np.sqrt(2 * np.log(cycles))
    got = weibull_equivalent(largest, cycles, 4.0, 2.0)
    assert got == pytest.approx(float(narrow_band_equivalent(np.ones(5), 4.0)), rel=1e-12)
