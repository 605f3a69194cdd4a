"""The scripts of the report's page, by hash in its content security policy, and the numbers that they read."""

from __future__ import annotations

import base64
import hashlib
import json
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from cases.analyses.analysis import Analysis
from cases.report.pages.live_joint import live_joint
from cases.report.pages.scene import scene
from femcore.base.errors import StructureFault

ASSETS = Path(__file__).with_name("assets")
"""Bundles made by `scripts/build_web.py`."""


@dataclass(frozen=True, slots=True)
class Scripted:
    """The boat to turn and the joint to try.

    script : as it is on the page;   source : of the policy, its hash
    scene, model : JSON that no browser takes for markup; model is null where the front end with other joints has no answer
    """

    script: str
    source: str
    scene: str
    model: str


def scripted(analysis: Analysis) -> Scripted:
    """Of an analysis."""
    script, model = bundle("report"), None
    with suppress(
        StructureFault
    ):  # the joint to try is left out then; the study's own joints have their answers
        model = live_joint(analysis.study)
    return Scripted(script, source_hash(script), in_page(scene(analysis)), in_page(model))


@cache
def bundle(name: str) -> str:
    """The text of a bundle."""
    return (ASSETS / f"{name}.min.js").read_text(encoding="utf-8").replace("</script", "<\\/script")


def source_hash(script: str) -> str:
    """For `script-src`: what allows this script and no other (W3C, Content Security Policy Level 3, section 2.3.1)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode('ascii')}'"


def in_page(data: Any) -> str:  # noqa: ANN401  (JSON)
    """JSON for a script element: a name in it opens no tag. ValueError where a number is not finite."""
    text = json.dumps(data, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


__all__ = ["ASSETS", "Scripted", "bundle", "in_page", "scripted", "source_hash"]
