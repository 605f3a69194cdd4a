"""What is not known of a boat: every input that scatters, by its key in the file or by its kind, as a distribution.

Scatter stands behind a value, ``force = "10 kN ± 30 %"``, in the table ``[scatter]`` by key or by kind, or in [boat] as the
mark of an estimate; what has none gets that of its kind (`cases.input.input_kinds`). Inputs of one cause are high or low
together. How a spread is written: `femcore.base.spread`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import Field

from cases.input.input_kinds import INPUT_KINDS, KEY_DEFAULTS, TABLE_KINDS, InputGroup, InputKind, kinds_of
from cases.input.variants import split_key, value_at
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.spread import Spread, read_spread, split_spread
from femcore.base.toml import unknown
from femcore.base.units import number_and_unit, unit_ratio
from femcore.base.written import Unwritten, written

if TYPE_CHECKING:
    from cases.input.boat_file import BoatFile

ScatterBasis = Literal["entered", "estimated", "default"]
"""Whether the file gives a scatter, marks the value as estimated, or says nothing of it."""
KIND_NAMES = tuple(dict.fromkeys(kind.name for kind in INPUT_KINDS))
WORDS = frozenset({"title", "note", "name", "source", "question"})
"""Keys of a file whose text is for people: no quantity is looked for in them."""
APART = frozenset({"scatter", "boat", "variants"})
"""Tables of a file that hold no quantity of the boat as analysed."""
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class ScatteredInput:
    """One input that scatters.

    key          : of the file, or the name of a kind;   part : of a kind, which member or joint; empty: all of them
    group        : "key" of a key of the file
    nominal      : what the analysis without scatter uses: 1 of a factor, else the value in `unit`, as the file writes it
    distribution : scipy's, frozen: of a factor on the value where `is_factor`, else of the value in `unit`
    cause        : inputs of one cause share one standard normal variable
    """

    key: Annotated[str, Field(description="key of the file, or kind of input")]
    part: Annotated[str, Field(description="of a kind, which member or joint; empty: all of them")]
    group: Annotated[
        InputGroup | Literal["key"], Field(description="loads, stiffness, position, strength; key")
    ]
    what: Annotated[str, Field(description="in words")]
    spread: Unwritten[Spread]
    value: Unwritten[str]
    basis: Annotated[ScatterBasis, Field(description="entered in the file, marked as estimated, or default")]
    reason: Annotated[
        str, Field(description="why so much, and where that is from; empty where it was entered")
    ]
    own_cause: Unwritten[str] = ""

    @property
    def name(self) -> str:
        """Key and part, as tables show it."""
        return f"{self.key} ({self.part})" if self.part else self.key

    @written("inputs of one cause are high or low together")
    def cause(self) -> str:
        """Its own name where it shares none."""
        return self.own_cause or self.name

    @written("as it would stand behind the value")
    def scatter(self) -> str:
        """The spread's own text."""
        return self.spread.text

    @property
    def is_factor(self) -> bool:
        """Whether `distribution` is of a factor on the value."""
        return self.group != "key" or self.spread.is_relative

    @cached_property
    def _written(self) -> tuple[tuple[float, ...], str]:
        return ((1.0,), "") if self.group != "key" else number_and_unit(self.value)

    @property
    def unit(self) -> str:
        """Of nominal value and distribution, as written; empty of a factor."""
        return "" if self.is_factor else self._written[1]

    @property
    def nominal(self) -> float:
        """In `unit`."""
        return 1.0 if self.is_factor else self._written[0][0]

    @cached_property
    def distribution(self) -> Any:  # noqa: ANN401  (scipy's frozen distributions have no public type)
        """Of the factor, or of the value in `unit`."""
        ratio = 1.0 if self.is_factor else unit_ratio(self.spread.unit, self.unit)
        return self.spread.distribution(self.nominal, ratio)

    def at_normal(self, u: FloatArray) -> FloatArray:
        """The input where its cause, a standard normal variable, is u: exact in the tails, where a chance has no digits left."""
        from scipy.special import ndtr  # noqa: PLC0415  (start-up time of the command line)

        middle, sigma = self._of_normal
        if self.spread.kind == "normal":
            return np.asarray(middle + sigma * u)
        if self.spread.kind == "lognormal":
            return np.asarray(middle * np.exp(sigma * u), dtype=np.float64)
        made = self.distribution
        if self.spread.kind == "uniform":
            low, width = made.args
            return np.asarray(low + width * np.where(u < 0, ndtr(u), 1.0 - ndtr(-u)), dtype=np.float64)
        return np.asarray(np.where(u < 0, made.ppf(ndtr(u)), made.isf(ndtr(-u))), dtype=np.float64)

    @cached_property
    def _of_normal(self) -> tuple[float, float]:
        """Of a normal mean and deviation, of a lognormal median and deviation of the logarithm."""
        made = self.distribution
        if self.spread.kind == "lognormal":
            return float(made.kwds["scale"]), float(made.args[0])
        return (float(made.mean()), float(made.std())) if self.spread.kind == "normal" else (0.0, 0.0)

    def text_at(self, x: float) -> str:
        """The value as the file would have it where the input is `x`; of a kind the factor."""
        numbers, unit = self._written
        values = [number * x for number in numbers] if self.is_factor else [x]
        return f"{' '.join(f'{value:.12g}' for value in values)} {unit}".strip()

    def shown(self, x: float) -> str:
        """The value to three digits where the input is `x`, as tables show it; of a kind the factor, "× 1.2"."""
        if self.group != "key":
            return f"× {x:.3g}"
        numbers, unit = self._written
        values = [number * x for number in numbers] if self.is_factor else [x]
        return f"{' '.join(f'{value:.3g}' for value in values)} {unit}".strip().replace("-", "−")


