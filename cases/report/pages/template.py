"""The page templates, compiled once each."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Template


@cache
def template(name: str) -> Template:
    """The template of that name in `templates/`; an undefined variable is an error."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415  (start-up time)

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).with_name("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)
