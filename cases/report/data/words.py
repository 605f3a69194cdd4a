"""Numbers and names in words: the answer in plain sentences, before any table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cases.analyses.candidates import compared, considered
from cases.analyses.joint_results import ATTRACTED, REL_TOL_ROUNDING_LOAD
from cases.analyses.scaled_sizes import ScaledSize
from cases.analyses.study import Study
from cases.loads import LoadCase
from cases.loads.rig import StayLine
from femcore.base.numbers import engineering, plain, shorten
from models.response.joint_loads import component_index, larger_side

REL_TOL_SAME_FIGURE = 0.005
"""Relative difference below which two figures of three digits are called the same."""
MIN_WHOLE_PERCENT = 9.95
"""Smaller shares have a decimal."""
REL_TOL_STIFFER = 1e-3
"""Of the bare bows' stiffness: a smaller difference between joints is not reported."""


@dataclass(frozen=True, slots=True)
class ExtremeJoints:
    """The joints that attract the most and the least of a component, and how much; N or N·m."""

    most: str
    top: float
    least: str
    bottom: float


def number(value: float, decimals: int) -> str:
    """A number with a true minus sign; zero has no sign."""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "−")


def quantity(value: float, unit: str) -> str:
    """A size with three digits, its prefix and unit: ``1.91 kN·m``; trailing zeros are kept."""
    if value == 0 or not math.isfinite(value):
        return engineering(value, unit)
    rounded = float(f"{abs(value):.3g}")
    figure, named = engineering(rounded, unit, 12).split(" ", 1)
    decimals = max(0, 2 - math.floor(math.log10(float(figure))))
    return f"{'−' if value < 0 else ''}{float(figure):.{decimals}f} {named}"


def change(before: float, after: float, unit: str) -> str:
    """Two sizes, the unit once where it is the same: ``136 → 190 kN/m``."""
    first, last = quantity(before, unit), quantity(after, unit)
    if after == 0:
        return f"{first} → 0"
    figure, named = first.split(" ", 1)
    return f"{figure if last.endswith(f' {named}') else first} → {last}"


def scaled_sizes(sizes: Sequence[ScaledSize]) -> str:
    """What a factor makes of sizes in the file, in their own units."""
    return ", ".join(
        f"{name_of(one.of)} {one.entered.split(' ', 1)[0]} → {one.scaled}".replace("-", "−") for one in sizes
    )


def times(ratio: float) -> str:
    """A ratio, with enough digits to differ from 1."""
    return f"{ratio:.3f}" if ratio < 1.1 else f"{ratio:.2f}" if ratio < 10 else f"{ratio:.0f}"


def spring(stiffness: float, unit: str = "N·m/rad") -> str:
    """A spring in words: free, rigid, or its stiffness."""
    return "free" if stiffness == 0 else "rigid" if math.isinf(stiffness) else quantity(stiffness, unit)


def extreme(study: Study, case: LoadCase, component: str) -> ExtremeJoints:
    """Which of the joints compared attract the most and the least of a component in a case, excluding pretension."""
    found = {joint.joint.name: joint.case(case.name).attracted(component) for joint in compared(study)}
    most, least = max(found, key=found.__getitem__), min(found, key=found.__getitem__)
    bottom = 0.0 if found[least] <= REL_TOL_ROUNDING_LOAD * found[most] else found[least]
    return ExtremeJoints(most, found[most], least, bottom)


def name_of(text: str) -> str:
    """A name in quotation marks, shortened to fit a sentence."""
    return f"‘{shorten(text, 40)}’"


def answer(study: Study) -> list[str]:
    """The answer in a few sentences: torque, bending, stiffness, half-torque stiffness, stay line."""
    said = [
        f"Racking alone, case {name_of(case.name)} ({plain(case.words())}). {_attracted(study, case)}."
        f"{_under_pretension(study, case)}"
        for case in study.racking_cases[:1]
    ]
    said.append(stiffness_sentence(study))
    said.extend(half_words(study)[:1])
    return said + stay_sentences(study)[:1]


def _attracted(study: Study, case: LoadCase) -> str:
    parts = []
    where = side_remark(study, case)
    for component, what in (("torque", "Racking torque"), ("vertical bending", "Vertical bending")):
        found = extreme(study, case, component)
        if found.top == 0:
            parts.append(f"{what}: no joint attracts any")
        elif found.most == found.least or found.top - found.bottom <= REL_TOL_SAME_FIGURE * found.top:
            joints = len(compared(study))
            whole = "every joint" if joints == len(study.joints) else "each candidate"
            who = name_of(found.most) if joints == 1 else whole
            parts.append(f"{what}: {who} attracts {quantity(found.top, 'N·m')} {where}")
        else:
            least = f"{name_of(found.least)} {quantity(found.bottom, 'N·m') if found.bottom else 'none'}"
            parts.append(
                f"{what}: {name_of(found.most)} attracts {quantity(found.top, 'N·m')} {where}, {least}"
            )
    return ". ".join(parts)


def side_remark(study: Study, case: LoadCase) -> str:
    """“At each hull” if both hulls have the same load with every joint, else at the one with the larger load."""
    for joint in compared(study):
        columns = [component_index(name) for name in ATTRACTED]
        added = np.abs(joint.case(case.name).added_joint_load[:, columns])
        if (np.abs(added[0] - added[1]) > REL_TOL_SAME_FIGURE * added.max()).any():
            return "at the hull that gets more"
    return "at each hull"


