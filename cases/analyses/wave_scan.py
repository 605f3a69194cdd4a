"""All waves of a case with every joint: which heading and length makes most of each component of the joint load and of each part.

Unit loads along both hulls, of the shape that is 1 N/m at one station and falls to nothing at the next, are solved once for each
joint; every state's joint load is then a product of its load along the hulls with theirs. Exact in first order with every cable
taut. What the waves add to pretension is given; the parts are checked under pretension and wave together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import case_rows
from cases.analyses.joint_results import JointResult
from cases.analyses.part_loads import part_loads
from cases.analyses.solved_cases import solve_cases
from cases.input.boat_file import BoatFile
from cases.loads import case_loads
from cases.loads.base import LoadCase, expanded_case
from cases.loads.wave_balance import (
    HullForm,
    Motion,
    WaveStates,
    balanced_load,
    bow_moments,
    grid_of_states,
    pitch_connecting_moment,
)
from cases.loads.wave_spectrum import (
    dirlik_equivalent,
    narrow_band_equivalent,
    spectral_moments,
    weibull_equivalent,
)
from cases.loads.waves import Waves, hull_loads
from femcore.base.arrays import FloatArray, IntArray
from femcore.base.errors import StructureFault
from femcore.base.units import STANDARD_GRAVITY
from femcore.base.written import Unwritten, named
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.checks.beam_parts import beam_part_checks
from models.joints import Joint
from models.joints.base import LOAD_MIRROR, without_side
from models.response.front_end import SIDES, FrontEnd
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index, joint_loads
from models.strength.margins import Check

DIRECTIONS_TRIED = 12
"""Of the six components of a joint load, besides each of them either way: a wave that is most in one of them is checked."""
DEFAULT_SHAPE = 1.0
"""Of Weibull ranges where the file has no service: its own default."""
STORM = 3 * 3600.0
"""s, that a sea is taken to last (common practice)."""
SLOPES = (3.0, 10.0)
"""Of fatigue curves: welds (m = 3) and laminates (about 10)."""
SHORTEST_WAVE, LOWEST_FREQUENCY, FREQUENCIES = 0.3, 0.5, 160
"""Of a sea: waves down to 0.3 of the hulls' length, which is twelve stations; frequencies from half the peak's, below which a
spectrum has nothing; and how many."""
LINEAR_AMPLITUDE = 1e-4
"""m, of waves that take no section out of the water."""
MOST_TRIED = 2 * len(JOINT_LOAD_NAMES) + DIRECTIONS_TRIED
"""Directions in all."""
REL_TOL_NO_COMPONENT = 1e-9
"""Of the largest component, N and N·m alike: a smaller one is rounding, and counts as none."""


@dataclass(frozen=True, slots=True)
class WorstState:
    """The regular wave in which something is worst."""

    heading: Annotated[float, Field(description="rad, 0 along the boat, π/2 abeam")]
    length: Annotated[float, Field(description="m, from crest to crest")]
    height: Annotated[float, Field(description="m, from trough to crest")]
    phase: Annotated[float, Field(description="rad; 0: a crest at the origin")]


@dataclass(frozen=True, slots=True)
class WorstComponent:
    """One component of the joint load in the wave that makes most of it."""

    component: Annotated[str, Field(description="in beam words")]
    size: Annotated[float, Field(description="N or N·m, of the wave alone, without pretension")]
    side: Annotated[str, Field(description="the hull")]
    state: WorstState


@dataclass(frozen=True, slots=True)
class WorstPart:
    """A part of the joint, or beside it, in the wave that leaves least margin, both sides taken together."""

    part: str
    check: str
    margin: Annotated[
        float, Field(description="allowable over factor times load, less 1, pretension and wave together")
    ]
    factor: Annotated[str, Field(description="the safety factor's name")]
    state: WorstState


@dataclass(frozen=True, slots=True)
class SeaRange:
    """N or N·m: ranges that, once in each crossing, do the sea's damage on a curve of that slope."""

    slope: float
    narrow_band: Annotated[float, Field(description="by Rayleigh's distribution")]
    dirlik: Annotated[float, Field(description="by Dirlik's formula for rainflow ranges")]
    weibull: Annotated[
        float, Field(description="by Weibull's of the service's shape, twice `largest` once in three hours")
    ]


