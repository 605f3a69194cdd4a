"""A grid file: which keys of a boat file are varied and how, which joints and columns are wanted, and the design of each number.

Keys are varied over a list, over a range, or over a drawn sample. Lists and ranges are combined, each value with each; the drawn
keys are drawn together, `samples.count` sets of them, and each set goes with every combination. So a grid of two lists of 3 and 4
and 100 samples has 1,200 designs. A design is known by its number alone, from which its values follow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from cases.input.variants import split_key
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault
from femcore.base.spread import split_spread
from femcore.base.toml import Document, Table, duplicates
from femcore.base.units import between, number_and_unit, unit_ratio

MAX_DESIGNS = 10**9
"""Of one sweep; at a tenth of a second each they are three years of one core."""
MAX_SAMPLES = 2**20
"""Sets of drawn values, which are kept in memory."""
MAX_CHUNKS = 100_000
"""Files of one sweep: folders of more are slow to list, and so is their manifest."""
MIN_PROBABILITY = 2.0**-40
"""Of a drawn value: at 0 and 1 most distributions are infinite."""
USUAL_CHUNKS, MAX_USUAL_CHUNK = 60, 500
"""Where the grid says nothing: so many chunks, so that all cores have work to the end, of at most so many designs."""


class VariedKey(Table):
    """One key of the boat file, or several that have the same value, and its values.

    key, keys : as in a variant, such as ``stay.forward`` or ``joints."taped socket".sway``
    values    : any value that the key takes; a table changes several keys together
    low, high : ends of a range, in any unit that fits; of several numbers with one unit each runs from one to the other
    count     : of values from end to end;   spacing : geometric: each the same factor times the one before
    sampled   : whether it is drawn at random between the ends, evenly in the spacing, in place of a count
    sample    : drawn from a value with its scatter, such as "10 kN ± 30 %"; see `femcore.base.spread`
    """

    key: str | None = None
    keys: Annotated[list[str], Field(min_length=1)] | None = None
    values: Annotated[list[Any] | None, Field(alias="list", min_length=1)] = None
    low: Annotated[str | float | int | None, Field(alias="from")] = None
    high: Annotated[str | float | int | None, Field(alias="to")] = None
    count: Annotated[int, Field(ge=2)] | None = None
    spacing: Literal["linear", "geometric"] = "linear"
    sampled: bool = False
    sample: str | None = None

    @model_validator(mode="after")
    def _check(self) -> VariedKey:
        if (self.key is None) == (self.keys is None):
            raise fault("has to name what is varied", "give one key, or keys = [..] that have the same value")
        ranged = self.low is not None or self.high is not None
        if (self.values is not None) + ranged + (self.sample is not None) != 1:
            cure = 'give list = [..], or from and to, or sample = "10 kN ± 15 %"'
            raise fault("has no values, or has them in two ways", cure)
        if ranged and (self.low is None or self.high is None):
            raise fault("has one end of a range", "give both, from and to")
        if ranged and (self.count is None) == (not self.sampled):
            raise fault("has a range without a count", "give count = 5, or sampled = true to draw from it")
        if not ranged and (self.count is not None or self.sampled):
            raise fault("has a count, or sampled, without a range", "give both, from and to")
        try:
            _ = self.typical
        except ValueError as trouble:
            raise fault(str(trouble), "give both ends alike, such as from = '10 mm', to = '60 mm'") from None
        except InputFault as wrong:
            raise fault(wrong.wrong, wrong.cure) from None
        return self

    @property
    def of(self) -> tuple[str, ...]:
        """The keys that have its value."""
        return (self.key,) if self.key is not None else tuple(self.keys or ())

    @property
    def is_drawn(self) -> bool:
        """Whether it is drawn together with others like it."""
        return self.sampled or self.sample is not None

    @property
    def size(self) -> int:
        """How many values it has; of one that is drawn as many as there are sets."""
        return len(self.values) if self.values is not None else self.count or 1

    def value(self, place: int) -> Any:  # noqa: ANN401  (values of any key)
        """Of its values that of a place from 0."""
        return self.drawn(place / (self.size - 1)) if self.values is None else self.values[place]

    def drawn(self, fraction: float) -> Any:  # noqa: ANN401  (values of any key)
        """Its value at a fraction of the range, or where its distribution function has that value, 0 to 1."""
        if self.sample is not None:
            return self._quantile(self.sample, fraction)
        [value] = self._at([fraction])
        return value

    @cached_property
    def typical(self) -> list[Any]:
        """Its first value, its last one and one between; of a distribution the quantiles at 1, 99 and 50 %."""
        if self.values is not None:
            return [self.values[0], self.values[-1], self.values[len(self.values) // 2]]
        if self.sample is not None:
            return [self.drawn(fraction) for fraction in (0.01, 0.99, 0.5)]
        return self._at([0.0, 1.0, 0.5])

    @cached_property
    def _distribution(self) -> Any:  # noqa: ANN401  (scipy's frozen ones have no public type)
        value, spread = split_spread(self.sample or "")
        if spread is None:
            raise InputFault(
                "", f"'{self.sample}' has no scatter", 'write it as "10 kN ± 15 %", or "8 … 14 kN"'
            )
        numbers, unit = number_and_unit(value)
        ratio = 1.0 if spread.is_relative or not unit else unit_ratio(spread.unit, unit)
        return spread.distribution(numbers[0], ratio), numbers if spread.is_relative else None, unit

    def _quantile(self, text: str, fraction: float) -> Any:  # noqa: ANN401  (values of any key)
        distribution, factors_of, unit = self._distribution
        x = float(distribution.ppf(min(max(fraction, MIN_PROBABILITY), 1 - MIN_PROBABILITY)))
        numbers = [x] if factors_of is None else [number * x for number in factors_of]
        if not unit and len(numbers) == 1:
            return numbers[0]
        return f"{' '.join(map(repr, numbers))} {unit}" if unit else text

    def _at(self, fractions: Sequence[float]) -> list[Any]:
        """Values at fractions of the range; ValueError, in words, where the ends do not fit."""
        low, high = self.low, self.high
        if isinstance(low, str) and isinstance(high, str):
            return list(between(low, high, self._ways(low, high, fractions)))
        if isinstance(low, str) or isinstance(high, str) or low is None or high is None:
            raise ValueError(f"{low!r} and {high!r} are not of one kind")
        if not (math.isfinite(low) and math.isfinite(high)):
            raise ValueError("an end is not finite")
        found = [
            low + (high - low) * t if t < 1 else high
            for t in self._geometric(high / low if low else 0, fractions)
        ]
        whole = isinstance(low, int) and isinstance(high, int)
        return [int(one) if whole and float(one).is_integer() else one for one in found]

    def _ways(self, low: str, high: str, fractions: Sequence[float]) -> list[float]:
        """Fractions of the way between two quantities, in the spacing."""
        if self.spacing == "linear":
            return list(fractions)
        ends = [float(text.split()[0]) for text in between(low, high, [0.0, 1.0])]
        return self._geometric(ends[1] / ends[0] if ends[0] else 0.0, fractions)

    def _geometric(self, ratio: float, fractions: Sequence[float]) -> list[float]:
        """Fractions of the way from 1 to `ratio` in the spacing; they are linear ones where that is."""
        if self.spacing == "linear":
            return list(fractions)
        if not ratio > 0 or ratio == 1:
            raise ValueError("a geometric range runs between two different values of one sign")
        return [(ratio**t - 1) / (ratio - 1) for t in fractions]


class Samples(Table):
    """How the keys with `sampled` or `sample` are drawn together.

    count : of sets;   seed : the same seed draws the same sets
    """

    count: Annotated[int, Field(ge=1, le=MAX_SAMPLES)]
    seed: Annotated[int, Field(ge=0)] = 1
    method: Literal["latin hypercube", "sobol"] = "latin hypercube"

    @model_validator(mode="after")
    def _check_balanced(self) -> Samples:
        if self.method == "sobol" and self.count & (self.count - 1):
            near = 2 ** round(math.log2(self.count))
            raise fault(f"{self.count} points of a Sobol sequence are not balanced", f"give count = {near}")
        return self


class GridFile(Document):
    """A grid file; see the module for how many designs it has.

    joints  : of the boat, by name; left out: all of them;   columns : of the result; left out: the usual ones
    designs_per_chunk : what is worked out, written and resumed at a time; left out: a sixtieth of all, at most 500
    """

    vary: Annotated[list[VariedKey], Field(min_length=1)]
    samples: Samples | None = None
    joints: Annotated[list[str], Field(min_length=1)] | None = None
    columns: Annotated[list[str], Field(min_length=1)] | None = None
    designs_per_chunk: Annotated[int, Field(ge=1, le=1_000_000)] | None = None

    def faults(self) -> Iterator[InputFault]:
        """Keys that are given twice or within one another; samples without a key, or a key without them; too many designs."""
        keys = [key for one in self.vary for key in one.of]
        yield from duplicates("vary", keys)
        yield from duplicates("columns", self.columns or [])
        yield from duplicates("joints", self.joints or [])
        steps = [split_key(key) for key in keys]
        for key, own in zip(keys, steps, strict=True):
            for other, path in zip(keys, steps, strict=True):
                if len(path) < len(own) and own[: len(path)] == path:
                    wrong = f"is part of '{other}', which is varied too"
                    yield InputFault(f"vary '{key}'", wrong, "vary one of them")
        if bool(self.drawn_keys) != (self.samples is not None):
            has, lacks = (
                ("keys to be drawn", "[samples]") if self.drawn_keys else ("[samples]", "keys to be drawn")
            )
            yield InputFault("samples", f"there are {has} but no {lacks}", "give both, or neither")
            return
        yield from self._size_faults()

    def _size_faults(self) -> Iterator[InputFault]:
        if self.designs > MAX_DESIGNS:
            wrong = f"{self.designs:,} designs are too many"
            cure = f"give fewer values for a key, or sampled = true for several of them: at most {MAX_DESIGNS:,} designs"
            yield InputFault("vary", wrong, cure)
        elif self.chunks > MAX_CHUNKS:
            wrong = f"{self.designs:,} designs in chunks of {self.chunk} are {self.chunks:,} files"
            yield InputFault("designs_per_chunk", wrong, f"give at least {-(-self.designs // MAX_CHUNKS):,}")

    @cached_property
    def drawn_keys(self) -> list[VariedKey]:
        """Those drawn together."""
        return [one for one in self.vary if one.is_drawn]

    @cached_property
    def combined_keys(self) -> list[VariedKey]:
        """Those of which each value goes with each."""
        return [one for one in self.vary if not one.is_drawn]

    @cached_property
    def counts(self) -> tuple[int, ...]:
        """Samples, then values of each combined key: the digits of a design's number, the last varying first."""
        return (
            1 if self.samples is None else self.samples.count,
            *(one.size for one in self.combined_keys),
        )

    @cached_property
    def designs(self) -> int:
        """How many there are."""
        return math.prod(self.counts)

    @cached_property
    def chunk(self) -> int:
        """Designs in a chunk, the last one apart."""
        usual = min(MAX_USUAL_CHUNK, -(-self.designs // USUAL_CHUNKS))
        return self.designs_per_chunk or max(usual, -(-self.designs // MAX_CHUNKS))

    @cached_property
    def chunks(self) -> int:
        """How many there are."""
        return -(-self.designs // self.chunk)

    def of_chunk(self, number: int) -> range:
        """The designs of a chunk."""
        return range(number * self.chunk, min((number + 1) * self.chunk, self.designs))

    @cached_property
    def _fractions(self) -> FloatArray:
        """(samples, drawn keys), 0 to 1."""
        if self.samples is None:
            return np.zeros((1, 0))
        from scipy.stats import qmc  # noqa: PLC0415  (half a second, which only drawn keys need)

        engine = {"latin hypercube": qmc.LatinHypercube, "sobol": qmc.Sobol}[self.samples.method]
        drawn: FloatArray = engine(len(self.drawn_keys), rng=self.samples.seed).random(self.samples.count)
        return drawn

    def values(self, design: int) -> list[Any]:
        """Of a design by its number: the value of each of `vary`."""
        digits = []
        for count in reversed(self.counts):
            design, digit = divmod(design, count)
            digits.append(digit)
        sample, *places = reversed(digits)
        found = dict(zip(map(id, self.combined_keys), places, strict=True))
        fractions = dict(zip(map(id, self.drawn_keys), self._fractions[sample].tolist(), strict=True))
        return [
            one.drawn(fractions[id(one)]) if one.is_drawn else one.value(found[id(one)]) for one in self.vary
        ]
