"""Wave spectra by their moments, and ranges of a response: limits, laws and a counted record for a broad band."""

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
    """γ = 1 leaves the spectrum as it is; γ = 3.3 raises its peak by 3.3 × 0.66 (1 − 0.287 ln γ, DNV-RP-C205, read as quoted)."""
    plain = sea().density(OMEGA)
    assert sea(kind="jonswap", peak=1.0).density(OMEGA) == pytest.approx(plain, rel=1e-12)
    peaked = sea(kind="jonswap").density(OMEGA)
    assert peaked.max() / plain.max() == pytest.approx(3.3 * (1 - 0.287 * np.log(3.3)), rel=0.02)


def test_the_mean_period_of_pierson_moskowitz():
    """Tz = 2π √(m₀/m₂) = 0.710 Tp (read as quoted: Tp = 1.408 Tz): m₂ = ω_p² Hs²/16 √(5π)/2 by Γ(1/2)."""
    m = spectral_moments(OMEGA, sea().density(OMEGA))
    assert m[2] == pytest.approx(4 / 16 * (2 * np.pi / 7) ** 2 * np.sqrt(1.25 * np.pi), rel=2e-2)
    assert 2 * np.pi * np.sqrt(m[0] / m[2]) / 7 == pytest.approx(0.710, rel=0.01)


def band(low, high):
    """Moments m₀ to m₄ of an even spectrum of variance 1 between two frequencies, ∫ ωⁿ dω/(high − low)."""
    return np.array([(high ** (n + 1) - low ** (n + 1)) / (n + 1) / (high - low) for n in range(5)])


WHITE = {"D1": 0.1156393, "R": 0.5675814, "D2": 0.3523827, "D3": 0.5319780, "Q": 0.1445491}
"""Dirlik's coefficients for white noise below a frequency, by hand: γ = √5/3 and x_m = √15/6, so that D1 = (3√15 − 10)/14."""


def moment(moments, slope):
    """Mean of the slope-th power of Z, range over 2 √m₀, from the equivalent range, which occurs in each crossing."""
    irregularity = moments[2] / np.sqrt(moments[0] * moments[4])
    return float((dirlik_equivalent(moments, slope) / (2 * np.sqrt(moments[0]))) ** slope * irregularity)


def test_white_noise_has_the_coefficients_worked_by_hand():
    """All of its moments are those of D1/Q e^(−Z/Q) + D2 Z/R² e^(−Z²/2R²) + D3 Z e^(−Z²/2), integrated over Z as numbers."""
    assert pytest.approx((3 * np.sqrt(15) - 10) / 14, abs=1e-7) == WHITE["D1"]
    d1, r, d2, d3, q = WHITE.values()
    z = np.concatenate([np.linspace(0, 2, 40001), np.linspace(2, 14, 40001)[1:]])
    density = (
        d1 / q * np.exp(-z / q) + d2 * z / r**2 * np.exp(-(z**2) / (2 * r**2)) + d3 * z * np.exp(-(z**2) / 2)
    )
    assert np.trapezoid(density, z) == pytest.approx(1, abs=1e-6)
    for slope in (1.0, 2.0, 3.0, 5.0, 10.0):
        assert moment(band(0, 1), slope) == pytest.approx(np.trapezoid(density * z**slope, z), rel=1e-5)


@pytest.mark.parametrize("limits", [(0, 1), (0.3, 3), (0.5, 1)])
def test_dirliks_distribution_is_one_of_probability(limits):
    """∫ p dZ = 1: the moment of power 0, as the limit of small powers s, 2 M(s) − M(2s) + O(s²)."""
    assert 2 * moment(band(*limits), 0.01) - moment(band(*limits), 0.02) == pytest.approx(1, abs=5e-4)


@pytest.mark.parametrize("limits", [(0, 1), (0.3, 3), (0.5, 1)])
def test_the_mean_rainflow_range_follows_from_the_path(limits):
    """A Gaussian record covers √(2 m₂/π) a second, each rainflow cycle its range twice, and peaks are as many as cycles: the mean
    range is √(2π m₀) times the irregularity. Dirlik's 1.25 stands for √(π/2), 0.3 % more, on the exponential part: 2 % of it.
    """
    moments = band(*limits)
    assert dirlik_equivalent(moments, 1.0) == pytest.approx(np.sqrt(2 * np.pi * moments[0]), rel=1e-4)