@dataclass(frozen=True, slots=True)
class SeaComponent:
    """One component of the joint load in the case's irregular sea, at its worst heading and hull."""

    component: Annotated[str, Field(description="in beam words")]
    side: Annotated[str, Field(description="the hull")]
    heading: Annotated[float, Field(description="rad, 0 along the boat, π/2 abeam")]
    significant: Annotated[
        float, Field(description="N or N·m, amplitude: mean of the highest third; without pretension")
    ]
    largest: Annotated[float, Field(description="N or N·m, amplitude, most likely once in three hours")]
    period: Annotated[float, Field(description="s, between upward crossings; 0 where there is no load")]
    ranges: tuple[SeaRange, ...]


@dataclass(frozen=True, eq=False)
class JointWaves:
    """One joint in all waves of a case; `over_heading` (headings, 6)."""

    joint: Annotated[str, Field(description="name of the joint")]
    components: tuple[WorstComponent, ...]
    parts: Annotated[
        tuple[WorstPart, ...], Field(description="of the joint and beside it, the governing one first")
    ]
    over_heading: Annotated[
        FloatArray,
        named(None, JOINT_LOAD_NAMES),
        Field(
            description="by heading: the largest of each component, N or N·m, over lengths, phases and hulls"
        ),
    ]
    sea: Annotated[
        tuple[SeaComponent, ...], Field(description="in the case's irregular sea; empty where it has none")
    ] = ()


@dataclass(frozen=True, eq=False)
class WaveScan:
    """All regular waves of a case.

    form : the hulls;   load : (2, n), N/m, along them in the worst state;   motion : of the case
    """

    case: Annotated[str, Field(description="name of the case in the boat file")]
    states: Annotated[int, Field(description="how many waves were tried")]
    heading: Annotated[FloatArray, named(None), Field(description="rad, in rising order")]
    joints: Annotated[tuple[JointWaves, ...], Field(description="in the order of `joints`")]
    worst: Annotated[WorstState, Field(description="that of most torque at any joint")]
    form: Unwritten[HullForm]
    load: Unwritten[FloatArray]
    motion: Unwritten[Motion]


def wave_scans(file: BoatFile, joints: Sequence[JointResult]) -> tuple[WaveScan, ...]:
    """Of every case of kind "waves" that is on; what else acts in the case, `also` and `line`, is left out."""
    cases = [case for case in file.active_cases if isinstance(case, Waves)]
    shape = DEFAULT_SHAPE if file.service is None else file.service.shape
    return tuple(wave_scan(file, case, joints, shape) for case in cases)


def wave_scan(
    boat: Boat, case: Waves, joints: Sequence[JointResult], shape: float = DEFAULT_SHAPE
) -> WaveScan:
    """One case with these joints; StructureFaults as of `solve`.

    shape : of the Weibull distribution that the ranges in an irregular sea are set beside
    """
    form = case.form(boat)
    states = case.waves(form)
    load = case.scale * balanced_load(form, states, case.motion)
    heading, of_heading = np.unique(states.heading, return_inverse=True)
    bent = bow_moments(form, load).T
    of_hulls = [
        int(each.argmax())
        for moment in (pitch_connecting_moment(form, load), *bent)
        for each in (moment, -moment)
    ]
    found, most, at = [], -1.0, 0
    unit_loads = _unit_loads(joints[0].front, form, case)
    for one in joints:
        unit, rest = _unit_joint_loads(one.front, unit_loads)
        added = scanned_joint_loads(load, unit)
        tried = np.union1d(extreme_states(added), of_hulls)
        regular = _joint_waves(one.joint, states, added, (heading, of_heading))
        checks = [
            *one.joint.checks(added[tried] + rest, boat.factors),
            *checks_beside(one, form, case, load[tried] / case.scale),
        ]
        parts, seas = _worst_parts(checks, states, tried), in_sea(form, case, unit, heading, shape)
        found.append(replace(regular, parts=parts, sea=seas))
        torque = np.abs(added[..., component_index("torque")]).max(axis=1)
        if torque.max() > most:
            most, at = float(torque.max()), int(torque.argmax())
    return WaveScan(
        case.name, len(states), heading, tuple(found), _state(states, at), form, load[at], case.motion
    )