def scattered_inputs(file: BoatFile) -> tuple[ScatteredInput, ...]:
    """Every input of the boat that scatters: keys with a scatter in the order of the file, then kinds; ± 0 % leaves one out.

    A load case with a scatter of its own on one of its keys is not scaled by the kind of its loads: see `cases_of_their_own`.
    """
    raw, entered = file.raw, dict(entered_spreads(file.raw))
    marked = {} if file.boat is None else dict(file.boat.scatter)
    guessed = frozenset[str]() if file.boat is None else frozenset(file.boat.marks)
    keys = [
        ScatteredInput(
            key,
            "",
            "key",
            key,
            spread,
            _text(value_at(raw, key)),
            "estimated" if key in guessed else "entered",
            reason,
            cause,
        )
        for key, (spread, reason, cause) in entered.items()
        if key not in KIND_NAMES
    ]
    found = {one.key for one in keys}
    for key, mark in marked.items():
        if key not in found and _is_quantity(value_at(raw, key)):
            spread = read_spread(mark.replace("×", "× "))
            keys.append(
                ScatteredInput(
                    key, "", "key", key, spread, _text(value_at(raw, key)), "estimated", "estimated"
                )
            )
            found.add(key)
    for key, mark, reason in KEY_DEFAULTS:
        table, _, last = key.partition(".")
        if key not in found and last in raw.get(table, {}):
            text = _text(value_at(raw, key))
            keys.append(ScatteredInput(key, "", "key", key, read_spread(mark), text, "default", reason))
    kinds = [one for kind in kinds_of(file) for one in _of_kind(file, kind, entered, marked)]
    return tuple(one for one in (*keys, *kinds) if not one.spread.is_none)


def _of_kind(
    file: BoatFile, kind: InputKind, entered: Mapping[str, tuple[Spread, str, str]], marked: Mapping[str, str]
) -> list[ScatteredInput]:
    """The inputs of a kind: with its scatter as entered, as the table that it stands for is marked, or by default."""
    name = kind.name
    spread, reason, cause = read_spread(kind.spread), kind.reason, kind.cause(file)
    basis: ScatterBasis = "default"
    for table, names in TABLE_KINDS.items():
        if name in names and table in marked:
            spread, reason, basis = read_spread(marked[table]), f"{table} is estimated", "estimated"
    if name in entered:
        (spread, reason, given), basis = entered[name], "entered"
        cause = given or cause
    return [
        ScatteredInput(name, part, kind.group, kind.what, spread, "1", basis, reason, cause)
        for part in kind.each(file)
    ]


def cases_of_their_own(inputs: tuple[ScatteredInput, ...]) -> frozenset[str]:
    """Names of load cases with a key that scatters on its own: the kind of their loads does not scale them."""
    steps = (split_key(one.key) for one in inputs if one.group == "key")
    return frozenset(step[1] for step in steps if step[0] == "cases" and len(step) > 1)


def entered_spreads(raw: Mapping[str, Any]) -> Iterator[tuple[str, tuple[Spread, str, str]]]:
    """Key or kind → spread, reason and cause as a file gives them, behind values and then in [scatter]; InputFault in it."""
    for key, value in _values(raw):
        if isinstance(value, str) and (spread := _spread_behind(value)):
            yield key, (spread, "", "")
    for key, given in _entries(raw.get("scatter", {}), ()):
        if isinstance(given, str):
            yield key, (read_spread(given), "", "")
        else:
            yield key, (read_spread(given["spread"]), given.get("reason", ""), given.get("cause", ""))


def scatter_faults(raw: Mapping[str, Any]) -> Iterator[InputFault]:
    """What is wrong with the scatter of a file: keys and kinds that do not exist, spreads that their values cannot have."""
    behind = {
        key: (value, spread)
        for key, value in _values(raw)
        if isinstance(value, str) and (spread := _spread_behind(value))
    }
    for key, given in _entries(raw.get("scatter", {}), ()):
        place = f"scatter: '{key}'"
        if isinstance(given, dict) and (strange := [step for step in given if step not in _ENTRY]):
            yield unknown(place, "key", strange[0], _ENTRY)
            continue
        texts = (
            [given]
            if isinstance(given, str)
            else list(given.values())
            if isinstance(given, dict)
            else [given]
        )
        if not all(isinstance(text, str) for text in texts):
            yield InputFault(place, f"{given!r:.60} is no text", 'write it as "± 15 %"')
            continue
        try:
            spread = read_spread(given if isinstance(given, str) else given["spread"])
            _check_one(raw, key, spread)
        except InputFault as wrong:
            yield wrong.inside(place)
            continue
        if key in behind:
            yield InputFault(place, "has a scatter behind its value too", "take one of the two out")
    for key, (value, spread) in behind.items():
        try:
            _check_value(value, spread)
        except InputFault as wrong:
            yield wrong.inside(key)


