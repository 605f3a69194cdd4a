"""A boat file with what a test found written into it; all else, comments and order too, stays as it was."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from femcore.base.units import as_written


def calibrated_text(
    text: str,
    factors: Mapping[str, float],
    joint: str,
    springs: Mapping[str, float],
    scatter: Mapping[str, str],
    note: str,
) -> str:
    """The text of a boat's file with new values.

    factors : of [calibration], in place of its own;   springs : N·m/rad, of the joint of that name, where its file has them
    scatter : of [scatter];   note : which test
    """
    document = tomlkit.parse(text)
    table = _table(document, "calibration")
    for key, value in factors.items():
        table[key] = float(f"{value:.4g}")
    table["note"] = note
    if scatter:
        spread = _table(document, "scatter")
        for key, words in scatter.items():
            spread[key] = words
    joints = document.get("joints")
    for one in joints if isinstance(joints, AoT) else ():
        if one.get("name") == joint:
            for direction, value in springs.items():
                if direction in one:
                    _rewrite(one, direction, value)
    return tomlkit.dumps(document)


def _table(document: tomlkit.TOMLDocument, name: str) -> Any:  # noqa: ANN401  (tomlkit's containers)
    if name not in document:
        document.append(name, tomlkit.table())
    return document[name]


def _rewrite(table: Table, key: str, value: float) -> None:
    """A quantity in the unit that it has, its comment kept; a scatter behind it was that of before the test, and goes."""
    old = table[key]
    new = tomlkit.item(as_written(value, str(old).partition("±")[0].partition("×")[0], "N*m/rad", 4))
    new.trivia.comment_ws, new.trivia.comment, new.trivia.trail = (
        old.trivia.comment_ws, old.trivia.comment, old.trivia.trail,
    )  # fmt: skip
    table[key] = new


__all__ = ["calibrated_text"]
