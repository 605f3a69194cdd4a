"""Whether a file describes a boat or a frame."""

from __future__ import annotations

from pathlib import Path

from femcore.base.errors import InputFault


def kind_of(file: Path) -> str:
    """What kind of file it is, "boat" or "frame", by the tables that only one of them has."""
    from femcore.base.toml import read_toml  # noqa: PLC0415  (start-up time of the command line)

    raw = read_toml(file)
    for kind, table in (("boat", "bows"), ("frame", "nodes")):
        if table in raw:
            return kind
    raise InputFault(
        str(file), "has neither [bows] nor [nodes]", "start from 'forebeam new FILE', or see the README"
    )


def require_kind(kind: str, file: Path) -> None:
    """Refuse a file of the other kind in one sentence, not key by key."""
    found = kind_of(file)
    if found != kind:
        command = "run" if found == "boat" else "frame"
        raise InputFault(str(file), f"is a {found} file", f"use: forebeam {command} {file}")