_ENTRY = ("spread", "reason", "cause")


def without_lost_keys(table: Mapping[str, Any], raw: Mapping[str, Any]) -> dict[str, Any]:
    """[scatter] with those entries alone whose keys are in these tables: a variant has fewer where it leaves parts out."""
    kept: dict[str, Any] = {}
    for key, given in _entries(table, ()):
        try:
            if key not in KIND_NAMES:
                value_at(raw, key)
        except InputFault:
            continue
        kept[key] = given
    return kept


def _check_one(raw: Mapping[str, Any], key: str, spread: Spread) -> None:
    """InputFault where a kind or key cannot have that spread."""
    if key in KIND_NAMES:
        if not (spread.is_relative or (spread.kind == "uniform" and not spread.unit)):
            wrong = f"'{spread.text}' is no scatter of a factor, which a kind of input has"
            raise InputFault("", wrong, 'give a share or a factor, such as "± 20 %" or "× 2"')
        return
    try:
        value = value_at(raw, key)
    except InputFault as wrong:
        if "." in key:
            raise
        raise unknown("", "kind of input or key", key, [*KIND_NAMES, *raw]) from wrong
    if not _is_quantity(value):
        raise InputFault("", "is no single quantity", "give the key of a value with its unit, or of a number")
    _check_value(_text(value), spread)


def _check_value(text: str, spread: Spread) -> None:
    """InputFault where a value cannot have that spread."""
    numbers, unit = number_and_unit(text)
    if len(numbers) > 1 and not spread.is_relative:
        raise InputFault("", f"'{spread.text}' is not of a vector", 'give a share of it, such as "± 20 %"')
    if spread.is_relative and spread.unit and not any(numbers):
        raise InputFault(
            "", f"'{spread.text}' is a share of nothing: the value is 0", 'give its size, such as "± 5 mm"'
        )
    if spread.is_relative:
        return
    try:
        ratio = unit_ratio(spread.unit, unit) if unit or spread.unit else 1.0
        spread.distribution(numbers[0], ratio)
    except ValueError as wrong:
        cure = f"give it in {unit or 'bare numbers'}, such as ± 5 {unit}".rstrip()
        raise InputFault("", f"'{spread.text}' does not fit '{text}': it {wrong}", cure) from None


def _values(raw: Any, above: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:  # noqa: ANN401  (values of any key)
    """Every single value of a file by its key, free text left out; entries of lists by their name, or number from 1."""
    pairs: Iterator[tuple[str, Any]]
    if isinstance(raw, Mapping):
        pairs = ((key, value) for key, value in raw.items() if above or key not in APART)
    elif isinstance(raw, list):
        names = [one.get("name") if isinstance(one, dict) else None for one in raw]
        unique = [name if isinstance(name, str) and names.count(name) == 1 else None for name in names]
        pairs = (
            (name or str(number), one) for number, (name, one) in enumerate(zip(unique, raw, strict=True), 1)
        )
    else:
        yield ".".join(step if _PLAIN_KEY.fullmatch(step) else f'"{step}"' for step in above), raw
        return
    for step, value in pairs:
        if step not in WORDS:
            yield from _values(value, (*above, step))


def _entries(table: Any, above: tuple[str, ...]) -> Iterator[tuple[str, Any]]:  # noqa: ANN401
    """Entries of [scatter] by their keys, written with dots in quotes or as nested tables."""
    for step, given in table.items():
        here = (*above, step)
        if isinstance(given, dict) and "spread" not in given:
            yield from _entries(given, here)
        else:
            yield ".".join(here), given


def _spread_behind(text: str) -> Spread | None:
    """The scatter behind a quantity; None of other text, and where it is at fault, which the quantity's own key reports."""
    try:
        spread = split_spread(text)[1]
    except InputFault:
        return None
    return spread if spread is not None and _is_quantity(text) else None


def _is_quantity(value: object) -> bool:
    """Whether a value of a file is a number, or numbers with their unit, a scatter behind it or not."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return False
    try:
        number_and_unit(_text(value))
    except Exception:  # noqa: BLE001  (pint's parser lets tokeniser errors through as well)
        return False
    return True


def _text(value: object) -> str:
    return value if isinstance(value, str) else f"{value!r}"


__all__ = ["ScatteredInput", "cases_of_their_own", "entered_spreads", "scatter_faults", "scattered_inputs"]