@pytest.mark.parametrize("slope", [3.0, 5.0, 10.0])
def test_a_narrow_band_has_rayleigh_ranges(slope):
    """Dirlik's ranges become Rayleigh's with the square of the band's width; of slope 2, Rayleigh's mean square range is 8 m₀."""
    off = [
        1 - dirlik_equivalent(m, slope) / narrow_band_equivalent(m, slope)
        for m in (band(0.99, 1.01), band(0.98, 1.02), band(0.3, 3))
    ]
    assert 0 < off[0] < 2e-5
    assert off[1] / off[0] == pytest.approx(4, rel=0.01)
    assert 0.02 < off[2]
    assert narrow_band_equivalent(band(0.99, 1.01), 2.0) ** 2 == pytest.approx(8, rel=1e-6)


def rainflow(record):
    """Ranges of a record and how often each occurs: closed cycles by the four-point rule once, what is left over a half."""
    turns = np.flatnonzero(np.diff(np.sign(np.diff(record)))) + 1
    stack, ranges = [], []
    for point in record[np.concatenate([[0], turns, [len(record) - 1]])].tolist():
        stack.append(point)
        while len(stack) > 3:
            a, b, c, d = stack[-4:]
            if not (min(a, d) <= min(b, c) and max(b, c) <= max(a, d)):
                break
            ranges.append(abs(b - c))
            del stack[-3:-1]
    left = np.abs(np.diff(stack))
    return np.concatenate([ranges, left]), np.concatenate([np.ones(len(ranges)), np.full(len(left), 0.5)])


def test_rainflow_of_the_published_record():
    """−2, 1, −3, 5, −1, 3, −4, 4, −2 has cycles 3: 0.5, 4: 1.5, 6: 0.5, 8: 1, 9: 0.5 (ASTM E 1049, read as quoted)."""
    ranges, counts = rainflow(np.array([-2.0, 1, -3, 5, -1, 3, -4, 4, -2]))
    got = {size: counts[ranges == size].sum() for size in np.unique(ranges)}
    assert got == {3: 0.5, 4: 1.5, 6: 0.5, 8: 1, 9: 0.5}


@pytest.mark.parametrize(("limits", "seed"), [((0, 1), 3), ((0.5, 1), 4)])
def test_dirlik_against_a_counted_record(limits, seed):
    """A Gaussian record of an even band, counted: the same mean range within 1 %, equivalent ranges within 3 %."""
    count, step, moments = 2**18, 0.3, band(*limits)
    omega = 2 * np.pi * np.fft.rfftfreq(count, step)
    inside = (omega > limits[0]) & (omega <= limits[1])
    rng = np.random.default_rng(seed)
    part = np.where(inside, np.sqrt(omega[1] / (limits[1] - limits[0]) / 4), 0.0)
    record = (
        np.fft.irfft(part * (rng.standard_normal((2, len(omega))) * [[1], [1j]]).sum(axis=0), count) * count
    )
    assert record.var() == pytest.approx(1, rel=0.02)
    ranges, counts = rainflow(record)
    crossings = count * step * np.sqrt(moments[2] / moments[0]) / (2 * np.pi)
    for slope, rel in ((1.0, 0.01), (3.0, 0.03), (5.0, 0.03)):
        counted = ((counts * ranges**slope).sum() / crossings) ** (1 / slope)
        assert dirlik_equivalent(moments, slope) == pytest.approx(counted, rel=rel)


def test_weibull_of_shape_2_is_rayleigh():
    """Rayleigh ranges of which one in N exceeds 2 √(2 m₀ ln N) are Weibull's of shape 2."""
    cycles = np.array(1000.0)
    largest = 2 * np.sqrt(2 * np.log(cycles))
    got = weibull_equivalent(largest, cycles, 4.0, 2.0)
    assert got == pytest.approx(float(narrow_band_equivalent(np.ones(5), 4.0)), rel=1e-12)
