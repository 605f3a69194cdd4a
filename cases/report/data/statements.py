"""Strength of the parts in sentences, for results, terminal and page alike."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import compared
from cases.analyses.claims import WHOLE_JOINT, CheckedLoads, checked_loads, unchecked_entries
from cases.analyses.comparison import MARGIN, REL_TOL_NO_CHANGE
from cases.analyses.design_loads import DesignLoad
from cases.analyses.joint_results import ATTRACTED
from cases.analyses.part_margins import PartMargins
from cases.report.data import words
from models.joints.base import without_side
from models.response.joint_loads import component_index
from models.strength.margins import ON_PLASTIC_STRAIN, OUTCOME_WORDS, GoverningCheck, Outcome

MIN_MULTIPLE = 2.0
"""From this ratio on, a change is shown as a multiple."""
MIN_WHOLE_PERCENT = 10.0
"""Smaller changes have a decimal."""
REL_TOL_NEXT_TO_NONE = 0.01
"""Of a design load: a smaller part, or a smaller load at another joint, gets no figure."""
MIN_PERCENT_SHOWN = 0.01
"""%: a smaller error from division is as good as none."""
MAX_DISCRETISATION_ERROR = 0.01
"""Relative: beyond it the division into elements is too coarse for margins of a few percent."""
MAX_MARGIN_SHOWN = 1000.0
"""A larger margin is as good as no load."""


def strength_statements(analysis: Analysis) -> Iterator[str]:
    """What strength was checked under; each joint, the lowest margin first; the parts beside them; what is in no check."""
    part_margins = analysis.part_margins
    yield checked_under_words(analysis)
    assessed = [(one, row) for one in part_margins if (row := one.governing_check(own=True))]
    for one, row in sorted(assessed, key=lambda found: found[1][0].margin):
        lacks = len(one.lacking)
        rest = f" {lacks} check{'s' if lacks > 1 else ''} not made: data missing." if lacks else ""
        yield f"{words.name_of(one.joint)}: {_verdict(one.outcomes[0], *row)}.{rest}"
    for without in analysis.study.unsolved:
        yield f"{words.name_of(without.joint.name)}: no answer: {without.reason}."
    yield from not_assessed_words(analysis)
    beside = [(row, one) for one in part_margins if (row := one.governing_check(own=False))]
    if beside:
        (worst, case), one = min(beside, key=lambda found: found[0][0].margin)
        failing = sum(other.outcomes[1] == "fails" for other in part_margins)
        which = "every joint" if failing == len(part_margins) else f"{failing} of {len(part_margins)} joints"
        with_joints = f" with {which}" if failing else ""
        yield (
            f"Parts beside the joints ({', '.join(_checked_beside(part_margins))}): "
            f"{_verdict(one.outcomes[1], worst, case, with_joints)}, with {words.name_of(one.joint)}."
        )
    yield from plastic_strain_words(part_margins)
    yield unchecked_words(analysis)


def checked_under_words(analysis: Analysis) -> str:
    """Under how many cases and combinations strength was checked, and what the sizes of their loads are."""
    at_breaking_load = any(one.at_breaking_load.names for one in analysis.part_margins)
    and_stay = "; of what carries the stay, also at its breaking load" if at_breaking_load else ""
    return f"Strength was checked {_under(checked_loads(analysis.file))}{and_stay}."


def plastic_strain_words(part_margins: Sequence[PartMargins]) -> Iterator[str]:
    """Which checks rest on the plastic strain entered of a glue; nothing where none does."""
    if resting := list(_on_plastic_strain(part_margins)):
        yield (
            "Satisfied only by the plastic strain entered of a glue: "
            f"{'; '.join(resting)}. A brittle glue of the same strength would not be adequate there."
        )


def not_assessed_words(analysis: Analysis, besides: Sequence[str] = ()) -> Iterator[str]:
    """Which joints are not assessed; nothing where all are. `besides`: those of which that is reported elsewhere."""
    silent = [
        words.name_of(one.joint)
        for one in analysis.part_margins
        if one.governing_check(own=True) is None and one.joint not in besides
    ]
    if silent:
        whose = "its" if len(silent) == 1 else "their"
        yield f"Not assessed: {', '.join(silent)} (the file does not describe {whose} parts)."


def unchecked_words(analysis: Analysis) -> str:
    """Everything that is in no check."""
    return f"In no check: {'; '.join(unchecked_parts(analysis))}."


def _checked_beside(part_margins: Sequence[PartMargins]) -> dict[str, None]:
    """The parts beside the joints of which anything is checked, each once."""
    return dict.fromkeys(
        worst.part.split(",")[0]
        for one in part_margins
        for worst, name in one.worst
        if name is not None and worst.part not in one.joint_part_names
    )


def _on_plastic_strain(part_margins: Sequence[PartMargins]) -> Iterator[str]:
    """Glue lines whose margin rests on the plastic strain entered, each once, with the joints with which it does."""
    found: dict[str, list[str]] = {}
    for one in part_margins:
        for worst, _ in one.worst:
            if worst.remark.startswith(ON_PLASTIC_STRAIN):
                joints = found.setdefault(f"{without_side(worst.part)}: {worst.check}", [])
                joints += [] if one.joint in joints else [one.joint]
    for what, joints in found.items():
        everywhere = len(joints) == len(part_margins)
        yield what if everywhere else f"{what} ({', '.join(map(words.name_of, joints))})"


def design_load_words(analysis: Analysis) -> str:
    """Design torque and bending: of the joints compared the most and the least, in which case, and the part due to racking."""
    said, among = [], {one.joint.name for one in compared(analysis.study)}
    for component in ATTRACTED:
        column = component_index(component)
        found = [
            (loads[column], joint.joint.name)
            for loads, joint in zip(analysis.design_loads, analysis.study.joints, strict=True)
            if joint.joint.name in among
        ]
        (most, who), (least, other) = max(found, key=_size), min(found, key=_size)
        if most.size == 0:
            said.append(f"Design {component}: none at any joint.")
            continue
        rest = ""
        if least.size < REL_TOL_NEXT_TO_NONE * most.size:
            rest = f"; with {words.name_of(other)} below {100 * REL_TOL_NEXT_TO_NONE:.0f} % of that"
        elif len(found) > 1:
            rest = f"; least {words.quantity(least.size, 'N·m')} ({words.name_of(other)})"
        said.append(
            f"Design {component}: {words.quantity(most.size, 'N·m')} ({words.name_of(who)}, in {words.name_of(most.row)}){rest}. "
            f"Largest part due to racking: {words.quantity(most.largest_racking, 'N·m')} (in {words.name_of(most.racking_row)})."
        )
    return " ".join([*said, "Both with pretension, over all cases and combinations, at the hull with more."])


def _size(found: tuple[DesignLoad, str]) -> float:
    return found[0].size


def _under(loads: CheckedLoads) -> str:
    """The cases and combinations, and what the sizes of their loads are."""
    bases = ", ".join(f"{count} {basis}" for basis, count in loads.by_basis.items())
    cases = f"under {loads.cases} load case{'s' if loads.cases > 1 else ''} (loads: {bases})"
    if not loads.combinations:
        return cases
    return f"{cases} and {loads.combinations} combination{'s' if loads.combinations > 1 else ''}"


def _verdict(outcome: Outcome, worst: GoverningCheck, case: str, where: str = "") -> str:
    """The outcome, and the check with the lowest margin."""
    return f"{OUTCOME_WORDS[outcome]}{where}; governing: {_named(worst, case)}"


def unchecked_parts(analysis: Analysis) -> Iterator[str]:
    """What is in no check, part by part; joints that are not assessed at all are left to their own sentence."""
    of_part: dict[str, list[str]] = {}
    for one in unchecked_entries(analysis.file, analysis.part_margins):
        if one.part != WHOLE_JOINT:
            which = f", with {', '.join(map(words.name_of, one.joints))}" if one.joints else ""
            of_part.setdefault(one.part, []).append(f"{one.what}{which}")
    return (f"{part} ({'; '.join(what)})" for part, what in of_part.items())


def _named(worst: GoverningCheck, case: str) -> str:
    """A check: part, check, margin, factor, case."""
    return f"{worst.part}: {worst.check}, margin {margin_words(worst.margin)} ({factor_words(worst)}) in {words.name_of(case)}"


def discretisation_words(analysis: Analysis, *, brief: bool = False) -> str:
    """The largest errors from division into elements, of all joints and cases; with the cure where it is large.

    brief : leaves out how it was estimated, and with which joint and case it is largest
    """
    known = [
        (joint.joint.name, found.case.name, error)
        for joint, errors in zip(analysis.study.joints, analysis.discretisation, strict=True)
        if errors is not None
        for found, error in zip(joint.cases, errors, strict=True)
    ]
    missing = len(analysis.study.joints) - sum(errors is not None for errors in analysis.discretisation)
    unknown = (
        f" Not estimated with {missing} joint{'s' if missing > 1 else ''}: no answer with halved elements."
    )
    if not known:
        return f"Error from division into elements:{unknown if missing else ' none.'}"
    parts = {
        "stem movements": max(error.stems for *_, error in known),
        "joint forces": max(error.force for *_, error in known),
        "joint moments": max(error.moment or 0.0 for *_, error in known),
    }
    joint, case, worst = max(known, key=lambda one: one[2].largest)
    sizes = ", ".join(f"{_percent(size)} of {name}" for name, size in parts.items())
    where = (
        f" (the largest with {words.name_of(joint)} in {words.name_of(case)})" if worst.largest > 0 else ""
    )
    cure = " Raise divide of bows and crossbeam." if worst.largest > MAX_DISCRETISATION_ERROR else ""
    rest = f"{cure}{unknown if missing else ''}"
    if brief:
        return f"Division into elements: error at most {sizes}.{rest}"
    return f"Error from division into elements, estimated by halving them: at most {sizes}{where}.{rest}"


def _percent(size: float) -> str:
    """A relative error for reading."""
    return "below 0.01 %" if size < MIN_PERCENT_SHOWN / 100 else f"{words.number(100 * size, 2)} %"


def factor_words(worst: GoverningCheck) -> str:
    """The safety factor of a check, with its name."""
    return f"safety factor {words.number(worst.factor.value, 2)}, {worst.factor.name.replace('_', ' ')}"


def margin_words(margin: float) -> str:
    """A margin for reading."""
    return (
        "no load"
        if math.isinf(margin)
        else "over 1000"
        if margin > MAX_MARGIN_SHOWN
        else words.number(margin, 2)
    )


def changed(value: float | None, first: float | None, unit: str, least: float) -> str:
    """A quantity of a variant, and in brackets its change from `first`, the boat as entered; up to `least` it is 0."""
    if value is None:
        return "–"
    if unit == MARGIN:
        return margin_words(value)
    if value <= least:
        return "0"
    said = words.quantity(value, unit)
    if first is None or first <= least or abs(value / first - 1) < REL_TOL_NO_CHANGE:
        return said
    ratio = value / first
    if ratio >= MIN_MULTIPLE:
        return f"{said} (×\N{NO-BREAK SPACE}{words.times(ratio)})"
    percent = 100 * (ratio - 1)
    figure = words.number(percent, 0 if abs(percent) >= MIN_WHOLE_PERCENT else 1)
    return f"{said} ({'+' if ratio > 1 else ''}{figure}\N{NO-BREAK SPACE}%)"