def _under_pretension(study: Study, case: LoadCase) -> str:
    """What pretension alone puts on the joints; nothing without pretension."""
    phrases = []
    for name in ATTRACTED:
        at_rest = {
            joint.joint.name: larger_side(joint.case(case.name).pretension_joint_load, name)
            for joint in compared(study)
        }
        most = max(at_rest, key=at_rest.__getitem__)
        whole = max(larger_side(joint.case(case.name).joint_load, name) for joint in compared(study))
        if at_rest[most] > REL_TOL_SAME_FIGURE * whole:
            phrases.append(f"{quantity(at_rest[most], 'N·m')} of {name} (with {name_of(most)})")
    if not phrases:
        return ""
    return f" Pretension alone puts up to {' and '.join(phrases)} on a joint; the figures above exclude it."


def stiffness_sentence(study: Study) -> str:
    """How much the stiffest and the softest candidate raise the racking stiffness of the bows, number first."""
    bare = study.bare_racking_stiffness
    ranked = sorted(considered(study), key=lambda joint: joint.racking_stiffness)
    soft, stiff = ranked[0], ranked[-1]
    said = (
        f"{name_of(stiff.joint.name)} raises racking stiffness by {percent(stiff.stiffer - 1)} "
        f"({change(bare, stiff.racking_stiffness, 'N/m')})"
    )
    if soft is not stiff and stiff.racking_stiffness - soft.racking_stiffness > REL_TOL_STIFFER * bare:
        said += f", {name_of(soft.joint.name)} by {percent(soft.stiffer - 1)}"
    return f"{said}, over that of the bows without a crossbeam."


def percent(share: float) -> str:
    """A share in percent, with a decimal below ten: ``34 %``, ``4.1 %``."""
    figure = number(100 * share, 0 if abs(100 * share) >= MIN_WHOLE_PERCENT else 1)
    return f"{figure}\N{NO-BREAK SPACE}%"


def half_stiffnesses(study: Study, direction: str) -> list[float]:
    """N·m/rad: the half stiffness of every joint that has a curve in that direction."""
    return [curve.k_half for joint in study.joints if (curve := joint.curves[direction]) is not None]


def span(values: list[float], unit: str) -> str:
    """One figure, or from … to …, where they differ."""
    low, high = min(values), max(values)
    if high - low <= REL_TOL_SAME_FIGURE * high:
        return quantity(high, unit)
    first, last = quantity(low, unit), quantity(high, unit)
    figure, named = first.split(" ", 1)
    return f"{figure if last.endswith(f' {named}') else first} to {last}"


def half_words(study: Study) -> list[str]:
    """The half stiffnesses of the boat, in torque and in vertical bending."""
    directions = (
        ("pitch", "Half-torque stiffness", "about the beam's axis", "torque", "twist"),
        ("roll", "Half-bending stiffness", "in vertical bending", "vertical bending", "vertical bending"),
    )
    return [
        f"{name}: {span(halves, 'N·m/rad')} {where}. Such a joint attracts half the {moment} of a rigid one; a "
        f"far softer one acts as free in {free}, a far stiffer one as rigid."
        for direction, name, where, moment, free in directions
        if (halves := half_stiffnesses(study, direction))
    ]


def stay_cases(study: Study) -> list[str]:
    """Rig cases whose stay has a line of its own, the largest torque first; of cases with the same line the one with most."""
    lines = study.stay_lines()
    alike: dict[tuple[float, float], str] = {}
    for name in sorted(lines, key=lambda name: -abs(lines[name].torque)):
        alike.setdefault((round(lines[name].offset, 5), round(lines[name].torque_free_forward, 5)), name)
    return list(alike.values())


def stay_sentences(study: Study) -> list[str]:
    """The stay's line, a sentence for each of `stay_cases`."""
    lines = study.stay_lines()
    marks = {rig.name: rig.estimate_mark for rig in study.rig_cases}
    attachment = study.file.estimates.mark("stay.forward", "stay.up")
    return [stay_words(name, lines[name], marks[name], attachment) for name in stay_cases(study)]


def stay_words(case: str, line: StayLine, load: str = "", attachment: str = "") -> str:
    """One rig case: the pull, its torque, and the torque-free attachment; `load` and `attachment` mark what is estimated."""
    pull = f"In {name_of(case)}{load} the stay pulls {quantity(line.up, 'N')} up and {quantity(line.aft, 'N')} aft"
    if abs(line.offset) < 5e-5:
        return f"{pull}. Its line passes through the crossbeam's shear centre: no torque."
    where, turns = ("ahead of", "leading side up") if line.offset < 0 else ("behind", "leading side down")
    return (
        f"{pull}. Its line passes {millimetres(line.offset)} {where} the crossbeam's shear centre{attachment}: "
        f"{quantity(abs(line.torque), 'N·m')} of torque, the beam's {turns}. "
        f"Attached {torque_free(line)}, the stay would put no torque on the beam."
    )


def torque_free(line: StayLine) -> str:
    """The torque-free attachment, in words and mm."""
    ahead = line.torque_free_forward
    if abs(ahead) < 5e-4:
        return "straight above or below the shear centre"
    return (
        f"{millimetres(ahead)} {'ahead of' if ahead > 0 else 'behind'} the shear centre, at the same height"
    )


def miles(distance: float, short_of: float = math.inf) -> str:
    """Nautical miles of a life to two digits, for lives scatter by factors; more where two would reach what it falls short of."""
    rounded = (float(f"{distance:.{digits}g}") for digits in range(2, 9))
    return f"{next((one for one in rounded if one < short_of), distance):,.0f}"


def millimetres(length: float) -> str:
    """A length without its sign, in whole millimetres (tenths below 10 mm)."""
    size = abs(length) * 1000
    return f"{size:.0f} mm" if size >= 9.95 else f"{size:.1f} mm"
