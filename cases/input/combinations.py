"""Combinations of load cases: those that a boat file asks for, or the pair that is common for boats with a rig.

The pair is that of ISO 12215-7:2020, Small craft, Hull construction and scantlings, Part 7: loads for multihulls: the
greater of 100 % of the quartering sea with 50 % of the rig load, and of 50 % with 100 %. The scope of the standard was
read, its formulas were not: neither load here is the standard's, and nothing here shows that a boat meets it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Annotated

import numpy as np
from pydantic import Field, field_validator

from cases.loads import LoadCase
from cases.loads.base import MAX_FACTOR, MIN_FACTOR, QUARTERING_SEA, LoadLevel, SeaLoad
from cases.loads.rig import Rig
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table, duplicates, unknown

ISO_12215_7_FACTORS = ((1.0, 0.5), (0.5, 1.0))
"""Factors of sea and rig."""
RACKING_SIGNS = (1.0, -1.0)
"""A sea comes from either quarter, and lifts the port bow or the starboard one."""
ONE_LOAD = frozenset({"pitch connecting", "torsion"})
"""One load seen about two axes: never added."""
COMBINED_SEA: frozenset[SeaLoad] = QUARTERING_SEA | {"slam"}
"""What takes the sea's place in the pair: a boat that pitches under sail slams with the rig at work (common practice)."""
DEFAULT_COMBINATIONS_REASON = (
    "No combinations are entered. The default is the simplified pair of ISO 12215-7:2020 (loads for multihulls): 100 % of the "
    "quartering sea with 50 % of the rig's load, and 50 % with 100 %, the sea from either quarter. The quartering sea is "
    "represented by racking cases, by waves with either bow up, by the pitch connecting and torsional moments of a rule, one at "
    "a time, by a diving bow, and by slams, as a boat that pitches under sail slams with the rig at work (common practice); "
    "the rig by rig cases. The scope of that standard was read, its formulas were not: the loads are this file's, not the "
    "standard's. Cases with further loads are combinations already and are not combined again, nor is transverse bending, which "
    "is of a beam sea."
)
NO_DEFAULT_COMBINATIONS_REASON = (
    "No combinations are entered, and none are made by default: that takes a rig case and a racking, wave, rule, deck diving or "
    "slam case, both without further loads. No check was made with sea and rig together."
)
MAX_COMBINATIONS = 20_000
"""Nobody can read more combinations than this."""

ExpandedNames = Mapping[str, Sequence[str]]
"""Name in a combination → names of the cases as they are run."""


