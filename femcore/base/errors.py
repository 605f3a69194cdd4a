"""What can go wrong, as one small tree; each class carries the exit status of the command line.

ForebeamError
├── InputFault       2   one fault of the input: where, what is wrong, what would cure it
├── InputFaults      2   all faults of one file at once
└── StructureFault   3   the input is sound, the structure is not
    ├── Mechanism    3   something moves without resistance
    ├── SlackSystem  3   only slack cables would support it
    ├── NoConvergence 3  no equilibrium found in the deformed shape
    └── PoorSolution 3   the equations were solved, but not accurately enough

`fault` is an InputFault of one field while pydantic reads a table, `duplicates` and `unknown` are InputFaults of names,
`nearest` is the name that was meant.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Literal

from pydantic_core import PydanticCustomError

MAX_SENTENCE, MAX_FAULTS = 300, 40
"""Characters of a fault, and faults of one reading, that are shown: what a file repeats without end is not."""


class ForebeamError(Exception):
    """Any fault that a user can cure; `str()` of it is the whole message."""

    exit_status = 1


class InputFault(ForebeamError):
    """One fault of the input.

    place : where it is, such as ``demo.toml: joints[2]: pitch``
    wrong : what is wrong with it
    cure  : what would cure it
    """

    exit_status = 2

    def __init__(self, place: str, wrong: str, cure: str) -> None:
        super().__init__(place, wrong, cure)
        self.place, self.wrong, self.cure = place, wrong, cure

    def __str__(self) -> str:
        place, wrong, cure = _fitted([printable(part) for part in (self.place, self.wrong, self.cure)])
        return ": ".join(part for part in (place, wrong) if part) + f"; {cure}"

    def inside(self, place: str) -> InputFault:
        """The same fault, its place within its file or table."""
        return type(self)(f"{place}: {self.place}" if self.place else place, self.wrong, self.cure)


class InputFaults(ForebeamError):
    """Every fault found in one reading, a line each, the first `MAX_FAULTS` of them."""

    exit_status = 2

    def __init__(self, faults: Iterable[InputFault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        more = len(self.faults) - MAX_FAULTS
        further = [f"and {more} further faults; correct these first"] if more > 0 else []
        return "\n".join([*(str(fault) for fault in self.faults[:MAX_FAULTS]), *further])


def printable(text: str) -> str:
    """A text on one line, without control characters, directions of writing, and what no encoding can hold."""
    return "".join(
        sign
        if sign == " " or unicodedata.category(sign)[0] not in "ZC"
        else "�"
        if sign not in "\n\t"
        else " "
        for sign in text
    )


def _fitted(parts: list[str]) -> list[str]:
    """Parts of a sentence, the longest of them cut in their middle, so that all have `MAX_SENTENCE` characters at most."""
    room = MAX_SENTENCE - len(": ; ")
    most = next(n for n in range(room, 0, -1) if sum(min(len(part), n) for part in parts) <= room)
    return [
        part
        if len(part) <= most
        else f"{part[: most * 2 // 3]}…{part[len(part) - (most - 1 - most * 2 // 3) :]}"
        for part in parts
    ]


class StructureFault(ForebeamError):
    """The input is sound, the structure it describes cannot be solved."""

    exit_status = 3

    def inside(self, place: str) -> StructureFault:
        """The same fault, its sentence begun with the file that it is in."""
        return type(self)(f"{place}: {self}", *self.args[1:])


class Mechanism(StructureFault):
    """Parts of the structure move without resistance.

    words    : a sentence that says what moves and what would restrain it
    rotating : names of members that rotate about their own axis
    moving   : node name → the freedoms in which it moves
    """

    def __init__(
        self, words: str, rotating: tuple[str, ...] = (), moving: dict[str, tuple[str, ...]] | None = None
    ) -> None:
        super().__init__(words, rotating, moving)
        self.words, self.rotating, self.moving = words, rotating, dict(moving or {})

    def __str__(self) -> str:
        return self.words


class PoorSolution(StructureFault):
    """The solution's own error estimate or its imbalance is too large."""