def unit_joint_loads(front: FrontEnd, form: HullForm, case: LoadCase) -> tuple[FloatArray, FloatArray]:
    """(2 n, 2, 6), what 1 N/m at each station of the port and then of the starboard hull adds to the joint loads under pretension
    alone, (2, 6), which come second.

    Each unit load alone is balanced by the support; in a balanced load these shares cancel.
    """
    return _unit_joint_loads(front, _unit_loads(front, form, case))


def _unit_loads(front: FrontEnd, form: HullForm, case: LoadCase) -> Loads:
    """1 N/m at each station of the port and then of the starboard hull, a case each; the same with any joint."""
    n = len(form.x)
    shapes = np.eye(2 * n).reshape(2 * n, 2, n)
    plain = case.model_copy(update={"also": [], "line": [], "scale": 1.0})
    cases = []
    for number, shape in enumerate(shapes):
        placed, lines = hull_loads(front.boat, form, shape)
        cases.append(expanded_case(plain, "unit load", case.origin(), placed, lines, f"unit {number}"))
    return case_loads(front, cases)


def _unit_joint_loads(front: FrontEnd, unit_loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Of `unit_joint_loads`."""
    # cables all taut and without pretension: what the unit loads add
    added = joint_loads(solve(front.prepared.all_cables_taut(), unit_loads))
    return added, joint_loads(front.under_pretension)[0]


def scanned_joint_loads(load: FloatArray, unit: FloatArray) -> FloatArray:
    """(s, 2, 6), N and N·m, of loads along the hulls (s, 2, n) from those of unit loads (2 n, 2, 6)."""
    flat, per = load.reshape(len(load), -1), unit.reshape(len(unit), -1)
    return (flat @ per).reshape(-1, *unit.shape[1:])


def in_sea(
    form: HullForm, case: Waves, unit: FloatArray, heading: FloatArray, shape: float
) -> tuple[SeaComponent, ...]:
    """The components of a joint load in the case's irregular sea, from its unit loads (2 n, 2, 6); none without a sea.

    Long-crested, met by a boat without way, with linear transfer functions: hulls stay in the water.
    """
    if case.sea is None:
        return ()
    omega, load = sea_loads(form, case, heading)
    response = scanned_joint_loads(load.reshape(-1, *load.shape[-2:]), unit).reshape(
        *load.shape[:3], *unit.shape[1:]
    )
    transfer = (response**2).sum(axis=2)
    density = np.moveaxis(transfer, 1, -1) * case.sea.density(omega)
    moments = spectral_moments(omega, density)
    found = []
    for column, name in enumerate(JOINT_LOAD_NAMES):
        of = moments[:, :, :, column]
        at, side = np.unravel_index(of[0].argmax(), of.shape[1:])
        one = of[:, at, side]
        if one[0] <= (REL_TOL_NO_COMPONENT**2) * moments[0].max():
            found.append(SeaComponent(name, SIDES[side], float(heading[at]), 0.0, 0.0, 0.0, ()))
            continue
        period = float(2 * np.pi * np.sqrt(one[0] / one[2]))
        cycles = np.array(max(STORM / period, 2.0))
        largest = float(np.sqrt(2 * one[0] * np.log(cycles)))
        ranges = tuple(
            SeaRange(
                slope,
                float(narrow_band_equivalent(one, slope)),
                float(dirlik_equivalent(one, slope)),
                float(weibull_equivalent(np.array(2 * largest), cycles, slope, shape)),
            )
            for slope in SLOPES
        )
        significant = float(2 * np.sqrt(one[0]))
        found.append(
            SeaComponent(name, SIDES[side], float(heading[at]), significant, largest, period, ranges)
        )
    return tuple(found)


def sea_loads(form: HullForm, case: Waves, heading: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Frequencies (f,), rad/s, of the case's sea, and by heading, frequency and phase (0 and 90°) the load along both hulls,
    (h, f, 2, 2, n), N/m for each metre of wave amplitude. The case has a sea.
    """
    assert case.sea is not None  # noqa: S101  (the callers' condition)
    peak = 2 * np.pi / case.sea.period
    shortest = np.sqrt(2 * np.pi * STANDARD_GRAVITY / (SHORTEST_WAVE * form.length))
    omega = np.linspace(LOWEST_FREQUENCY * peak, max(shortest, 2 * peak), FREQUENCIES)
    length = 2 * np.pi * STANDARD_GRAVITY / omega**2
    states = grid_of_states(
        heading, length, np.full_like(omega, 2 * LINEAR_AMPLITUDE), np.array([0.0, np.pi / 2])
    )
    load = case.scale * balanced_load(form, states, case.motion) / LINEAR_AMPLITUDE
    return omega, load.reshape(len(heading), len(omega), 2, *load.shape[1:])


def checks_beside(result: JointResult, form: HullForm, case: Waves, load: FloatArray) -> tuple[Check, ...]:
    """Checks of the parts beside a joint under loads along the hulls (e, 2, n), solved with pretension and slack cables.

    None where they have no answer. Buckling of the frame is left out: it is found for the waves that are run as cases.
    """
    boat, cases = result.front.boat, []
    plain = case.model_copy(update={"also": [], "line": []})
    for number, one in enumerate(load):
        placed, lines = hull_loads(boat, form, one)
        cases.append(expanded_case(plain, "one wave", case.origin(), placed, lines, f"{number}"))
    try:
        done = solve_cases(boat, result.joint.name, result.stiffness, cases, solved=result.front)
    except StructureFault:
        return ()
    rows = case_rows(result.joint, done.front, done.solution)
    return beam_part_checks(boat, part_loads(cases, rows, np.zeros(len(cases))), boat.factors)


def _joint_waves(
    joint: Joint, states: WaveStates, added: FloatArray, headings: tuple[FloatArray, IntArray]
) -> JointWaves:
    """Without parts and irregular sea."""
    size = np.abs(added)
    size[size <= REL_TOL_NO_COMPONENT * size.max()] = 0.0
    components = []
    for column, name in enumerate(JOINT_LOAD_NAMES):
        state, side = np.unravel_index(size[..., column].argmax(), size.shape[:2])
        largest = float(size[state, side, column])
        components.append(WorstComponent(name, largest, SIDES[side], _state(states, int(state))))
    over_heading = np.array([size[headings[1] == i].max(axis=(0, 1)) for i in range(len(headings[0]))])
    return JointWaves(joint.name, tuple(components), (), over_heading)


def extreme_states(added: FloatArray) -> IntArray:
    """(e,), states of joint loads (s, 2, 6) in which a part can be worst: those that reach furthest in some direction.

    A part's utilisation is convex in the joint load but for few checks, so it is largest at a corner of their convex hull. Tried
    are each component either way and some fixed directions of all six, each over its largest size, on both hulls.
    """
    both = np.stack([added[:, 0], added[:, 1] * LOAD_MIRROR])
    both = both / np.maximum(np.abs(both).max(axis=(0, 1)), np.finfo(float).tiny)
    mixed = np.random.default_rng(0).normal(size=(DIRECTIONS_TRIED, both.shape[-1]))
    directions = np.concatenate([np.eye(both.shape[-1]), -np.eye(both.shape[-1]), mixed])
    return np.unique((both @ directions.T).argmax(axis=1)).astype(np.intp)


def _worst_parts(checks: Sequence[Check], states: WaveStates, tried: IntArray) -> tuple[WorstPart, ...]:
    """Of every part its check of least margin, over the states `tried`."""
    found: dict[str, WorstPart] = {}
    for check in checks:
        if check.kind != "checked":
            continue
        part, at = without_side(check.part), int(np.argmin(check.margin))
        margin = float(check.margin[at])
        if np.isfinite(margin) and (part not in found or margin < found[part].margin):
            found[part] = WorstPart(
                part, check.check, margin, check.factor.name, _state(states, int(tried[at]))
            )
    return tuple(sorted(found.values(), key=lambda one: one.margin))


def _state(states: WaveStates, at: int) -> WorstState:
    values = (states.heading, states.length, states.height, states.phase)
    heading, length, height, phase = (float(one[at]) for one in values)
    return WorstState(heading, length, height, phase)