class Combination(Table):
    """Cases and the factors that they are added with.

    factors : by the name of a case; where one of the file's cases expands to several, each of them in turn
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    factors: dict[str, Annotated[float, Field(allow_inf_nan=False)]]

    @field_validator("factors")
    @classmethod
    def _check_size(cls, factors: dict[str, float]) -> dict[str, float]:
        if not any(factors.values()):
            raise fault("combines nothing", "give cases and factors, such as { racking = 1.0, upwind = 0.5 }")
        for name, factor in factors.items():
            if factor and not MIN_FACTOR <= abs(factor) <= MAX_FACTOR:
                cure = f"give a size from {MIN_FACTOR:g} to {MAX_FACTOR:g}, or leave the case out"
                raise fault(f"{name}: a factor of {factor:g} is out of range", cure)
        return factors


@dataclass(frozen=True, slots=True)
class ExpandedCombination:
    """A combination of cases as they are run: factors by their names."""

    name: str
    note: str
    factors: Annotated[Mapping[str, float], Field(description="by name of the case")]


def expanded_names(cases: Iterable[tuple[LoadCase, Sequence[LoadCase]]]) -> dict[str, list[str]]:
    """The names that combinations may use, from the file's cases, each with those that it expands to.

    The name of a case as it is run means that one alone; another name of the file means all that its case expands to.
    """
    pairs = [(case.name, [one.name for one in expanded]) for case, expanded in cases]
    found = {name: [name] for _, names in pairs for name in names}
    return {name: found.get(name, names) for name, names in pairs} | found


def default_combinations(cases: Iterable[tuple[LoadCase, Sequence[LoadCase]]]) -> list[Combination]:
    """The pair, of every plain rig case with every plain sea; `DEFAULT_COMBINATIONS_REASON` says why.

    cases : those of the file, each with those that it expands to
    """
    plain = [(case, expanded) for case, expanded in cases if case.is_plain]
    rigs = [case.name for case, _ in plain if isinstance(case, Rig)]
    seas = [
        (one.name, RACKING_SIGNS if one.reverses else RACKING_SIGNS[:1])
        for _, expanded in plain
        for one in expanded
        if len(one.sea_loads()) == 1 and one.sea_loads() <= COMBINED_SEA
    ]
    return [
        Combination(
            name=f"{_part(sea, sign * of_sea)}, {_part(rig, of_rig)}",
            factors={sea: sign * of_sea, rig: of_rig},
        )
        for rig, (sea, signs), (of_sea, of_rig) in product(rigs, seas, ISO_12215_7_FACTORS)
        for sign in signs
    ]


def uncombined_reasons(cases: Iterable[LoadCase]) -> list[str]:
    """Why cases of the file are in no combination made by default, a sentence for each kind that is present."""
    names: dict[str, list[str]] = {}
    for case in cases:
        if case.uncombined:
            names.setdefault(case.uncombined, []).append(f"‘{case.name}’")
    return [f"Not combined by default: {' and '.join(of)}, because {why}." for why, of in names.items()]


def _part(name: str, factor: float) -> str:
    return f"{name} {100 * factor:.0f} %".replace("-", "−") if factor < 0 else f"{name} {100 * factor:.0f} %"


def expanded_combinations(
    combinations: Iterable[Combination], members: ExpandedNames
) -> list[ExpandedCombination]:
    """All combinations over cases as they are run: one that names a case of several becomes several."""
    return [one for combination in combinations for one in _expand(combination, members)]


def _expand(combination: Combination, members: ExpandedNames) -> Iterator[ExpandedCombination]:
    chosen = [members[name] for name in combination.factors]
    for choice in product(*chosen):
        factors: dict[str, float] = {}
        for name, factor in zip(choice, combination.factors.values(), strict=True):
            factors[name] = factors.get(name, 0.0) + factor
        which = ", ".join(name for name, all_of in zip(choice, chosen, strict=True) if len(all_of) > 1)
        name = f"{combination.name} ({which})" if which else combination.name
        yield ExpandedCombination(name, combination.note, factors)


def case_name_fault(place: str, name: str, members: Iterable[str], off: Iterable[str]) -> InputFault | None:
    """What is wrong with the name of a case at that place of the file; None where the case is there and on."""
    known = list(members)
    if name in known:
        return None
    if name in off:
        return InputFault(
            place, f"case '{name}' is switched off", "give it on = true, or take its name out here"
        )
    return unknown(place, "case", name, known)


def combination_faults(
    combinations: Sequence[Combination],
    members: ExpandedNames,
    cases: Sequence[LoadCase],
    off: Iterable[str] = (),
) -> Iterator[InputFault]:
    """Cases that do not exist or are off, names that stand twice, one load added twice, and combinations beyond number.

    cases : as they are run;   off : names of those that are not
    """
    yield from duplicates("combinations", [one.name for one in combinations])
    sound = []
    for one in combinations:
        here = f"combinations '{one.name}'"
        wrong = [
            trouble
            for name in one.factors
            if (trouble := case_name_fault(f"{here}: factors", name, members, off)) is not None
        ]
        yield from wrong
        if one.name in members:
            yield InputFault(here, "is the name of a case too", "give the combination another name")
        if not wrong:
            sound.append(one)
    count = sum(prod(len(members[name]) for name in one.factors) for one in sound)
    if count > MAX_COMBINATIONS:
        cure = f"combine cases that stand for fewer, {MAX_COMBINATIONS} in all"
        yield InputFault("combinations", f"stand for {count} combinations of single cases", cure)
        return
    yield from _added_twice(expanded_combinations(sound, members), cases)


def _added_twice(
    combinations: Iterable[ExpandedCombination], cases: Iterable[LoadCase]
) -> Iterator[InputFault]:
    """Combinations that add the pitch connecting and the torsional moment of a rule: one load, counted twice."""
    twisting = {case.name: case.sea_loads() & ONE_LOAD for case in cases}
    for one in combinations:
        parts = {kind: name for name, factor in one.factors.items() if factor for kind in twisting[name]}
        if len(parts) == len(ONE_LOAD):
            names = " and ".join(f"'{parts[kind]}'" for kind in sorted(parts))
            wrong = (
                f"adds the pitch connecting and the torsional moment ({names}), one load seen about two axes"
            )
            cure = "take one of them out, and make another combination with the other"
            yield InputFault(f"combinations '{one.name}'", wrong, cure)


def combined_level(combination: ExpandedCombination, cases: Mapping[str, LoadLevel]) -> LoadLevel:
    """Extreme where a case of that level is in it whole: an accident with what acts beside it. Part of one makes no accident."""
    whole = (name for name, factor in combination.factors.items() if abs(factor) >= 1)
    return "extreme" if any(cases[name] == "extreme" for name in whole) else "working"


def factor_matrix(combinations: Sequence[ExpandedCombination], cases: Sequence[str]) -> FloatArray:
    """(n, c), factors of the cases, by name, in each combination."""
    return np.array([[one.factors.get(name, 0.0) for name in cases] for one in combinations]).reshape(
        len(combinations), len(cases)
    )