class SlackSystem(StructureFault):
    """Only cables would support the structure, and they are slack."""


class NoConvergence(StructureFault):
    """No stable equilibrium was found; `fraction` of the load was reached."""

    def __init__(self, words: str, fraction: float) -> None:
        super().__init__(words, fraction)
        self.words, self.fraction = words, fraction

    def __str__(self) -> str:
        return self.words


def duplicates(what: str, names: Sequence[str]) -> list[InputFault]:
    """A fault for every name that occurs more than once."""
    again = dict.fromkeys(name for i, name in enumerate(names) if name in names[:i])
    return [InputFault(f"{what} '{name}'", "is duplicated", "give each a name of its own") for name in again]


LONGEST_NAME = 60
"""Characters of a name that are compared."""
SHORT_WORD = 2
"""Letters of a word that is a grade or a kind, such as the hm of carbon_hm: one letter off is another thing."""
LEAST_LIKENESS = 0.6
"""Of two names, by `difflib`, to be one misspelt."""


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The one of `known` that a name is meant for: equal but for case, hyphens and spaces, else misspelt.

    A name that differs in a number, or in a word of one or two letters, is another thing and never proposed: 6082-T6 is not
    6061-T6, e_glass is not s_glass.
    """
    names = list(known)
    alike = {tuple(_words(one)): one for one in reversed(names)}
    own = _words(name[:LONGEST_NAME])
    joined = {"".join(words): one for words, one in alike.items()}
    if own and "".join(own) in joined:
        return joined["".join(own)]
    candidates = [
        one for words, one in alike.items() if _marks(words) == _marks(own) or _one_letter_more(words, own)
    ]
    close = difflib.get_close_matches(
        name[:LONGEST_NAME].lower(), [one.lower() for one in candidates], 1, LEAST_LIKENESS
    )
    return next((one for one in candidates if one.lower() in close), None)


def _words(name: str) -> list[str]:
    return re.findall(r"[^\W\d_]+|\d+", name.lower())


def _one_letter_more(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether both are a single word without numbers, one of them by a letter longer: a slip of the hand even in a short one."""
    single = all(len(words) == 1 and words[0].isalpha() for words in (one, other))
    return single and abs(len(one[0]) - len(other[0])) == 1


def _marks(words: Iterable[str]) -> list[str]:
    """The words of a name that tell its kind or grade."""
    return [word for word in words if word.isdigit() or len(word) <= SHORT_WORD]


def unknown(place: str, what: str, name: str, known: Iterable[str]) -> InputFault:
    """A fault for a name that does not exist, with the nearest that do."""
    names = list(known)
    near = nearest(name, names)
    few = ", ".join(f"'{n}'" for n in names[:8]) + (" …" if len(names) > 8 else "")
    cure = f"did you mean '{near}'?" if near else (f"name one of {few}" if names else f"add a {what} first")
    return InputFault(place, f"{what} '{name}' does not exist", cure)


class ConsequentFault(InputFault):
    """Something that could not be built because what it names has a fault, which is reported already."""


CONSEQUENT: Literal["consequent"] = "consequent"


def fault(wrong: str, cure: str, kind: Literal["forebeam", "consequent"] = "forebeam") -> PydanticCustomError:
    """A fault of a field of a table, raised while pydantic reads it; the reader adds the place and makes it an InputFault.

    kind : "consequent" where what the field names is at fault, which is reported in its own place
    """
    return PydanticCustomError(kind, "{wrong}; {cure}", {"wrong": wrong, "cure": cure})


@contextmanager
def table_faults() -> Iterator[None]:
    """Within it an `InputFault` becomes a fault of the table that is being validated."""
    try:
        yield
    except InputFault as error:
        wrong = f"{error.place}: {error.wrong}" if error.place else error.wrong
        kind = CONSEQUENT if isinstance(error, ConsequentFault) else "forebeam"
        raise fault(wrong, error.cure, kind) from None
