"""The racking that a service lives by, and how it is distributed over the distance: of the case named, or of waves.

Entered: a case that the sea reaches once in the distance, ranges by the service's own Weibull shape h.

Of a regular wave: what the wave of a case of waves makes of M_P, the pitch-connecting moment, is reached once in T₀ (three hours
where `once_in` is left out), of N₀ = T₀/period cycles. One Weibull distribution through it has over the N cycles of the distance

    M_N = M₀ (ln N / ln N₀)^(1/h)

Of a spectrum: the case's irregular sea at the heading where it racks the boat most, as if all of the distance was sailed in it.
M_P then is Gaussian and, taken as narrow-banded, its ranges are Rayleigh's (h = 2), M_N = √(2 m₀ ln N) (S. O. Rice, from memory).

Joint loads are taken as proportional to M_P, with the distribution along the hulls of the wave that twists them most.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from cases.analyses.wave_scan import sea_loads
from cases.input.boat_file import BoatFile
from cases.input.combinations import ExpandedCombination
from cases.input.service import ServiceLife
from cases.loads.wave_balance import pitch_connecting_moment
from cases.loads.wave_spectrum import spectral_moments
from cases.loads.waves import SCANNED_HEADINGS, Waves, WorstWave
from femcore.base.errors import InputFault
from femcore.base.units import STANDARD_GRAVITY
from femcore.base.written import Unwritten

RAYLEIGH = 2.0
"""The Weibull shape of a narrow-banded Gaussian sea's ranges."""
REL_TOL_NO_RACKING = 1e-9
"""Of weight × waterline: a smaller pitch-connecting moment is rounding of none, as of waves from ahead or abeam."""


@dataclass(frozen=True, slots=True)
class ServiceRacking:
    """What racks the boat in a service; of an entered case, `moment` and what follows it are None.

    ends : of the largest cycle, combinations of cases
    """

    way: Annotated[
        Literal["entered", "regular wave", "spectrum"],
        Field(
            description="a case entered as reached once in the distance, or how it was taken from a case of waves"
        ),
    ]
    case: Annotated[str, Field(description="name of the case, in the boat file where it is one of waves")]
    shape: Annotated[float, Field(description="Weibull shape of the ranges; 2 of a spectrum")]
    scale: Annotated[
        float, Field(description="the racking once in the distance over that of the case as it is run")
    ]
    moment: Annotated[float | None, Field(description="N·m, M_P of the wave run")] = None
    largest: Annotated[float | None, Field(description="N·m, M_P once in the distance")] = None
    significant: Annotated[
        float | None, Field(description="N·m, amplitude of M_P in the sea, mean of the highest third")
    ] = None
    period: Annotated[
        float | None, Field(description="s, of the wave, or between upward crossings of M_P in the sea")
    ] = None
    heading: Annotated[float | None, Field(description="rad, 0 along the boat, π/2 abeam")] = None
    reference: Annotated[float | None, Field(description="cycles in which the wave is reached once")] = None
    ends: Unwritten[tuple[ExpandedCombination, ExpandedCombination]] = (
        ExpandedCombination("", "", {}),
        ExpandedCombination("", "", {}),
    )


def service_racking(file: BoatFile, service: ServiceLife) -> ServiceRacking:
    """Of a file with that service; InputFault where its waves do not rack the boat."""
    name = service.racking_case(file.load_cases, file.active_cases)
    case = next((one for one in file.active_cases if one.name == name and isinstance(one, Waves)), None)
    if not isinstance(case, Waves):
        ends = (
            _end(service, "one way", {name: 1.0}),
            _end(service, "the other way", {name: 1.0 - service.swing}),
        )
        return ServiceRacking("entered", name, service.shape, 1.0, ends=ends)
    wave, (up, down) = case.worst(file)[0], [one.name for one in case.expand(file)[:2]]
    form = case.form(file)
    if abs(wave.pitch_connecting) <= REL_TOL_NO_RACKING * form.weight * form.length:
        cure = "leave heading out, or name another case in service: case"
        raise InputFault(
            "service", f"takes its racking from ‘{name}’, whose waves do not twist the hulls", cure
        )
    found = _of_regular_wave(service, case, wave) if case.sea is None else _of_sea(file, service, case, wave)
    # the other bow up is a case of its own, with its own sign
    ends = (
        _end(service, "one way", {up: found.scale}),
        _end(service, "the other way", {down: found.scale * (service.swing - 1.0)}),
    )
    return replace(found, ends=ends)


def _end(service: ServiceLife, name: str, racking: dict[str, float]) -> ExpandedCombination:
    """The load at one end of a cycle."""
    factors = {} if service.about is None else {service.about: 1.0}
    for case, factor in racking.items():
        factors[case] = factors.get(case, 0.0) + factor
    return ExpandedCombination(f"service, {name}", "", factors)


def _of_regular_wave(service: ServiceLife, case: Waves, wave: WorstWave) -> ServiceRacking:
    """Weibull's distribution through the wave, reached once in `service.once_in`."""
    period = math.sqrt(2 * math.pi * wave.length / STANDARD_GRAVITY)
    reference = service.once_in / (service.cycle_period or period)
    scale = (math.log(service.cycles) / math.log(reference)) ** (1 / service.shape)
    moment = abs(case.scale) * wave.pitch_connecting
    return ServiceRacking(
        way="regular wave", case=case.name, shape=service.shape, scale=scale, moment=moment, largest=scale * moment,
        period=period, heading=wave.heading, reference=reference,
    )  # fmt: skip


def _of_sea(file: BoatFile, service: ServiceLife, case: Waves, wave: WorstWave) -> ServiceRacking:
    """Rayleigh's distribution by the moments of M_P in the case's irregular sea."""
    assert case.sea is not None  # noqa: S101  (the caller's choice)
    form = case.form(file)
    headings = SCANNED_HEADINGS if case.heading is None else np.array([case.heading])
    omega, load = sea_loads(form, case, headings)
    size = pitch_connecting_moment(form, load.reshape(-1, *load.shape[-2:])).reshape(load.shape[:3])
    density = (size**2).sum(axis=2) * case.sea.density(omega)
    moments = spectral_moments(omega, density)
    at = int(moments[0].argmax())
    m0, m2 = float(moments[0, at]), float(moments[2, at])
    moment, largest = abs(case.scale) * wave.pitch_connecting, math.sqrt(2 * m0 * math.log(service.cycles))
    return ServiceRacking(
        way="spectrum", case=case.name, shape=RAYLEIGH, scale=largest / moment, moment=moment, largest=largest,
        significant=2 * math.sqrt(m0), period=2 * math.pi * math.sqrt(m0 / m2), heading=float(headings[at]),
    )  # fmt: skip
