"""Where a case's loads come from, for a reader to judge: formula with its numbers, source and its standing, range of validity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

LoadBasis = Literal["entered", "computed", "estimated"]
"""What the size of a case's loads is: a value of the boat file, the result of a rule or formula, or a guess."""


@dataclass(frozen=True, slots=True)
class Origin:
    """The origin of a case's loads.

    source   : published name and clause, and whether it was read or is from memory; "entered", "common practice"
    formula  : with symbols and this boat's numbers; empty where the loads are as entered
    validity : the range for which source or formula holds; empty where it has none
    inside   : whether this boat lies inside that range; None where there is none
    basis    : whether the size of the loads was entered, computed or estimated (guessed)
    estimated : inputs of the case that are estimated, each with its scatter
    """

    source: Annotated[
        str, Field(description="where its loads come from, and whether that was read or is from memory")
    ]
    formula: Annotated[
        str, Field(description="symbols with this boat's numbers; empty where loads are as entered")
    ] = ""
    validity: Annotated[
        str, Field(description="the range for which the source holds; empty where it has none")
    ] = ""
    inside: Annotated[
        bool | None, Field(description="whether this boat is inside it; null where there is none")
    ] = None
    basis: Annotated[
        LoadBasis, Field(description="whether the size of the loads was entered, computed or estimated")
    ] = "computed"
    estimated: Annotated[
        tuple[str, ...], Field(description="inputs of the case that are estimated, each with its scatter")
    ] = ()


ENTERED = Origin("entered", basis="entered")
"""Typed in as it acts."""
